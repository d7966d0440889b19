"""A session shortened over HTTP: what is not begun gives way, what was done stays."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from service.store.session import Database
from tests.conftest import GymAtHand
from tests.lifting import TOP_SET, Session, add_athlete, add_max, add_session, done, kg

ROW = {
    "lift": "barbell-row",
    "accessory": True,
    "scheme": {"kind": "sets_at_target", "sets": 4},
    "target": {"kind": "effort", "reps": 10, "rir": 2},
}
PLANK = {
    "lift": "plank",
    "accessory": True,
    "optional": True,
    "scheme": {"kind": "sets_at_target", "sets": 3},
    "target": {"kind": "time", "seconds": 40},
}


@pytest.fixture
def session(coach: TestClient, gym: GymAtHand, database: Database) -> Session:
    """A squat, rows and planks."""
    athlete = add_athlete(coach)
    add_max(coach, athlete)
    return add_session(database, gym.id, athlete, TOP_SET, ROW, PLANK)


def counts(coach: TestClient, session: Session) -> list[int]:
    """Sets of each slot; warm-ups too."""
    return [len(slot["sets"]) for slot in coach.get(f"/v1/sessions/{session.id}").json()["slots"]]


def test_a_short_evening_leaves_out_what_is_optional_and_null_brings_it_back(
    coach: TestClient, session: Session
) -> None:
    whole = counts(coach, session)
    path = f"/v1/sessions/{session.id}"
    short = coach.patch(path, json={"minutes_available": 30})
    assert short.status_code == 200, short.text
    assert short.json()["minutes_available"] == 30
    plank = short.json()["slots"][2]
    assert (plank["left_out"], plank["sets"]) == (True, [])
    assert plank["text"] == "Left out: 30 minutes are available."
    assert counts(coach, session)[2] == 0
    board = coach.get(path, headers={"Accept": "text/plain"}).text
    assert "Plank: left out: 30 minutes are available." in board
    assert coach.patch(path, json={"minutes_available": None}).json()["minutes_available"] is None
    assert counts(coach, session) == whole


def test_what_was_left_out_and_done_all_the_same_comes_back_whole(coach: TestClient, session: Session) -> None:
    whole = counts(coach, session)
    path = f"/v1/sessions/{session.id}"
    coach.patch(path, json={"minutes_available": 30})
    logged = coach.post(session.sets, json=done(session.slots[2], role="target_set", seconds=40, reps=1))
    assert logged.status_code == 201, logged.text
    assert counts(coach, session)[2] == 0
    slots = coach.patch(path, json={"minutes_available": None}).json()["slots"]
    assert (slots[2]["left_out"], len(slots[2]["sets"])) == (False, whole[2])
    assert len(slots[2]["logged"]) == 1


def test_what_was_begun_stays_when_the_time_turns_out_short(coach: TestClient, session: Session) -> None:
    path = f"/v1/sessions/{session.id}"
    coach.post(session.sets, json=done(session.slots[2], role="target_set", seconds=40, reps=1))
    whole = counts(coach, session)
    short = coach.patch(path, json={"minutes_available": 20}).json()["slots"]
    assert len(short[2]["sets"]) == whole[2], "the plank was begun"
    assert short[1]["left_out"]
    assert not short[0]["left_out"]
    following = coach.post(session.sets, json=done(session.slots[0], role="top_set", load=kg(127.5), rpe=7.5)).json()
    assert following["next"] is not None
    assert following["next"]["slot"] != session.slots[1], "nobody is sent to what was left out"


def test_a_finished_session_is_not_shortened_and_minutes_have_limits(coach: TestClient, session: Session) -> None:
    path = f"/v1/sessions/{session.id}"
    assert coach.patch(path, json={"minutes_available": 0}).status_code == 422
    coach.patch(path, json={"state": "open"})
    coach.patch(path, json={"state": "finished"})
    assert coach.patch(path, json={"minutes_available": 30}).status_code == 409
