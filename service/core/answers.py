"""What the calculation answers. These records are written to the wire as they are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from service.core.records import Role
from service.core.units import Load, Number


@dataclass(frozen=True, slots=True)
class Named:
    """A number with its name and unit."""

    name: str
    value: Number
    unit: str


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the reason: a sentence, the formula's stable name, what went in, what came out."""

    text: str
    formula: str
    inputs: tuple[Named, ...]
    result: Named | None


Reason = Callable[[], Step]
"""A step that is worked out when somebody asks why."""


@dataclass(frozen=True, slots=True)
class LoadRange:
    """In `level` of such cases (0.8: 8 of 10) the true load lies inside."""

    low: Load
    high: Load
    level: Number


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution that applies here; it defers to the coach on the floor and to licensed practitioners."""

    code: str
    text: str


@dataclass(frozen=True, slots=True)
class PlateCount:
    """Plates of one kind: on each side of a bar, or in all for a belt."""

    plate: Load
    count: int
    colour: str | None
    diameter_mm: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BarLoading:
    """What hangs on a bar; `difference` is load minus exact; `per_side` heaviest first."""

    kind: Literal["bar"] = "bar"
    exact: Load
    load: Load
    difference: Load
    bar: Load
    collars: Load
    per_side: tuple[PlateCount, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DumbbellLoading:
    """A pair of dumbbells; loads are those of one hand."""

    kind: Literal["dumbbells"] = "dumbbells"
    exact: Load
    load: Load
    difference: Load


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyweightLoading:
    """Load added to body weight (`plates` on a belt), or assistance where it is negative."""

    kind: Literal["bodyweight"] = "bodyweight"
    exact: Load
    load: Load
    difference: Load
    plates: tuple[PlateCount, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class StackLoading:
    """A step of a machine; `number` counts its steps from 1. Without masses, `exact` and `difference` are null."""

    kind: Literal["stack"] = "stack"
    exact: Load | None
    load: Load
    difference: Load | None
    number: int


Loading = BarLoading | DumbbellLoading | BodyweightLoading | StackLoading


@dataclass(frozen=True, slots=True)
class ObeyedOverride:
    """A coach's decision that this answer obeys."""

    id: str
    kind: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PrescribedSet:
    """One set to do. Loads are null where the lifter chooses or nothing is known."""

    role: Role
    number: int
    """Counts within its role, from 1."""
    of: int
    """How many sets of this role are planned."""
    reps: int | None
    reps_to: int | None
    seconds: int | None
    metres: Number | None
    load: Load | None
    expected_rpe: Number | None
    """One decimal; null where nothing is known of the effort."""
    provisional: bool
    """True while a percentage waits for today's heavy set and the load stands on another max."""
    rest_seconds: int | None
    text: str
    why: tuple[Step, ...]
    range: LoadRange | None
    loading: Loading | None
    cautions: tuple[Caution, ...]
    overrides: tuple[ObeyedOverride, ...]
    without_override: Load | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ResolvedSlot:
    """A slot with its sets; `lift` is what is to be done, after overrides."""

    lift: str
    text: str
    sets: tuple[PrescribedSet, ...]
    cautions: tuple[Caution, ...]
    overrides: tuple[ObeyedOverride, ...]
    left_out: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NextIf:
    """What the set after would be, if the next one goes like this; of those that fit, the last counts."""

    rpe_at_least: Number | None
    rpe_at_most: Number | None
    made: bool | None
    load: Load | None
    reps: int | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSet(PrescribedSet):
    """The next set, and what would follow the few outcomes that matter."""

    kind: Literal["set"] = "set"
    slot: str | None
    next_if: tuple[NextIf, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """One way to go on: a set, or the end of the lift or the session."""

    text: str
    set: PrescribedSet | None
    ends: Literal["lift", "session"] | None
    to_lift: str | None
    """The coach's substitute, where one is named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Pain was reported: two or three ways to go on, for the lifter and the coach to choose."""

    kind: Literal["choice"] = "choice"
    slot: str | None
    text: str
    options: tuple[Option, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftDone:
    """This lift is finished for today; `next_slot` comes after it."""

    kind: Literal["lift_done"] = "lift_done"
    slot: str | None
    text: str
    why: tuple[Step, ...]
    next_slot: str | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionDone:
    """Nothing is left to do in this session."""

    kind: Literal["session_done"] = "session_done"
    slot: str | None
    text: str
    why: tuple[Step, ...]
    cautions: tuple[Caution, ...]


Next = NextSet | Choice | LiftDone | SessionDone


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """An estimated max."""

    max: Load
    curve: str
    range: LoadRange | None
    text: str
    why: tuple[Step, ...]
    cautions: tuple[Caution, ...]
