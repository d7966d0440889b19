"""Measures whether what lifters do all day costs more in a gym with a long log.

    python tests/bench/growth.py

Two databases stand side by side: one with a few athletes, one with 100,000 sets of others. In each, athletes with a
short log and others with five years of log do the same in turn, in rounds, so that a busy machine slows all of them
alike. What counts is the median over the rounds of how much longer one takes than the short log in the small gym.
"""

from __future__ import annotations

import itertools
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

from prepare import TEMPLATE
from sqlalchemy import create_engine, text
from starlette.testclient import TestClient

from service import embedded
from service.app import create_app
from service.store import gyms, keys, lifts, migrate
from service.store.session import Caller, Database, enter

SHORT, LONG, GYM = 100, 5000, 100_000
"""Sets of the athlete with a short log, of the one with a long log, and of all others in the full gym. [sets]"""
MEMBERS = 40
"""Of the group whose day is read: each has a log of so many sets. [athletes]"""
ROUNDS, TIMES = 21, 8
SELDOM = {"group day": 2, "preview": 4, "way back": 4}
"""What takes long is timed less often in a round."""
MOST = 1.2
DAY = TEMPLATE["weeks"][0]["sessions"][0]
LIFTS = (("squat", 120.0), ("bench-press", 90.0), ("deadlift", 150.0))
NOW = datetime.now(UTC)
END = NOW - timedelta(days=102)
"""When the logs end; what is measured comes after."""

COPY = """
INSERT INTO sets SELECT (jsonb_populate_record(s, jsonb_build_object('id', gen_random_uuid(), 'athlete_id', a.id))).*
  FROM sets s, athletes a WHERE s.gym_id = :gym AND s.athlete_id = :model AND a.gym_id = :gym AND a.name LIKE :whose
"""


@dataclass
class Case:
    """What one athlete does."""

    acts: dict[str, Callable[[], Any]]
    times: dict[str, list[float]] = field(default_factory=dict)
    """For each act the median of each round. [ms]"""


def main() -> int:
    """Measure, print, and tell by the exit code whether all stayed below the bar."""
    folder = Path(tempfile.mkdtemp(prefix="loadwright-growth-"))
    folder.chmod(0o711)
    with gym(folder / "small", others=0) as small, gym(folder / "full", others=GYM // SHORT) as full:
        cases = {f"{length}, {size}": case for size, found in (("small gym", small), ("full gym", full))
                 for length, case in found.items()}  # fmt: skip
        for turn in range(ROUNDS + 1):
            for case in cases.values():
                for name, act in case.acts.items():
                    case.times.setdefault(name, []).append(median(act, SELDOM.get(name, TIMES)))
            if turn == 0:  # the first round warms up
                for case in cases.values():
                    case.times.clear()
    shutil.rmtree(folder, ignore_errors=True)
    base, *compared = cases.items()
    acts = list(base[1].acts)
    print(f"{'':<26}" + "".join(f"{name:>14}" for name in acts))
    for name, case in cases.items():
        print(f"{name + ', p50 ms':<26}" + row({act: statistics.median(case.times[act]) for act in case.acts}, acts))
    worst = 0.0
    for name, case in compared:
        ratios = {
            act: statistics.median(now / then for now, then in zip(case.times[act], base[1].times[act], strict=True))
            for act in case.acts
        }
        print(f"{name + ', ratio':<26}" + row(ratios, acts))
        worst = max(worst, *ratios.values())
    print(f"worst ratio {worst:.2f} (bar {MOST})")
    return int(worst > MOST)


def row(found: dict[str, float], acts: list[str]) -> str:
    """Numbers below the names of acts; a dash where one was not done."""
    return "".join(f"{found[act]:>14.2f}" if act in found else f"{'-':>14}" for act in acts)


@contextmanager
def gym(folder: Path, *, others: int) -> Iterator[dict[str, Case]]:
    """A gym with so many other athletes; what the two that are measured do there."""
    with embedded.start(folder) as server:
        migrate.upgrade(server.owner_url)
        engine = create_engine(server.owner_url)
        with engine.begin() as connection:
            identity = gyms.add(connection, name="Growth", unit="kg", time_zone="UTC")
            tx = enter(connection, Caller(identity, "", "bench", "owner", None), NOW)
            lifts.add_built_in(tx)
            key = keys.add(tx, name="bench", right="coach")[1].text
        database = Database(server.service_url)
        client = TestClient(create_app(database), headers={"Authorization": f"Bearer {key}"})
        good(client.put("/v1/templates/ref:bench", json=TEMPLATE))
        good(client.put("/v1/templates/ref:weeks", json={"name": "Weeks", "weeks": 6 * [{"sessions": 3 * [DAY]}]}))
        found = {f"{count:,} sets": both(client, count) for count in (SHORT, LONG)}
        for count in (SHORT, LONG):
            found[f"{count:,} sets"].acts |= coached(client, count)
        groups = (SHORT, LONG) if others else (SHORT,)  # the other one alone would make the small gym a full one
        for count in groups:
            for number in range(MEMBERS):
                athlete(client, f"Member {count} {number}")
        for number in range(others):
            athlete(client, f"Other {number}")
        with engine.begin() as connection:
            connection.execute(text("SELECT set_config('app.gym', :gym, true)"), {"gym": str(identity)})
            for count, whose in ((SHORT, "Other %"), *((count, f"Member {count} %") for count in groups)):
                model = athlete(client, "Model")
                log(client, model, count)
                connection.execute(text(COPY), {"gym": identity, "model": model, "whose": whose})
            query = "SELECT count(*), count(DISTINCT athlete_id) FROM sets WHERE gym_id = :gym"
            sets, people = connection.execute(text(query), {"gym": identity}).one()
            print(f"{sets:,} sets of {people:,} athletes in the gym")
        for count in groups:
            found[f"{count:,} sets"].acts |= grouped(client, count)
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("VACUUM ANALYZE"))
        yield found
        database.close()
        engine.dispose()


def both(client: TestClient, count: int) -> Case:
    """Somebody who logs and somebody who reads, each with a log of so many sets."""
    logs, reads = athlete(client, "Logs"), athlete(client, "Reads")
    for person in (logs, reads):
        log(client, person, count)
    session = opened(client, reads)
    turn = itertools.count()

    def logged() -> None:
        number = next(turn)  # each is the newest; nine a day, as in the log
        lift, kg = LIFTS[number % 3]
        at = NOW + timedelta(days=number // 9 - 100, seconds=number)
        body = entry(lift, kg, at)
        good(client.post(f"/v1/athletes/{logs}/sets", json=body))

    def read(path: str) -> Callable[[], Any]:
        return lambda: good(client.get(f"/v1{path}"))

    return Case(
        {
            "log a set": logged,
            "all lifts": read(f"/athletes/{reads}/lifts"),
            "one lift": read(f"/athletes/{reads}/lifts/bench-press"),
            "load list": read(f"/athletes/{reads}/load-list?lift=squat"),
            "today": read(f"/athletes/{reads}/today"),
            "next": read(f"/sessions/{session}/next"),
        }
    )


def coached(client: TestClient, count: int) -> dict[str, Callable[[], Any]]:
    """What a coach reads of somebody with a log of so many sets who has missed a part of a block."""
    person = athlete(client, "Coached")
    log(client, person, count)
    start = NOW - timedelta(days=14)
    days = [f"{NOW + timedelta(days=apart):%A}".lower() for apart in (1, 3, 5)]
    body = {"template": "ref:weeks", "athletes": [person], "start": f"{start:%F}", "weekdays": days}
    block = good(client.post("/v1/blocks", json=body))["items"][0]["block"]["id"]
    away = {"kind": "illness", "from": f"{start:%F}", "until": f"{NOW - timedelta(days=1):%F}"}
    absence = good(client.post(f"/v1/athletes/{person}/absences", json=away))["id"]
    return {
        "preview": lambda: good(client.get(f"/v1/blocks/{block}/preview")),
        "replans": lambda: good(client.get(f"/v1/blocks/{block}/replans")),
        "way back": lambda: good(client.get(f"/v1/absences/{absence}/return")),
    }


def grouped(client: TestClient, count: int) -> dict[str, Callable[[], Any]]:
    """The day of a group in which everybody has a log of so many sets, and a session to do."""
    group = good(client.post("/v1/groups", json={"name": f"Group {count}"}))["id"]
    after: dict[str, str] = {}
    while after is not None:
        page = good(client.get("/v1/athletes", params={"limit": "200", **after}))
        for one in page["items"]:
            if one["name"].startswith(f"Member {count} "):
                good(client.put(f"/v1/groups/{group}/athletes/{one['id']}"))
        after = {"after": page["next_page"]} if page["next_page"] else None
    body = {"template": "ref:bench", "group": group, "start": f"{NOW:%F}", "weekdays": [f"{NOW:%A}".lower()]}
    good(client.post("/v1/blocks", json=body))
    return {"group day": lambda: good(client.get(f"/v1/groups/{group}/today"))}


def athlete(client: TestClient, name: str) -> str:
    """A new athlete's id."""
    return str(good(client.post("/v1/athletes", json={"name": name}))["id"])


def opened(client: TestClient, person: str) -> str:
    """An open session of today with its first set done."""
    body = {"template": "ref:bench", "athletes": [person], "start": f"{NOW:%F}", "weekdays": [f"{NOW:%A}".lower()]}
    block = good(client.post("/v1/blocks", json=body))["items"][0]["block"]["id"]
    session = str(good(client.get(f"/v1/blocks/{block}/sessions"))["items"][0]["id"])
    good(client.patch(f"/v1/sessions/{session}", json={"state": "open"}))
    first = {"lift": "squat", "role": "top_set", "load": {"value": 125, "unit": "kg"}, "reps": 3, "rpe": 8}
    good(client.post(f"/v1/sessions/{session}/sets", json=first))
    return session


def log(client: TestClient, person: str, count: int) -> None:
    """Three lifts a day, three sets each, two days apart, in bunches; the last ones are the same however many."""
    sets = []
    for number in range(-count, 0):
        lift, kg = LIFTS[number // 3 % 3]
        at = END + timedelta(days=2 * (number // 9), minutes=4 * (number % 9))
        kg += abs(number // 90 % 20 - 10)
        sets.append({"id": str(uuid4()), "athlete": person, **entry(lift, kg, at)})
    for first in range(0, count, 200):
        for one in good(client.post("/v1/sets", json={"sets": sets[first : first + 200]}))["results"]:
            if one["result"] != "stored":
                raise SystemExit(f"not stored: {one}")


def entry(lift: str, kg: float, at: datetime) -> dict[str, Any]:
    """One set as a phone sends it."""
    load = {"value": kg, "unit": "kg"}
    return {"lift": lift, "role": "free", "load": load, "reps": 5, "rpe": 8, "at": at.isoformat()}


def good(answer: Any) -> Any:
    """The body of an answer that must be a success."""
    if answer.status_code not in (200, 201):
        raise SystemExit(f"{answer.request.url}: {answer.status_code} {answer.text}")
    return answer.json()


def median(what: Callable[[], object], count: int) -> float:
    """Half of so many times were shorter. [ms]"""
    times = []
    for _ in range(count):
        started = time.perf_counter()
        what()
        times.append((time.perf_counter() - started) * 1000)
    return statistics.median(times)


if __name__ == "__main__":
    sys.exit(main())
