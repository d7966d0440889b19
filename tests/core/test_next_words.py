"""Sentences about the next set: they say what the numbers say."""

import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given, settings

from service.core.adjust.adjust import next_set
from service.core.adjust.next_words import last_text, points
from service.core.answers import NextSet
from service.core.records import DoneSet
from service.core.slots import BackOff, FreeTarget, SetsAtTarget, TimeTarget, TopSet
from service.core.units import load, say
from tests.core.plans import context, effort, known, pinned, slot
from tests.core.test_adjust_properties import Case, cases

SQUAT = context(known("squat", 150))
TOP = slot(effort(3, 7.5), TopSet(back_off=BackOff(sets=2, less_percent=8)))
FIVES = slot(effort(5, 8), SetsAtTarget(sets=4))


def text(*sets: DoneSet, on: Any = FIVES, ctx: Any = SQUAT) -> str:
    return next_set(on, ctx, sets).text


def done(value: float, reps: int, role: Any = "target_set", **said: Any) -> DoneSet:
    return DoneSet(lift="squat", role=role, load=load(value, "kg"), reps=reps, **said)


@given(cases())
@settings(max_examples=60, deadline=None)
def test_a_sentence_names_its_load_and_repetitions(case: Case) -> None:
    assert isinstance(case.coming, NextSet)
    assume(case.coming.load is not None and case.coming.role != "open_set")
    assert case.coming.load is not None
    shown = case.coming.load
    bodily = case.slot.lift == "dip"
    assert (say(shown) if not bodily else f"{abs(shown.value):g}" if shown.value else "body weight") in case.coming.text
    assert case.coming.text.startswith(f"{case.coming.reps} ")


@pytest.mark.parametrize("rpe", [5, 6, 6.5, 7, 9, 9.5, 10])
@pytest.mark.parametrize("unit", ["kg", "lb"])
def test_less_and_more_than_the_last_set_are_true(rpe, unit):
    last = load(120 if unit == "kg" else 265, unit)
    ctx = context(known("squat", 150), unit=unit)
    found = next_set(FIVES, ctx, [DoneSet(lift="squat", role="target_set", load=last, reps=5, rpe=rpe)])
    assert isinstance(found, NextSet)
    assert found.load is not None
    said = re.search(r", ([\d.]+) (kg|lb) (less|more) than in the last set", found.text)
    assert said is not None, found.text
    apart = float(found.load.value) - float(last.value)
    assert (abs(apart), unit, apart < 0) == (float(said[1]), said[2], said[3] == "less")


def test_points_are_told_in_halves():
    assert [points(off) for off in (0.2, 0.5, 0.8, 1.4, 2.0, 2.6, 3.1)] == [
        "half a point", "half a point", "a point", "one and a half points", "two points", "2.5 points", "three points",
    ]  # fmt: skip


def test_how_the_top_set_went_is_told_with_its_first_back_off():
    assert text(done(127.5, 3, "top_set", rpe=8.5), on=TOP) == (
        "3 with 117.5 kg, about 8 % lighter than the top set: the top set was a point harder than asked. "
        "This should leave about four repetitions."
    )


def test_a_correction_too_small_for_the_plates_is_told_so():
    assert "but that is too little to change the load" in text(done(122.5, 3, "build_up", felt="lighter"), on=TOP)


def test_fewer_repetitions_than_asked_are_called_that():
    assert "had fewer repetitions than asked" in text(done(120, 3, rpe=8))


def test_the_rule_that_was_used_is_named():
    steps = replace(SQUAT, settings=pinned(adjustment="published_step"))
    assert "(the fixed step of 2 % for each half point)" in text(done(120, 5, rpe=9.5), ctx=steps)
    assert "fixed step" not in text(done(120, 5, rpe=9.5))


def test_no_sentence_uses_an_abbreviation_or_a_code():
    situations = [
        (done(120, 5, rpe=9.5),),
        (done(120, 5, rpe=6),),
        (done(120, 4, made=False, ended_by="strength"),),
        (done(120, 4, made=False, ended_by="grip"),),
        (done(120, 5),),
    ]
    for sets in situations:
        told = next_set(FIVES, SQUAT, sets)
        assert isinstance(told, NextSet)
        sentences = [told.text, *(step.text for step in told.why), *(one.text for one in told.next_if)]
        for sentence in sentences:
            assert sentence.endswith(".")
            assert not re.search(r"\b(?!RPE\b)[A-Z]{2,}\b|_|@", sentence)


def test_a_word_about_the_effort_is_told_as_that_word_in_the_reason():
    # 5 with 122.5 of 150: (0.81667)^-2.5 = 1.6592, n = 6.68, RPE 8.3, to the half 8.5
    expected = next_set(FIVES, SQUAT, [done(122.5, 5, felt="as_expected")])
    assert expected.why[0].text == "5 with 122.5 kg, said to be as expected (RPE 8.5): today's max stays 150 kg."
    heavier = next_set(FIVES, SQUAT, [done(122.5, 5, felt="heavier")])
    assert heavier.why[0].text.startswith("5 with 122.5 kg, said to be heavier than expected (RPE 9.5), expected 8.3: ")
    rated = next_set(FIVES, SQUAT, [done(122.5, 5, rpe=9.5)])
    assert rated.why[0].text.startswith("5 with 122.5 kg at RPE 9.5, expected 8.3: ")


def test_after_a_miss_the_most_is_told_to_the_quarter():
    # 135 less 5 % is 128.25; one good one of 3: n = 1.3 of 135 is the least that today's max may fall to, 135 kg
    found = next_set(slot(effort(3, 9), SetsAtTarget(sets=3)), SQUAT, [done(135, 1, made=False, ended_by="strength")])
    told = [step.text for step in found.why]
    assert not [one for one in told if "128.2 kg" in one]
    assert not [one for one in told if "The load that can be loaded" in one]


def test_where_the_lifter_chooses_the_last_load_is_told():
    free = slot(FreeTarget(reps=10), SetsAtTarget(sets=3))
    assert text(on=free) == "10 with a load of your choice."
    assert text(done(60, 10, rpe=7), on=free) == "10 with a load of your choice. The last set was with 60 kg."
    holds = slot(TimeTarget(seconds=40), SetsAtTarget(sets=2), "plank")
    hold = DoneSet(lift="plank", role="target_set", load=None, reps=0)
    assert text(hold, on=holds) == "40 seconds."


def test_the_end_of_the_last_lift_is_said_once():
    end = next_set(slot(effort(5, 8), SetsAtTarget(sets=1)), SQUAT, [done(120, 5, rpe=8)])
    assert last_text(end.text) == "That was the last set: nothing is left to do in this session."
    stop = "Stop this lift for today. Do not try to train through pain."
    assert last_text(stop) == f"{stop} Nothing is left to do in this session."
