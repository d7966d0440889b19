"""Which week, session or slot of a newer version is which of the older one: sequence alignment, then what is left."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from typing import TypeVar

from service.core.slots import SessionPlan, Slot, WeekPlan

T = TypeVar("T")
Pairs = tuple[int | None, ...]
"""For each place afterwards, the place before that it is paired with, from 0; None: it is new. Each stands once."""

CONTENT, NAME, SAME_PLACE = 0.6, 0.1, 0.001
"""How much of the likeness of two weeks is their content (the rest: which lifts are done how often), what the same
name adds, and the same number, which only decides between equals. Ours."""
LEAST_ALIKE = 0.2
"""Weeks that have less than this part of their lifts in common are two weeks, not one that was changed. Ours."""


def weeks(before: Sequence[WeekPlan], after: Sequence[WeekPlan]) -> Pairs:
    """Pair the weeks of two versions so that as much as possible stays the same, in order.

    The best alignment of two sequences by dynamic programming (S. B. Needleman and C. D. Wunsch, J. Mol. Biol. 48,
    1970, 443-453), with the likeness of two weeks as what a pair is worth and nothing for a gap. Weeks that are left
    on both sides and are alike to the letter were moved.
    """
    first = 0
    while first < min(len(before), len(after)) and before[first] == after[first]:
        first += 1
    end_before, end_after = len(before), len(after)
    while end_before > first and end_after > first and before[end_before - 1] == after[end_after - 1]:
        end_before, end_after = end_before - 1, end_after - 1
    middle = _aligned(before[first:end_before], after[first:end_after])
    found: list[int | None] = [
        *range(first),
        *(None if place is None else first + place for place in middle),
        *range(end_before, len(before)),
    ]
    return same_left(before, after, found)


def same_left(before: Sequence[WeekPlan], after: Sequence[WeekPlan], pairs: Sequence[int | None]) -> Pairs:
    """Pairs with those added that are left on both sides and alike to the letter."""
    found = list(pairs)
    paired = set(found)
    left = [place for place in range(len(before)) if place not in paired]
    for place, pair in enumerate(found):
        if pair is None:
            same = next((one for one in left if before[one] == after[place]), None)
            if same is not None:
                found[place] = same
                left.remove(same)
    return tuple(found)


def _aligned(before: Sequence[WeekPlan], after: Sequence[WeekPlan]) -> list[int | None]:
    old, new = [_signs(week) for week in before], [_signs(week) for week in after]
    worth = [[_likeness(one, other, at == to) for to, other in enumerate(new)] for at, one in enumerate(old)]
    best = [[0.0] * (len(new) + 1) for _ in range(len(old) + 1)]
    for at in range(len(old) - 1, -1, -1):
        row, below, likeness = best[at], best[at + 1], worth[at]
        for to in range(len(new) - 1, -1, -1):
            row[to] = max(below[to], row[to + 1], likeness[to] + below[to + 1] if likeness[to] else 0.0)
    found: list[int | None] = [None] * len(new)
    at = to = 0
    while at < len(old) and to < len(new):
        if worth[at][to] and best[at][to] == worth[at][to] + best[at + 1][to + 1]:
            found[to] = at
            at, to = at + 1, to + 1
        elif best[at][to] == best[at + 1][to]:
            at += 1
        else:
            to += 1
    return found


Signs = tuple[frozenset[Hashable], frozenset[Hashable], str | None]


def _signs(week: WeekPlan) -> Signs:
    """What two weeks are compared by: which lifts are done, and what is asked in sessions of which name."""
    lifts = [slot.lift for session in week.sessions for slot in session.slots]
    content: list[Hashable] = [session.name for session in week.sessions]
    content += [slot for session in week.sessions for slot in session.slots]
    return _counted(lifts), _counted(content), week.name


def _counted(items: Sequence[Hashable]) -> frozenset[Hashable]:
    """Items with how often each came before, so that what stands twice counts twice."""
    seen: Counter[Hashable] = Counter()
    found = []
    for item in items:
        found.append((item, seen[item]))
        seen[item] += 1
    return frozenset(found)


def _likeness(one: Signs, other: Signs, same_place: bool) -> float:  # noqa: FBT001  (one of three likenesses)
    lifts = _shared(one[0], other[0])
    if lifts < LEAST_ALIKE:
        return 0.0
    named = NAME if one[2] is not None and one[2] == other[2] else 0.0
    return (1 - CONTENT) * lifts + CONTENT * _shared(one[1], other[1]) + named + SAME_PLACE * same_place


def _shared(one: frozenset[Hashable], other: frozenset[Hashable]) -> float:
    """Part of all signs that both have (P. Jaccard, Bull. Soc. Vaud. Sci. Nat. 37, 1901, 547-579). [1]"""
    both = len(one & other)
    return both / (len(one) + len(other) - both)


def sessions(before: Sequence[SessionPlan], after: Sequence[SessionPlan]) -> Pairs:
    """Pair the sessions of two weeks: by name, in order; of the others those at one place that share a lift."""
    found = _paired(before, after, [lambda one: one.name])
    for place, pair in enumerate(found):
        if pair is None and place < len(before) and place not in found:
            lifts = {slot.lift for slot in before[place].slots}
            if any(slot.lift in lifts for slot in after[place].slots):
                found[place] = place
    return tuple(found)


def slots(before: Sequence[Slot], after: Sequence[Slot]) -> Pairs:
    """Pair the slots of two sessions, so that as little as possible is told as new or gone.

    Each with the one at its place, where lifts were changed but not put in another order. Else those alike at one
    place, those alike elsewhere, and of what is left the likest first: those that have the lift or the place in common.
    """
    if _in_place(before, after):
        return tuple(range(len(after)))
    found: list[int | None] = [
        place if place < len(before) and before[place] == slot else None for place, slot in enumerate(after)
    ]
    found = _paired(before, after, [lambda one: one], found)
    paired = set(found)
    left = [place for place in range(len(before)) if place not in paired]
    alike = sorted(
        (-likeness, to, at)
        for to, pair in enumerate(found)
        if pair is None
        for at in left
        if (likeness := _slots_alike(before[at], after[to], at == to))
    )
    taken: set[int] = set()
    for _, to, at in alike:
        if found[to] is None and at not in taken:
            found[to] = at
            taken.add(at)
    return tuple(found)


def _in_place(before: Sequence[Slot], after: Sequence[Slot]) -> bool:
    """Whether slots stand where they stood: no lift that was exchanged at one place came to stand at another."""
    if len(before) != len(after):
        return False
    exchanged = [(one.lift, other.lift) for one, other in zip(before, after, strict=True) if one.lift != other.lift]
    if {one for one, _ in exchanged} & {other for _, other in exchanged}:
        return False
    return Counter(before) != Counter(after)


LIFT, PLACE = 4, 2
"""What the same lift and the same place count, against 1 for the scheme, the target, and each of what else is alike in
two slots. Ours."""


def _slots_alike(one: Slot, other: Slot, same_place: bool) -> int:  # noqa: FBT001  (one of several likenesses)
    """How alike two slots are; 0: they have neither lift nor place in common."""
    if one.lift != other.lift and not same_place:
        return 0
    same = LIFT * (one.lift == other.lift) + PLACE * same_place
    same += (one.scheme == other.scheme) + (one.target == other.target)
    return same + (bool(one.complex) == bool(other.complex)) + (one.accessory == other.accessory)


def _paired(
    before: Sequence[T],
    after: Sequence[T],
    signs: Sequence[Callable[[T], Hashable]],
    found: list[int | None] | None = None,
) -> list[int | None]:
    """Pair what has the same sign, the first with the first and so on, sign by sign."""
    found = [None] * len(after) if found is None else found
    for sign in signs:
        paired = set(found)
        left: dict[Hashable, list[int]] = {}
        for place, one in enumerate(before):
            if place not in paired:
                left.setdefault(sign(one), []).append(place)
        for place, one in enumerate(after):
            if found[place] is None and (fitting := left.get(sign(one))):
                found[place] = fitting.pop(0)
    return found


def moved(pairs: Pairs) -> frozenset[int]:
    """Places afterwards of what does not stand in the old order: as few as possible.

    All but a longest rising row (M. L. Fredman, Discrete Math. 11, 1975, 29-35).

    >>> sorted(moved((0, 3, 1, 2))), sorted(moved((0, None, 1)))
    ([1], [])
    """
    ends: list[int] = []
    lengths: dict[int, int] = {}
    for place, pair in enumerate(pairs):
        if pair is not None:
            length = bisect_left(ends, pair)
            ends[length : length + 1] = [pair]
            lengths[place] = length
    kept = set()
    wanted, last = len(ends) - 1, len(pairs) + max(ends, default=0)
    for place in sorted(lengths, reverse=True):
        pair = pairs[place]
        if lengths[place] == wanted and pair is not None and pair < last:
            kept.add(place)
            wanted, last = wanted - 1, pair
    return frozenset(lengths.keys() - kept)
