"""Operations and differences on a small block that can be checked by eye."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, permutations

import pytest

from service.core.catalogue import BUILT_IN
from service.core.changes import align
from service.core.changes import operations as ops
from service.core.changes.apply import apply
from service.core.changes.difference import difference
from service.core.prescribe.shorten import shorten
from service.core.slots import (
    AddLoad,
    AscendingSets,
    BackOff,
    BuildUp,
    ComplexPart,
    EffortTarget,
    FreeTarget,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SessionPlan,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.units import load


def squat(percent: float = 75, sets: int = 4, **more):
    target = PercentTarget(reps=5, percent=percent, basis="tested")
    return Slot(lift="squat", scheme=SetsAtTarget(sets=sets), target=target, **more)


def bench(rpe: float = 8, **more):
    scheme = TopSet(back_off=BackOff(sets=3, less_percent=8))
    return Slot(lift="bench-press", scheme=scheme, target=EffortTarget(reps=3, rpe=rpe), **more)


def extra(lift: str = "dumbbell-row", sets: int = 3, **more):
    target = EffortTarget(reps=8, reps_to=12, rir=2)
    return Slot(lift=lift, scheme=SetsAtTarget(sets=sets), target=target, accessory=True, **more)


def week(percent: float = 75, **more):
    legs = SessionPlan(name="Squat", slots=(squat(percent), extra()))
    return WeekPlan(sessions=(legs, SessionPlan(name="Bench", slots=(bench(),))), **more)


BLOCK = (week(75), week(77.5), week(60, lighter=True), week(80), week(85, name="Goal"))


def done(*operations, weeks=BLOCK):
    return apply(weeks, operations, BUILT_IN)


def refused(*operations, weeks=BLOCK):
    with pytest.raises(ops.Refused) as caught:
        apply(weeks, operations, BUILT_IN)
    (fault,) = caught.value.faults
    return fault.pointer, fault.code, fault.text


def texts(outcome):
    return [one.told(BUILT_IN) for one in outcome.changes()]


def test_a_percentage_that_moves_is_told_with_both_numbers():
    which = ops.Which(weeks=(1,), lift="squat")
    outcome = done(ops.ShiftPercent(percent_points=2.5, which=which))
    assert texts(outcome) == [
        "Week 1, Squat, squat: 4 sets of 5 at 75 % of the tested max becomes 4 sets of 5 at 77.5 % of the tested max."
    ]
    assert outcome.steps[0].text == "Percentages 2.5 points higher in week 1, the squat"


def test_sets_are_scaled_half_up_and_one_always_stays():
    # 4 * 0.6 = 2.4: 2. 3 back-off sets * 0.6 = 1.8: 2. 3 accessory sets the same.
    legs, push = done(ops.ScaleSets(percent=60)).weeks[0].sessions
    assert [slot.scheme.sets for slot in legs.slots] == [2, 2]
    assert push.slots[0].scheme.back_off.sets == 2
    legs, _ = done(ops.ScaleSets(percent=10)).weeks[0].sessions
    assert [slot.scheme.sets for slot in legs.slots] == [1, 1]


def test_what_would_leave_its_limits_is_refused_with_its_place_or_held_where_that_is_asked():
    pointer, code, rule = refused(ops.ShiftEffort(rpe_points=0.5), ops.ShiftEffort(rpe_points=2))
    assert (pointer, code) == ("#/operations/1/rpe_points", "out_of_range")
    # The row has 1.5 repetitions left after the first half point: two points more would be half a repetition under 0.
    assert "Week 1, Squat, dumbbell row" in rule
    outcome = done(ops.ShiftEffort(rpe_points=4, at_limit="hold"))
    assert outcome.weeks[0].sessions[1].slots[0].target.rpe == 10
    assert outcome.weeks[0].sessions[0].slots[1].target.rir == 0  # two left, four points harder
    assert "top set of 3 at RPE 8, then 3 sets 8 % lighter becomes top set of 3 at RPE 10" in texts(outcome)[1]
    held = done(ops.ScaleSets(percent=1000, at_limit="hold"))
    assert held.weeks[0].sessions[0].slots[0].scheme.sets == 20


def test_tests_and_meets_stay_unless_their_session_is_named():
    show = WeekPlan(sessions=(SessionPlan(name="Show", kind="test", slots=(bench(rpe=10),)),))
    weeks = (*BLOCK, show)
    assert done(ops.ShiftEffort(rpe_points=-1), weeks=weeks).weeks[-1] == show
    named = done(ops.ShiftEffort(rpe_points=-1, which=ops.Which(sessions=("Show",))), weeks=weeks)
    assert named.weeks[-1].sessions[0].slots[0].target.rpe == 9


def test_what_finds_nothing_is_refused():
    nobody = ops.Which(lift="deadlift")
    assert refused(ops.ShiftPercent(percent_points=1, which=nobody))[:2] == (
        "#/operations/0/which",
        "nothing_matched",
    )
    assert refused(ops.ExchangeLift(lift="deadlift", to_lift="squat"))[0] == "#/operations/0/lift"
    pointer, code, rule = refused(ops.ExchangeLift(lift="squat", to_lift="plank"))
    assert (pointer, code) == ("#/operations/0/to_lift", "does_not_fit")
    assert rule == "must be a lift with a load: what is planned for the squat says nothing for the plank"
    assert refused(ops.AddAccessory(slot=extra(), session="Swim"))[0] == "#/operations/0/session"
    assert refused(ops.ScaleSets(percent=50, which=ops.Which(weeks=(1, 9))))[0] == "#/operations/0/which/weeks/1"
    assert refused(ops.DropWeeks(weeks=(1, 2, 3, 4, 5)))[1] == "nothing_left"
    assert refused(ops.RepeatWeek(week=1, times=100))[:2] == ("#/operations/0/times", "too_many_weeks")
    assert refused(ops.ReorderWeeks(order=(1, 2, 3, 4, 4)))[:2] == ("#/operations/0/order", "not_all")


def test_weeks_are_added_repeated_dropped_and_put_in_another_order():
    new = week(70, name="Start light")
    assert texts(done(ops.AddWeek(after=0, week=new))) == ["Week 1 “Start light” is new: 2 sessions, Squat and Bench."]
    assert texts(done(ops.DropWeeks(weeks=(3,)))) == [
        "Week 3 is gone: a lighter week with 2 sessions, Squat and Bench."
    ]
    assert done(ops.RepeatWeek(week=2, times=2)).weeks[1:4] == (BLOCK[1],) * 3
    swapped = done(ops.ReorderWeeks(order=(1, 2, 4, 3, 5)))
    assert swapped.weeks == (BLOCK[0], BLOCK[1], BLOCK[3], BLOCK[2], BLOCK[4])
    assert len(texts(swapped)) == 1  # one of the two was moved past the other


def test_a_lighter_week_is_made_from_a_week_and_told_as_lighter():
    outcome = done(ops.InsertLighterWeek(after=4, sets_percent=50, percent_points=-10, rpe_points=-1))
    made = outcome.weeks[4]
    # Week 4: 4 sets at 80 % and a top set at RPE 8 with 3 sets: 2 sets at 70 %, RPE 7 with 2 (1.5 rounded up).
    assert made.lighter
    assert made.sessions[0].slots[0] == squat(70, 2)
    assert made.sessions[1].slots[0].target.rpe == 7
    assert made.sessions[1].slots[0].scheme.back_off.sets == 2
    how = "50 % of the sets, percentages 10 points less, efforts 1 RPE less"
    assert outcome.steps[0].text == f"A lighter week 5, made from week 4: {how}"
    at, row = "% of the tested max", "of 8 to 12 with {} repetitions left"
    top = "top set of 3 at RPE {}, then {} sets 8 % lighter"
    # 3 sets of the row: 1.5 rounded up; 2 repetitions left are 3 where the effort is 1 RPE less.
    assert outcome.steps[0].slots == (
        f"Squat, squat: 4 sets of 5 at 80 {at} becomes 2 sets of 5 at 70 {at}.",
        f"Squat, dumbbell row: 3 sets {row.format(2)} becomes 2 sets {row.format(3)}.",
        f"Bench, bench press: {top.format(8, 3)} becomes {top.format(7, 2)}.",
    )
    assert texts(outcome) == ["Week 5 is new: a lighter week with 2 sessions, Squat and Bench."]


TEST = Slot(lift="squat", scheme=MaxTest(), target=EffortTarget(reps=1, rpe=10))


def test_tests_and_meets_are_left_out_of_a_lighter_week():
    mixed = SessionPlan(name="Mixed", slots=(extra(with_next=True), TEST))
    show = SessionPlan(name="Show", kind="meet", slots=(bench(10),))
    weeks = (WeekPlan(sessions=(mixed, show, SessionPlan(name="Max", slots=(TEST,)))),)
    outcome = done(ops.InsertLighterWeek(after=1), weeks=weeks)
    # 60 % of 3 sets are 1.8: 2. The row stands alone now: the test that it was done in turn with is not there.
    lone = replace(extra(sets=2), target=EffortTarget(reps=8, reps_to=12, rir=3))
    assert outcome.weeks[1].sessions == (SessionPlan(name="Mixed", slots=(lone,)),)
    (step,) = outcome.steps
    assert step.text == (
        "A lighter week 2, made from week 1: 60 % of the sets, efforts 1 RPE less; without the test of the squat"
        " and the meet Show"
    )
    assert step.slots[1:] == (
        "Mixed, squat, test: work up to the heaviest of 1: left out, because it is a test.",
        "Show: left out, because it is a meet.",
        "Max, squat, test: work up to the heaviest of 1: left out, because it is a test.",
    )
    only = (WeekPlan(sessions=(replace(show, kind="test"), SessionPlan(name="Max", slots=(TEST,)))), *BLOCK)
    assert refused(ops.InsertLighterWeek(after=1), weeks=only)[:2] == ("#/operations/0/after", "nothing_left")
    assert refused(ops.InsertLighterWeek(after=2, of=1), weeks=only)[:2] == ("#/operations/0/of", "nothing_left")


def test_a_lighter_week_in_which_nothing_is_lighter_is_refused():
    same = ops.InsertLighterWeek(after=1, sets_percent=100, percent_points=0, rpe_points=0)
    assert refused(same)[:2] == ("#/operations/0/sets_percent", "nothing_lighter")
    chosen = Slot(lift="plank", scheme=SetsAtTarget(sets=1), target=TimeTarget(seconds=40))
    weeks = (WeekPlan(sessions=(SessionPlan(name="Core", slots=(chosen,)),)),)
    assert refused(ops.InsertLighterWeek(after=1), weeks=weeks)[1] == "nothing_lighter"


def test_fixed_loads_are_lower_in_a_lighter_week_by_as_many_percent():
    fixed = replace(squat(), target=LoadTarget(reps=5, load=load(100, "kg")))
    weeks = (WeekPlan(sessions=(SessionPlan(name="Squat", slots=(fixed,)),)),)
    outcome = done(ops.InsertLighterWeek(after=1, percent_points=-12.5), weeks=weeks)
    assert outcome.weeks[1].sessions[0].slots[0].target.load == load(87.5, "kg")
    assert outcome.steps[0].text.endswith("week 1: 60 % of the sets, fixed loads 12.5 % less")


def test_a_lift_is_exchanged_with_the_percentages_that_are_of_it_and_its_fixed_loads_go():
    paused = Slot(
        lift="pause-squat",
        scheme=SetsAtTarget(sets=2),
        target=PercentTarget(reps=3, percent=60, basis="tested", of="squat"),
    )
    fixed = replace(squat(), target=LoadTarget(reps=5, load=load(100, "kg")))
    rising = replace(fixed, scheme=AscendingSets(percents=(80, 90, 100)))
    weeks = (WeekPlan(sessions=(SessionPlan(name="Squat", slots=(squat(), paused, fixed, rising)),)),)
    outcome = done(ops.ExchangeLift(lift="squat", to_lift="front-squat"), weeks=weeks)
    first, second, third, fourth = outcome.weeks[0].sessions[0].slots
    assert first == replace(squat(), lift="front-squat")
    assert (second.lift, second.target.of) == ("pause-squat", "front-squat")
    assert third.target == FreeTarget(reps=5)
    assert outcome.steps[0].text == "Front squat in place of squat; 2 fixed loads of it are left to the lifter"
    assert (fourth.scheme, fourth.target) == (SetsAtTarget(sets=3), FreeTarget(reps=5))
    assert texts(outcome)[0] == (
        "Week 1, Squat, squat, 4 sets of 5 at 75 % of the tested max, becomes front squat, 4 sets of 5 at 75 % of the"
        " tested max."
    )


def row_of(lift: str, *parts: tuple[str, int], percent: float = 70, of: str | None = None) -> Slot:
    target = PercentTarget(reps=1, percent=percent, basis="tested", of=of)
    row = tuple(ComplexPart(lift=one, reps=reps) for one, reps in parts)
    return Slot(lift=lift, scheme=SetsAtTarget(sets=5), target=target, complex=row)


def day_of(*slots: Slot) -> tuple[WeekPlan, ...]:
    return (WeekPlan(sessions=(SessionPlan(name="Day", slots=slots),)),)


def test_a_complex_that_is_logged_as_the_exchanged_lift_stays_and_is_told():
    both = row_of("clean", ("clean", 1), ("jerk", 2))
    cleans = replace(both, complex=())
    outcome = done(ops.ExchangeLift(lift="clean", to_lift="snatch"), weeks=day_of(cleans, both))
    assert outcome.weeks == day_of(replace(cleans, lift="snatch"), both)
    assert outcome.steps[0].text == ("Snatch in place of clean; 1 complex stays as it is (week 1, Day): write it anew")
    alone = refused(ops.ExchangeLift(lift="clean", to_lift="snatch"), weeks=day_of(both))
    assert alone[:2] == ("#/operations/0/lift", "complex")
    assert "week 1, Day" in alone[2]


def test_a_part_of_a_complex_is_exchanged_and_what_is_done_twice_in_a_row_is_one():
    rows = row_of("squat", ("pause-squat", 1), ("front-squat", 2), ("squat", 3), ("pause-squat", 1))
    outcome = done(ops.ExchangeLift(lift="pause-squat", to_lift="front-squat"), weeks=day_of(rows))
    # One front squat and the two after it are three in a row.
    (made,) = outcome.weeks[0].sessions[0].slots
    assert made == row_of("squat", ("front-squat", 3), ("squat", 3), ("front-squat", 1))
    one_lift = row_of("squat", ("pause-squat", 1), ("front-squat", 2))
    many = row_of("squat", ("pause-squat", 15), ("front-squat", 6), ("squat", 1))  # 21 in a row are too many
    for stays in (one_lift, many):
        weeks = day_of(stays, replace(squat(), lift="pause-squat"))
        outcome = done(ops.ExchangeLift(lift="pause-squat", to_lift="front-squat"), weeks=weeks)
        assert outcome.weeks == day_of(stays, replace(squat(), lift="front-squat"))
        assert "1 complex stays as it is" in outcome.steps[0].text


def test_an_exchange_is_told_slot_by_slot_where_the_other_lift_was_there_already():
    before = day_of(squat(), row_of("front-squat", ("front-squat", 1), ("squat", 1), ("jerk", 1), of="squat"))
    outcome = done(ops.ExchangeLift(lift="squat", to_lift="front-squat"), weeks=before)
    for found in (outcome.changes(), difference(before, outcome.weeks)):
        assert [(one.what, one.kind, one.slot_before, one.slot) for one in found] == [
            ("slot", "changed", 1, 1),
            ("slot", "changed", 2, 2),
        ]
    longer = day_of(*outcome.weeks[0].sessions[0].slots, extra())
    assert [(one.kind, one.slot_before, one.slot) for one in difference(before, longer)] == [
        ("changed", 1, 1),
        ("changed", 2, 2),
        ("added", None, 3),
    ]


def test_slots_of_one_lift_that_all_move_are_changed_where_they_stand():
    rising = day_of(squat(75), squat(77.5), squat(80))
    outcome = done(ops.ShiftPercent(percent_points=2.5), weeks=rising)
    assert [(one.kind, one.slot_before, one.slot) for one in outcome.changes()] == [
        ("changed", place, place) for place in (1, 2, 3)
    ]
    (moved,) = difference(day_of(squat(75), squat(80)), day_of(squat(80), squat(75)))
    assert moved.kind == "moved"
    other = difference(day_of(squat(), extra("row"), extra("curl")), day_of(squat(80), extra("curl"), extra("row")))
    assert sorted(one.kind for one in other) == ["changed", "moved"]


def test_a_lift_that_cannot_be_asked_for_that_way_is_refused():
    pointer, code, rule = refused(ops.ExchangeLift(lift="bench-press", to_lift="snatch"))
    assert (pointer, code) == ("#/operations/0/to_lift", "technique_lift")
    assert "Week 1, Bench" in rule
    assert refused(ops.ExchangeLift(lift="squat", to_lift="sqaut"))[1] == "unknown"


def test_accessories_are_trimmed_from_those_that_matter_least():
    held = TimeTarget(seconds=40)
    plank = Slot(lift="plank", scheme=SetsAtTarget(sets=3), target=held, accessory=True, optional=True)
    slots = (bench(), extra(priority=2, with_next=True), plank, extra("biceps-curl"))
    weeks = (WeekPlan(sessions=(SessionPlan(name="Bench", slots=slots),)),)
    left = done(ops.TrimAccessories(most_slots=1, most_sets=2), weeks=weeks).weeks[0].sessions[0].slots
    # The optional plank (8) goes first, then the curl, which has no priority (6); the row (2) stands alone now.
    assert left == (bench(), extra(sets=2, priority=2))
    two = done(ops.TrimAccessories(most_slots=2), weeks=weeks).weeks[0].sessions[0].slots
    assert [slot.lift for slot in two] == ["bench-press", "dumbbell-row", "biceps-curl"]
    assert not two[1].with_next  # it was done in turn with the plank, not with the curl
    opened = Slot(lift="dumbbell-row", scheme=OpenLastSet(sets_before=3), target=FreeTarget(reps=8), accessory=True)
    one = (WeekPlan(sessions=(SessionPlan(name="Rows", slots=(opened,)),)),)
    assert done(ops.TrimAccessories(most_sets=1), weeks=one).weeks[0].sessions[0].slots[0].scheme.sets_before == 0
    assert refused(ops.TrimAccessories(most_slots=0), weeks=one)[1] == "nothing_left"


def test_what_is_trimmed_first_is_what_goes_first_where_the_time_is_short():
    # Stated 7 goes before the curl without a priority (6), which goes before the optional row that stays longest (1).
    slots = (bench(), extra(priority=1, optional=True), extra("biceps-curl"), extra("face-pull", priority=7))
    weeks = (WeekPlan(sessions=(SessionPlan(name="Bench", slots=slots),)),)
    left = [
        [slot.lift for slot in done(ops.TrimAccessories(most_slots=most), weeks=weeks).weeks[0].sessions[0].slots[1:]]
        for most in (2, 1)
    ]
    assert left == [["dumbbell-row", "biceps-curl"], ["dumbbell-row"]]
    for available, lifts in ((40, left[0]), (38, left[1])):
        short = shorten(slots, available, BUILT_IN)
        kept = [slot.lift for slot, one in zip(slots, short, strict=True) if one.slot is not None]
        assert kept == ["bench-press", *lifts]


def order(outcome):
    """Weeks by the percentage of their squat, which tells them apart."""
    return [one.sessions[0].slots[0].target.percent for one in outcome.weeks]


def test_a_block_is_lengthened_from_its_middle_and_shortened_from_its_start():
    # Ordinary weeks are 1, 2 and 4 (75, 77.5 and 80 %): the middle one is week 2, then 1, then 4.
    assert order(done(ops.Stretch(weeks=6))) == [75, 77.5, 77.5, 60, 80, 85]
    assert order(done(ops.Stretch(weeks=8))) == [75, 75, 77.5, 77.5, 60, 80, 80, 85]
    assert order(done(ops.Stretch(weeks=9))) == [75, 75, 77.5, 77.5, 77.5, 60, 80, 80, 85]
    assert order(done(ops.Stretch(weeks=4))) == [77.5, 60, 80, 85]
    assert order(done(ops.Stretch(weeks=3))) == [77.5, 80, 85]  # the lighter week would come first: it goes
    assert order(done(ops.Stretch(weeks=2))) == [80, 85]
    assert order(done(ops.Stretch(weeks=1))) == [85]
    said = done(ops.Stretch(weeks=3)).steps[0].text
    assert said.startswith("5 weeks become 3: weeks 1 and 3 go. Weeks that only repeat the one before them go first")


@pytest.mark.parametrize("days", range(28, 70))
def test_a_block_ends_by_the_day_that_is_asked_and_not_a_week_before(days):
    start = date(2026, 11, 24)  # a Tuesday: its first Wednesday is the day after
    end = start + timedelta(days=days)
    stretch = ops.Stretch(end=end, start=start, weekdays=("wednesday", "saturday"))
    weeks = len(done(stretch).weeks)
    last = date(2026, 11, 28) + timedelta(weeks=weeks - 1)  # the Saturday of the last week
    assert end - timedelta(days=6) <= last <= end


def test_a_day_that_is_too_early_and_too_few_weekdays_are_refused():
    early = ops.Stretch(end=date(2026, 11, 27), start=date(2026, 11, 24), weekdays=("wednesday", "saturday"))
    assert refused(early)[:2] == ("#/operations/0/end", "out_of_range")
    few = replace(early, weekdays=("monday",))
    assert refused(few)[:2] == ("#/operations/0/weekdays", "wrong_count")


def test_a_week_put_into_the_middle_is_told_as_put_in():
    new = week(70)
    found = list(difference(BLOCK, (*BLOCK[:2], new, *BLOCK[2:])))
    assert [(one.what, one.kind, one.week) for one in found] == [("week", "added", 3)]
    changed = replace(BLOCK[3], sessions=(replace(BLOCK[3].sessions[0], slots=(squat(82.5), extra())), bench_day()))
    both = list(difference(BLOCK, (new, *BLOCK[:3], changed, BLOCK[4])))
    four = "4 sets of 5 at {} % of the tested max"
    assert [one.told(BUILT_IN) for one in both] == [
        "Week 1 is new: 2 sessions, Squat and Bench.",
        f"Week 5 (week 4 before), Squat, squat: {four.format(80)} becomes {four.format(82.5)}.",
    ]


def bench_day():
    return SessionPlan(name="Bench", slots=(bench(),))


def test_what_does_not_stand_in_the_sentence_of_a_slot_is_told_beside_it():
    before = (WeekPlan(sessions=(SessionPlan(name="Squat", slots=(squat(rest_seconds=240, note="Slowly"),)),)),)
    now = squat(tempo="3-1-x-0", rest_seconds=180, optional=True)
    after = (WeekPlan(sessions=(SessionPlan(name="Heavy squat", note="Belt", slots=(now,)),), lighter=True),)
    rest = "rest 240 seconds becomes 180 seconds"
    assert [one.told(BUILT_IN) for one in difference(before, after)] == [
        "Week 1: is a lighter week now.",
        "Week 1, Heavy squat: “Squat” is called “Heavy squat” now, has the note “Belt” now.",
        f"Week 1, Heavy squat, squat: tempo 3-1-x-0, {rest}, the note “Slowly” is gone, is optional now.",
    ]


def test_build_up_sets_and_attempts_are_told_from_what_to_what():
    def told(one, other):
        plans = [(WeekPlan(sessions=(SessionPlan(name="Day", slots=(slot,)),)),) for slot in (one, other)]
        (change,) = difference(*plans)
        return change.told(BUILT_IN).removeprefix("Week 1, Day, ")

    efforts = replace(bench(), scheme=TopSet(build_up=BuildUp(rpes=(5.5, 7))))
    percents = replace(bench(), scheme=TopSet(build_up=BuildUp(percents=(90, 95), reps=2)))
    plain = replace(bench(), scheme=TopSet())
    assert told(efforts, percents) == (
        "bench press: build-up sets at RPE 5.5 and 7 become build-up sets of 2 at 90 and 95 % of its load."
    )
    assert told(plain, efforts) == (
        "bench press: build-up sets as the settings say become build-up sets at RPE 5.5 and 7."
    )
    assert told(TEST, replace(TEST, scheme=MaxTest(attempts=3))) == (
        "squat: at most the usual number of attempts becomes at most 3 attempts."
    )
    grows = AddLoad(when="all_sets_complete", step=load(2.5, "kg"))
    slow = replace(squat(), scheme=SetsAtTarget(sets=4, add_load=grows))
    quick = replace(slow, scheme=SetsAtTarget(sets=4, add_load=replace(grows, step=load(5, "kg"))))
    of = "4 sets of 5 at 75 % of the tested max, {} kg more when all sets are complete"
    assert told(slow, quick) == f"squat: {of.format(2.5)} becomes {of.format(5)}."
    long = replace(squat(), note="Stay tight at the bottom, and wait there until somebody tells you to stand up again.")
    assert told(squat(), long) == (
        "squat: has the note “Stay tight at the bottom, and wait there until somebody tells you to stand up…” now."
    )
    assert told(long, replace(long, note="Down slowly")).endswith("to stand up…” is “Down slowly” now.")


def test_lifts_are_told_by_their_names():
    pull = extra("pull-up")
    before = (WeekPlan(sessions=(SessionPlan(name="Pull", slots=(squat(), pull)),)),)
    after = (WeekPlan(sessions=(SessionPlan(name="Pull", slots=(squat(), extra("farmers-carry"))),)),)
    (change,) = difference(before, after)
    asked = "3 sets of 8 to 12 with 2 repetitions left"
    assert change.told(BUILT_IN) == f"Week 1, Pull, pull-up, {asked}, becomes farmer's carry, {asked}."
    told = done(ops.ScaleSets(percent=50, which=ops.Which(lift="pull-up")), weeks=before).steps[0].text
    assert told == "Sets scaled to 50 % in the pull-up"


@pytest.mark.parametrize("size", range(1, 6))
def test_as_few_as_possible_are_told_as_moved(size):
    for pairs in permutations(range(size)):
        rising = max(
            length
            for length in range(1, size + 1)
            for kept in combinations(pairs, length)
            if list(kept) == sorted(kept)
        )
        moved = align.moved(pairs)
        assert len(moved) == size - rising
        assert [one for place, one in enumerate(pairs) if place not in moved] == sorted(
            one for place, one in enumerate(pairs) if place not in moved
        )


def test_weeks_that_come_again_more_than_once_are_told_apart_from_those_that_come_once():
    # Of five weeks one is lighter and the last stays: three are ordinary, the one in their middle first.
    said = [done(ops.Stretch(weeks=weeks)).steps[0].text for weeks in (8, 9, 11, 12)]
    assert [one.split(": ")[1].split(". ")[0] for one in said] == [
        "weeks 1, 2 and 4 again",
        "weeks 1 and 4 once more and week 2 twice more",
        "weeks 1, 2 and 4 twice more",
        "weeks 1 and 4 twice more and week 2 3 times more",
    ]
    assert not any("done twice" in one for one in said)


def test_points_are_told_as_they_were_sent():
    assert done(ops.ShiftPercent(percent_points=0.05)).steps[0].text.startswith("Percentages 0.05 points higher")
    assert done(ops.Stretch(weeks=1), weeks=BLOCK[:1]).steps[0].text == "It has 1 week already"
    assert done(ops.ShiftPercent(percent_points=-1)).steps[0].text.startswith("Percentages 1 point lower")
