"""What the calculation answers. These records are written to the wire as they are.

They are not frozen, for speed: a frozen one costs three times as much to make, and an answer holds dozens. Nobody
changes them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from service.core.records import Role
from service.core.units import Load, Number


@dataclass(slots=True)
class Named:
    """A number with its name and unit."""

    name: str
    """What it is; the same word in every answer."""
    value: Number
    """In `unit`; effective where the name says so."""
    unit: str
    """`kg`, `lb`, `percent`, `reps`, `rpe`, `days`, `step`, and the like."""


@dataclass(slots=True)
class Step:
    """One step of the reason: a sentence, the formula's stable name, what went in, what came out."""

    text: str
    """The step as a lifter reads it."""
    formula: str
    """Stable name; `/guides/formulas` says what it stands for."""
    inputs: tuple[Named, ...]
    """What went in."""
    result: Named | None
    """What came out; null where the step only says something."""


Reason = Callable[[], Step]
"""A step that is worked out when somebody asks why."""


@dataclass(slots=True)
class LoadRange:
    """In `level` of such cases (0.8: 8 of 10) the true load lies inside."""

    low: Load
    """The lower end; as the lift's load is meant, so that for `bodyweight` assistance is negative."""
    high: Load
    """The upper end."""
    level: Number
    """In which part of such cases it holds, 0 to 1."""


@dataclass(slots=True)
class Caution:
    """A caution that applies here; it defers to the coach on the floor and to licensed practitioners."""

    code: str
    """Stable name."""
    text: str
    """What to take care of, in plain words."""


@dataclass(slots=True)
class PlateCount:
    """Plates of one kind: on each side of a bar, or in all for a belt."""

    plate: Load
    """The mass of one plate."""
    count: int
    """How many, on each side of a bar or in all."""
    colour: str | None
    """As the place lists it."""
    diameter_mm: int | None
    """As the place lists it. [mm]"""


@dataclass(slots=True, kw_only=True)
class BarLoading:
    """What hangs on a bar; `difference` is load minus exact; `per_side` heaviest first."""

    kind: Literal["bar"] = "bar"
    """A bar with plates."""
    exact: Load
    """What the calculation asks for, in the unit of the answer."""
    load: Load
    """What hangs, bar and collars included."""
    difference: Load
    """Load minus exact."""
    bar: Load
    """The bar's own mass."""
    collars: Load
    """Both together."""
    per_side: tuple[PlateCount, ...]
    """Plates of one side, heaviest first."""


@dataclass(slots=True, kw_only=True)
class DumbbellLoading:
    """A pair of dumbbells; loads are those of one hand."""

    kind: Literal["dumbbells"] = "dumbbells"
    """A pair of dumbbells."""
    exact: Load
    """What the calculation asks for, of one hand."""
    load: Load
    """The dumbbell to take in each hand."""
    difference: Load
    """Load minus exact."""


@dataclass(slots=True, kw_only=True)
class BodyweightLoading:
    """Load added to body weight (`plates` on a belt), or assistance where it is negative."""

    kind: Literal["bodyweight"] = "bodyweight"
    """The body, with a load added or helped."""
    exact: Load
    """What the calculation asks to add; assistance is negative."""
    load: Load
    """What is added; assistance is negative."""
    difference: Load
    """Load minus exact."""
    plates: tuple[PlateCount, ...]
    """Plates for a belt, heaviest first; empty for assistance."""


@dataclass(slots=True, kw_only=True)
class StackLoading:
    """A step of a machine; `number` counts its steps from 1. Without masses, `exact` and `difference` are null."""

    kind: Literal["stack"] = "stack"
    """A machine."""
    exact: Load | None
    """What the calculation asks for; null where its steps have no mass."""
    load: Load
    """The step to take, as the machine lists it."""
    difference: Load | None
    """Load minus exact; null where its steps have no mass."""
    number: int
    """Which of its steps, from 1."""


Loading = BarLoading | DumbbellLoading | BodyweightLoading | StackLoading


@dataclass(slots=True)
class ObeyedOverride:
    """A coach's decision that this answer obeys."""

    id: str
    """The override's id."""
    kind: str
    """As the override has it; an `approval` stands at sets that would have waited for it."""
    text: str
    """What was decided, until when, by whom and why."""


@dataclass(slots=True)
class InParts:
    """How a set is split into parts, with a short rest between them."""

    parts: int
    """How many parts; the set's repetitions are those of all of them together."""
    rest_seconds: int
    """Rest between the parts. [s]"""


@dataclass(slots=True, kw_only=True)
class PrescribedSet:
    """One set to do. Loads are null where the lifter chooses or nothing is known."""

    role: Role
    """How the set is meant."""
    number: int
    """Counts within its role, from 1."""
    of: int
    """How many sets of this role are planned; of the attempts of a test, how many there can be at most."""
    reps: int | None
    """Repetitions to do; null where they are open, or seconds or metres count."""
    reps_to: int | None
    """The end of a range of repetitions; null without one."""
    seconds: int | None
    """How long; null where repetitions count. [s]"""
    metres: Number | None
    """How far; null where repetitions count. [m]"""
    load: Load | None
    """As the lift's load is meant: bar and all, one hand, added to the body, a machine's step."""
    expected_rpe: Number | None
    """One decimal; null where nothing is known of the effort."""
    provisional: bool
    """True while a percentage waits for today's heavy set and the load stands on another max."""
    rest_seconds: int | None
    """Rest after it; null where the plan names none. [s]"""
    text: str
    """What to do, in one sentence."""
    why: tuple[Step, ...]
    """The reason, in order."""
    range: LoadRange | None
    """Where the exact load is likely to lie; null where it is no estimate."""
    loading: Loading | None
    """What hangs where; null without a load, or where the load was not hung."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""
    overrides: tuple[ObeyedOverride, ...]
    """A coach's decisions that this set obeys."""
    without_override: Load | None
    """What the calculation alone would have said."""
    in_parts: InParts | None = None
    """How the set is split; null for sets in one go."""


@dataclass(slots=True, kw_only=True)
class ResolvedSlot:
    """A slot with its sets; `lift` is what is to be done, after overrides."""

    lift: str
    """The lift to be done."""
    text: str
    """What the plan asks for, in one sentence."""
    sets: tuple[PrescribedSet, ...]
    """In the order in which they are done."""
    cautions: tuple[Caution, ...]
    """Those of its sets, each once."""
    overrides: tuple[ObeyedOverride, ...]
    """A coach's decisions that its sets obey, each once."""
    left_out: bool
    """A coach has left it out: there are no sets."""
    without_override: Load | None = None
    """Of a slot that a coach has left out: the heaviest of its work sets, as the calculation alone would have it."""


@dataclass(slots=True, kw_only=True)
class NextIf:
    """What the set after would be, if the next one goes like this; of those that fit, the last counts."""

    rpe_at_least: Number | None
    """The next set was at least so hard; null: however hard. [RPE]"""
    rpe_at_most: Number | None
    """The next set was at most so hard; null: however hard. [RPE]"""
    made: bool | None
    """False: it was missed. Null: made or not."""
    load: Load | None
    """What would then be lifted; null at the end of the lift, or where the lifter chooses."""
    reps: int | None
    """Repetitions then; null at the end of the lift."""
    text: str
    """What would follow, in one sentence."""


@dataclass(slots=True, kw_only=True)
class NextSet(PrescribedSet):
    """The next set, and what would follow the few outcomes that matter."""

    kind: Literal["set"] = "set"
    """A set to do."""
    slot: str | None
    """The slot's id; null outside of a session."""
    next_if: tuple[NextIf, ...]
    """What would follow, by how it goes."""


@dataclass(slots=True, kw_only=True)
class Option:
    """One way to go on: a set, or the end of the lift or the session."""

    text: str
    """What it means, in one sentence."""
    set: PrescribedSet | None
    """The set to do; null where none follows."""
    ends: Literal["lift", "session"] | None
    """What ends with it; null where the lift goes on."""
    to_lift: str | None
    """The coach's substitute, where one is named."""


@dataclass(slots=True, kw_only=True)
class Choice:
    """Pain was reported, or even the lightest load is too heavy: ways to go on, for the lifter and the coach."""

    kind: Literal["choice"] = "choice"
    """The lifter and the coach choose."""
    slot: str | None
    """The slot's id; null outside of a session."""
    text: str
    """What is asked."""
    options: tuple[Option, ...]
    """Ways to go on, two or three."""
    cautions: tuple[Caution, ...]
    """Pain is never coached through: what to watch for."""


@dataclass(slots=True, kw_only=True)
class LiftDone:
    """The lift is finished for today; `next_slot` comes after it."""

    kind: Literal["lift_done"] = "lift_done"
    """The lift is done for today."""
    slot: str | None
    """The slot's id; null outside of a session."""
    text: str
    """Why it ends, in one sentence."""
    why: tuple[Step, ...]
    """What the last set showed."""
    next_slot: str | None
    """The slot to go on with; null where none is left."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""


@dataclass(slots=True, kw_only=True)
class SessionDone:
    """Nothing is left to do in this session."""

    kind: Literal["session_done"] = "session_done"
    """The session is done."""
    slot: str | None
    """The slot of the last set; null without one."""
    text: str
    """Why it ends, in one sentence."""
    why: tuple[Step, ...]
    """What the last set showed."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""


Next = NextSet | Choice | LiftDone | SessionDone


@dataclass(slots=True, kw_only=True)
class Estimate:
    """An estimated max."""

    max: Load
    """The max, as the lift's load is meant."""
    curve: str
    """The curve that it was read by."""
    range: LoadRange | None
    """Where the true max is likely to lie; null where the load is the max itself."""
    text: str
    """The answer in one sentence."""
    why: tuple[Step, ...]
    """The reason, in order."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""
