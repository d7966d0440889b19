"""Phones with bad reception: the same request many times at once, several phones at once, bunches sent again."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import httpx2
import pytest
from starlette.testclient import TestClient

from service.store.ids import new_id
from service.store.session import Database
from tests.conftest import GymAtHand
from tests.lifting import BY_CURVE, TOP_SET, Session, add_athlete, add_max, add_session, done, kg

START = datetime(2026, 3, 2, 18, tzinfo=UTC)


@pytest.fixture
def session(coach: TestClient, gym: GymAtHand, database: Database) -> Session:
    """A session with the slot of the worked example, for an athlete with a tested max of 150 kg."""
    athlete = add_athlete(coach)
    add_max(coach, athlete)
    return add_session(database, gym.id, athlete, TOP_SET)


def at_once(gym: GymAtHand, requests: Sequence[dict[str, Any]], *, most: int = 50) -> list[httpx2.Response]:
    """Send requests, up to `most` of them at the same time; the answers in order."""

    async def run() -> list[httpx2.Response]:
        limit = asyncio.Semaphore(most)
        headers = {"Authorization": f"Bearer {gym.keys['log']}"}
        transport = httpx2.ASGITransport(app=gym.app)
        async with httpx2.AsyncClient(transport=transport, base_url="http://phone", headers=headers) as client:
            await client.get("/v1")  # the key is read once, so that all start together

            async def send(request: dict[str, Any]) -> httpx2.Response:
                async with limit:
                    return await client.request(**request)

            return await asyncio.gather(*(send(request) for request in requests))

    return asyncio.run(run())


def top_set(session: Session, key: str, *, minute: int = 0, rpe: float = 8) -> dict[str, Any]:
    """A request that logs a set under an idempotency key."""
    at = (START + timedelta(minutes=minute)).isoformat()
    body = done(session.slots[0], role="top_set", load=kg(127.5), rpe=rpe, at=at)
    return {"method": "POST", "url": session.sets, "json": body, "headers": {"Idempotency-Key": key}}


def logged(coach: TestClient, session: Session) -> list[dict[str, Any]]:
    """The session's sets."""
    items: list[dict[str, Any]] = coach.get(session.sets, params={"limit": 200}).json()["items"]
    return items


def test_the_same_key_ten_times_at_once_stores_one_set_and_answers_the_same(
    coach: TestClient, gym: GymAtHand, session: Session
) -> None:
    answers = at_once(gym, [top_set(session, "one-action")] * 10)
    assert [answer.status_code for answer in answers] == [201] * 10
    assert len({answer.content for answer in answers}) == 1
    assert len({(answer.headers["location"], answer.headers["etag"]) for answer in answers}) == 1
    assert sum("idempotent-replayed" in answer.headers for answer in answers) == 9
    assert len(logged(coach, session)) == 1


def test_twenty_keys_ten_times_each_fifty_at_once(coach: TestClient, gym: GymAtHand, session: Session) -> None:
    requests = [top_set(session, f"action-{minute}", minute=minute) for minute in range(20)] * 10
    answers = at_once(gym, requests)
    by_key: dict[str, set[bytes]] = defaultdict(set)
    for request, answer in zip(requests, answers, strict=True):
        assert answer.status_code == 201, answer.text
        by_key[request["headers"]["Idempotency-Key"]].add(answer.content)
    assert {len(contents) for contents in by_key.values()} == {1}
    assert len(logged(coach, session)) == 20


def test_two_phones_log_different_sets_of_one_athlete_at_once(
    coach: TestClient, gym: GymAtHand, database: Database
) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    sessions = [add_session(database, gym.id, athlete, TOP_SET) for _ in range(2)]
    requests = [top_set(sessions[at % 2], f"set-{at}", minute=at, rpe=8 + at % 4 / 2) for at in range(24)]
    answers = at_once(gym, requests)
    assert {answer.status_code for answer in answers} == {201}
    assert [len(logged(coach, session)) for session in sessions] == [12, 12]
    # all have 127.5 kg: the day stands on the first one, at RPE 8: n = 5, 1.464^-0.4 = 0.85858, 148.50 kg
    slot = {"lift": "squat", "scheme": {"kind": "top_set"}, "target": {"kind": "effort", "reps": 1, "rpe": 10}}
    asked = coach.post("/v1/prescriptions", json={"athlete": athlete, **slot, "on": "2026-03-02"}).json()
    (top,) = [one for one in asked["sets"] if one["role"] == "top_set"]
    assert top["loading"]["exact"]["value"] == pytest.approx(148.50, abs=0.005)


def test_a_put_ten_times_at_once_is_created_once(coach: TestClient, gym: GymAtHand, session: Session) -> None:
    body = done(session.slots[0], session=session.id, role="top_set", load=kg(127.5), rpe=8, at=START.isoformat())
    answers = at_once(gym, [{"method": "PUT", "url": f"/v1/sets/{new_id()}", "json": body}] * 10)
    assert sorted(answer.status_code for answer in answers) == [200] * 9 + [201]
    assert len({answer.content for answer in answers}) == 1
    assert len(logged(coach, session)) == 1


def test_a_bunch_sent_by_a_phone_that_lost_the_answer_is_stored_once(
    coach: TestClient, gym: GymAtHand, session: Session
) -> None:
    sets = [
        {"id": str(new_id()), "session": session.id, "slot": session.slots[0], "role": "target_set", "load": kg(100),
         "reps": 3, "rpe": 7, "at": (START + timedelta(minutes=minute)).isoformat()}
        for minute in range(30)
    ]  # fmt: skip
    answers = at_once(gym, [{"method": "POST", "url": "/v1/sets", "json": {"sets": sets}}] * 5)
    assert [answer.status_code for answer in answers] == [200] * 5
    results = [one["result"] for answer in answers for one in answer.json()["results"]]
    assert (results.count("stored"), results.count("unchanged")) == (30, 120)
    assert len(logged(coach, session)) == 30


def test_the_same_key_with_another_body_is_refused(coach: TestClient, gym: GymAtHand, session: Session) -> None:
    first, other = top_set(session, "one-action"), top_set(session, "one-action", rpe=9)
    assert [answer.status_code for answer in at_once(gym, [first, other], most=1)] == [201, 422]
    assert len(logged(coach, session)) == 1


def test_a_refused_call_stores_nothing_and_its_key_is_judged_anew(
    coach: TestClient, gym: GymAtHand, session: Session
) -> None:
    wrong = top_set(session, "one-action")
    wrong["json"] = {**wrong["json"], "rpe": 12}
    assert [answer.status_code for answer in at_once(gym, [wrong, top_set(session, "one-action")], most=1)] == [
        422,
        201,
    ]
    assert len(logged(coach, session)) == 1


def test_ten_corrections_of_the_same_version_at_once_change_it_once(
    coach: TestClient, gym: GymAtHand, session: Session
) -> None:
    made = at_once(gym, [top_set(session, "set")])[0].json()["set"]
    request = {"method": "PATCH", "url": f"/v1/sets/{made['id']}", "headers": {"If-Match": '"1"'}}
    answers = at_once(gym, [{**request, "json": {"reps": reps}} for reps in range(4, 14)])
    assert sorted(answer.status_code for answer in answers) == [200] + [412] * 9
    assert coach.get(f"/v1/sets/{made['id']}").json()["version"] == 2
