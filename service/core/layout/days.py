"""The days that a block may use, as whole numbers that run in the direction in which it is laid out."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from service.core.calendar import WEEKDAYS
from service.core.layout.wishes import Apart, CannotLayOut, Layout, LightBefore, Planned

MOST_DAYS = 1096
"""No block is laid out over more than three years. Ours. [days]"""


class Days:
    """The days of a layout. Backwards they count down, so that the first one is always the one to use first.

    A day is a number: forwards its ordinal, backwards the negative of it.
    """

    def __init__(self, layout: Layout) -> None:
        wishes = layout.wishes
        if layout.start is not None:
            self.sign, self.first = 1, layout.start.toordinal()
        elif layout.end is not None:
            self.sign, self.first = -1, -layout.end.toordinal()
        else:
            raise CannotLayOut("#/start", "must be sent, or end in its place")
        used = {WEEKDAYS.index(day) for day in layout.weekdays} - {WEEKDAYS.index(day) for day in wishes.never_on}
        if not used:
            raise CannotLayOut("#/wishes/never_on", "must leave at least one of the weekdays to train on")
        ordinals = range(self.first, self.first + MOST_DAYS)
        low, high = sorted((self.sign * ordinals[0], self.sign * ordinals[-1]))
        off: set[int] = set()
        for one in wishes.holidays:
            off.update(range(max(low, one.since.toordinal()), min(high, one.until.toordinal()) + 1))
        self.on = [at for at in ordinals if (self.sign * at + 6) % 7 in used and self.sign * at not in off]
        """All days to train on, over three years."""
        self.last: int | None = None
        """Where both ends are stated: the last day that may be used."""
        if layout.start is not None and layout.end is not None:
            self.last = layout.end.toordinal()

    def date(self, at: int) -> date:
        """The date of a day."""
        return date.fromordinal(self.sign * at)

    def monday(self, at: int) -> int:
        """Which week from Monday to Sunday a day is in: the same number for all seven."""
        return (self.sign * at - 1) // 7

    def window(self, week: int) -> tuple[int, int]:
        """First and last day of the seven that a week of the block has for itself; weeks count from 0."""
        return self.first + 7 * week, self.first + 7 * week + 6

    def between(self, first: int, last: int) -> list[int]:
        """The days to train on from one day to another, both included."""
        return self.on[bisect_left(self.on, first) : bisect_right(self.on, last)]


@dataclass(frozen=True, slots=True)
class Rules:
    """What the wishes say of sessions, by their signature: sessions of the same one are alike to all wishes."""

    of: list[int]
    """The signature of each session."""
    must: list[list[int]]
    """For two signatures: free days that have to lie between them. [days]"""
    wished: list[list[tuple[int, ...]]]
    """For two signatures: free days that are wished between them, one for each wish. [days]"""
    reach: list[int]
    """For a signature: how far back a session may matter for those that follow. [days]"""
    barred: list[frozenset[int]]
    """For a signature: days on which it must not be."""
    disliked: list[dict[int, int]]
    """For a signature: days on which it should not be, with the number of wishes against it."""

    @property
    def any_wished(self) -> bool:
        """Whether there is anything to choose by."""
        return any(any(row) for row in self.wished) or any(self.disliked)


def rules(sessions: Sequence[Planned], layout: Layout, days: Days) -> Rules:
    """What the wishes of a layout say of its sessions."""
    apart = layout.wishes.apart
    known: dict[tuple[tuple[frozenset[str], ...], int], int] = {}
    nearest = [_nearest(one) for one in sessions] if layout.wishes.light_before else [NEVER] * len(sessions)
    of = [
        known.setdefault((tuple(kinds_of(one, wish) for wish in apart), near), len(known))
        for one, near in zip(sessions, nearest, strict=True)
    ]
    kinds = [key[0] for key in known]
    must = [[0] * len(known) for _ in known]
    wished: list[list[tuple[int, ...]]] = [[()] * len(known) for _ in known]
    for a in range(len(known)):
        for b in range(len(known)):
            close = [
                wish for wish, one, other in zip(apart, kinds[a], kinds[b], strict=True) if opposed(wish, one, other)
            ]
            must[a][b] = max((wish.days for wish in close if wish.must), default=0)
            wished[a][b] = tuple(wish.days for wish in close if not wish.must)
    barred: list[frozenset[int]] = []
    disliked: list[dict[int, int]] = []
    for _, near in known:
        hard: set[int] = set()
        soft: dict[int, int] = {}
        for one in layout.wishes.light_before:
            before = [days.sign * (one.date.toordinal() - ahead) for ahead in range(near, one.days + 1)]
            if one.must:
                hard.update(before)
            else:
                for at in before:
                    soft[at] = soft.get(at, 0) + 1
        barred.append(frozenset(hard))
        disliked.append(soft)
    reach = [max((*must[a], *(one for some in wished[a] for one in some)), default=0) for a in range(len(known))]
    return Rules(of, must, wished, reach, barred, disliked)


NEVER = 10**6
"""Nearest of what is not heavy: no date is kept free of it. [days]"""


def _nearest(session: Planned) -> int:
    """How many days before a date that is kept free the days begin that a session must not be on. [days]"""
    if not session.heavy:
        return NEVER
    return 1 if session.occasion else 0


def too_near(session: Planned, on: date, wish: LightBefore) -> bool:
    """Whether a session on a day is one of those that a date is to be kept free of."""
    return _nearest(session) <= (wish.date - on).days <= wish.days


def kinds_of(session: Planned, wish: Apart) -> frozenset[str]:
    """Which kinds of a wish a session is of."""
    own = (session.name,) if wish.by == "sessions" else session.heavy_in
    return frozenset(own).intersection(wish.kinds)


def opposed(wish: Apart, one: frozenset[str], other: frozenset[str]) -> bool:
    """Whether a wish wants free days between sessions of these kinds: of two different ones, or of its only one."""
    if not one or not other:
        return False
    return len(one | other) > 1 or len(set(wish.kinds)) == 1


def by_week(sessions: Sequence[Planned], days: Days) -> list[tuple[int, range]]:
    """The weeks that have sessions, with the places of these in the sequence; they count from 0 in its direction."""
    starts = [at for at, one in enumerate(sessions) if at == 0 or sessions[at - 1].week != one.week]
    weeks = max((one.week for one in sessions), default=0)
    return [
        (sessions[a].week - 1 if days.sign > 0 else weeks - sessions[a].week, range(a, b))
        for a, b in pairwise([*starts, len(sessions)])
    ]
