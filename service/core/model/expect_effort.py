"""What a load will feel like, and how likely a set goes up or passes an effort."""

from __future__ import annotations

from dataclasses import dataclass
from math import log, sqrt

from service.core.model.evidence import NOISE_GROWTH, REPORT_NOISE, WOBBLE
from service.core.model.expect import BIAS_GROWTH, solved
from service.core.model.learn import SEEN_PART
from service.core.model.load import shape_at
from service.core.model.shape import PK, K, P
from service.core.model.spread import Z80, normal_chance, set_variance
from service.core.model.state import Person, Row


@dataclass(slots=True)
class Effort:
    """The effort that the athlete is expected to report. Not limited to the scale: beyond 10 a miss is likely."""

    rpe: float
    """10 less the repetitions expected to be said to be left; above 10 or below 1 where the load is far off."""
    low: float
    high: float
    """80 % range of the report."""
    possible: float
    """Repetitions that the report is expected to amount to, 0.3 to 40. [reps]"""


def expected_effort(row: Row, person: Person, kg: float, reps: float, fatigue: float | None = None) -> Effort | None:
    """Effort that the athlete is expected to report for repetitions with a load, and its 80 % range.

    Parameters
    ----------
    row : Row
        The lift, opened.
    person : Person
        The athlete: the more erratic the reports were, the wider the range.
    kg : float
        Effective load, > 0. Not checked. [kg]
    reps : float
        Repetitions, >= 1; the middle of a range may lie between. Not checked. [reps]
    fatigue : float or None
        Fatigue units before the set; None: those of the session so far. [units]

    Returns
    -------
    Effort or None
        None for an empty row.

    Examples
    --------
    >>> from service.core.model.state import new_person, new_row
    >>> effort = expected_effort(new_row("squat_like", 150), new_person(), 120, 5)
    >>> round(effort.rpe, 5), round(effort.low, 5), round(effort.high, 4)
    (7.25294, 1.81808, 12.6878)
    """
    if row.reference is None:
        return None
    a, factor, d, loss, bend, bias, _ = row.m
    units = row.fatigue if fatigue is None else fatigue
    u = log(kg) - row.reference
    n = solved(a + d - factor * u - loss * units, bend, bias, reps)
    grown = 1 + K * (n - 1)
    slope = PK / grown
    left = n - reps
    noise = slope * (REPORT_NOISE + NOISE_GROWTH * left if left > 0 else REPORT_NOISE)
    noise = SEEN_PART * SEEN_PART * (noise * noise + WOBBLE)
    variance = set_variance(row.p, u, units, shape_at(n, P * log(grown)), slope)
    half = Z80 * sqrt(person.erratic * (variance + noise)) / slope
    rpe = 10 - left
    return Effort(rpe, rpe - half, rpe + half, n)


def chances(row: Row, kg: float, reps: float, rpe: float, fatigue: float | None = None) -> tuple[float, float] | None:
    """How likely a set passes an effort: in the athlete's report, and in truth.

    Parameters
    ----------
    row : Row
        The lift, opened.
    kg : float
        Effective load, > 0. Not checked. [kg]
    reps : float
        Repetitions, >= 1. Not checked. [reps]
    rpe : float
        The effort, 1 to 10. Not checked.
    fatigue : float or None
        As in `expected_effort`. [units]

    Returns
    -------
    tuple of float or None
        Chance that the report is above `rpe`, chance that fewer than `10 - rpe` repetitions are left in truth. None for
        an empty row. [1]

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> report, truth = chances(new_row("squat_like", 150), 125, 5, 9)
    >>> round(report, 6), round(truth, 6)
    (0.470222, 0.448149)
    """
    if row.reference is None:
        return None
    a, factor, d, loss, bend, bias, _ = row.m
    units = row.fatigue if fatigue is None else fatigue
    u = log(kg) - row.reference
    left = 10 - rpe
    grown = 1 + K * (reps + left - 1)
    g = P * log(grown)
    slope = PK / grown
    h = shape_at(reps + left, g)
    short = g + bend * h - (a + d - factor * u - loss * units)
    report = short + slope * (bias + BIAS_GROWTH * (left - 1) if left > 1 else bias)
    return (
        normal_chance(report / sqrt(set_variance(row.p, u, units, h, slope) + WOBBLE)),
        normal_chance(short / sqrt(set_variance(row.p, u, units, h, 0.0) + WOBBLE)),
    )


def chance_to_make(row: Row, kg: float, reps: float, fatigue: float | None = None) -> float | None:
    """How likely all repetitions go up: that in truth at least `reps` are possible. Parameters as in `chances`. [1].

    >>> from service.core.model.state import new_row
    >>> chance_to_make(new_row("other", 100), 100, 1)
    0.5
    """
    passed = chances(row, kg, reps, 10, fatigue)
    return None if passed is None else 1 - passed[1]


def chance_of_single(row: Row, kg: float, fatigue: float | None = None) -> float | None:
    """How likely a single goes up today. None for an empty row. Parameters as in `chances`. [1].

    >>> from service.core.model.state import new_row
    >>> chance_of_single(new_row("squat_like", 150), 150)
    0.5
    """
    return chance_to_make(row, kg, 1, fatigue)
