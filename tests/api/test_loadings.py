"""/v1/loadings: what to load for an exact load. The usual kit and rounding are common practice, no source."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient


def kg(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


def lb(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "lb"}


def ask(client: TestClient, lift: str, load: dict[str, Any], **members: Any) -> Any:
    return client.post("/v1/loadings", json={"lift": lift, "load": load} | members)


def per_side(answer: Any) -> list[float]:
    return [one["plate"]["value"] for one in answer.json()["loading"]["per_side"] for _ in range(one["count"])]


def test_the_usual_plates_in_kilograms(coach: TestClient) -> None:
    answer = ask(coach, "squat", kg(126.802))
    # steps of 2.5 from a bar of 20: 125 is 1.802 off, 127.5 is 0.698 off; (127.5 - 20) / 2 = 53.75 = 25 25 2.5 1.25
    assert answer.status_code == 200
    loading = answer.json()["loading"]
    assert (loading["kind"], loading["load"]["value"], loading["difference"]["value"]) == ("bar", 127.5, 0.698)
    assert (loading["exact"]["value"], loading["bar"]["value"]) == (126.802, 20)
    assert per_side(answer) == [25, 25, 2.5, 1.25]
    assert answer.json()["text"] == "each side: 25 25 2.5 1.25"
    assert answer.json()["change"] is None
    assert answer.headers["cache-control"] == "no-store"


def test_pounds_down_with_what_hangs_now(coach: TestClient) -> None:
    answer = ask(coach, "deadlift", lb(278.964), rounding="down", **{"from": [{"plate": lb(45), "count": 2}]})
    # below 278.964 in steps of 5 from a bar of 45: 275; (275 - 45) / 2 = 115 = 45 45 25; two 45s hang: put on 25
    assert answer.json()["loading"]["load"] == {"value": 275, "unit": "lb", "kg": 124.738}  # 124.73790175
    assert per_side(answer) == [45, 45, 25]
    change = answer.json()["change"]
    assert (change["take_off"], change["moved"]) == ([], 2)
    assert [(one["plate"]["value"], one["count"]) for one in change["put_on"]] == [(25, 1)]
    assert change["text"] == "Each side: put on 25."


def test_an_empty_bar_is_changed_too_and_a_bar_may_stay(coach: TestClient) -> None:
    assert ask(coach, "squat", kg(60), **{"from": []}).json()["change"]["text"] == "Each side: put on 20."
    stays = ask(coach, "squat", kg(60), **{"from": [{"plate": kg(20), "count": 1}]}).json()["change"]
    assert (stays["moved"], stays["text"]) == (0, "Leave the bar as it is.")


def test_a_place_that_is_not_stored(coach: TestClient) -> None:
    place = {
        "bars": [{"load": kg(15)}],
        "plates": [{"load": kg(5), "count": 4}, {"load": kg(1.25), "count": 2}],
    }
    # 15, 17.5, 25, 27.5, 35, 37.5: 35 is nearest to 33.2, 27.5 the next lighter
    assert per_side(ask(coach, "overhead-press", kg(33.2), place=place)) == [5, 5]
    assert per_side(ask(coach, "overhead-press", kg(33.2), place=place, rounding="down")) == [5, 1.25]
    assert per_side(ask(coach, "overhead-press", kg(33.2), place=place, rounding="up")) == [5, 5]


def test_a_stored_place_by_id_and_by_ref_with_pounds_on_a_bar_in_kilograms(coach: TestClient) -> None:
    body = {
        "name": "Hall",
        "ref": "hall",
        "bars": [{"name": "bar", "load": kg(20)}, {"name": "thick bar", "load": kg(25)}],
        "plates": [{"load": lb(45), "count": 2}, {"load": kg(10), "count": 2}],
    }
    place = coach.post("/v1/places", json=body).json()["id"]
    # 20, 40, and with two 45 lb plates 20 + 90 x 0.45359237 = 60.8233133 kg, shown 60.823
    for named in (place, "ref:hall"):
        answer = ask(coach, "squat", kg(60), place=named)
        assert answer.json()["loading"]["load"] == {"value": 60.823, "unit": "kg", "kg": 60.823}
        assert answer.json()["text"] == "each side: 45 lb"
    assert ask(coach, "squat", kg(46), place=place, bar="thick bar").json()["loading"]["load"]["value"] == 45
    assert ask(coach, "squat", kg(46), place=place, bar="no bar").json()["code"] == "no_bar"
    assert ask(coach, "dumbbell-row", kg(20), place=place).json()["code"] == "no_dumbbells"


@pytest.mark.parametrize(
    ("lift", "exact", "expected"),
    [
        # pairs of 1 to 10 by 1 and to 60 by 2.5: 20 is 1 off, 22.5 is 1.5 off
        ("dumbbell-row", 21, {"kind": "dumbbells", "load": 20, "difference": -1}),
        # on a belt 12.5 (10 and 2.5) is 0.5 off, 11.25 is 0.75 off
        ("pull-up", 12, {"kind": "bodyweight", "load": 12.5, "difference": 0.5}),
        # assistance by 2.5
        ("pull-up", -7, {"kind": "bodyweight", "load": -7.5, "difference": -0.5}),
        # steps of 5
        ("lat-pulldown", 52, {"kind": "stack", "load": 50, "difference": -2}),
    ],
)
def test_every_load_kind_is_loaded(coach: TestClient, lift: str, exact: float, expected: dict[str, Any]) -> None:
    loading = ask(coach, lift, kg(exact)).json()["loading"]
    shown = {"kind": loading["kind"], "load": loading["load"]["value"], "difference": loading["difference"]["value"]}
    assert shown == expected


def test_a_lift_without_load_has_no_loading_and_only_bars_have_plates_to_change(coach: TestClient) -> None:
    refused = ask(coach, "plank", kg(10))
    assert (refused.status_code, refused.json()["code"]) == (422, "no_load")
    assert ask(coach, "dumbbell-row", kg(20), **{"from": []}).json()["code"] == "no_bar"


def test_the_unit_of_the_answer_can_be_chosen(coach: TestClient) -> None:
    # 100 kg are 220.462 lb; in steps of 5 from 45: 220
    assert ask(coach, "squat", kg(100), unit="lb").json()["loading"]["load"] == {
        "value": 220,
        "unit": "lb",
        "kg": 99.79,
    }


def test_own_lifts_are_looked_up_in_the_gym_only(coach: TestClient, other_gym: Any) -> None:
    coach.put("/v1/lifts/log-press", json={"name": "Log press", "load_kind": "total"})
    assert ask(coach, "log-press", kg(61)).json()["loading"]["load"]["value"] == 60
    place = coach.post("/v1/places", json={"name": "Hall", "ref": "hall"}).json()["id"]
    stranger = other_gym.client()
    unknown = ask(stranger, "log-press", kg(61))
    assert unknown.json()["errors"][0]["pointer"] == "#/lift"
    for named in (place, "ref:hall"):
        refused = ask(stranger, "squat", kg(61), place=named)
        assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/place")


def test_wrong_members_are_named_inside_the_place_too(coach: TestClient) -> None:
    answer = coach.post(
        "/v1/loadings",
        json={
            "lift": "squat",
            "load": {"value": 3, "unit": "step"},
            "place": {"bars": [{"load": kg(500)}], "name": "Hall"},
            "rounding": "away",
            "from": [{"plate": kg(20), "count": 0}],
        },
    )
    assert {error["pointer"] for error in answer.json()["errors"]} == {
        "#/load",
        "#/place/bars/0/load",
        "#/place/name",
        "#/rounding",
        "#/from/0/count",
    }
    assert ask(coach, "squat", kg(60), place="hall").json()["errors"][0]["pointer"] == "#/place"
    assert ask(coach, "squat", kg(60), place=7).json()["errors"][0]["pointer"] == "#/place"
    assert ask(coach, "squat", {"value": 1e308, "unit": "kg"}).json()["errors"][0]["pointer"] == "#/load/value"
    assert ask(coach, "squat", {"value": 60}).json()["errors"][0]["code"] == "required"
