"""What is offered after pain: rule 16 of the trade, common practice, no source. Never a diagnosis."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from service.core.adjust.adjust import next_set
from service.core.answers import Choice, LiftDone, NextSet
from service.core.records import DoneSet, Override
from service.core.slots import SetsAtTarget, TimeTarget
from service.core.units import load
from tests.core.plans import context, effort, known, slot

FIVES = slot(effort(5, 8), SetsAtTarget(sets=4))
SQUAT = context(known("squat", 150))


def done(value: float, reps: int = 5, **said: Any) -> DoneSet:
    return DoneSet(lift="squat", role="target_set", load=load(value, "kg"), reps=reps, **said)


def choice(*sets: DoneSet, ctx: Any = SQUAT) -> Choice:
    found = next_set(FIVES, ctx, sets, slot_id="the slot")
    assert isinstance(found, Choice)
    return found


def test_some_pain_offers_less_load_a_shorter_range_or_the_end_of_the_lift():
    found = choice(done(120, rpe=8, pain="some"))
    lighter, shorter, end = found.options
    # a tenth less than 120 is 108, down to 107.5
    assert lighter.set is not None
    assert lighter.set.load == load(107.5, "kg")
    assert shorter.set == lighter.set
    assert "shorten the range" in shorter.text
    assert lighter.set.text == "5 with 107.5 kg."  # the option has said the rest
    assert (end.ends, end.set) == ("lift", None)
    assert found.slot == "the slot"


def test_a_set_that_pain_ended_is_pain_too():
    assert choice(done(120, 3, ended_by="pain")).options[0].set is not None


def test_the_coach_s_substitute_is_offered_where_one_was_named():
    swap = Override(
        id="1",
        kind="exchange",
        lift="squat",
        reason="knee",
        set_by="Ana",
        until=date(2026, 5, 1),
        to_lift="leg-press",
    )
    found = choice(done(120, rpe=8, pain="some"), ctx=replace(SQUAT, overrides=(swap,)))
    assert [one.to_lift for one in found.options] == [None, "leg-press", None]
    assert "leg press" in found.options[1].text


def test_cautions_name_the_warning_signs_and_a_licensed_practitioner():
    found = choice(done(120, rpe=8, pain="some"))
    texts = " ".join(one.text for one in found.cautions)
    assert "licensed practitioner" in texts
    assert "coach on the floor" in texts
    assert "End the whole session" in texts


def test_after_the_choice_sets_stay_light_and_say_so():
    found = next_set(FIVES, SQUAT, [done(120, rpe=8, pain="some"), done(107.5, rpe=6)])
    assert isinstance(found, NextSet)
    assert found.load == load(107.5, "kg")
    assert "kept light after the pain that was reported" in found.text
    assert "pain_reported" in [one.code for one in found.cautions]


def test_a_heavier_set_without_pain_since_is_the_new_bound():
    found = next_set(FIVES, SQUAT, [done(120, rpe=8, pain="some"), done(112.5, rpe=6)])
    assert isinstance(found, NextSet)
    assert found.load == load(112.5, "kg")


def test_pain_in_the_last_set_ends_the_lift_with_the_cautions():
    found = next_set(FIVES, SQUAT, [done(120, rpe=8), done(120, rpe=8), done(120, rpe=8), done(120, pain="some")])
    assert isinstance(found, LiftDone)
    assert {one.code for one in found.cautions} == {"pain_reported", "warning_signs"}


def test_pain_that_stops_a_set_ends_the_lift():
    found = next_set(FIVES, SQUAT, [done(120, 2, pain="stop")])
    assert isinstance(found, LiftDone)
    assert found.text == "Stop this lift for today. Do not try to train through pain."


@pytest.mark.parametrize("kind", ["test", "meet"])
def test_pain_counts_in_tests_and_meets_too(kind):
    found = choice(done(120, pain="some"), ctx=replace(SQUAT, session_kind=kind))
    assert found.options[0].set is not None
    assert found.options[0].set.load == load(107.5, "kg")


def test_a_coach_s_fixed_load_does_not_outrank_pain():
    fixed = Override(
        id="1", kind="load", lift="squat", reason="", set_by="Ana", until=date(2026, 12, 1), load=load(120, "kg")
    )
    found = choice(done(120, pain="some"), ctx=replace(SQUAT, overrides=(fixed,)))
    assert found.options[0].set is not None
    assert found.options[0].set.load == load(107.5, "kg")


def test_without_a_lighter_load_only_ends_are_offered():
    press = slot(effort(5, 8), SetsAtTarget(sets=3), "press")
    bar = DoneSet(lift="press", role="target_set", load=load(20, "kg"), reps=5, pain="some")
    found = next_set(press, context(known("press", 24)), [bar])
    assert isinstance(found, Choice)
    assert [one.ends for one in found.options] == ["lift", "session"]


def test_pain_in_a_hold_without_load_offers_less_too():
    planks = slot(TimeTarget(seconds=40), SetsAtTarget(sets=3), "plank")
    found = next_set(planks, SQUAT, [DoneSet(lift="plank", role="target_set", load=None, reps=1, pain="some")])
    assert isinstance(found, Choice)
    assert found.options[-1].ends == "lift"
