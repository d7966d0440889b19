"""Slots that belonged to sessions come into plans, and back, without a change in what sessions show."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, text
from starlette.testclient import TestClient

from service import embedded
from service.app import create_app
from service.store import migrate
from service.store.session import Database
from tests.api.plans_at_hand import LEGS, PUSH, athlete, log_top_set
from tests.conftest import Server, make_gym

BEFORE = "20261128_model"


@pytest.fixture
def own_server() -> Iterator[Server]:
    """A database of this test alone."""
    folder = Path(tempfile.mkdtemp(prefix="loadwright-tests-"))
    folder.chmod(0o711)
    running = embedded.start(folder / "data")
    try:
        migrate.upgrade(running.owner_url)
        yield Server(running.owner_url, running.service_url)
    finally:
        running.stop()
        shutil.rmtree(folder, ignore_errors=True)


def shown(coach: TestClient, sessions: list[str]) -> list[Any]:
    """What the sessions show, but for ids of slots and the moment."""
    found = []
    for one in sessions:
        page = coach.get(f"/v1/sessions/{one}").json()
        page.pop("computed")
        for slot in page["slots"]:
            at = slot.pop("id")
            assert {logged.pop("slot") for logged in slot["logged"]} <= {at}
        found.append((page, coach.get(f"/v1/sessions/{one}/next").json()["kind"]))
    return found


def test_sessions_show_the_same_after_a_way_down_and_up(own_server: Server) -> None:
    owner, database = create_engine(own_server.owner_url), Database(own_server.service_url)
    coach = make_gym(owner, create_app(database)).client("coach")
    people = [athlete(coach, f"Athlete {number}") for number in range(3)]
    template = coach.post("/v1/templates", json={"name": "Spring", "weeks": [{"sessions": [LEGS, PUSH]}] * 2}).json()
    order = {"template": template["id"], "athletes": people, "start": "2026-11-25", "weekdays": ["wednesday", "friday"]}
    made = coach.post("/v1/blocks", json=order).json()["items"]
    sessions = [one["id"] for item in made for one in item["block"]["sessions"]]
    free = {"kind": "free", "date": "2026-11-27", "slots": PUSH["slots"]}
    sessions.append(coach.post(f"/v1/athletes/{people[0]}/sessions", json=free).json()["id"])
    for item in made[1:]:
        log_top_set(coach, coach.get(f"/v1/sessions/{item['block']['sessions'][0]['id']}").json())
    before = shown(coach, sessions)
    database.close()
    migrate.downgrade(own_server.owner_url, BEFORE)
    with owner.begin() as connection:
        connection.execute(text("ALTER TABLE slots NO FORCE ROW LEVEL SECURITY"))
        own = connection.execute(text("SELECT count(*), count(DISTINCT session_id) FROM slots")).one()
        connection.execute(text("ALTER TABLE slots FORCE ROW LEVEL SECURITY"))
    assert tuple(own) == (3 * 2 * (3 + 1) + len(PUSH["slots"]), len(sessions)), "each session has slots of its own"
    migrate.upgrade(own_server.owner_url)
    database = Database(own_server.service_url)
    with TestClient(create_app(database), headers=coach.headers) as again:
        assert shown(again, sessions) == before
    database.close()
    owner.dispose()
