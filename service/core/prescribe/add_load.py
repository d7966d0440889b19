"""Load that grows from session to session: what the sessions before say for today.

For lifters who go by repetitions instead of an effort. `AddLoad` is the coach's rule, `PastWork` what was done by it.
Adding a step when all sets are complete is common practice, no source. Two over the goal in the last set in two
sessions in a row is the rule of two for two: Haff and Triplett (eds.), Essentials of Strength Training and
Conditioning, 4th ed. What a failure does is the coach's word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial
from typing import Literal

from service.core.records import PastWork
from service.core.slots import (
    AddLoad,
    DistanceTarget,
    LoadTarget,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
)
from service.core.units import Load

TWO = 2
"""Repetitions over the goal, and sessions in a row: Haff and Triplett (eds.), as above. [reps], [sessions]"""
SAME = 0.01
"""Loads within this part of each other are the same one, hung at another place or in another unit. Ours. [1]"""
DAYS_BACK = 120
"""A load that has rested longer starts anew from the target. Ours. [days]"""
SESSIONS_BACK = 12
"""So many sessions are looked at: more than any rule counts. [sessions]"""
IN_TURN = 14
"""Sessions of a lift that lie no further apart can be done in turn with other repetitions. Ours. [days]"""

Way = Literal["start", "add", "again", "take_off"]


@dataclass(frozen=True, slots=True)
class Move:
    """What today's load does."""

    way: Way
    last: PastWork | None = None
    """The session that it is held against."""
    count: int = 0
    """Sessions in a row, with this load, that led to it: complete ones for `add`, failed ones for `take_off` and
    `again`; of two more twice, those with two more."""
    steps: int = 0
    """How many steps these have earned together. Where plates are coarser than the step, they are still owed."""


def rule_of(slot: Slot) -> AddLoad | None:
    """The rule by which a slot's load grows; None without one."""
    return slot.scheme.add_load if isinstance(slot.scheme, SetsAtTarget) else None


def is_lighter(slot: Slot) -> bool:
    """Whether a load that grows is to be lighter in this session on purpose, and to learn nothing from it."""
    add = rule_of(slot)
    return add is not None and add.lighter_percent is not None


def move(past: Sequence[PastWork], add: AddLoad) -> Move:
    """Where today's load goes from the sessions before.

    Parameters
    ----------
    past : sequence of PastWork
        Sessions of this slot's kind (`alike`), oldest first.
    add : AddLoad
        The coach's rule.

    Returns
    -------
    Move
        `start`: there is none yet. `add`: complete. `take_off`: not complete for the stated number of times with one
        load; counting then starts anew, as the load is another one. Else `again`.
    """
    if not past:
        return Move("start")
    last = past[-1]
    run = list(_same_load(past))
    if add.when == "two_more_twice":
        good = _in_a_row(run, two_more)
        if good >= TWO:
            return Move("add", last, good, good // TWO)
    else:
        good = _in_a_row(run, complete)
        if good:
            return Move("add", last, good, good)
    failures = _in_a_row(run, failed)
    if add.after_failures is not None and failures >= add.after_failures:
        return Move("take_off", last, failures)
    return Move("again", last, failures or good)


def complete(one: PastWork) -> bool:
    """Whether every set had all repetitions asked; of a range its top."""
    return len(one.reps) >= one.sets and all(count >= one.goal for count in one.reps[: one.sets])


def failed(one: PastWork) -> bool:
    """Whether a set is missing or stayed under what was asked; within a range it is on its way, not failed."""
    least = one.goal if one.goal_low is None else one.goal_low
    return len(one.reps) < one.sets or any(count < least for count in one.reps[: one.sets])


def two_more(one: PastWork) -> bool:
    """Whether the last set had two or more over the goal, and no set failed."""
    return not failed(one) and one.reps[one.sets - 1] >= one.goal + TWO


def _in_a_row(newest_first: Iterable[PastWork], good: Callable[[PastWork], bool]) -> int:
    count = 0
    for one in newest_first:
        if not good(one):
            break
        count += 1
    return count


def _same_load(past: Sequence[PastWork]) -> Iterable[PastWork]:
    """The newest sessions with one load, newest first."""
    last = past[-1].load
    for one in reversed(past):
        if not _same(one.load, last):
            return
        yield one


def _same(one: Load, other: Load) -> bool:
    if one.unit == "step" or other.unit == "step":
        return one == other
    return abs(one.grains - other.grains) <= SAME * abs(other.grains)


def alike(past: Iterable[PastWork], slot: Slot) -> tuple[PastWork, ...]:
    """The sessions that a slot's load goes on from, oldest first: one line of work in its lift.

    Another number of sets, another effort or percentage, and other repetitions go on from the last load: the target
    gives the start, and the rule all that follows. Only a load that the coach states starts anew when it becomes
    another one, or takes the place of another target. Where a lift is done with different repetitions in turn, heavy on
    one day and often on another, each is a line of its own: of the sessions in the `IN_TURN` days before the newest,
    those count whose repetitions are nearest to what is asked. Ladders have loads of their own (`from_ladder`).
    """
    wanted = _range(slot.target)
    if wanted is None:
        return ()
    left = [
        one
        for one in past
        if one.lift == slot.lift and one.left is None and not one.lighter and _of_one_start(one, slot.target)
    ]
    found: list[PastWork] = []
    while left:
        since = left[-1].on - timedelta(days=IN_TURN)
        at = min(
            (at for at, one in enumerate(left) if one.on >= since),
            key=partial(_how_near, left, wanted),
        )
        found.append(left[at])
        wanted = left[at].goal_low, left[at].goal
        del left[at:]
    return tuple(reversed(found))


def asks_more(slot: Slot, last: PastWork) -> int:
    """By how many repetitions a set has more to do than in an earlier session; 0 where it has not. [reps]"""
    asked = _range(slot.target)
    return 0 if asked is None else max(asked[1] - last.goal, 0)


def _range(target: Target) -> tuple[int | None, int] | None:
    """The low end, where there is one, and the top of the repetitions asked; None where nobody can say. [reps]"""
    if isinstance(target, TimeTarget | DistanceTarget) or target.reps is None:
        return None
    return (None, target.reps) if target.reps_to is None else (target.reps, target.reps_to)


def _how_near(past: Sequence[PastWork], asked: tuple[int | None, int], at: int) -> tuple[int, int]:
    """How far an earlier session's repetitions are from those asked, 0 for the same; of equals the newest. [reps]"""
    one, (low, top) = past[at], asked
    lows = abs((one.goal if one.goal_low is None else one.goal_low) - (top if low is None else low))
    return abs(one.goal - top) + lows, -at


def _of_one_start(one: PastWork, target: Target) -> bool:
    """Whether an earlier session's load came from the start that the coach still asks for."""
    if one.target is None or not isinstance(target, LoadTarget):
        return True
    return isinstance(one.target, LoadTarget) and _same(one.target.load, target.load)


def as_asked(slot: Slot, lift: str, on: date, load: Load) -> PastWork | None:
    """A session as if all its sets were done as asked, for plans of what is to come; None as `summed`."""
    scheme, target = slot.scheme, slot.target
    if not isinstance(scheme, SetsAtTarget) or isinstance(target, TimeTarget | DistanceTarget) or target.reps is None:
        return None
    top = target.reps if target.reps_to is None else target.reps_to
    return summed(slot, lift, on, [DoneThen(load, top)] * scheme.sets)


@dataclass(frozen=True, slots=True)
class DoneThen:
    """One work set of an earlier session."""

    load: Load
    reps: int
    rpe: float | None = None
    """How hard it was said to be; None: nothing was said. [RPE]"""


def summed(
    slot: Slot, lift: str, on: date, done: Sequence[DoneThen], *, sets_asked: int | None = None
) -> PastWork | None:  # fmt: skip
    """What an earlier session comes to for the rule: its load, and the repetitions of as many sets as were asked.

    Parameters
    ----------
    slot : Slot
        As it was planned then.
    lift : str
        What was done.
    on : date
        When.
    done : sequence of DoneThen
        Work sets, in order.
    sets_asked : int or None
        How many were prescribed, where that was fewer than planned. [sets]

    Returns
    -------
    PastWork or None
        Its load is the lightest of sets that are all complete, so that a lighter one in between counts; else the
        first set's, before a miss or pain took some off. None where there is nothing to go on.
    """
    scheme, target = slot.scheme, slot.target
    if not done or not isinstance(scheme, SetsAtTarget) or isinstance(target, TimeTarget | DistanceTarget):
        return None
    if target.reps is None:
        return None
    sets = scheme.sets if sets_asked is None else min(scheme.sets, sets_asked)
    asked = done[:sets]
    said = [one.rpe for one in asked if one.rpe is not None]
    goal = target.reps if target.reps_to is None else target.reps_to
    found = PastWork(
        lift=lift,
        on=on,
        load=done[0].load,
        reps=tuple(one.reps for one in asked),
        goal=goal,
        sets=sets,
        goal_low=None if target.reps_to is None else target.reps,
        target=target,
        rpe=sum(said) / len(said) if said else None,
        lighter=is_lighter(slot),
    )
    by_step = any(one.load.unit == "step" for one in asked)
    if failed(found) or len({one.load.unit == "step" for one in asked}) > 1:
        return found
    lightest = min((one.load for one in asked), key=lambda one: one.value if by_step else one.grains)
    return replace(found, load=lightest)
