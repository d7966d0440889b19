"""Runs trials over all cores: each lifter in a process of the pool, with every method that the trial names."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np

from tests.simulation.measures import Results
from tests.simulation.scenarios import DESIGNED, MAIN, MAKE, STRESS, Trial
from tests.simulation.training import train

TRIALS: dict[str, tuple[Trial, ...]] = {"main": MAIN, "stress": STRESS, "designed": DESIGNED}
CHUNK = 10
"""Lifters that a process takes at a time."""


@dataclass(frozen=True, slots=True)
class Job:
    """Some lifters of one trial."""

    group: str
    trial: int
    first: int
    count: int


def work(job: Job) -> tuple[Job, np.ndarray]:
    """Shape (lifters, methods, 2 parts, measures, 2)."""
    trial = TRIALS[job.group][job.trial]
    found = []
    for seed in range(job.first, job.first + job.count):
        who = trial.lifter(seed)
        found.append([train(who, MAKE[name](who), part=trial.part).array() for name in trial.methods])
    return job, np.array(found)


def run(sizes: dict[str, int], first: int, *, only: str | None = None) -> dict[str, dict[str, Results]]:
    """All trials: for each, the results of its methods.

    Every trial meets the same lifters, from the seed `first` on; `sizes` says how many for each group of trials.
    """
    jobs = [
        Job(group, at, first + start, min(CHUNK, size - start))
        for group, size in sizes.items()
        for at, trial in enumerate(TRIALS[group])
        if only is None or only in trial.name
        for start in range(0, size, CHUNK)
    ]
    done: dict[Job, np.ndarray] = {}
    began = time.monotonic()
    processes = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    with get_context("spawn").Pool(processes) as pool:
        for job, found in pool.imap_unordered(work, jobs):
            done[job] = found
            _progress(len(done), len(jobs), time.monotonic() - began)
    return {
        trial.name: _gathered(trial, [done[job] for job in jobs if (job.group, job.trial) == (group, at)])
        for group in sizes
        for at, trial in enumerate(TRIALS[group])
        if only is None or only in trial.name
    }


def _gathered(trial: Trial, parts: Sequence[np.ndarray]) -> dict[str, Results]:
    whole = np.concatenate(parts)
    return {name: Results(whole[:, at]) for at, name in enumerate(trial.methods)}


def _progress(done: int, of: int, seconds: float) -> None:
    if sys.stderr.isatty() or done == of or done % max(1, of // 20) == 0:
        left = seconds / done * (of - done)
        end = "\r" if sys.stderr.isatty() and done < of else "\n"
        print(f"{100 * done // of:3d} %, {seconds:.0f} s, {left:.0f} s to go  ", end=end, file=sys.stderr, flush=True)
