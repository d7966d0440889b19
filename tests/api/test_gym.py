"""/v1/gym: what athletes have where they say nothing."""

from __future__ import annotations

from typing import Any

from starlette.testclient import TestClient


def test_a_new_gym_has_the_usual_settings(coach: TestClient, gym: Any) -> None:
    answer = coach.get("/v1/gym")
    assert answer.headers["etag"] == '"1"'
    found = answer.json()
    assert (found["id"], found["unit"], found["time_zone"], found["place"]) == (str(gym.id), "kg", "Europe/Oslo", None)
    settings = found["settings"]
    # design.md's usual settings: work sets below 9.5, a training max is 95 % (both common practice, no source)
    assert (settings["effort_limit"], settings["training_max_percent"]) == (9.5, 95)
    assert (settings["rounding"], settings["adjustment"], settings["curve"]) == ("nearest", "calculation", "model")


def test_settings_are_merged_and_null_gives_one_back(gym: Any) -> None:
    owner = gym.client("owner")

    def change(settings: dict[str, Any], version: int) -> dict[str, Any]:
        headers = {"If-Match": f'"{version}"'}
        answer = owner.patch("/v1/gym", json={"settings": settings}, headers=headers)
        assert answer.status_code == 200
        found: dict[str, Any] = answer.json()["settings"]
        return found

    assert change({"effort_limit": 9, "rounding": "down"}, 1)["effort_limit"] == 9
    kept = change({"curve": "epley"}, 2)
    assert (kept["effort_limit"], kept["rounding"], kept["curve"]) == (9, "down", "epley")
    back = change({"effort_limit": None}, 3)
    assert (back["effort_limit"], back["rounding"]) == (9.5, "down")


def test_new_athletes_follow_the_gym(gym: Any) -> None:
    owner = gym.client("owner")
    before = owner.post("/v1/athletes", json={"name": "Ask"}).json()
    body = {"unit": "lb", "time_zone": "America/Chicago", "settings": {"effort_limit": 8.5}}
    assert owner.patch("/v1/gym", json=body, headers={"If-Match": "*"}).json()["unit"] == "lb"
    after = owner.post("/v1/athletes", json={"name": "Embla"}).json()
    assert (after["unit"], after["time_zone"]) == ("lb", "America/Chicago")
    there = owner.get(f"/v1/athletes/{before['id']}").json()
    assert (there["unit"], there["settings"]["effort_limit"]) == ("kg", 8.5)


def test_the_default_place_is_one_of_the_gym(gym: Any, other_gym: Any) -> None:
    owner = gym.client("owner")
    mine = owner.post("/v1/places", json={"name": "Hall", "ref": "hall"}).json()["id"]
    theirs = other_gym.client().post("/v1/places", json={"name": "Hall"}).json()["id"]
    assert owner.patch("/v1/gym", json={"place": "ref:hall"}, headers={"If-Match": "*"}).json()["place"] == mine
    refused = owner.patch("/v1/gym", json={"place": theirs}, headers={"If-Match": "*"})
    assert refused.json()["errors"] == [
        {"pointer": "#/place", "code": "unknown", "detail": "names no place of this gym"}
    ]
    assert owner.get("/v1/gym").json()["version"] == 2


def test_a_change_needs_an_owner_and_the_version(gym: Any, other_gym: Any) -> None:
    assert gym.client("coach").patch("/v1/gym", json={"name": "Ours"}, headers={"If-Match": "*"}).status_code == 403
    owner = gym.client("owner")
    assert owner.patch("/v1/gym", json={"name": "Ours"}).status_code == 428
    assert owner.patch("/v1/gym", json={"name": "Ours"}, headers={"If-Match": '"4"'}).status_code == 412
    name = other_gym.client().get("/v1/gym").json()["name"]
    assert owner.patch("/v1/gym", json={"name": name}, headers={"If-Match": "*"}).status_code == 409
    wrong = owner.patch(
        "/v1/gym",
        json={"unit": "stone", "time_zone": "Mars/Base", "settings": {"effort_limit": 12}, "place": "hall"},
        headers={"If-Match": "*"},
    )
    assert {error["pointer"] for error in wrong.json()["errors"]} == {
        "#/unit",
        "#/time_zone",
        "#/settings/effort_limit",
        "#/place",
    }
    assert owner.get("/v1/gym").json()["version"] == 1
