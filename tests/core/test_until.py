"""Back-off sets until an effort. By hand: n repetitions to failure are possible with (1 + 0.116 (n - 1)) ^ -0.4 of the
max; a set costs 2 ^ (-(left - 2) / 1.5) units of 0.6 %; following sets stay at least half a point under the limit of
9.5."""

from __future__ import annotations

from math import exp
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.adjust.adjust import next_set
from service.core.answers import LiftDone, NextSet
from service.core.prescribe.prescribe import prescribe, resolve_session
from service.core.prescribe.until import about
from service.core.records import DoneSet
from service.core.slots import BackOff, LoadTarget, TopSet
from service.core.units import load
from tests.core.plans import context, effort, known, pinned, slot, unexplained, values

SQUAT = context(known("squat", 150))


def until(rpe: float = 8, less: float = 5, **more: Any) -> TopSet:
    return TopSet(back_off=BackOff(less_percent=less, until_rpe=rpe, **more))


FIVES = slot(effort(5, 8), until(8, fewest=2, most=6))


def done(role: Any, kg: float, reps: int = 5, **said: Any) -> DoneSet:
    return DoneSet(lift="squat", role=role, load=load(kg, "kg"), reps=reps, **said)


TOP = done("top_set", 122.5, rpe=8.5)


def back_offs(*reports: float | None, kg: float = 117.5) -> list[DoneSet]:
    return [done("back_off", kg, rpe=one) for one in reports]


def units(rpe: float) -> float:
    return 2 ** (-(8 - rpe) / 1.5)


def rpe_of(kg: float, reps: float, max_kg: float, fatigue: float) -> float:
    """The slow way: bisect the curve."""
    low, high = 0.3, 40.0
    for _ in range(80):
        n = (low + high) / 2
        if max_kg * exp(-0.006 * fatigue) * (1 + 0.116 * (n - 1)) ** -0.4 > kg:
            low = n
        else:
            high = n
    return 10 - (low - reps)


def test_all_sets_that_there_can_be_stand_in_the_plan_with_the_number_to_be_expected() -> None:
    """5 at 8 of 150: 121.43, 122.5 kg, RPE 8.3. 5 % less is 116.375, 117.5 kg."""
    resolved = prescribe(slot(effort(5, 8), until(7.5, fewest=2, most=6)), SQUAT)
    assert values(resolved.sets, "top_set") == [122.5]
    assert values(resolved.sets, "back_off") == [117.5] * 6
    fatigue, efforts = units(rpe_of(122.5, 5, 150, 0)), []
    for _ in range(6):
        efforts.append(rpe_of(117.5, 5, 150, fatigue))
        fatigue += units(efforts[-1])
    expected = next(at for at, one in enumerate(efforts, 1) if one >= 7.5)
    assert 2 < expected < 6
    own = [one for one in resolved.sets if one.role == "back_off"]
    assert [one.expected_rpe for one in own] == [pytest.approx(one, abs=0.051) for one in efforts]
    assert own[0].text.endswith(
        "Such sets go on until one is RPE 7.5 or harder, at least 2 and at most 6 sets; "
        f"by what is known about {expected} sets."
    )
    rule = own[0].why[-1]
    assert (rule.formula, rule.result.value) == ("stop_rule", expected)
    only = "Only while the set before stayed under RPE 7.5."
    assert [one.text.endswith(only) for one in own] == [False, False, True, True, True, True]
    assert not [left for one in own for step in one.why for left in unexplained(step)]


def test_a_plan_that_never_gets_so_hard_says_so() -> None:
    """3 at 7 of 150, 10 % less: 5 or easier, all the way."""
    resolved = prescribe(slot(effort(3, 7), until(8, less=10, most=3)), SQUAT)
    own = [one for one in resolved.sets if one.role == "back_off"]
    assert own[0].text.endswith("at most 3 sets; by what is known none of them will be so hard.")
    assert own[0].why[-1].result.value == 3


def test_the_effort_limit_lowers_such_sets_but_the_rule_does_not() -> None:
    """5 at 9 of 150: n = 6: 1.58^-0.4 = 0.83279, 124.9, 125 kg, RPE 9.0; 1 % less is 123.75, and must be lighter:
    122.5, RPE 8.3 fresh. With a rule at RPE 7 the loads are not lowered to stay under that."""
    resolved = prescribe(slot(effort(5, 9), until(7, less=1, most=5)), SQUAT)
    own = [one for one in resolved.sets if one.role == "back_off"]
    assert own[0].load.value == 122.5
    assert own[0].expected_rpe > 7
    assert all(one.expected_rpe <= 9 for one in own)
    assert own[-1].load.value < 122.5


def test_without_a_max_the_rule_is_told_without_a_number() -> None:
    (resolved,) = resolve_session([FIVES], context())
    own = [one for one in resolved.sets if one.role == "back_off"]
    assert [one.text for one in own][1:3] == [
        "5 with 5 % less than the top set.",
        "5 with 5 % less than the top set. Only while the set before stayed under RPE 8.",
    ]
    by_load = prescribe(slot(LoadTarget(reps=5, load=load(100, "kg")), until(8, most=3)), context())
    own = [one for one in by_load.sets if one.role == "back_off"]
    assert [one.load.value for one in own] == [95, 95, 95]
    assert "by what is known" not in own[0].text
    assert own[0].why[-1].result is None


def coming(*sets: DoneSet, on: Any = FIVES, ctx: Any = SQUAT) -> Any:
    found = next_set(on, ctx, sets)
    assert found == next_set(on, ctx, sets, plan=prescribe(on, ctx))
    return found


def test_a_set_that_reaches_the_effort_ends_the_lift() -> None:
    ends = coming(TOP, *back_offs(7, 8))
    assert isinstance(ends, LiftDone)
    assert ends.text == "That was RPE 8, and back-off sets end at RPE 8: this lift is done for today."
    assert ends.why[-1].formula == "stop_rule"
    assert not list(unexplained(ends.why[-1]))
    assert isinstance(coming(TOP, *back_offs(7, 7, 7, 9.5)), LiftDone)


def test_a_set_under_it_is_followed_by_another_with_the_same_load_to_the_most() -> None:
    onward = coming(TOP, *back_offs(7, 7.5))
    assert isinstance(onward, NextSet)
    assert (onward.role, onward.number, onward.of, onward.load.value) == ("back_off", 3, 6, 117.5)
    assert onward.text.endswith("It is the last one if it reaches RPE 8.")
    assert "Only while" not in onward.text
    assert isinstance(coming(TOP, *back_offs(7, 7, 7, 7, 7)), NextSet)
    last = coming(TOP, *back_offs(7, 7, 7, 7, 7, 7))
    assert isinstance(last, LiftDone)
    assert last.text == "That was the last set: this lift is done for today."


def test_the_fewest_are_done_however_hard_the_first_is() -> None:
    onward = coming(TOP, *back_offs(8.5))
    assert isinstance(onward, NextSet)
    assert (onward.role, onward.number) == ("back_off", 2)
    alone = slot(effort(5, 8), until(8, most=6))
    assert isinstance(coming(TOP, *back_offs(8.5), on=alone), LiftDone)


def test_without_a_report_the_expected_effort_counts() -> None:
    """The first back-off of 117.5 kg is about RPE 7.4 after the top set: under 8; with 122.5 kg it is over 8.3."""
    one = slot(effort(5, 8), until(8, most=6))
    assert isinstance(coming(done("top_set", 122.5, rpe=8), *back_offs(None), on=one), NextSet)
    ends = coming(done("top_set", 122.5, rpe=8), *back_offs(None, kg=122.5), on=one)
    assert isinstance(ends, LiftDone)
    assert ends.text.startswith("By what is known that was about RPE 8.")


def test_a_set_that_was_logged_after_the_end_does_not_open_the_lift_again() -> None:
    assert isinstance(coming(TOP, *back_offs(7, 8.5, 7)), LiftDone)


def test_what_would_follow_names_the_rule() -> None:
    onward = coming(TOP, *back_offs(7))
    by_report = {one.rpe_at_least: one for one in onward.next_if if one.made is None}
    assert by_report[8].load is None
    assert by_report[8].text == "Then this lift is done for today: back-off sets end at RPE 8."
    assert by_report[1].load.value == 117.5


def test_how_many_are_to_be_expected() -> None:
    rule = BackOff(less_percent=8, until_rpe=8, fewest=2, most=4)
    assert about([8.2, 8.4, 8.6, 8.8], rule) == 2  # never below the fewest
    assert about([7, 7.9, 8, 8.1], rule) == 3
    assert about([7, 7, 7, 7], rule) == 4  # never above the most
    assert about([7, None, 8, 8], rule) is None


reports = st.lists(st.sampled_from([None, 5, 6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10]), min_size=8, max_size=8)


@given(
    reports,
    st.integers(1, 4),
    st.integers(0, 4),
    st.sampled_from([6, 7, 7.5, 8, 9, 9.5]),
    st.sampled_from([0, 2, 5, 10]),
    st.sampled_from([pinned(), pinned(adjustment="published_step"), pinned(curve="model")]),
)
@settings(max_examples=80, deadline=None)
def test_there_are_never_more_than_the_most_and_never_fewer_than_the_fewest(
    said: list[float | None], fewest: int, more: int, rpe: float, less: float, how: Any
) -> None:
    most = fewest + more
    asked = slot(effort(5, 8), until(rpe, less=less, fewest=fewest, most=most))
    ctx = context(known("squat", 150), settings=how)
    sets = [TOP]
    for report in said:
        found = next_set(asked, ctx, sets)
        if not isinstance(found, NextSet):
            break
        assert found.role == "back_off"
        assert found.load is not None
        sets.append(DoneSet(lift="squat", role="back_off", load=found.load, reps=found.reps or 0, rpe=report))
    count = len(sets) - 1
    assert count <= most
    last = next_set(asked, ctx, sets)
    assert isinstance(last, LiftDone) or count < most
    if isinstance(last, LiftDone) and "back-off sets end" in last.text:
        assert fewest <= count
        assert sets[-1].rpe is None or sets[-1].rpe >= rpe
        assert all(one.rpe is None or one.rpe < rpe for one in sets[fewest + 1 : -1][: count - fewest])
