"""/v1/estimated-maxes: from one set to the max."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient


def ask(client: TestClient, **members: Any) -> Any:
    body = {"lift": "squat", "load": {"value": 140, "unit": "kg"}, "reps": 5} | members
    return client.post("/v1/estimated-maxes", json=body)


def test_a_set_with_two_left_by_the_default_curve(coach: TestClient) -> None:
    answer = ask(coach, rpe=8)
    assert answer.status_code == 200
    # five done and two left are seven: share (1 + 0.116 x 6) ^ -0.4 (the default curve's closed form)
    expected = 140 * (1 + 0.116 * 6) ** 0.4
    found = answer.json()
    assert found["max"]["value"] == pytest.approx(expected, abs=0.0006)
    assert found["curve"] == "default"
    assert found["range"]["low"]["value"] < expected < found["range"]["high"]["value"]
    assert found["why"]


def test_to_failure_by_a_published_curve_in_pounds(coach: TestClient) -> None:
    # Brzycki 1993: load x 36 / (37 - reps) = 225 x 36 / 31 = 261.290
    answer = ask(coach, lift="bench-press", load={"value": 225, "unit": "lb"}, reps=6, to_failure=True, curve="brzycki")
    assert answer.json()["max"]["value"] == pytest.approx(261.29, abs=0.0006)
    assert answer.json()["max"]["unit"] == "lb"


def test_a_body_is_part_of_the_load(coach: TestClient) -> None:
    pull_up = {"lift": "pull-up", "load": {"value": 20, "unit": "kg"}, "reps": 4, "rir": 1}
    # 82 + 20 = 102 kg, four done and one left are five: 102 x (1 + 0.116 x 4) ^ 0.4 - 82
    found = ask(coach, **pull_up, body_weight={"value": 82, "unit": "kg"}).json()
    assert found["max"]["value"] == pytest.approx(102 * 1.464**0.4 - 82, abs=0.0006)
    assert ask(coach, **pull_up).json()["code"] == "no_body_weight"


def test_a_technique_lift_refuses_effort_and_says_why(coach: TestClient) -> None:
    refused = ask(coach, lift="snatch", reps=2, rpe=8)
    assert (refused.status_code, refused.json()["code"]) == (422, "technique_lift")
    assert "technique" in refused.json()["detail"]
    assert ask(coach, lift="snatch", reps=1, to_failure=True).json()["max"]["value"] == 140


def test_what_has_no_max_is_refused(coach: TestClient) -> None:
    assert ask(coach, lift="plank", rpe=8).json()["code"] == "no_load"
    assert ask(coach, lift="leg-press", load={"value": 7, "unit": "step"}, rpe=8).json()["code"] == "step_without_mass"
    assert ask(coach, reps=40, to_failure=True, curve="kemmler").json()["type"] == "/problems/not-computable"


def test_an_own_lift_is_known_to_its_gym_only(coach: TestClient, other_gym: Any) -> None:
    coach.put("/v1/lifts/log-press", json={"name": "Log press", "load_kind": "total"})
    assert ask(coach, lift="log-press", reps=1, to_failure=True).json()["max"]["value"] == 140
    refused = ask(other_gym.client(), lift="log-press", rpe=8)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/lift")


@pytest.mark.parametrize(
    ("members", "pointers"),
    [
        ({}, {"#"}),
        ({"rpe": 8, "rir": 2}, {"#"}),
        ({"rpe": 8, "to_failure": True}, {"#"}),
        ({"rpe": 10.3}, {"#/rpe"}),
        ({"rpe": 11, "reps": 0}, {"#/rpe", "#/reps"}),
        ({"rpe": 8, "reps": 500}, {"#/reps"}),
        ({"rir": 2, "or_more": True}, {"#/or_more"}),
        ({"rpe": 8, "curve": "guess"}, {"#/curve"}),
        ({"rpe": 8, "load": {"value": 140}}, {"#/load/unit"}),
        ({"rpe": 8, "to_failure": "no"}, {"#/to_failure"}),
        ({"rpe": 8, "body_weight": {"value": -80, "unit": "kg"}}, {"#/body_weight"}),
    ],
)
def test_wrong_members_are_named(coach: TestClient, members: dict[str, Any], pointers: set[str]) -> None:
    answer = ask(coach, **members)
    assert answer.json()["type"] == "/problems/invalid-fields"
    assert {error["pointer"] for error in answer.json()["errors"]} == pointers


def test_five_or_more_left_counts_as_five(coach: TestClient) -> None:
    # design: "five or more" is read as five: five done and five left are ten
    found = ask(coach, rir=6, or_more=True).json()
    assert found["max"]["value"] == pytest.approx(140 * (1 + 0.116 * 9) ** 0.4, abs=0.0006)
