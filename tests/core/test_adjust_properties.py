"""What holds for every way through a slot: lifters that follow the suggestions, with reports of any kind."""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.core.ability.by_curve import ByCurve
from service.core.adjust.adjust import next_set
from service.core.adjust.facts import facts
from service.core.adjust.walk import walk
from service.core.answers import Choice, LiftDone, Next, NextIf, NextSet, ResolvedSlot
from service.core.context import Context
from service.core.estimate.capacity import expected_rpe
from service.core.prescribe.grounds import hang_under
from service.core.prescribe.prescribe import prescribe, resolve_session
from service.core.records import DoneSet, Override
from service.core.slots import BackOff, FreeTarget, OpenLastSet, SameLoad, SetsAtTarget, Slot, TimeTarget, TopSet
from service.core.units import load
from tests.core.plans import TODAY, context, effort, known, percent, pinned, slot, unexplained

HALVES = [half / 2 for half in range(2, 21)]
FEW = settings(max_examples=60, deadline=None)

targets = st.one_of(
    st.builds(effort, st.integers(1, 8), st.sampled_from([6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5, 10])),
    st.builds(lambda reps, value: percent(value, reps=reps), st.integers(1, 6), st.sampled_from([65, 75, 80, 85])),
    st.builds(lambda low, more: effort(low, 8, reps_to=low + more), st.integers(4, 8), st.integers(1, 4)),
)
schemes = st.one_of(
    st.builds(lambda sets: SetsAtTarget(sets=sets), st.integers(1, 5)),
    st.builds(
        lambda n, p: TopSet(back_off=BackOff(sets=n, less_percent=p)), st.integers(1, 3), st.sampled_from([2, 5, 8])
    ),
    st.builds(lambda n: TopSet(same_load=SameLoad(sets=n)), st.integers(1, 3)),
    st.builds(lambda n: OpenLastSet(sets_before=n, most_reps=12, stop_rpe=9), st.integers(1, 3)),
)
lifts = st.sampled_from(
    [("squat", 150), ("press", 39.5), ("press", 55), ("dumbbell-press", 30), ("dip", 115), ("squat", 260)]
)


@dataclass
class Case:
    slot: Slot
    ctx: Context
    plan: ResolvedSlot
    done: list[DoneSet]
    coming: Next


def logged(coming: NextSet, **said: Any) -> DoneSet:
    """A set done as suggested; a range of repetitions by its middle."""
    reps = coming.reps or 0
    to = coming.reps_to if coming.reps_to is not None and coming.reps_to >= reps else reps
    values = {"reps": (reps + to) // 2, "load": coming.load, "expected_rpe": coming.expected_rpe, **said}
    return DoneSet(lift=case_lift(coming), role=coming.role, **values)


def case_lift(coming: NextSet) -> str:
    assert coming.slot is not None
    return coming.slot  # the tests name the slot by its lift


@st.composite
def cases(
    draw: Any,
    target: Any = targets,
    scheme: Any = schemes,
    lift: Any = lifts,
    units: Any = ("kg", "lb"),
    overrides: tuple[Override, ...] = (),
    steps: int = 0,
) -> Case:
    """A slot, followed for a while with reports around what was expected, and now and then a miss."""
    lift, kg = draw(lift)
    unit = draw(st.sampled_from(units))
    rule = draw(st.sampled_from(["calculation", "calculation", "published_step"]))
    ctx = context(known(lift, kg), unit=unit, settings=pinned(adjustment=rule), overrides=overrides)
    asked = slot(draw(target), draw(scheme), lift)
    plan = prescribe(asked, ctx)
    done: list[DoneSet] = []
    coming = next_set(asked, ctx, done, plan=plan, slot_id=lift)
    for _ in range(draw(st.integers(steps, steps + 7))):
        assert isinstance(coming, NextSet)
        if coming.role == "warm_up":
            one = logged(coming)
        elif draw(st.integers(0, 14)) == 0:
            one = logged(coming, made=False, ended_by="strength", reps=max((coming.reps or 1) - 1, 0))
        else:
            around = float(coming.expected_rpe or 8) + draw(st.sampled_from([-2, -1, -0.5, 0, 0, 0.5, 1, 2]))
            one = logged(coming, rpe=min(max(round(2 * around) / 2, 1), 10))
        after = next_set(asked, ctx, [*done, one], plan=plan, slot_id=lift)
        if not isinstance(after, NextSet):
            break
        done.append(one)
        coming = after
    return Case(asked, ctx, plan, done, coming)


def outcome(found: Next) -> tuple[Any, ...]:
    return (found.load, found.reps) if isinstance(found, NextSet) else (None, None)


def fits(one: NextIf, done: DoneSet) -> bool:
    hard_enough = one.rpe_at_least is None or (done.rpe is not None and done.rpe >= one.rpe_at_least)
    easy_enough = one.rpe_at_most is None or (done.rpe is not None and done.rpe <= one.rpe_at_most)
    return hard_enough and easy_enough and one.made in (None, done.made)


@given(cases())
@FEW
def test_what_next_if_says_is_what_the_next_answer_is(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    assume(coming.load is not None)
    miss = logged(coming, made=False, ended_by="strength", reps=max(logged(coming).reps - 1, 0))
    for one in (*(logged(coming, rpe=rpe) for rpe in HALVES), miss):
        fitting = [entry for entry in coming.next_if if fits(entry, one)]
        assume(coming.role != "warm_up" or one.made)
        found = next_set(case.slot, case.ctx, [*case.done, one], plan=case.plan, slot_id=coming.slot)
        assert fitting, one
        assert (fitting[-1].load, fitting[-1].reps) == outcome(found), (one, coming.next_if)
    starts = [entry.rpe_at_least for entry in coming.next_if if entry.rpe_at_least is not None]
    assert starts == sorted(starts)


@given(cases())
@FEW
def test_a_harder_set_never_raises_what_comes_next(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    assume(coming.role != "warm_up" and coming.load is not None)
    found = [
        next_set(case.slot, case.ctx, [*case.done, logged(coming, rpe=rpe)], plan=case.plan, slot_id=coming.slot)
        for rpe in HALVES
    ]
    loads: dict[tuple[str, int], list[tuple[float, int]]] = {}
    for one in found:
        if isinstance(one, NextSet) and one.load is not None:
            loads.setdefault((one.role, one.number), []).append((float(one.load.value), one.reps or 0))
    for same_set in loads.values():
        assert [one[0] for one in same_set] == sorted((one[0] for one in same_set), reverse=True)
        for (load_, reps), (next_load, next_reps) in pairwise(same_set):
            assert next_load < load_ or next_reps <= reps, "a harder report asks for no more repetitions either"
    going_on = [isinstance(one, NextSet) for one in found]
    assert going_on == sorted(going_on, reverse=True), "no easier report ends the lift where a harder one does not"


@given(cases())
@FEW
def test_every_load_is_one_that_can_be_loaded_and_is_the_one_that_hangs(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    assume(coming.load is not None and coming.loading is not None)
    assert coming.loading is not None
    assert coming.load is not None
    assert coming.loading.load == coming.load
    g = facts(case.slot, case.ctx, case.plan).g
    assert hang_under(g, g.effective(coming.load), rounding="nearest").load == coming.load


@given(cases(target=st.builds(effort, st.integers(1, 8), st.sampled_from([6, 7, 7.5, 8, 9])), steps=6))
@FEW
def test_following_sets_stay_half_a_point_under_the_limit_by_today_s_max(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    f = facts(case.slot, case.ctx, case.plan)
    today, _ = walk(f, case.done)
    assume(today.last is not None and coming.role != "open_set")
    assume(coming.load is not None and today.able is not None)
    assert coming.load is not None
    assert isinstance(today.able, ByCurve)
    assert coming.reps is not None
    rpe = expected_rpe(f.g.effective(coming.load), coming.reps, today.able.kg, "default", today.able.fatigue)
    assert rpe <= 9 + 0.002  # loads are shown to the gram


@given(cases())
@FEW
def test_today_s_max_stays_within_a_tenth_of_the_plan_s_unless_a_hard_set_shows_less(case: Case) -> None:
    f = facts(case.slot, case.ctx, case.plan)
    today, _ = walk(f, case.done)
    able = today.able
    assert isinstance(able, ByCurve)
    assert able.max_kg is not None
    assert 0.9 * f.start.kg - 1e-9 <= able.max_kg <= 1.1 * f.start.kg + 1e-9
    assert able.kg <= able.max_kg
    assert 0 < exp(-0.006 * able.fatigue) <= 1


@given(
    cases(
        overrides=(
            Override(id="1", kind="cap", lift="squat", reason="", set_by="Ana", until=TODAY, load=load(100, "kg")),
            Override(id="2", kind="cap", lift="press", reason="", set_by="Ana", until=TODAY, load=load(30, "kg")),
        )
    )
)
@FEW
def test_a_cap_holds_in_every_set(case: Case) -> None:
    caps = {"squat": 100.0005, "press": 30.0005}
    assert isinstance(case.coming, NextSet)
    if case.coming.load is not None and case.slot.lift in caps:
        assert float(case.coming.load.kg or 0) <= caps[case.slot.lift]


@given(
    cases(
        lift=st.just(("squat", 150)),
        units=("kg",),
        overrides=(
            Override(id="1", kind="load", lift="squat", reason="", set_by="Ana", until=TODAY, load=load(100, "kg")),
        ),
    ),
    st.sampled_from(HALVES),
)
@FEW
def test_a_fixed_load_stays_whatever_is_reported(case: Case, rpe: float) -> None:
    assert isinstance(case.coming, NextSet)
    found = next_set(case.slot, case.ctx, [*case.done, logged(case.coming, rpe=rpe)], plan=case.plan, slot_id="squat")
    if isinstance(found, NextSet) and found.role in ("top_set", "target_set", "same_load", "open_set"):
        assert found.load == load(100, "kg")


@given(cases())
@FEW
def test_pain_that_stops_a_set_ends_the_lift_with_a_caution(case: Case) -> None:
    assert isinstance(case.coming, NextSet)
    stop = logged(case.coming, pain="stop", ended_by="pain")
    for sets in ([*case.done, stop], [*case.done, stop, logged(case.coming)]):
        found = next_set(case.slot, case.ctx, sets, plan=case.plan, slot_id=case.coming.slot)
        assert isinstance(found, LiftDone)
        assert {one.code for one in found.cautions} == {"pain_stop", "warning_signs"}


@given(cases())
@FEW
def test_after_some_pain_every_set_offered_is_a_tenth_lighter(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    assume(coming.load is not None)
    assert coming.load is not None
    found = next_set(
        case.slot, case.ctx, [*case.done, logged(coming, pain="some")], plan=case.plan, slot_id=coming.slot
    )
    g = facts(case.slot, case.ctx, case.plan).g
    if isinstance(found, Choice):
        assert 2 <= len(found.options) <= 3
        for option in found.options:
            if option.set is not None and option.set.load is not None:
                assert g.effective(option.set.load) <= 0.9 * g.effective(coming.load) + 0.001
    else:
        assert isinstance(found, LiftDone)


@given(cases())
@FEW
def test_a_second_miss_by_strength_ends_the_lift(case: Case) -> None:
    coming = case.coming
    assert isinstance(coming, NextSet)
    miss = logged(coming, made=False, ended_by="strength", reps=0)
    found = next_set(case.slot, case.ctx, [*case.done, miss, miss], plan=case.plan, slot_id=coming.slot)
    assert isinstance(found, LiftDone)


@given(cases())
@FEW
def test_every_number_in_a_reason_is_an_input_or_the_result(case: Case) -> None:
    assert isinstance(case.coming, NextSet)
    for step in case.coming.why:
        assert not list(unexplained(step)), step


@given(
    cases(
        target=st.builds(effort, st.integers(2, 6), st.sampled_from([6.5, 7, 7.5])),
        lift=st.sampled_from([("squat", 150), ("squat", 260)]),
        steps=7,
    )
)
@FEW
def test_kilograms_and_pounds_agree_within_a_step(case: Case) -> None:
    other = context(*case.ctx.maxes, unit="lb" if case.ctx.unit == "kg" else "kg", settings=case.ctx.settings)
    here = next_set(case.slot, case.ctx, case.done)
    there = next_set(case.slot, other, case.done)
    assume(isinstance(here, NextSet) and isinstance(there, NextSet))
    assert isinstance(here, NextSet)
    assert isinstance(there, NextSet)
    assume((here.role, here.number, here.reps) == (there.role, there.number, there.reps))  # else a step was passed over
    assume(here.load is not None and there.load is not None)
    assert here.load is not None
    assert there.load is not None
    step_kg = 2.5  # the coarser of 2.5 kg and 5 lb; each side rounds by half of its own step, or down by a whole one
    assert abs(float(here.load.kg or 0) - float(there.load.kg or 0)) <= step_kg + 0.002


@given(cases())
@FEW
def test_the_same_sets_give_the_same_answer_with_or_without_the_plan_at_hand(case: Case) -> None:
    assert isinstance(case.coming, NextSet)
    assert next_set(case.slot, case.ctx, case.done, slot_id=case.coming.slot) == case.coming
    assert replace(case.coming, next_if=()) != case.coming or case.coming.next_if == ()


loads = st.one_of(
    st.none(),
    st.builds(load, st.sampled_from([-20, 0, 0.5, 20, 60, 127.5, 400, 3000]), st.sampled_from(["kg", "lb"])),
    st.builds(load, st.integers(1, 20), st.just("step")),
)
said = st.one_of(
    st.just({}),
    st.builds(lambda rpe: {"rpe": rpe}, st.sampled_from(HALVES)),
    st.builds(lambda word: {"felt": word}, st.sampled_from(["lighter", "as_expected", "heavier"])),
    st.just({"rir": 5, "or_more": True}),
)
logs = st.builds(
    lambda lift, role, one, reps, made, why, pain, effort_said: DoneSet(
        lift=lift, role=role, load=one, reps=reps, made=made, ended_by=why, pain=pain, **effort_said
    ),
    st.sampled_from(["squat", "dip", "cable", "snatch"]),
    st.sampled_from(["warm_up", "build_up", "top_set", "back_off", "same_load", "target_set", "open_set", "free"]),
    loads,
    st.integers(0, 100),
    st.booleans(),
    st.sampled_from(["choice", "choice", "strength", "technique", "grip", "other", "pain"]),
    st.sampled_from(["none", "none", "none", "none", "some", "stop"]),
    said,
)


@given(
    st.sampled_from(["squat", "dip", "cable", "snatch", "plank", "dumbbell-press"]),
    st.one_of(targets, st.just(FreeTarget(reps=8)), st.just(TimeTarget(seconds=30))),
    schemes,
    st.lists(logs, max_size=6),
    st.sampled_from(["default", "brzycki", "textbook_table", "lombardi"]),
    st.sampled_from([None, 80.0]),
    st.booleans(),
)
@settings(max_examples=100, deadline=None)
def test_any_log_gets_an_answer(
    lift: str, target: Any, scheme: Any, log: list[DoneSet], curve: str, body: float | None, has_max: bool
) -> None:
    maxes = (known(lift, 100),) if has_max else ()
    ctx = context(*maxes, settings=pinned(curve=curve), body_weight_kg=body)
    asked = slot(target, scheme, lift)
    plan = resolve_session([asked], ctx)[0]
    found = next_set(asked, ctx, log, plan=plan)
    assert found.text
    assert found.text[0].isupper() or found.text[0].isdigit()
    assert found.text.endswith(".")
