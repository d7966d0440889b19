"""Measures how long it takes to fold a log of three years, against a bare update of seven states in nested lists.

    python tests/bench/replay.py

The floor does one thing for each set: the plain arithmetic of one observation. The replay does all: order, days, what
lifts share, gates, bounds, fatigue, kin, expectations. The time is printed; the ratio must stay above the bar.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from math import exp, log
from pathlib import Path
from random import Random

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from service.core.catalogue import BUILT_IN
from service.core.model.heard import Heard
from service.core.model.kin import Key
from service.core.model.memory import Known, Memory
from service.core.model.replay import Event, SetEvent, replay
from service.core.model.shape import g, repetitions
from service.core.model.tested import Given

SETS = 5000
ROUNDS = 7
BAR = 0.3
# Twelve lifts with their maxes, four of them variations. [kg]
LIFTS = {
    "squat": 180.0, "pause-squat": 160.0, "front-squat": 145.0, "bench-press": 120.0, "close-grip-bench-press": 112.0,
    "incline-bench-press": 95.0, "deadlift": 210.0, "overhead-press": 70.0, "barbell-row": 100.0, "pull-up": 110.0,
    "leg-press": 300.0, "dip": 120.0,
}  # fmt: skip


def three_years() -> tuple[list[Event], Known]:
    """A lifter who trains three days a week, four lifts a day, and rates nine sets of ten."""
    dice = Random(7)  # noqa: S311 # the same lifter at every run, no secrets
    words = list(LIFTS)
    events: list[Event] = []
    turn = 0
    for number in range(0, 3 * 365, 7):
        for day in (number, number + 2, number + 4):
            on = date(2023, 1, 2) + timedelta(days=day)
            for _ in range(4):
                word = words[turn % len(words)]
                turn += 1
                ready = dice.gauss(0, 0.02)
                for _ in range(3):
                    reps = dice.choice([1, 3, 5, 5, 8])
                    kg = 2.5 * round(LIFTS[word] * exp(-g(reps + dice.choice([1, 2, 3]))) / 2.5)
                    possible = repetitions(log(LIFTS[word] / kg) + ready) + dice.gauss(0, 0.6)
                    moment = datetime(on.year, on.month, on.day, 18, tzinfo=UTC) + timedelta(seconds=len(events) % 1000)
                    if possible < reps:
                        heard = Heard(kg, max(0, min(int(possible), reps - 1)), failed=True)
                    else:
                        rpe = max(5.0, min(10.0, round(2 * (10 - possible + reps)) / 2))
                        heard = Heard(kg, reps, rpe if dice.random() < 0.9 else None)
                    events.append(SetEvent(on, Key(word, "unsupported", ""), heard, moment, f"{len(events):05}"))
    return events[:SETS], Known(BUILT_IN, lambda key, _: Given(0.97 * LIFTS[key.lift], 0.10))


def bare(count: int) -> list[float]:
    """One observation after another of seven states, in nested lists, with a logarithm and an exponential each."""
    mean = [0.0] * 7
    cov = [[0.01 if i == j else 0.0 for j in range(7)] for i in range(7)]
    for number in range(count):
        u = log(1 + number % 7 / 10)
        c = [1.0, -u, 1.0, -0.5, exp(-u) / 10, -0.04, 0.0]
        towards = [sum(row[j] * c[j] for j in range(7)) for row in cov]
        total = sum(c[i] * towards[i] for i in range(7)) + 0.001
        surprise = 0.1 - sum(c[i] * mean[i] for i in range(7))
        for i in range(7):
            mean[i] += towards[i] * surprise / total
            for j in range(7):
                cov[i][j] -= towards[i] * towards[j] / total
        cov[0][0] += 1e-5
    return mean


def busy(work: Callable[[], object]) -> float:
    """Time that the processor worked for it. [s]."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def main() -> int:
    """Measure in turn, print, and tell by the exit code whether the bar was reached."""
    events, known = three_years()
    memory: Memory = replay(events, known)
    ours, floor = [], []
    for _ in range(ROUNDS):
        ours.append(busy(lambda: replay(events, known)))
        floor.append(busy(lambda: bare(len(events))))
    ratio = statistics.median(b / a for a, b in zip(ours, floor, strict=True))
    kin = sum(lift.ratio is not None for lift in memory.lifts.values())
    print(
        f"replay of {len(events)} sets in {len(memory.lifts)} lifts, {kin} of them variations: "
        f"{1000 * statistics.median(ours):.0f} ms; bare arithmetic {1000 * statistics.median(floor):.0f} ms; "
        f"ratio {ratio:.2f} (bar {BAR})"
    )
    return int(ratio < BAR)


if __name__ == "__main__":
    sys.exit(main())
