"""Bytes and members that must be refused clearly, and change nothing."""

from __future__ import annotations

import json

import pytest
from starlette.testclient import TestClient

JSON = {"Content-Type": "application/json"}


def count(coach: TestClient) -> int:
    return len(coach.get("/v1/athletes").json()["items"])


@pytest.mark.parametrize(
    "body",
    [
        b'{"name": "A", "birth_year": NaN}',
        b'{"name": "A", "birth_year": Infinity}',
        b'{"name": "A", "birth_year": -Infinity}',
        b'{"name": "A", "name": "B"}',
        b'{"name": "A"',
        b'{"name": "\xff"}',
        b'{"name": "A", "settings": ' + b"[" * 40 + b"]" * 40 + b"}",
        b"[" * 100_000,
        b'{"name": "A", "birth_year": ' + b"9" * 5000 + b"}",
    ],
    ids=["nan", "infinity", "minus-infinity", "twice", "cut", "not-utf8", "deep", "very-deep", "endless-number"],
)
def test_bytes_that_cannot_be_read_are_a_malformed_request(coach: TestClient, body: bytes) -> None:
    answer = coach.post("/v1/athletes", content=body, headers=JSON)
    assert answer.status_code == 400, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["type"] == "/problems/malformed-request"
    assert count(coach) == 0


@pytest.mark.parametrize(
    ("member", "value", "code"),
    [
        ("birth_year", 1e308, "out_of_range"),
        ("birth_year", 1990.5, "not_a_step"),
        ("birth_year", "1990", "not_a_number"),
        ("birth_year", True, "not_a_number"),
        ("name", "a\x00b", "not_unicode"),
        ("name", "   ", "wrong_length"),
        ("name", "x" * 201, "wrong_length"),
        ("name", 7, "not_a_text"),
        ("time_zone", "Mars/Olympus", "unknown_zone"),
        ("ref", "with space", "wrong_form"),
        ("place", "urn:uuid:018f5c19-0c11-7d20-9b1e-2f3a4b5c6d7e", "wrong_form"),
        ("place", "018f5c19-0c11-7d20-9b1e-2f3a4b5c6d7e", "unknown"),
        ("settings", {"effort_limit": 10.3}, "out_of_range"),
        ("settings", {"effort_limit": 8.3}, "not_a_step"),
        ("settings", {"curve": "nobody"}, "not_one_of"),
    ],
)
def test_a_value_that_is_wrong_is_named(coach: TestClient, member: str, value: object, code: str) -> None:
    answer = coach.post("/v1/athletes", json={"name": "A", member: value})
    assert answer.status_code == 422, answer.text
    (error,) = answer.json()["errors"]
    assert error["pointer"].startswith(f"#/{member}")
    assert error["code"] == code
    assert count(coach) == 0


def test_one_of_a_list_is_called_by_its_number_in_it(coach: TestClient) -> None:
    answer = coach.post("/v1/version-moves", json={"template": "ref:none", "blocks": ["x"]}).json()
    assert [error["pointer"] for error in answer["errors"]] == ["#/blocks/0"]
    assert (
        answer["detail"] == "1 field is not valid: number 1 of blocks must be a UUID of version 4 or 7 in lower case."
    )


def test_a_lone_surrogate_is_refused(coach: TestClient) -> None:
    answer = coach.post("/v1/athletes", content=b'{"name": "\\ud800"}', headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["code"] == "not_unicode"


def test_a_number_too_large_for_a_double_is_refused(coach: TestClient) -> None:
    answer = coach.post("/v1/athletes", content=b'{"name": "A", "birth_year": 1e999}', headers=JSON)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["code"] == "out_of_range"


def test_a_body_of_ten_megabytes_is_refused_before_it_is_parsed(coach: TestClient) -> None:
    answer = coach.post("/v1/athletes", content=json.dumps({"name": "x" * 10_000_000}), headers=JSON)
    assert answer.status_code == 413, answer.text[:200]
    assert answer.json()["type"] == "/problems/body-too-large"


def test_a_body_that_is_not_json_is_an_unsupported_media_type(coach: TestClient) -> None:
    answer = coach.post(
        "/v1/athletes", content=b"name=A", headers={"Content-Type": "application/x-www-form-urlencoded"}
    )
    assert answer.status_code == 415, answer.text


@pytest.mark.parametrize("query", ["?limit=0", "?limit=201", "?limit=x", "?lim=5", "?limit=5&limit=6", "?after=zz"])
def test_a_query_that_is_wrong_is_named(coach: TestClient, query: str) -> None:
    answer = coach.get("/v1/athletes" + query)
    assert answer.status_code == 422, answer.text
    assert "parameter" in answer.json()["errors"][0]


@pytest.mark.parametrize(
    "day", ["1899-12-31", "2099-01-01", "2026-02-30", "20261125", "2026-11-25T10:00:00Z", "yesterday"]
)
def test_a_day_centuries_off_in_an_address_is_named(coach: TestClient, day: str) -> None:
    made = coach.post("/v1/athletes", json={"name": "A"}).json()
    answer = coach.put(f"/v1/athletes/{made['id']}/body-weights/{day}", json={"load": {"value": 80, "unit": "kg"}})
    assert answer.status_code == 422
    assert [one["parameter"] for one in answer.json()["errors"]] == ["date"]
    assert coach.get(f"/v1/athletes/{made['id']}/body-weights").json()["items"] == []


@pytest.mark.parametrize(
    ("load", "pointer"),
    [
        ({"value": 80}, "#/load/unit"),
        ({"value": -80, "unit": "kg"}, "#/load"),
        ({"value": 80.0001, "unit": "kg"}, "#/load/value"),
        ({"value": 80, "unit": "stone"}, "#/load/unit"),
        ({"value": 80, "unit": "kg", "kg": 81}, "#/load/kg"),
        ({"value": 80, "unit": "kg", "mass": 80}, "#/load/mass"),
        (80, "#/load"),
    ],
)
def test_a_load_that_is_wrong_is_named(coach: TestClient, load: object, pointer: str) -> None:
    made = coach.post("/v1/athletes", json={"name": "A"}).json()
    path = f"/v1/athletes/{made['id']}/body-weights/2026-11-25"
    answer = coach.put(path, json={"load": load})
    assert answer.status_code == 422, answer.text
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


def test_a_load_that_was_answered_may_be_sent_back(coach: TestClient) -> None:
    made = coach.post("/v1/athletes", json={"name": "A"}).json()
    path = f"/v1/athletes/{made['id']}/body-weights"
    first = coach.put(f"{path}/2026-11-25", json={"load": {"value": 225, "unit": "lb"}}).json()
    assert first["load"] == {"value": 225, "unit": "lb", "kg": 102.058}
    assert coach.put(f"{path}/2026-11-25", json={"load": first["load"]}).status_code == 200


def test_an_unknown_address_and_a_wrong_method_are_problems_too(coach: TestClient) -> None:
    unknown = coach.get("/v1/nothing")
    assert (unknown.status_code, unknown.json()["type"]) == (404, "/problems/not-found")
    wrong = coach.delete("/v1/athletes")
    assert (wrong.status_code, wrong.json()["type"]) == (405, "/problems/method-not-allowed")
    assert "GET" in wrong.headers["allow"]
    assert coach.get("/v1/athletes/").status_code == 404


def test_head_answers_like_get_without_a_body(coach: TestClient) -> None:
    answer = coach.head("/v1/athletes")
    assert (answer.status_code, answer.content) == (200, b"")


@pytest.fixture
def lifter(coach: TestClient) -> str:
    return str(coach.post("/v1/athletes", json={"name": "A"}).json()["id"])


SQUATTED = {"lift": "squat", "load": {"value": 100, "unit": "kg"}, "reps": 5, "rpe": 8}


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"rpe": 10.3}, "#/rpe"),
        ({"rpe": 11}, "#/rpe"),
        ({"rpe": 8.25}, "#/rpe"),
        ({"rpe": "8"}, "#/rpe"),
        ({"rpe": None, "rir": 12}, "#/rir"),
        ({"reps": 0}, "#/reps"),
        ({"reps": 500}, "#/reps"),
        ({"reps": 2.5}, "#/reps"),
        ({"lift": "no-such-lift"}, "#/lift"),
        ({"lift": "Squat!"}, "#/lift"),
        ({"load": {"value": 100}}, "#/load/unit"),
        ({"load": {"value": 1e308, "unit": "kg"}}, "#/load/value"),
        ({"load": {"value": -100, "unit": "kg"}}, "#/load/value"),
        ({"load": {"value": 5, "unit": "step"}}, "#/load/unit"),
        ({"load": {"value": 100, "unit": "kg", "weight": 1}}, "#/load/weight"),
        ({"at": "2026-11-25T18:00:00"}, "#/at"),
        ({"at": "1026-11-25T18:00:00Z"}, "#/at"),
        ({"at": "2199-01-01T00:00:00Z"}, "#/at"),
        ({"at": "yesterday"}, "#/at"),
        ({"note": "a\x00b"}, "#/note"),
        ({"felt": "fine", "rpe": None}, "#/felt"),
        ({"ended_by": "boredom"}, "#/ended_by"),
        ({"pain": "lots"}, "#/pain"),
        ({"support": ["cape"]}, "#/support/0"),
        ({"colour": "red"}, "#/colour"),
    ],
)
def test_a_set_with_a_wrong_member_is_refused_and_not_stored(coach: TestClient, lifter: str, wrong, pointer) -> None:
    body = {name: value for name, value in (SQUATTED | wrong).items() if value is not None}
    answer = coach.post(f"/v1/athletes/{lifter}/sets", json=body)
    assert answer.status_code == 422, answer.text
    assert pointer in [error["pointer"] for error in answer.json()["errors"]]
    assert coach.get(f"/v1/athletes/{lifter}/sets").json()["items"] == []


def test_all_that_is_wrong_with_a_prescription_is_told_at_once(coach: TestClient) -> None:
    answer = coach.post(
        "/v1/prescriptions",
        json={
            "lift": "squat",
            "max": {"value": 150},
            "scheme": {"kind": "top_set", "back_off": {"sets": 99, "less_percent": 8}},
            "target": {"kind": "percent", "reps": 500, "percent": 0.8, "basis": "feeling"},
            "mood": "good",
        },
    )
    assert answer.status_code == 422
    errors = {error["pointer"]: error for error in answer.json()["errors"]}
    assert set(errors) == {
        "#/max/unit",
        "#/scheme/back_off/sets",
        "#/target/reps",
        "#/target/percent",
        "#/target/basis",
        "#/mood",
    }
    assert "did you mean 80?" in errors["#/target/percent"]["detail"]
    assert errors["#/target/reps"]["allowed"] == {"min": 1, "max": 100, "step": 1}
    assert errors["#/target/basis"]["allowed"] == {"values": ["tested", "training", "day", "rolling"]}
