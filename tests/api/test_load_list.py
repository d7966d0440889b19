"""/v1/athletes/{athlete}/load-list: loads of the place, and how many repetitions leave one, two and three."""

from __future__ import annotations

from math import exp, log
from typing import Any

import pytest
from starlette.testclient import TestClient


def kg(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


@pytest.fixture
def athlete(coach: TestClient) -> str:
    made = coach.post("/v1/athletes", json={"name": "Runa Fell"})
    body = {"lift": "bench-press", "kind": "tested", "load": kg(100), "date": "2026-11-01"}
    assert coach.post(f"/v1/athletes/{made.json()['id']}/maxes", json=body).status_code == 201
    return str(made.json()["id"])


def read(client: TestClient, athlete: str, lift: str = "bench-press", **query: str) -> dict[str, Any]:
    given = client.get(f"/v1/athletes/{athlete}/load-list", params={"lift": lift} | query)
    assert given.status_code == 200, given.text
    return dict(given.json())


def most(reps: int, left: int) -> float:
    """The model's load for a new bench press of 100 kg, by hand: g(n) and the report bias of so many left. [kg]"""
    grown = 1 + 0.116 * (reps + left - 1)
    bias = 0.2 + 0.1 * max(0, left - 1)
    return 100 * exp(-(0.4 * log(grown) + 0.0464 / grown * bias))


def test_each_count_is_the_most_that_leaves_so_many(coach: TestClient, athlete: str) -> None:
    found = read(coach, athlete)
    assert (found["max"]["value"], found["unit"]) == (100, "kg")
    loads = [one["load"]["value"] for one in found["loads"]]
    assert loads == sorted(loads, reverse=True)
    assert all(value % 2.5 == 0 for value in loads)  # what the usual plates allow
    for one in found["loads"]:
        for count in one["counts"]:
            reps, left, value = count["reps"], count["left"], one["load"]["value"]
            if reps is None:
                assert most(1, left) < value
                continue
            assert most(reps, left) >= value
            if reps + left < 15:
                assert most(reps + 1, left) < value
            assert count["weak"] == (reps + left > 12)


def test_a_single_that_leaves_two_is_about_92_percent(coach: TestClient, athlete: str) -> None:
    # common practice, no source: 91 to 94 %; reports are taken to say a little too few, so a bit under 92 of 100 kg.
    first = next(one for one in read(coach, athlete)["loads"] if one["counts"][1]["reps"] is not None)
    assert first["load"]["value"] == 90
    assert first["counts"][1] == {"left": 2, "reps": 1, "weak": False}


def test_a_pinned_curve_makes_the_list(coach: TestClient, athlete: str) -> None:
    changed = coach.patch(f"/v1/athletes/{athlete}", json={"settings": {"curve": "epley"}}, headers={"If-Match": "*"})
    assert changed.status_code == 200, changed.text
    found = read(coach, athlete)
    assert found["range"] is None
    assert "pinned curve" in found["text"]
    for one in found["loads"]:
        for count in one["counts"]:
            if count["reps"] is not None and count["reps"] + count["left"] >= 2:
                # Epley 1985: 100 kg / (1 + n / 30)
                assert 100 / (1 + (count["reps"] + count["left"]) / 30) >= one["load"]["value"] - 1e-6


def test_pounds_are_loads_of_pounds_where_the_place_has_them(coach: TestClient) -> None:
    person = coach.post("/v1/athletes", json={"name": "Ada", "unit": "lb"}).json()["id"]
    body = {"lift": "squat", "kind": "tested", "load": {"value": 300, "unit": "lb"}, "date": "2026-11-01"}
    coach.post(f"/v1/athletes/{person}/maxes", json=body)
    found = read(coach, person, "squat")
    assert {one["load"]["unit"] for one in found["loads"]} == {"lb"}
    assert all(one["load"]["value"] % 5 == 0 for one in found["loads"])


def test_plain_text_is_for_the_wall(coach: TestClient, athlete: str) -> None:
    path = f"/v1/athletes/{athlete}/load-list?lift=bench-press"
    by_header = coach.get(path, headers={"Accept": "text/plain"})
    assert by_header.headers["content-type"].startswith("text/plain")
    assert by_header.text == coach.get(f"{path}&format=text").text
    lines = by_header.text.splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert by_header.text.isascii()
    assert next(line for line in lines if "one left" in line).split() == [
        "load",
        "one",
        "left",
        "two",
        "left",
        "three",
        "left",
    ]
    # 90 kg: most(2, 1) = 91.4 and most(3, 1) = 88.2, so two leave one; one leaves two; none leaves three (88.0)
    assert next(line for line in lines if line.strip().startswith("90 kg")).split() == ["90", "kg", "2", "1", "-"]
    assert coach.get(path, headers={"Accept": "text/csv"}).status_code == 406


def test_where_nothing_is_known_the_list_is_empty_and_says_why(coach: TestClient, athlete: str) -> None:
    for lift, words in (("deadlift", "Nothing is known"), ("snatch", "technique"), ("plank", "without a load")):
        found = read(coach, athlete, lift)
        assert (found["loads"], found["max"]) == ([], None)
        assert words in found["text"]


def test_a_lift_has_to_be_named_and_known(coach: TestClient, athlete: str) -> None:
    assert coach.get(f"/v1/athletes/{athlete}/load-list").status_code == 422
    assert coach.get(f"/v1/athletes/{athlete}/load-list?lift=hand-stand").status_code == 404


def test_a_coachs_cap_is_said(coach: TestClient, athlete: str) -> None:
    decided = {"kind": "cap", "lift": "bench-press", "load": kg(80), "until": "2030-01-31", "reason": "Shoulder"}
    assert coach.post(f"/v1/athletes/{athlete}/overrides", json=decided).status_code == 201
    assert "80 kg" in next(one["text"] for one in read(coach, athlete)["cautions"] if one["code"] == "override")


def test_what_the_reader_has_already_is_not_sent_again(coach: TestClient, athlete: str) -> None:
    path = f"/v1/athletes/{athlete}/load-list?lift=bench-press"
    tag = coach.get(path).headers["etag"]
    assert coach.get(path, headers={"If-None-Match": tag}).status_code == 304
    text = coach.get(f"{path}&format=text", headers={"If-None-Match": tag})
    assert text.status_code == 200
