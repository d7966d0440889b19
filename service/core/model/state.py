"""What the model remembers: one short row of an athlete's lift, one of the athlete; and where both start."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import log

from service.core.records import CurveGroup

Means = tuple[float, float, float, float, float, float, float]
"""Level, curve factor, day readiness, fatigue, bend, bias, person: in the order of `Row`."""
Covariance = tuple[
    float, float, float, float, float, float, float,
    float, float, float, float, float, float,
    float, float, float, float, float,
    float, float, float, float,
    float, float, float,
    float, float,
    float,
]  # fmt: skip
"""Upper triangle of a 7 x 7 covariance, by rows: 28 numbers."""

CURVE_GROUP: dict[CurveGroup, float] = {"squat_like": 0.08, "deadlift_like": -0.06, "other": 0.0}
"""Curve factor above or below the usual. Published direction (at a percentage more repetitions in the squat, fewer in
the deadlift, than in the bench press); size: simulation. [1]"""
FACTOR_LIFT_SD, FACTOR_PERSON_SD = 0.09, 0.11
"""Spread of the curve factor between lifts of a person, and between people. Published spread of repetitions; the split
is judgement. [1]"""
BEND_SD = 0.5
"""Spread of the curve's bend. Simulation; published equations differ by more. [1]"""
FATIGUE, FATIGUE_SD = 0.006, 0.005
"""Capacity lost for a fatigue unit, and its spread. Published velocity loss for a set; simulation. [log / unit]"""
BIAS, BIAS_SD = 0.2, 0.5
"""Repetitions really left less those reported, near failure, and the spread. Published under-report: 0.17 (bench press,
near failure) to 0.95 (all studies); simulation. [reps]"""
DAY_SD = 0.025
"""Spread of good and bad days. Published retest variation of a max: 2 to 4 %. [log]"""
GIVEN_SD, TESTED_SD, NOTHING_SD, ANCHORED_SD = 0.10, 0.05, 0.20, 0.15
"""Spread of the level where a max was given; where it was tested lately; where there is none; after a new anchor.
Simulation: given maxes are stale or rounded up. [log]"""
AT_LEAST_SD = 0.05
"""Spread of a level that is only known to be at least so high: it is not much lower, since it was lifted easily. Ours.
[log]"""
START_RATE = 0.5
"""Share of rated sets that a new athlete is taken to have. Ours. [1]"""
RATE_LIMIT = 0.25
"""Share of rated sets below which completed sets without an effort count as "at least". Simulation: with more ratings
they do harm, without any only failures would teach. [1]"""


@dataclass(slots=True)
class Person:
    """What all lifts of an athlete share: how the athlete reports, and how many repetitions the athlete gets.

    Not frozen for speed: treat it as if it were, functions give new ones.
    """

    bias: float = BIAS
    """Repetitions really left less those reported, near failure. [reps]"""
    factor: float = 0.0
    """The person's part of the curve factor. [1]"""
    v_bias: float = BIAS_SD**2
    v_both: float = 0.0
    v_factor: float = FACTOR_PERSON_SD**2
    rate: float = START_RATE
    """Share of sets with an effort, a running mean. [1]"""
    erratic: float = 1.0
    """How far reports lie from what is expected, squared and against the expected spread. [1]"""
    judged: int = 0
    """Sets that `erratic` stands on, at most 200."""
    version: int = 0
    """Grows with each giving back: a lift that saw this version need not adopt."""


@dataclass(slots=True)
class Row:
    """One lift of an athlete, in one support class, on one machine. Not frozen for speed: treat it as if it were.

    The state is (level, curve factor, day readiness, fatigue, bend, bias, person), all in the units of model equation
    (1): the level is the log of the max against the reference, times the curve factor.
    """

    reference: float | None
    """Log of the load that the level is measured from; None: empty, nothing is known of the level yet. [log kg]"""
    group: CurveGroup
    m: Means
    """Means. The factor is about 1, fatigue in log a unit, bias in repetitions, the rest in log."""
    p: Covariance
    """Covariance, upper triangle by rows."""
    day: date | None = None
    """Local date of the last session; None before the first."""
    fatigue: float = 0.0
    """Fatigue units of that session so far. [units]"""
    used_in_session: int = 0
    used_ever: int = 0
    refused: tuple[float, ...] = ()
    """By how much each refused set of the session lay off, the last eight. [log]"""
    flag: float | None = None
    """Mean of what was refused in the session before, where it used nothing and refused at least two. [log]"""
    seen: int = -1
    """The athlete's `version` that the row has adopted, or given back; -1: none."""
    at_least: bool = False
    """Only easy sets are known: the level is at least this, and may be far higher."""


def new_person() -> Person:
    """An athlete of whom nothing is known."""
    return Person()


def new_row(group: CurveGroup, max_kg: float | None = None, *, spread: float | None = None) -> Row:
    """A lift before its first set; the athlete is not adopted yet.

    Parameters
    ----------
    group : CurveGroup
        What the lift's curve is like.
    max_kg : float or None
        A max that was given, effective, > 0; None: the first set that tells something finds the level. [kg]
    spread : float or None
        How far it is believed to be off, one standard deviation: `TESTED_SD` if it was tested within the last 56 days
        with the same support, else (None) `GIVEN_SD`; without a max `NOTHING_SD`. [log]

    Examples
    --------
    >>> row = new_row("squat_like", 150)
    >>> row.m[1], round(row.p[7], 4), round(row.p[12], 4)
    (1.08, 0.0202, 0.0121)
    """
    if spread is None:
        spread = NOTHING_SD if max_kg is None else GIVEN_SD
    person = FACTOR_PERSON_SD**2
    return Row(
        reference=None if max_kg is None else log(max_kg),
        group=group,
        m=(0.0, 1.0 + CURVE_GROUP[group], 0.0, FATIGUE, 0.0, BIAS, 0.0),
        p=(
            spread**2, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
            FACTOR_LIFT_SD**2 + person, 0.0, 0.0, 0.0, 0.0, person,
            DAY_SD**2, 0.0, 0.0, 0.0, 0.0,
            FATIGUE_SD**2, 0.0, 0.0, 0.0,
            BEND_SD**2, 0.0, 0.0,
            BIAS_SD**2, 0.0,
            person,
        ),
    )  # fmt: skip
