"""Misses, other kinds of load, the coach's decisions, and the way through a slot; by hand, as in test_adjust.

share(n) = (1 + 0.116 (n - 1)) ** -0.4. Shares used: n = 2: 0.957049, 3: 0.919932, 4: 0.887409, 5: 0.858586,
5.5: 0.845345, 6: 0.832793, 7: 0.809524, 10: 0.751290. Fatigue of a work set: 2 ** (-(left - 2) / 1.5) units, each 0.6 %
(exp(-0.006 units)): left 2: 0.994018, left 1: 0.990521, none left: 0.984995, five left: 0.998501.
"""

from dataclasses import replace
from typing import Any

import pytest

from service.core.adjust.adjust import next_set
from service.core.errors import NotComputable
from service.core.records import Override
from service.core.slots import (
    FreeTarget,
    LoadTarget,
    SetsAtTarget,
    TimeTarget,
    TopSet,
)
from service.core.units import load
from tests.core.adjusting import FIVES, PRESSES, SQUAT, after, done, ended, missed, what
from tests.core.plans import CABLE, TODAY, context, effort, known, percent, slot

# misses, and what ends a set


def test_a_missed_repetition_lowers_the_next_set():
    # 4 and a miss: n = 4.3, share 0.878408: 136.611; 136.611 * 0.984995 * 0.809524 = 108.93, nearest 110
    assert what(after(missed("target_set", 120, 4), on=FIVES)) == ("target_set", 110, 5)


def test_a_miss_never_raises_today_s_max():
    # 3 of 150 and a miss would imply 150 / 0.9133 = 164; 150 stays: 150 * 0.984995 * 0.809524 = 119.61, nearest 120
    assert what(after(missed("target_set", 150, 3), on=FIVES)) == ("target_set", 120, 5)


def test_after_a_miss_the_next_is_at_least_5_percent_lighter():
    # a technique lift has no curve: 5 % less than 80 is 76, down to 75
    on = slot(percent(80, reps=2), SetsAtTarget(sets=3), "snatch")
    found = after(missed("target_set", 80, 1, "snatch"), on=on, ctx=context(known("snatch", 100)))
    assert what(found) == ("target_set", 75, 2)


def test_a_second_miss_ends_the_lift():
    found = ended(missed("target_set", 120, 4), missed("target_set", 110, 4), on=FIVES)
    assert found.text == "Two sets were missed: end this lift for today."


def test_a_missed_top_single_alone_ends_the_lift():
    found = ended(missed("top_set", 140, 0), on=slot(effort(1, 8), TopSet()))
    assert "it was missed" in found.text


def test_a_miss_on_the_empty_bar_ends_the_lift_as_nothing_is_lighter():
    ctx = context(known("press", 24))
    assert "nothing light enough" in ended(missed("target_set", 20, 3, "press"), on=PRESSES, ctx=ctx).text


@pytest.mark.parametrize("reason", ["technique", "command", "grip", "other"])
def test_what_is_not_strength_teaches_nothing_and_is_said(reason):
    found = after(done("target_set", 120, 3, made=False, ended_by=reason, rpe=10), on=FIVES)
    assert what(found) == ("target_set", 120, 5)
    assert "The last set" in found.text
    assert all(step.formula != "max_today" for step in found.why)


def test_a_pound_lifter_gets_pounds():
    # 330.693 lb; top 280 at RPE 9: 8 % less than 280 is 257.6, nearest 260 (2.4 off; 255 is 2.6 off)
    ctx = context(known("squat", 150), unit="lb")
    found = after(done("top_set", 280, 3, unit="lb", rpe=9), ctx=ctx)
    assert found.load == load(260, "lb")


# other kinds of load


def test_dips_count_the_body_weight():
    # 95 kg for 6 at 9.5 (n = 6.5: 0.820873): 115.730; for n = 8 (0.788382) after 2 units: 115.730 * 0.788382 * 0.988072
    # = 90.15: body weight 80 and 10.15, nearest 10 (a belt takes 1.25)
    on = slot(effort(6, 8), SetsAtTarget(sets=3), "dip")
    found = after(done("target_set", 15, 6, "dip", rpe=9.5), on=on, ctx=context(known("dip", 120)))
    assert what(found) == ("target_set", 10, 6)


def test_without_a_body_weight_repetitions_change_or_the_next_plate():
    on = slot(effort(6, 8), SetsAtTarget(sets=3), "dip")
    ctx = context(known("dip", 120), body_weight_kg=None)
    assert what(after(done("target_set", 15, 6, "dip", rpe=9), on=on, ctx=ctx)) == ("target_set", 15, 5)
    assert what(after(done("target_set", 15, 6, "dip", rpe=10), on=on, ctx=ctx)) == ("target_set", 13.75, 6)


@pytest.mark.parametrize(
    ("rpe", "step", "reps"), [(8, 6, 10), (7.5, 6, 10), (7, 6, 11), (6, 7, 10), (9, 6, 9), (10, 5, 10)]
)
def test_plain_steps_of_a_machine_change_by_repetitions_or_one_step(rpe, step, reps):
    on = slot(effort(10, 8), SetsAtTarget(sets=3), "cable")
    found = after(done("target_set", 6, 10, "cable", "step", rpe=rpe), on=on, ctx=context())
    assert what(found) == ("target_set", step, reps)
    assert found.loading is not None
    assert found.loading.load == load(step, "step")


def test_at_the_last_step_of_a_machine_repetitions_are_left():
    on = slot(effort(10, 8), SetsAtTarget(sets=3), "cable")
    last = CABLE.steps[-1].value
    found = after(done("target_set", last, 10, "cable", "step", rpe=6), on=on, ctx=context())
    assert what(found) == ("target_set", last, 12)


def test_timed_and_free_sets_go_on_as_planned():
    planks = slot(TimeTarget(seconds=40), SetsAtTarget(sets=2), "plank")
    found = after(done("target_set", None, 1, "plank"), on=planks)
    assert (found.seconds, found.load, found.number) == (40, None, 2)
    free = slot(FreeTarget(reps=12), SetsAtTarget(sets=2))
    assert after(done("target_set", 60, 12, rpe=6), on=free).load is None


def test_without_a_max_the_first_set_tells_it():
    # 100 for 5 at RPE 6.5 (n = 8.5: 0.778510): 128.45; 128.45 * 0.809524 * 0.997004 = 103.67, nearest 102.5
    ctx = context()
    assert after(on=FIVES, ctx=ctx).load is None
    assert what(after(done("target_set", 100, 5, rpe=6.5), on=FIVES, ctx=ctx)) == ("target_set", 102.5, 5)


def test_a_technique_lift_by_effort_is_refused():
    with pytest.raises(NotComputable, match="technique"):
        next_set(slot(effort(2, 8), lift="snatch"), context(known("snatch", 100)), [])


# the coach's decisions


def override(kind: Any, value: float) -> Override:
    return Override(
        id="1", kind=kind, lift="squat", reason="sore knee", set_by="Ana", until=TODAY, load=load(value, "kg")
    )


def test_a_cap_holds_however_light_the_sets_were():
    ctx = replace(SQUAT, overrides=(override("cap", 122.5),))
    found = after(done("target_set", 120, 5, rpe=5.5), on=FIVES, ctx=ctx)
    # without it: n = 9.5, share 0.760000..: 120 / 0.7600 = 157.9, * 0.809524 * 0.9981 = 127.6, nearest 127.5
    assert what(found) == ("target_set", 122.5, 5)
    assert [one.kind for one in found.overrides] == ["cap"]
    assert found.without_override == load(127.5, "kg")


def test_a_fixed_load_stays_and_the_answer_says_when_it_looks_too_hard():
    ctx = replace(SQUAT, overrides=(override("load", 125),))
    # RPE 8 with 117.5: n = 5: 136.85; 125 of it is n = 3.2: RPE 9.8
    found = after(done("build_up", 117.5, 3, rpe=8), ctx=ctx)
    assert what(found) == ("top_set", 125, 3)
    assert "ask your coach" in found.text
    assert [one.kind for one in found.overrides] == ["load"]


def test_a_lift_left_out_is_done():
    out = replace(override("leave_out", 0), load=None)
    assert "Left out" in ended(ctx=replace(SQUAT, overrides=(out,))).text


# going through


def test_all_sets_done_end_the_lift():
    sets = [done("top_set", 127.5, 3, rpe=7.5), done("back_off", 117.5, 3, rpe=6), done("back_off", 117.5, 3, rpe=6)]
    assert ended(*sets).text == "That was the last set: this lift is done for today."


def test_an_unknown_role_takes_the_next_work_set_and_an_extra_one_takes_none():
    assert what(after(done("free", 127.5, 3, rpe=7.5))) == ("back_off", 117.5, 3)
    twice = [done("top_set", 127.5, 3, rpe=7.5), done("top_set", 122.5, 3, rpe=7.5)]
    assert (after(*twice).role, after(*twice).number) == ("back_off", 1)


def test_a_set_of_another_lift_takes_its_place_and_teaches_nothing():
    found = after(done("target_set", 60, 5, "press", rpe=10), on=FIVES)
    assert (found.number, found.load) == (2, load(120, "kg"))


def test_a_fixed_plan_load_is_lowered_by_the_limit_only():
    on = slot(LoadTarget(reps=5, load=load(120, "kg")), SetsAtTarget(sets=3))
    assert what(after(done("target_set", 120, 5, rpe=6), on=on)) == ("target_set", 120, 5)
    assert what(after(done("target_set", 120, 5, rpe=9.5), on=on)) == ("target_set", 115, 5)
