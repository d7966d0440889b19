"""How many plates are taken off and put on at a shared bar: counted without words, for all that are tried."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from service.core.answers import BarLoading, Loading
from service.core.sharing.records import Lifter

Stack = tuple[int, ...]
"""What hangs on one side, plate by plate from the inside outwards. [1e-11 kg]"""
Segment = tuple[int, int]
"""Lifters next to each other: the first one's place, and the place after the last one."""


def stack(loading: Loading) -> Stack:
    """What hangs on one side of a bar."""
    if not isinstance(loading, BarLoading):
        raise TypeError("only bars are shared so")
    return tuple(one.plate.grains for one in loading.per_side for _ in range(one.count))


@lru_cache(maxsize=8192)
def moved(now: Stack, then: Stack) -> int:
    """Plates handled between two sets, both sides together; as `plate_changes` counts them. [plates]"""
    kept = 0
    for one, other in zip(now, then, strict=False):
        if one != other:
            break
        kept += 1
    return 2 * (len(now) + len(then) - 2 * kept)


def handled_by_segments(lifters: Sequence[Lifter]) -> Mapping[Segment, int]:
    """Plates handled by any lifters next to each other on one bar that is empty at first. [plates]

    Their sets go round as in `sets_in_turn`. Whoever comes to those before adds the changes from the last one before
    in each round, and makes other changes from each round to the next; all else stays.
    """
    sets = [[stack(each.loading) for each in one.sets] for one in lifters]
    found: dict[Segment, int] = {}
    for begin in range(len(sets)):
        firsts: list[Stack] = []
        lasts: list[Stack] = []
        within = 0
        for end, own in enumerate(sets[begin:], begin + 1):
            for at, hanging in enumerate(own):
                if at < len(lasts):
                    within += moved(lasts[at], hanging)
                    lasts[at] = hanging
                else:
                    firsts.append(hanging)
                    lasts.append(hanging)
            between = sum(map(moved, ((), *lasts[:-1]), firsts))
            found[begin, end] = within + between
    return found
