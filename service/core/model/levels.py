"""The maxes that a row stands for: over the weeks, of today, and some days ahead, each with its range."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

from service.core.model.passing import DRIFT, WANDER
from service.core.model.spread import Z80, Z95, day_variance, level_variance
from service.core.model.state import RATE_LIMIT, Person, Row

WIDER = 1.07
"""The range of the rolling max is widened to what simulation saw. Simulation. [1]"""
UNRATED_WIDER = 1.3
"""And so much more while hardly a set has an effort: a share below `RATE_LIMIT`. Simulation. [1]"""
LEAST_FACTOR = 0.3
"""Whatever divides by the curve factor takes at least this. Ours. [1]"""

FAR_ABOVE = 0.5
"""Spread of a level above what is only known to be at least so high: easy sets of newcomers have been at a third to
three quarters of their max. Ours, by simulated newcomers. [log]"""

_WIDTH = {0.8: Z80, 0.95: Z95}


@dataclass(slots=True)
class Ranged:
    """A load with the range that it lies in by the stated chance."""

    kg: float
    low: float
    high: float


def rolling_max(row: Row, person: Person, level: float = 0.8) -> Ranged | None:
    """Max of a typical day, fresh, with its range.

    Parameters
    ----------
    row : Row
        The lift, opened (time step and adopting done).
    person : Person
        The athlete: ranges are wider while hardly a set has an effort.
    level : float
        Chance that the range holds, 0.8 or 0.95. [1]

    Returns
    -------
    Ranged or None
        None for an empty row. [kg]

    Raises
    ------
    KeyError
        For another `level`.

    Examples
    --------
    >>> from service.core.model.state import new_person, new_row
    >>> rolling = rolling_max(new_row("squat_like", 150), new_person())
    >>> round(rolling.kg, 6), round(rolling.low, 3), round(rolling.high, 3)
    (150.0, 132.114, 170.307)
    """
    if row.reference is None:
        return None
    factor = max(LEAST_FACTOR, row.m[1])
    t = row.m[0] / factor
    spread = widening(person) * sqrt(level_variance(row.p, t)) / factor
    return _above(row, around(row.reference + t, _WIDTH[level] * spread), _WIDTH[level])


def day_max(row: Row) -> Ranged | None:
    """Max of today before fatigue, with its 80 % range; worth asking after the build-up sets. None: empty row. [kg].

    >>> from service.core.model.state import new_row
    >>> day = day_max(new_row("squat_like", 150))
    >>> round(day.kg, 6), day.low < 150 < day.high
    (150.0, True)
    """
    if row.reference is None:
        return None
    factor = max(LEAST_FACTOR, row.m[1])
    t = (row.m[0] + row.m[2]) / factor
    return _above(row, around(row.reference + t, Z80 * sqrt(day_variance(row.p, t)) / factor), Z80)


def max_ahead(row: Row, person: Person, days: float) -> Ranged | None:
    """Rolling max some days ahead, if training goes on as usual, with its 80 % range.

    Parameters
    ----------
    row : Row
        The lift, opened.
    person : Person
        The athlete, as in `rolling_max`.
    days : float
        How far ahead, >= 0. At 0 it is the rolling max. [d]

    Returns
    -------
    Ranged or None
        None for an empty row. [kg]
    """
    if row.reference is None:
        return None
    factor = max(LEAST_FACTOR, row.m[1])
    t = row.m[0] / factor
    spread = widening(person) * sqrt(level_variance(row.p, t) / (factor * factor) + WANDER * WANDER * days)
    return _above(row, around(row.reference + t + DRIFT * days, Z80 * spread), Z80)


def _above(row: Row, found: Ranged, width: float) -> Ranged:
    """A range that is open upwards where only a bound of the level is known."""
    return Ranged(found.kg, found.low, found.kg * exp(width * FAR_ABOVE)) if row.at_least else found


def widening(person: Person) -> float:
    """How many times wider the range of the rolling max is than the covariance has it. [1]."""
    return WIDER * UNRATED_WIDER if person.rate < RATE_LIMIT else WIDER


def around(middle: float, half: float) -> Ranged:
    """Loads of a middle and half a width given as logarithms. [log kg], [log] -> [kg]."""
    return Ranged(exp(middle), exp(middle - half), exp(middle + half))
