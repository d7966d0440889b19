"""A group that shares bars and plates, in cases that can be followed by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.answers import BarLoading
from service.core.catalogue import BUILT_IN
from service.core.loading.loading import hang
from service.core.records import Bar, Kit, Plate
from service.core.sharing.handled import handled_by_segments
from service.core.sharing.needs import bars_suffice, plates_of, short_of
from service.core.sharing.records import Lifter, SetToDo
from service.core.sharing.share import share, split_evenly, waiting
from service.core.sharing.turns import handled, in_order, sets_in_turn, shared_bar
from service.core.units import load


def hall(bars: int = 2, *own: Bar, **counts: int) -> Kit:
    """A place with bars of 20 kg and plates: `_20=4` are four of 20 kg."""
    plates = (
        {20: 8, 10: 8, 5: 8, 2.5: 8}
        if not counts
        else {float(name[1:].replace("_", ".")): n for name, n in counts.items()}
    )
    return Kit(
        bars=(*own, Bar(name="bar", load=load(20, "kg"), count=bars)),
        collars=load(0, "kg"),
        plates=tuple(Plate(load=load(mass, "kg"), count=count) for mass, count in plates.items()),
    )


def lifter(name: str, *kilograms: float, lift: str = "squat", kit: Kit | None = None) -> Lifter:
    """Somebody with a set of three at each load."""
    sets = []
    for at, kg in enumerate(kilograms, 1):
        loading = hang(kg, BUILT_IN[lift], kit or hall(), unit="kg")
        sets.append(SetToDo(role="target_set", number=at, reps=3, reps_to=None, load=loading.load, loading=loading))
    return Lifter(athlete=name, name=name, lift=lift, sets=tuple(sets))


def on_bars(shared: object) -> list[tuple[str, ...]]:
    """Names on each bar of the first wave."""
    return [bar.names for bar in shared.waves[0].bars]  # type: ignore[attr-defined]


def test_turns_go_round_the_lightest_first_and_tell_the_change_of_each() -> None:
    # 60 = 20 a side; 80 = 20 + 10 a side; 100 = 20 + 20 a side
    one, two = lifter("Ada", 80, 80), lifter("Bo", 60, 60, 60)
    assert [(who.name, each.number) for who, each in sets_in_turn(in_order([one, two]))] == [
        ("Bo", 1), ("Ada", 1), ("Bo", 2), ("Ada", 2), ("Bo", 3),
    ]  # fmt: skip
    # 20s on (2 plates), 10s on (2), 10s off (2), on (2), off (2)
    assert handled(in_order([one, two])) == 10
    (wave,) = share([one, two], hall(bars=1), BUILT_IN).waves
    assert [turn.text for turn in wave.bars[0].turns][:3] == [
        "Each side: put on 20.",
        "Each side: put on 10.",
        "Each side: take off 10.",
    ]
    assert wave.bars[0].plates_handled == 10


def test_who_lifts_alike_shares_a_bar() -> None:
    four = [lifter("Ada", 100), lifter("Bo", 60), lifter("Cem", 60), lifter("Dot", 100)]
    shared = share(four, hall(bars=2), BUILT_IN)
    assert on_bars(shared) == [("Bo", "Cem"), ("Ada", "Dot")]
    assert waiting(shared) == "At most 2 lifters share a bar."
    assert shared.advice == ()
    alike = [lifter(name, 60) for name in ("Ada", "Bo", "Cem", "Dot")]  # two plates of 20 kg each, of eight
    assert waiting(share(alike, hall(bars=4), BUILT_IN)) == "Everybody has a bar."


def test_plates_that_do_not_suffice_keep_lifters_on_one_bar_and_it_is_told_what_is_missing() -> None:
    # two plates of 20 kg: they hang on one bar at a time
    kit = hall(2, _20=2, _5=4)
    three = [lifter(name, 60, kit=kit) for name in ("Ada", "Bo", "Cem")]
    shared = share(three, kit, BUILT_IN)
    assert on_bars(shared) == [("Ada", "Bo", "Cem")]
    assert shared.advice == ("Squat: 3 share a bar. A further bar would need 2 more of 20 kg.",)
    assert [(one.plate.value, one.needed, one.available) for one in shared.waves[0].plates] == [(20, 2, 2)]


def test_lifts_follow_one_another_where_there_are_too_few_bars() -> None:
    kit = hall(1)
    shared = share([lifter("Ada", 60), lifter("Bo", 60), lifter("Cem", 60, lift="bench-press")], kit, BUILT_IN)
    assert [[bar.lift for bar in wave.bars] for wave in shared.waves] == [["squat"], ["bench-press"]]
    assert shared.advice[0].startswith(
        "Bars or plates do not suffice for everything at once: first squat, then bench press."
    )


def test_a_bar_for_one_lift_is_not_given_to_another() -> None:
    light = Bar(name="light", load=load(20, "kg"), lifts=("bench-press",))
    kit = hall(1, light)
    assert bars_suffice({("squat", load(20, "kg")): 1, ("bench-press", load(20, "kg")): 1}, kit)
    assert not bars_suffice({("squat", load(20, "kg")): 2}, kit)
    assert bars_suffice({("bench-press", load(20, "kg")): 2}, kit)


def test_a_bar_needs_of_each_plate_the_most_that_hangs_at_once() -> None:
    # 60 = 20; 80 = 20 + 10; 50 = 10 + 5 a side
    both = plates_of([lifter("Ada", 60, 80), lifter("Bo", 50)])
    assert {mass / 1e11: count for mass, count in both.items()} == {20: 2, 10: 2, 5: 2}


def test_dumbbells_that_two_need_are_told() -> None:
    kit = Kit(bars=(), collars=load(0, "kg"), plates=(), dumbbells=tuple(load(mass, "kg") for mass in (10, 20)))
    two = [lifter(name, 20, lift="dumbbell-row", kit=kit) for name in ("Bo", "Ada")]
    shared = share(two, kit, BUILT_IN)
    assert [(one.what, one.names) for one in shared.in_turn] == [("the pair of 20 kg", ("Ada", "Bo"))]
    assert shared.waves == ()


LOADS = st.sampled_from([40, 50, 60, 70, 80, 90, 100, 120])
LIFTERS = st.lists(
    st.tuples(st.sampled_from(["squat", "bench-press", "deadlift"]), st.lists(LOADS, min_size=1, max_size=4)),
    min_size=1,
    max_size=8,
)


@settings(deadline=None)
@given(LIFTERS, st.integers(1, 4))
def test_nothing_is_ever_used_that_is_not_there_and_everybody_lifts_everything(
    asked: list[tuple[str, list[float]]], bars: int
) -> None:
    kit = hall(bars, _20=6, _10=4, _5=4)
    lifters = [lifter(f"L{at}", *loads, lift=lift, kit=kit) for at, (lift, loads) in enumerate(asked)]
    shared = share(lifters, kit, BUILT_IN)
    done = [(turn.athlete, turn.load) for wave in shared.waves for bar in wave.bars for turn in bar.turns]
    assert sorted(map(str, done)) == sorted(str((one.athlete, each.load)) for one in lifters for each in one.sets)
    for wave in shared.waves:
        assert len(wave.bars) <= bars
        assert all(one.needed <= one.available for one in wave.plates)
        by_hand = {one.plate.grains: 0 for one in wave.plates}
        for bar in wave.bars:
            for mass in by_hand:
                by_hand[mass] += max(
                    sum(2 * each.count for each in turn.per_side if each.plate.grains == mass) for turn in bar.turns
                )
        assert by_hand == {one.plate.grains: one.needed for one in wave.plates}


@settings(deadline=None)
@given(st.lists(st.lists(LOADS, min_size=1, max_size=3), min_size=2, max_size=6), st.integers(1, 3))
def test_no_other_split_with_equal_waits_handles_fewer_plates(asked: list[list[float]], count: int) -> None:
    lifters = in_order([lifter(f"L{at}", *loads) for at, loads in enumerate(asked)])
    count = min(count, len(lifters))
    chosen = split_evenly(lifters, count, handled_by_segments(lifters))
    most = -(-len(lifters) // count)
    every = [
        [lifters[a:b] for a, b in zip((0, *cuts), (*cuts, len(lifters)), strict=True)]
        for cuts in combinations(range(1, len(lifters)), count - 1)
    ]
    fewest = min(sum(map(handled, split)) for split in every if max(map(len, split)) <= most)
    assert sum(map(handled, chosen)) == fewest
    assert [one for group in chosen for one in group] == lifters
    assert not short_of([], hall())
    assert all(isinstance(each.loading, BarLoading) for one in lifters for each in one.sets)


@settings(deadline=None)
@given(st.lists(st.lists(LOADS, min_size=1, max_size=4), min_size=1, max_size=6))
def test_plates_are_counted_alike_for_all_that_are_tried_and_for_the_turns_that_are_told(
    asked: list[list[float]],
) -> None:
    lifters = in_order([lifter(f"L{at}", *loads) for at, loads in enumerate(asked)])
    for (begin, end), plates in handled_by_segments(lifters).items():
        told = shared_bar(lifters[begin:end]).turns
        by_hand = sum(2 * each.count for turn in told for each in (*turn.take_off, *turn.put_on))
        assert plates == handled(lifters[begin:end]) == by_hand


def test_who_cannot_get_what_was_meant_is_named_with_the_heaviest_and_the_lightest_there_is() -> None:
    def at(name: str, kg: float, end: str) -> Lifter:
        one = lifter(name, kg)
        return replace(one, sets=tuple(replace(each, at_end=end) for each in one.sets))  # type: ignore[arg-type]

    shared = share([at("Bo", 200, "heaviest"), at("Ada", 200, "heaviest"), at("Cy", 20, "lightest")], hall(), BUILT_IN)
    heavy, light = shared.advice[-2:]
    assert heavy == (
        "Squat: the heaviest that can be loaded here, 200 kg, is too light for Ada and Bo: more repetitions, a harder "
        "variation, or another place."
    )
    assert light == (
        "Squat: the lightest that can be loaded here, 20 kg, is too heavy for Cy: something lighter, or fewer "
        "repetitions."
    )
    assert not [text for text in share([lifter("Bo", 60)], hall(), BUILT_IN).advice if "too" in text]
