"""The days of sessions: first what must be, then as many wishes as can be, then the first days or the most even ones.

A plain pass gives each session its first possible day. It gives the earliest end that is possible, because what must
be only ever says "not before" or "not on". Where something is left to choose, every choice within the weeks that this
pass needed is weighed, day by day; of choices that look alike to all that follows only the best is kept.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from typing import Any

from service.core.layout.days import Days, Rules, by_week
from service.core.layout.wishes import Layout, Planned

Chosen = list[tuple[int, int]]
"""Places in the sequence of sessions with their days, in the order of the days."""
Cost = tuple[int, int, int, int]
"""Days that weeks run over, wishes not met, sessions before one that stands before them, and how late or uneven."""
State = tuple[int, int, tuple[tuple[int, int], ...], tuple[int, ...]]
"""The last day, sessions in its week from Monday, the latest days with their signatures, sessions done by kind."""
Way = tuple[Any, int, int] | None
"""The last choice of a way: the way before it, a session, its day."""

FIRST_LATE = 1000
"""For evenness: a start that is a day late weighs more than any unevenness of a week. Ours."""


def first_days(sessions: Sequence[Planned], layout: Layout, days: Days, rules: Rules) -> list[int]:
    """Each session's first possible day, in order, by what must be; shorter where there is none within three years."""
    most = layout.wishes.most_a_week
    found: list[int] = []
    at = 0  # place in the days to train on
    for week, places in by_week(sessions, days):
        start = days.window(week)[0]
        for place in places:
            own = rules.of[place]
            least = max(start, found[-1] + 1) if found else start
            for before in range(place - 1, -1, -1):
                if found[before] + 1 + rules.reach[own] <= least:
                    break
                least = max(least, found[before] + 1 + rules.must[rules.of[before]][own])
            at = bisect_left(days.on, least, at)
            while at < len(days.on) and (
                days.on[at] in rules.barred[own] or (most is not None and _full(found, days, days.on[at], most))
            ):
                at += 1
            if at == len(days.on):
                return found
            found.append(days.on[at])
    return found


def _full(found: Sequence[int], days: Days, day: int, most: int) -> bool:
    """Whether the week from Monday that a day is in has all the sessions that it may have."""
    return len(found) >= most and days.monday(found[-most]) == days.monday(day)


def best_days(
    sessions: Sequence[Planned], layout: Layout, days: Days, rules: Rules, first: Sequence[int]
) -> Chosen | None:
    """The days that meet most wishes; `first`: as `first_days` gives them. None where what must be leaves no way."""
    return _Search(sessions, layout, days, rules, first).run()


class _Search:
    """One search through the weeks; what is left to choose is kept as states with the best way to each."""

    def __init__(
        self, sessions: Sequence[Planned], layout: Layout, days: Days, rules: Rules, first: Sequence[int]
    ) -> None:
        self.layout, self.days, self.rules, self.first = layout, days, rules, first
        self.weeks = by_week(sessions, days)
        self.most = layout.wishes.most_a_week
        self.end = days.first + 7 * ((self.weeks[-1][0] + 1) if self.weeks else 0)

    def run(self) -> Chosen | None:
        """The best way, or None."""
        layer: dict[State, tuple[Cost, Way]] = {(self.days.first - 1, 0, (), ()): ((0, 0, 0, 0), None)}
        for number, (week, places) in enumerate(self.weeks):
            alike = self._alike(places)
            start, window_end = self.days.window(week)
            due = max(window_end, self.first[places[-1]])
            if self.days.last is not None:
                due = min(due, self.days.last)
            layer = _fresh(layer, len(alike))
            open_days = self.days.between(start, due)
            for done in range(len(places)):
                last = window_end if done == len(places) - 1 else None
                layer = self._placed(layer, alike, open_days, len(places) - done, last)
                if number == 0 and done == 0 and self.layout.spread:
                    layer = {state: (self._started(cost, state[0]), way) for state, (cost, way) in layer.items()}
        if not layer:
            return None
        return _unwound(min(layer.items(), key=self._whole)[1][1])

    def _alike(self, places: range) -> list[list[int]]:
        """The sessions of a week by signature, those in order; in their own order where they keep it: one list."""
        if not self.layout.reorder:
            return [list(places)]
        found: dict[int, list[int]] = {}
        for place in places:
            found.setdefault(self.rules.of[place], []).append(place)
        return list(found.values())

    def _placed(
        self,
        layer: dict[State, tuple[Cost, Way]],
        alike: list[list[int]],
        open_days: list[int],
        left: int,
        window_end: int | None,
    ) -> dict[State, tuple[Cost, Way]]:
        """The states after one more session; `left` are to come with it, `window_end` only for the last of a week."""
        found: dict[State, tuple[Cost, Way]] = {}
        latest = len(open_days) - left
        for state, (cost, way) in layer.items():
            before, in_week, recent, done = state
            for kind, places in enumerate(alike):
                if done[kind] == len(places):
                    continue
                place = places[done[kind]]
                own = self.rules.of[place]
                early = sum(1 for k, some in enumerate(alike) for one in some[done[k] :] if one < place)
                counts = (*done[:kind], done[kind] + 1, *done[kind + 1 :])
                least, hopes = self._limits(recent, own)
                for at in range(bisect_right(open_days, max(before, least - 1)), latest + 1):
                    day = open_days[at]
                    if day in self.rules.barred[own]:
                        continue
                    new_in_week = self._in_week(before, in_week, day)
                    if new_in_week is None:
                        continue
                    unmet = self.rules.disliked[own].get(day, 0)
                    for hope in hopes:
                        unmet += day < hope
                    over = 0 if window_end is None else max(0, day - window_end)
                    late = self._late(before, day, first=way is None)
                    new = (cost[0] + over, cost[1] + unmet, cost[2] + early, cost[3] + late)
                    key = (day, new_in_week, self._recent(recent, own, day), counts)
                    known = found.get(key)
                    if known is None or new < known[0]:
                        found[key] = (new, (way, place, day))
        return found

    def _limits(self, recent: tuple[tuple[int, int], ...], own: int) -> tuple[int, list[int]]:
        """After these days: the first day that a session may have, and the first that each wish would have it on."""
        least = -(10**9)
        hopes: list[int] = []
        for before, other in recent:
            least = max(least, before + 1 + self.rules.must[other][own])
            hopes.extend(before + 1 + wished for wished in self.rules.wished[other][own])
        return least, hopes

    def _recent(self, recent: tuple[tuple[int, int], ...], own: int, day: int) -> tuple[tuple[int, int], ...]:
        """The days that still matter for what follows a session on a day."""
        reach = self.rules.reach
        left = tuple([one for one in recent if day - one[0] < reach[one[1]]])
        return (*left, (day, own)) if reach[own] else left

    def _in_week(self, before: int, in_week: int, day: int) -> int | None:
        """Sessions from Monday on with one on a day; None where those are too many. Not counted without a limit."""
        if self.most is None:
            return 0
        count = in_week + 1 if self.days.monday(before) == self.days.monday(day) else 1
        return count if count <= self.most else None

    def _late(self, before: int, day: int, *, first: bool) -> int:
        if not self.layout.spread:
            return day - self.days.first
        return 0 if first else (day - before) ** 2

    def _started(self, cost: Cost, day: int) -> Cost:
        return (*cost[:3], cost[3] + FIRST_LATE * (day - self.first[0]))

    def _whole(self, item: tuple[State, tuple[Cost, Way]]) -> Cost:
        """The cost of a whole way: evenness goes on to where the block's next week would begin."""
        (day, *_), (cost, _) = item
        if not self.layout.spread:
            return cost
        return (*cost[:3], cost[3] + max(0, self.end + self.first[0] - self.days.first - day) ** 2)


def _fresh(layer: dict[State, tuple[Cost, Way]], kinds: int) -> dict[State, tuple[Cost, Way]]:
    """The states at the start of a week: none of its sessions done."""
    return {(*state[:3], (0,) * kinds): best for state, best in layer.items()}


def _unwound(way: Way) -> Chosen:
    """A way's choices from the first to the last."""
    return list(_back(way))[::-1]


def _back(way: Way) -> Iterator[tuple[int, int]]:
    while way is not None:
        way, place, day = way
        yield place, day
