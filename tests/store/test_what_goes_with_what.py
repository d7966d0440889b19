"""What the keys between the tables hold, and what goes with a gym that is removed by hand."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import IntegrityError
from starlette.testclient import TestClient

from service.store.ids import new_id
from service.store.tables import metadata
from tests.api.plans_at_hand import LEGS, athlete, log_top_set
from tests.conftest import GymAtHand

ORDER = {"start": "2026-11-25", "weekdays": ["wednesday", "friday"]}
FREE = {"kind": "free", "date": "2026-11-27", "slots": LEGS["slots"]}


def block(coach: TestClient, *people: str) -> list[dict[str, Any]]:
    """A template laid out for athletes: their blocks."""
    template = coach.post("/v1/templates", json={"name": "Spring", "weeks": [{"sessions": [LEGS]}]}).json()
    made = coach.post("/v1/blocks", json=ORDER | {"template": template["id"], "athletes": list(people)}).json()
    return [item["block"] for item in made["items"]]


def enter(connection: Connection, gym: GymAtHand) -> None:
    """Let a transaction see a gym: row security is forced on the owner too."""
    connection.execute(text("SELECT set_config('app.gym', :gym, true)"), {"gym": str(gym.id)})


def rows(connection: Connection, gym: GymAtHand) -> dict[str, int]:
    """How many rows of a gym each table has."""
    return {
        name: connection.execute(text(f"SELECT count(*) FROM {name} WHERE gym_id = :gym"), {"gym": gym.id}).scalar_one()
        for name, table in metadata.tables.items()
        if "gym_id" in table.c
    }


def test_a_gym_goes_with_all_that_it_has(gym: GymAtHand, coach: TestClient, owner_engine: Engine) -> None:
    one = athlete(coach, "Athlete")
    (made,) = block(coach, one)
    log_top_set(coach, coach.get(f"/v1/sessions/{made['sessions'][0]['id']}").json())
    free = coach.post(f"/v1/athletes/{one}/sessions", json=FREE)
    assert free.status_code == 201
    with owner_engine.begin() as connection:
        enter(connection, gym)
        before = rows(connection, gym)
        assert {"sessions", "slots", "sets", "blocks", "session_plans"} <= {name for name, n in before.items() if n}
        connection.execute(text("DELETE FROM gyms WHERE gym_id = :gym"), {"gym": gym.id})
        assert not {name for name, n in rows(connection, gym).items() if n}


def test_a_session_of_a_block_is_its_athletes(gym: GymAtHand, coach: TestClient, owner_engine: Engine) -> None:
    one, other = athlete(coach, "One"), athlete(coach, "Other")
    (made,) = block(coach, one)
    change = text("UPDATE sessions SET athlete_id = :athlete WHERE id = :id AND gym_id = :gym")
    values = {"athlete": other, "id": made["sessions"][0]["id"], "gym": gym.id}
    with owner_engine.connect() as connection:
        enter(connection, gym)
        with pytest.raises(IntegrityError, match="sessions_block_id_fkey"):
            connection.execute(change, values)


def test_a_session_outside_of_blocks_has_an_athlete_of_the_gym(
    gym: GymAtHand, coach: TestClient, owner_engine: Engine
) -> None:
    one = athlete(coach, "One")
    free = coach.post(f"/v1/athletes/{one}/sessions", json=FREE).json()
    change = text("UPDATE sessions SET athlete_id = :athlete WHERE id = :id AND gym_id = :gym")
    values = {"athlete": new_id(), "id": free["id"], "gym": gym.id}
    with owner_engine.connect() as connection:
        enter(connection, gym)
        with pytest.raises(IntegrityError, match="sessions_own_athlete_id_fkey"):
            connection.execute(change, values)
