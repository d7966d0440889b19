"""What a slot of a session asks for: a target and a scheme. Words are those of the trade."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.units import Load, Number

Basis = Literal["tested", "training", "day", "rolling"]
MOST_UNTIL = 8
"""Back-off sets until an effort end here at the latest, where the coach states no most. Ours. [sets]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class EffortTarget:
    """Repetitions at an effort: exactly one of `rpe`, `rir`."""

    kind: Literal["effort"] = "effort"
    reps: int
    reps_to: int | None = None
    rpe: Number | None = None
    rir: Number | None = None

    @property
    def asked_rpe(self) -> float:
        """The effort asked, on the RPE scale; the arithmetic reads a half as half a repetition. [RPE]"""
        return float(self.rpe if self.rpe is not None else 10 - (self.rir or 0))


@dataclass(frozen=True, slots=True, kw_only=True)
class PercentTarget:
    """A percentage, or a band of it, of a basis."""

    kind: Literal["percent"] = "percent"
    reps: int
    reps_to: int | None = None
    percent: Number
    percent_to: Number | None = None
    basis: Basis
    valid_days: int | None = None
    of: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadTarget:
    """A fixed load."""

    kind: Literal["load"] = "load"
    reps: int
    reps_to: int | None = None
    load: Load


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeTarget:
    """Seconds under a hold or a carry, with or without a load."""

    kind: Literal["time"] = "time"
    seconds: int
    load: Load | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DistanceTarget:
    """Metres of a carry or a drag, with or without a load."""

    kind: Literal["distance"] = "distance"
    metres: Number
    load: Load | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeTarget:
    """The lifter chooses."""

    kind: Literal["free"] = "free"
    reps: int | None = None
    reps_to: int | None = None


Target = EffortTarget | PercentTarget | LoadTarget | TimeTarget | DistanceTarget | FreeTarget


@dataclass(frozen=True, slots=True, kw_only=True)
class BackOff:
    """Sets after the top set with a stated part of its load taken off: so many, or until they are hard enough.

    With `until_rpe` they go on until one reaches it: at least `fewest`, at most `most` of them, and no `sets`.
    """

    sets: int | None = None
    less_percent: Number
    until_rpe: Number | None = None
    fewest: int | None = None
    most: int | None = None

    @property
    def most_sets(self) -> int:
        """How many there can be. [sets]"""
        return self.sets if self.sets is not None else self.most or MOST_UNTIL

    @property
    def fewest_sets(self) -> int:
        """How many there are at least. [sets]"""
        return self.sets if self.sets is not None else min(self.fewest or 1, self.most_sets)


@dataclass(frozen=True, slots=True, kw_only=True)
class SameLoad:
    """Further sets with the top set's load and repetitions."""

    sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUp:
    """Sets on the way to the top set: by effort (`rpes`) or by percentages of the planned load (`percents`)."""

    rpes: tuple[Number, ...] | None = None
    percents: tuple[Number, ...] | None = None
    reps: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AddLoad:
    """How the load grows from session to session, for lifters who go by repetitions instead of an effort.

    `all_sets_complete`: every set had all repetitions asked (of a range: its top). `two_more_twice`: in the last set
    two or more over the goal, in two sessions in a row. A session that was not complete repeats the load; after
    `after_failures` of them in a row `less_percent` comes off, where the coach states it. `until_sure`: until the
    model knows the lift well enough for the target to take over. `lighter_percent`: the session is lighter on purpose,
    by so much of the last load (0: the same again); nothing is added in it, and it counts neither as complete nor as
    failed.
    """

    when: Literal["all_sets_complete", "two_more_twice"]
    step: Load
    after_failures: int | None = None
    less_percent: Number | None = None
    until_sure: bool = False
    lighter_percent: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetsAtTarget:
    """A number of sets, each chosen to land on the target; `add_load`: the load grows from session to session."""

    kind: Literal["sets_at_target"] = "sets_at_target"
    sets: int
    add_load: AddLoad | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TopSet:
    """The heaviest set of the day, with back-off sets, same-load sets, or alone."""

    kind: Literal["top_set"] = "top_set"
    back_off: BackOff | None = None
    same_load: SameLoad | None = None
    build_up: BuildUp | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLastSet:
    """Sets at the target, then as many good repetitions as possible, to a stated limit."""

    kind: Literal["open_last_set"] = "open_last_set"
    sets_before: int
    most_reps: int | None = None
    stop_rpe: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AscendingSets:
    """One set at each percentage of the target's load, the last one 100."""

    kind: Literal["ascending_sets"] = "ascending_sets"
    percents: tuple[Number, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cluster:
    """Sets in parts with a short rest between them; the target's repetitions are those of one part."""

    kind: Literal["cluster"] = "cluster"
    sets: int
    parts: int
    rest_seconds: int
    """Between the parts of a set. [s]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ladder:
    """A newcomer's way to a working load: from the lightest implement up, by how many more were possible.

    The target's repetitions at each step, or two to more of them while it is far from that; it ends where no more than
    what the target leaves could still be done.
    """

    kind: Literal["ladder"] = "ladder"
    most_sets: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaxTest:
    """A test: by the published protocol from warm-ups to single attempts, as many as stated."""

    kind: Literal["test"] = "test"
    attempts: int | None = None


Scheme = SetsAtTarget | TopSet | OpenLastSet | AscendingSets | Cluster | Ladder | MaxTest


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplexPart:
    """A lift of a complex with its repetitions."""

    lift: str
    reps: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One line of a session: a lift, a scheme, a target.

    `complex`: what is done in a row without putting the load down, a clean and two jerks; the slot's lift is the one
    that it is logged as, and the target's repetitions say how often the row is gone through. `priority`: 1 stays
    longest where the time is short or accessories are trimmed (`plan.priorities`).
    """

    lift: str
    scheme: Scheme
    target: Target
    tempo: str | None = None
    rest_seconds: int | None = None
    note: str | None = None
    accessory: bool = False
    optional: bool = False
    with_next: bool = False
    support: tuple[str, ...] = ()
    complex: tuple[ComplexPart, ...] = ()
    priority: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPlan:
    """One session of a template's week."""

    name: str
    slots: tuple[Slot, ...]
    kind: Literal["block", "test", "meet"] = "block"
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPlan:
    """One week of a template; weeks count from 1, as coaches do."""

    sessions: tuple[SessionPlan, ...]
    name: str | None = None
    note: str | None = None
    lighter: bool = False
    """A week that is lighter on purpose."""
