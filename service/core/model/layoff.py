"""Coming back after an absence: lighter and less at first, then evenly back. Prudence, not learned from anything."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class ReturnRule:
    """How an athlete comes back; the coach may change each number. All of them are ours, without a source."""

    from_days: int = 14
    """Shortest absence that it acts after. [days]"""
    a_week: float = 0.015
    """Part off the loads for each week of absence after the first, >= 0. [1]"""
    most: float = 0.10
    """Most that is taken off the loads, 0 to 1. [1]"""
    sets: float = 1 / 3
    """Part of the sets that is left out, 0 to 1. [1]"""
    share: float = 0.5
    """Part of the absence's length that coming back takes, >= 0. [1]"""
    least_days: int = 7
    """Shortest way back, >= 1. [days]"""
    most_days: int = 21
    """Longest. [days]"""


@dataclass(frozen=True, slots=True)
class Eased:
    """What a day's session is multiplied by."""

    load: float
    """Loads, on every basis. [1]"""
    sets: float
    """Number of sets, before rounding. [1]"""
    absent_days: int
    """The absence that it is for; 0: none. [days]"""
    until: date | None
    """First day on which nothing is eased any more; None where nothing is."""


NOTHING_EASED = Eased(1.0, 1.0, 0, None)


def eased(rule: ReturnRule, absent_days: int, back: date, on: date) -> Eased:
    """What a session is multiplied by on the way back from one absence.

    Parameters
    ----------
    rule : ReturnRule
        The coach's, or as it stands.
    absent_days : int
        Days from the last session before the absence to the first after it. [days]
    back : date
        Date of that first session: there the loads are lightest.
    on : date
        Date of the session in question, not before `back`.

    Returns
    -------
    Eased
        `NOTHING_EASED` after a shorter absence than the rule's, or when the way back is over.

    Examples
    --------
    >>> day = eased(ReturnRule(), 28, date(2026, 3, 1), date(2026, 3, 1))
    >>> round(day.load, 3), round(day.sets, 3), day.until  # three weeks after the first: 4.5 % off
    (0.955, 0.667, datetime.date(2026, 3, 15))
    """
    if absent_days < rule.from_days:
        return NOTHING_EASED
    length = min(max(rule.share * absent_days, rule.least_days), rule.most_days)
    gone = (on - back).days
    if gone >= length:
        return NOTHING_EASED
    left = 1 - gone / length
    off = min(rule.a_week * max(absent_days / 7 - 1, 0.0), rule.most)
    until = back + timedelta(days=int(-(-length // 1)))
    return Eased(1 - off * left, 1 - rule.sets * left, absent_days, until)


def eased_on(rule: ReturnRule | None, sessions: Iterable[date], on: date) -> Eased:
    """What a session is multiplied by, with the absences read from the dates of all sessions.

    Parameters
    ----------
    rule : ReturnRule or None
        None: the coach has switched it off.
    sessions : iterable of date
        Dates of the athlete's sessions of any lift, in any order; those after `on` are left out.
    on : date
        Date of the session in question, itself a session whether or not it is among them.

    Returns
    -------
    Eased
        That of the absence which eases the loads most, where the way back from one is cut short by another.

    Examples
    --------
    >>> eased_on(ReturnRule(), [date(2026, 1, 1), date(2026, 1, 3)], date(2026, 1, 10)) is NOTHING_EASED
    True
    """
    if rule is None:
        return NOTHING_EASED
    dates = sorted({day for day in sessions if day < on} | {on})
    found = NOTHING_EASED
    for before, back in pairwise(dates):
        day = eased(rule, (back - before).days, back, on)
        if day.load < found.load or (day.load == found.load and day.sets < found.sets):
            found = day
    return found
