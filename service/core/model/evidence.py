"""What a set says against what was expected of it: how surprising, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from service.core.model.expect import BIAS_GROWTH
from service.core.model.heard import Heard
from service.core.model.shape import PK, K, g, h, slope
from service.core.model.state import Means, Row
from service.core.model.update import project

MOST_POSSIBLE = 30.0
"""More possible repetitions than that are counted as so many. Ours. [reps]"""
REPORT_NOISE, NOISE_GROWTH = 0.5, 0.25
"""Error of a report at failure, and by how much it grows for each repetition left. Published errors of reported
repetitions in reserve: about 0.3 a repetition. [reps], [1]"""
WORD_NOISE = 1.0
"""As REPORT_NOISE, where a word took the place of a number. Ours. [reps]"""
FAILED_NOISE, FAILED_MORE = 0.4, 0.3
"""A failed set could do that much more than its good repetitions, give or take: half a repetition is unknown. Ours.
[reps]"""
UNRATED_NOISE = 1.5
"""As REPORT_NOISE, of a completed set without an effort, taken as "at least". Simulation. [reps]"""
WOBBLE = 0.01**2
"""Variance of capacity from set to set. Simulation. [log²]"""
FARTHEST = 3.0
"""The curve is linearised at the expected repetitions, but so near the reported. Simulation. [reps]"""
WORDS = {"lighter": -1.0, "as_expected": 0.0, "heavier": 1.0}
"""What a word adds to the expected RPE. Ours. [RPE]"""


@dataclass(slots=True)
class Report:
    """A set as the model's equation sees it."""

    log_kg: float
    reps: int
    rpe: float | None
    """None: failed or without an effort, so that the truth is seen and no report. [RPE]"""
    failed: bool
    noise: float
    """Error at failure. [reps]"""
    possible: float
    """Repetitions possible, as reported; those done, where there is no report. [reps]"""
    in_words: bool = False
    """The effort was a word, not a number."""


@dataclass(slots=True)
class Evidence:
    """A report held against the row."""

    report: Report
    surprise: float
    """Reported less expected; above 0: easier. [log]"""
    known: float
    """Variance of the expectation. [log²]"""
    noise: float
    """Variance of the report and of capacity around it. [log²]"""
    towards: Means
    """Covariances of the states with the expectation."""
    worth: float
    """Slope of the curve where it was linearised. [log / rep]"""
    at: float
    """Where it was linearised. [reps]"""
    expected: float
    """Repetitions that the report was expected to amount to. [reps]"""
    off: float
    """Reported less expected, without bend and report bias: the mismatch of a wrong load. [log]"""


def reported(heard: Heard, expected: float | None) -> Report:
    """What a set reports; a word counts as a number against `expected`, the expected repetitions. [reps].

    A word's RPE is the expected one, from 4 to 10: itself for "as expected", which so moves nothing; else in halves,
    and a point beside it for lighter and heavier (10 at most: what was lifted was possible). Without an expectation a
    word says nothing.

    Examples
    --------
    >>> report = reported(Heard(100, 5, felt="heavier"), 7.9)  # expected RPE 7.1
    >>> report.rpe, report.possible
    (8.0, 7.0)
    """
    log_kg, reps, rpe = log(heard.kg), heard.reps, heard.rpe
    if heard.failed:
        possible = min(reps + FAILED_MORE, MOST_POSSIBLE) if reps else 1.0
        return Report(log_kg, reps, None, True, FAILED_NOISE, possible)
    if rpe is not None:
        return Report(log_kg, reps, rpe, False, REPORT_NOISE, min(reps + 10 - rpe, MOST_POSSIBLE))
    if heard.felt is None or expected is None:
        return Report(log_kg, reps, None, False, UNRATED_NOISE, min(reps, MOST_POSSIBLE))
    rpe = min(max(10 - (expected - reps), 4.0), 10.0)
    if heard.felt != "as_expected":
        rpe = min(round(2 * rpe) / 2 + WORDS[heard.felt], 10.0)
    return Report(log_kg, reps, rpe, False, WORD_NOISE, min(reps + 10 - rpe, MOST_POSSIBLE), in_words=True)


def compare(row: Row, report: Report, expected: float) -> Evidence:
    r"""Hold a report against a row.

    Parameters
    ----------
    row : Row
        The lift before the set, not empty.
    report : Report
        The set.
    expected : float
        Repetitions to linearise at, as expected and not as reported: a noisy report put in at its own slope biases the
        result. Kept within 3 of the report and from 1 to 30. Of no effect where there is no report. [reps]

    Notes
    -----
    The model's equation of a set is

    .. math:: g(n) = a + d - \gamma u - \varphi F - \kappa h(n) - g'(n) \beta(n) + noise

    with u the log load against the reference, F the fatigue units, and the report bias beta growing with the
    repetitions left. It is linear in the states (level a, day d, curve factor, fatigue loss, bend, bias), since the
    load is known exactly and the number of repetitions is the uncertain answer.
    """
    assert row.reference is not None  # noqa: S101 # for the type checker: callers make the row first
    u = report.log_kg - row.reference
    a, factor, d, loss, bend, bias, _ = row.m
    fatigue, n = row.fatigue, report.possible
    off = g(n) - (a + d - factor * u - loss * fatigue)
    if report.rpe is None:
        at, worth, shape, through = n, slope(n), h(n), 0.0
        error = report.noise
        surprise = off + bend * shape
    else:
        at = min(max(expected, n - FARTHEST, 1.0), max(n + FARTHEST, 1.0), MOST_POSSIBLE)
        worth = through = PK / (1 + K * (at - 1))
        shape = h(at)
        left = max(0.0, at - report.reps)
        error = report.noise + NOISE_GROWTH * left
        surprise = off + bend * shape + worth * (bias + BIAS_GROWTH * max(0.0, left - 1))
    towards, known = project(row.p, u, fatigue, shape, through)
    return Evidence(report, surprise, known, (worth * error) ** 2 + WOBBLE, towards, worth, at, expected, off)
