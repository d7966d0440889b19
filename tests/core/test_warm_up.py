"""Warm-ups and build-up sets. Fifths of the way, falling repetitions: common practice, no source."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.prescribe.prescribe import prescribe, resolve_session
from service.core.records import Bar, Lift
from service.core.slots import LoadTarget, SetsAtTarget
from service.core.units import grains, load
from tests.core.plans import LIFTS, context, effort, known, percent, slot, values


def warm(resolved):
    return [(one.load.value, one.reps) for one in resolved.sets if one.role == "warm_up"]


def to_load(kg, lift="squat", ctx=None):
    return prescribe(slot(LoadTarget(reps=3, load=load(kg, "kg")), lift=lift), ctx or context())


def test_five_equal_steps_lead_to_the_first_build_up_set():
    """To 117.5 from the bar of 20 a fifth of the way is 19.5: 20, 39.5, 59, 78.5, 98; plates under 19.5 / 12 = 1.6
    are left off, so by fives: 20, 40, 60, 80, 100."""
    resolved = prescribe(slot(), context(known("squat", 150)))
    assert warm(resolved) == [(20, 8), (40, 5), (60, 4), (80, 3), (100, 2)]
    assert resolved.sets[0].text == "8 with the empty bar (20 kg), to warm up."


@pytest.mark.parametrize(
    ("kg", "expected"),
    [
        (20, []),  # nothing is lighter
        (22.5, [(20, 8)]),
        (30, [(20, 8), (25, 5)]),  # 10 kg of way, steps of at least 5 (two smallest)
        (50, [(20, 8), (30, 5), (40, 3)]),  # a step is at least 0.16 of 50 = 8: three
        (60, [(20, 8), (30, 5), (40, 3), (50, 2)]),  # at least 9.6: four of 10
        (300, [(20, 8), (80, 5), (130, 4), (190, 3), (240, 2)]),  # fifths of 280: 76, 132, 188, 244; plates from 10 up
    ],
)
def test_light_loads_take_fewer_warm_ups(kg, expected):
    assert warm(to_load(kg)) == expected


def test_coarse_plates_take_fewer_warm_ups():
    """Only tens: the smallest step is 20, so a step is at least 40: to 100 from 20 that is two."""
    ctx = context()
    ctx = replace(ctx, kit=replace(ctx.kit, plates=tuple(p for p in ctx.kit.plates if p.load.value == 10)))
    ctx = replace(ctx, kit=replace(ctx.kit, plates=(replace(ctx.kit.plates[0], count=20),)))
    assert warm(to_load(100, ctx=ctx)) == [(20, 8), (60, 5)]


def test_a_lighter_bar_of_the_place_comes_first_where_the_usual_one_is_half_the_load():
    """To 30 from 7.5: 22.5 of way in steps of at least 5 are four of 5.6: 7.5, 13.1, 18.75, 24.4. The first two hang
    on the light bar, 18.75 is as near to the bar of 20 as to 17.5."""
    ctx = context()
    light = Bar(name="light", load=load(7.5, "kg"))
    ctx = replace(ctx, kit=replace(ctx.kit, bars=(*ctx.kit.bars, light)))
    resolved = to_load(30, ctx=ctx)
    assert warm(resolved) == [(7.5, 8), (12.5, 5), (17.5, 3), (25, 2)]
    assert [one.loading.bar.value for one in resolved.sets] == [7.5, 7.5, 7.5, 20, 20]
    assert warm(to_load(60, ctx=ctx))[0] == (20, 8)


def test_a_work_set_too_light_for_the_usual_bar_goes_on_the_lighter_one():
    """Max 24 kg, 8 at 7: n = 11: 0.73490 is 17.64: 17.5 on a bar of 7.5."""
    ctx = context(known("press", 24))
    light = Bar(name="light", load=load(7.5, "kg"))
    ctx = replace(ctx, kit=replace(ctx.kit, bars=(*ctx.kit.bars, light)))
    top = prescribe(slot(effort(8, 7), lift="press"), ctx).sets[-1]
    assert (top.load.value, top.loading.bar.value, top.reps) == (17.5, 7.5, 8)
    assert {one.code for one in top.cautions} == {"many_repetitions"}


def test_dumbbells_and_machines_start_at_a_fifth():
    """Of 30 kg it is 6, of the stack's 100 it is 20: their lightest would be no load at all."""
    assert warm(to_load(30, "dumbbell-press"))[0] == (6, 8)
    assert warm(to_load(100, "leg-press"))[0] == (20, 8)


def test_a_pull_of_the_own_body_is_no_warm_up_for_who_can_hardly_do_it():
    """Body 80, max 90 in all: 0.8889^-2.5 = 1.3424, n = 3.95, so eight or even one would not be easy. With a max of
    120: 0.6667^-2.5 = 2.7557, n = 16.1: eight it is."""
    five = effort(2, 8)
    assert not values(prescribe(slot(five, lift="dip"), context(known("dip", 90))).sets, "warm_up")
    assert warm(prescribe(slot(five, lift="dip"), context(known("dip", 120))))[0] == (0, 8)


def test_technique_lifts_warm_up_with_fewer_repetitions():
    """To 75 from 20: 11 a step, but at least 0.16 of 75 = 12: four."""
    resolved = prescribe(slot(percent(75, reps=2), lift="snatch"), context(known("snatch", 100)))
    assert [reps for _, reps in warm(resolved)] == [5, 3, 2, 1]


def test_accessories_and_a_second_slot_of_a_lift_have_none():
    ctx = context(known("squat", 150))
    assert not values(prescribe(slot(accessory=True), ctx).sets, "warm_up")
    second = prescribe(slot(effort(5, 7), SetsAtTarget(sets=3)), ctx, warm=False)
    assert {one.role for one in second.sets} == {"target_set"}


@pytest.mark.parametrize(
    ("first", "then"),
    [("squat", "pause-squat"), ("pause-squat", "squat"), ("squat", "tempo-pause-squat"), ("pause-squat", "box-squat")],
)
def test_after_a_lift_of_the_same_family_one_or_two_warm_ups_are_enough(first, then):
    """To 100 from the bar of 20 a fifth of the way is 16: 20, 36, 52, 68, 84, so 20, 35, 50, 70, 85; the last two."""
    box = Lift(id="box-squat", name="Box squat", load_kind="total", based_on="squat", ratio=0.9, ratio_source="ours")
    ctx = context(lifts=LIFTS | {"box-squat": box})
    one, other = (slot(LoadTarget(reps=3, load=load(100, "kg")), lift=lift) for lift in (first, then))
    alone, after = prescribe(other, ctx), resolve_session([one, other], ctx)[1]
    assert warm(after) == warm(alone)[-2:] == [(70, 3), (85, 2)]
    assert warm(alone)[0] == (20, 8)
    name = ctx.lifts[first].name.lower()
    text = f"You are warm from the {name}: one or two steps lead up to 100 kg."
    assert [step.text for step in after.sets[0].why if step.formula == "warm_up"] == [text]


def test_lifts_of_other_families_warm_up_from_the_bar():
    ctx = context(known("squat", 150), known("press", 60))
    press = resolve_session([slot(), slot(lift="press")], ctx)[1]
    assert warm(press)[0] == (20, 8)


def test_a_light_variation_takes_no_second_turn_with_the_empty_bar():
    """To 22.5 there is only the bar of 20."""
    ctx = context()
    light = slot(LoadTarget(reps=3, load=load(22.5, "kg")), lift="pause-squat")
    assert warm(resolve_session([slot(LoadTarget(reps=3, load=load(60, "kg"))), light], ctx)[1]) == []


def test_an_answer_that_is_kept_still_counts_as_worked():
    ctx = context(known("squat", 150))
    slots = [slot(), slot(lift="pause-squat"), slot(effort(5, 7))]
    whole = resolve_session(slots, ctx)
    assert resolve_session(slots, ctx, kept={0: whole[0], 2: whole[2]}) == whole
    assert resolve_session(slots, ctx, kept={1: whole[1]}) == whole


def test_build_up_sets_stand_two_and_a_half_and_one_point_under_the_target():
    """5 at 9 of 150: build-ups at 6.5 (n = 8.5: 1.87^-0.4 = 0.77852, 116.78) and 8 (n = 7: 0.80951, 121.43)."""
    resolved = prescribe(slot(effort(5, 9)), context(known("squat", 150)))
    assert values(resolved.sets, "build_up") == [117.5, 122.5]
    assert {one.reps for one in resolved.sets if one.role == "build_up"} == {5}


@settings(max_examples=100, deadline=None)
@given(
    st.integers(1, 480).map(lambda half: half / 2),
    st.sampled_from(["squat", "dumbbell-press", "dip", "leg-press", "snatch"]),
    st.sampled_from(["kg", "lb"]),
)
def test_warm_ups_rise_strictly_with_falling_repetitions_and_stay_below_the_work(kg, lift, unit):
    resolved = to_load(kg, lift, context(unit=unit))
    loads = [one.load.grains for one in resolved.sets if one.role == "warm_up"]
    reps = [one.reps for one in resolved.sets if one.role == "warm_up"]
    top = resolved.sets[-1].load.grains
    assert loads == sorted(set(loads))
    assert all(one < top for one in loads)
    assert reps == sorted(reps, reverse=True)
    assert len(loads) <= 5
    if lift in ("squat", "snatch") and len(loads) == 5:
        # about a fifth: a third of it again for the plates that are left off, and the smallest step of the place
        steps = [after - before for before, after in zip(loads, [*loads[1:], top], strict=True)]
        assert max(steps) <= 4 / 3 * (top - loads[0]) / 5 + grains(2.5, "kg")
