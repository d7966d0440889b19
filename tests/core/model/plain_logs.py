"""Logs of made-up lifters, the same ones at every run, to drive the models with. Not meant to be true to life."""

from datetime import date, timedelta
from random import Random
from typing import NamedTuple

import numpy as np

from tests.core.model.plain import Entry, bend, curve, repetitions

START = date(2026, 1, 5)
LIFTS = {
    "squat": {"kg": 150.0, "group": 0.08},
    "bench": {"kg": None, "group": 0.0},
    "deadlift": {"kg": 200.0, "group": -0.06, "tested": True},
}
MAXES = {"squat": 155.0, "bench": 104.0, "deadlift": 197.0}


class Logged(NamedTuple):
    lift: str
    on: date
    entry: Entry


class Lifter:
    """What a made-up lifter can do, and how the lifter reports it."""

    def __init__(self, seed):
        self.dice = Random(seed)  # noqa: S311 - the same lifters at every run, no secrets
        self.max = dict(MAXES)
        self.factor = {name: 1 + given["group"] + self.dice.gauss(0, 0.1) for name, given in LIFTS.items()}
        self.bias = self.dice.gauss(0.2, 0.4)
        self.tired = dict.fromkeys(LIFTS, 0.0)
        self.today = dict.fromkeys(LIFTS, 0.0)

    def new_day(self):
        for name in LIFTS:
            self.max[name] *= float(np.exp(self.dice.gauss(0.0005, 0.006)))
            self.today[name] = self.dice.gauss(0, 0.02)
            self.tired[name] = 0.0

    def load(self, lift, n):
        """A load of which about n repetitions are possible, to the next 2.5 kg."""
        kg = self.max[lift] * np.exp(-curve(n + self.dice.gauss(0, 0.7)) / self.factor[lift])
        return max(2.5, round(float(kg) / 2.5) * 2.5)

    def lift(self, lift, kg, reps):
        """The repetitions made, those reported as left, and whether strength ended the set."""
        x = self.factor[lift] * np.log(self.max[lift] / kg) + self.today[lift] - self.tired[lift]
        n = float(repetitions(min(x + 0.1 * float(bend(5)), 1.6)))
        self.tired[lift] += 0.006
        if n < reps:
            return max(0, int(n)), 0.0, True
        left = n - reps - self.bias + self.dice.gauss(0, 0.5 + 0.2 * (n - reps))
        return reps, float(np.clip(round(2 * left) / 2, 0, 9)), False


def clean_log(seed, sessions, lifts=tuple(LIFTS)):
    """Rated sets above RPE 7 and failed sets with repetitions; unrated ones tire. Some days two lifts take turns."""
    lifter = Lifter(seed)
    dice = lifter.dice
    on = START
    log = []
    for _ in range(sessions):
        lifter.new_day()
        trained = dice.sample(lifts, min(len(lifts), dice.choice([1, 2])))
        for turn in range(4 * len(trained)):
            name = trained[turn % len(trained)]
            reps = dice.randint(2, 8)
            kg = lifter.load(name, reps + dice.choice([0.5, 1, 1.5, 2]))
            done, left, failed = lifter.lift(name, kg, reps)
            if failed:
                if done:
                    log.append(Logged(name, on, Entry(kg, done, failed=True)))
            else:
                rpe = 10 - left if left < 3 and dice.random() < 0.9 else None
                log.append(Logged(name, on, Entry(kg, done, rpe)))
        on += timedelta(dice.choice([1, 1, 2, 3, 4, 20]))
    return log


def wild_log(seed, count):
    """Everything that may come: slips, misses, words, months without effort, layoffs, new levels, answers to doubts."""
    lifter = Lifter(seed)
    dice = lifter.dice
    on = START
    log = []
    silent = pounds = 0
    while len(log) < count:
        lifter.new_day()
        silent = max(0, silent - 1) if silent else dice.choice([0] * 25 + [7])
        pounds = dice.choice([0] * 20 + [1])
        if dice.random() < 0.03:
            name = dice.choice(list(LIFTS))
            lifter.max[name] *= dice.choice([0.6, 0.7, 1.4])
            lifter.max[name] = min(max(lifter.max[name], 50.0), 320.0)
        trained = dice.sample(list(LIFTS), dice.choice([1, 2, 3]))
        for turn in range(len(trained) * dice.randint(1, 5)):
            name = trained[turn % len(trained)]
            log.append(Logged(name, on, wild_set(lifter, name, silent=silent, pounds=pounds)))
        on += timedelta(dice.choice([1, 1, 1, 2, 2, 3, 4, 7, 20]) if dice.random() < 0.98 else 150)
    return log[:count]


def wild_set(lifter, name, *, silent, pounds):
    dice = lifter.dice
    reps = dice.choice([1, 1, 2, 3, 3, 5, 5, 5, 6, 8, 10, 15, 25])
    kg = lifter.load(name, reps + dice.choice([-0.5, 0.5, 1, 1.5, 2, 2.5, 3, 4, 6]))
    done, left, failed = lifter.lift(name, kg, reps)
    entry = Entry(kg, done, failed=failed)
    if failed and dice.random() < 0.2:
        entry.rpe = 10
    if not failed and not silent:
        way = dice.random()
        if way < 0.7:
            entry.rpe = max(10 - left, 5.0 if dice.random() < 0.9 else 1.0)
        elif way < 0.85:
            entry.felt = dice.choice(["lighter", "as_expected", "heavier"])
    if pounds or dice.random() < 0.02:
        entry.kg *= 2.2046226 if pounds else dice.choice([10, 0.1, 2.2046226, 1 / 2.2046226, 1.25])
    if dice.random() < 0.03:
        entry.counts = dice.choice(["fatigue", "nothing"])
    elif dice.random() < 0.03:
        entry.excluded = True
    elif dice.random() < 0.05:
        entry.confirmed = True
    return entry
