"""The numbers of a slot: read, moved, scaled, made lighter; worked out by hand."""

from dataclasses import replace
from typing import Any

import pytest

from service.api import wire
from service.core.progressions.members import (
    held_weeks,
    lightened,
    lighter,
    moved,
    scaled_sets,
    shifted_effort,
    shifted_percent,
)
from service.core.progressions.numbers import (
    LIMITS,
    MEMBERS,
    Member,
    NoSuchMember,
    OutOfLimits,
    nearest,
    value_of,
    with_value,
)
from service.core.slots import (
    AddLoad,
    AscendingSets,
    BackOff,
    BuildUp,
    Cluster,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    MaxTest,
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
    WeekPlan,
)
from service.core.units import load

LEFT = "the number of repetitions left"
EFFORT = EffortTarget(reps=3, rpe=8)


def slot(scheme: Scheme | None = None, target: Target = EFFORT, **more: Any) -> Slot:
    return Slot(lift="squat", scheme=scheme or SetsAtTarget(sets=5), target=target, **more)


def off(sets: int, less_percent: float) -> TopSet:
    return TopSet(back_off=BackOff(sets=sets, less_percent=less_percent))


def reps(low: int, high: int | None = None) -> EffortTarget:
    return EffortTarget(reps=low, reps_to=high, rpe=8)


def lb(value: float) -> LoadTarget:
    return LoadTarget(reps=5, load=load(value, "lb"))


def hold(seconds: int) -> TimeTarget:
    return TimeTarget(seconds=seconds, load=load(20, "kg"))


def band(low: float, high: float | None = None) -> PercentTarget:
    return PercentTarget(reps=3, percent=low, percent_to=high, basis="tested")


def test_the_limits_are_those_that_bodies_are_read_by():
    scales = {
        "percent": wire.Percent, "rpe": wire.Rpe, "rir": wire.Rir, "reps": wire.Reps, "sets": wire.SetCount,
        "back_off_sets": wire.SetCount, "same_load_sets": wire.SetCount, "less_percent": wire.LessPercent,
        "seconds": wire.Seconds, "metres": wire.Metres, "rest_seconds": wire.Seconds,
        "load": wire.LoadEntry.model_fields["value"],
    }  # fmt: skip
    assert set(scales) == set(LIMITS) == set(MEMBERS)
    for member, scale in scales.items():
        allowed = (getattr(scale, "__metadata__", None) or scale.metadata)[0]
        limit = LIMITS[member]
        assert (limit.low, limit.high, limit.step) == (allowed.low, allowed.high, allowed.step), member


@pytest.mark.parametrize(
    ("before", "member", "by", "after"),
    [
        (slot(target=band(70)), "percent", 2.5, slot(target=band(72.5))),
        (slot(target=band(70, 75)), "percent", -5, slot(target=band(65, 70))),
        (slot(), "rpe", 0.5, slot(target=EffortTarget(reps=3, rpe=8.5))),
        (slot(), "rpe", 0.25, slot(target=EffortTarget(reps=3, rpe=8.5))),  # 8.25 is half way: up
        (slot(target=EffortTarget(reps=3, rir=3)), "rir", -1, slot(target=EffortTarget(reps=3, rir=2))),
        (slot(target=reps(6, 8)), "reps", -2, slot(target=reps(4, 6))),
        (slot(target=FreeTarget(reps=8)), "reps", 2, slot(target=FreeTarget(reps=10))),
        (slot(), "sets", 1, slot(SetsAtTarget(sets=6))),
        (slot(), "sets", 0.5, slot(SetsAtTarget(sets=6))),
        (slot(Cluster(sets=3, parts=2, rest_seconds=20)), "sets", 1, slot(Cluster(sets=4, parts=2, rest_seconds=20))),
        (slot(OpenLastSet(sets_before=1)), "sets", -1, slot(OpenLastSet(sets_before=0))),
        (slot(TopSet(same_load=SameLoad(sets=2))), "same_load_sets", 1, slot(TopSet(same_load=SameLoad(sets=3)))),
        (slot(off(2, 8)), "back_off_sets", 2, slot(off(4, 8))),
        (slot(off(2, 8)), "less_percent", -1.5, slot(off(2, 6.5))),
        (slot(target=lb(225)), "load", 5, slot(target=lb(230))),
        (slot(target=hold(40)), "seconds", 5, slot(target=hold(45))),
        (slot(target=DistanceTarget(metres=20)), "metres", 2.5, slot(target=DistanceTarget(metres=22.5))),
        (slot(rest_seconds=180), "rest_seconds", -10, slot(rest_seconds=170)),
    ],
)  # fmt: skip
def test_a_number_is_moved_and_all_else_stays(before: Slot, member: Member, by: float, after: Slot):
    assert moved(before, member, by) == after


@pytest.mark.parametrize(
    ("one", "member"),
    [
        (slot(), "percent"), (slot(), "rir"), (slot(), "load"), (slot(), "rest_seconds"), (slot(TopSet()), "sets"),
        (slot(AscendingSets(percents=(80, 100))), "sets"), (slot(TopSet()), "back_off_sets"),
        (slot(TopSet(back_off=BackOff(less_percent=8, until_rpe=9))), "back_off_sets"),
        (slot(Ladder(), EffortTarget(reps=5, rir=3)), "rir"), (slot(MaxTest(), EffortTarget(reps=1, rpe=10)), "rpe"),
        (slot(target=FreeTarget()), "reps"), (slot(target=TimeTarget(seconds=30)), "load"),
    ],
)  # fmt: skip
def test_what_a_slot_does_not_have_cannot_be_moved(one: Slot, member: Member):
    assert value_of(one, member) is None
    with pytest.raises(NoSuchMember):
        moved(one, member, 1)
    with pytest.raises(NoSuchMember):
        with_value(one, member, 1)


@pytest.mark.parametrize(
    ("one", "member", "by", "said"),
    [
        (slot(target=EffortTarget(reps=3, rpe=9.5)), "rpe", 1, "the effort would be RPE 10.5; it goes from 1 to 10"),
        (slot(target=band(120, 128)), "percent", 5, "the percentage would be 133 %; it goes from 10 to 130"),
        (slot(SetsAtTarget(sets=20)), "sets", 1, "the number of sets would be 21; it goes from 1 to 20"),
        (slot(SetsAtTarget(sets=1)), "sets", -1, "the number of sets would be 0; it goes from 1 to 20"),
        (slot(OpenLastSet(sets_before=0)), "sets", -1, "the number of sets would be -1; it goes from 0 to 20"),
        (slot(target=EffortTarget(reps=3, rir=0)), "rir", -0.5, f"{LEFT} would be -0.5; it goes from 0 to 9"),
    ],
)  # fmt: skip
def test_a_number_that_leaves_what_may_be_written_is_refused_with_the_number(
    one: Slot, member: Member, by: float, said: str
):
    with pytest.raises(OutOfLimits) as refused:
        moved(one, member, by)
    assert str(refused.value) == said


def test_sets_are_scaled_half_up_and_one_stays():
    def sets(count: int, percent: float) -> int:
        return scaled_sets(slot(SetsAtTarget(sets=count)), percent).scheme.sets  # type: ignore[union-attr]

    # 60 % of 5 is 3.0; 50 % of 5 is 2.5, up to 3; 60 % of 4 is 2.4; 10 % of 3 is 0.3; 150 % of 3 is 4.5
    cases = [(5, 60), (5, 50), (4, 60), (3, 10), (3, 150)]
    assert [sets(*case) for case in cases] == [3, 3, 2, 1, 5]
    with pytest.raises(OutOfLimits, match="would be 22"):
        sets(11, 200)


def test_sets_of_each_scheme_are_scaled_by_what_it_counts():
    def scaled(scheme: Scheme) -> Scheme:
        return scaled_sets(slot(scheme), 50).scheme

    assert scaled(OpenLastSet(sets_before=4)) == OpenLastSet(sets_before=2)
    assert scaled(OpenLastSet(sets_before=0)) == OpenLastSet(sets_before=0)
    assert scaled(Cluster(sets=4, parts=3, rest_seconds=20)) == Cluster(sets=2, parts=3, rest_seconds=20)
    assert scaled(TopSet(back_off=BackOff(sets=4, less_percent=8))) == TopSet(back_off=BackOff(sets=2, less_percent=8))
    assert scaled(TopSet(same_load=SameLoad(sets=3))) == TopSet(same_load=SameLoad(sets=2))
    until = BackOff(less_percent=8, until_rpe=9)
    # Where nothing is stated there are at most 8: half of them are 4.
    assert scaled(TopSet(back_off=until)) == TopSet(back_off=BackOff(less_percent=8, until_rpe=9, most=4))
    stated = BackOff(less_percent=8, until_rpe=9, fewest=3, most=6)
    assert scaled(TopSet(back_off=stated)) == TopSet(back_off=BackOff(less_percent=8, until_rpe=9, fewest=2, most=3))
    for still in (TopSet(), AscendingSets(percents=(80, 90, 100)), Ladder(), MaxTest(attempts=4)):
        assert scaled(still) == still


def test_a_lighter_slot_has_fewer_sets_and_lower_numbers():
    heavy = slot(SetsAtTarget(sets=5), band(80, 85))
    lighter = lightened(heavy, sets_percent=60, percent_points=-10, rpe_points=-1)
    assert lighter == slot(SetsAtTarget(sets=3), band(70, 75))

    stops = TopSet(back_off=BackOff(less_percent=8, until_rpe=9), build_up=BuildUp(rpes=(5.5, 7)), same_load=None)
    lower = TopSet(back_off=BackOff(less_percent=8, until_rpe=8), build_up=BuildUp(rpes=(4.5, 6)))
    assert shifted_effort(slot(stops), -1) == slot(lower, EffortTarget(reps=3, rpe=7))
    left = slot(OpenLastSet(sets_before=2, stop_rpe=9), EffortTarget(reps=8, rir=2))
    assert shifted_effort(left, -1.5) == slot(OpenLastSet(sets_before=2, stop_rpe=7.5), EffortTarget(reps=8, rir=3.5))
    assert shifted_percent(slot(), -10) == slot()  # it has no percentage


def grows(target=None, sets=1, **more):
    add = AddLoad(when="all_sets_complete", step=load(2.5, "kg"), **more)
    return slot(SetsAtTarget(sets=sets, add_load=add), target or LoadTarget(reps=5, load=load(60, "kg")))


def test_a_load_that_grows_by_rule_is_held_in_a_lighter_week_and_lower_by_as_much():
    assert lightened(grows(sets=5), sets_percent=60) == grows(sets=3, lighter_percent=0)
    assert lightened(grows(), percent_points=-10) == grows(lighter_percent=10)
    assert lightened(grows(lighter_percent=15), percent_points=-10) == grows(lighter_percent=15)
    assert lightened(grows(), percent_points=-100) == grows(lighter_percent=90)  # something stays on the bar
    # a point easier leaves one more: 8 to failure instead of 9 at RPE 7, (1.812 / 1.928)^0.4 = 0.9755, 2.45 % less
    easier = lightened(grows(EffortTarget(reps=5, rpe=7)), rpe_points=-1)
    assert easier == grows(EffortTarget(reps=5, rpe=6), lighter_percent=2.5)
    assert lightened(grows(), rpe_points=-1) == grows(lighter_percent=0)  # no effort is asked
    assert lighter(grows()) == grows()  # nothing is made lighter


def test_weeks_that_are_marked_lighter_hold_what_grows_however_they_were_written():
    def week(one, **more):
        return WeekPlan(sessions=(SessionPlan(name="Legs", slots=(slot(), one)),), **more)

    usual, marked = week(grows()), week(grows(), lighter=True)
    assert held_weeks((usual, marked)) == (usual, week(grows(lighter_percent=0), lighter=True))
    stated = week(grows(lighter_percent=10), lighter=True)
    assert held_weeks((stated,))[0] is stated


def test_tests_and_ladders_stay_in_a_lighter_week():
    for still in (
        slot(MaxTest(), EffortTarget(reps=1, rpe=10)),
        slot(Ladder(), EffortTarget(reps=5, rir=3)),
    ):
        assert lightened(still, sets_percent=50, percent_points=-10, rpe_points=-1) is still
    with pytest.raises(OutOfLimits, match=r"RPE 0\.5"):
        lightened(slot(target=EffortTarget(reps=3, rpe=2)), rpe_points=-1.5)


@pytest.mark.parametrize(
    ("written", "points", "left"),
    [
        (load(60, "kg"), -10, 54),
        (load(62.5, "kg"), -10, 56.5),  # 56.25: the half of a half kilogram goes up
        (load(41.25, "kg"), -10, 37),  # 37.125
        (load(135, "lb"), -10, 122),  # 121.5 up to whole pounds
        (load(7, "step"), -20, 6),  # 5.6
        (load(60, "kg"), -7.5, 55.5),
        (load(-20, "kg"), -10, -22),  # more assistance is lighter
        (load(0, "kg"), -10, 0),
        (load(1, "kg"), -100, 0.5),  # a step is left
        (load(0.25, "kg"), -10, 0.25),  # never heavier than it was
    ],
)  # fmt: skip
def test_a_fixed_load_goes_down_by_as_many_percent_as_percentages_do_by_points(written, points, left):
    for target in (
        LoadTarget(reps=5, load=written), TimeTarget(seconds=30, load=written), DistanceTarget(metres=20, load=written),
    ):  # fmt: skip
        made = lightened(slot(TopSet(), target), percent_points=points).target
        assert made == replace(target, load=load(left, written.unit))
    with pytest.raises(OutOfLimits, match="the load would be"):
        lightened(slot(TopSet(), LoadTarget(reps=5, load=load(-950, "kg"))), percent_points=-10)


def test_halves_go_up():
    assert [nearest("sets", n) for n in (1499, 1500, 2500)] == [1, 2, 3]
    assert [nearest("rpe", n) for n in (7249, 7250, 7749, 7750)] == [7, 7.5, 7.5, 8]
    assert nearest("load", -2500) == -2.5
