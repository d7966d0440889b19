"""Weeks as the parts that they could be written by, and back."""

from dataclasses import replace

from hypothesis import given, settings

from service.api.slots import WeekBody
from service.core.progressions.collapse import collapse
from service.core.progressions.expand import expand
from service.core.progressions.records import EachWeek, FromTo, LighterWeeks, Part
from service.core.slots import AddLoad, LoadTarget, SetsAtTarget, WeekPlan
from service.core.units import load
from service.store.plans import week_json
from tests.core.progressions.writing import any_weeks, at, canonical, rpe, session, sets, slot, week


@settings(max_examples=200, deadline=None)
@given(any_weeks())
def test_whatever_the_weeks_are_their_parts_stand_for_them(weeks):
    assert expand(collapse(weeks)) == weeks


@settings(max_examples=200, deadline=None)
@given(canonical())
def test_parts_in_the_plainest_form_come_back_as_they_were(parts):
    assert collapse(expand(parts)) == parts


@settings(max_examples=100, deadline=None)
@given(canonical())
def test_each_week_that_is_written_out_is_one_that_a_body_may_hold(parts):
    for one in expand(parts):
        assert WeekBody.model_validate(week_json(one)).record() == one


def squat(percent: float, count: int = 5, **more) -> WeekPlan:
    return week(session("Squat", slot("squat", sets(count), at(percent))), **more)


def test_points_that_are_added_every_week_are_found():
    weeks = (squat(70), squat(72.5), squat(75))
    assert collapse(weeks) == (Part(weeks=3, week=squat(70), progressions=(EachWeek(change="percent", by=2.5),)),)


def test_sets_that_do_not_rise_by_whole_ones_go_from_one_number_to_another():
    weeks = tuple(squat(70, count) for count in (4, 5, 5, 6, 6))  # 4, 4.5, 5, 5.5, 6 rounded half up
    assert collapse(weeks) == (Part(weeks=5, week=squat(70, 4), progressions=(FromTo(change="sets", to=6),)),)


def test_each_third_week_lighter_is_found_with_what_makes_it_lighter():
    # The count of weeks goes on: 75 less 10 points in week 3, 82.5 less 10 in week 6; three of five sets are 60 %.
    marked = [squat(65, 3, lighter=True), squat(72.5, 3, lighter=True)]
    weeks = (squat(70), squat(72.5), marked[0], squat(77.5), squat(80), marked[1])
    found = collapse(weeks)
    eased = LighterWeeks(every=3, sets_percent=60, percent_points=-10)
    assert found == (Part(weeks=6, week=squat(70), progressions=(EachWeek(change="percent", by=2.5), eased)),)


def test_a_count_that_stands_still_in_a_lighter_week_is_found():
    weeks = (squat(70), squat(72.5), squat(62.5, 5, lighter=True, name="Rest"), squat(75))
    assert collapse(tuple(replace(one, name=one.name or "Build") for one in weeks)) == (
        Part(
            name="Build",
            weeks=4,
            week=squat(70),
            progressions=(
                EachWeek(change="percent", by=2.5),
                LighterWeeks(weeks=(3,), percent_points=-10, pause=True, name="Rest"),
            ),
        ),
    )


def test_fixed_loads_of_a_lighter_week_are_found():
    def rows(*loads: float) -> tuple[WeekPlan, ...]:
        return tuple(
            week(session("Row", slot("row", sets(3), LoadTarget(reps=8, load=load(kg, "kg")))), lighter=kg < 50)
            for kg in loads
        )

    # 60 less 20 % is 48; half a kilogram is the step, so 7.5 % of 51 (47.175) is 47 as 8 % (46.92) is: the plainer one.
    (tenths,) = collapse(rows(60, 60, 48))
    assert tenths.progressions == (LighterWeeks(weeks=(3,), percent_points=-20),)
    (finer,) = collapse(rows(51, 51, 47))
    assert finer.progressions == (LighterWeeks(weeks=(3,), percent_points=-7.5),)


def test_names_and_other_lifts_divide_weeks_into_parts():
    bench = week(session("Bench", slot("bench-press", sets(5), rpe(8))))
    start = [replace(squat(percent), name="Start") for percent in (60, 65)]
    weeks = (*start, squat(70), squat(75), bench, bench)
    assert [(part.name, part.weeks, len(part.progressions)) for part in collapse(weeks)] == [
        ("Start", 2, 1),
        (None, 2, 1),
        (None, 2, 0),
    ]


def test_slots_are_named_as_broadly_as_they_can_be():
    def day(squats: float, benches: float, rows: float) -> WeekPlan:
        one = session("One", slot("squat", sets(3), at(squats)), slot("bench-press", sets(3), at(benches)))
        return week(one, session("Two", slot("squat", sets(5), at(60)), slot("row", sets(3), at(rows))))

    # The squat rises in the first session only, the bench press by other points wherever it is.
    (part,) = collapse((day(70, 70, 50), day(75, 71, 50)))
    assert part.progressions == (
        EachWeek(change="percent", by=5, lift="squat", sessions=("One",)),
        EachWeek(change="percent", by=1, lift="bench-press"),
    )
    # Everything of the first session, nothing of the second.
    (part,) = collapse((day(70, 70, 50), day(75, 75, 50)))
    assert part.progressions == (EachWeek(change="percent", by=5, sessions=("One",)),)


def test_one_of_two_sessions_of_a_name_is_told_by_its_number():
    def twice(percent: float) -> WeekPlan:
        same = slot("squat", sets(3), at(60))
        return week(session("Legs", same), session("Legs", replace(same, target=at(percent))))

    (part,) = collapse((twice(70), twice(72.5)))
    assert part.progressions == (EachWeek(change="percent", by=2.5, lift=None, session_numbers=(2,), slots=(1,)),)


def test_a_week_marked_lighter_that_is_lighter_in_no_plain_way_is_a_part_of_its_own():
    heavier = squat(80, 6, lighter=True)
    weeks = (squat(70), squat(70), heavier, squat(70))
    assert [part.weeks for part in collapse(weeks)] == [2, 1, 1]
    assert expand(collapse(weeks)) == weeks


def test_accessories_that_follow_are_named_by_their_lift():
    def both(percent: float) -> WeekPlan:
        side = slot("row", sets(3), at(percent), accessory=True)
        return week(session("A", slot("squat", sets(3), at(percent)), side))

    (part,) = collapse((both(60), both(65)))
    assert part.progressions == (
        EachWeek(change="percent", by=5, lift="squat"),
        EachWeek(change="percent", by=5, lift="row"),
    )


def test_no_weeks_are_no_parts():
    assert collapse(()) == ()
    assert expand(()) == ()


def grows(count: int, **more) -> WeekPlan:
    """A week with a load of 50 kg that grows."""
    held = more.pop("held", None)
    add = AddLoad(when="all_sets_complete", step=load(2.5, "kg"), lighter_percent=held)
    bench = slot("bench-press", SetsAtTarget(sets=count, add_load=add), LoadTarget(reps=8, load=load(50, "kg")))
    return week(session("Bench", bench), **more)


def test_lighter_weeks_of_loads_that_grow_are_found():
    """Nothing is added in them; 3 of 5 sets are 60 %."""
    usual, fewer = grows(5), LighterWeeks(weeks=(3,), sets_percent=60)
    lower = LighterWeeks(weeks=(3,), percent_points=-10)
    for held, way in (
        (grows(3, held=0, lighter=True), fewer),
        (grows(5, held=10, lighter=True), lower),
        (grows(3, held=10, lighter=True), replace(fewer, percent_points=-10)),
    ):
        weeks = (usual, usual, held, usual)
        assert collapse(weeks) == (Part(weeks=4, week=usual, progressions=(way,)),)
        assert expand(collapse(weeks)) == weeks


def test_a_stated_load_that_moves_by_hand_where_it_grows_by_rule_is_no_progression():
    def stated(kg: float) -> WeekPlan:
        (bench,) = grows(5).sessions[0].slots
        return week(session("Bench", replace(bench, target=LoadTarget(reps=8, load=load(kg, "kg")))))

    weeks = (stated(50), stated(52.5))
    assert collapse(weeks) == (Part(weeks=1, week=stated(50)), Part(weeks=1, week=stated(52.5)))
