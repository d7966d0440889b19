"""Turns at one bar: the lightest first, and what is changed between two sets."""

from __future__ import annotations

from collections.abc import Sequence

from service.core.answers import BarLoading, PlateCount
from service.core.loading.changes import PlateChange, plate_changes
from service.core.sharing.handled import moved, stack
from service.core.sharing.records import Lifter, SetToDo, SharedBar, Turn


def in_order(lifters: Sequence[Lifter]) -> list[Lifter]:
    """Lifters by their heaviest load, the lightest first; of equals by name."""
    return sorted(lifters, key=lambda one: (_heaviest(one), one.name, one.athlete))


def _heaviest(one: Lifter) -> int:
    return max(each.load.grains for each in one.sets)


def sets_in_turn(lifters: Sequence[Lifter]) -> list[tuple[Lifter, SetToDo]]:
    """Everybody's first set, everybody's second, and so on; who has more sets does the last ones with fewer others."""
    longest = max((len(one.sets) for one in lifters), default=0)
    return [(one, one.sets[at]) for at in range(longest) for one in lifters if at < len(one.sets)]


def changes(lifters: Sequence[Lifter]) -> list[PlateChange]:
    """What is changed before each of `sets_in_turn`; the bar is empty at first."""
    hanging: tuple[PlateCount, ...] = ()
    found = []
    for _, one in sets_in_turn(lifters):
        assert isinstance(one.loading, BarLoading)  # noqa: S101  (only bars are shared so)
        found.append(plate_changes(hanging, one.loading))
        hanging = one.loading.per_side
    return found


def handled(lifters: Sequence[Lifter]) -> int:
    """Plates taken off and put on in all, both sides together. [plates]"""
    hanging = [stack(one.loading) for _, one in sets_in_turn(lifters)]
    return sum(map(moved, ((), *hanging[:-1]), hanging))


def shared_bar(lifters: Sequence[Lifter]) -> SharedBar:
    """One bar for these lifters, in their order."""
    first = lifters[0].sets[0].loading
    assert isinstance(first, BarLoading)  # noqa: S101  (as above)
    moves = changes(lifters)
    turns = tuple(
        Turn(
            athlete=one.athlete,
            name=one.name,
            role=each.role,
            number=each.number,
            reps=each.reps,
            reps_to=each.reps_to,
            load=each.load,
            per_side=each.loading.per_side if isinstance(each.loading, BarLoading) else (),
            take_off=move.take_off,
            put_on=move.put_on,
            text=move.text,
        )
        for (one, each), move in zip(sets_in_turn(lifters), moves, strict=True)
    )
    return SharedBar(
        lift=lifters[0].lift,
        bar=first.bar,
        athletes=tuple(one.athlete for one in lifters),
        names=tuple(one.name for one in lifters),
        turns=turns,
        plates_handled=sum(one.moved for one in moves),
    )
