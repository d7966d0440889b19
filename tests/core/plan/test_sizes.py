"""How much a slot asks for and how long a session takes: arithmetic by hand, no source but where one is named."""

from __future__ import annotations

import pytest

from service.core import slots
from service.core.catalogue import BUILT_IN
from service.core.plan.families import ratio_to
from service.core.plan.sizes import (
    heavy_lifts,
    is_heavy,
    minutes,
    percent_of_max,
    reps_of,
    rest_seconds,
    session_is_heavy,
    work_sets,
)
from service.core.slots import (
    AscendingSets,
    BackOff,
    BuildUp,
    Cluster,
    ComplexPart,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    OpenLastSet,
    PercentTarget,
    SameLoad,
    Scheme,
    SessionPlan,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
)
from service.core.units import load


def slot(lift: str = "squat", scheme: Scheme | None = None, target: Target | None = None, **more: object) -> Slot:
    return Slot(
        lift=lift,
        scheme=scheme or SetsAtTarget(sets=3),
        target=target or EffortTarget(reps=5, rpe=8),
        **more,  # type: ignore[arg-type]
    )


@pytest.mark.parametrize(
    ("scheme", "sets"),
    [
        (SetsAtTarget(sets=5), 5),
        (TopSet(), 1),
        (TopSet(back_off=BackOff(sets=3, less_percent=8)), 4),
        (TopSet(back_off=BackOff(until_rpe=9, most=5, less_percent=8)), 6),
        (TopSet(same_load=SameLoad(sets=2)), 3),
        (OpenLastSet(sets_before=2), 3),
        (AscendingSets(percents=(80, 90, 100)), 3),
        (Cluster(sets=4, parts=3, rest_seconds=20), 4),
        (Ladder(most_sets=6), 6),
        (slots.MaxTest(attempts=4), 4),
    ],
)
def test_sets_are_counted_with_all_that_there_may_be(scheme: Scheme, sets: int) -> None:
    assert work_sets(slot(scheme=scheme)) == sets


def test_repetitions_are_those_of_a_whole_set() -> None:
    assert reps_of(slot(target=EffortTarget(reps=6, reps_to=9, rpe=8))) == 7.5
    assert reps_of(slot(scheme=Cluster(sets=4, parts=3, rest_seconds=20))) == 15  # three parts of five
    pair = (ComplexPart(lift="clean", reps=1), ComplexPart(lift="jerk", reps=2))
    target = PercentTarget(reps=2, percent=75, basis="tested")
    assert reps_of(slot("clean-and-jerk", target=target, complex=pair)) == 6  # twice through one and two
    assert reps_of(slot(scheme=slots.MaxTest(), target=EffortTarget(reps=1, rpe=10))) == 1
    assert reps_of(slot(scheme=slots.MaxTest(), target=EffortTarget(reps=3, rpe=10))) == 3
    assert reps_of(slot(scheme=slots.MaxTest(), target=slots.LoadTarget(reps=3, load=load(100, "kg")))) == 1
    assert reps_of(slot(target=TimeTarget(seconds=30))) is None
    assert reps_of(slot(target=FreeTarget())) is None


def test_a_ratio_goes_both_ways_and_over_a_shared_lift() -> None:
    assert ratio_to("pause-front-squat", "squat", BUILT_IN) == pytest.approx(0.80 * 0.92)
    assert ratio_to("squat", "pause-squat", BUILT_IN) == pytest.approx(1 / 0.90)
    assert ratio_to("power-clean", "jerk", BUILT_IN) == pytest.approx(0.85 * 1.03 / 1.03)  # over the clean and jerk
    assert ratio_to("squat", "bench-press", BUILT_IN) is None


def test_a_percentage_becomes_one_of_the_lifts_own_max() -> None:
    def of(percent: float, basis: str = "tested", of: str | None = None, lift: str = "pause-squat") -> float | None:
        target = PercentTarget(reps=3, percent=percent, basis=basis, of=of)  # type: ignore[arg-type]
        return percent_of_max(slot(lift, target=target), BUILT_IN)

    assert of(80) == 80
    assert of(80, basis="training") == pytest.approx(76)  # 80 % of 95 %
    assert of(72, of="squat") == pytest.approx(80)  # 72 / 0.90
    assert of(72, of="deadlift") is None
    band = slot(target=PercentTarget(reps=3, percent=75, percent_to=81, basis="tested"))
    assert percent_of_max(band, BUILT_IN) == 78
    assert percent_of_max(band, BUILT_IN, high=True) == 81


HEAVY = [
    slot(target=EffortTarget(reps=5, rpe=7.5)),
    slot(target=EffortTarget(reps=1, rir=2)),
    slot(target=PercentTarget(reps=6, percent=80, basis="tested")),
    slot(target=PercentTarget(reps=3, percent=76, percent_to=80, basis="rolling")),
    slot("pause-squat", target=PercentTarget(reps=3, percent=72, basis="tested", of="squat")),
    slot("clean-pull", target=PercentTarget(reps=3, percent=100, basis="tested", of="clean")),
    slot(scheme=slots.MaxTest(), target=EffortTarget(reps=1, rpe=10)),
]
NOT_HEAVY = [
    slot(target=EffortTarget(reps=6, rpe=9)),
    slot(target=EffortTarget(reps=5, rpe=7)),
    slot(target=EffortTarget(reps=5, rpe=9), accessory=True),
    slot(target=PercentTarget(reps=3, percent=79.5, basis="tested")),
    slot(target=PercentTarget(reps=3, percent=84, basis="training")),  # 79.8 % of the max
    slot("pause-squat", target=PercentTarget(reps=3, percent=71, basis="tested", of="squat")),
    slot("clean-pull", target=PercentTarget(reps=3, percent=95, basis="tested", of="clean")),
    slot(scheme=Ladder(), target=EffortTarget(reps=5, rir=2)),
    slot(target=LoadTarget(reps=1, load=load(200, "kg"))),
    slot(target=FreeTarget(reps=3)),
]


@pytest.mark.parametrize("one", HEAVY)
def test_hard_low_repetitions_and_high_percentages_are_heavy(one: Slot) -> None:
    assert is_heavy(one, BUILT_IN)
    assert session_is_heavy(SessionPlan(name="A", slots=(NOT_HEAVY[0], one)), BUILT_IN)


@pytest.mark.parametrize("one", NOT_HEAVY)
def test_what_is_easier_supporting_or_unknown_is_not_heavy(one: Slot) -> None:
    assert not is_heavy(one, BUILT_IN)
    assert not session_is_heavy(SessionPlan(name="A", slots=(one,)), BUILT_IN)


def test_a_meet_is_heavy_in_every_lift_but_accessories() -> None:
    easy = slot("bench-press", target=FreeTarget(reps=1))
    row = slot("barbell-row", accessory=True)
    meet = SessionPlan(name="Meet", kind="meet", slots=(easy, row, easy))
    assert heavy_lifts(meet, BUILT_IN) == ("bench-press",)
    assert session_is_heavy(meet, BUILT_IN)


def test_minutes_of_an_accessory_are_its_sets_and_the_rests_between_them() -> None:
    curls = slot("barbell-curl", SetsAtTarget(sets=3), FreeTarget(reps=10), accessory=True)
    # three sets of 15 + 10 x 4 = 55 s, two rests of 90 s
    assert minutes([curls], BUILT_IN) * 60 == pytest.approx(3 * 55 + 2 * 90)


def test_minutes_follow_tempo_and_stated_rests() -> None:
    slow = slot("tempo-squat", SetsAtTarget(sets=2), FreeTarget(reps=5), tempo="5-0-x-0", rest_seconds=120)
    # a repetition of 5 + 0 + 1 + 0 = 6 s
    assert minutes([slow], BUILT_IN) * 60 == pytest.approx(2 * (15 + 30) + 120)


def test_slots_done_in_turn_rest_once_a_round() -> None:
    first = slot("barbell-curl", SetsAtTarget(sets=3), FreeTarget(reps=10), accessory=True, with_next=True)
    second = slot("dip", SetsAtTarget(sets=2), FreeTarget(reps=5), accessory=True, rest_seconds=120)
    # sets: 3 x 55 and 2 x 35; rounds 1 and 2 end with 120 s, round 3 is the last set
    assert minutes([first, second], BUILT_IN) * 60 == pytest.approx(3 * 55 + 2 * 35 + 2 * 120)
    apart = [slot("barbell-curl", SetsAtTarget(sets=3), FreeTarget(reps=10), accessory=True), second]
    # 3 rests of 90 and 1 of 120, and a minute from one slot to the other
    assert minutes(apart, BUILT_IN) * 60 == pytest.approx(3 * 55 + 2 * 35 + 3 * 90 + 120 + 60)


def test_main_lifts_are_warmed_up_and_worked_up_to_once() -> None:
    top = slot("squat", TopSet(), EffortTarget(reps=3, rpe=8))
    warm = 4 * (15 + 4 * 4 + 60)
    set_of_three = 15 + 3 * 4
    assert minutes([top], BUILT_IN) * 60 == pytest.approx(warm + 2 * (set_of_three + 210) + set_of_three)
    assert minutes([top], BUILT_IN, warm=False) * 60 == pytest.approx(set_of_three)
    three = BuildUp(rpes=(5, 6, 7))
    assert minutes([top], BUILT_IN, build_up=three) * 60 == pytest.approx(
        warm + 3 * (set_of_three + 210) + set_of_three
    )
    again = slot("squat", SetsAtTarget(sets=1), PercentTarget(reps=3, percent=70, basis="tested"))
    more = (minutes([top, again], BUILT_IN) - minutes([top], BUILT_IN)) * 60
    assert more == pytest.approx(210 + 60 + set_of_three)  # the top set's rest, a minute, the set: no warm-ups
    paused = slot("pause-squat", SetsAtTarget(sets=1), PercentTarget(reps=3, percent=70, basis="tested"))
    family = (minutes([top, paused], BUILT_IN) - minutes([top], BUILT_IN)) * 60
    assert family == pytest.approx(more + 2 * (15 + 4 * 4 + 60))


def test_clusters_holds_and_carries_take_their_own_time() -> None:
    cluster = slot("barbell-row", Cluster(sets=1, parts=3, rest_seconds=20), FreeTarget(reps=2))
    assert minutes([cluster], BUILT_IN) * 60 == pytest.approx(15 + 6 * 4 + 2 * 20)
    hold = slot("plank", SetsAtTarget(sets=1), TimeTarget(seconds=45))
    carry = slot("farmers-carry", SetsAtTarget(sets=1), DistanceTarget(metres=40))
    assert minutes([hold], BUILT_IN) * 60 == pytest.approx(60)
    assert minutes([carry], BUILT_IN) * 60 == pytest.approx(55)


def test_usual_rests_are_the_middles_of_the_published_ones() -> None:
    """Strength 2 to 5 min (Haff & Triplett eds., chapter 17); core 2 to 3, assistance 1 to 2 min (ACSM 2009)."""
    assert rest_seconds(HEAVY[0], BUILT_IN) == 60 * (2 + 5) / 2
    assert rest_seconds(NOT_HEAVY[0], BUILT_IN) == 60 * (2 + 3) / 2
    assert rest_seconds(slot(accessory=True), BUILT_IN) == 60 * (1 + 2) / 2
