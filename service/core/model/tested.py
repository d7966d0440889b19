"""Maxes that were given: where a row starts from, and what a tested one says to a row that exists."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from math import log, sqrt

from service.core.model.informing import LEAST_FACTOR_TOLD, MOST_FACTOR_TOLD
from service.core.model.state import GIVEN_SD, TESTED_SD, Person, Row
from service.core.model.update import move, project

TESTED_DAYS = 56
"""Days after which a tested max is believed no more than any given one. Ours. [days]"""
TESTED_NOISE, TESTED_SHORT = 0.03, 0.015
"""How far a tested max lies off the max of the day, and by how much below it on average: attempts come in steps, and
the next one was not tried. Simulation. [log]"""
GATE = 3.5
"""A tested max further off than so many standard deviations (at least 14 %) is a new start. As for sets. [1]"""


@dataclass(frozen=True, slots=True)
class Given:
    """A max to start from."""

    kg: float
    """Effective. [kg]"""
    spread: float
    """How far it is believed to be off: one standard deviation. [log]"""


def in_force(tested: Iterable[tuple[date, float]], training: Iterable[tuple[date, float]], on: date) -> Given | None:
    """The max that a row starts from on a date.

    Parameters
    ----------
    tested : iterable of (date, float)
        Tested maxes of the row, effective, in any order; of one date the last counts. [kg]
    training : iterable of (date, float)
        Training maxes, each already divided by its percentage. [kg]
    on : date
        Date of the row's first set; what is dated later is not in force.

    Returns
    -------
    Given or None
        The last tested one, believed more if it is at most `TESTED_DAYS` old; else the last training max.

    Examples
    --------
    >>> in_force([(date(2026, 1, 1), 140), (date(2026, 3, 1), 150)], [], date(2026, 2, 1))
    Given(kg=140, spread=0.05)
    """
    last = _last(tested, on)
    if last is not None:
        return Given(last[1], TESTED_SD if (on - last[0]).days <= TESTED_DAYS else GIVEN_SD)
    last = _last(training, on)
    return None if last is None else Given(last[1], GIVEN_SD)


def _last(maxes: Iterable[tuple[date, float]], on: date) -> tuple[date, float] | None:
    found: tuple[date, float] | None = None
    for each in maxes:
        if each[0] <= on and (found is None or each[0] >= found[0]):
            found = each
    return found


def after_test(person: Person, row: Row, kg: float) -> tuple[Person, Row]:
    """A tested max as an observation: a single without a report, a little below what was possible.

    One that cannot be believed beside the sets so far is a new start: who has tested knows better than the model.

    Parameters
    ----------
    person : Person
        The athlete.
    row : Row
        The lift, opened on the date of the test.
    kg : float
        The max, effective, > 0. [kg]

    Returns
    -------
    tuple of (Person, Row)
        After it; an empty row starts from the max.

    Examples
    --------
    >>> from service.core.model.state import new_person, new_row
    >>> person, row = after_test(new_person(), new_row("other", 100), 100)
    >>> round(row.m[0], 6)  # 0.015 x 0.1² / (0.1² + 0.025² + 0.03²)
    0.013015
    """
    at = log(kg)
    if row.reference is None or row.at_least:
        return person, started(row, at, TESTED_SD)
    u = at - row.reference
    m = row.m
    surprise = TESTED_SHORT - (m[0] + m[2] - m[1] * u)
    towards, variance = project(row.p, u, 0.0, 0.0, 0.0)
    variance += TESTED_NOISE * TESTED_NOISE
    if abs(surprise) > GATE * sqrt(variance):
        return person, _counted(started(row, at, TESTED_SD * m[1]))
    m, p = move(m, row.p, towards, surprise / variance, 1 / variance)
    if not LEAST_FACTOR_TOLD <= m[1] <= MOST_FACTOR_TOLD:
        return person, _counted(started(row, at, TESTED_SD * row.m[1]))
    version = person.version + 1
    told = replace(person, bias=m[5], factor=m[6], v_bias=p[25], v_both=p[26], v_factor=p[27], version=version)
    return told, _counted(replace(row, m=m, p=p, seen=version))


def started(row: Row, at: float, spread: float) -> Row:
    """A row whose level starts at a load; the curve, fatigue and reports stay. [log kg], [log in curve units]."""
    m, p = row.m, row.p
    return replace(
        row,
        reference=at,
        m=(0.0, m[1], 0.0, m[3], m[4], m[5], m[6]),
        p=(spread * spread, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, *p[7:]),
        at_least=False,
    )


def _counted(row: Row) -> Row:
    return replace(row, used_in_session=row.used_in_session + 1, used_ever=row.used_ever + 1, refused=(), flag=None)
