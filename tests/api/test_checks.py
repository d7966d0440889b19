"""/v1/checks and the check of a version, as a coach asks for them."""

from __future__ import annotations

import copy
from typing import Any

from service.api.checks import EXAMPLES
from service.api.plan_examples import WEEKS
from tests.api.plans_at_hand import LEGS, PUSH, athlete, template

HARD = EXAMPLES["too hard"]["value"]
SQUAT: dict[str, Any] = {
    "lift": "squat",
    "scheme": {"kind": "sets_at_target", "sets": 4},
    "target": {"kind": "percent", "reps": 5, "percent": 70, "basis": "tested"},
}


def weeks(*slots: dict[str, Any]) -> list[dict[str, Any]]:
    return [{"sessions": [{"name": "One", "slots": list(slots)}]}]


def checked(coach, body: dict[str, Any]) -> dict[str, Any]:
    answer = coach.post("/v1/checks", json=body)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


def codes(found: dict[str, Any]) -> list[tuple[str, str]]:
    return [(one["level"], one["code"]) for one in found["findings"]]


def test_weeks_are_checked_without_being_stored(coach):
    found = checked(coach, {"weeks": WEEKS})
    assert [week["week"] for week in found["weeks"]] == [1]
    (week,) = found["weeks"]
    assert [one["name"] for one in week["sessions"]] == ["Legs", "Push"]
    assert [one["lift"] for one in week["lifts"]] == ["squat", "pause-squat", "plank", "bench-press"]
    assert {one["tonnage"] for one in week["lifts"]} == {None}
    assert coach.get("/v1/templates").json()["items"] == []


def test_findings_come_first_the_worst_first_each_with_its_source_and_place(coach):
    found = checked(coach, HARD)
    assert list(found) == ["counts", "findings", "weeks"]
    first = found["findings"][0]
    assert (first["level"], first["code"], first["lift"]) == ("error", "effort_over_limit", "squat")
    assert first["pointer"] == "#/weeks/0/sessions/0/slots/0/target"
    assert first["source"].startswith("common practice, no source")
    assert "RPE 9.5" in first["text"]
    order = [("error", "doubt", "note").index(level) for level, _ in codes(found)]
    assert order == sorted(order)
    counts = found["counts"]
    assert (counts["errors"], counts["doubts"], counts["notes"]) == tuple(order.count(n) for n in range(3))


def test_a_stored_version_is_checked_like_its_weeks(coach):
    identity = template(coach)
    found = coach.get(f"/v1/templates/{identity}/versions/latest/check")
    assert found.status_code == 200
    assert found.json() == checked(coach, {"weeks": [{"sessions": [LEGS, PUSH]}] * 2})
    assert coach.get(f"/v1/templates/{identity}/versions/1/check").json() == found.json()


def test_parts_are_checked_as_the_weeks_that_they_stand_for(coach):
    parts = EXAMPLES["parts"]["value"]["parts"]
    found = checked(coach, {"parts": parts})
    drafted = coach.post("/v1/drafts", json={"parts": parts}).json()["weeks"]
    assert len(found["weeks"]) == len(drafted) == 9
    assert found == checked(coach, {"weeks": drafted})
    stored = coach.post("/v1/templates", json={"name": "By parts", "parts": parts}).json()["id"]
    assert coach.get(f"/v1/templates/{stored}/versions/1/check").json() == found
    assert coach.post("/v1/checks", json={"parts": parts, "weeks": drafted}).status_code == 422


def test_equal_findings_are_told_once_with_all_their_places(coach):
    found = checked(coach, {"weeks": HARD["weeks"] * 3})
    (one,) = (one for one in found["findings"] if one["code"] == "effort_over_limit")
    assert one["times"] == 3
    assert one["also"] == [f"#/weeks/{week}/sessions/0/slots/0/target" for week in (1, 2)]


def test_an_athletes_tonnage_is_repetitions_times_their_loads_in_their_unit(coach):
    runa = athlete(coach)  # a tested squat of 150 kg
    found = checked(coach, {"weeks": weeks(SQUAT), "athlete": runa})
    (lift,) = found["weeks"][0]["lifts"]
    assert lift["tonnage"] == {"value": 2100, "unit": "kg", "kg": 2100}  # 4 x 5 x 0.70 x 150
    pounds = checked(coach, {"weeks": weeks(SQUAT), "athlete": runa, "unit": "lb"})
    assert pounds["weeks"][0]["lifts"][0]["tonnage"]["value"] == 4629.708  # 2100 / 0.45359237 = 4629.7075

    body = {"name": "Heavy", "weeks": weeks(SQUAT)}
    made = coach.post("/v1/templates", json=body).json()["id"]
    stored = coach.get(f"/v1/templates/{made}/versions/1/check", params={"athlete": runa})
    assert stored.json() == found


def test_a_basis_that_the_athlete_does_not_have_is_an_error_for_them_alone(coach):
    runa = athlete(coach)
    slot = copy.deepcopy(SQUAT) | {"lift": "deadlift"}
    assert ("error", "basis_missing") not in codes(checked(coach, {"weeks": weeks(slot)}))
    found = checked(coach, {"weeks": weeks(slot), "athlete": runa})
    (one,) = (one for one in found["findings"] if one["code"] == "basis_missing")
    assert one["level"] == "error"
    assert one["pointer"] == "#/weeks/0/sessions/0/slots/0/target/basis"
    assert ("error", "basis_missing") not in codes(checked(coach, {"weeks": weeks(SQUAT), "athlete": runa}))


def test_what_does_not_fit_the_lifts_is_refused_as_in_a_template(coach):
    slot = copy.deepcopy(SQUAT) | {"lift": "moon-walk"}
    answer = coach.post("/v1/checks", json={"weeks": weeks(slot)})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "#/weeks/0/sessions/0/slots/0/lift"


def test_who_and_what_is_not_there_is_told(coach):
    nobody = "00000000-0000-7000-8000-000000000000"
    answer = coach.post("/v1/checks", json={"weeks": WEEKS, "athlete": nobody})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "#/athlete"
    identity = template(coach)
    assert coach.get(f"/v1/templates/{identity}/versions/1/check", params={"athlete": nobody}).status_code == 404
    assert coach.get(f"/v1/templates/{identity}/versions/7/check").status_code == 404
    assert coach.get(f"/v1/templates/{nobody}/versions/1/check").status_code == 404
    assert coach.get(f"/v1/templates/{identity}/versions/1/check", params={"units": "kg"}).status_code == 422


def test_another_gyms_athlete_and_template_are_not_found(coach, other_gym):
    identity, runa, other = template(coach), athlete(coach), other_gym.client("coach")
    assert other.get(f"/v1/templates/{identity}/versions/1/check").status_code == 404
    assert other.post("/v1/checks", json={"weeks": WEEKS, "athlete": runa}).status_code == 422


def test_tonnage_in_pounds_of_loads_in_pounds_is_whole(coach):
    # 75 % of 330 lb is 247.5 lb: 4 x 5 x 247.5 = 4950.
    made = coach.post("/v1/athletes", json={"name": "Mo", "unit": "lb", "time_zone": "Europe/Oslo"}).json()["id"]
    tested = {"lift": "squat", "kind": "tested", "load": {"value": 330, "unit": "lb"}, "date": "2026-01-10"}
    assert coach.post(f"/v1/athletes/{made}/maxes", json=tested).status_code == 201
    asked = {**SQUAT, "target": {**SQUAT["target"], "percent": 75}}
    found = checked(coach, {"weeks": weeks(asked), "athlete": made})
    assert found["weeks"][0]["lifts"][0]["tonnage"]["value"] == 4950


def test_jumps_families_light_efforts_steps_and_holds_are_told(coach):
    def squats(sets: int, reps: int, percent: float, lift: str = "squat") -> dict[str, Any]:
        target = {"kind": "percent", "reps": reps, "percent": percent, "basis": "tested"}
        return {"lift": lift, "scheme": {"kind": "sets_at_target", "sets": sets}, "target": target}

    heavier = checked(coach, {"weeks": [*weeks(squats(5, 5, 70)), *weeks(squats(5, 5, 80))]})
    assert ("note", "jump") in codes(heavier)  # 80 / 70: 14 %
    days = [{"name": name, "slots": [squats(3, 2, 85, lift)]} for name, lift in (("A", "squat"), ("B", "pause-squat"))]
    (one,) = (f for f in checked(coach, {"weeks": [{"sessions": days}]})["findings"] if f["code"].startswith("heavy"))
    assert (one["level"], one["lift"]) == ("note", "pause-squat")
    assert "90 % of that of the squat" in one["text"]
    light = checked(coach, {"weeks": weeks(squats(10, 10, 60))})["weeks"][0]["sessions"][0]["slots"][0]
    assert light["expected_efforts"] == ["five or more left"] * 10
    rows = {
        "lift": "dumbbell-row",
        "scheme": {
            "kind": "sets_at_target",
            "sets": 3,
            "add_load": {"when": "all_sets_complete", "step": {"value": 1, "unit": "kg"}},
        },
        "target": {"kind": "load", "reps": 8, "load": {"value": 20, "unit": "kg"}},
    }
    runa = athlete(coach)  # has no max of rows; the place has pairs every 2.5 kg there
    assert ("doubt", "coarse_steps") in codes(checked(coach, {"weeks": weeks(rows), "athlete": runa}))
    held = {**rows, "lift": "plank", "scheme": {"kind": "sets_at_target", "sets": 3}}
    held["target"] = {"kind": "effort", "reps": 1, "rpe": 8}
    assert ("doubt", "effort_without_load") in codes(checked(coach, {"weeks": weeks(held)}))
