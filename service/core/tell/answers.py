"""What is answered about what the model knows. These records are written to the wire as they are."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from service.core.answers import Caution, Loading, LoadRange, ObeyedOverride, Step
from service.core.records import SupportClass
from service.core.slots import Basis
from service.core.tell.manner import Manner
from service.core.tell.sure import Sure
from service.core.units import Load, MassUnit, Number

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True)
class NumberRange:
    """In `level` of such cases (0.8: 8 of 10) the true number lies inside."""

    low: Number
    """The lower end."""
    high: Number
    """The upper end."""
    level: Number
    """In which part of such cases it holds, 0 to 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """How likely a set passes an effort."""

    rpe: Number
    """The effort. [RPE]"""
    chance_reported: Number | None
    """That a harder one will be reported, 0 to 1; null where a curve is pinned, which knows no chances."""
    chance_true: Number | None
    """That fewer repetitions will really be left, whatever is reported, 0 to 1; null as above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChosenLoad:
    """How a load was chosen for an effort."""

    rpe: Number
    """The effort aimed at, after the effort limit. [RPE]"""
    planned: Load
    """The load at which this effort is expected, before limits and rounding; as the lift's load is meant."""
    planned_range: LoadRange | None
    """Where that load is likely to lie."""
    most: Load | None
    """The heaviest that the chances to pass the limit allow; null where the limit is lifted or a curve is pinned."""
    limit: Literal["true", "report"] | None
    """The chance that made the load lower: to pass the limit in truth, or in the report; null: neither did."""
    overshoot: Passing | None
    """How likely the load passes what it shall hardly pass; null where the limit is lifted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """What a set should be like before it is lifted."""

    lift: str
    """The lift's word."""
    reps: int
    """Repetitions of the set."""
    load: Load
    """The load that all of this is about: the one sent, or for an effort the one that can be loaded."""
    text: str
    """What to expect, in one or two sentences."""
    expected_rpe: Number
    """The effort that is likely to be reported, 4 to 10; lighter ones are shown as 4. [RPE]"""
    range: NumberRange | None
    """Where that report is likely to lie, 4 to 10; null where a curve is pinned. [RPE]"""
    chance_to_make: Number | None
    """That all repetitions go up, 0 to 1; null where a curve is pinned."""
    passes: tuple[Passing, ...]
    """The chances to pass RPE 9 and 9.5."""
    chosen: ChosenLoad | None
    """How the load was chosen; null where it was sent."""
    why: tuple[Step, ...]
    """The reason, in order."""
    loading: Loading | None
    """What hangs where; null where the load was sent."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""
    overrides: tuple[ObeyedOverride, ...]
    """A coach's decisions about this lift; a cap is obeyed where a load is chosen."""
    unit: MassUnit
    """Unit that loads are worked out in; what is whole only in the other unit is shown in that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftEstimate:
    """What is known of an athlete's max in one lift, in one class of support."""

    lift: str
    """The lift's word."""
    name: str
    """As lists and sentences show it."""
    support: SupportClass
    """What it is done in: maxes are compared like with like."""
    stack: str | None
    """The machine, for lifts on one; estimates are comparable on that machine only."""
    max: Load | None
    """The max of a typical day, fresh, as the lift's load is meant; null where it is not known."""
    range: LoadRange | None
    """Where it is likely to lie; null where nothing is estimated."""
    basis: Basis | None
    """Where it comes from: `rolling` is the log, else a max that was entered, or that of a lift which this one is based
    on; null where it is not known."""
    last: Day | None
    """Date of the last session of this lift; null where none is known."""
    sets: int
    """Sets that were believed so far."""
    sure_percent: Number | None
    """Half of the range against the max. [%]"""
    text: str
    """What is known, or why nothing is and what would help, in a sentence or two."""
    why: tuple[Step, ...]
    """Where the max comes from, in order."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TaughtSession:
    """What the last session of a lift taught."""

    date: Day
    """Its date."""
    text: str
    """How the sets compared with what was expected, where the max went, and what else they were put down to."""
    why: tuple[Step, ...]
    """Each set against what was expected of it, then where that went."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftDetail(LiftEstimate):
    """All that is known of an athlete's max in one lift, on a day."""

    on: Day
    """The day that it is said of."""
    days_ahead: int
    """How many days after today that is; 0 for today and before. [days]"""
    taught: TaughtSession | None
    """What the last session up to that day taught; null where there was none."""
    sure: Sure
    """How sure the max is today or was on that day, and what would make it surer."""
    manner: Manner | None
    """What is peculiar to the athlete; null where nothing is estimated of the lift."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HistoryPoint:
    """The max of one session's day."""

    date: Day
    """The session's date."""
    max: Load
    """As it looks today, with all that came later known too."""
    range: LoadRange
    """Where that is likely to lie."""
    as_it_was: Load
    """What was believed after that session."""
    starts: bool
    """The line starts anew here: what came before was of another level."""


@dataclass(frozen=True, slots=True)
class Count:
    """Repetitions beside a load."""

    left: int
    """How many repetitions are left after them, in the athlete's own way of reporting."""
    reps: int | None
    """The most repetitions that leave so many; null where not even one does."""
    weak: bool
    """More than twelve are possible, where little is known."""


@dataclass(frozen=True, slots=True)
class ListedLoad:
    """A load that can be loaded, with the repetitions that leave one, two and three."""

    load: Load
    """The load. Lighter ones, down to the next line, count as this one."""
    counts: tuple[Count, ...]
    """One for each number left, fewest left first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadList:
    """For one lift: the loads that can be loaded, and beside each how many repetitions leave one, two, three."""

    lift: str
    """The lift's word."""
    name: str
    """As lists and sentences show it."""
    support: SupportClass
    """What it is done in."""
    unit: MassUnit
    """Unit that loads are worked out in."""
    max: Load | None
    """The max that it stands on: a typical day, fresh; null where nothing is known."""
    range: LoadRange | None
    """Where that max is likely to lie; null where a curve is pinned or nothing is known."""
    text: str
    """What it stands on, or why it is empty and what would help."""
    loads: tuple[ListedLoad, ...]
    """Heaviest first; empty where nothing is known."""
    why: tuple[Step, ...]
    """Where the max comes from, and how the list is made."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""
