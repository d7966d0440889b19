"""Measures the largest usual template: 52 weeks of 7 sessions of 12 slots, as ratios in one run, and prints them.

    python tests/bench/templates.py

The floor is the standard library's reading of the same bytes. Checking is all from the bytes of a body to the slots as
the calculation takes them, less what the lifts say; laying out is from the kept weeks to the rows of one athlete, less
the database. Beside the ratios, which hold on any machine, stand milliseconds; their bars are those of one free core.
"""

from __future__ import annotations

import itertools
import json
import statistics
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parents[2])]

from service.api.strict_json import read_json
from service.api.templates import TemplateBody
from service.core.catalogue import BUILT_IN
from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import Apart, Layout, LightBefore, Wishes
from service.core.slots import WeekPlan
from service.core.templates import faults
from service.flows.lay_out_block import planned
from service.store.plans import week_json, weeks_of
from service.store.sessions import slot_rows

WEEKS_LONG, SESSIONS, SLOTS = 52, 7, 12
ROUNDS = 15
MOST_MS = {"checked": 50.0, "none alike": 80.0, "laid out": 200.0}
MOST_RATIO = {"checked": 6.0, "none alike": 11.0, "laid out": 12.0}
"""Bars: milliseconds on a free core, and times of the floor. The one or the other is enough on a busy machine."""
MAIN = ("squat", "bench-press", "deadlift", "overhead-press", "front-squat", "floor-press", "romanian-deadlift")
SIDE = ("dumbbell-row", "pull-up", "dip", "plank", "split-squat", "lat-pulldown", "leg-press", "leg-curl")
DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def main_slot(week: int, session: int, at: int) -> dict[str, Any]:
    """Main work moves from week to week: efforts in waves of four weeks, percentages by 2.5 points."""
    lift = MAIN[(session + at) % len(MAIN)]
    if at % 2:
        target = {"kind": "percent", "reps": 3 + at, "percent": 67.5 + 2.5 * (week % 8), "basis": "tested"}
        scheme: dict[str, Any] = {"kind": "sets_at_target", "sets": 3 + week % 3}
    else:
        target = {"kind": "effort", "reps": 1 + (week // 4 + at) % 6, "rpe": 6.5 + 0.5 * (week % 4)}
        scheme = {"kind": "top_set", "back_off": {"sets": 2 + week % 3, "less_percent": 8}}
    note = "Brace before you bend, and keep the bar over the middle of the foot all the way down and up again."
    return {"lift": lift, "scheme": scheme, "target": target, "rest_seconds": 210, "tempo": "2-0-x-0", "note": note}


def side_slot(week: int, session: int, at: int) -> dict[str, Any]:
    """Accessories stay for a phase of eight weeks."""
    phase = week // 8
    return {
        "lift": SIDE[(session + at + phase) % len(SIDE)],
        "accessory": True,
        "scheme": {"kind": "sets_at_target", "sets": 2 + phase % 3},
        "target": {"kind": "effort", "reps": 8 + phase % 3, "reps_to": 12 + session % 3, "rir": 2},
        "rest_seconds": 90,
        "note": "As smooth as you can; stop a set when the shoulders begin to help.",
    }


def body(*, alike: bool = True) -> bytes:
    """The body of the template; or, against all custom, one in which no two slots are alike."""
    told = itertools.count()
    weeks: list[dict[str, Any]] = [
        {
            "name": f"Week {week + 1}",
            "sessions": [
                {
                    "name": f"Day {session + 1}",
                    "slots": [
                        main_slot(week, session, at) if at < 5 else side_slot(week, session, at) for at in range(SLOTS)
                    ],
                }
                for session in range(SESSIONS)
            ],
        }
        for week in range(WEEKS_LONG)
    ]
    for slot in (slot for week in weeks for session in week["sessions"] for slot in session["slots"] if not alike):
        slot["note"] += f" {next(told)}"
    return json.dumps({"name": "A long year", "weeks": weeks}).encode()


def checked(sent: bytes) -> tuple[WeekPlan, ...]:
    """From bytes to weeks."""
    return tuple(week.record() for week in TemplateBody.model_validate(read_json(sent)).weeks or ())


def laid_out(kept: str) -> int:
    """From the kept weeks to the rows of one athlete; how many slots."""
    weeks = weeks_of(json.loads(kept))
    wishes = Wishes(
        apart=(Apart(by="sessions", kinds=("Day 1", "Day 3"), days=1), Apart(by="lifts", kinds=("squat",), days=1)),
        light_before=(LightBefore(date=date(2027, 12, 18), days=2),),
    )
    laid = lay_out(planned(weeks, BUILT_IN, wishes), Layout(weekdays=DAYS, start=date(2027, 1, 4), wishes=wishes))
    rows = slot_rows(weeks)
    return sum(len(rows[one.week, one.number]) for one in laid.dated)


def times(work: Callable[[], Any], floor: Callable[[], Any]) -> tuple[float, float]:
    """Milliseconds of the fastest run, and the median ratio to the floor beside it."""
    taken, ratios = [], []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        floor()
        middle = time.perf_counter()
        work()
        end = time.perf_counter()
        taken.append(1000 * (end - middle))
        ratios.append((end - middle) / (middle - begin))
    return min(taken), statistics.median(ratios)


def main() -> int:
    """Measure, print, and tell by the exit code whether the bars held."""
    sent = body()
    weeks = checked(sent)
    missing = faults(weeks, BUILT_IN)
    if missing:
        raise SystemExit(f"the template does not fit: {missing[0]}")
    kept = json.dumps([week_json(week) for week in weeks])
    slots = [slot for week in weeks for session in week.sessions for slot in session.slots]
    print(f"{len(slots)} slots, {len(set(slots))} of them different, {len(sent) / 1e6:.2f} MB")
    failed = 0
    other = body(alike=False)
    works: dict[str, Callable[[], Any]] = {
        "checked": lambda: checked(sent),
        "none alike": lambda: checked(other),
        "laid out": lambda: laid_out(kept),
    }
    for name, work in works.items():
        ms, ratio = times(work, lambda: json.loads(sent))
        failed |= ms > MOST_MS[name] and ratio > MOST_RATIO[name]
        print(
            f"{name:<12}{ms:>8.1f} ms (bar {MOST_MS[name]:.0f})"
            f"{ratio:>8.1f} times reading the JSON (bar {MOST_RATIO[name]:.0f})"
        )
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
