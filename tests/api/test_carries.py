"""Carries: logged by their metres, kept as what they are, and told so wherever sets are told."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

import pytest
from starlette.testclient import TestClient

from service.store import sets
from service.store.ids import new_id
from service.store.session import Caller, Database
from tests.conftest import GymAtHand
from tests.lifting import BY_CURVE, TOP_SET, Session, add_athlete, add_session, kg

CARRY = {
    "lift": "farmers-carry",
    "scheme": {"kind": "sets_at_target", "sets": 2},
    "target": {"kind": "distance", "metres": 30, "load": kg(24)},
}
PLANK = {
    "lift": "plank", "scheme": {"kind": "sets_at_target", "sets": 2}, "target": {"kind": "time", "seconds": 40},
}  # fmt: skip
AT = "2026-03-02T18:00:00+01:00"


@pytest.fixture
def athlete(coach: TestClient) -> str:
    """Somebody who carries."""
    return add_athlete(coach, **BY_CURVE)


@pytest.fixture
def session(gym: GymAtHand, database: Database, athlete: str) -> Session:
    """Two carries of 30 metres with 24 kg in each hand, then a plank."""
    return add_session(database, gym.id, athlete, CARRY, PLANK)


def log(coach: TestClient, session: Session, slot: int = 0, **values: Any) -> dict[str, Any]:
    """Log a set of a slot; the answer."""
    answer = coach.post(session.sets, json={"slot": session.slots[slot], "at": AT, **values})
    assert answer.status_code == 201, answer.text
    body: dict[str, Any] = answer.json()
    return body


def refused(answer: Any) -> list[tuple[str, str]]:
    """Where and why a body was refused."""
    assert answer.status_code == 422, answer.text
    return [(one["pointer"], one["detail"]) for one in answer.json()["errors"]]


def counted(logged: dict[str, Any]) -> tuple[Any, ...]:
    """How much was done, and how."""
    return logged["metres"], logged["reps"], logged["seconds"], logged["method"]


def test_a_carry_is_logged_by_its_metres_and_the_next_one_follows(coach: TestClient, session: Session) -> None:
    answer = log(coach, session, load=kg(24), metres=25.5)
    assert counted(answer["set"]) == (25.5, 1, None, "carry")
    assert (answer["set"]["slot"], answer["set"]["role"]) == (session.slots[0], "target_set")
    assert (answer["next"]["slot"], answer["next"]["number"], answer["next"]["metres"]) == (session.slots[0], 2, 30)
    assert [one["code"] for one in answer["cautions"]] == ["left_out"]
    assert answer["day_estimate"] is None
    after = log(coach, session, load=kg(24), metres=30, seconds=25, rpe=8)
    assert counted(after["set"]) == (30, 1, 25, "carry")
    assert (after["next"]["kind"], after["next"]["next_slot"]) == ("lift_done", session.slots[1])
    read = coach.get(f"/v1/sets/{after['set']['id']}").json()
    assert {name: read[name] for name in read if name != "at"} == {
        name: after["set"][name] for name in after["set"] if name != "at"
    }


def test_a_set_that_says_nothing_was_done_as_its_slot_asks(coach: TestClient, session: Session) -> None:
    assert counted(log(coach, session, load=kg(24))["set"]) == (30, 1, None, "carry")
    assert counted(log(coach, session, slot=1)["set"]) == (None, 1, 40, "straight")
    # repetitions that are told stand alone: what was counted is what was sent
    assert counted(log(coach, session, load=kg(24), reps=1)["set"]) == (None, 1, None, "carry")


@pytest.mark.parametrize("told", [{"made": False}, {"ended_by": "grip"}, {"ended_by": "pain", "pain": "some"}])
def test_a_carry_that_was_cut_short_has_to_say_how_far_it_went(
    coach: TestClient, session: Session, told: dict[str, Any]
) -> None:
    rule = "is required, or seconds for a timed set, or metres for a carry"
    body = {"slot": session.slots[0], "load": kg(24), **told}
    ((pointer, detail),) = refused(coach.post(session.sets, json=body))
    assert pointer == "#/reps"
    assert rule in detail
    assert log(coach, session, load=kg(24), metres=12, **told)["set"]["metres"] == 12


def test_where_the_slot_counts_repetitions_they_have_to_be_told(
    coach: TestClient, gym: GymAtHand, database: Database, athlete: str
) -> None:
    squats = add_session(database, gym.id, athlete, TOP_SET)
    ((pointer, _),) = refused(coach.post(squats.sets, json={"slot": squats.slots[0], "load": kg(100)}))
    assert pointer == "#/reps"
    assert coach.get(squats.sets).json()["items"] == []
    free = {"lift": "farmers-carry", "load": kg(24)}
    ((pointer, _),) = refused(coach.post(f"/v1/athletes/{athlete}/sets", json=free))
    assert pointer == "#/reps"


def test_a_carry_outside_of_a_session_is_a_carry_too(coach: TestClient, athlete: str) -> None:
    body = {"lift": "farmers-carry", "load": kg(24), "metres": 40, "rpe": 9, "at": AT}
    made = coach.post(f"/v1/athletes/{athlete}/sets", json=body)
    assert made.status_code == 201, made.text
    assert counted(made.json()["set"]) == (40, 1, None, "carry")
    assert made.json()["day_estimate"] is None
    ((pointer, _),) = refused(coach.post(f"/v1/athletes/{athlete}/sets", json=body | {"method": "straight"}))
    assert pointer == "#/method"


@pytest.mark.parametrize("metres", [0, -5, 100_001, 20.00001, "30"])
def test_metres_that_nobody_carries_are_refused(coach: TestClient, session: Session, metres: Any) -> None:
    body = {"slot": session.slots[0], "load": kg(24), "metres": metres}
    assert [pointer for pointer, _ in refused(coach.post(session.sets, json=body))] == ["#/metres"]


def test_metres_are_corrected_cleared_and_every_version_is_kept(
    coach: TestClient, gym: GymAtHand, database: Database, session: Session
) -> None:
    made = log(coach, session, load=kg(24), reps=30)["set"]
    path = f"/v1/sets/{made['id']}"
    fixed = coach.patch(path, json={"metres": 30, "reps": 1}, headers={"If-Match": '"1"'})
    assert fixed.status_code == 200, fixed.text
    assert counted(fixed.json()) == (30, 1, None, "carry")
    farther = coach.patch(path, json={"metres": 32.5}, headers={"If-Match": '"2"'})
    assert farther.json()["metres"] == 32.5
    assert coach.patch(path, json={"metres": None}, headers={"If-Match": '"3"'}).json()["metres"] is None
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        history = [one.set for one in sets.history(tx, UUID(made["id"]))]
    assert [(one.metres, one.reps) for one in history] == [(None, 30), (30, 1), (32.5, 1), (None, 1)]


def test_metres_make_a_carry_of_a_set_and_without_them_it_is_straight_again(coach: TestClient, athlete: str) -> None:
    body = {"lift": "dumbbell-row", "load": kg(24), "reps": 8, "rpe": 8, "at": AT}
    made = coach.post(f"/v1/athletes/{athlete}/sets", json=body).json()["set"]
    assert made["method"] == "straight"
    path = f"/v1/sets/{made['id']}"
    assert coach.patch(path, json={"metres": 20}, headers={"If-Match": '"1"'}).json()["method"] == "carry"
    assert coach.patch(path, json={"metres": None}, headers={"If-Match": '"2"'}).json()["method"] == "straight"
    against = coach.patch(path, json={"metres": 20, "method": "straight"}, headers={"If-Match": '"3"'})
    assert [pointer for pointer, _ in refused(against)] == ["#/method"]


@pytest.mark.parametrize("much", [{"metres": 30}, {}, {"metres": 12.5, "seconds": 20}])
def test_a_carry_sent_again_is_the_same_set(coach: TestClient, session: Session, much: dict[str, Any]) -> None:
    put = {"session": session.id, "slot": session.slots[0], "load": kg(24), "rpe": 7, "at": AT, **much}
    path = f"/v1/sets/{new_id()}"
    first, again = coach.put(path, json=put), coach.put(path, json=put)
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json()
    assert first.json()["metres"] == much.get("metres", 30)
    other = coach.put(path, json=put | {"metres": 31}, headers={"If-Match": '"1"'})
    assert (other.status_code, other.json()["metres"], other.json()["version"]) == (200, 31, 2)


def test_a_queue_of_carries_sent_twice_is_stored_once(coach: TestClient, session: Session) -> None:
    queue = [
        {"id": str(new_id()), "session": session.id, "slot": session.slots[0], "load": kg(24), "at": at, **much}
        for at, much in (("2026-03-02T18:00:00+01:00", {"metres": 30}), ("2026-03-02T18:05:00+01:00", {}))
    ]
    first = coach.post("/v1/sets", json={"sets": queue}).json()
    assert [(one["result"], one["set"]["metres"]) for one in first["results"]] == [("stored", 30), ("stored", 30)]
    assert first["next"][0]["next"]["next_slot"] == session.slots[1]
    again = coach.post("/v1/sets", json={"sets": queue}).json()
    assert [one["result"] for one in again["results"]] == ["unchanged", "unchanged"]


def test_the_board_and_the_next_day_tell_metres_and_what_was_left_at_least(
    coach: TestClient, gym: GymAtHand, database: Database, athlete: str, session: Session
) -> None:
    log(coach, session, load=kg(24), metres=30, rir=5, or_more=True)
    log(coach, session, load=kg(24), metres=25, seconds=20, at="2026-03-02T18:05:00+01:00")
    board = coach.get(f"/v1/sessions/{session.id}?format=text").text
    assert "  done: 24 kg, 30 m 5 or more left\n  done: 24 kg, 25 m in 20 s\n" in board
    later = add_session(database, gym.id, athlete, CARRY, on=date(2026, 3, 9))
    (slot,) = coach.get(f"/v1/sessions/{later.id}").json()["slots"]
    told = [(one["metres"], one["seconds"], one["rir"], one["or_more"]) for one in slot["last_time"]["sets"]]
    assert told == [(30, None, 5, True), (25, 20, None, False)]
    text = " ".join(coach.get(f"/v1/sessions/{later.id}?format=text").text.split())
    assert "24 kg, 30 m 5 or more left; 24 kg, 25 m in 20 s" in text


def test_carries_teach_no_max(coach: TestClient, session: Session, athlete: str) -> None:
    log(coach, session, load=kg(24), metres=30, rpe=9.5)
    path = f"/v1/athletes/{athlete}/lifts/farmers-carry"
    assert coach.get(path).json()["max"] is None
