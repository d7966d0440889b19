"""Drop sets and sets with rests in them steer nothing; sets at a slow tempo make the next ones lighter, not heavier."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.adjust.adjust import next_set
from service.core.answers import LiftDone, NextSet
from service.core.prescribe.prescribe import prescribe
from service.core.records import DoneSet
from service.core.slots import AddLoad, BackOff, LoadTarget, SetsAtTarget, TopSet
from service.core.units import load
from tests.core.adjusting import FIVES, SQUAT, TOP, after, done, ended, what
from tests.core.plans import context, effort, known, slot

UNTIL = slot(effort(5, 8), TopSet(back_off=BackOff(less_percent=10, until_rpe=8, fewest=1, most=5)))
EASY_FIRST = done("target_set", 120, 5, rpe=8)


def drop(value: float, reps: int, role: Any = "target_set", **more: Any) -> DoneSet:
    return done(role, value, reps, method="drop_set", **{"rpe": 10, **more})


def told(found: NextSet | LiftDone) -> tuple[Any, ...]:
    """What a lifter is to do, without how it is said."""
    return (*what(found), found.number, found.of) if isinstance(found, NextSet) else ("done",)


@given(
    st.sampled_from([TOP, FIVES, UNTIL]),
    st.lists(
        st.tuples(st.sampled_from([110.0, 120, 127.5]), st.integers(1, 8), st.sampled_from([6.5, 8, 9.5])), min_size=1
    ),
    st.tuples(st.sampled_from([60.0, 90, 110]), st.integers(1, 30), st.sampled_from([7, 10]), st.booleans()),
)
def test_after_a_drop_set_comes_what_came_without_it(
    plan: Any, sets: list[tuple[float, int, float]], last: tuple[float, int, float, bool]
) -> None:
    role = "top_set" if isinstance(plan.scheme, TopSet) else "target_set"
    before = [
        done(role if at == 0 or role == "target_set" else "back_off", kg, reps, rpe=rpe)
        for at, (kg, reps, rpe) in enumerate(sets)
    ]
    kg, reps, rpe, made = last
    dropped = drop(kg, reps, before[-1].role, rpe=rpe, made=made)
    if not made:
        dropped = drop(kg, reps, dropped.role, rpe=None, made=False, ended_by="strength")
    assert told(next_set(plan, SQUAT, [*before, dropped])) == told(next_set(plan, SQUAT, before))


def test_a_drop_set_is_said_to_say_nothing_and_what_is_held_against_it_is_the_set_before() -> None:
    found = after(EASY_FIRST, drop(80, 12), on=FIVES)
    assert (found.number, what(found)) == (2, what(after(EASY_FIRST, on=FIVES)))
    assert found.text.startswith("The last set says nothing about the next one: a drop set follows a set to which")
    assert "the last set was on target" not in found.text


def test_a_drop_set_does_not_end_back_off_sets_and_pain_in_it_counts_all_the_same() -> None:
    top, off = done("top_set", 120, 5, rpe=8), done("back_off", 107.5, 5, rpe=6.5)
    assert what(after(top, off, drop(80, 12, "back_off"), on=UNTIL))[0] == "back_off"
    assert ended(top, off, drop(80, 12, "back_off", pain="stop"), on=UNTIL).cautions[0].code == "pain_stop"


def test_a_set_with_rests_in_it_takes_its_place_and_is_no_measure() -> None:
    rests = done("target_set", 120, 11, rpe=10, method="rest_pause")
    found = after(rests, on=FIVES)
    planned = [one for one in prescribe(FIVES, SQUAT).sets if one.role == "target_set"]
    assert (found.number, what(found)) == (2, ("target_set", planned[1].load and planned[1].load.value, 5))


GROWING = slot(
    LoadTarget(reps=5, load=load(40, "kg")),
    SetsAtTarget(sets=2, add_load=AddLoad(when="all_sets_complete", step=load(2.5, "kg"))),
)


def test_what_comes_next_time_goes_by_the_sets_and_not_by_the_drop_set_after_them() -> None:
    sets = [done("target_set", 40, 5), drop(25, 12), done("target_set", 40, 5)]
    assert isinstance(next_set(GROWING, SQUAT, sets[:2]), NextSet), "one of two sets is done"
    assert "Next time 42.5 kg" in ended(*sets, on=GROWING).text


SLOW = slot(effort(6, 8), SetsAtTarget(sets=3), "press", tempo="6-0-4-0")
PRESS = context(known("press", 60))


def test_a_slow_tempo_on_a_lift_without_its_own_ratio_is_warned_of() -> None:
    planned = [one for one in prescribe(SLOW, PRESS).sets if one.role == "target_set"]
    assert {one.code for one in planned[0].cautions} == {"slow_tempo"}
    assert [one.code for one in after(slow(45, 8), on=SLOW, ctx=PRESS).cautions] == ["slow_tempo"]
    usual = replace(SLOW, tempo="2-0-x-0")
    assert not any(one.cautions for one in prescribe(usual, PRESS).sets)


def slow(value: float, rpe: float | None, reps: int = 6) -> DoneSet:
    return done("target_set", value, reps, "press", rpe=rpe, method="slow_tempo")


@pytest.mark.parametrize(
    ("rpe", "expected"),
    [
        (6, 45),  # it is no reason to add: the usual curve does not hold for it
        (8, 45),
        (8.5, 45),  # half a point over what is asked is on target
        (9.5, 42.5),  # 8.5 at most: 2 half points of 2 % off 45 kg, 43.2 kg at most; of 2.5 kg steps 42.5
        (10, 40),  # 3 half points of 2 %: 42.3 kg at most
    ],
)
def test_sets_at_a_slow_tempo_become_lighter_after_one_that_was_too_hard(rpe: float, expected: float) -> None:
    found = after(slow(45, rpe), on=SLOW, ctx=PRESS)
    assert what(found) == ("target_set", expected, 6)
