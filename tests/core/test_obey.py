"""The coach's last word. The order (exchange or leave out, fixed load, strictest cap) is the product's own rule."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.errors import NotComputable
from service.core.prescribe.obey import orders
from service.core.prescribe.prescribe import prescribe, resolve_session
from service.core.records import Override
from service.core.slots import BackOff, FreeTarget, LoadTarget, OpenLastSet, SameLoad, SetsAtTarget, TopSet
from service.core.units import load
from tests.core.plans import TODAY, context, effort, known, only, percent, slot, unexplained, values

SQUAT, PRESS = known("squat", 150), known("press", 60)


def override(kind, lift="squat", *, kg=None, to=None, until=TODAY, name="1", unit="kg"):
    return Override(
        id=name,
        kind=kind,
        lift=lift,
        reason="sore knee.",
        set_by="Ada",
        until=until,
        load=None if kg is None else load(kg, unit),
        to_lift=to,
    )


TRIPLE = slot(scheme=TopSet(back_off=BackOff(sets=1, less_percent=8)))


def test_until_is_included():
    for days, cap in ((0, 100), (-1, None)):
        ctx = context(overrides=(override("cap", kg=100, until=TODAY + timedelta(days=days)),))
        found = orders("squat", ctx).cap
        assert (found.load.value if found else None) == cap


def test_the_strictest_cap_and_the_lighter_load_win_across_units():
    """225 lb are 102.06 kg: stricter than 105 kg, not than 100 kg."""
    ctx = context(overrides=(override("cap", kg=105), override("cap", kg=225, unit="lb", name="2")))
    assert orders("squat", ctx).cap.id == "2"
    ctx = context(overrides=(override("load", kg=100), override("load", kg=225, unit="lb", name="2")))
    assert orders("squat", ctx).fixed.id == "1"


def test_a_lift_left_out_has_no_sets_and_says_who_decided_and_why():
    found = prescribe(TRIPLE, context(SQUAT, overrides=(override("leave_out"), override("load", kg=100, name="2"))))
    assert (found.left_out, found.sets) == (True, ())
    assert found.text == "Left out: no squat, until 25 November 2026 (decided by Ada: sore knee)."
    assert [one.kind for one in found.overrides] == ["leave_out"]
    assert found.without_override == load(127.5, "kg"), "3 at 7.5 of 150 kg: 0.84534 is 126.8"


def test_an_exchange_takes_the_new_lifts_max_and_keeps_what_was_planned():
    """3 at 7.5 of 60 kg: 0.84534 is 50.72, 50; the squat would have been 127.5."""
    ctx = context(SQUAT, PRESS, overrides=(override("exchange", to="press"),))
    found = prescribe(TRIPLE, ctx)
    top = only(found, "top_set")
    assert (found.lift, top.load.value, top.without_override) == ("press", 50, load(127.5, "kg"))
    assert found.overrides[0].text == "Press instead of squat, until 25 November 2026 (decided by Ada: sore knee)."
    assert top.why[-1].formula == "override"


def test_an_exchange_drops_loads_and_maxes_of_the_planned_lift():
    ctx = context(SQUAT, PRESS, overrides=(override("exchange", to="press"),))
    of_squat = prescribe(slot(percent(50, of="squat"), SetsAtTarget(sets=1)), ctx)
    assert values(of_squat.sets, "target_set") == [30]  # half of the press's own 60
    planned = prescribe(slot(LoadTarget(reps=3, load=load(120, "kg")), SetsAtTarget(sets=1)), ctx)
    assert [one.text for one in planned.sets] == ["3 with a load of your choice."]


def test_exchanges_are_followed_once_round_and_then_the_new_lifts_overrides_act():
    there = override("exchange", to="press")
    back = override("exchange", "press", to="squat", name="2")
    assert orders("squat", context(overrides=(there, back))).lift == "press"
    assert orders("squat", context(overrides=(there, override("leave_out", "press", name="3")))).left_out.id == "3"
    assert orders("squat", context(overrides=(there, override("cap", kg=90, name="4")))).cap is None


def test_a_fixed_load_replaces_the_target_and_the_back_off_follows_it():
    """8 % off 100 is 92, 92.5."""
    found = prescribe(TRIPLE, context(SQUAT, overrides=(override("load", kg=100),)))
    assert only(found, "top_set").load.value == 100
    assert only(found, "back_off").load.value == 92.5
    assert only(found, "back_off").without_override.value == 117.5
    assert "The load for the squat is fixed at 100 kg" in found.overrides[0].text


def test_a_fixed_load_stands_where_the_calculation_would_lower_it():
    asked = slot(effort(5, 8), SetsAtTarget(sets=5))
    found = prescribe(asked, context(SQUAT, overrides=(override("load", kg=130),)))
    assert values(found.sets, "target_set") == [130] * 5
    alone = values(prescribe(asked, context(SQUAT)).sets, "target_set")
    assert [one.without_override.value for one in found.sets if one.role == "target_set"] == alone


def test_a_fixed_load_works_without_any_max():
    found = prescribe(TRIPLE, context(overrides=(override("load", kg=100),)))
    assert only(found, "top_set").load.value == 100
    assert only(found, "top_set").without_override is None


def test_a_cap_acts_only_where_it_is_reached_and_then_after_a_fixed_load():
    unhindered = prescribe(TRIPLE, context(SQUAT, overrides=(override("cap", kg=140),)))
    assert unhindered.overrides == ()
    assert only(unhindered, "top_set").without_override is None

    capped = prescribe(TRIPLE, context(SQUAT, overrides=(override("cap", kg=120),)))
    assert values(capped.sets, "top_set") == [120]
    assert only(capped, "top_set").without_override.value == 127.5
    assert only(capped, "back_off").load.value == 110  # 8 % off 120 is 110.4

    both = prescribe(TRIPLE, context(SQUAT, overrides=(override("load", kg=130), override("cap", kg=110, name="2"))))
    assert values(both.sets, "top_set") == [110]
    assert [one.kind for one in both.overrides] == ["load", "cap"]


def test_a_cap_of_an_added_load_caps_what_is_added():
    """Dip of 120 with 80 of body: 3 at 7.5 is 101.44, 21.44 added: the coach allows 10."""
    found = prescribe(slot(lift="dip"), context(known("dip", 120), overrides=(override("cap", "dip", kg=10),)))
    assert only(found, "top_set").load == load(10, "kg")


def test_a_cap_under_the_empty_bar_is_never_overstepped():
    ctx = context(SQUAT, overrides=(override("cap", kg=15),))
    with pytest.raises(NotComputable) as refusal:
        prescribe(TRIPLE, ctx)
    assert refusal.value.code == "cap_too_light"
    (shown,) = resolve_session([TRIPLE], ctx)
    assert all(one.load is None for one in shown.sets)
    assert shown.sets[0].text == (
        "3 repetitions: nothing here is as light as the 15 kg that the coach allows, so ask the coach."
    )
    # 8 % off 127.5 kg is 117.3, nearest 117.5.
    assert [one.without_override for one in shown.sets] == [load(127.5, "kg"), load(117.5, "kg")]


def test_a_cap_is_told_where_the_lifter_chooses_the_load():
    capped = {"overrides": (override("cap", kg=60), override("cap", "cable", kg=5, unit="step", name="2"))}
    free = prescribe(slot(FreeTarget(reps=5), SetsAtTarget(sets=1)), context(**capped))
    assert free.sets[0].text == "5 with a load of your choice, no more than 60 kg."
    assert [one.kind for one in free.overrides] == ["cap"]
    (unknown,) = resolve_session([TRIPLE], context(**capped))
    assert unknown.sets[0].text.endswith("choose a load that leaves two or three repetitions, no more than 60 kg.")
    stepped = prescribe(
        slot(LoadTarget(reps=12, load=load(7, "step")), SetsAtTarget(sets=1), "cable"), context(**capped)
    )
    assert (stepped.sets[0].load, stepped.sets[0].without_override) == (load(5, "step"), load(7, "step"))


@settings(max_examples=80, deadline=None)
@given(
    st.integers(21, 200),  # a bar of 45 lb is 20.4 kg; what is lighter than the bar is refused, see above
    st.sampled_from(["kg", "lb"]),
    st.sampled_from(["kg", "lb"]),
    st.sampled_from([effort(3, 8), effort(8, 9), percent(95), LoadTarget(reps=5, load=load(140, "kg"))]),
    st.sampled_from([TRIPLE.scheme, TopSet(same_load=SameLoad(sets=2)), SetsAtTarget(sets=3)]),
    st.sampled_from([None, 60, 130, 190]),
)
def test_caps_always_hold_and_every_changed_set_says_so(cap, cap_unit, unit, target, scheme, fixed):
    acting = [override("cap", kg=cap if cap_unit == "kg" else cap * 2 + 5, unit=cap_unit)]
    acting += [override("load", kg=fixed, name="2")] if fixed else []
    alone = prescribe(slot(target, scheme), context(SQUAT, unit=unit))
    found = prescribe(slot(target, scheme), context(SQUAT, unit=unit, overrides=tuple(acting)))
    planned = {(one.role, one.number): one.load for one in alone.sets}
    for one in found.sets:
        assert one.load.grains <= acting[0].load.grains + 5e7  # half a gram: what is shown to a thousandth
        assert not [number for step in one.why for number in unexplained(step)]
        if one.role != "warm_up" and one.load != planned.get((one.role, one.number)):
            assert one.overrides
            assert one.without_override == planned.get((one.role, one.number))


def test_an_open_set_that_a_coach_ends_earlier_says_so_though_its_load_is_the_same():
    # 75 % of a max can be lifted about ten times: to RPE 9 that are nine, to RPE 7 seven.
    asked = slot(percent(75, reps=5), OpenLastSet(sets_before=1, most_reps=12, stop_rpe=9))
    cap = Override(id="1", kind="cap", lift="squat", reason="Easy month", set_by="Ann", until=TODAY, rpe=7)
    found = prescribe(asked, context(SQUAT, overrides=(cap,)))
    before, last = found.sets[-2:]
    assert "past RPE 7." in last.text
    assert ([one.id for one in last.overrides], [one.id for one in found.overrides]) == (["1"], ["1"])
    assert last.why[-1].formula == "override"
    assert "stops at RPE 7 at the latest" in last.why[-1].text
    assert (before.overrides, before.load, last.without_override) == ((), last.load, None)
    easy = replace(cap, rpe=9)
    assert prescribe(asked, context(SQUAT, overrides=(easy,))).overrides == ()
