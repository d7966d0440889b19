"""What the calculation is told: lifts, places, maxes, settings, sets that were done."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from service.core.slots import Basis, BuildUp, Target
from service.core.units import Load, Number

LoadKind = Literal["total", "per_hand", "bodyweight", "stack", "none"]
CurveGroup = Literal["squat_like", "deadlift_like", "other"]
SupportClass = Literal["unsupported", "wraps", "suit"]
Rounding = Literal["nearest", "down", "up"]
Role = Literal["warm_up", "build_up", "top_set", "back_off", "same_load", "target_set", "open_set", "free"]
WORK_ROLES = frozenset({"top_set", "back_off", "same_load", "target_set", "open_set", "free"})
SessionKind = Literal["block", "free", "first", "test", "meet"]
EndedBy = Literal["choice", "strength", "technique", "command", "grip", "pain", "other"]
Pain = Literal["none", "some", "stop"]
Felt = Literal["lighter", "as_expected", "heavier"]
Method = Literal["straight", "drop_set", "rest_pause", "cluster", "complex", "slow_tempo", "carry"]
"""How a set was done. All but straight ones break the repetition curve: they are kept, and teach no max."""
OverrideKind = Literal["load", "cap", "exchange", "leave_out", "no_singles", "needs_approval", "approval"]
AbsenceKind = Literal["holiday", "illness", "injury", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """An exercise; a variation is `based_on` another lift with a ratio of their maxes."""

    id: str
    name: str
    load_kind: LoadKind
    curve_group: CurveGroup = "other"
    technique: bool = False
    based_on: str | None = None
    ratio: float | None = None
    ratio_source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Bars of one kind at a place; `lifts` names those that they are for, empty: all."""

    name: str
    load: Load
    lifts: tuple[str, ...] = ()
    count: int = 1
    """How many of it there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """Plates of one kind; `count` is all that there are, both sides together."""

    load: Load
    count: int
    colour: str | None = None
    diameter_mm: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stack:
    """A machine: its listed steps, lightest first, for the lifts named."""

    name: str
    lifts: tuple[str, ...]
    steps: tuple[Load, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """What can be loaded at a place. `collars` is both together; `dumbbells` are the masses of one of a pair."""

    bars: tuple[Bar, ...]
    collars: Load
    plates: tuple[Plate, ...]
    dumbbells: tuple[Load, ...] = ()
    stacks: tuple[Stack, ...] = ()


MODEL = "model"
"""In place of a curve's name: the athlete's own model."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftCurve:
    """What one lift is read by."""

    lift: str
    curve: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReturnRule:
    """How an athlete comes back after an absence: lighter and less at first, then evenly back. Prudence, not learned.

    A coach may change each number, or switch it off. All of them are ours, without a source.
    """

    off: bool = False
    """True: nothing is eased."""
    from_days: int = 14
    """Shortest absence that it acts after. [days]"""
    less_percent_a_week: Number = 1.5
    """Off the loads for each week of absence after the first. [%]"""
    most_percent: Number = 10
    """Most that is taken off the loads. [%]"""
    fewer_sets_percent: Number = 33
    """Part of the sets that is left out at first. [%]"""
    back_percent: Number = 50
    """Part of the absence's length that coming back takes. [%]"""
    fewest_days: int = 7
    """Shortest way back. [days]"""
    most_days: int = 21
    """Longest. [days]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How a gym or an athlete wants it; what a slot leaves out is read here."""

    effort_limit: Number = 9.5
    """Work sets stay below this RPE; tests, maximal days and meets lift it. [RPE]"""
    training_max_percent: Number = 95
    """A training max that nobody entered is this part of the tested max. [%]"""
    build_up: BuildUp = field(default_factory=BuildUp)
    """Build-up sets; empty: 2.5 and 1 RPE points under the target, with its repetitions."""
    rounding: Rounding = "nearest"
    adjustment: Literal["calculation", "published_step"] = "calculation"
    curve: str = MODEL
    """What maxes and loads are read by: the athlete's model, or a named curve that a coach has pinned."""
    lift_curves: tuple[LiftCurve, ...] = ()
    """The same for single lifts; it goes before `curve`."""
    return_rule: ReturnRule = field(default_factory=ReturnRule)
    """How an athlete comes back after an absence."""

    def curve_of(self, lift: str) -> str:
        """What a lift's maxes and loads are read by: `model` or a name in `curves.CURVES`."""
        return next((one.curve for one in self.lift_curves if one.lift == lift), self.curve)


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownMax:
    """A max that is in force, effective: for `bodyweight` it contains the body weight, for `per_hand` one hand."""

    lift: str
    basis: Basis
    kg: float
    on: date
    source: str
    support: SupportClass = "unsupported"


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A coach's decision that outranks the calculation until a date (included).

    A cap is of a load, an effort or a percentage: exactly one of `load`, `rpe`, `percent`. Without a lift it is about
    all of them; a load, an exchange and what is left out name one.
    """

    id: str
    kind: OverrideKind
    lift: str | None
    reason: str
    set_by: str
    until: date
    load: Load | None = None
    to_lift: str | None = None
    rpe: Number | None = None
    percent: Number | None = None
    group: str | None = None
    """The name of the group that it was decided for; None: for the athlete alone."""
    since: date | None = None
    """The first day; None: not told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """Time without training, both days included; `until` None: not back yet.

    After an injury the way back begins only when the coach agrees.
    """

    kind: AbsenceKind
    since: date
    until: date | None
    agreed_on: date | None = None
    rule: ReturnRule | None = None
    """In place of the settings' rule, for this absence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PastWork:
    """What was done of a lift on an earlier day in a slot whose load grows from session to session."""

    lift: str
    on: date
    load: Load
    reps: tuple[int, ...]
    """Good repetitions of its work sets, in order."""
    goal: int
    """Repetitions that each set had to reach; of a range its top."""
    sets: int
    """How many were asked."""
    goal_low: int | None = None
    """The low end of a range."""
    target: Target | None = None
    """What was asked; None: not told, any target with these repetitions."""
    left: Number | None = None
    """Of a ladder: how many more were possible with the working load that it found. None: no ladder. [reps]"""
    onward: bool = False
    """Of a ladder: it had all its sets while they were easy to the last repetition, and nothing was too much."""
    rpe: float | None = None
    """How hard its sets were said to be, on average; None: nothing was said. [RPE]"""
    lighter: bool = False
    """The session was lighter on purpose."""


@dataclass(slots=True, kw_only=True)
class DoneSet:
    """A set that was done. At most one of `rpe`, `rir`, `felt`."""

    lift: str
    role: Role
    load: Load | None
    reps: int
    rpe: Number | None = None
    rir: Number | None = None
    or_more: bool = False
    felt: Felt | None = None
    made: bool = True
    ended_by: EndedBy = "choice"
    pain: Pain = "none"
    seconds: int | None = None
    """Of a timed set. [s]"""
    expected_rpe: Number | None = None
    """What the suggestion expected of it, where one was given; words are judged against it. [RPE]"""
    answer: Literal["confirmed", "excluded"] | None = None
    """What somebody said when asked whether it is right."""
    method: Method = "straight"
    """How it was done; all but straight sets teach no max."""
    metres: Number | None = None
    """Of a carry or a drag: how far. Its method says that it teaches no max. [m]"""
    by_ladder: bool = False
    """A ladder asked for this load, so that it is no slip: far from what was thought, it is what is to be found out."""
