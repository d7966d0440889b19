"""Prescriptions as bodies write them: what is read, what is refused, and where the refusal points."""

from __future__ import annotations

import json
from typing import Any

import pytest
from pydantic import BaseModel, ValidationError

from service.api.problems import field_error
from service.api.slots import SessionBody, SlotBody, WeekBody
from service.core.slots import AscendingSets, BackOff, BuildUp, EffortTarget, LoadTarget, PercentTarget, TopSet
from service.core.units import Load
from service.store.plans import SESSION, SLOT, WEEKS, session_json, slot_json, week_json

SESSION_SENT: dict[str, Any] = {
    "name": "Legs and push",
    "slots": [
        {
            "lift": "squat",
            "scheme": {
                "kind": "top_set",
                "back_off": {"sets": 2, "less_percent": 8},
                "build_up": {"percents": [90, 95]},
            },
            "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
            "rest_seconds": 240,
        },
        {
            "lift": "bench-press",
            "scheme": {"kind": "open_last_set", "sets_before": 3, "most_reps": 10, "stop_rpe": 9},
            "target": {"kind": "percent", "reps": 6, "percent": 72.5, "basis": "tested"},
            "support": ["belt", "wraps"],
        },
        {
            "lift": "pause-squat",
            "tempo": "3-2-x-0",
            "scheme": {"kind": "sets_at_target", "sets": 3},
            "target": {
                "kind": "percent",
                "reps": 3,
                "percent": 60,
                "percent_to": 65,
                "basis": "day",
                "of": "squat",
                "valid_days": 1,
            },
        },
        {
            "lift": "dumbbell-row",
            "accessory": True,
            "with_next": True,
            "scheme": {"kind": "sets_at_target", "sets": 3},
            "target": {"kind": "effort", "reps": 8, "reps_to": 12, "rir": 2},
        },
        {
            "lift": "plank",
            "accessory": True,
            "optional": True,
            "scheme": {"kind": "sets_at_target", "sets": 3},
            "target": {"kind": "time", "seconds": 40},
        },
        {
            "lift": "deadlift",
            "scheme": {"kind": "ascending_sets", "percents": [80, 90, 100]},
            "target": {"kind": "load", "reps": 2, "load": {"value": 405, "unit": "lb"}},
            "note": "Reset every repetition",
        },
        {
            "lift": "farmers-carry",
            "scheme": {"kind": "top_set", "same_load": {"sets": 2}},
            "target": {"kind": "distance", "metres": 20.5, "load": {"value": 30, "unit": "kg"}},
        },
        {"lift": "dip", "scheme": {"kind": "sets_at_target", "sets": 1}, "target": {"kind": "free"}},
    ],
}


TWO_AND_A_HALF = {"value": 2.5, "unit": "kg"}
ADDED: dict[str, Any] = {"when": "all_sets_complete", "step": TWO_AND_A_HALF}
CLUSTER = {"kind": "cluster", "sets": 3, "parts": 3, "rest_seconds": 20}
JERKS = [{"lift": "clean", "reps": 1}, {"lift": "jerk", "reps": 2}]
BY_PERCENT = {"kind": "percent", "reps": 1, "percent": 80, "basis": "tested"}


def slot(scheme: dict[str, Any] | None = None, target: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    """A slot that is right but for what the test puts in."""
    usual_scheme = {"kind": "sets_at_target", "sets": 3}
    usual_target = {"kind": "effort", "reps": 5, "rpe": 8}
    return {"lift": "squat", "scheme": scheme or usual_scheme, "target": target or usual_target} | more


def refused(sent: Any, kind: type[BaseModel] = SlotBody) -> dict[str, dict[str, Any]]:
    """The refusals by pointer, as a problem shows them."""
    with pytest.raises(ValidationError) as caught:
        kind.model_validate(sent)
    shown = [field_error(dict(one) | {"loc": ("body", *one["loc"])}, sent) for one in caught.value.errors()]
    assert len({one["pointer"] for one in shown}) == len(shown)
    return {one["pointer"]: one for one in shown}


def test_a_whole_session_is_read_into_what_the_calculation_takes() -> None:
    read = SessionBody.model_validate(SESSION_SENT).record()
    assert (read.name, read.kind, read.note, len(read.slots)) == ("Legs and push", "block", None, 8)
    squat, bench, pause, row, plank, deadlift, _, dip = read.slots
    assert squat.scheme == TopSet(back_off=BackOff(sets=2, less_percent=8), build_up=BuildUp(percents=(90, 95)))
    assert squat.target == EffortTarget(reps=3, rpe=7.5)
    assert bench.support == ("belt", "wraps")
    assert pause.target == PercentTarget(reps=3, percent=60, percent_to=65, basis="day", valid_days=1, of="squat")
    assert (row.accessory, row.with_next, row.optional) == (True, True, False)
    assert (plank.optional, plank.with_next) == (True, False)
    assert deadlift.scheme == AscendingSets(percents=(80, 90, 100))
    # 405 x 0.45359237 kg = 183.70490985 kg
    assert deadlift.target == LoadTarget(reps=2, load=Load(405, "lb", 183.705))
    assert dip.target.kind == "free"


def test_what_is_kept_is_what_was_said_and_can_be_sent_again() -> None:
    read = SessionBody.model_validate(SESSION_SENT).record()
    kept = json.loads(json.dumps(session_json(read)))
    assert SESSION.validate_python(kept) == read
    assert SessionBody.model_validate(kept).record() == read
    said = json.loads(json.dumps(SESSION_SENT)) | {"kind": "block"}
    said["slots"][5]["target"]["load"]["kg"] = 183.705
    said["slots"][6]["target"]["load"]["kg"] = 30
    assert kept == said  # nothing is added but kilograms and the kind; no nulls


def test_slots_and_weeks_are_kept_the_same_way() -> None:
    one = SlotBody.model_validate(slot(note="Slow")).record()
    assert SLOT.validate_python(slot_json(one)) == one
    sent = {"name": "Easy week", "sessions": [SESSION_SENT | {"kind": "test", "note": "All out"}]}
    week = WeekBody.model_validate(sent).record()
    kept = week_json(week)
    assert WEEKS.validate_python([kept]) == (week,)
    assert (kept["name"], kept["sessions"][0]["kind"], kept["sessions"][0]["note"]) == ("Easy week", "test", "All out")
    assert WeekBody.model_validate(kept).record() == week


def test_a_percentage_written_as_a_fraction_is_refused_with_what_was_meant() -> None:
    found = refused(slot(target={"kind": "percent", "reps": 5, "percent": 0.8, "basis": "tested"}))
    assert set(found) == {"#/target/percent"}
    assert found["#/target/percent"]["detail"].endswith("did you mean 80?")
    assert found["#/target/percent"]["allowed"] == {"min": 10, "max": 130, "step": 0.001, "unit": "percent"}


@pytest.mark.parametrize(
    ("target", "pointer", "code"),
    [
        ({"kind": "effort", "reps": 5}, "#/target/rpe", "one_of"),
        ({"kind": "effort", "reps": 5, "rpe": 8, "rir": 2}, "#/target/rir", "one_of"),
        ({"kind": "effort", "reps": 5, "rpe": 10.3}, "#/target/rpe", "out_of_range"),
        ({"kind": "effort", "reps": 5, "rpe": 7.3}, "#/target/rpe", "not_a_step"),
        ({"kind": "effort", "reps": 5, "rpe": 11}, "#/target/rpe", "out_of_range"),
        ({"kind": "effort", "reps": 5, "rir": 9.5}, "#/target/rir", "out_of_range"),
        ({"kind": "effort", "reps": 0, "rpe": 8}, "#/target/reps", "out_of_range"),
        ({"kind": "effort", "reps": 500, "rpe": 8}, "#/target/reps", "out_of_range"),
        ({"kind": "effort", "reps": "5", "rpe": 8}, "#/target/reps", "not_a_number"),
        ({"kind": "effort", "reps": True, "rpe": 8}, "#/target/reps", "not_a_number"),
        ({"kind": "effort", "reps": 5, "reps_to": 4, "rpe": 8}, "#/target/reps_to", "below_other"),
        ({"kind": "effort", "reps": 5, "rpe": 8, "sets": 3}, "#/target/sets", "unknown_member"),
        ({"kind": "percent", "reps": 5, "percent": 80, "basis": "best"}, "#/target/basis", "not_one_of"),
        ({"kind": "percent", "reps": 5, "percent": 80}, "#/target/basis", "required"),
        ({"kind": "percent", "reps": 5, "percent": 131, "basis": "day"}, "#/target/percent", "out_of_range"),
        (
            {"kind": "percent", "reps": 5, "percent": 80, "percent_to": 75, "basis": "day"},
            "#/target/percent_to",
            "below_other",
        ),
        (
            {"kind": "percent", "reps": 5, "percent": 80, "basis": "tested", "valid_days": 2},
            "#/target/valid_days",
            "not_here",
        ),
        (
            {"kind": "percent", "reps": 5, "percent": 80, "basis": "day", "valid_days": 15},
            "#/target/valid_days",
            "out_of_range",
        ),
        ({"kind": "percent", "reps": 5, "percent": 80, "basis": "day", "of": "A"}, "#/target/of", "wrong_form"),
        ({"kind": "load", "reps": 5, "load": {"value": 80}}, "#/target/load/unit", "required"),
        ({"kind": "load", "reps": 5, "load": {"value": 80, "unit": "stone"}}, "#/target/load/unit", "not_one_of"),
        ({"kind": "load", "reps": 5, "load": {"value": 1e308, "unit": "kg"}}, "#/target/load/value", "out_of_range"),
        (
            {"kind": "load", "reps": 5, "load": {"value": 80, "unit": "lb", "kg": 80}},
            "#/target/load/kg",
            "kg_disagrees",
        ),
        ({"kind": "time", "seconds": 0}, "#/target/seconds", "out_of_range"),
        ({"kind": "distance", "metres": -1}, "#/target/metres", "out_of_range"),
        ({"kind": "free", "reps_to": 8}, "#/target/reps", "needed_with"),
    ],
)
def test_a_wrong_target_is_refused_where_it_is_wrong(target: dict[str, Any], pointer: str, code: str) -> None:
    found = refused(slot(target=target))
    assert {at: one["code"] for at, one in found.items()} == {pointer: code}


@pytest.mark.parametrize(
    ("scheme", "pointer", "code"),
    [
        ({"kind": "sets_at_target", "sets": 21}, "#/scheme/sets", "out_of_range"),
        ({"kind": "sets_at_target", "sets": 3, "add_load": {}}, "#/scheme/add_load/when", "required"),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": {"when": "always", "step": TWO_AND_A_HALF}},
            "#/scheme/add_load/when",
            "not_one_of",
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": {"when": "two_more_twice"}},
            "#/scheme/add_load/step",
            "required",
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"step": {"value": 1, "unit": "step"}}},
            "#/scheme/add_load/step",
            "out_of_range",
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"step": {"value": 0, "unit": "kg"}}},
            "#/scheme/add_load/step",
            "out_of_range",
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"after_failures": 2}},
            "#/scheme/add_load/less_percent",
            "needed_with",
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"less_percent": 10}},
            "#/scheme/add_load/after_failures",
            "needed_with",
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"after_failures": 0, "less_percent": 10}},
            "#/scheme/add_load/after_failures",
            "out_of_range",
        ),
        ({"kind": "top_set", "back_off": {"sets": 2}}, "#/scheme/back_off/less_percent", "required"),
        ({"kind": "top_set", "back_off": {"less_percent": 8}}, "#/scheme/back_off/sets", "required"),
        (
            {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8, "until_rpe": 9}},
            "#/scheme/back_off/until_rpe",
            "one_of",
        ),
        (
            {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8, "most": 4}},
            "#/scheme/back_off/most",
            "needed_with",
        ),
        (
            {"kind": "top_set", "back_off": {"less_percent": 8, "until_rpe": 8, "fewest": 4, "most": 3}},
            "#/scheme/back_off/most",
            "below_other",
        ),
        (
            {"kind": "top_set", "back_off": {"less_percent": 8, "until_rpe": 8.2}},
            "#/scheme/back_off/until_rpe",
            "not_a_step",
        ),
        ({"kind": "cluster", "sets": 3, "parts": 1, "rest_seconds": 20}, "#/scheme/parts", "out_of_range"),
        ({"kind": "cluster", "sets": 3, "parts": 3, "rest_seconds": 121}, "#/scheme/rest_seconds", "out_of_range"),
        ({"kind": "cluster", "sets": 3, "parts": 3}, "#/scheme/rest_seconds", "required"),
        ({"kind": "open_last_set", "sets_before": -1}, "#/scheme/sets_before", "out_of_range"),
        (
            {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}, "same_load": {"sets": 1}},
            "#/scheme/same_load",
            "one_of",
        ),
        ({"kind": "top_set", "build_up": {"rpes": [7, 10.5]}}, "#/scheme/build_up/rpes/1", "out_of_range"),
        ({"kind": "open_last_set", "sets_before": 3, "stop_rpe": 11}, "#/scheme/stop_rpe", "out_of_range"),
        ({"kind": "ascending_sets", "percents": [90, 80, 100]}, "#/scheme/percents", "not_rising"),
        ({"kind": "ascending_sets", "percents": [80, 80, 100]}, "#/scheme/percents", "not_rising"),
        ({"kind": "ascending_sets", "percents": [80, 95]}, "#/scheme/percents", "not_100"),
        ({"kind": "ascending_sets", "percents": [0.8, 1]}, "#/scheme/percents/0", "out_of_range"),
        ({"kind": "ascending_sets", "percents": []}, "#/scheme/percents", "wrong_count"),
        ({"kind": "ascending_sets", "percents": 100}, "#/scheme/percents", "not_a_list"),
    ],
)
def test_a_wrong_scheme_is_refused_where_it_is_wrong(scheme: dict[str, Any], pointer: str, code: str) -> None:
    found = refused(slot(scheme=scheme))
    assert found[pointer]["code"] == code
    assert all(at.startswith(pointer.rsplit("/", 1)[0]) for at in found)


def test_a_number_that_another_one_needs_is_asked_for_by_name() -> None:
    scheme = {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"after_failures": 2}}
    found = refused(slot(scheme=scheme))
    assert found["#/scheme/add_load/less_percent"]["detail"] == "is needed with after_failures"


@pytest.mark.parametrize(
    ("scheme", "target"),
    [
        ({"kind": "open_last_set", "sets_before": 2}, {"kind": "time", "seconds": 40}),
        ({"kind": "open_last_set", "sets_before": 2}, {"kind": "distance", "metres": 20}),
        ({"kind": "ascending_sets", "percents": [90, 100]}, {"kind": "free"}),
        ({"kind": "ascending_sets", "percents": [90, 100]}, {"kind": "time", "seconds": 40}),
        (CLUSTER, {"kind": "time", "seconds": 40}),
        (CLUSTER, {"kind": "distance", "metres": 20}),
        ({"kind": "sets_at_target", "sets": 3, "add_load": ADDED}, {"kind": "time", "seconds": 40}),
        ({"kind": "sets_at_target", "sets": 3, "add_load": ADDED}, {"kind": "distance", "metres": 20}),
        ({"kind": "sets_at_target", "sets": 3, "add_load": ADDED}, {"kind": "free"}),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"until_sure": True}},
            {"kind": "load", "reps": 5, "load": TWO_AND_A_HALF},
        ),
        (
            {"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"until_sure": True}},
            {"kind": "free", "reps": 5},
        ),
    ],
)
def test_a_scheme_that_says_nothing_for_its_target_is_refused(scheme: dict[str, Any], target: dict[str, Any]) -> None:
    assert {at: one["code"] for at, one in refused(slot(scheme, target)).items()} == {"#/target": "does_not_fit"}


@pytest.mark.parametrize(
    ("more", "pointer", "code"),
    [
        ({"target": {"kind": "effort", "reps": 1, "rpe": 8}}, "#/target", "does_not_fit"),
        ({"target": {"kind": "time", "seconds": 20}}, "#/target", "does_not_fit"),
        ({"target": BY_PERCENT, "scheme": CLUSTER}, "#/complex", "does_not_fit"),
        ({"target": BY_PERCENT, "scheme": {"kind": "open_last_set", "sets_before": 2}}, "#/complex", "does_not_fit"),
        ({"target": BY_PERCENT, "complex": JERKS[:1]}, "#/complex", "wrong_count"),
        ({"target": BY_PERCENT, "complex": [JERKS[0], {"lift": "jerk"}]}, "#/complex/1/reps", "required"),
    ],
)
def test_a_complex_that_does_not_fit_is_refused_where_it_does_not(
    more: dict[str, Any], pointer: str, code: str
) -> None:
    found = refused(slot(**({"lift": "clean", "complex": JERKS} | more)))
    assert {at: one["code"] for at, one in found.items()} == {pointer: code}


def test_an_open_set_that_would_end_before_the_target_begins_is_refused_at_its_most() -> None:
    target = {"kind": "effort", "reps": 6, "reps_to": 8, "rpe": 8}
    found = refused(slot({"kind": "open_last_set", "sets_before": 2, "most_reps": 5}, target=target))
    assert {at: one["code"] for at, one in found.items()} == {"#/scheme/most_reps": "does_not_fit"}
    assert found["#/scheme/most_reps"]["detail"] == "must be at least the target's repetitions, 6"
    SlotBody.model_validate(slot({"kind": "open_last_set", "sets_before": 2, "most_reps": 6}, target=target))


@pytest.mark.parametrize(
    ("scheme", "more"),
    [
        ({"kind": "top_set", "back_off": {"less_percent": 8, "until_rpe": 8}}, {}),
        ({"kind": "top_set", "back_off": {"less_percent": 8, "until_rpe": 8.5, "fewest": 2, "most": 2}}, {}),
        (CLUSTER, {}),
        (CLUSTER, {"target": {"kind": "free"}}),
        ({"kind": "open_last_set", "sets_before": 0, "most_reps": 10}, {}),
        ({"kind": "sets_at_target", "sets": 3, "add_load": ADDED}, {"target": {"kind": "free", "reps": 8}}),
        ({"kind": "sets_at_target", "sets": 3, "add_load": ADDED | {"until_sure": True}}, {}),
        (
            {
                "kind": "sets_at_target",
                "sets": 3,
                "add_load": {"when": "two_more_twice", "step": {"value": 5, "unit": "lb"}}
                | {"after_failures": 3, "less_percent": 10},
            },
            {"target": {"kind": "load", "reps": 8, "reps_to": 12, "load": {"value": 45, "unit": "lb"}}},
        ),
        (None, {"target": BY_PERCENT, "complex": JERKS, "lift": "clean", "priority": 1}),
    ],
)
def test_every_further_scheme_is_kept_as_it_was_said(scheme: dict[str, Any] | None, more: dict[str, Any]) -> None:
    sent = slot(scheme, **more)
    read = SlotBody.model_validate(sent).record()
    kept = json.loads(json.dumps(slot_json(read)))
    assert SLOT.validate_python(kept) == read
    assert SlotBody.model_validate(kept).record() == read
    assert _without_kg(kept) == sent


def _without_kg(kept: Any) -> Any:
    """What is kept without the kilograms that loads carry."""
    if isinstance(kept, dict):
        return {name: _without_kg(value) for name, value in kept.items() if name != "kg"}
    return [_without_kg(one) for one in kept] if isinstance(kept, list) else kept


@pytest.mark.parametrize("member", ["scheme", "target"])
def test_an_unknown_kind_is_refused_with_the_kinds_there_are(member: str) -> None:
    (at, found), *others = refused(slot(**{member: {"kind": "pyramid", "sets": 4}})).items()
    assert not others
    assert at.startswith(f"#/{member}")
    assert found["code"] == "not_one_of"
    assert {"scheme": "top_set", "target": "effort"}[member] in found["allowed"]["values"]
    assert "pyramid" not in found["allowed"]["values"]


@pytest.mark.parametrize(
    ("member", "value", "pointer", "code"),
    [
        ("lift", "Squat!", "#/lift", "wrong_form"),
        ("tempo", "3-2-x", "#/tempo", "wrong_form"),
        ("rest_seconds", 7201, "#/rest_seconds", "out_of_range"),
        ("note", "", "#/note", "wrong_length"),
        ("note", "a\0b", "#/note", "not_unicode"),
        ("accessory", 1, "#/accessory", "not_a_flag"),
        ("with_next", "true", "#/with_next", "not_a_flag"),
        ("support", ["belt", "cape"], "#/support/1", "not_one_of"),
        ("support", ["none", "belt"], "#/support", "repeated"),
        ("support", ["belt", "belt"], "#/support", "repeated"),
        ("colour", "red", "#/colour", "unknown_member"),
    ],
)
def test_a_wrong_member_of_a_slot_is_refused_where_it_is_wrong(
    member: str, value: Any, pointer: str, code: str
) -> None:
    found = refused(slot(**{member: value}))
    assert {at: one["code"] for at, one in found.items()} == {pointer: code}


def test_all_faults_of_a_week_are_named_at_once_with_exact_pointers() -> None:
    wrong = slot(target={"kind": "effort", "reps": 5, "reps_to": 3, "rpe": 7.3})
    sent = {"sessions": [{"name": "One", "slots": [slot(), wrong]}, {"name": "", "slots": [slot(lift="NO")]}]}
    assert set(refused(sent, WeekBody)) == {
        "#/sessions/0/slots/1/target/reps_to",
        "#/sessions/0/slots/1/target/rpe",
        "#/sessions/1/name",
        "#/sessions/1/slots/0/lift",
    }


def test_a_session_has_one_to_thirty_slots_and_a_week_one_to_fourteen_sessions() -> None:
    assert refused({"name": "None", "slots": []}, SessionBody)["#/slots"]["allowed"] == {"min": 1, "max": 30}
    assert len(SessionBody.model_validate({"name": "Full", "slots": [slot()] * 30}).slots) == 30
    assert set(refused({"name": "Over", "slots": [slot()] * 31}, SessionBody)) == {"#/slots"}
    one = {"name": "One", "slots": [slot()]}
    assert refused({"sessions": [one] * 15}, WeekBody)["#/sessions"]["allowed"] == {"min": 1, "max": 14}
    assert len(WeekBody.model_validate({"sessions": [one] * 14}).sessions) == 14


def test_the_last_slot_cannot_be_done_in_turn_with_a_next_one() -> None:
    sent = {"sessions": [{"name": "One", "slots": [slot(with_next=True), slot(with_next=True)]}]}
    found = refused(sent, WeekBody)
    assert {at: one["code"] for at, one in found.items()} == {"#/sessions/0/slots/1/with_next": "does_not_fit"}
