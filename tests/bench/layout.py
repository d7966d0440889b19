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
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

from prepare import BENCH, ROW, SQUAT
from run import free_port, started
from sqlalchemy import create_engine, text

from service import embedded
from service.store import gyms, keys, lifts, migrate
from service.store.session import Caller, enter

ATHLETES, ROUNDS = 200, 3
SIZES = {"4 weeks of 2 sessions of 3 slots": (4, 2, 3), "9 weeks of 4 sessions of 5 slots": (9, 4, 5)}
"""Weeks, sessions a week, slots a session."""
LEAST = {"4 weeks of 2 sessions of 3 slots": 20.0, "9 weeks of 4 sessions of 5 slots": 5.0}
"""How many times faster one call has to be. Of a long block nearly all is rows, which are the same ones either way."""
DAYS = ["monday", "tuesday", "thursday", "friday"]


class Client:
    """One connection to the server, with the key."""

    def __init__(self, port: int, key: str) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.headers = {"Authorization": f"Bearer {key}", "Content-Type": "application/json"}

    def send(self, method: str, path: str, body: Any, accept: str = "application/json") -> bytes:
        """Send one request that must succeed; the answer's bytes."""
        self.connection.request(method, path, json.dumps(body), self.headers | {"Accept": accept})
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
                failed |= measure(client, engine, athletes, size, shape)
        finally:
            process.terminate()
            process.wait(30)
        engine.dispose()
    shutil.rmtree(folder, ignore_errors=True)
    return failed


def measure(client: Client, engine: Any, athletes: list[str], size: str, shape: tuple[int, int, int]) -> int:
    """One template both ways, in rounds."""
    weeks, sessions, slots = shape
    line = [SQUAT, BENCH, ROW, SQUAT, BENCH][:slots]
    days = [{"name": f"Day {number}", "slots": line} for number in range(sessions)]
    body = {"name": size, "weeks": [{"sessions": days}] * weeks}
    client.send("PUT", "/v1/templates/ref:bench", body)
    order = {"template": "ref:bench", "start": "2026-12-07", "weekdays": DAYS}
    ratios, ones, alls, streams = [], [], [], []
    for turn in range(ROUNDS + 1):
        with engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
            connection.execute(text("ANALYZE"))  # as the server does by itself once a minute
        begin = time.perf_counter()
        for athlete in athletes:
            client.send("POST", "/v1/blocks", order | {"athletes": [athlete]})
        one = time.perf_counter() - begin
        begin = time.perf_counter()
        client.send("POST", "/v1/blocks", order | {"athletes": athletes})
        all_ = time.perf_counter() - begin
        begin = time.perf_counter()
        lines = client.send("POST", "/v1/blocks", order | {"athletes": athletes}, "application/x-ndjson").splitlines()
        stream = time.perf_counter() - begin
        if len(lines) != ATHLETES + 1 or json.loads(lines[-1])["failed"]:
            raise SystemExit(f"{len(lines)} lines, the last one {lines[-1]!r}")
        if turn:  # the first round warms up
            ratios.append(one / all_)
            ones.append(one)
            alls.append(all_)
            streams.append(stream)
    ratio, least = statistics.median(ratios), LEAST[size]
    print(
        f"{size}, {ATHLETES} athletes: one call each {statistics.median(ones):.2f} s, "
        f"one call {statistics.median(alls):.3f} s (as lines {statistics.median(streams):.3f} s), "
        f"ratio {ratio:.1f} (bar {least:.0f})"
    )
    return int(ratio < least)


if __name__ == "__main__":
    sys.exit(main())
