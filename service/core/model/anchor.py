"""Where a lift's level is found, and when it is found anew: several sets disagree with the model and agree together."""

from __future__ import annotations

from dataclasses import replace

from service.core.model.evidence import MOST_POSSIBLE, Report
from service.core.model.expect import BIAS_GROWTH
from service.core.model.heard import Heard
from service.core.model.judge import is_easy
from service.core.model.levels import LEAST_FACTOR
from service.core.model.shape import g, h, slope
from service.core.model.slips import explain
from service.core.model.state import ANCHORED_SD, AT_LEAST_SD, NOTHING_SD, RATE_LIMIT, Means, Person, Row

AGREEMENT = 0.25
"""Refused sets agree that lie so near each other. Simulation. [log]"""
FEWEST_USED = 2
"""A lift that used fewer sets than that is moved by two that agree in one session. Simulation. [sets]"""


def found(row: Row, report: Report) -> Row:
    """A row whose level is found by a set, rated or failed: the reference is what that set says.

    That is one that was empty, or of which only easy sets are known. An easy set tells a bound of the level and no
    more: "five or more left" may be thirty. Any other is then learned from as usual: it is used first only to find the
    neighbourhood.

    Examples
    --------
    >>> from math import exp, log
    >>> from service.core.model.state import new_row
    >>> row = found(new_row("other"), Report(log(80), 5, 7, failed=False, noise=0.5, possible=8))
    >>> round(exp(row.reference), 3)
    101.474
    """
    at_least = is_easy(report)
    if not at_least and not row.at_least:
        possible = min(max(report.reps, 1), MOST_POSSIBLE) if report.failed else report.possible
        return replace(row, reference=report.log_kg + g(possible))
    spread = AT_LEAST_SD if at_least else NOTHING_SD
    return replace(
        row,
        reference=report.log_kg + _log_share(row, report),
        m=(0.0, *row.m[1:]),
        p=(spread * spread, *row.p[1:]),
        used_ever=row.used_ever if at_least else 0,
        refused=(),
        flag=None,
        at_least=at_least,
    )


def _log_share(row: Row, report: Report) -> float:
    """How far below the max a set was by what the row says of the lifter, if it is just as expected. [log]"""
    _, factor, day, loss, bend, bias, _ = row.m
    n = min(max(report.possible, 1.0), MOST_POSSIBLE)
    left = 0.0
    if report.rpe is not None:
        left = slope(n) * (bias + BIAS_GROWTH * max(0.0, n - report.reps - 1))
    return (g(n) + bend * h(n) + left + loss * row.fatigue - day) / max(LEAST_FACTOR, factor)


def not_against(surprise: float, before: Row, after: Row, m: Means) -> Means:
    """The means of a level that was found anew, with the max of before where it would go against the surprise.

    [log] -> as `Row.m`
    """
    if before.reference is None or after.reference is None:
        return m
    was, now = before.reference + before.m[0] / before.m[1], after.reference + m[0] / m[1]
    return m if (now - was) * surprise >= 0 else (m[1] * (was - after.reference), *m[1:])


def starts_anew(row: Row, person: Person, heard: Heard, off: float) -> bool:
    """Whether the level is found anew from a set that would be refused.

    It is where the lifter says that the set is right, and where others agree with it: two sessions, the last of which
    used nothing, or two sets of a lift that has hardly started. What a slip explains (pounds typed as kilograms) is
    most likely that slip, though, also in a whole session and for somebody who pressed the wrong button. So such a set
    takes more: of a lift that starts from a max, another session; one that is said to be right, a second set. Sets
    without an effort do not count as used, so that for who logs none a lift always looks as if it had hardly started:
    there it takes another session too.

    Parameters
    ----------
    row : Row
        The lift before the set, the athlete adopted.
    person : Person
        The athlete.
    heard : Heard
        The set.
    off : float
        How far it lies off. [log]
    """
    if row.flag is not None and not row.used_in_session and abs(off - row.flag) < AGREEMENT:
        return True
    refused = row.refused
    together = bool(refused) and abs(off - sum(refused) / len(refused)) < AGREEMENT
    if heard.confirmed:
        return together or explain(row, person, heard) is None
    if not together or (row.used_ever >= FEWEST_USED and not row.at_least) or person.rate < RATE_LIMIT:
        return False
    # Where something was refused before anything was used, the lift has started from a max, not from its first set.
    return row.used_ever > 0 or explain(row, person, heard) is None


def anchored(row: Row, report: Report) -> Row:
    """The row with its level found anew from a set. What is known of curve, fatigue and reports stays."""
    _, factor, _, loss, bend, bias, person = row.m
    return replace(
        row,
        reference=report.log_kg + g(report.possible),
        m=(0.0, factor, 0.0, loss, bend, bias, person),
        p=(ANCHORED_SD * ANCHORED_SD, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, *row.p[7:]),
        refused=(),
        flag=None,
    )
