"""The max as it looks afterwards: what later sessions say about earlier ones, for the history chart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import sqrt

from service.core.model.levels import LEAST_FACTOR, Ranged, around, widening
from service.core.model.spread import Z80, level_variance
from service.core.model.state import Covariance, Means, Person

Matrix = list[list[float]]
_ALL = range(7)
_KEPT = (0, 1, 3, 4, 5, 6)
"""What a night leaves: all but the day, which is drawn anew."""


@dataclass(slots=True)
class Step:
    """What one session of a lift did: the state when it began and when it ended."""

    on: date
    reference: float
    """`Row.reference` at the session's end. [log kg]"""
    predicted: tuple[Means, Covariance]
    """After the time step, before adopting."""
    filtered: tuple[Means, Covariance]
    """After the last set. In the last step: adopt what the athlete's other lifts said since, first."""
    anchored: bool = False
    """The row was made or re-anchored in this session: what came before has another reference."""


@dataclass(slots=True)
class Smoothed:
    """The rolling max of one session, with all that came after it known too."""

    on: date
    max: Ranged
    """With its 80 % range. [kg]"""
    starts: bool
    """The line starts here: nothing connects it to the session before."""


def smooth(steps: Sequence[Step], person: Person) -> list[Smoothed]:
    r"""Smoothed rolling max of each session: a backward pass over what the model believed at the time.

    Parameters
    ----------
    steps : sequence of Step, shape (n,)
        Sessions of one lift, oldest first. Only the night may lie between the end of one and the start of the next;
        what else changed the row (a variation's evidence) is a step of its own.
    person : Person
        The athlete now, for the width of the range.

    Returns
    -------
    list of Smoothed, length n
        One for each session, oldest first; the last is as it was, with what was adopted.

    Notes
    -----
    With :math:`T` the night (the day is forgotten), :math:`m, P` the end of a session and :math:`m^-, P^-` the start of
    the next, whose smoothed state is :math:`m^s, P^s`: [1]_

    .. math:: G = P T' (P^-)^{-1}, \qquad m + G (m^s - m^-), \qquad P + G (P^s - P^-) G'

    At a new anchor the line is cut: sessions before it learn nothing from those after.

    References
    ----------
    .. [1] H. E. Rauch, F. Tung and C. T. Striebel, Maximum likelihood estimates of linear dynamic systems, AIAA Journal
       3(8), 1965, pp. 1445-1450.
    """
    smoothed: list[Smoothed] = []
    later: tuple[Step, list[float], Matrix] | None = None
    for index in range(len(steps) - 1, -1, -1):
        step = steps[index]
        mean, spread = list(step.filtered[0]), whole(step.filtered[1])
        if later is not None and not later[0].anchored:
            mean, spread = _looked_back(mean, spread, *later)
        smoothed.append(Smoothed(step.on, _max(step.reference, mean, spread, person), index == 0 or step.anchored))
        later = step, mean, spread
    smoothed.reverse()
    return smoothed


def whole(p: Covariance) -> Matrix:
    """The full 7 x 7 matrix of an upper triangle by rows."""
    matrix = [[0.0] * 7 for _ in _ALL]
    numbers = iter(p)
    for i in _ALL:
        for j in range(i, 7):
            matrix[i][j] = matrix[j][i] = next(numbers)
    return matrix


def solve(matrix: Matrix, right: Matrix) -> Matrix:
    """Solve `matrix x = right` for several right sides, by elimination with the largest pivot of each column.

    Parameters
    ----------
    matrix : list of list of float, shape (n, n)
        Not singular.
    right : list of list of float, shape (n, m)
        One column for each right side.

    Returns
    -------
    list of list of float, shape (n, m)

    Raises
    ------
    ZeroDivisionError
        If the matrix is singular.

    Examples
    --------
    >>> solve([[0.0, 2.0], [4.0, 0.0]], [[6.0], [8.0]])
    [[2.0], [3.0]]
    """
    n = len(matrix)
    rows = [[*left, *sides] for left, sides in zip(matrix, right, strict=True)]
    for i in range(n):
        best = max(range(i, n), key=lambda k, i=i: abs(rows[k][i]))  # type: ignore[misc]
        rows[i], rows[best] = rows[best], rows[i]
        pivot = rows[i]
        for k in range(i + 1, n):
            part = rows[k][i] / pivot[i]
            if part:
                rows[k] = [x - part * y for x, y in zip(rows[k], pivot, strict=True)]
    for i in range(n - 1, -1, -1):
        pivot = rows[i] = [x / rows[i][i] for x in rows[i]]
        for k in range(i):
            part = rows[k][i]
            if part:
                rows[k] = [x - part * y for x, y in zip(rows[k], pivot, strict=True)]
    return [row[n:] for row in rows]


def _looked_back(
    mean: list[float], spread: Matrix, step: Step, mean_after: list[float], spread_after: Matrix
) -> tuple[list[float], Matrix]:
    """The end of a session, with the smoothed state of the next one (`step`) known."""
    mean_before, spread_before = step.predicted[0], whole(step.predicted[1])
    # Neither G nor what follows needs the day of the next session: the night connects it with nothing.
    before = [[spread_before[i][j] for j in _KEPT] for i in _KEPT]
    gain = _transposed(solve(before, [spread[i] for i in _KEPT]))  # 7 x 6
    moved = [mean_after[i] - mean_before[i] for i in _KEPT]
    known = [[spread_after[i][j] - spread_before[i][j] for j in _KEPT] for i in _KEPT]
    half = [[sum(map(float.__mul__, row, column)) for column in known] for row in gain]  # known is symmetric
    return (
        [mean[i] + sum(map(float.__mul__, gain[i], moved)) for i in _ALL],
        [[spread[i][j] + sum(map(float.__mul__, half[i], gain[j])) for j in _ALL] for i in _ALL],
    )


def _transposed(matrix: Matrix) -> Matrix:
    return [list(column) for column in zip(*matrix, strict=True)]


def _max(reference: float, mean: list[float], spread: Matrix, person: Person) -> Ranged:
    """The rolling max of a state, as `rolling_max` has it for a row."""
    factor = max(LEAST_FACTOR, mean[1])
    t = mean[0] / factor
    p = tuple(spread[i][j] for i in _ALL for j in range(i, 7))
    return around(reference + t, Z80 * widening(person) * sqrt(level_variance(p, t)) / factor)  # type: ignore[arg-type]
