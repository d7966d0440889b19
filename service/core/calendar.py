"""Weekdays, weeks, and sessions on dates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)
Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedSession:
    """A session of a week with its day; weeks and sessions count from 1."""

    week: int
    number: int
    date: Day


def same_week(one: date, other: date) -> bool:
    """Whether two days lie in the same ISO week (Monday to Sunday, ISO 8601).

    >>> same_week(date(2026, 11, 23), date(2026, 11, 29)), same_week(date(2026, 11, 29), date(2026, 11, 30))
    (True, False)
    """
    return one.isocalendar()[:2] == other.isocalendar()[:2]
