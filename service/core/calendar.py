"""Dates of a block: the sessions of each week on the stated weekdays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, get_args

from service.core.errors import DomainError

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)
Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedSession:
    """A session of a week with its day; weeks and sessions count from 1."""

    week: int
    number: int
    date: Day


class TooFewWeekdays(DomainError):
    """A week has more sessions than there are weekdays to train on."""

    code = "too_few_weekdays"

    def __init__(self, week: int, sessions: int, weekdays: int) -> None:
        days = "1 weekday is" if weekdays == 1 else f"{weekdays} weekdays are"
        super().__init__(f"Week {week} has {sessions} sessions, but {days} named: name at least {sessions}.")
        self.week, self.sessions, self.weekdays = week, sessions, weekdays


def lay_out(weeks: Sequence[int], start: date, weekdays: Sequence[Weekday]) -> tuple[DatedSession, ...]:
    """Give each session of each week its day.

    Parameters
    ----------
    weeks : sequence of int
        How many sessions each week has. [sessions]
    start : date
        The first day that may be used. Weeks count from the first stated weekday on or after it.
    weekdays : sequence of Weekday
        Days to train on, in any order; a day named twice counts once.

    Returns
    -------
    tuple of DatedSession
        In order. A week with fewer sessions than weekdays uses its first days. Days are local dates: neither time
        zones nor daylight saving move them.

    Raises
    ------
    TooFewWeekdays
        Where a week has more sessions than there are weekdays.
    """
    named = {WEEKDAYS.index(day) for day in weekdays}
    for week, sessions in enumerate(weeks, 1):
        if sessions > len(named):
            raise TooFewWeekdays(week, sessions, len(named))
    coming = (start + timedelta(days=ahead) for ahead in range(7))
    days = [day for day in coming if day.weekday() in named]
    return tuple(
        DatedSession(week=week, number=number, date=days[number - 1] + timedelta(weeks=week - 1))
        for week, sessions in enumerate(weeks, 1)
        for number in range(1, sessions + 1)
    )


def same_week(one: date, other: date) -> bool:
    """Whether two days lie in the same ISO week (Monday to Sunday, ISO 8601).

    >>> same_week(date(2026, 11, 23), date(2026, 11, 29)), same_week(date(2026, 11, 29), date(2026, 11, 30))
    (True, False)
    """
    return one.isocalendar()[:2] == other.isocalendar()[:2]
