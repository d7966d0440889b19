"""A part of a template: one week written out, how many of them, and what changes from week to week."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.progressions.numbers import Member
from service.core.slots import WeekPlan
from service.core.units import Load, Number

MOST_WEEKS = 104
"""Of a template. [weeks]"""
MOST_PROGRESSIONS = 200
"""Of a part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Where:
    """Which slots of the week: all that fit everything said here.

    Accessories are meant where `lift` or `slots` names them, sessions of a test or a meet where `sessions` or
    `session_numbers` does; lighter weeks mean accessories always.
    """

    lift: str | None = None
    sessions: tuple[str, ...] = ()
    """Names of sessions."""
    session_numbers: tuple[int, ...] = ()
    """Sessions by their place in the week, from 1: for names that stand there twice."""
    slots: tuple[int, ...] = ()
    """Places in the session, from 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EachWeek(Where):
    """A number that moves by the same amount from week to week; of `change` load by a load in the slot's own unit.

    What the member cannot hold, half a set or a quarter of a point of RPE, is rounded in the week, halves up, and the
    amounts go on from the number as it was written: a set more every second week is half a set a week.
    """

    kind: Literal["each_week"] = "each_week"
    change: Member
    by: Number | None = None
    by_load: Load | None = None

    @property
    def amount(self) -> Number:
        """By how much, in the member's or the load's unit."""
        return self.by_load.value if self.by_load is not None else self.by or 0


@dataclass(frozen=True, slots=True, kw_only=True)
class FromTo(Where):
    """A number that goes evenly from what is written to `to`, reached in the part's last week that is not lighter."""

    kind: Literal["from_to"] = "from_to"
    change: Member
    to: Number | None = None
    to_load: Load | None = None

    @property
    def end(self) -> Number:
        """Where it ends, in the member's or the load's unit."""
        return self.to_load.value if self.to_load is not None else self.to or 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LighterWeeks(Where):
    """Weeks that are lighter: each `every`-th of the part, or those of `weeks`, from what stands in that week.

    The count of weeks goes on through them: with 2.5 points a week, the week after one is 5 points over the week
    before it. With `pause` it stands still: a lighter week is made from the week before it, and the week after it goes
    on from there.
    """

    kind: Literal["lighter_weeks"] = "lighter_weeks"
    every: int | None = None
    weeks: tuple[int, ...] = ()
    sets_percent: Number | None = None
    """So much of the sets stays. [%]"""
    percent_points: Number | None = None
    """Negative; fixed loads go down by as many percent of themselves. [points of %]"""
    rpe_points: Number | None = None
    """Negative; repetitions left rise by as much. [RPE]"""
    pause: bool = False
    name: str | None = None
    """What these weeks are called; None: as the others."""

    def numbers(self, weeks: int) -> tuple[int, ...]:
        """Which weeks of a part of so many they are, from 1."""
        if self.every is not None:
            return tuple(range(self.every, weeks + 1, self.every))
        return self.weeks


Progression = EachWeek | FromTo | LighterWeeks


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """So many weeks that are written as one: the first as it is, the others by what changes.

    They are called what the week says, or else what the part says.
    """

    name: str | None = None
    weeks: int
    week: WeekPlan
    progressions: tuple[Progression, ...] = ()


@dataclass(frozen=True, slots=True)
class Count:
    """How far the progressions have come in each week of a part."""

    steps: tuple[int, ...]
    """Of each week, 0 in the first. [steps]"""
    last: int
    """Of the last week that is not lighter: where what goes from one number to another arrives. [steps]"""


def counted(weeks: int, lighter: frozenset[int], pausing: frozenset[int]) -> Count:
    """How far the progressions have come in each week, counted through lighter weeks except those that pause.

    >>> counted(5, frozenset({3}), frozenset()), counted(5, frozenset({3}), frozenset({3}))
    (Count(steps=(0, 1, 2, 3, 4), last=4), Count(steps=(0, 1, 1, 2, 3), last=3))
    """
    steps, step = [], -1
    for week in range(1, weeks + 1):
        step += week not in pausing
        steps.append(max(step, 0))
    others = [step for week, step in enumerate(steps, 1) if week not in lighter]
    return Count(tuple(steps), others[-1] if others else steps[-1])
