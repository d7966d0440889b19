"""/v1/places: what can be loaded where people train."""

from __future__ import annotations

from typing import Any

from starlette.testclient import TestClient

HALL: dict[str, Any] = {
    "name": "Old mill hall",
    "ref": "mill",
    "bars": [
        {"name": "bar", "load": {"value": 20, "unit": "kg"}},
        {"name": "light bar", "load": {"value": 33, "unit": "lb"}, "lifts": ["overhead-press"]},
    ],
    "collars": {"value": 5, "unit": "kg"},
    "plates": [
        {"load": {"value": 25, "unit": "kg"}, "count": 8, "colour": "as the door", "diameter_mm": 450},
        {"load": {"value": 45, "unit": "lb"}, "count": 4},
    ],
    "dumbbells": [{"value": 10, "unit": "kg"}, {"value": 25, "unit": "lb"}],
    "stacks": [
        {"name": "cable", "lifts": ["lat-pulldown"], "steps": [{"value": n, "unit": "step"} for n in (1, 2, 3)]}
    ],
}


def kg(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


def test_a_place_is_answered_as_it_was_entered_with_masses(coach: TestClient) -> None:
    made = coach.post("/v1/places", json=HALL)
    assert made.status_code == 201
    place = made.json()
    assert made.headers["location"] == f"/v1/places/{place['id']}"
    assert place["bars"][1] == {
        "name": "light bar",
        "load": {"value": 33, "unit": "lb", "kg": 14.969},  # 33 x 0.45359237 = 14.96854821
        "lifts": ["overhead-press"],
        "count": 1,
    }
    assert place["plates"][0] == {
        "load": {"value": 25, "unit": "kg", "kg": 25},
        "count": 8,
        "colour": "as the door",
        "diameter_mm": 450,
    }
    assert place["dumbbells"][1] == {"value": 25, "unit": "lb", "kg": 11.34}  # 11.33980925
    assert place["stacks"][0]["steps"][2] == {"value": 3, "unit": "step", "kg": None}
    assert coach.get("/v1/places/ref:mill").json() == place
    assert coach.get("/v1/places").json()["items"] == [place]

    sent_back = {name: value for name, value in place.items() if name not in ("id", "version", "created_at")}
    again = coach.put(f"/v1/places/{place['id']}", json=sent_back, headers={"If-Match": '"1"'})
    assert again.json() == place | {"version": 2}


def test_what_is_left_out_is_not_there(coach: TestClient) -> None:
    place = coach.post("/v1/places", json={"name": "Cellar", "bars": [{"load": kg(12.5)}]}).json()
    assert place["bars"] == [{"name": "12.5 kg bar", "load": kg(12.5) | {"kg": 12.5}, "lifts": [], "count": 1}]
    assert (place["plates"], place["dumbbells"], place["stacks"], place["ref"]) == ([], [], [], None)
    assert place["collars"] == {"value": 0, "unit": "kg", "kg": 0}


def test_a_put_by_ref_creates_then_replaces(coach: TestClient) -> None:
    assert coach.put("/v1/places/ref:shed", json={"name": "Shed", "bars": [{"load": kg(20)}]}).status_code == 201
    second = coach.put("/v1/places/ref:shed", json={"name": "Barn"})
    assert second.status_code == 200
    assert (second.json()["ref"], second.json()["bars"], second.json()["version"]) == ("shed", [], 2)
    once = coach.put("/v1/places/ref:shed", json={"name": "Shed"}, headers={"If-None-Match": "*"})
    assert once.status_code == 412
    assert coach.post("/v1/places", json={"name": "Other", "ref": "shed"}).status_code == 409


def test_a_change_replaces_the_lists_that_are_sent_and_no_others(coach: TestClient) -> None:
    coach.post("/v1/places", json=HALL)
    path = "/v1/places/ref:mill"
    assert coach.patch(path, json={"name": "New mill hall"}).status_code == 428
    changed = coach.patch(path, json={"collars": None, "dumbbells": [kg(8)]}, headers={"If-Match": '"1"'}).json()
    assert changed["collars"]["value"] == 0
    assert [one["value"] for one in changed["dumbbells"]] == [8]
    assert (changed["name"], len(changed["plates"]), len(changed["bars"])) == ("Old mill hall", 2, 2)
    assert coach.patch(path, json={"name": "Late"}, headers={"If-Match": '"1"'}).status_code == 412
    unnamed = coach.patch(path, json={"ref": None, "name": None}, headers={"If-Match": '"2"'}).json()
    assert (unnamed["ref"], unnamed["name"]) == (None, "Old mill hall")


def test_a_repeat_stores_one_place(coach: TestClient) -> None:
    sent = {"json": {"name": "Annex"}, "headers": {"Idempotency-Key": "add-annex"}}
    assert coach.post("/v1/places", **sent).content == coach.post("/v1/places", **sent).content
    assert len(coach.get("/v1/places").json()["items"]) == 1


def test_a_place_in_use_stays(gym: Any) -> None:
    owner = gym.client("owner")
    place = owner.post("/v1/places", json={"name": "Hall"}).json()
    athlete = owner.post("/v1/athletes", json={"name": "Runa", "place": place["id"]}).json()
    path = f"/v1/places/{place['id']}"
    assert owner.delete(path).status_code == 428
    assert owner.delete(path, headers={"If-Match": '"9"'}).status_code == 412
    assert owner.delete(path, headers={"If-Match": '"1"'}).status_code == 409
    owner.patch(f"/v1/athletes/{athlete['id']}", json={"place": None}, headers={"If-Match": "*"})
    owner.patch("/v1/gym", json={"place": place["id"]}, headers={"If-Match": "*"})
    assert owner.delete(path, headers={"If-Match": '"1"'}).status_code == 409
    owner.patch("/v1/gym", json={"place": None}, headers={"If-Match": "*"})
    assert owner.delete(path, headers={"If-Match": '"1"'}).status_code == 204
    assert owner.get(path).status_code == 404


def test_every_wrong_member_is_named_with_what_is_allowed(coach: TestClient) -> None:
    wrong = {
        "bars": [{"load": kg(0)}, {"load": {"value": 3, "unit": "step"}}, {"load": kg(101)}],
        "collars": kg(-1),
        "plates": [{"load": kg(20), "count": 0}, {"load": kg(20), "count": 1.5}, {"load": 20, "count": 2}],
        "dumbbells": [kg(500)],
        "stacks": [
            {"name": "a", "steps": []},
            {"name": "b", "steps": [kg(10), kg(5)]},
            {"name": "c", "steps": [kg(5), {"value": 2, "unit": "step"}]},
        ],
        "mats": 4,
    }
    answer = coach.post("/v1/places", json=wrong)
    assert answer.status_code == 422
    found = {error["pointer"]: error for error in answer.json()["errors"]}
    assert set(found) == {
        "#/name",
        "#/bars/0/load",
        "#/bars/1/load",
        "#/bars/2/load",
        "#/collars",
        "#/plates/0/count",
        "#/plates/1/count",
        "#/plates/2/load",
        "#/dumbbells/0",
        "#/stacks/0/steps",
        "#/stacks/1/steps",
        "#/stacks/2/steps",
        "#/mats",
    }
    assert found["#/bars/2/load"]["allowed"] == {"min": 0, "max": 100}
    assert found["#/plates/0/count"]["allowed"] == {"min": 1, "max": 200, "step": 1}
    assert found["#/stacks/1/steps"]["code"] == "not_rising"
    assert found["#/stacks/2/steps"]["code"] == "one_unit"
    assert coach.get("/v1/places").json()["items"] == []


def test_a_name_stands_once_and_lists_have_an_end(coach: TestClient) -> None:
    twice = {"name": "Hall", "bars": [{"name": "bar", "load": kg(20)}, {"name": "bar", "load": kg(15)}]}
    assert coach.post("/v1/places", json=twice).json()["errors"][0]["pointer"] == "#/bars"
    many = {"name": "Hall", "plates": [{"load": kg(1 + n), "count": 2} for n in range(31)]}
    refused = coach.post("/v1/places", json=many).json()["errors"][0]
    assert (refused["pointer"], refused["code"]) == ("#/plates", "wrong_count")


def test_bars_and_machines_are_for_lifts_of_this_gym(coach: TestClient, other_gym: Any) -> None:
    other_gym.client().put("/v1/lifts/theirs", json={"name": "Theirs", "load_kind": "total"})
    body = {"name": "Hall", "bars": [{"load": kg(20), "lifts": ["squat", "theirs"]}]}
    assert coach.post("/v1/places", json=body).json()["errors"] == [
        {"pointer": "#/bars/0/lifts/1", "code": "unknown", "detail": "names no lift of this gym"}
    ]
    coach.put("/v1/lifts/theirs", json={"name": "Ours", "load_kind": "total"})
    assert coach.post("/v1/places", json=body).status_code == 201


def test_another_gym_finds_no_place_and_cannot_use_it(coach: TestClient, gym: Any, other_gym: Any) -> None:
    place = coach.post("/v1/places", json=HALL).json()
    stranger = other_gym.client("owner")
    for path in (f"/v1/places/{place['id']}", "/v1/places/ref:mill"):
        assert stranger.get(path).status_code == 404
        assert stranger.delete(path, headers={"If-Match": "*"}).status_code == 404
        assert stranger.patch(path, json={"name": "Mine"}, headers={"If-Match": "*"}).status_code == 404
    assert stranger.get("/v1/places").json()["items"] == []
    assert stranger.post("/v1/athletes", json={"name": "Eve", "place": place["id"]}).status_code == 422
    assert gym.client("log").post("/v1/places", json=HALL).status_code == 403
