"""Measures whether logging a set, and reading the current maxes, cost more in a gym with a long log.

    python tests/bench/growth.py

Both are done in turn for an athlete with a short log, in the same process, before and after the gym has got 100,000 sets
of other athletes, and for an athlete with five years of log of her own. What counts is the ratio of the medians.
"""

from __future__ import annotations

import itertools
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from sqlalchemy import create_engine, text
from starlette.testclient import TestClient

from service import embedded
from service.app import create_app
from service.store import gyms, keys, lifts, migrate
from service.store.session import Caller, Database, enter

SHORT, LONG, GYM = 100, 5000, 100_000
"""Sets of the athlete who is measured, of the one with a long log, and of all others. [sets]"""
TIMES = 200
MOST = 1.2
LIFTS = (("squat", 120.0), ("bench-press", 90.0), ("deadlift", 150.0))
START = datetime(2021, 11, 29, 17, 0, tzinfo=UTC)
DAYS = itertools.count(-20)

COPY = """
INSERT INTO sets SELECT (jsonb_populate_record(s, jsonb_build_object('id', gen_random_uuid(), 'athlete_id', a.id))).*
  FROM sets s, athletes a WHERE s.gym_id = :gym AND s.athlete_id = :model AND a.gym_id = :gym AND a.name LIKE 'Other %'
"""


def main() -> int:
    """Measure, print, and tell by the exit code whether both stayed below the bar."""
    folder = Path(tempfile.mkdtemp(prefix="loadwright-growth-"))
    folder.chmod(0o711)
    with embedded.start(folder / "data") as server:
        migrate.upgrade(server.owner_url)
        engine = create_engine(server.owner_url)
        with engine.begin() as connection:
            gym = gyms.add(connection, name="Growth", unit="kg", time_zone="UTC")
            tx = enter(connection, Caller(gym, "", "bench", "owner", None), datetime.now(UTC))
            lifts.add_built_in(tx)
            key = keys.add(tx, name="bench", right="coach")[1].text
        database = Database(server.service_url)
        client = TestClient(create_app(database), headers={"Authorization": f"Bearer {key}"})
        runs = {name: athlete(client, name) for name in ("Short", "Long")}
        log(client, runs["Short"], SHORT)
        log(client, runs["Long"], LONG)
        alone = {name: measured(client, one) for name, one in runs.items()}
        others = [athlete(client, f"Other {number}") for number in range(GYM // SHORT)]
        with engine.begin() as connection:
            connection.execute(text("SELECT set_config('app.gym', :gym, true)"), {"gym": str(gym)})
            connection.execute(text(COPY), {"gym": gym, "model": runs["Short"]})
            count = connection.execute(text("SELECT count(*) FROM sets WHERE gym_id = :gym"), {"gym": gym}).scalar_one()
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("VACUUM ANALYZE sets"))
        crowded = {name: measured(client, one) for name, one in runs.items()}
        database.close()
        engine.dispose()
    print(f"{count:,} sets of {len(others) + 2:,} athletes in the gym")
    print(f"{'':<28}{'log p50 ms':>12}{'maxes p50 ms':>14}")
    for name, times in (("100 sets, alone", alone["Short"]), ("100 sets, full gym", crowded["Short"])):
        print(f"{name:<28}{times[0]:>12.2f}{times[1]:>14.2f}")
    for name, times in (("5,000 sets, alone", alone["Long"]), ("5,000 sets, full gym", crowded["Long"])):
        print(f"{name:<28}{times[0]:>12.2f}{times[1]:>14.2f}")
    failed = 0
    for name, now in (("full gym", crowded["Short"]), ("long log", alone["Long"])):
        ratios = [after / before for after, before in zip(now, alone["Short"], strict=True)]
        print(f"ratio, {name:<21}{ratios[0]:>12.2f}{ratios[1]:>14.2f}   (bar {MOST})")
        failed |= max(ratios) > MOST
    return int(failed)


def athlete(client: TestClient, name: str) -> str:
    """A new athlete's id."""
    made = client.post("/v1/athletes", json={"name": name})
    made.raise_for_status()
    return str(made.json()["id"])


def log(client: TestClient, person: str, count: int) -> None:
    """Three lifts a day, three sets each, two days apart, in bunches."""
    bodies = []
    for number in range(count):
        lift, kg = LIFTS[number // 3 % 3]
        at = START + timedelta(days=2 * (number // 9), minutes=4 * (number % 9))
        bodies.append(entry(person, lift, kg + number // 90 % 20, at))
    for first in range(0, count, 200):
        answer = client.post("/v1/sets", json={"sets": bodies[first : first + 200]})
        answer.raise_for_status()


def entry(person: str, lift: str, kg: float, at: datetime) -> dict[str, Any]:
    """One set as a phone sends it."""
    load = {"value": kg, "unit": "kg"}
    return {"athlete": person, "lift": lift, "role": "free", "load": load, "reps": 5, "rpe": 8, "at": at.isoformat()}


def measured(client: TestClient, person: str) -> tuple[float, float]:
    """Medians of logging a set and of reading the current maxes. [ms]"""
    morning = datetime.now(UTC).replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=next(DAYS))

    def logged(turn: int) -> None:
        at = morning + timedelta(seconds=turn)  # each is the newest
        body = entry(person, LIFTS[turn % 3][0], LIFTS[turn % 3][1], at)
        del body["athlete"]
        client.post(f"/v1/athletes/{person}/sets", json=body).raise_for_status()

    def read(_: int) -> None:
        client.get(f"/v1/athletes/{person}/lifts").raise_for_status()

    return median(logged), median(read)


def median(what: Callable[[int], None]) -> float:
    """Half of the times were shorter. [ms]"""
    for turn in range(20):
        what(turn)
    times = []
    for turn in range(20, 20 + TIMES):
        started = time.perf_counter()
        what(turn)
        times.append((time.perf_counter() - started) * 1000)
    return statistics.median(times)


if __name__ == "__main__":
    sys.exit(main())
