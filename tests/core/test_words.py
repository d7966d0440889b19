"""Sentences: what a slot asks for, as a coach would say it."""

import re
from datetime import date

import pytest

from service.core import words
from service.core.records import Lift
from service.core.slots import (
    AddLoad,
    AscendingSets,
    BackOff,
    ComplexPart,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    LoadTarget,
    OpenLastSet,
    PercentTarget,
    SameLoad,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
)
from service.core.units import load

TRIPLE = EffortTarget(reps=3, rpe=7.5)
DAY = PercentTarget(reps=3, percent=60, percent_to=65, basis="day", of="front-squat", valid_days=1)


@pytest.mark.parametrize(
    ("scheme", "target", "text"),
    [
        (
            TopSet(back_off=BackOff(sets=2, less_percent=8)),
            TRIPLE,
            "Top set of 3 at RPE 7.5, then 2 sets 8 % lighter",
        ),
        (TopSet(same_load=SameLoad(sets=1)), TRIPLE, "Top set of 3 at RPE 7.5, then 1 set with the same load"),
        (TopSet(), FreeTarget(), "Top set, as you choose"),
        (SetsAtTarget(sets=4), EffortTarget(reps=6, reps_to=8, rpe=8), "4 sets of 6 to 8 at RPE 8"),
        (SetsAtTarget(sets=1), EffortTarget(reps=5, rir=1), "1 set of 5 with 1 repetition left"),
        (SetsAtTarget(sets=2), EffortTarget(reps=5, rir=0), "2 sets of 5 with nothing left"),
        (SetsAtTarget(sets=3), DAY, "3 sets of 3 at 60 to 65 % of the max of the day in the front squat"),
        (
            OpenLastSet(sets_before=3, most_reps=10, stop_rpe=9),
            PercentTarget(reps=6, percent=72.5, basis="tested"),
            (
                "3 sets of 6 at 72.5 % of the tested max, then as many good repetitions as possible, 10 at most, "
                "stopping at RPE 9"
            ),
        ),
        (
            OpenLastSet(sets_before=0),
            LoadTarget(reps=6, load=load(100, "kg")),
            "One set with 100 kg: as many good repetitions as possible",
        ),
        (
            AscendingSets(percents=(80, 90, 100)),
            LoadTarget(reps=2, load=load(405, "lb")),
            "3 sets of 2 with 405 lb, rising: 80, 90 and 100 % of that load",
        ),
        (SetsAtTarget(sets=3), TimeTarget(seconds=40), "3 sets of 40 seconds"),
        (SetsAtTarget(sets=2), DistanceTarget(metres=20, load=load(32, "kg")), "2 sets of 20 metres with 32 kg"),
        (SetsAtTarget(sets=3), FreeTarget(reps=8, reps_to=12), "3 sets of 8 to 12, load as you choose"),
    ],
)
def test_a_slot_is_told_as_a_coach_would_say_it(scheme, target, text):
    assert words.slot_text(Slot(lift="squat", scheme=scheme, target=target)) == text


@pytest.mark.parametrize(
    ("failures", "until_sure", "end"),
    [
        (None, False, ""),
        (2, False, ", 7.5 % less after 2 sessions in a row that were not complete"),
        (1, False, ", 7.5 % less after 1 session that was not complete"),
        (2, True, ", 7.5 % less after 2 sessions in a row that were not complete, until the lift is known well enough"),
    ],
)
def test_the_rule_by_which_a_load_grows_is_told_whole(failures, until_sure, end):
    less = None if failures is None else 7.5
    add = AddLoad(
        when="all_sets_complete",
        step=load(2.5, "kg"),
        after_failures=failures,
        less_percent=less,
        until_sure=until_sure,
    )
    slot = Slot(lift="squat", scheme=SetsAtTarget(sets=3, add_load=add), target=LoadTarget(reps=5, load=load(60, "kg")))
    start = "3 sets of 5 with 60 kg, 2.5 kg more when all sets are complete"
    assert words.slot_text(slot) == start + end


def test_lifts_are_told_by_the_names_that_the_gym_gave_them():
    slow = Lift(id="slow-bench", name="Slow bench press", load_kind="total")
    target = PercentTarget(reps=1, percent=70, basis="tested", of="slow-bench")
    parts = (ComplexPart(lift="slow-bench", reps=1), ComplexPart(lift="press", reps=2))
    slot = Slot(lift="press", scheme=SetsAtTarget(sets=3), target=target, complex=parts)
    told = "3 sets of 1 at 70 % of the tested max in the {0}, each repetition 1 {0} and 2 presses in a row"
    assert words.slot_text(slot, {slow.id: slow}) == told.format("slow bench press")
    assert words.slot_text(slot) == told.format("slow bench")


@pytest.mark.parametrize(
    ("shown", "kind", "text"),
    [
        (load(127.5, "kg"), "total", "127.5 kg"),
        (load(50, "lb"), "per_hand", "50 lb in each hand"),
        (load(20, "kg"), "bodyweight", "body weight and 20 kg"),
        (load(0, "kg"), "bodyweight", "body weight"),
        (load(-35, "lb"), "bodyweight", "body weight and 35 lb of assistance"),
        (load(7, "step"), "stack", "step 7"),
    ],
)
def test_a_load_is_told_as_the_lifter_takes_it(shown, kind, text):
    assert words.load(shown, kind) == text


def test_dates_are_written_out():
    assert words.day(date(2026, 3, 1)) == "1 March 2026"


@pytest.mark.parametrize("tenths", range(40, 125))
def test_every_expected_effort_has_a_sentence_without_a_code(tenths):
    text = words.should_leave(tenths / 10)
    assert re.fullmatch(r"(should leave [a-z ,]+|is likely to be missed)", text)


def test_a_load_in_another_unit_is_told_in_the_lifters_unit_too():
    # 85 / 0.45359237 = 187.393; 1.25 / 0.45359237 = 2.756
    assert words.both(load(85, "kg"), "lb") == "85 kg (187.4 lb)"
    assert words.both(load(225, "lb"), "lb") == "225 lb"
    assert words.both(load(7, "step"), "lb") == "step 7"
    assert words.load(load(85, "kg"), "total", "lb") == "85 kg (187.4 lb)"
    assert words.load(load(1.25, "kg"), "bodyweight", "lb") == "body weight and 1.25 kg (2.8 lb)"
    assert words.load(load(-10, "kg"), "bodyweight", "lb") == "body weight and 10 kg (22 lb) of assistance"
    assert words.load(load(20, "lb"), "per_hand", "kg") == "20 lb (9.1 kg) in each hand"


def test_quarter_kilograms_are_told_whole_and_everything_else_to_a_tenth():
    # 135 less 5 % is 128.25: 128.2 would be a load that no plates make
    assert words.mass(128.25, "kg") == "128.25 kg"
    assert words.mass(128.3, "kg") == "128.3 kg"
    assert words.mass(126.802, "kg") == "126.8 kg"
    assert words.mass(127.5, "kg") == "127.5 kg"
