"""/v1/blocks as lines: progress for each athlete, the last line says that all is stored."""

from __future__ import annotations

import asyncio
import json

import pytest
from sqlalchemy.exc import DBAPIError
from starlette.requests import ClientDisconnect

from service.api import lines as lines_of
from service.flows import lay_out_block
from service.store import sessions
from service.store.errors import Unavailable
from tests.api.plans_at_hand import athlete, template

LINES = {"Accept": "application/x-ndjson"}


def order(coach, athletes, **more):
    return {
        "template": template(coach),
        "athletes": athletes,
        "start": "2026-11-30",
        "weekdays": ["monday", "thursday"],
    } | more


def lines(answer):
    assert answer.headers["content-type"] == "application/x-ndjson"
    assert answer.content.endswith(b"\n")
    return [json.loads(line) for line in answer.content.splitlines()]


@pytest.fixture
def small_steps(monkeypatch):
    """Each athlete's rows are stored on their own: a step of progress for each."""
    monkeypatch.setattr(lay_out_block, "SESSIONS_AT_ONCE", 1)


def test_each_athlete_has_a_line_in_order_and_the_last_says_done(coach, small_steps):
    people = [athlete(coach, name) for name in ("Aud", "Brage", "Cille")]
    answer = coach.post("/v1/blocks", json=order(coach, people), headers=LINES)
    assert answer.status_code == 200
    *items, last = lines(answer)
    assert [item["athlete"] for item in items] == people
    assert all(item["problem"] is None and len(item["block"]["sessions"]) == 4 for item in items)
    assert last | {"told": []} == {  # what is told depends on whether the days are over
        "done": True,
        "count": 3,
        "failed": 0,
        "dry_run": False,
        "starts_on": "2026-11-30",
        "ends_on": "2026-12-10",
        "unmet": [],
        "told": [],
    }
    stored = {one["id"] for one in coach.get("/v1/blocks").json()["items"]}
    assert stored == {item["block"]["id"] for item in items}


def sent_to(gym, body, send):
    """Ask for lines as a server does, with a `send` of one's own."""
    asked = []

    async def receive():
        if asked:
            await asyncio.sleep(60)
        asked.append(True)
        return {"type": "http.request", "body": json.dumps(body).encode(), "more_body": False}

    async def ask():
        headers = [
            (b"authorization", f"Bearer {gym.keys['coach']}".encode()),
            (b"content-type", b"application/json"),
            (b"accept", b"application/x-ndjson"),
        ]
        scope = {
            "type": "http", "method": "POST", "path": "/v1/blocks", "raw_path": b"/v1/blocks", "query_string": b"",
            "headers": headers, "http_version": "1.1", "scheme": "http", "client": ("127.0.0.1", 1), "root_path": "",
            "asgi": {"version": "3.0", "spec_version": "2.4"}, "server": ("127.0.0.1", 80),
        }  # fmt: skip
        try:
            await gym.app(scope, receive, send)
        finally:
            await asyncio.gather(*lines_of.RUNNING)

    asyncio.run(ask())


def test_lines_are_sent_one_by_one(coach, gym, small_steps):
    people = [athlete(coach, name) for name in ("Aud", "Brage", "Cille")]
    parts = []

    async def send(message):
        parts.append(message.get("body", b""))

    sent_to(gym, order(coach, people), send)
    assert [part.count(b"\n") for part in parts if part] == [1, 1, 1, 1]


def test_a_reader_who_goes_away_leaves_the_work_to_be_finished(coach, gym, small_steps):
    people = [athlete(coach, name) for name in ("Aud", "Brage", "Cille")]

    async def send(message):
        if message.get("body"):
            raise OSError("the connection is gone")

    with pytest.raises(ClientDisconnect):
        sent_to(gym, order(coach, people), send)
    assert len(coach.get("/v1/blocks").json()["items"]) == 3


def test_those_who_are_skipped_have_a_line_with_the_problem(coach):
    runa = athlete(coach)
    answer = coach.post("/v1/blocks", json=order(coach, ["ref:nobody", runa], on_fault="skip"), headers=LINES)
    skipped, laid, last = lines(answer)
    assert skipped == {
        "problem": {"pointer": "#/athletes/0", "code": "unknown", "detail": "names no athlete of this gym"},
        "athlete": "ref:nobody",
    }
    assert laid["block"]["athlete"] == runa
    assert (last["done"], last["count"], last["failed"]) == (True, 2, 1)


def test_what_is_wrong_from_the_start_is_refused_by_status(coach):
    answer = coach.post("/v1/blocks", json=order(coach, ["ref:nobody", athlete(coach)]), headers=LINES)
    assert (answer.status_code, answer.headers["content-type"]) == (422, "application/problem+json")
    assert answer.json()["errors"][0]["pointer"] == "#/athletes/0"
    assert coach.get("/v1/blocks").json()["items"] == []


def test_a_dry_run_has_lines_too_and_stores_nothing(coach):
    answer = coach.post("/v1/blocks?dry_run=true", json=order(coach, [athlete(coach)]), headers=LINES)
    item, last = lines(answer)
    assert (item["block"]["id"], last["dry_run"], last["count"]) == (None, True, 1)
    assert coach.get("/v1/blocks").json()["items"] == []


def test_a_repeat_answers_the_same_lines_and_stores_once(coach):
    body = order(coach, [athlete(coach, 'Å, "Q" \\ 7'), "ref:nobody"], on_fault="skip", name="Åtte uker")
    key = {"Idempotency-Key": "as-lines"}
    first, again = (coach.post("/v1/blocks", json=body, headers=LINES | key) for _ in range(2))
    assert first.content == again.content
    assert ("idempotent-replayed" in first.headers, again.headers["idempotent-replayed"]) == (False, "true")
    whole = coach.post("/v1/blocks", json=body, headers=key)
    assert (whole.status_code, whole.headers["idempotent-replayed"]) == (201, "true")
    assert whole.json()["items"][0] == lines(first)[0]
    assert len(coach.get("/v1/blocks").json()["items"]) == 1


def test_lines_are_only_for_those_who_like_them_better(coach):
    body = order(coach, [athlete(coach)])
    for accept in ("*/*", "application/json", "application/json, application/x-ndjson;q=0.5", "text/html"):
        answer = coach.post("/v1/blocks?dry_run=true", json=body, headers={"Accept": accept})
        assert answer.headers["content-type"] == "application/json"
    liked = coach.post("/v1/blocks?dry_run=true", json=body, headers={"Accept": "application/x-ndjson, */*;q=0.1"})
    assert liked.headers["content-type"] == "application/x-ndjson"


def test_a_failure_on_the_way_says_so_without_done_and_stores_nothing(coach, small_steps, monkeypatch):
    people = [athlete(coach, name) for name in ("Aud", "Brage")]
    add = sessions.add_alike
    calls = []

    def failing(*arguments):
        calls.append(1)
        if len(calls) == 2:
            raise Unavailable("The database has too much to do just now: try again in a moment.")
        add(*arguments)

    monkeypatch.setattr(sessions, "add_alike", failing)
    answer = coach.post("/v1/blocks", json=order(coach, people), headers=LINES)
    assert answer.status_code == 200
    first, last = lines(answer)
    assert (first["athlete"], last["problem"]["type"], "done" in last) == (people[0], "/problems/unavailable", False)
    monkeypatch.undo()
    assert coach.get("/v1/blocks").json()["items"] == []


class Serialization(Exception):
    """What the driver raises where two transactions cannot stand side by side."""

    sqlstate = "40001"


def test_a_transaction_that_is_run_once_more_tells_each_line_once(coach, small_steps, monkeypatch):
    people = [athlete(coach, name) for name in ("Aud", "Brage", "Cille")]
    add = sessions.add_alike
    calls = []

    def failing(*arguments):
        calls.append(1)
        if len(calls) == 2:
            raise DBAPIError("INSERT", {}, Serialization())
        add(*arguments)

    monkeypatch.setattr(sessions, "add_alike", failing)
    *items, last = lines(coach.post("/v1/blocks", json=order(coach, people), headers=LINES))
    assert ([item["athlete"] for item in items], last["count"], len(calls)) == (people, 3, 5)
    stored = {one["id"] for one in coach.get("/v1/blocks").json()["items"]}
    assert stored == {item["block"]["id"] for item in items}
