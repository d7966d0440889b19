"""An easier set is never followed by less than a harder one, where coarse plates would turn that round."""

from dataclasses import replace

import pytest

from service.core.adjust.no_less import REPORTS
from service.core.loading.kits import default_kit
from service.core.slots import BackOff, SetsAtTarget, TopSet
from tests.core.adjusting import after, done, ended, what
from tests.core.plans import context, effort, known, pinned, slot

PRESS = context(known("press", 55), settings=pinned(adjustment="published_step"))
SIXES = slot(effort(6, 9), TopSet(back_off=BackOff(sets=2, less_percent=8)), "press")


def build_up(rpe: float):
    return done("build_up", 42.5, 6, "press", rpe=rpe)


def test_a_build_up_slightly_easier_than_expected_takes_no_repetition_off_the_plan():
    # 6 at RPE 9 of 55: n = 7, 1.696^-0.4 = 0.80954; 44.52, nearest 45, which is RPE 9.4 as planned. 42.5 should be 7.2:
    # at 7 it is as expected, the plan stays. At 6.5 the fixed step gives 45 too, and to stay at RPE 9 would take a
    # repetition off: less than after the harder one.
    as_expected, easier = after(build_up(7), on=SIXES, ctx=PRESS), after(build_up(6.5), on=SIXES, ctx=PRESS)
    assert what(as_expected) == ("top_set", 45, 6)
    assert what(easier) == ("top_set", 45, 6)
    assert "half a point lighter than expected, and no less is asked than after a harder one" in easier.text
    assert [step.text for step in easier.why if step.formula == "no_less"] == [
        "A harder set would be followed by 6 with 45 kg, so no less follows this one."
    ]


def test_a_word_gets_no_less_than_a_harder_report_either():
    easier = after(done("build_up", 42.5, 6, "press", felt="lighter"), on=SIXES, ctx=PRESS)
    assert easier.reps is not None
    assert easier.load is not None
    assert (easier.load.value, easier.reps) >= (45, 6)


@pytest.mark.parametrize("rpe", [rpe for rpe in REPORTS if rpe >= 8])
def test_where_a_set_was_too_hard_for_one_more_a_harder_one_ends_the_lift_too(rpe: float):
    # steps of 5 kg, singles: at RPE 8 instead of 7 neither load nor repetitions can follow (`test_adjust`), so that
    # the last set is left out; a still harder one is not followed by a set
    plates = tuple(one for one in default_kit("kg").plates if one.load.value != 1.25)
    ctx = context(known("press", 34), kit=replace(default_kit("kg"), plates=plates))
    singles = slot(effort(1, 7), SetsAtTarget(sets=2), "press")
    found = ended(done("target_set", 30, 1, "press", rpe=rpe), on=singles, ctx=ctx)
    assert "leave the rest of this lift out" in found.text
