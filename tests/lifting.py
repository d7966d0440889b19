"""Builders for tests that log sets: an athlete, a session with slots, and what a body says of a set."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from starlette.testclient import TestClient

from service.api.slots import SlotBody
from service.store import session_plans, sessions
from service.store.ids import new_id
from service.store.session import Caller, Database

TOP_SET = {
    "lift": "squat",
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
    "rest_seconds": 240,
}
"""The slot of the worked example: with a tested max of 150 kg the top set is 127.5 kg, the back-off sets 117.5."""

BY_CURVE: dict[str, Any] = {"settings": {"curve": "default"}}
"""An athlete whose coach has pinned the default curve: numbers that are done by hand with it."""


@dataclass(frozen=True)
class Session:
    """A session in the database, with its slots' ids in order."""

    id: str
    slots: list[str]

    @property
    def sets(self) -> str:
        """Where its sets are logged."""
        return f"/v1/sessions/{self.id}/sets"

    @property
    def next(self) -> str:
        """Where its next set is read."""
        return f"/v1/sessions/{self.id}/next"


def kg(value: float) -> dict[str, Any]:
    """A load in kilograms."""
    return {"value": value, "unit": "kg"}


def add_athlete(coach: TestClient, **values: Any) -> str:
    """An athlete of the gym; the id."""
    made = coach.post("/v1/athletes", json={"name": "Mira", **values})
    assert made.status_code == 201, made.text
    identity: str = made.json()["id"]
    return identity


def add_max(coach: TestClient, athlete: str, lift: str = "squat", value: float = 150, **values: Any) -> None:
    """A tested max."""
    body = {"lift": lift, "kind": "tested", "load": kg(value), "date": "2026-01-10", **values}
    made = coach.post(f"/v1/athletes/{athlete}/maxes", json=body)
    assert made.status_code == 201, made.text


def add_session(
    database: Database,
    gym: UUID,
    athlete: str,
    *slots: dict[str, Any],
    on: date = date(2026, 3, 2),
    kind: str = "free",
) -> Session:
    """A planned session of an athlete with these slots."""
    identity = new_id()
    with database.transaction(Caller(gym, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        rows = [sessions.slot_row(SlotBody.model_validate(slot).record()) for slot in slots]
        made = sessions.NewSession(
            id=identity, athlete=UUID(athlete), kind=kind, date=on, name="Legs", slots=rows  # type: ignore[arg-type]
        )  # fmt: skip
        sessions.add_many(tx, [made])
        page = sessions_slots(tx, identity)
    return Session(str(identity), page)


def sessions_slots(tx: Any, identity: UUID) -> list[str]:
    """The ids of a session's slots, in order."""
    return [str(one.id) for one in session_plans.of_sessions(tx, [identity])[identity]]


def done(slot: str | None = None, **values: Any) -> dict[str, Any]:
    """A body that logs a set: three repetitions, unless said otherwise."""
    return {"reps": 3, **({} if slot is None else {"slot": slot}), **values}
