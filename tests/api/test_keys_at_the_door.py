"""Who may come in: keys that are missing, wrong, revoked, expired, too weak, or bound to another athlete."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from service.api import access
from service.store import keys
from service.store.key_text import new_key_text, read_key_text
from service.store.session import Caller


@pytest.fixture
def knock(app):
    def send(text: str | None) -> object:
        headers = {} if text is None else {"Authorization": text}
        return TestClient(app, headers=headers).get("/v1")

    return send


def as_owner(database, gym):
    return database.transaction(Caller(gym.id, "", "test", "owner", None), datetime.now(UTC))


def test_without_a_key_the_answer_says_what_to_send(knock) -> None:
    answer = knock(None)
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"] == 'Bearer realm="loadwright"'
    assert answer.json()["type"] == "/problems/no-key"


@pytest.mark.parametrize("text", ["Bearer", "Bearer x", "Basic bHc6", "Bearer lw_a_b", "lw_"])
def test_what_is_no_key_is_a_wrong_key(knock, text: str) -> None:
    answer = knock(text)
    assert answer.status_code in (401, 429)
    if answer.status_code == 401:
        assert answer.json()["type"] == "/problems/wrong-key"
        assert 'error="invalid_token"' in answer.headers["www-authenticate"]


def test_one_mistyped_character_is_told_without_the_database() -> None:
    text = new_key_text().text
    assert read_key_text(text) is not None
    for place in range(len(text)):
        other = "A" if text[place] != "A" else "B"
        assert read_key_text(text[:place] + other + text[place + 1 :]) is None, place


def test_a_stored_key_holds_no_secret(database, gym) -> None:
    with as_owner(database, gym) as tx:
        listed, made = keys.add(tx, name="till", right="log")
    found = keys.look_up(database.engine, listed.id)
    assert found is not None
    assert found.secret_hash == made.hash
    assert made.secret.encode() not in found.secret_hash


def test_a_revoked_key_is_refused_when_the_memory_of_it_is_over(database, gym, knock, monkeypatch) -> None:
    with as_owner(database, gym) as tx:
        listed, made = keys.add(tx, name="lost phone", right="log")
    assert knock(f"Bearer {made.text}").status_code == 200
    with as_owner(database, gym) as tx:
        keys.revoke(tx, listed.id)
    later = access.time.monotonic() + access.REMEMBERED_SECONDS + 0.1
    monkeypatch.setattr(access.time, "monotonic", lambda: later)
    assert knock(f"Bearer {made.text}").status_code == 401


def test_an_expired_key_is_refused(database, gym, knock) -> None:
    with as_owner(database, gym) as tx:
        _, made = keys.add(tx, name="old", right="log", expires_at=datetime.now(UTC) - timedelta(seconds=1))
    assert knock(f"Bearer {made.text}").status_code == 401


def test_a_right_includes_those_before_it(gym) -> None:
    for right, allowed in (("read", 403), ("log", 403), ("coach", 201), ("owner", 201)):
        answer = gym.client(right).post("/v1/athletes", json={"name": right})
        assert answer.status_code == allowed, right
        if allowed == 403:
            assert 'scope="coach"' in answer.headers["www-authenticate"]


def test_a_bound_key_sees_its_own_athlete_and_no_other(app, database, gym) -> None:
    coach = gym.client("coach")
    own, other = (coach.post("/v1/athletes", json={"name": name, "ref": name}).json() for name in ("Own", "Other"))
    with as_owner(database, gym) as tx:
        _, made = keys.add(tx, name="phone", right="log", athlete=own["id"])
    phone = TestClient(app, headers={"Authorization": f"Bearer {made.text}"})
    assert phone.get(f"/v1/athletes/{own['id']}").status_code == 200
    assert phone.get(f"/v1/athletes/{other['id']}").status_code == 404
    assert phone.get("/v1/athletes/ref:Other").status_code == 404
    assert phone.get("/v1/athletes").status_code == 403
    weight = {"load": {"value": 80, "unit": "kg"}}
    assert phone.put(f"/v1/athletes/{own['id']}/body-weights/2026-11-25", json=weight).status_code == 201
    assert phone.put(f"/v1/athletes/{other['id']}/body-weights/2026-11-25", json=weight).status_code == 404


def test_too_many_failed_keys_from_one_address_wait(app) -> None:
    client = TestClient(app, client=("203.0.113.77", 5000), headers={"Authorization": "Bearer nobody"})
    for _ in range(2):  # the count starts anew with the minute, which may turn once while this runs
        statuses = [client.get("/v1").status_code for _ in range(access.FAILURES_A_MINUTE + 1)]
        if statuses[-1] == 429:
            break
    assert statuses[-1] == 429
    answer = client.get("/v1")
    assert 1 <= int(answer.headers["retry-after"]) <= 60
