"""The same loads with other plates: of what makes the same mass on a shared bar, what is changed least."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from service.core.answers import BarLoading, PlateCount
from service.core.records import Kit, Lift
from service.core.sharing.handled import Stack, moved, stack
from service.core.sharing.needs import plates_of, plates_there
from service.core.sharing.records import Lifter, SetToDo
from service.core.sharing.turns import sets_in_turn

MORE_PLATES = 1
"""A side gets at most so many plates more than the fewest that make its load. Ours. [plates]"""
OTHERWISE = 1
"""A turn with other plates than the lifter's own session shows counts as so many handled more. Ours. [plates]"""
MOST_WAYS = 8
"""So many ways to hang a load are compared: those with the fewest plates. Ours."""
MOST_TRIES = 5_000
"""So many numbers of plates of a kind are tried in the search for ways; a usual place needs some dozens. Ours."""


def with_fewest_changes(
    bars: Sequence[Sequence[Lifter]], kit: Kit, lifts: Mapping[str, Lift]
) -> list[Sequence[Lifter]]:
    """Bars in use at once, with the plates of each shared one so that little is changed between its turns.

    The order of turns and all loads stay. Of the ways to hang each load, those that the place has plates for beside
    the other bars are compared, exactly, by the plates handled from turn to turn in all; a turn that hangs otherwise
    than in the lifter's own session counts as one more. So never are more handled than by what each lifter's session
    shows. Bars are gone through one after the other. What a lift from the floor has as its largest plate stays: it
    decides how high the bar lies. A bar that somebody has alone stays as it is.
    """
    found: list[Sequence[Lifter]] = list(bars)
    free = plates_there(kit)
    for lifters in bars:
        free.subtract(plates_of(lifters))
    for at, lifters in enumerate(bars):
        if len(lifters) > 1:
            free.update(plates_of(lifters))
            found[at] = _rehung(lifters, free, kit, lifts)
            free.subtract(plates_of(found[at]))
    return found


def _rehung(lifters: Sequence[Lifter], free: Counter[int], kit: Kit, lifts: Mapping[str, Lift]) -> Sequence[Lifter]:
    listed: Counter[int] = Counter()  # an odd plate of one kind makes no pair with an odd one of another
    for plate in kit.plates:
        listed[plate.load.grains] += plate.count // 2
    usable = ((mass, min(count // 2, listed[mass])) for mass, count in free.items() if mass > 0)
    pairs = tuple(sorted(((mass, count) for mass, count in usable if count > 0), reverse=True))
    turns = sets_in_turn(lifters)
    chosen = iter(
        _least_handled(
            [ways(stack(each.loading), pairs, high=_from_the_floor(lifts.get(one.lift))) for one, each in turns]
        )
    )
    sets: dict[int, list[SetToDo]] = {id(one): [] for one in lifters}
    for one, each in turns:
        sets[id(one)].append(_with(each, next(chosen), kit))
    return [replace(one, sets=tuple(sets[id(one)])) for one in lifters]


def _from_the_floor(lift: Lift | None) -> bool:
    return lift is not None and (lift.technique or lift.curve_group == "deadlift_like")


@lru_cache(maxsize=2048)
def ways(usual: Stack, pairs: tuple[tuple[int, int], ...], *, high: bool) -> tuple[Stack, ...]:
    """Ways to hang what makes the same mass on one side: the usual one first, then those with the fewest plates.

    Parameters
    ----------
    usual : Stack
        As it was chosen for the lifter alone. [1e-11 kg]
    pairs : tuple of (int, int)
        Plates that may be used, heaviest first: mass [1e-11 kg] and pairs.
    high : bool
        The largest plate stays.
    """
    found = set(_combinations(sum(usual), pairs, len(usual) + MORE_PLATES, iter(range(MOST_TRIES))))
    fitting = [one for one in found - {usual} if not high or one[:1] == usual[:1]]
    fitting.sort(key=lambda one: (len(one), [-mass for mass in one]))
    return usual, *fitting[: MOST_WAYS - 1]


def _combinations(mass: int, pairs: Sequence[tuple[int, int]], most: int, tries: Iterator[int]) -> Iterator[Stack]:
    """All ways to make a mass with at most so many plates, as long as there are tries left."""
    if mass == 0:
        yield ()
        return
    if not pairs or most * pairs[0][0] < mass:
        return
    size, count = pairs[0]
    for taken in range(min(count, mass // size, most), -1, -1):
        if next(tries, None) is None:
            return
        for rest in _combinations(mass - taken * size, pairs[1:], most - taken, tries):
            yield (size,) * taken + rest


def _least_handled(turns: Sequence[tuple[Stack, ...]]) -> list[Stack]:
    """For each turn the way to hang it, so that in all the fewest plates are handled, and of equals the fewest hang.

    The best path through the turns, each way from each way of the turn before (R. Bellman, Dynamic Programming,
    Princeton University Press 1957, chapter III). The bar is empty at first.
    """
    before: list[tuple[int, int]] = [(0, 0)]
    hanging: tuple[Stack, ...] = ((),)
    came_from: list[list[int]] = []
    for options in turns:
        now, origins = [], []
        for way in options:
            (plates, hung), origin = min(
                ((plates + moved(last, way), hung), at)
                for at, ((plates, hung), last) in enumerate(zip(before, hanging, strict=True))
            )
            now.append((plates + (OTHERWISE if way is not options[0] else 0), hung + len(way)))
            origins.append(origin)
        came_from.append(origins)
        before, hanging = now, options
    at = min(range(len(before)), key=lambda place: (before[place], place))
    found = []
    for options, origins in zip(reversed(turns), reversed(came_from), strict=True):
        found.append(options[at])
        at = origins[at]
    return found[::-1]


def _with(todo: SetToDo, hanging: Stack, kit: Kit) -> SetToDo:
    """A set with other plates on both sides, as the place lists them."""
    if hanging == stack(todo.loading) or not isinstance(todo.loading, BarLoading):
        return todo
    left = Counter(hanging)
    plates = []
    for plate in sorted(kit.plates, key=lambda one: -one.load.grains):
        count = min(left[plate.load.grains], plate.count // 2)
        if count:
            plates.append(PlateCount(plate.load, count, plate.colour, plate.diameter_mm))
            left[plate.load.grains] -= count
    return replace(todo, loading=replace(todo.loading, per_side=tuple(plates)))
