"""What a lift is expected to allow: repetitions for a load, before the set is done."""

from __future__ import annotations

from math import exp, log

from service.core.model.shape import PK, SHAPE_FROM, SHAPE_TO, SHAPE_ZERO, K, P, g, repetitions
from service.core.model.state import Row

FEWEST, MOST = 0.3, 40.0
"""Repetitions between which an expectation is looked for: the curve's formulas hold down to 0.3. Ours. [reps]"""
BIAS_GROWTH = 0.1
"""By how much the report bias grows for each repetition left beyond the first. Published under-report grows from 0.2
near failure to 0.9 with eight left; simulation. [1]"""

_LOW, _HIGH = g(FEWEST), g(MOST)
_SHAPE_LOW, _SHAPE_HIGH = g(SHAPE_FROM), g(SHAPE_TO)


def mean(row: Row, u: float, fatigue: float | None = None) -> float:
    """Where the curve is met, before its bend and the report bias: level and day less load and fatigue. [log].

    Parameters
    ----------
    row : Row
        The lift, not empty.
    u : float
        Log of the load, less `row.reference`. [log]
    fatigue : float or None
        Fatigue units; None: those of the row. [units]

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> round(mean(new_row("other", 100), log(0.8)), 6)  # 0.8 of the max: -log 0.8
    0.223144
    """
    m = row.m
    return m[0] + m[2] - m[1] * u - m[3] * (row.fatigue if fatigue is None else fatigue)


def expected_repetitions(row: Row, kg: float, reps: float, fatigue: float | None = None) -> float:
    """Repetitions to failure that a set's report is expected to amount to: those done plus those said to be left.

    Parameters
    ----------
    row : Row
        The lift as it is before the set, not empty.
    kg : float
        Effective load, > 0. [kg]
    reps : float
        Repetitions of the set, on which the report bias depends. [reps]
    fatigue : float or None
        Fatigue units collected before the set; None: those of the row. [units]

    Returns
    -------
    float
        From 0.3 to 40. The expected RPE is `10 - (this - reps)`. [reps]

    Raises
    ------
    ValueError
        If the row is empty: nothing is expected of it.

    Notes
    -----
    Solves the model's equation at the means, `g(n) = mean - bend h(n) - g'(n) bias(n)`, where the bias grows by 0.1 for
    each repetition left beyond the first. Exactly four rounds of substitution, so that any implementation gives
    the same number.

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> round(10 - (expected_repetitions(new_row("squat_like", 150), 120, 5) - 5), 5)
    7.25294
    """
    if row.reference is None:
        raise ValueError("an empty row expects nothing")
    m = row.m
    return solved(mean(row, log(kg) - row.reference, fatigue), m[4], m[5], reps)


def solved(base: float, bend: float, bias: float, reps: float) -> float:
    """Four rounds towards `g(n) = base - bend h(n) - g'(n) bias(n)`; see `expected_repetitions`. [reps].

    Works on x = g(n), of which n, g'(n) and h(n) follow with one exponential.
    """
    # comparisons written out: min() and max() would cost as much again
    x = _LOW if base < _LOW else _HIGH if base > _HIGH else base  # noqa: FURB136
    for _ in range(4):
        stretch = exp(x / P)  # 1 + K (n - 1)
        beyond = (stretch - 1) / K - reps  # n - reps - 1
        held = _SHAPE_LOW if x < _SHAPE_LOW else _SHAPE_HIGH if x > _SHAPE_HIGH else x  # noqa: FURB136
        report_bias = bias + BIAS_GROWTH * beyond if beyond > 0 else bias
        x = base - PK / stretch * report_bias - bend * held * (held - SHAPE_ZERO)
        x = _LOW if x < _LOW else _HIGH if x > _HIGH else x  # noqa: FURB136
    return repetitions(x)
