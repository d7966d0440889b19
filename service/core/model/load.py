"""The load for repetitions at an effort, and the two limits that keep it from being too hard."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, log, sqrt
from typing import Literal

from service.core.model.evidence import WOBBLE
from service.core.model.expect import BIAS_GROWTH
from service.core.model.levels import LEAST_FACTOR, Ranged, around
from service.core.model.shape import PK, SHAPE_FROM, SHAPE_TO, SHAPE_ZERO, K, P
from service.core.model.spread import Z80, day_variance, normal_edge, set_variance
from service.core.model.state import RATE_LIMIT, Person, Row

EFFORT_LIMIT = 9.5
"""RPE that a set shall hardly pass, where the athlete has set no other. Trade rule: common practice, no source."""
CHANCE_TRUE, CHANCE_REPORT = 0.20, 0.20
"""How likely the limit may be passed in truth, and in the report. Simulation: with 0.15 and 0.10 the top sets of
lifters who rate them are a tenth of a point further from the target and the max a twentieth less well known. [1]"""
CAREFUL_TRUE, CAREFUL_REPORT = 0.15, 0.10
"""The same for an athlete who hardly ever says an effort: what is too hard shows too late there. Simulation. [1]"""
BUILD_UP_UNITS = 0.25
"""Fatigue of a build-up set that is still to do. Simulation. [units]"""

_G_TO = P * log(1 + K * (SHAPE_TO - 1))
_BEND_TO = _G_TO * (_G_TO - SHAPE_ZERO)


@dataclass(slots=True)
class Suggested:
    """A load for the set that is next, and what it would be without each limit."""

    kg: float
    """The smallest of the three below. [kg]"""
    unlimited_kg: float
    """Where the report is expected to be the target. [kg]"""
    true_kg: float | None
    """Highest load that keeps the true effort under the limit; None: no limits. [kg]"""
    report_kg: float | None
    """Highest load that keeps the report under the limit; None: no limits. [kg]"""
    limit: Literal["true", "report"] | None
    """The limit that made the load lower; None: neither."""


def allowed(person: Person) -> tuple[float, float]:
    """How likely an athlete may pass the limit in truth, and in the report. [1], [1].

    >>> allowed(Person()), allowed(Person(rate=0.1))
    ((0.2, 0.2), (0.15, 0.1))
    """
    return (CHANCE_TRUE, CHANCE_REPORT) if person.rate >= RATE_LIMIT else (CAREFUL_TRUE, CAREFUL_REPORT)


def unlimited_load(row: Row, reps: float, rpe: float, fatigue: float | None = None) -> float | None:
    """Load at which the report is expected to be `rpe`, without limits: for a plan, build-up sets, many questions.

    Parameters
    ----------
    row : Row
        The lift, opened.
    reps : float
        Repetitions of the set, >= 1; the middle of a range may lie between. Not checked. [reps]
    rpe : float
        Target effort, 1 to 10. Not checked.
    fatigue : float or None
        Fatigue units before the set; None: those of the session so far. For the top set, seen from a build-up set, add
        `BUILD_UP_UNITS` for each build-up set still to do. [units]

    Returns
    -------
    float or None
        None for an empty row. [kg]

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> round(unlimited_load(new_row("squat_like", 150), 5, 8), 2)
    122.41
    """
    if row.reference is None:
        return None
    a, factor, d, loss, bend, bias, _ = row.m
    left = 10 - rpe
    grown = 1 + K * (reps + left - 1)
    g = P * log(grown)
    report = PK / grown * (bias + BIAS_GROWTH * (left - 1) if left > 1 else bias)
    capacity = a + d - loss * (row.fatigue if fatigue is None else fatigue)
    return exp(row.reference + (capacity - g - bend * shape_at(reps + left, g) - report) / max(LEAST_FACTOR, factor))


def load_for(
    row: Row,
    reps: float,
    rpe: float,
    *,
    effort_limit: float | None = EFFORT_LIMIT,
    chance_true: float = CHANCE_TRUE,
    chance_report: float = CHANCE_REPORT,
    fatigue: float | None = None,
) -> Suggested | None:
    """Load for repetitions at an effort, kept from being too hard by two limits.

    The chance to go beyond the limit is kept small in truth and in the report. What may be passed so rarely is the
    athlete's effort limit, or one point above the target if that is higher, and never more than RPE 10.

    Parameters
    ----------
    row : Row
        The lift, opened.
    reps : float
        Repetitions, >= 1; the middle of a range may lie between. Not checked. [reps]
    rpe : float
        Target effort, 1 to 10. Not checked.
    effort_limit : float or None
        The athlete's setting; None lifts both limits (tests, maximal days, meets).
    chance_true, chance_report : float
        How likely the limit may be passed, above 0 and at most 0.5: those of the athlete by `allowed`. [1]
    fatigue : float or None
        As in `unlimited_load`. [units]

    Returns
    -------
    Suggested or None
        None for an empty row. [kg]

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> load = load_for(new_row("squat_like", 150), 5, 8, chance_true=0.15, chance_report=0.10)
    >>> round(load.kg, 3), round(load.true_kg, 3), load.limit
    (112.394, 115.958, 'report')
    """
    free = unlimited_load(row, reps, rpe, fatigue)
    if free is None:
        return None
    if effort_limit is None:
        return Suggested(free, free, None, None, None)
    edges = _edge(chance_true), _edge(chance_report)
    true, report = _under(row, reps, 10 - limit_for(rpe, effort_limit), *edges, fatigue)
    if free <= true and free <= report:
        return Suggested(free, free, true, report, None)
    if true < report:
        return Suggested(true, free, true, report, "true")
    return Suggested(report, free, true, report, "report")


def limit_for(rpe: float, effort_limit: float = EFFORT_LIMIT) -> float:
    """RPE that the chances of both limits are about: the setting or a point above the target, at most 10.

    >>> limit_for(8), limit_for(9), limit_for(9.5), limit_for(6, 8)
    (9.5, 10, 10, 8)
    """
    return min(10, max(effort_limit, rpe + 1))


def highest_load_under(
    row: Row,
    reps: float,
    rpe_limit: float,
    *,
    chance_true: float = CHANCE_TRUE,
    chance_report: float = CHANCE_REPORT,
    fatigue: float | None = None,
) -> float | None:
    """Highest load that both limits allow: whether a load that can be hung on the bar is still all right.

    Like the limits of `load_for` it takes the spread at the load where the limit itself is expected, so the chances of
    the load it gives (see `chances`) are near the stated ones, not equal to them.

    Parameters
    ----------
    row : Row
        The lift, opened.
    reps : float
        Repetitions, >= 1. Not checked. [reps]
    rpe_limit : float
        RPE that shall not be passed, 1 to 10; from a target: `limit_for`. Not checked.
    chance_true, chance_report : float
        How likely it may be passed in truth and in the report, above 0 and at most 0.5. [1]
    fatigue : float or None
        As in `unlimited_load`. [units]

    Returns
    -------
    float or None
        None for an empty row. [kg]
    """
    if row.reference is None:
        return None
    return min(_under(row, reps, 10 - rpe_limit, _edge(chance_true), _edge(chance_report), fatigue))


def planned_load(row: Row, reps: float, rpe: float, fatigue: float | None = None) -> Ranged | None:
    """Load of the plan, before the build-up sets: without limits, with the range of today's max times its share.

    Parameters as in `unlimited_load`. None for an empty row. [kg].
    """
    load = unlimited_load(row, reps, rpe, fatigue)
    if load is None:
        return None
    factor = max(LEAST_FACTOR, row.m[1])
    t = (row.m[0] + row.m[2]) / factor
    return around(log(load), Z80 * sqrt(day_variance(row.p, t)) / factor)


def shape_at(n: float, g: float) -> float:
    """The shape function `h` at `n` repetitions possible, where their `g` is known already. [reps], [log] -> [1]."""
    if SHAPE_FROM <= n <= SHAPE_TO:
        return g * (g - SHAPE_ZERO)
    if n > SHAPE_TO:
        return _BEND_TO
    low = P * log(1 + K * (SHAPE_FROM - 1))
    return low * (low - SHAPE_ZERO)


@lru_cache(maxsize=64)
def _edge(chance: float) -> float:
    return normal_edge(chance)


def _under(
    row: Row, reps: float, left: float, edge_true: float, edge_report: float, fatigue: float | None
) -> tuple[float, float]:
    """Loads at which `left` repetitions or more are left in truth, and by the report, but for the edges' chances."""
    a, factor, d, loss, bend, bias, _ = row.m
    reference = row.reference or 0.0
    units = row.fatigue if fatigue is None else fatigue
    factor = max(LEAST_FACTOR, factor)
    grown = 1 + K * (reps + left - 1)
    g = P * log(grown)
    slope = PK / grown
    h = shape_at(reps + left, g)
    ahead = a + d - loss * units - g - bend * h
    true = ahead / factor
    report = (ahead - slope * (bias + BIAS_GROWTH * (left - 1) if left > 1 else bias)) / factor
    true -= edge_true * sqrt(set_variance(row.p, true, units, h, 0.0) + WOBBLE) / factor
    report -= edge_report * sqrt(set_variance(row.p, report, units, h, slope) + WOBBLE) / factor
    return exp(reference + true), exp(reference + report)
