"""/v1/athletes, as an app that syncs its members uses it."""

from __future__ import annotations

from starlette.testclient import TestClient


def test_an_athlete_is_made_read_changed_and_listed(coach: TestClient) -> None:
    made = coach.post("/v1/athletes", json={"name": "Runa Fell", "ref": "runa", "unit": "lb"})
    assert made.status_code == 201
    athlete = made.json()
    assert made.headers["location"] == f"/v1/athletes/{athlete['id']}"
    assert made.headers["etag"] == '"1"'
    assert (athlete["unit"], athlete["time_zone"]) == ("lb", "Europe/Oslo")

    read = coach.get("/v1/athletes/ref:runa")
    assert read.json() == athlete

    changed = coach.patch(
        "/v1/athletes/ref:runa",
        json={"settings": {"effort_limit": 9}, "birth_year": 1990},
        headers={"If-Match": '"1"'},
    )
    assert changed.status_code == 200
    assert changed.json()["settings"]["effort_limit"] == 9
    assert changed.json()["version"] == 2

    listed = coach.get("/v1/athletes").json()
    assert [a["name"] for a in listed["items"]] == ["Runa Fell"]
    assert listed["next_page"] is None


def test_a_change_without_the_version_is_refused_and_a_stale_one_too(coach: TestClient) -> None:
    made = coach.post("/v1/athletes", json={"name": "Odd"}).json()
    path = f"/v1/athletes/{made['id']}"
    assert coach.patch(path, json={"name": "Even"}).status_code == 428
    assert coach.patch(path, json={"name": "Even"}, headers={"If-Match": '"1"'}).status_code == 200
    stale = coach.patch(path, json={"name": "Odd"}, headers={"If-Match": '"1"'})
    assert stale.status_code == 412
    assert stale.headers["etag"] == '"2"'
    assert stale.json()["type"] == "/problems/changed-meanwhile"


def test_a_put_by_ref_creates_then_replaces(coach: TestClient) -> None:
    first = coach.put("/v1/athletes/ref:m-7", json={"name": "Mats", "experience": "beginner"})
    assert first.status_code == 201
    second = coach.put("/v1/athletes/ref:m-7", json={"name": "Mats H"})
    assert second.status_code == 200
    assert second.json()["id"] == first.json()["id"]
    assert second.json()["experience"] is None


def test_a_repeat_with_the_same_key_stores_once_and_answers_the_same(coach: TestClient) -> None:
    sent = {"json": {"name": "Pia"}, "headers": {"Idempotency-Key": "one-action"}}
    first, again = coach.post("/v1/athletes", **sent), coach.post("/v1/athletes", **sent)
    assert first.content == again.content
    assert again.headers["idempotent-replayed"] == "true"
    assert again.headers["location"] == first.headers["location"]
    assert len(coach.get("/v1/athletes").json()["items"]) == 1
    other = coach.post("/v1/athletes", json={"name": "Per"}, headers={"Idempotency-Key": "one-action"})
    assert other.json()["type"] == "/problems/key-reused"


def test_every_wrong_field_is_named_with_what_is_allowed(coach: TestClient) -> None:
    answer = coach.post(
        "/v1/athletes",
        json={"name": "", "unit": "stone", "colour": "red", "birth_year": 19, "settings": {"effort_limit": 11}},
    )
    assert answer.status_code == 422
    errors = {error["pointer"]: error for error in answer.json()["errors"]}
    assert set(errors) == {"#/name", "#/unit", "#/colour", "#/birth_year", "#/settings/effort_limit"}
    assert errors["#/settings/effort_limit"]["allowed"] == {"min": 6, "max": 10, "step": 0.5}
    assert errors["#/unit"]["allowed"] == {"values": ["kg", "lb"]}
    assert errors["#/colour"]["code"] == "unknown_member"


def test_body_weights_have_the_day_as_their_key(coach: TestClient) -> None:
    made = coach.post("/v1/athletes", json={"name": "Ida"}).json()
    path = f"/v1/athletes/{made['id']}/body-weights"
    assert coach.put(f"{path}/2026-11-01", json={"load": {"value": 180.5, "unit": "lb"}}).status_code == 201
    assert coach.put(f"{path}/2026-11-01", json={"load": {"value": 181, "unit": "lb"}}).status_code == 200
    assert coach.put(f"{path}/2026-11-08", json={"load": {"value": 82, "unit": "kg"}}).status_code == 201
    listed = coach.get(path).json()["items"]
    # 181 lb x 0.45359237 kg = 82.10021897 kg
    assert listed == [
        {"date": "2026-11-08", "load": {"value": 82, "unit": "kg", "kg": 82}},
        {"date": "2026-11-01", "load": {"value": 181, "unit": "lb", "kg": 82.1}},
    ]
    assert coach.delete(f"{path}/2026-11-01").status_code == 204
    assert coach.delete(f"{path}/2026-11-01").status_code == 404


def test_another_gym_finds_nothing(coach: TestClient, other_gym) -> None:
    made = coach.post("/v1/athletes", json={"name": "Ada", "ref": "ada"}).json()
    stranger = other_gym.client("owner")
    for path in (f"/v1/athletes/{made['id']}", "/v1/athletes/ref:ada"):
        assert stranger.get(path).status_code == 404
    assert stranger.get("/v1/athletes").json()["items"] == []


def test_a_list_is_read_page_by_page_without_gaps_or_doubles(coach: TestClient) -> None:
    made = coach.post("/v1/athletes", json={"name": "Ida"}).json()
    path = f"/v1/athletes/{made['id']}/body-weights"
    for day in range(1, 8):
        coach.put(f"{path}/2026-11-0{day}", json={"load": {"value": 80 + day, "unit": "kg"}})
    seen, target = [], f"{path}?limit=3"
    while target:
        page = coach.get(target)
        seen += [item["date"] for item in page.json()["items"]]
        link = page.headers.get("link")
        target = link.split(";")[0].strip("<>") if link else None
    assert seen == [f"2026-11-0{day}" for day in range(7, 0, -1)]
