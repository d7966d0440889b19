"""A load that grows by rule waits where the log knows that the grown one would be too hard.

Numbers by hand stand on the default curve: `kg` of a max go up n = 1 + ((max / kg)^2.5 - 1) / 0.116 times, and five are
RPE 15 - n. The effort limit is 9.5, and what passes it by half a point passes it clearly.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.adjust.adjust import next_set
from service.core.answers import LiftDone, NextSet, Step
from service.core.context import Context, Telling
from service.core.prescribe.add_load import DoneThen, summed
from service.core.prescribe.prescribe import prescribe
from service.core.records import DoneSet, Override, Settings
from service.core.returning import Eased
from service.core.slots import AddLoad, SetsAtTarget, Slot
from service.core.units import load
from tests.core.plans import TODAY, context, effort, known, pinned, slot, unexplained, values
from tests.core.test_add_load import BACK, COARSE, STEP, TWICE, eights, fives, past

LAST = TODAY - timedelta(days=3)
"""When `past` ends."""


def told(sets: int = 6, days: int = 3, last: date | None = LAST, lift: str = "squat") -> tuple[Telling, ...]:
    return (Telling(lift=lift, support="unsupported", sets=sets, days=days, last=last),)


def by_log(kg: float, *, days: int = 3, lift: str = "squat", **more: Any) -> Context:
    """A max that the log has told, of the last session unless said."""
    return context(known(lift, kg, "rolling", days=days), **{"telling": told(lift=lift), **more})


def work(on: Slot, ctx: Context, *sessions: tuple[float, tuple[int, ...]]) -> list[float | None]:
    return values(prescribe(on, replace(ctx, progress=past(on, *sessions))).sets, "target_set")


def first_why(on: Slot, ctx: Context, *sessions: tuple[float, tuple[int, ...]]) -> list[Step]:
    resolved = prescribe(on, replace(ctx, progress=past(on, *sessions)))
    return list(next(one for one in resolved.sets if one.role == "target_set").why)


DONE = (100, (5, 5, 5))
"""100 kg, complete. 102.5 is next."""


def test_a_load_that_would_clearly_pass_the_limit_waits_and_says_so() -> None:
    """Of 115 kg 102.5 go up 1 + (1.12195^2.5 - 1) / 0.116 = 3.87 times: five are RPE 11.1. Of 120 they go up 5.16
    times, RPE 9.84: past the limit, but not clearly."""
    assert work(fives(), by_log(115), DONE) == [100] * 3
    (step, *_) = first_why(fives(), by_log(115), DONE)
    assert step.formula == "load_waits"
    assert step.text == (
        "All was complete with 100 kg, and the rule adds 2.5 kg. By what was reported, 5 with 102.5 kg would likely be "
        "missed, and work sets stay under RPE 9.5: 100 kg again, until it gets easier."
    )
    assert step.result is not None
    assert (step.result.value, step.result.unit) == (100, "kg")
    assert not list(unexplained(step))
    assert work(fives(), by_log(120), DONE) == [102.5] * 3


def test_the_limit_is_the_athletes_and_what_lifts_it_lifts_the_wait() -> None:
    """Of 121 kg 102.5 go up 5.42 times: five are RPE 9.58, clearly more than 9 and not than 9.5."""
    assert work(fives(), by_log(121), DONE) == [102.5] * 3
    easy = by_log(121, settings=pinned(effort_limit=9))
    assert work(fives(), easy, DONE) == [100] * 3
    assert "would be RPE 9.6, and work sets stay under RPE 9" in first_why(fives(), easy, DONE)[0].text
    assert work(fives(), replace(easy, session_kind="test"), DONE) == [102.5] * 3


@pytest.mark.parametrize(
    "unknown",
    [
        by_log(115, telling=()),
        by_log(115, telling=told(sets=5)),
        by_log(115, telling=told(days=2)),
        by_log(115, telling=told(last=LAST - timedelta(days=1))),  # the last session told nothing
        by_log(115, telling=told(last=None)),
        by_log(115, days=4),  # what is known is older than what was complete
        by_log(115, telling=told(lift="press")),
        context(known("squat", 115, days=10)),  # tested before the last session, of which nobody said how hard it was
        context(telling=told()),  # no max
    ],
)
def test_where_the_lifter_is_not_known_well_since_the_last_session_the_rule_rules(unknown: Context) -> None:
    assert work(fives(), unknown, DONE) == [102.5] * 3


def test_a_test_since_then_or_reports_after_an_older_one_are_enough() -> None:
    assert work(fives(), context(known("squat", 115, days=2)), DONE) == [100] * 3
    both = context(known("squat", 115, "rolling", days=3), known("squat", 115, days=30), telling=told(sets=1, days=1))
    assert work(fives(), both, DONE) == [100] * 3


def test_it_waits_by_either_rule_and_of_a_range_by_its_low_end() -> None:
    """Of 55 kg 42.5 go up 1 + (1.2941^2.5 - 1) / 0.116 = 8.8 times: eight are RPE 9.2, twelve would be past all. Of 52
    they go up 6.65 times."""
    assert work(fives(TWICE), by_log(115), (100, (5, 5, 7)), (100, (5, 5, 7))) == [100] * 3
    twelves = (40, (12, 12, 12))
    assert work(eights(), by_log(55), twelves) == [42.5] * 3
    assert work(eights(), by_log(52), twelves) == [40] * 3


def test_what_is_not_added_is_neither_waited_for_nor_stopped_from_coming_off() -> None:
    """10 % less than 100 is 90."""
    weak = by_log(100)
    assert work(fives(), weak, (100, (5, 5, 4))) == [100] * 3
    assert first_why(fives(), weak, (100, (5, 5, 4)))[0].formula == "repeat_load"
    assert work(fives(BACK), weak, (100, (5, 4, 4)), (100, (5, 4, 4))) == [90] * 3
    assert first_why(fives(), by_log(115, kit=COARSE), DONE)[0].formula == "add_load"  # 102.5 hangs as 100 there


def test_after_waiting_one_step_is_added_and_said() -> None:
    """Three sessions with 100 were complete; of 125 kg 102.5 go up 6.5 times."""
    on = fives()
    assert work(on, by_log(125), DONE, DONE, DONE) == [102.5] * 3
    told_ = first_why(on, by_log(125), DONE, DONE, DONE)[0].text
    assert told_ == "3 days ago all 3 sets with 100 kg had 5 repetitions: 2.5 kg more is 102.5 kg."


def test_a_coachs_cap_and_an_absence_still_go_below() -> None:
    cap = Override(id="1", kind="cap", lift="squat", reason="", set_by="Ola", until=TODAY, load=load(90, "kg"))
    assert work(fives(), by_log(115, overrides=(cap,)), DONE) == [90] * 3
    # 5 % off the load from before the absence, which was 100: 95
    away = Eased(0.95, 1.0, 20, TODAY + timedelta(days=7), days_left=7)
    since = (*past(fives(), DONE, every=24), *past(fives(), DONE))
    ctx = replace(by_log(115, eased=away), progress=since)
    assert values(prescribe(fives(), ctx).sets, "target_set") == [95] * 3


def test_steps_without_a_mass_go_by_the_rule() -> None:
    on = fives(lift="cable", kg=4)
    on = replace(on, target=replace(on.target, load=load(4, "step")))
    done = past(on, (4, (5, 5, 5)), unit="step")
    assert values(prescribe(on, replace(by_log(115, lift="cable"), progress=done)).sets, "target_set") == [5] * 3


def fives_at(rpe: float, add: AddLoad = STEP) -> Slot:
    return slot(effort(5, rpe), SetsAtTarget(sets=3, add_load=add))


def reported(on: Slot, *rpes: float | None, kg: float = 50, reps: int = 5) -> Context:
    """After one session of three sets, all complete, with an effort for each."""
    done = [DoneThen(load(kg, "kg"), reps, rpe) for rpe in rpes]
    one = summed(on, "squat", LAST, done)
    assert one is not None
    return context(progress=(one,))


@pytest.mark.parametrize(
    ("rpes", "kg"),
    [
        ((9, 9, 9), 50),  # two harder than the seven that is asked
        ((8, 8, 8), 50),  # a point is clearly harder
        ((7, 8, 8.5), 52.5),  # 7.8 on average is not
        ((5, 5, 5), 52.5),
        ((None, None, 9), 50),
        ((None, None, None), 52.5),  # whoever reports nothing grows by the rule
    ],
)
def test_nothing_is_added_after_sets_that_were_clearly_harder_than_the_target(
    rpes: tuple[float | None, ...], kg: float
) -> None:
    for add in (STEP, replace(STEP, until_sure=True)):
        on = fives_at(7, add)
        ctx = reported(on, *rpes)
        assert values(prescribe(on, ctx).sets, "target_set") == [kg] * 3
        why = next(one for one in prescribe(on, ctx).sets if one.role == "target_set").why
        assert ("load_waits" in [step.formula for step in why]) == (kg == 50)
        assert not [left for step in why for left in unexplained(step)]


def test_the_reason_names_what_was_reported_and_what_the_plan_asks_for() -> None:
    on = fives_at(7)
    told_ = next(one for one in prescribe(on, reported(on, 9, 9, 9)).sets if one.role == "target_set").why[0].text
    assert told_ == (
        "All was complete with 50 kg, and the rule adds 2.5 kg. But by their reports the sets were RPE 9 on average, "
        "and the plan asks for RPE 7: 50 kg again, until it gets easier."
    )


def test_fewer_repetitions_are_a_point_easier_each() -> None:
    """Eights at RPE 9: sixes with the same load are about RPE 7, as asked; sevens about RPE 8."""
    eight = slot(effort(8, 7), SetsAtTarget(sets=3, add_load=STEP))
    ctx = reported(eight, 9, 9, 9, reps=8)
    for reps, kg in ((6, 52.5), (7, 50)):
        now = slot(effort(reps, 7), SetsAtTarget(sets=3, add_load=STEP))
        assert values(prescribe(now, ctx).sets, "target_set") == [kg] * 3


def test_nothing_is_said_of_how_hard_it_will_be_where_that_is_hardly_known() -> None:
    """A max from 400 days ago is known to more than 12 % to each side, that of a test of today is not. 47.5 of 60 kg go
    up 1 + (1.2632^2.5 - 1) / 0.116 = 7.8 times, of 55 kg 1 + (1.1579^2.5 - 1) / 0.116 = 4.8 times: five would likely be
    missed, if the 55 were more than a guess by now."""
    last = fives(kg=45)
    done = past(last, (45, (5, 5, 5)))
    for kg, days, known_well in ((60, 0, True), (60, 400, False), (55, 400, False)):
        ctx = replace(context(known("squat", kg, days=days), settings=Settings()), progress=done)
        one = next(each for each in prescribe(last, ctx).sets if each.role == "target_set")
        assert one.load == load(47.5, "kg")
        assert (one.expected_rpe is not None) == known_well
        assert (one.text == "5 with 47.5 kg.") == (not known_well)
        assert "likely_to_miss" not in [each.code for each in one.cautions]
        coming = next_set(last, ctx, [DoneSet(lift="squat", role="target_set", load=load(47.5, "kg"), reps=5)])
        assert isinstance(coming, NextSet)
        assert (coming.expected_rpe is not None) == known_well


def finished(rpe: float | None, **more: Any) -> str:
    """What is said after three fives with 100 kg, where five sets on two days had told a max of 115 kg before."""
    ctx = context(known("squat", 115, days=30), settings=Settings(), telling=told(5, 2), **more)
    sets = [DoneSet(lift="squat", role="target_set", load=load(100, "kg"), reps=5, rpe=rpe)] * 3
    answer = next_set(fives(kg=100), ctx, sets)
    assert isinstance(answer, LiftDone)
    return answer.text


def test_the_end_of_the_slot_says_what_comes_by_what_today_has_told() -> None:
    """Fives at RPE 10 leave nothing for 102.5; without an effort the rule goes on."""
    assert finished(10).endswith("The same again next time.")
    assert finished(None).endswith("Next time 102.5 kg.")
    assert finished(7).endswith("Next time 102.5 kg.")


maxes = st.floats(60, 200)


@given(
    st.lists(maxes, min_size=2, max_size=5),
    st.sampled_from([STEP, TWICE, replace(STEP, step=load(10, "kg"))]),
    st.sampled_from([8, 9, 9.5, 10]),
    st.sampled_from([47.5, 60, 100, 142.5]),
    st.integers(1, 3),
)
@settings(max_examples=80, deadline=None)
def test_never_below_what_was_complete_and_never_less_for_a_stronger_lifter(
    kgs: list[float], add: AddLoad, limit: float, last: float, times: int
) -> None:
    on = fives(add)
    sessions = [(last, (7, 7, 7))] * times
    ctxs = [by_log(kg, settings=pinned(effort_limit=limit)) for kg in sorted(kgs)]
    found = [float(work(on, ctx, *sessions)[0] or 0) for ctx in ctxs]
    free = float(work(on, context(), *sessions)[0] or 0)
    assert all(last <= one <= free and one in (last, free) for one in found)
    assert all(weaker <= stronger for weaker, stronger in pairwise(found))
    higher = [by_log(kg, settings=pinned(effort_limit=10)) for kg in sorted(kgs)]
    assert all(one <= float(work(on, ctx, *sessions)[0] or 0) for one, ctx in zip(found, higher, strict=True))
