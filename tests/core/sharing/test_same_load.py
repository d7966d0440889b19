"""The same loads with other plates, so that less is changed between those who share a bar."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise, product

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.answers import BarLoading
from service.core.catalogue import BUILT_IN
from service.core.records import Kit, Plate
from service.core.sharing import same_load
from service.core.sharing.handled import Stack, moved, stack
from service.core.sharing.needs import short_of
from service.core.sharing.records import Lifter
from service.core.sharing.same_load import OTHERWISE, ways, with_fewest_changes
from service.core.sharing.share import share
from service.core.sharing.turns import handled, in_order, sets_in_turn
from service.core.units import load
from tests.core.sharing.test_sharing import hall, lifter

G = 10**11
"""A kilogram. [1e-11 kg]"""


def kilograms(one: Lifter) -> list[list[float]]:
    """What hangs on one side in each set, from the inside outwards."""
    return [[mass / G for mass in stack(each.loading)] for each in one.sets]


def test_a_plate_that_hangs_already_is_completed_where_that_saves_changes() -> None:
    # 60 = 20 a side; 70 = 25 a side, or 20 and 5: on a 20 that hangs only the 5 changes
    kit = hall(1, _25=4, _20=4, _5=4)
    light, heavy = lifter("Ada", 60, 60, kit=kit), lifter("Bo", 70, 70, kit=kit)
    # as each session shows it: 20 on (2), 20 off and 25 on (4), 25 off and 20 on (4), 20 off and 25 on (4)
    assert handled([light, heavy]) == 14
    ((one, other),) = with_fewest_changes([[light, heavy]], kit, BUILT_IN)
    assert (kilograms(one), kilograms(other)) == ([[20], [20]], [[20, 5], [20, 5]])
    assert handled([one, other]) == 8  # 20 on (2), 5 on, off, on (6)
    (wave,) = share([light, heavy], kit, BUILT_IN).waves
    assert [turn.text for turn in wave.bars[0].turns] == [
        "Each side: put on 20.",
        "Each side: put on 5.",
        "Each side: take off 5.",
        "Each side: put on 5.",
    ]
    assert [(one.plate.value, one.needed) for one in wave.plates] == [(20, 2), (5, 2)]


def test_what_another_bar_has_is_not_hung() -> None:
    # as above, but for a second bar that needs both pairs of 5: 40 = 5 + 5 a side
    kit = hall(2, _25=4, _20=4, _5=4)
    shared = [lifter("Ada", 60, 60, kit=kit), lifter("Bo", 70, 70, kit=kit)]
    fives = lifter("Cem", 40, lift="bench-press", kit=kit)
    assert with_fewest_changes([shared, [fives]], kit, BUILT_IN) == [shared, [fives]]


def test_the_largest_plate_of_a_lift_from_the_floor_stays() -> None:
    kit = hall(1, _25=4, _20=4, _5=4)
    both = [lifter("Ada", 60, 60, lift="deadlift", kit=kit), lifter("Bo", 70, 70, lift="deadlift", kit=kit)]
    assert with_fewest_changes([both], kit, BUILT_IN) == [both]


def test_who_has_a_bar_alone_finds_what_the_session_shows() -> None:
    kit = hall(2, _25=4, _20=4, _5=4)
    alone = [[lifter("Ada", 60, 70, 60, kit=kit)], [lifter("Bo", 70, kit=kit)]]
    assert with_fewest_changes(alone, kit, BUILT_IN) == alone


def test_ways_have_one_plate_more_than_the_usual_at_most_and_the_usual_is_first() -> None:
    pairs = ((20 * G, 2), (15 * G, 1), (10 * G, 2), (5 * G, 4), (2 * G, 9))
    # 20 = 15 + 5 = 10 + 10; 10 + 5 + 5 would be two plates more
    assert ways((20 * G,), pairs, high=False) == ((20 * G,), (15 * G, 5 * G), (10 * G, 10 * G))
    assert ways((20 * G,), pairs, high=True) == ((20 * G,),)
    # what the place does not have, or no more: the usual stays all the same
    assert ways((25 * G,), pairs, high=False) == ((25 * G,), (20 * G, 5 * G), (15 * G, 10 * G))
    assert ways((), pairs, high=False) == ((),)


LOADS = st.sampled_from([20, 40, 45, 50, 60, 65, 70, 75, 80, 90, 100])
LIFTERS = st.lists(st.lists(LOADS, min_size=1, max_size=3), min_size=2, max_size=5)
TWO_KINDS = replace(
    hall(3),
    plates=(
        *(Plate(load=load(20, "kg"), count=3, colour=colour) for colour in ("blue", "black")),
        *(Plate(load=load(mass, "kg"), count=4) for mass in (25, 15, 10, 5, 2.5)),
    ),
)
"""Of each of two kinds of 20 kg an odd one is left over."""
KITS = st.sampled_from(
    [
        TWO_KINDS,
        hall(3, _25=4, _20=4, _15=4, _10=8, _5=8, _2_5=4),
        hall(3, _20=2, _15=2, _10=4, _5=4, _2_5=2),
        hall(3, _25=12, _20=8, _15=8, _10=8, _5=8, _2_5=8),
    ]
)


@settings(deadline=None)
@given(LIFTERS, KITS, st.integers(1, 3))
def test_no_load_is_changed_nothing_is_used_that_is_not_there_and_never_more_is_handled(
    asked: list[list[float]], kit: Kit, count: int
) -> None:
    lifters = in_order([lifter(f"L{at}", *loads, kit=kit) for at, loads in enumerate(asked)])
    bars = [lifters[at::count] for at in range(min(count, len(lifters)))]
    chosen = with_fewest_changes(bars, kit, BUILT_IN)
    for before, after in zip(bars, chosen, strict=True):
        assert handled(after) <= handled(before)
        assert [one.name for one in after] == [one.name for one in before]
        for one, other in zip(before, after, strict=True):
            assert len(one.sets) == len(other.sets)
            for usual, hung in zip(one.sets, other.sets, strict=True):
                assert isinstance(hung.loading, BarLoading)
                assert hung.load == usual.load == hung.loading.load
                side = sum(plate.plate.grains * plate.count for plate in hung.loading.per_side)
                assert 2 * side + 20 * G == hung.load.grains
                masses = [plate.plate.grains for plate in hung.loading.per_side]
                assert masses == sorted(masses, reverse=True)
    if not short_of(bars, kit):
        assert not short_of(chosen, kit)


def least_by_trying(turns: list[tuple[Stack, ...]]) -> int:
    """The least that can be handled, with one for each turn that hangs otherwise, over every choice there is."""
    return min(
        sum(moved(one, other) for one, other in pairwise(((), *choice)))
        + sum(OTHERWISE for one, options in zip(choice, turns, strict=True) if one != options[0])
        for choice in product(*turns)
    )


@settings(deadline=None, max_examples=60)
@given(st.lists(st.lists(LOADS, min_size=1, max_size=2), min_size=2, max_size=3), KITS)
def test_no_other_choice_of_plates_handles_fewer(asked: list[list[float]], kit: Kit) -> None:
    lifters = in_order([lifter(f"L{at}", *loads, kit=kit) for at, loads in enumerate(asked)])
    (chosen,) = with_fewest_changes([lifters], kit, BUILT_IN)
    listed: Counter[int] = Counter()
    for plate in kit.plates:
        listed[plate.load.grains] += plate.count // 2
    pairs = tuple(sorted(listed.items(), reverse=True))
    turns = [ways(stack(each.loading), pairs, high=False) for _, each in sets_in_turn(lifters)]
    otherwise = sum(
        one.loading != other.loading
        for (_, one), (_, other) in zip(sets_in_turn(lifters), sets_in_turn(chosen), strict=True)
    )
    assert handled(chosen) + otherwise * same_load.OTHERWISE == least_by_trying(turns)
