"""What weeks ask for, by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from service.core.catalogue import BUILT_IN
from service.core.check.analysis import LiftWeek
from service.core.check.check import check
from service.core.check.jumps import changes
from service.core.check.total import BORDERS, Total, zone_of
from service.core.check.zones import TABLE
from service.core.plan.sizes import minutes
from service.core.prescribe.prescribe import prescribe
from service.core.slots import Cluster, FreeTarget, LoadTarget, MaxTest, Slot, TimeTarget, WeekPlan
from service.core.units import load
from tests.core.check.making import back_off, checked, effort, percent, session, slot, week
from tests.core.plans import context, known


def lift_week(*slots: WeekPlan, at: int = 0) -> LiftWeek:
    return checked(*slots).weeks[0].lifts[at]


def test_the_zones_and_their_repetitions_are_the_published_ones() -> None:
    """Hristov 2005, How to Design Strength Training Programs using Prilepin's Table: below 70, 70-79, 80-89, 90 up."""
    assert [border for border, _ in BORDERS] == [90, 80, 70]
    published = {
        "below_70": (3, 6, 18, 30, 24),
        "from_70": (3, 6, 12, 24, 18),
        "from_80": (2, 4, 10, 20, 15),
        "from_90": (1, 2, 4, 10, 7),
    }
    assert {
        zone: (row.fewest, row.most, row.low, row.high, row.best) for zone, row in TABLE.items()
    } == published  # fmt: skip
    assert [zone_of(percent) for percent in (69.99, 70, 79.99, 80, 89.99, 90, 105)] == [
        "below_70", "from_70", "from_70", "from_80", "from_80", "from_90", "from_90",
    ]  # fmt: skip


def test_repetitions_stand_in_their_zones_and_their_average_is_weighed() -> None:
    one = lift_week(week(session(slot(percent(6, 60), 2), slot(percent(3, 75), 5), slot(percent(1, 92), 1))))
    assert (one.sets, one.reps, one.reps_unknown) == (8, 28, 0)
    assert [(each.zone, each.reps) for each in one.by_zone] == [("below_70", 12), ("from_70", 15), ("from_90", 1)]
    assert one.average_percent == 69.2  # (12 x 60 + 15 x 75 + 1 x 92) / 28 = 1937 / 28 = 69.18


def test_repetitions_of_unknown_intensity_are_counted_apart() -> None:
    one = lift_week(week(session(slot(percent(5, 80), 2), slot(FreeTarget(reps=8, reps_to=12), 3))))
    assert (one.sets, one.reps, one.reps_unknown, one.average_percent) == (5, 40, 30, 80)


def test_all_parts_of_a_cluster_are_counted_and_holds_are_not() -> None:
    both = week(session(slot(percent(2, 85), Cluster(sets=4, parts=3, rest_seconds=20)), slot(TimeTarget(seconds=30))))
    one = lift_week(both)
    assert (one.sets, one.reps) == (4 + 3, 24)
    assert [(each.zone, each.reps) for each in one.by_zone] == [("from_80", 24)]


def test_hard_sets_are_those_at_rpe_seven_or_more() -> None:
    assert lift_week(week(slot(effort(5, 7), 3))).hard_sets == 3
    assert lift_week(week(slot(effort(5, 6), 3))).hard_sets == 0
    assert lift_week(week(slot(effort(3, 8), back_off(3, less=20)))).hard_sets == 1  # the others are light
    assert lift_week(week(slot(percent(2, 85), 3, "snatch"))).hard_sets is None


def test_a_session_tells_its_sets_minutes_and_heavy_lifts() -> None:
    (one,) = checked(week(session(slot(percent(3, 85), 2), name="Squat", kind="test"))).weeks[0].sessions
    assert (one.name, one.kind, one.heavy) == ("Squat", "test", ["squat"])
    # warm-ups 4 x (15 + 16 + 60) s, sets 2 x (15 + 12) s, one rest of 210 s: 628 s
    assert one.minutes == 10
    (sets,) = one.slots
    assert (sets.lift, sets.reps, sets.percents) == ("squat", [3, 3], [85, 85])
    assert sets.text.startswith("2 sets of 3 at 85 %")
    assert len(sets.expected_rpes) == 2


def test_light_sets_are_told_as_rpe_four_and_impossible_ones_as_ten() -> None:
    def told(reps: int, value: float) -> object:
        return checked(slot(percent(reps, value), 1)).weeks[0].sessions[0].slots[0].expected_rpes[0]

    assert told(1, 30) == 4
    assert told(10, 95) == 10


def test_a_test_of_three_repetitions_is_analysed_as_its_attempts_are_lifted() -> None:
    three = slot(effort(3, 10), MaxTest(attempts=4))
    one = checked(three).weeks[0]
    assert one.sessions[0].slots[0].reps == [3, 3, 3, 3]
    assert (one.lifts[0].sets, one.lifts[0].reps) == (4, 12)
    planned = prescribe(three, context(known("squat", 150), lifts=BUILT_IN)).sets
    assert {each.reps for each in planned if each.role == "top_set"} == {3}
    single, singles = slot(effort(1, 10), MaxTest()), checked(slot(effort(1, 10), MaxTest())).weeks[0]
    assert (singles.sessions[0].slots[0].reps, single.target.kind) == ([1] * 5, "effort")
    # four attempts of three take 4 x 2 repetitions x 4 s longer than of one: 32 s
    took = [minutes([replace(three, target=effort(reps, 10))], BUILT_IN) for reps in (1, 3)]
    assert took[1] - took[0] == pytest.approx(32 / 60)


def efforts(*slots: WeekPlan | Slot) -> list[str | None]:
    return checked(*slots).weeks[0].sessions[0].slots[0].expected_efforts


def test_an_effort_below_what_a_lifter_can_tell_is_five_or_more_left_and_one_past_ten_is_missed() -> None:
    """The model's start has `0.4 ln(1 + 0.116 (n - 1)) = -1.08 ln 0.6` at 60 % of the squat: about 26 repetitions.

    So ten leave some fifteen: RPE 4 stands in the numbers for anything that easy.
    """
    ten = slot(percent(10, 60), 10)
    assert efforts(ten) == ["five or more left"] * 10
    assert checked(ten).weeks[0].sessions[0].slots[0].expected_rpes == [4] * 10
    assert efforts(slot(percent(1, 30), 1)) == ["five or more left"]
    assert efforts(slot(percent(10, 95), 1)) == ["likely to be missed"]
    assert efforts(slot(effort(5, 5), 1, accessory=True)) == ["five or more left"]  # the words that lifters have for 5
    assert efforts(slot(effort(5, 8), 1, accessory=True)) == ["RPE 8"]
    assert efforts(slot(percent(2, 85), 2, "snatch")) == [None, None]


def test_rests_do_not_count_in_efforts_and_sets_before_do() -> None:
    """The model knows no rests: a set adds fatigue by what it leaves, until the next session of the lift."""
    first, *others = (efforts(slot(percent(5, 80), 5, rest_seconds=rest)) for rest in (None, 30, 300))
    assert first == others[0] == others[1]
    assert len(set(first)) == 5
    assert all(one is not None and one.startswith("RPE ") for one in first)


def test_tonnage_counts_both_dumbbells_and_the_body_where_it_is_lifted() -> None:
    ctx = context(
        known("squat", 200), known("dumbbell-row", 50), known("pull-up", 120), lifts=BUILT_IN
    )  # 80 kg of body
    weeks = (
        week(
            session(
                slot(percent(5, 70), 4),
                slot(LoadTarget(reps=10, load=load(30, "kg")), 3, "dumbbell-row"),
                slot(LoadTarget(reps=5, load=load(10, "kg")), 2, "pull-up"),
                slot(FreeTarget(reps=10), 3, "barbell-curl"),
            )
        ),
    )
    squat, row, pull_up, curl = check(weeks, BUILT_IN, ctx=ctx).weeks[0].lifts
    assert squat.tonnage == load(4 * 5 * 140, "kg")
    assert row.tonnage == load(3 * 10 * 30 * 2, "kg")
    assert pull_up.tonnage == load(2 * 5 * (10 + 80), "kg")
    assert (pull_up.average_percent, curl.tonnage) == (75, None)  # 90 of 120
    assert squat.average_percent == 70


def sums(*reps: float, hard: int = 0) -> list[dict[str, Total]]:
    """Weeks with so many repetitions of the squat, all at 80 %."""
    return [
        {"squat": Total(sets=1, reps=each, known_reps=each, volume=0.8 * each, hard=hard)} if each else {}
        for each in reps
    ]


def volumes(totals: list[dict[str, Total]], lighter: str = "") -> list[tuple[int, float | None] | None]:
    marks = [str(number + 1) in lighter for number in range(len(totals))]
    found = [of_week.get("squat") for of_week in changes(marks, totals)]
    return [None if one is None else (one.than_week, one.volume_percent) for one in found]


def test_a_week_is_compared_with_the_one_before() -> None:
    assert volumes(sums(20, 22, 33)) == [None, (1, 10), (2, 50)]


def test_after_a_lighter_week_the_one_before_it_counts() -> None:
    assert volumes(sums(20, 19, 20), lighter="2") == [None, (1, -5), (1, 0)]
    assert volumes(sums(20, 10, 12, 20), lighter="23") == [None, (1, -50), (1, -40), (1, 0)]


def test_a_single_week_of_four_fifths_or_less_is_lighter_unmarked_and_a_second_is_the_new_usual() -> None:
    assert volumes(sums(20, 16, 20)) == [None, (1, -20), (1, 0)]
    assert volumes(sums(20, 17, 20)) == [None, (1, -15), (2, 17.6)]  # 20 / 17 = 1.1765
    assert volumes(sums(20, 10, 10, 20)) == [None, (1, -50), (1, -50), (3, 100)]


def test_a_lift_is_compared_with_the_last_week_that_has_it() -> None:
    assert volumes(sums(20, 0, 30)) == [None, None, (1, 50)]


def test_hard_sets_and_volume_change_apart() -> None:
    totals = [*sums(20, hard=4), *sums(20, hard=5), *sums(20)]
    found = [one["squat"].hard_sets_percent for one in changes([False] * 3, totals)[1:]]
    assert found == [25, -100]
    assert changes([False] * 2, [*sums(20), *sums(20, hard=3)])[1]["squat"].hard_sets_percent is None


def test_heavier_sets_of_the_same_repetitions_are_more_volume() -> None:
    weeks = checked(*(week(slot(percent(5, value), 4)) for value in (70, 77))).weeks
    change = weeks[1].lifts[0].change
    assert change is not None
    assert (change.than_week, change.volume_percent) == (1, 10)  # 77 / 70


def test_equal_weeks_give_equal_answers_wherever_they_stand() -> None:
    one = week(session(slot(effort(5, 8), 4), name="A"), session(slot(percent(3, 80), 4), name="B"))
    shown = [
        replace(each, week=0, lifts=[replace(lift, change=None) for lift in each.lifts])
        for each in checked(one, one, one).weeks
    ]
    assert all(before == after for before, after in pairwise(shown))


@pytest.mark.parametrize(("value", "zone"), [(72, "from_80"), (71.9, "from_70")])
def test_a_variation_stands_in_the_zone_of_its_own_max(value: float, zone: str) -> None:
    one = lift_week(week(slot(percent(3, value, of="squat"), 3, "pause-squat")))  # a ratio of 0.90
    assert [each.zone for each in one.by_zone] == [zone]
