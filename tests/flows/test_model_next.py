"""The next set stands on what the whole log says, and on the plan as it was before the session."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import select
from starlette.testclient import TestClient

from service.core.model.kin import Key
from service.flows import next_set as flow
from service.flows.open_session import refresh_open
from service.store import memories
from service.store.prescribed import INPUTS
from service.store.session import Caller, Database
from service.store.tables import prescriptions, sessions
from tests.conftest import GymAtHand
from tests.lifting import TOP_SET, Session, add_athlete, add_max, add_session, done, kg

BENCH = {**TOP_SET, "lift": "bench-press"}
NOW = datetime(2026, 3, 2, 19, tzinfo=UTC)


def begun(coach: TestClient, database: Database, gym: GymAtHand, *slots: dict[str, Any]) -> tuple[str, Session]:
    """An athlete with maxes, and a session of the day."""
    athlete = add_athlete(coach)
    add_max(coach, athlete, "squat", 150)
    add_max(coach, athlete, "bench-press", 100)
    return athlete, add_session(database, gym.id, athlete, *slots)


def log(coach: TestClient, session: Session, slot: int, value: float, minute: int, **more: Any) -> dict[str, Any]:
    """One set, at so many minutes past six."""
    at = f"2026-03-02T18:{minute:02}:00+01:00"
    answer = coach.post(session.sets, json=done(session.slots[slot], load=kg(value), at=at, **more))
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_what_the_phone_was_told_is_what_it_is_told_again(coach, database, gym) -> None:
    _, session = begun(coach, database, gym, TOP_SET, BENCH)
    for slot, value, minute, more in (
        (0, 110, 1, {"role": "build_up", "rpe": 6}),
        (0, 125, 5, {"role": "top_set", "rpe": 8.5}),
        (1, 75, 9, {"role": "build_up", "rpe": 6}),
        (0, 115, 12, {"role": "back_off", "rpe": 8}),
        (1, 85, 15, {"role": "top_set", "rpe": 8}),
    ):
        told = log(coach, session, slot, value, minute, **more)["next"]
        again = coach.get(session.next, params={"slot": session.slots[slot]}).json()
        assert told == again


def test_the_next_set_stands_on_what_the_log_holds(coach, database, gym, monkeypatch) -> None:
    athlete, session = begun(coach, database, gym, TOP_SET, BENCH)
    seen = []
    real = flow.next_set

    def noting(*args: Any, **more: Any) -> Any:
        seen.append(more["now"])
        return real(*args, **more)

    monkeypatch.setattr(flow, "next_set", noting)
    log(coach, session, 0, 125, 5, role="top_set", rpe=8.5)
    after_logging = seen[0]
    seen.clear()
    coach.get(session.next, params={"slot": session.slots[0]})
    assert seen[0] == after_logging
    assert seen[0].row.used_ever == 1
    seen.clear()
    # bench press outside of the session teaches how this athlete reports: the squat is told
    free = {"lift": "bench-press", "load": kg(85), "reps": 3, "rpe": 9.5, "at": "2026-03-02T18:30:00+01:00"}
    assert coach.post(f"/v1/athletes/{athlete}/sets", json=free).status_code == 201
    coach.get(session.next, params={"slot": session.slots[0]})
    assert seen[0].person != after_logging.person
    assert seen[0].row.m[5] == seen[0].person.bias
    seen.clear()
    late = {**free, "at": "2026-03-04T18:30:00+01:00"}
    assert coach.post(f"/v1/athletes/{athlete}/sets", json=late).status_code == 201
    coach.get(session.next, params={"slot": session.slots[0]})
    assert seen[0] is None  # not the newest day any more: what the session's own sets say


EXCHANGE = {"kind": "exchange", "lift": "squat", "to_lift": "front-squat", "reason": "Knee"}
EXCHANGE |= {"from": "2026-03-01", "until": "2026-03-20"}
PULLDOWN = {
    "lift": "lat-pulldown",
    "scheme": {"kind": "sets_at_target", "sets": 3},
    "target": {"kind": "effort", "reps": 8, "rir": 2},
}


@pytest.mark.parametrize(
    ("case", "key"),
    [
        ("exchange", Key("front-squat", "unsupported", "")),
        ("wraps", Key("squat", "wraps", "")),
        ("machine", Key("lat-pulldown", "unsupported", "Blue")),
        ("later", Key("squat", "unsupported", "")),
    ],
)
def test_the_next_set_stands_on_the_row_of_what_is_done(coach, database, gym, monkeypatch, case: str, key: Key) -> None:
    stack = {"name": "Blue", "lifts": ["lat-pulldown"], "steps": [kg(10 * step) for step in range(1, 31)]}
    kit = {"bars": [{"name": "Bar", "load": kg(20)}], "collars": kg(0), "dumbbells": [], "stacks": [stack]}
    kit["plates"] = [{"load": kg(mass), "count": 20} for mass in (20, 10, 5, 2.5, 1.25)]
    place = coach.post("/v1/places", json={"name": "Hall", **kit})
    assert place.status_code == 201, place.text
    athlete = add_athlete(coach, place=place.json()["id"])
    add_max(coach, athlete, "squat", 150)
    if case == "exchange":
        assert coach.post(f"/v1/athletes/{athlete}/overrides", json=EXCHANGE).status_code == 201
    slot = {"machine": PULLDOWN, "wraps": {**TOP_SET, "support": ["wraps"]}}.get(case, TOP_SET)
    session = add_session(database, gym.id, athlete, slot)
    seen = []
    real = flow.next_set

    def noting(*args: Any, **more: Any) -> Any:
        seen.append(more["now"])
        return real(*args, **more)

    monkeypatch.setattr(flow, "next_set", noting)
    kilograms = {"exchange": 100, "wraps": 140}.get(case, 120)
    for minute in (5, 9):
        at = f"2026-03-0{3 if case == 'later' else 2}T18:0{minute}:00+01:00"
        told = coach.post(session.sets, json=done(session.slots[0], lift=key.lift, load=kg(kilograms), at=at, rpe=7))
        assert told.status_code == 201, told.text
        assert coach.get(session.next, params={"slot": session.slots[0]}).json() == told.json()["next"]
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), NOW) as tx:
        whole = memories.read(tx, UUID(athlete))
    assert whole is not None
    assert list(whole.memory.lifts) == [key]
    assert seen[-1].row == seen[-2].row == whole.memory.lifts[key].row
    assert seen[-1].row.used_ever == 2


def context(database: Database, gym: GymAtHand, session: Session) -> Any:
    """What the revision in force was computed from."""
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), NOW) as tx:
        query = select(prescriptions.c.inputs).join(sessions, sessions.c.prescription_id == prescriptions.c.id)
        row = tx.execute(query.where(prescriptions.c.gym_id == tx.gym, sessions.c.id == UUID(session.id))).one()
    return INPUTS.validate_python(row.inputs).context


def test_a_lift_that_was_begun_stays_as_it_was_known_when_other_loads_change(coach, database, gym) -> None:
    athlete, session = begun(coach, database, gym, TOP_SET, BENCH)
    free = {"lift": "squat", "load": kg(120), "reps": 5, "rpe": 8, "at": "2026-02-27T18:00:00+01:00"}
    assert coach.post(f"/v1/athletes/{athlete}/sets", json=free).status_code == 201
    log(coach, session, 0, 110, 1, role="build_up", rpe=6)
    before = context(database, gym, session)
    told = log(coach, session, 0, 125, 5, role="top_set", rpe=9)["next"]
    add_max(coach, athlete, "bench-press", 110, date="2026-03-01")
    after = context(database, gym, session)
    assert after != before  # another bench press
    assert [one for one in after.rows if one.lift == "squat"] == [one for one in before.rows if one.lift == "squat"]
    assert after.person == before.person
    again = coach.get(session.next, params={"slot": session.slots[0]}).json()
    assert again["loading"]["load"] == told["loading"]["load"]


def test_a_session_that_nobody_began_follows_what_was_learned_meanwhile(coach, database, gym) -> None:
    athlete, session = begun(coach, database, gym, TOP_SET)
    opened = coach.patch(f"/v1/sessions/{session.id}", json={"state": "open"}, headers={"If-Match": "*"})
    assert opened.status_code == 200
    before = context(database, gym, session)
    assert before.rows == ()
    free = {"lift": "squat", "load": kg(120), "reps": 5, "rpe": 9.5, "at": "2026-03-02T12:00:00+01:00"}
    assert coach.post(f"/v1/athletes/{athlete}/sets", json=free).status_code == 201
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), NOW) as tx:
        refresh_open(tx, UUID(athlete))
    after = context(database, gym, session)
    assert [one.lift for one in after.rows] == ["squat"]
    assert after.rows[0].row.day == date(2026, 3, 2)


@pytest.mark.parametrize("felt", ["lighter", "as_expected", "heavier"])
def test_words_are_heard_by_the_model(coach, database, gym, felt: str) -> None:
    _, session = begun(coach, database, gym, TOP_SET)
    log(coach, session, 0, 110, 1, role="build_up", rpe=6)
    told = log(coach, session, 0, 125, 5, role="top_set", felt=felt)
    assert told["set"]["doubt"] is None
    assert told["next"] == coach.get(session.next).json()


def test_a_variation_that_waits_for_the_day_is_as_hard_as_the_log_says_by_then(coach, database, gym) -> None:
    scheme = {"kind": "sets_at_target", "sets": 2}
    target = {"kind": "percent", "reps": 3, "percent": 75, "basis": "day", "of": "squat", "valid_days": 1}
    pauses = {"lift": "pause-squat", "scheme": scheme, "target": target}
    athlete, session = begun(coach, database, gym, TOP_SET, pauses)
    coach.patch(f"/v1/sessions/{session.id}", json={"state": "open"})

    def expected() -> float:
        sets = coach.get(f"/v1/sessions/{session.id}").json()["slots"][1]["sets"]
        return next(one["expected_rpe"] for one in sets if one["role"] == "target_set")

    log(coach, session, 0, 125, 5, role="top_set", rpe=9.5)  # a bad day
    asked = pauses | {"athlete": athlete, "on": "2026-03-02"}
    anew = coach.post("/v1/prescriptions", json=asked).json()["sets"]
    assert expected() == next(one["expected_rpe"] for one in anew if one["role"] == "target_set")
