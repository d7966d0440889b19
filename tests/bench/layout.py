"""Measures laying a template out for 200 athletes in one call against one call for each, through the real server.

    python tests/bench/layout.py

The server has one core, PostgreSQL and this program the other. Both ways lay out the same template for the same number
of athletes, in turn, in rounds; what counts is the median ratio. Each call has a connection that is open already.
"""

from __future__ import annotations

import http.client
import json
import os
import shutil
import statistics
import sys
import tempfile
import time
import uuid
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

import load
from prepare import BENCH, ROW, SQUAT
from run import free_port, started
from sqlalchemy import create_engine, text

from service import embedded
from service.store import gyms, keys, lifts, migrate
from service.store.session import Caller, enter

ATHLETES, ROUNDS = 200, 5
SIZES = {
    "1 week of 3 sessions of 3 slots": (1, 3, 3),
    "4 weeks of 2 sessions of 3 slots": (4, 2, 3),
    "9 weeks of 4 sessions of 5 slots": (9, 4, 5),
}
"""Weeks, sessions a week, slots a session."""
LEAST = 20.0
"""How many times faster one call has to be.

What each call needs besides its rows is spared 199 times, and what sessions plan is stored once for all. The rows of
the sessions, each checked against its block and its plan by the database, are the same either way: the longer the
block, the more of the time is theirs, and each key more that a session is checked against takes some of it.
"""
DAYS = ["monday", "tuesday", "thursday", "friday"]


def busy(server: int, folder: Path) -> float:
    """Processor time that the service and its PostgreSQL have used. [s]"""
    (kept,) = folder.glob("**/postmaster.pid")
    main_process = int(kept.read_text("ascii").split()[0])
    children = Path(f"/proc/{main_process}/task/{main_process}/children").read_text("ascii").split()
    return load.cpu(server) + sum(load.cpu(int(child)) for child in children)


class Client:
    """One connection to the server, with the key."""

    def __init__(self, port: int, key: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}

    def send(self, method: str, path: str, body: Any, accept: str = "application/json") -> bytes:
        """Send one request that must succeed; the answer's bytes."""
        headers = self.headers | {"Accept": accept}
        if method == "POST":  # as every client that may have to repeat it
            headers["Idempotency-Key"] = str(uuid.uuid4())
        self.connection.request(method, path, json.dumps(body), headers)
        answer = self.connection.getresponse()
        content = answer.read()
        if answer.status not in (200, 201):
            raise SystemExit(f"{path}: {answer.status} {content[:500]!r}")
        return content


def main() -> int:
    """Measure, print, and tell by the exit code whether one call was fast enough."""
    folder = Path(tempfile.mkdtemp(prefix="loadwright-layout-"))
    folder.chmod(0o711)
    cores = sorted(os.sched_getaffinity(0))
    with embedded.start(folder / "data") as server:
        migrate.upgrade(server.owner_url)
        engine = create_engine(server.owner_url)
        with engine.begin() as connection:
            gym = gyms.add(connection, name="Bench", unit="kg", time_zone="UTC")
            tx = enter(connection, Caller(gym, "", "bench", "owner", None), datetime.now(UTC))
            lifts.add_built_in(tx)
            key = keys.add(tx, name="bench", right="coach")[1].text
        port = free_port()
        root = str(Path(__file__).resolve().parents[2])
        env = {"DATABASE_URL": server.service_url, "LOADWRIGHT_PORT": str(port), "PYTHONPATH": root}
        process = started([sys.executable, "-m", "service", "serve"], port, "/health", env)
        os.sched_setaffinity(0, {cores[-1]})
        try:
            client = Client(port, key)
            athletes = [
                json.loads(client.send("POST", "/v1/athletes", {"name": f"Athlete {n:04}"}))["id"]
                for n in range(ATHLETES)
            ]
            failed = 0
            for size, shape in SIZES.items():
                failed |= measure(client, engine, gym, athletes, (size, shape), lambda: busy(process.pid, folder))
        finally:
            process.terminate()
            process.wait(30)
        engine.dispose()
    shutil.rmtree(folder, ignore_errors=True)
    return failed


def clear(engine: Any, gym: uuid.UUID) -> None:
    """Nobody has a block any more: whoever comes next finds what the one before found."""
    with engine.begin() as connection:
        enter(connection, Caller(gym, "", "bench", "owner", None), datetime.now(UTC))
        for table in ("blocks", "session_plans", "idempotency_keys"):
            connection.execute(text(f"DELETE FROM {table}"))
    with engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
        connection.execute(text("VACUUM ANALYZE"))  # as the server does by itself once a minute


def one_call_each(client: Client, order: dict[str, Any], athletes: list[str]) -> None:
    """Lay the template out for each athlete in turn."""
    for athlete in athletes:
        client.send("POST", "/v1/blocks", order | {"athletes": [athlete]})


def one_call(client: Client, order: dict[str, Any], athletes: list[str]) -> None:
    """Lay it out for all at once."""
    client.send("POST", "/v1/blocks", order | {"athletes": athletes})


def as_lines(client: Client, order: dict[str, Any], athletes: list[str]) -> None:
    """As `one_call`, told of each as it is done."""
    lines = client.send("POST", "/v1/blocks", order | {"athletes": athletes}, "application/x-ndjson").splitlines()
    if len(lines) != ATHLETES + 1 or json.loads(lines[-1])["failed"]:
        raise SystemExit(f"{len(lines)} lines, the last one {lines[-1]!r}")


def measure(
    client: Client,
    engine: Any,
    gym: uuid.UUID,
    athletes: list[str],
    case: tuple[str, tuple[int, int, int]],
    used: Callable[[], float],
) -> int:
    """One template both ways, in rounds."""
    size, (weeks, sessions, slots) = case
    line = [SQUAT, BENCH, ROW, SQUAT, BENCH][:slots]
    days = [{"name": f"Day {number}", "slots": line} for number in range(sessions)]
    body = {"name": size, "weeks": [{"sessions": days}] * weeks}
    client.send("PUT", "/v1/templates/ref:bench", body)
    order = {"template": "ref:bench", "start": "2026-12-07", "weekdays": DAYS}
    rows: list[tuple[float, ...]] = []
    for turn in range(ROUNDS + 1):
        row: list[float] = []
        for way in (one_call_each, one_call, as_lines):
            clear(engine, gym)
            before = time.perf_counter(), used()
            way(client, order, athletes)
            row += [time.perf_counter() - before[0], used() - before[1]]
        if turn:  # the first round warms up
            rows.append(tuple(row))
    one, one_used, all_, all_used, stream, _ = (statistics.median(column) for column in zip(*rows, strict=True))
    ratio, ratio_used = (statistics.median(row[at] / row[at + 2] for row in rows) for at in (0, 1))
    print(
        f"{size}, {ATHLETES} athletes: one call each {one:.2f} s, one call {all_:.3f} s (as lines {stream:.3f} s), "
        f"ratio {ratio:.1f} (bar {LEAST:.0f}); processor time {one_used:.2f} s and {all_used:.3f} s, "
        f"ratio {ratio_used:.1f}"
    )
    return int(max(ratio, ratio_used) < LEAST)


if __name__ == "__main__":
    sys.exit(main())
