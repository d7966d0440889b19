"""What is measured: a gym with many open sessions, and what the service sends and answers for one of them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

from sqlalchemy import create_engine, event, text
from starlette.testclient import TestClient

from service.app import create_app
from service.store import gyms, keys, lifts, migrate
from service.store.hot import Hot
from service.store.session import Caller, Database, enter

SESSIONS = 400
SQUAT = {
    "lift": "squat",
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
}
BENCH = {
    "lift": "bench-press",
    "scheme": {"kind": "sets_at_target", "sets": 4},
    "target": {"kind": "percent", "reps": 6, "percent": 72.5, "basis": "tested"},
}
ROW = {
    "lift": "dumbbell-row",
    "accessory": True,
    "scheme": {"kind": "sets_at_target", "sets": 3},
    "target": {"kind": "effort", "reps": 8, "reps_to": 12, "rir": 2},
}
TEMPLATE = {"name": "Bench", "weeks": [{"sessions": [{"name": "Legs and push", "slots": [SQUAT, BENCH, ROW]}]}]}
SET = {"lift": "squat", "role": "top_set", "load": {"value": 127.5, "unit": "kg"}, "reps": 3, "rpe": 8}
LIFTERS = 100
"""So many different ones ask for calculations, so that no answer can be remembered from the last one."""


def calculations(lifter: int) -> dict[str, tuple[str, dict[str, Any]]]:
    """The path and body of each calculation, for one of `LIFTERS` with maxes from 100 to 199 kg."""
    best = 100 + lifter
    slot = {**SQUAT, "max": kg(best)}
    build_up = {**SET, "role": "build_up", "load": kg(round(0.78 * best / 2.5) * 2.5), "rpe": 6}
    return {
        "estimated max": ("/v1/estimated-maxes", {"lift": "squat", "load": kg(best), "reps": 5, "rpe": 8.5}),
        "prescription": ("/v1/prescriptions", slot),
        "adjustment": ("/v1/adjustments", {**slot, "done": [build_up]}),
        "loading": ("/v1/loadings", {"lift": "squat", "load": kg(best * 0.845)}),
    }


def kg(value: float) -> dict[str, Any]:
    """A load."""
    return {"value": round(value, 3), "unit": "kg"}


@dataclass
class World:
    """The prepared gym."""

    key: str
    sessions: list[str]
    set_body: bytes
    calculations: dict[str, tuple[str, list[dict[str, Any]]]]
    """The path, and a body for each of `LIFTERS`."""
    told: dict[str, Any]


def build(owner_url: str, service_url: str) -> World:
    """Migrate, fill, record."""
    migrate.upgrade(owner_url)
    engine = create_engine(owner_url)
    with engine.begin() as connection:
        gym = gyms.add(connection, name="Bench", unit="kg", time_zone="UTC")
        tx = enter(connection, Caller(gym, "", "bench", "owner", None), datetime.now(UTC))
        lifts.add_built_in(tx)
        key = keys.add(tx, name="bench", right="coach")[1].text
    database = Database(service_url)
    client = TestClient(create_app(database), headers={"Authorization": f"Bearer {key}"})
    sessions = [opened(client, number) for number in range(SESSIONS)]
    body = json.dumps(SET).encode()
    asked = [calculations(lifter) for lifter in range(LIFTERS)]
    answers = {path: good(client.post(path, json=sent)) for path, sent in asked[LIFTERS // 2].values()}
    worlds = identities(engine, gym)
    first = worlds[UUID(sessions[0])]
    kept = [{first[name]: other[name] for name in first if name in other} for other in worlds.values()]
    read = recorded(database, lambda _: client.get(f"/v1/sessions/{sessions[0]}"))
    log = recorded(
        database,
        lambda token: client.post(f"/v1/sessions/{sessions[0]}/sets", json=SET, headers={"Idempotency-Key": token}),
    )
    made = UUID(json.loads(log["answer"])["set"]["id"])
    told = {
        "database": service_url.replace("+psycopg", ""),
        "pool": 8,
        "calculations": answers,
        "stored": [
            {"path": "/read", "method": "GET", "worlds": kept, **read, "fresh": []},
            {"path": "/log", "method": "POST", "worlds": kept, **log, "fresh": [made, log["token"]]},
        ],
    }
    database.close()
    engine.dispose()
    by_name = {name: (path, [one[name][1] for one in asked]) for name, (path, _) in asked[0].items()}
    return World(key, sessions, body, by_name, told)


def good(answer: Any) -> dict[str, Any]:
    """The body of an answer that must be a success."""
    if answer.status_code not in (200, 201):
        raise SystemExit(f"{answer.request.url}: {answer.status_code} {answer.text}")
    return dict(answer.json())


def opened(client: TestClient, number: int) -> str:
    """One athlete with maxes and an open session."""
    athlete = good(client.post("/v1/athletes", json={"name": f"Athlete {number:04}"}))["id"]
    for lift, kg in (("squat", 150), ("bench-press", 100)):
        body = {"lift": lift, "kind": "tested", "load": {"value": kg, "unit": "kg"}, "date": "2026-10-01"}
        good(client.post(f"/v1/athletes/{athlete}/maxes", json=body))
    if number == 0:
        good(client.put("/v1/templates/ref:bench", json=TEMPLATE))
    today = datetime.now(UTC).date()
    body = {"template": "ref:bench", "athletes": [athlete], "start": str(today), "weekdays": [f"{today:%A}".lower()]}
    block = good(client.post("/v1/blocks", json=body))["items"][0]["block"]["id"]
    session = good(client.get(f"/v1/blocks/{block}/sessions"))["items"][0]["id"]
    good(client.patch(f"/v1/sessions/{session}", json={"state": "open"}))
    return str(session)


def identities(engine: Any, gym: UUID) -> dict[UUID, dict[str, UUID]]:
    """The ids that belong to each session, by what they are."""
    query = text(
        "SELECT s.id, s.athlete_id, s.prescription_id, array_agg(x.id ORDER BY x.position) AS slots"
        " FROM sessions s JOIN slots x USING (gym_id) WHERE s.gym_id = :gym AND x.plan_id = s.plan_id GROUP BY 1, 2, 3"
    )
    with engine.begin() as connection:
        enter(connection, Caller(gym, "", "bench", "owner", None), datetime.now(UTC))
        rows = connection.execute(query, {"gym": gym}).all()
    return {
        row.id: {
            "session": row.id,
            "athlete": row.athlete_id,
            "prescription": row.prescription_id,
            **{f"slot {n}": slot for n, slot in enumerate(row.slots)},
        }
        for row in rows
    }


def recorded(database: Database, ask: Any) -> dict[str, Any]:
    """What the service sends to the database for one request, and what it answers."""
    statements: list[tuple[str, dict[str, Any]]] = []

    def note(_connection: Any, _cursor: Any, statement: str, parameters: Any, *_: Any) -> None:
        statements.append((statement, dict(parameters or {})))

    for _ in range(2):  # so that the key is remembered, and the statements are those of a running service
        ask(str(uuid4()))
    token = str(uuid4())
    event.listen(database.engine, "before_cursor_execute", note)
    send = Hot.run
    Hot.run = lambda hot, connection, values: note(None, None, hot.text, values) or send(hot, connection, values)
    answer = ask(token)
    Hot.run = send
    event.remove(database.engine, "before_cursor_execute", note)
    good(answer)
    return {"statements": statements, "answer": answer.content, "status": answer.status_code, "token": token}
