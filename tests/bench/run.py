"""Measures the service against a bare floor, as ratios in one run, and prints the table.

    python tests/bench/run.py [seconds for each run]

The server under test has one core, PostgreSQL and the load generator the other. Rates are answers for each second
that the server's own process was busy, so that a slow load generator cannot flatter it; the plain rates stand beside.
"""

from __future__ import annotations

import itertools
import json
import os
import pickle
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

sys.path[:0] = [str(Path(__file__).resolve().parents[2]), str(Path(__file__).resolve().parent)]

import load
import prepare
import replay

from service import embedded

SECONDS = float(sys.argv[1]) if len(sys.argv) > 1 else 3.0
ROUNDS = 3
FLOORS = {"calculation": 0.35, "read": 0.5, "log": 0.4}
MOST_MEMORY_MB = 150


@dataclass(frozen=True)
class Case:
    """One thing to measure: the request to the service, the same to the floor."""

    name: str
    kind: str
    ours: Callable[[], bytes]
    floor: Callable[[], bytes]


def free_port() -> int:
    """A free port of this machine's loopback."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


def started(command: list[str], port: int, path: str, env: dict[str, str] | None = None) -> subprocess.Popen[bytes]:
    """Start a server on the first core and wait until it answers."""
    process = subprocess.Popen(command, env={**os.environ, **(env or {})})
    os.sched_setaffinity(process.pid, {min(os.sched_getaffinity(0))})
    for _ in range(200):
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=2)
        except urllib.error.HTTPError:
            return process
        except OSError:
            time.sleep(0.05)
        else:
            return process
    process.kill()
    raise SystemExit(f"{command} did not start")


def cases(world: prepare.World) -> list[Case]:
    """What is measured."""
    found = []
    for name, (path, bodies) in world.calculations.items():
        sent = itertools.cycle([load.request("POST", path, world.key, json.dumps(body).encode()) for body in bodies])
        found.append(Case(name, "calculation", sent.__next__, sent.__next__))
    turn = iter(range(10**9))

    def session() -> str:
        return world.sessions[next(turn) % len(world.sessions)]

    def logged() -> bytes:
        extra = f"Idempotency-Key: {uuid.uuid4()}\r\n"
        return load.request("POST", f"/v1/sessions/{session()}/sets", world.key, world.set_body, extra)

    found.append(
        Case(
            "read a session",
            "read",
            lambda: load.request("GET", f"/v1/sessions/{session()}", world.key),
            lambda: load.request("GET", "/read", world.key),
        )
    )
    found.append(Case("log a set", "log", logged, lambda: load.request("POST", "/log", world.key, world.set_body)))
    return found


def main() -> int:
    """Measure, print, and tell by the exit code whether every floor was reached."""
    folder = Path(tempfile.mkdtemp(prefix="loadwright-bench-"))
    folder.chmod(0o711)
    with embedded.start(folder / "data") as server:
        world = prepare.build(server.owner_url, server.service_url)
        told = folder / "told.pickle"
        told.write_bytes(pickle.dumps(world.told))
        cores = sorted(os.sched_getaffinity(0))
        ports = free_port(), free_port()
        root = str(Path(__file__).resolve().parents[2])
        env = {"DATABASE_URL": server.service_url, "LOADWRIGHT_PORT": str(ports[0]), "PYTHONPATH": root}
        ours = started([sys.executable, "-m", "service", "serve"], ports[0], "/health", env)
        floor = started(
            [sys.executable, str(Path(__file__).parent / "reference.py"), str(ports[1]), str(told)], ports[1], "/"
        )
        os.sched_setaffinity(0, {cores[-1]})
        try:
            failed = measure(world, (ours.pid, ports[0]), (floor.pid, ports[1]))
        finally:
            for process in (ours, floor):
                process.terminate()
                process.wait(30)
    shutil.rmtree(folder, ignore_errors=True)
    return failed | replay.main()


def measure(world: prepare.World, ours: tuple[int, int], floor: tuple[int, int]) -> int:
    """Run all cases in turn, ours and the floor interleaved."""
    print(f"{'':<26}{'clients':>8}{'ours/s':>9}{'floor/s':>9}{'ratio':>8}{'plain':>8}{'bar':>7}{'p50 ms':>8}")
    failed = 0
    for case in cases(world):
        for clients in (16, 64):
            busy, plain, rates, waits = [], [], [], []
            for _ in range(ROUNDS):
                a = load.run(ours[1], ours[0], case.ours, clients=clients, seconds=SECONDS)
                b = load.run(floor[1], floor[0], case.floor, clients=clients, seconds=SECONDS)
                if a.wrong or b.wrong:
                    print(f"{case.name}: refused {a.wrong} ours, {b.wrong} floor")
                    failed = 1
                busy.append(a.busy_rate / b.busy_rate)
                plain.append(a.rate / b.rate)
                rates.append((a.busy_rate, b.busy_rate))
                waits.append(statistics.median(a.waits) * 1000)
            ratio, bar = statistics.median(busy), FLOORS[case.kind]
            failed |= ratio < bar
            ours_rate, floor_rate = (statistics.median(side) for side in zip(*rates, strict=True))
            print(
                f"{case.name:<26}{clients:>8}{ours_rate:>9.0f}{floor_rate:>9.0f}{ratio:>8.2f}"
                f"{statistics.median(plain):>8.2f}{bar:>7.2f}{statistics.median(waits):>8.1f}"
            )
    crowd = load.run(ours[1], ours[0], cases(world)[-1].ours, clients=256, seconds=SECONDS)
    print(f"256 clients log on a pool of 8: {crowd.answers} answers, refused {crowd.wrong or 'none'}")
    memory = load.memory_mb(ours[0])
    print(f"memory of the worker: {memory:.0f} MB (bar {MOST_MEMORY_MB})")
    return int(failed or bool(crowd.wrong) or memory > MOST_MEMORY_MB)


if __name__ == "__main__":
    sys.exit(main())
