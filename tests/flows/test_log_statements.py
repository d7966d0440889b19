"""How many statements logging a set takes: fewer statements beat every other trick."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from service.store.session import Database
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.lifting import TOP_SET, add_athlete, add_max, add_session, done, kg


@pytest.mark.parametrize(
    ("role", "rpe", "most"),
    [
        # the key's answer, the lock, the line, the session's sets, what is known of the lift, the set, the answer kept
        ("back_off", 6, 7),
        # and for the day's max the lock again, the open sessions
        ("top_set", 8, 9),
    ],
)
def test_logging_a_set_takes_few_statements(
    coach: TestClient, gym: GymAtHand, database: Database, role: str, rpe: float, most: int
) -> None:
    athlete = add_athlete(coach)
    add_max(coach, athlete)
    session = add_session(database, gym.id, athlete, TOP_SET, {**TOP_SET, "lift": "bench-press"})
    assert coach.post(session.sets, json=done(session.slots[0], load=kg(20), rpe=3)).status_code == 201
    body = done(session.slots[0], role=role, load=kg(100), rpe=rpe)
    with statements(database) as seen:
        answer = coach.post(session.sets, json=body, headers={"Idempotency-Key": "one"})
    assert answer.status_code == 201
    assert len(seen) <= most, seen
