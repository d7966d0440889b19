"""The end of a day: what its sessions say of the ratios between lifts, and of lifts that rest."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from service.core.model.informing import informed, learned, said
from service.core.model.kin import Key, Level, Ratio, level_of
from service.core.model.memory import LiftMemory, Memory
from service.core.model.passing import WANDER
from service.core.model.state import Person

LEARNING_DAYS, LEARNING_SETS = 21, 3
"""A ratio is learned from two lifts trained within so many days, of each of which so many sets were used; a lift that
was not trained for longer rests, and is informed by its kin. Ours. [days], [sets]"""


def as_of(memory: Memory, on: date) -> Memory:
    """The memory as it is read on a date: earlier days are closed. Nothing needs to be stored.

    Parameters
    ----------
    memory : Memory
        After its last event.
    on : date
        The date of the question; a row is to be `opened` on it too.

    Returns
    -------
    Memory
        The same object on the day of its last event.
    """
    return memory if memory.day is None or on <= memory.day else close_day(memory)


def close_day(memory: Memory) -> Memory:
    """The memory after its day: kin learn from what was trained; the person stays as it is.

    Each lift's own evidence is taken first, from the rows as the day left them, so that nothing that was told comes
    back as new on the same day. Then, child by child in the order of their keys, the ratio to the parent is learned,
    and where one of the two rests, the other informs it. While both are trained they know themselves better than kin
    do: what kin said then made the ranges too narrow and the maxes no better (simulation).

    Returns
    -------
    Memory
        The same object if the day was closed before.
    """
    on = memory.day
    if memory.closed or on is None:
        return memory
    lifts = dict(memory.lifts)
    heard: dict[Key, Level | None] = {}
    for key, lift in memory.lifts.items():
        if lift.told == on:
            after = level_of(lift.row)
            heard[key] = None if lift.before is None or after is None else said(lift.before, after)
            lifts[key] = replace(lift, own=after)
    for key in sorted(lifts):
        ratio = lifts[key].ratio
        if ratio is not None and ratio.parent in lifts and (key in heard or ratio.parent in heard):
            _close_pair(lifts, key, ratio, heard, memory.person, on)
    return Memory(memory.person, lifts, on, closed=True)


def _close_pair(
    lifts: dict[Key, LiftMemory], key: Key, ratio: Ratio, heard: dict[Key, Level | None], person: Person, on: date
) -> None:
    """What a day says of a lift and its parent, of which at least one was trained; changes `lifts`."""
    parent = ratio.parent
    here, there = key in heard, parent in heard
    ratio = replace(
        ratio,
        here=(0 if there else ratio.here) + (1 if here else 0),
        there=(0 if here else ratio.there) + (1 if there else 0),
        up=0 if there else ratio.up,
        down=0 if here else ratio.down,
    )
    up, down = heard.get(key), heard.get(parent)
    shown = _shown(lifts[key], lifts[parent], ratio, up, down)
    if shown is not None:
        ratio = learned(ratio, shown.at, shown.variance, on)
    # The ratio is one and the same each time: its variance counts by the square of the sessions, so that its error does
    # not pass for new information.
    doubt = ratio.variance_at(on)
    if up is not None and _rests(lifts[parent], on):
        level = Level(up.at - ratio.mean, up.variance + (ratio.up + 1) ** 2 * doubt)
        if _inform(lifts, parent, person, on, level):
            ratio = replace(ratio, up=ratio.up + 1)
    if down is not None and _rests(lifts[key], on):
        level = Level(down.at + ratio.mean, down.variance + (ratio.down + 1) ** 2 * doubt)
        if _inform(lifts, key, person, on, level):
            ratio = replace(ratio, down=ratio.down + 1)
    lifts[key] = replace(lifts[key], ratio=ratio)


def _rests(lift: LiftMemory, on: date) -> bool:
    """No session of the lift itself has taught anything for `LEARNING_DAYS`, or ever.

    A row that began today may have begun from what its kin said today, which is not to be heard twice.
    """
    return lift.row.day != on if lift.told is None else (on - lift.told).days > LEARNING_DAYS


def _inform(lifts: dict[Key, LiftMemory], key: Key, person: Person, on: date, level: Level) -> bool:
    """Let a lift hear of its level; whether it believed it. Changes `lifts`."""
    lift = lifts[key]
    row = informed(lift.row, person, on, level)
    if row is lift.row:
        return False
    lifts[key] = replace(lift, row=row)
    return True


def _shown(child: LiftMemory, parent: LiftMemory, ratio: Ratio, up: Level | None, down: Level | None) -> Level | None:
    """The ratio as the day shows it: its own evidence, against the other's level after that one's last session.

    Evidence of the day alone, as a level contains what earlier days and the ratio itself said. The other's level is the
    same from day to day until it is trained again: its variance counts by the square of the days, so that its error
    does not pass for new information.
    """
    if child.told is None or parent.told is None or child.own is None or parent.own is None:
        return None
    days = abs((child.told - parent.told).days)
    few = min(child.row.used_ever, parent.row.used_ever) < LEARNING_SETS
    if few or days > LEARNING_DAYS:
        return None
    wander = WANDER * WANDER * days
    if days == 0:
        if up is None or down is None:
            return None
        return Level(up.at - down.at, up.variance + down.variance)
    if child.told > parent.told:
        return (
            None
            if up is None
            else Level(up.at - parent.own.at, up.variance + ratio.here**2 * (parent.own.variance + wander))
        )
    return (
        None
        if down is None
        else Level(child.own.at - down.at, down.variance + ratio.there**2 * (child.own.variance + wander))
    )
