"""/v1/lifts: the catalogue, and a gym's own lifts."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import insert
from starlette.testclient import TestClient

from service.core.catalogue import BUILT_IN
from service.store.ids import new_id
from service.store.session import Caller, Database
from service.store.tables import template_versions, templates

OWN = {"name": "Belt squat", "load_kind": "total", "based_on": "squat", "ratio": 0.9}
BY_ID = {"If-Match": "*"}


def put(client: TestClient, word: str, **members: Any) -> Any:
    return client.put(f"/v1/lifts/{word}", json={"name": word, "load_kind": "total"} | members)


def test_a_new_gym_lists_the_built_in_lifts_by_name_page_by_page(coach: TestClient) -> None:
    seen: list[dict[str, Any]] = []
    after: dict[str, str] = {}
    while True:
        page = coach.get("/v1/lifts", params={"limit": "30"} | after).json()
        seen += page["items"]
        if page["next_page"] is None:
            break
        after = {"after": page["next_page"]}
    assert {lift["id"] for lift in seen} == set(BUILT_IN)
    assert len(seen) == len(BUILT_IN)
    assert all(lift["built_in"] for lift in seen)


def test_a_built_in_variation_says_where_its_ratio_comes_from(coach: TestClient) -> None:
    lift = coach.get("/v1/lifts/pause-squat").json()
    assert (lift["based_on"], lift["load_kind"], lift["curve_group"]) == ("squat", "total", "squat_like")
    assert 0.2 <= lift["ratio"] <= 2
    assert lift["ratio_source"] == "common practice, no source"


def test_an_own_lift_is_made_then_replaced_with_its_version(coach: TestClient) -> None:
    made = coach.put("/v1/lifts/belt-squat", json=OWN)
    assert made.status_code == 201
    lift = made.json()
    assert (lift["curve_group"], lift["technique"], lift["ratio_source"]) == ("squat_like", False, "the gym's own")
    assert coach.get("/v1/lifts/belt-squat").json() == lift

    again = coach.put("/v1/lifts/belt-squat", json=OWN)
    assert again.status_code == 428
    assert again.headers["etag"] == '"1"'
    changed = coach.put("/v1/lifts/belt-squat", json=OWN | {"ratio": 0.95}, headers={"If-Match": '"1"'})
    assert changed.status_code == 200
    assert (changed.json()["ratio"], changed.json()["version"]) == (0.95, 2)
    assert coach.put("/v1/lifts/belt-squat", json=OWN, headers={"If-Match": '"1"'}).status_code == 412
    assert coach.put("/v1/lifts/belt-squat", json=OWN, headers={"If-None-Match": "*"}).status_code == 412

    assert coach.delete("/v1/lifts/belt-squat").status_code == 428
    assert coach.delete("/v1/lifts/belt-squat", headers={"If-Match": '"2"'}).status_code == 204
    assert coach.get("/v1/lifts/belt-squat").status_code == 404


def test_a_replacement_of_a_lift_that_is_not_there_is_not_a_creation(coach: TestClient) -> None:
    assert coach.put("/v1/lifts/belt-squat", json=OWN, headers={"If-Match": '"1"'}).status_code == 404


def test_built_in_lifts_are_neither_changed_nor_removed(coach: TestClient) -> None:
    for answer in (
        coach.put("/v1/lifts/squat", json=OWN | {"based_on": None, "ratio": None}, headers=BY_ID),
        coach.delete("/v1/lifts/squat", headers=BY_ID),
    ):
        assert answer.status_code == 409
        assert answer.json()["type"] == "/problems/conflict"
    assert coach.get("/v1/lifts/squat").json()["name"] == "Squat"


def test_a_lift_is_not_based_on_itself_even_in_a_circle(coach: TestClient) -> None:
    assert put(coach, "one").status_code == 201
    assert put(coach, "two", based_on="one", ratio=0.9).status_code == 201
    for parent in ("one", "two"):
        answer = coach.put(
            "/v1/lifts/one",
            json={"name": "One", "load_kind": "total", "based_on": parent, "ratio": 1},
            headers=BY_ID,
        )
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["pointer"] == "#/based_on"
        assert "must not be this lift" in answer.json()["detail"]


def test_a_ratio_is_followed_over_three_lifts_at_most(coach: TestClient) -> None:
    # squat <- one <- two <- three: three has three lifts above it; a fourth step is refused
    for word, parent in (("one", "squat"), ("two", "one"), ("three", "two")):
        assert put(coach, word, based_on=parent, ratio=0.9).status_code == 201
    assert put(coach, "four", based_on="three", ratio=0.9).status_code == 422


def test_wrong_members_are_named(coach: TestClient) -> None:
    answer = put(coach, "x", load_kind="sack", ratio=3, based_on="Squat", technique="no", curve_group="round")
    found = {error["pointer"]: error for error in answer.json()["errors"]}
    assert set(found) == {"#/load_kind", "#/ratio", "#/based_on", "#/technique", "#/curve_group"}
    assert found["#/ratio"]["allowed"] == {"min": 0.2, "max": 2, "step": 0.001}

    unknown = put(coach, "x", based_on="no-such-lift", ratio=1).json()["errors"]
    assert unknown == [{"pointer": "#/based_on", "code": "unknown", "detail": "names no lift of this gym"}]
    assert put(coach, "x", based_on="squat").json()["errors"][0]["pointer"] == "#/ratio"
    assert put(coach, "x", ratio=0.9).json()["errors"][0]["pointer"] == "#/based_on"
    machine = put(coach, "x", load_kind="stack", based_on="squat", ratio=0.9)
    assert machine.json()["errors"][0]["code"] == "not_comparable"
    assert put(coach, "x", based_on="leg-press", ratio=0.9).json()["errors"][0]["code"] == "unfit"
    assert coach.get("/v1/lifts/x").status_code == 404
    assert put(coach, "Not-a-word").status_code == 404


def test_a_lift_in_use_stays_and_keeps_its_load_kind(coach: TestClient, gym: Any, database: Database) -> None:
    for word in ("parent", "hung", "written", "meant", "free"):
        assert put(coach, word).status_code == 201
    assert put(coach, "child", based_on="parent", ratio=0.9).status_code == 201
    kit = {"name": "Hall", "bars": [{"load": {"value": 20, "unit": "kg"}, "lifts": ["hung"]}]}
    assert coach.post("/v1/places", json=kit).status_code == 201
    body = {"weeks": [{"sessions": [{"slots": [{"lift": "written", "target": {"kind": "percent", "of": "meant"}}]}]}]}
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        template = new_id()
        tx.execute(insert(templates).values(gym_id=gym.id, id=template, name="Autumn", latest=1))
        version = {"number": 1, "name": "Autumn", "body": body, "made_by": "tests"}
        tx.execute(insert(template_versions).values(gym_id=gym.id, template_id=template, **version))
    for word in ("parent", "hung", "written", "meant"):
        assert coach.delete(f"/v1/lifts/{word}", headers=BY_ID).status_code == 409
        other_kind = {"name": "Renamed", "load_kind": "per_hand"}
        assert coach.put(f"/v1/lifts/{word}", json=other_kind, headers=BY_ID).status_code == 409
        renamed = coach.put(f"/v1/lifts/{word}", json=other_kind | {"load_kind": "total"}, headers=BY_ID)
        assert renamed.json()["name"] == "Renamed"
    assert coach.put("/v1/lifts/free", json={"name": "Free", "load_kind": "none"}, headers=BY_ID).status_code == 200
    assert coach.delete("/v1/lifts/free", headers=BY_ID).status_code == 204


def test_own_lifts_belong_to_one_gym_and_need_a_coach(coach: TestClient, gym: Any, other_gym: Any) -> None:
    assert put(coach, "belt-squat").status_code == 201
    stranger = other_gym.client("owner")
    assert stranger.get("/v1/lifts/belt-squat").status_code == 404
    assert stranger.delete("/v1/lifts/belt-squat", headers=BY_ID).status_code == 404
    assert put(stranger, "other", based_on="belt-squat", ratio=1).status_code == 422
    assert put(stranger, "belt-squat", name="Theirs").status_code == 201
    assert coach.get("/v1/lifts/belt-squat").json()["name"] == "belt-squat"
    assert put(gym.client("log"), "mine").status_code == 403
