"""Where a lift's level is found, and when it is found anew: several sets disagree with the model and agree together."""

from __future__ import annotations

from dataclasses import replace

from service.core.model.evidence import MOST_POSSIBLE, Report
from service.core.model.heard import Heard
from service.core.model.shape import g
from service.core.model.slips import explain
from service.core.model.state import ANCHORED_SD, RATE_LIMIT, Person, Row

AGREEMENT = 0.25
"""Refused sets agree that lie so near each other. Simulation. [log]"""
FEWEST_USED = 2
"""A lift that used fewer sets than that is moved by two that agree in one session. Simulation. [sets]"""


def found(row: Row, report: Report) -> Row:
    """An empty row made by its first set that tells something, rated or failed: the reference is what that set says.

    The set is then learned from as any other: it is used first only to find the neighbourhood.

    Examples
    --------
    >>> from math import exp, log
    >>> from service.core.model.state import new_row
    >>> row = found(new_row("other"), Report(log(80), 5, 7, failed=False, noise=0.5, possible=8))
    >>> round(exp(row.reference), 3)
    101.474
    """
    possible = min(max(report.reps, 1), MOST_POSSIBLE) if report.failed else report.possible
    return replace(row, reference=report.log_kg + g(possible))


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
    if not together or row.used_ever >= FEWEST_USED or person.rate < RATE_LIMIT:
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
