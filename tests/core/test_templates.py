"""Templates against the lifts they name."""

from dataclasses import replace
from typing import Any

import pytest

from service.core.records import Lift, LoadKind
from service.core.slots import (
    BackOff,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SessionPlan,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.templates import faults, lifts_named, slot_faults
from service.core.units import load


def lift(name: str, kind: LoadKind = "total", **more: Any) -> Lift:
    return Lift(id=name, name=name.capitalize(), load_kind=kind, **more)


LIFTS = {
    one.id: one
    for one in (
        lift("squat"),
        lift("snatch", technique=True),
        lift("plank", "none"),
        lift("dip", "bodyweight"),
        lift("row", "per_hand"),
        lift("cable", "stack"),
    )
}


def slot(target: Target, of: str = "squat") -> Slot:
    return Slot(lift=of, scheme=SetsAtTarget(sets=3), target=target)


def found(target: Target, of: str = "squat") -> list[tuple[str, str]]:
    return [(fault.pointer, fault.code) for fault in slot_faults([slot(target, of)], LIFTS)]


def percent(**more: Any) -> PercentTarget:
    return PercentTarget(**({"reps": 3, "percent": 80, "basis": "tested"} | more))


EFFORT = EffortTarget(reps=3, rpe=8)


@pytest.mark.parametrize(
    ("target", "of", "code"),
    [
        (TimeTarget(seconds=40), "plank", ["load_kind"]),
        (FreeTarget(reps=10), "plank", ["load_kind"]),
        (TimeTarget(seconds=40), "dip", ["does_not_fit"]),
        (TimeTarget(seconds=40, load=load(20, "kg")), "dip", []),
        (FreeTarget(reps=10), "dip", []),
    ],
)
def test_nothing_can_be_taken_off_for_back_off_sets_where_there_is_no_load(
    target: Target, of: str, code: list[str]
) -> None:
    one = replace(slot(target, of), scheme=TopSet(back_off=BackOff(sets=2, less_percent=8)))
    assert [(fault.pointer, fault.code) for fault in slot_faults([one], LIFTS)] == [
        ("#/slots/0/scheme/back_off", each) for each in code
    ]


def test_an_open_set_does_not_end_before_the_target_begins() -> None:
    def of(most: int) -> list[tuple[str, str]]:
        scheme = OpenLastSet(sets_before=2, most_reps=most)
        one = replace(slot(EffortTarget(reps=6, reps_to=8, rpe=8)), scheme=scheme)
        return [(fault.pointer, fault.code) for fault in slot_faults([one], LIFTS)]

    assert of(5) == [("#/slots/0/scheme/most_reps", "does_not_fit")]
    assert of(6) == []


def test_every_wrong_slot_is_named_by_its_pointer_at_once():
    good = slot(EFFORT)
    weeks = [
        WeekPlan(sessions=(SessionPlan(name="A", slots=(good,)),)),
        WeekPlan(
            sessions=(
                SessionPlan(name="A", slots=(good, slot(EFFORT, "snatch"))),
                SessionPlan(name="B", slots=(slot(percent(of="sqaut")), good, slot(EFFORT, "sqaut"))),
            )
        ),
    ]
    assert [(fault.pointer, fault.code) for fault in faults(weeks, LIFTS)] == [
        ("#/weeks/1/sessions/0/slots/1/target", "technique_lift"),
        ("#/weeks/1/sessions/1/slots/0/target/of", "unknown"),
        ("#/weeks/1/sessions/1/slots/2/lift", "unknown"),
    ]


@pytest.mark.parametrize(
    ("of", "target"),
    [
        ("squat", EFFORT),
        ("squat", percent(basis="day", of="dip")),
        ("squat", LoadTarget(reps=5, load=load(100, "kg"))),
        ("snatch", percent(basis="day")),
        ("snatch", LoadTarget(reps=1, load=load(80, "kg"))),
        ("plank", TimeTarget(seconds=40)),
        ("plank", EFFORT),
        ("dip", LoadTarget(reps=5, load=load(-20, "kg"))),
        ("dip", LoadTarget(reps=5, load=load(0, "kg"))),
        ("cable", LoadTarget(reps=12, load=load(7, "step"))),
        ("row", FreeTarget()),
    ],
)
def test_what_a_coach_may_write_has_no_fault(of, target):
    assert found(target, of) == []


@pytest.mark.parametrize(
    ("of", "target", "pointer", "code"),
    [
        ("plank", percent(), "#/slots/0/target", "load_kind"),
        ("squat", percent(of="plank"), "#/slots/0/target/of", "load_kind"),
        ("plank", TimeTarget(seconds=40, load=load(10, "kg")), "#/slots/0/target/load", "load_kind"),
        ("squat", LoadTarget(reps=5, load=load(7, "step")), "#/slots/0/target/load/unit", "load_kind"),
        ("squat", LoadTarget(reps=5, load=load(-20, "kg")), "#/slots/0/target/load/value", "not_positive"),
        ("cable", LoadTarget(reps=5, load=load(-20, "lb")), "#/slots/0/target/load/value", "not_positive"),
        ("squat", LoadTarget(reps=5, load=load(0, "kg")), "#/slots/0/target/load/value", "not_positive"),
        ("snatch", percent(basis="rolling"), "#/slots/0/target/basis", "technique_lift"),
        ("squat", percent(basis="rolling", of="snatch"), "#/slots/0/target/basis", "technique_lift"),
    ],
)
def test_targets_that_do_not_fit_the_load_kind_are_refused_at_their_member(of, target, pointer, code):
    assert found(target, of) == [(pointer, code)]


@pytest.mark.parametrize(
    ("of", "scheme", "codes"),
    [
        ("squat", Ladder(), []),
        ("dip", Ladder(), []),
        ("snatch", Ladder(), ["technique_lift"]),
        ("plank", Ladder(), ["load_kind"]),
        ("snatch", MaxTest(), []),
        ("plank", MaxTest(), ["load_kind"]),
    ],
)
def test_a_ladder_needs_repetitions_left_that_say_something_and_a_test_needs_a_load(of, scheme, codes):
    one = Slot(lift=of, scheme=scheme, target=EffortTarget(reps=1, rpe=10))
    assert [(fault.pointer, fault.code) for fault in slot_faults([one], LIFTS)] == [
        ("#/slots/0/scheme", code) for code in codes
    ]


def test_two_faults_of_one_slot_are_both_named():
    assert found(percent(of="bech"), "sqaut") == [("#/slots/0/lift", "unknown"), ("#/slots/0/target/of", "unknown")]


def test_at_most_fifty_faults_are_told():
    weeks = [WeekPlan(sessions=(SessionPlan(name="A", slots=(slot(EFFORT, "nope"),) * 30),))] * 3
    assert len(faults(weeks, LIFTS)) == 50


def test_all_lifts_that_a_template_names_are_gathered():
    slots = (slot(percent(of="dip")), Slot(lift="row", scheme=TopSet(), target=EFFORT))
    assert lifts_named([WeekPlan(sessions=(SessionPlan(name="A", slots=slots),))]) == {"squat", "dip", "row"}
