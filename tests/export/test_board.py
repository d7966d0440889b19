"""The board: a session in plain text."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.loading.kits import default_kit
from service.core.prescribe.prescribe import resolve_session
from service.core.records import DoneSet, Kit, Override, Plate
from service.core.slots import (
    BackOff,
    DistanceTarget,
    FreeTarget,
    LoadTarget,
    OpenLastSet,
    PercentTarget,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
)
from service.core.units import load
from service.export.board import WIDTH, Board, BoardSlot, _done, text
from tests.core.plans import LIFTS, TODAY, context, effort, known

SQUAT = Slot(lift="squat", scheme=TopSet(back_off=BackOff(sets=2, less_percent=8)), target=effort(), rest_seconds=240)


def board(*slots, ctx=None, done=(), last=None, **more):
    answer = resolve_session(slots, ctx or context(known("squat", 150), known("dip", 110), known("press", 60)))
    shown = [
        BoardSlot(name=LIFTS[one.lift].name, slot=slot, resolved=one, done=done, last=last)
        for slot, one in zip(slots, answer, strict=True)
    ]
    values = {"name": "Legs and push", "date": TODAY, "state": "planned", "place": None, "note": None, **more}
    return text(Board(slots=shown, **values))


def of(lift, target, sets=2, **more):
    return Slot(lift=lift, scheme=SetsAtTarget(sets=sets), target=target, **more)


def test_a_top_set_with_back_off_sets_is_one_line_a_set():
    # Loads by hand: 3 at RPE 7.5 of 150 kg are 126.8 kg, so 127.5; build-ups at RPE 5 and 6.5 are 117.5 and 122.5 kg;
    # 8 % off 127.5 is 117.3, so 117.5. (117.5 - 20) / 2 = 48.75 = 25 + 20 + 2.5 + 1.25 a side, and so on.
    # Efforts: 117.5 of 150 kg is 0.7833, for (0.7833^-2.5 - 1) / 0.116 + 1 = 8.3 repetitions: 3 leave 5.3, RPE 4.7.
    lines = board(SQUAT).splitlines()
    assert lines[0] == "Legs and push - Wednesday 25 November 2026 (planned)"
    assert lines[2] == "Squat: top set of 3 at RPE 7.5, then 2 sets 8 % lighter"
    assert lines[3].startswith("  (max 150 kg; bar 20 kg; range ")
    assert lines[4] == "  rest 240 s"
    assert lines[5] == "  warm-up   20 kg    x 8    empty bar"
    assert lines[-4] == "  build-up  117.5 kg x 3    each side: 25 20 2.5 1.25  about RPE 4.7"
    assert lines[-3].startswith("  build-up  122.5 kg x 3    each side: 25 25 1.25      about RPE 6.3")
    assert lines[-2] == "  top set   127.5 kg x 3    each side: 25 25 2.5 1.25  about RPE 7.7"
    assert lines[-1].startswith("  back-off  117.5 kg x 3    each side: 25 20 2.5 1.25  ")
    assert lines[-1].endswith(", 2 times")


def test_every_kind_of_load_says_what_to_take():
    shown = board(
        of("dumbbell-press", LoadTarget(reps=10, load=load(22.5, "kg"))),
        of("dip", LoadTarget(reps=5, load=load(10, "kg"))),
        of("dip", LoadTarget(reps=5, load=load(0, "kg"))),
        of("cable", LoadTarget(reps=12, load=load(7, "step"))),
        of("plank", TimeTarget(seconds=40)),
        of("plank", DistanceTarget(metres=20)),
        of("squat", FreeTarget()),
    )
    assert "set       22.5 kg  x 10   each hand" in shown
    assert "set       +10 kg   x 5    hang on: 10" in shown
    assert "set       body     x 5" in shown
    assert "set       step 7   x 12" in shown
    assert "set                40 s" in shown
    assert "set                20 m" in shown


def test_plates_of_another_unit_than_the_bar_carry_it():
    kit = default_kit("kg")
    mixed = Kit(bars=kit.bars, collars=kit.collars, plates=(Plate(load=load(45, "lb"), count=2),))
    target = LoadTarget(reps=5, load=load(61, "kg"))  # 20 kg and twice 45 lb: 20 + 2 * 20.412 = 60.824 kg
    assert "each side: 45lb" in board(of("squat", target, 1), ctx=context(known("squat", 150), kit=mixed))


def test_what_was_done_and_the_last_time_stand_below():
    done = [
        DoneSet(lift="squat", role="top_set", load=load(127.5, "kg"), reps=3, rpe=8.5),
        DoneSet(lift="squat", role="back_off", load=load(117.5, "kg"), reps=2, made=False, ended_by="strength"),
        DoneSet(lift="squat", role="back_off", load=load(115, "kg"), reps=3, rir=5, or_more=True),
        DoneSet(lift="squat", role="back_off", load=None, reps=3, felt="as_expected"),
    ]
    last = (date(2026, 11, 21), [DoneSet(lift="squat", role="top_set", load=load(125, "kg"), reps=3, rpe=7.5)])
    lines = board(SQUAT, done=done, last=last).splitlines()
    assert lines[-5:] == [
        "  done: 127.5 kg x 3 RPE 8.5",
        "  done: 117.5 kg x 2 missed",
        "  done: 115 kg x 3 5 or more left",
        "  done: x 3 as expected",
        "  last time, 21 November 2026: 125 kg x 3 RPE 7.5",
    ]


def test_words_of_the_coach_cautions_and_overrides_are_there():
    rule = Override(
        id="1", kind="cap", lift="squat", reason="Knee", set_by="Ane", until=date(2026, 12, 1), load=load(100, "kg")
    )
    slot = Slot(
        lift="squat",
        scheme=OpenLastSet(sets_before=2, most_reps=10),
        target=PercentTarget(reps=6, percent=60, basis="day"),
        tempo="3-2-x-0",
        note="Reset every repetition",
        optional=True,
        with_next=True,
    )
    shown = board(slot, ctx=context(known("squat", 200), overrides=(rule,)), place="Old mill hall", note="Easy day")
    assert "Legs and push - Wednesday 25 November 2026, Old mill hall (planned)\nEasy day\n" in shown
    assert "(optional)" in shown
    assert "  tempo 3-2-x-0, in turn with the next\n" in shown
    assert "  Note: Reset every repetition\n" in shown
    assert "Knee" in shown
    assert "provisional until that day's heavy set" in shown
    assert "open set" in shown


def test_a_decision_is_followed_by_the_load_without_it():
    # A triple at RPE 7.5 of 150 kg is 127.5 kg (n = 5.5, 0.84534 x 150 = 126.8), the sets after it 8 % less.
    def squats(kind, **more):
        rule = Override(id="1", kind=kind, lift="squat", reason="Knee", set_by="Ane", until=date(2026, 12, 1), **more)
        return " ".join(board(SQUAT, ctx=context(known("squat", 150), overrides=(rule,))).split())

    free = " ".join(board(SQUAT, ctx=context(known("squat", 150))).split())
    assert "top set 127.5 kg" in free
    assert "Coach:" not in free
    assert "(decided by Ane: Knee). Without it: 127.5 kg and 117.5 kg." in squats("load", load=load(100, "kg"))
    assert "(decided by Ane: Knee). Coach: Without it: 127.5 kg." in squats("leave_out")
    # Nothing is as light as 10 kg: the bar alone is 20.
    assert "(decided by Ane: Knee). Without it: 127.5 kg" in squats("cap", load=load(10, "kg"))


def test_a_lift_that_is_left_out_says_so_once():
    rule = Override(id="1", kind="leave_out", lift="squat", reason="Knee", set_by="Ane", until=date(2026, 12, 1))
    shown = board(SQUAT, ctx=context(known("squat", 150), overrides=(rule,)))
    assert shown.count("Knee") == 1
    assert "Squat: left out" in shown


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["squat", "press", "dip", "dumbbell-press", "pause-squat", "cable", "plank"]),
    st.floats(30, 400),
    st.integers(1, 20),
    st.sampled_from(["kg", "lb"]),
    st.text(st.characters(codec="ascii", categories=["L", "N", "P", "Zs"]), max_size=120),
)
def test_lines_are_at_most_80_columns_and_ascii_but_for_names(lift, kg, reps, unit, note):
    target = effort(reps, 8) if lift != "plank" else TimeTarget(seconds=reps)
    slot = Slot(lift=lift, scheme=TopSet(back_off=BackOff(sets=3, less_percent=12)), target=target, note=note or None)
    shown = board(slot, ctx=context(known("squat", kg), known(lift, kg), unit=unit))
    assert max(map(len, shown.splitlines())) <= WIDTH
    assert shown.isascii()


def test_loads_that_hang_in_another_unit_stand_in_the_lifters_unit_too():
    # 5 at 8 of 111 kg: 0.80952 is 89.86, 90 kg: n = 6.94, RPE 8.1; the second set, after 1.03 units, 6.72, RPE 8.3
    # 90 / 0.45359237 = 198.416 lb
    ctx = context(known("press", 111), unit="lb", kit=default_kit("kg"))
    lines = board(of("press", effort(5, 8)), ctx=ctx).splitlines()
    (at,) = [at for at, one in enumerate(lines) if one.startswith("  set       90 kg")]
    assert lines[at + 1].strip() == "= 198.4 lb, up to RPE 8.3, 2 times"


def test_a_range_of_assistance_says_what_it_is_of():
    # 5 at 8 of 75 kg with body 80: 0.80952 is 60.71, 8.4 % of it 5.10: 55.61 to 65.81, so help of 14.2 to 24.4
    heavy = board(of("dip", effort(5, 8)), ctx=context(known("dip", 75)))
    assert "range 14.2 to 24.4 kg of assistance)" in heavy
    # of 100: 80.95 and 6.80: 74.15 to 87.75: 5.8 of help to 7.8 added
    between = board(of("dip", effort(5, 8)), ctx=context(known("dip", 100)))
    assert "range 5.8 kg of assistance to 7.8 kg added)" in between
    # of 120: 97.14 and 8.16: 88.98 to 105.3
    light = board(of("dip", effort(5, 8)), ctx=context(known("dip", 120)))
    assert "range 9 to 25.3 kg added)" in light


def test_a_set_without_a_load_says_what_to_go_by():
    lines = board(of("squat", effort(5, 8)), of("plank", TimeTarget(seconds=40)), ctx=context()).splitlines()
    at = lines.index("  set                x 5      2 times")
    assert lines[at + 1 : at + 3] == [
        "    5 repetitions: no max is known, so choose a load that leaves about two",
        "      repetitions.",
    ]
    assert lines[-1] == "  set                40 s     2 times"


def test_a_timed_set_is_told_by_its_seconds() -> None:
    held = DoneSet(lift="plank", role="target_set", load=None, reps=1, seconds=40, rpe=7)
    assert _done(held) == "40 s RPE 7"
    carried = DoneSet(lift="carry", role="target_set", load=load(24, "kg"), reps=1, seconds=30)
    assert _done(carried) == "24 kg, 30 s"
    lifted = DoneSet(lift="squat", role="top_set", load=load(100, "kg"), reps=3, made=False)
    assert _done(lifted) == "100 kg x 3 missed"


def test_a_carry_is_told_by_its_metres() -> None:
    carried = DoneSet(lift="carry", role="target_set", load=load(24, "kg"), reps=1, metres=30)
    assert _done(carried) == "24 kg, 30 m"
    assert _done(replace(carried, seconds=25, rpe=8)) == "24 kg, 30 m in 25 s RPE 8"
    assert _done(replace(carried, load=None, metres=20.5, made=False)) == "20.5 m missed"
    assert _done(replace(carried, reps=2)) == "24 kg x 2, 30 m"


def test_the_max_of_a_variation_is_its_own():
    # 0.92 x 150 = 138: a percentage of it is not one of 150.
    squat = context(known("squat", 150))
    asked = of("pause-squat", PercentTarget(reps=3, percent=70, basis="tested"))
    assert "  (max 138 kg; bar 20 kg)" in board(asked, ctx=squat)


def test_a_slot_that_is_left_out_has_no_rest():
    order = Override(id="1", kind="leave_out", lift="squat", reason="Knee", set_by="Tove", until=TODAY)
    assert "rest" not in board(SQUAT, ctx=context(known("squat", 150), overrides=(order,)))


def test_back_off_sets_until_an_effort_are_counted_from_the_fewest_to_the_most():
    scheme = TopSet(back_off=BackOff(until_rpe=8, fewest=2, most=5, less_percent=8))
    lines = board(Slot(lift="squat", scheme=scheme, target=effort())).splitlines()
    assert [line for line in lines if line.endswith(", 2 to 5 times")]
