"""What a session of one lift says of its kin: the ratio between the two, and the other's level."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import sqrt

from service.core.model.kin import Level, Ratio
from service.core.model.levels import LEAST_FACTOR
from service.core.model.passing import adopt, opened
from service.core.model.spread import level_variance
from service.core.model.state import Means, Person, Row
from service.core.model.update import move

GATE, DOWN = 3.5, 1.5
"""Standard deviations of surprise: above the first nothing is believed, from the second on it counts less. As for sets:
simulation. [1]"""
LEAST_SAID = 0.01
"""A session whose evidence is a smaller part of what was known before said nothing of its own. Ours. [1]"""
LEAST_FACTOR_TOLD, MOST_FACTOR_TOLD = 0.5, 2.0
"""The curve factor stays between these, as for sets: safety. [1]"""


def said(before: Level, after: Level) -> Level | None:
    """A session's own evidence about a level: what turns the belief before it into the one after.

    Precisions subtract, and so do means weighted by them.

    Parameters
    ----------
    before, after : Level
        Before the first set (time step and adopting done), and after the last.

    Returns
    -------
    Level or None
        None where the session made nothing surer that matters.

    Examples
    --------
    >>> round(said(Level(0.0, 0.02), Level(0.03, 0.005)).at, 6)  # 1/0.005 - 1/0.02 = 150; 0.03 x 200 / 150
    0.04
    """
    precision = 1 / after.variance - 1 / before.variance
    if precision * before.variance < LEAST_SAID:
        return None
    return Level((after.at / after.variance - before.at / before.variance) / precision, 1 / precision)


def learned(ratio: Ratio, shown: float, variance: float, on: date) -> Ratio:
    """The ratio after a difference of the two levels was seen; a difference beyond the gate changes nothing.

    Parameters
    ----------
    ratio : Ratio
        Before.
    shown : float
        Level of the variation less that of its parent. [log]
    variance : float
        Of `shown`, without that of the ratio. [log²]
    on : date
        Day of the later of the two sessions.
    """
    prior = ratio.variance_at(on)
    surprise, total = shown - ratio.mean, prior + variance
    if surprise * surprise > GATE * GATE * total:
        return ratio
    gain = prior / total
    return replace(ratio, mean=ratio.mean + gain * surprise, variance=prior * (1 - gain), on=on)


def informed(row: Row, person: Person, on: date, level: Level) -> Row:
    """A row after its kin said something of its level.

    Its time passes to that day, but its own session stays as it is: what was refused there is still to be closed.
    The athlete's report bias and part of the curve stay what they are too. An error in them is common to both lifts, so
    that the agreement of the two says nothing about it.

    Parameters
    ----------
    row : Row
        The lift that is told something, not empty; its date not after `on`.
    person : Person
        The athlete.
    on : date
        Day of the session that said it.
    level : Level
        The max that follows for this lift, with the doubt in the ratio. [log kg]

    Returns
    -------
    Row
        The same object where the gate or the limits of the curve factor held it back.
    """
    if row.reference is None or row.at_least:
        return row
    ready = opened(row, person, on)
    m, p = ready.m, ready.p
    t = level.at - row.reference
    factor = max(LEAST_FACTOR, m[1])
    # c = (1, -t, 0, ...): the level in curve units is the curve factor times t.
    towards: Means = (
        p[0] - t * p[1],
        p[1] - t * p[7],
        p[2] - t * p[8],
        p[3] - t * p[9],
        p[4] - t * p[10],
        p[5] - t * p[11],
        p[6] - t * p[12],
    )
    surprise = m[1] * t - m[0]
    total = level_variance(p, t) + factor * factor * level.variance
    z = abs(surprise) / sqrt(total)
    if z > GATE:
        return row
    if z > DOWN:
        total += total * (z / DOWN - 1)
    m, p = move(m, p, towards, surprise / total, 1 / total)
    told = replace(
        ready,
        m=m,
        p=p,
        fatigue=row.fatigue,
        used_in_session=row.used_in_session,
        refused=row.refused,
        flag=row.flag,
        seen=-1,
    )
    told = adopt(told, person)
    return told if LEAST_FACTOR_TOLD <= told.m[1] <= MOST_FACTOR_TOLD else row
