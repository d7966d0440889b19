"""How far a set is believed: taken as it is, as a bound, weighed down, or refused."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt

from service.core.model.evidence import Evidence, Report
from service.core.model.heard import Status
from service.core.model.state import NOTHING_SD, Covariance, Means, Row
from service.core.model.update import bound, held, move

GATE, GATE_LEAST = 3.5, 0.12
"""Surprise beyond which a set is not believed: in standard deviations, and at least so large. Simulation. [1], [log]"""
TOO_FEW = 0.5
"""A low effort that was harder than expected by more is of a warm-up, or of another level: it is not counted as used.
Simulation. [log]"""
EASY, SAYS_NOTHING = 7.0, 6.0
"""RPE up to which "easier than expected" is a bound; up to which "harder than expected" says nothing. The published
scale gets vague below 7; simulation. [RPE]"""
EARLY, EARLY_FROM, EARLY_MOST = 10, 1.75, 0.15
"""First sets of a lift that may widen its level, beyond how many standard deviations, and by how much at most.
Simulation, with maxes given 25 % wrong. [sets], [1], [log]"""
OUTLIER = 1.5
"""Standard deviations from which a surprise counts less and less. Simulation. [1]"""
RISE, BEYOND = 16.0, 1.5
"""How fast the step of a bound grows with the surprise, and how far it may go beyond the report. Simulation. [1],
[reps]"""
FACTOR_LEAST, FACTOR_MOST = 0.5, 2.0
"""Range of the curve factor: a set that would push it out is not believed. Ours, for safety. [1]"""


@dataclass(slots=True)
class Verdict:
    """How far a set was believed, and the states after it."""

    evidence: Evidence
    status: Status
    m: Means
    p: Covariance
    spread: float
    """Standard deviation of the surprise, with what widened it, before an outlier is weighed down. [log]"""
    widened: bool = False
    weighed_down: bool = False
    held: bool = False
    """The max stayed where it was, as it would have gone against the surprise."""


def judge(row: Row, found: Evidence) -> Verdict:
    """Decide what becomes of a set, and move the states.

    Parameters
    ----------
    row : Row
        The lift before the set, not empty.
    found : Evidence
        What the set says against the row.

    Returns
    -------
    Verdict
        "used", "refused" or "ignored". Unless it was used, `m` and `p` are the row's own objects; also where a used
        set says nothing.
    """
    surprise, report = found.surprise, found.report
    rpe = report.rpe
    spread = sqrt(found.known + found.noise)
    if report.failed:
        return _below(row, found, spread) if report.reps == 0 else _taken(row, found, spread)
    if rpe is not None and rpe > EASY:
        return _taken(row, found, spread)
    # A light set cannot be told as easy as it is: "five or more" of twenty. It is not doubted, it only tires.
    if surprise > GATE_LEAST and surprise > GATE * spread:
        return Verdict(found, "refused", row.m, row.p, spread)
    if rpe is None:
        return _moved(row, found, spread, *bound(1, surprise, spread))
    if surprise > 0:
        return _easier(row, found, spread)
    if rpe > SAYS_NOTHING:
        return _taken(row, found, spread)
    # Far from what is expected it does not count: a lift that started from a slip would look settled by it.
    return Verdict(found, "ignored" if surprise < -TOO_FEW else "used", row.m, row.p, spread)


def beside_a_bound(row: Row, found: Evidence) -> Verdict:
    """How far a set is believed of a lift of which only easy sets are known; no state is moved.

    Parameters
    ----------
    row : Row
        The lift before the set; only a bound of its level is known.
    found : Evidence
        What the set says against that.

    Returns
    -------
    Verdict
        "refused" where it is as far off as nobody's level would be, else "used"; of what says nothing (`nothing_new`)
        "ignored" where it is of another level.
    """
    size = abs(found.surprise)
    spread = sqrt(found.known + NOTHING_SD * NOTHING_SD + found.noise)
    status: Status = "used"
    if nothing_new(found):
        status = "ignored" if size > TOO_FEW else "used"
    elif size > GATE_LEAST and size > GATE * spread:
        status = "refused"
    return Verdict(found, status, row.m, row.p, spread)


def nothing_new(found: Evidence) -> bool:
    """Whether a set may well be so where only a bound of the level is known.

    It was easy, and no easier than it had to be; or a single failed that only who is stronger could have lifted.
    """
    report = found.report
    if report.failed:
        return report.reps == 0 and found.surprise >= 0
    return is_easy(report) and found.surprise <= 0


def is_easy(report: Report) -> bool:
    """Whether a set says no more than that so many repetitions are possible: four left, and it may be ten."""
    return not report.failed and (report.rpe is None or report.rpe <= SAYS_NOTHING)


def _taken(row: Row, found: Evidence, spread: float) -> Verdict:
    """A report as it is: not beyond the gate, widening a level that is not known well, weighed down as an outlier."""
    size = abs(found.surprise)
    if size > GATE_LEAST and size > GATE * spread:
        return Verdict(found, "refused", row.m, row.p, spread)
    p, towards = row.p, found.towards
    variance = found.known + found.noise
    widened = row.used_ever < EARLY and size > EARLY_FROM * spread
    if widened:
        more = min((size / EARLY_FROM) ** 2 - variance, EARLY_MOST * EARLY_MOST)
        p = (p[0] + more, *p[1:])
        towards = (towards[0] + more, *towards[1:])
        variance += more
        spread = sqrt(variance)
    weighed_down = size > OUTLIER * spread
    if weighed_down:
        variance += variance * (size / (OUTLIER * spread) - 1)
    step = found.surprise / variance
    moved, p = move(row.m, p, towards, step, 1 / variance)
    m = steady(row.m, moved, p, step)
    if not FACTOR_LEAST <= m[1] <= FACTOR_MOST:
        return Verdict(found, "refused", row.m, row.p, spread)
    return Verdict(found, "used", m, p, spread, widened, weighed_down, m is not moved)


def steady(before: Means, after: Means, p: Covariance, step: float) -> Means:
    """Keep the max where it was, where a set would move it against the surprise.

    No coach would lower a max for a set that was easier than expected, nor raise it for one that was harder. A load far
    from those trained before says more of the lifter's curve than of the max, so that the curve can take more than the
    whole surprise, and the max would give. Then the set is read as one of the curve and of the day alone. Ours.

    Parameters
    ----------
    before, after : Means
        Before and after the set.
    p : Covariance
        After it.
    step : float
        Above 0: what is expected of the set's load went up; below 0: down.

    Returns
    -------
    Means
        `after` itself unless the max was held.
    """
    if (after[0] * before[1] - before[0] * after[1]) * step < 0:  # the factors are above 0
        return held(before, after, p)
    return after


def _easier(row: Row, found: Evidence, spread: float) -> Verdict:
    """A low effort, easier than expected: "at least", in part, so that the step grows from zero with the surprise."""
    surprise = found.surprise
    k, cut = bound(1, surprise, spread)
    part = 1 - exp(-RISE * surprise / spread)
    step, farthest = k * spread * part, surprise + BEYOND * found.worth
    if step > farthest:
        part *= farthest / step
    return _moved(row, found, spread, k * part, cut * part)


def _below(row: Row, found: Evidence, spread: float) -> Verdict:
    """A failed single: the max of the moment was below the load. Never refused."""
    k, cut = bound(-1, found.surprise, spread)
    return _moved(row, found, spread, -k, cut)


def _moved(row: Row, found: Evidence, spread: float, k: float, cut: float) -> Verdict:
    """The states after a bound; unchanged where it says nothing or would push the curve factor out of its range."""
    if k == 0:
        return Verdict(found, "used", row.m, row.p, spread)
    step = k / spread
    moved, p = move(row.m, row.p, found.towards, step, cut / (spread * spread))
    m = steady(row.m, moved, p, step)
    if not FACTOR_LEAST <= m[1] <= FACTOR_MOST:
        return Verdict(found, "ignored", row.m, row.p, spread)
    return Verdict(found, "used", m, p, spread, held=m is not moved)
