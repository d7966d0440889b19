"""/v1/keys: made, bound, rotated, revoked."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from sqlalchemy import Engine, text
from starlette.testclient import TestClient


def with_key(gym: Any, key: str) -> TestClient:
    return TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})


def athlete(client: TestClient, name: str = "Runa") -> str:
    made: str = client.post("/v1/athletes", json={"name": name}).json()["id"]
    return made


def phone(client: TestClient, person: str, **members: Any) -> dict[str, Any]:
    answer = client.post("/v1/keys", json={"name": "phone", "right": "log", "athlete": person} | members)
    assert answer.status_code == 201
    made: dict[str, Any] = answer.json()
    return made


def days_from_now(moment: str) -> float:
    return (datetime.fromisoformat(moment) - datetime.now(UTC)) / timedelta(days=1)


def test_a_key_is_shown_once_and_works(gym: Any) -> None:
    owner = gym.client("owner")
    answer = owner.post("/v1/keys", json={"name": "Our app", "right": "coach"})
    made = answer.json()
    assert answer.status_code == 201
    assert answer.headers["location"] == f"/v1/keys/{made['id']}"
    assert answer.headers["cache-control"] == "no-store"
    assert re.fullmatch("lw_[0-9A-Za-z]{12}_[0-9A-Za-z]{49}", made["key"])
    assert made["key"].startswith(f"lw_{made['id']}_")
    assert (made["expires_at"], made["athlete"], made["last_used_at"]) == (None, None, None)
    assert with_key(gym, made["key"]).get("/v1").json()["right"] == "coach"

    read = owner.get(f"/v1/keys/{made['id']}").json()
    assert "key" not in read
    assert read["last_used_at"] is not None
    listed = owner.get("/v1/keys", params={"limit": 200}).json()["items"]
    assert read in listed
    assert made["key"][16:] not in owner.get("/v1/keys").text


def test_a_secret_is_not_kept_for_a_repeat(gym: Any, owner_engine: Engine) -> None:
    owner = gym.client("owner")
    sent = {"json": {"name": "Our app", "right": "read"}, "headers": {"Idempotency-Key": "make-one"}}
    made = owner.post("/v1/keys", **sent).json()
    again = owner.post("/v1/keys", **sent)
    assert again.status_code == 409
    assert again.json()["type"] == "/problems/conflict"
    assert f"/v1/keys/{made['id']}/rotation" in again.json()["detail"]
    assert [key["name"] for key in owner.get("/v1/keys").json()["items"]].count("Our app") == 1
    with owner_engine.begin() as connection:
        connection.execute(text("SELECT set_config('app.gym', :gym, true)"), {"gym": str(gym.id)})
        kept = connection.execute(text("SELECT body, location FROM idempotency_keys")).all()
    assert [(row.body, row.location) for row in kept] == [(None, f"/v1/keys/{made['id']}")]


def test_a_key_of_an_athlete_reads_or_logs_and_lives_90_days(gym: Any) -> None:
    coach = gym.client("coach")
    person = athlete(coach)
    made = phone(coach, person)
    assert (made["athlete"], made["lifetime_days"]) == (person, 90)
    assert days_from_now(made["expires_at"]) == pytest.approx(90, abs=0.01)
    bound = with_key(gym, made["key"])
    assert bound.get("/v1").json()["athlete"] == person
    assert bound.get(f"/v1/athletes/{athlete(coach, 'Other')}").status_code == 404
    assert bound.get("/v1/keys").status_code == 403
    for right in ("coach", "owner"):
        refused = coach.post("/v1/keys", json={"name": "phone", "right": right, "athlete": person})
        assert refused.json()["errors"] == [
            {
                "pointer": "#/right",
                "code": "too_much_for_one_athlete",
                "detail": "must be read or log for a key of one athlete",
                "allowed": {"values": ["read", "log"]},
            }
        ]


def test_a_key_of_one_athlete_is_told_that_it_is_one_where_its_right_would_do(gym: Any) -> None:
    coach = gym.client("coach")
    bound = with_key(gym, phone(coach, athlete(coach))["key"])
    refused = bound.get("/v1/templates").json()
    assert refused["type"] == "/problems/missing-right"
    assert refused["detail"] == "This needs a key of the gym with the right 'read'; this key is for one athlete only."
    unbound = gym.client("read").post("/v1/templates", json={}).json()
    assert unbound["detail"] == "This needs the right 'coach'; this key has 'read'."


def test_a_coach_makes_and_manages_keys_of_athletes_only(gym: Any) -> None:
    coach, owner = gym.client("coach"), gym.client("owner")
    for right in ("read", "log", "coach", "owner"):
        refused = coach.post("/v1/keys", json={"name": "server", "right": right})
        assert (refused.status_code, refused.json()["type"]) == (403, "/problems/missing-right")
        assert 'scope="owner"' in refused.headers["www-authenticate"]
    server = owner.post("/v1/keys", json={"name": "server", "right": "read"}).json()["id"]
    mine = phone(coach, athlete(coach))["id"]
    assert [key["id"] for key in coach.get("/v1/keys").json()["items"]] == [mine]
    assert coach.get(f"/v1/keys/{mine}").status_code == 200
    assert coach.get(f"/v1/keys/{server}").status_code == 404
    assert coach.patch(f"/v1/keys/{server}", json={"name": "x"}).status_code == 404
    assert coach.delete(f"/v1/keys/{server}").status_code == 404
    assert coach.post(f"/v1/keys/{server}/rotation", json={}).status_code == 404
    assert coach.post(f"/v1/keys/{mine}/rotation", json={}).status_code == 200
    for right in ("read", "log"):
        assert gym.client(right).get("/v1/keys").status_code == 403
        assert gym.client(right).post("/v1/keys", json={"name": "x", "right": "read"}).status_code == 403
        assert gym.client(right).post(f"/v1/keys/{mine}/rotation", json={}).status_code == 404


def test_after_a_rotation_both_secrets_work_until_the_overlap_ends(gym: Any) -> None:
    coach = gym.client("coach")
    made = phone(coach, athlete(coach))
    rotated = coach.post(f"/v1/keys/{made['id']}/rotation", json={"overlap_hours": 1})
    assert rotated.status_code == 200
    new = rotated.json()
    assert new["id"] == made["id"]
    assert new["key"] != made["key"]
    assert new["version"] == made["version"] + 1
    for key in (new["key"], made["key"]):
        assert with_key(gym, key).get("/v1").status_code == 200


def test_without_an_overlap_the_old_secret_ends(gym: Any) -> None:
    coach = gym.client("coach")
    made = phone(coach, athlete(coach))
    new = coach.post(f"/v1/keys/{made['id']}/rotation", json={"overlap_hours": 0}).json()
    assert with_key(gym, new["key"]).get("/v1").status_code == 200
    assert with_key(gym, made["key"]).get("/v1").status_code == 401


def test_a_key_rotates_itself_and_a_repeat_is_refused(gym: Any) -> None:
    coach = gym.client("coach")
    person = athlete(coach)
    made = phone(coach, person)
    bound = with_key(gym, made["key"])
    headers = {"Idempotency-Key": "new-secret"}
    first = bound.post(f"/v1/keys/{made['id']}/rotation", headers=headers)
    assert first.status_code == 200
    assert days_from_now(first.json()["expires_at"]) == pytest.approx(90, abs=0.01)
    assert bound.post(f"/v1/keys/{made['id']}/rotation", headers=headers).status_code == 409
    other = phone(coach, person)["id"]
    assert bound.post(f"/v1/keys/{other}/rotation").status_code == 404


def test_an_end_that_was_set_is_not_moved_by_a_rotation(gym: Any) -> None:
    coach = gym.client("coach")
    end = (datetime.now(UTC) + timedelta(days=7)).replace(microsecond=0)
    made = phone(coach, athlete(coach), expires_at=end.isoformat())
    assert (datetime.fromisoformat(made["expires_at"]), made["lifetime_days"]) == (end, None)
    new = with_key(gym, made["key"]).post(f"/v1/keys/{made['id']}/rotation").json()
    assert datetime.fromisoformat(new["expires_at"]) == end


def test_name_and_end_can_be_changed(gym: Any) -> None:
    owner = gym.client("owner")
    made = owner.post("/v1/keys", json={"name": "tablet", "right": "log"}).json()
    path = f"/v1/keys/{made['id']}"
    end = (datetime.now(UTC) + timedelta(days=30)).replace(microsecond=0)
    changed = owner.patch(path, json={"name": "old tablet", "expires_at": end.isoformat()}).json()
    assert (changed["name"], datetime.fromisoformat(changed["expires_at"])) == ("old tablet", end)
    never = owner.patch(path, json={"expires_at": None, "name": None}, headers={"If-Match": '"2"'}).json()
    assert (never["name"], never["expires_at"], never["version"]) == ("old tablet", None, 3)
    assert owner.patch(path, json={"name": "late"}, headers={"If-Match": '"2"'}).status_code == 412

    bound = phone(owner, athlete(owner), expires_at=end.isoformat())
    again = owner.patch(f"/v1/keys/{bound['id']}", json={"expires_at": None}).json()
    assert again["lifetime_days"] == 90
    assert days_from_now(again["expires_at"]) == pytest.approx(90, abs=0.01)


def test_a_revoked_key_says_how_long_it_may_still_work_and_gets_no_new_secret(gym: Any) -> None:
    coach = gym.client("coach")
    made = phone(coach, athlete(coach))
    path = f"/v1/keys/{made['id']}"
    gone = coach.delete(path)
    assert gone.status_code == 200
    assert "up to 5 s" in gone.json()["text"]
    assert with_key(gym, made["key"]).get("/v1").status_code == 401
    again = coach.delete(path).json()
    assert (again["revoked_at"], again["version"]) == (gone.json()["revoked_at"], gone.json()["version"])
    assert coach.post(f"{path}/rotation", json={}).status_code == 409


def test_wrong_members_are_named_and_other_gyms_are_not_reached(gym: Any, other_gym: Any) -> None:
    owner = gym.client("owner")
    past = (datetime.now(UTC) - timedelta(days=1)).isoformat()
    wrong = owner.post("/v1/keys", json={"name": "", "right": "admin", "expires_at": past, "athlete": "Runa"})
    assert {error["pointer"] for error in wrong.json()["errors"]} == {"#/name", "#/right", "#/expires_at", "#/athlete"}
    theirs = athlete(other_gym.client())
    unknown = owner.post("/v1/keys", json={"name": "phone", "right": "log", "athlete": theirs})
    assert unknown.json()["errors"][0]["pointer"] == "#/athlete"
    mine = owner.post("/v1/keys", json={"name": "server", "right": "read"}).json()["id"]
    stranger = other_gym.client("owner")
    assert stranger.get(f"/v1/keys/{mine}").status_code == 404
    assert stranger.delete(f"/v1/keys/{mine}").status_code == 404
    assert stranger.post(f"/v1/keys/{mine}/rotation", json={}).status_code == 404
    assert owner.get("/v1/keys/no-such-key!").status_code == 404
    hours = owner.post(f"/v1/keys/{mine}/rotation", json={"overlap_hours": 169}).json()["errors"][0]
    assert hours["allowed"] == {"min": 0, "max": 168, "step": 1, "unit": "hours"}
