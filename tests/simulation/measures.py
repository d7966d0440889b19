"""Means over lifters with their standard errors, and ratios of two methods on the same lifters."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from tests.simulation.training import INDEX


@dataclass(frozen=True, slots=True)
class Value:
    """A number with one standard error over lifters."""

    mean: float
    se: float


@dataclass(frozen=True, slots=True)
class Results:
    """Sums and counts of one method in one world, for each lifter: shape (lifters, 2 parts, measures, 2)."""

    sums: np.ndarray

    def _of(self, name: str, part: int) -> tuple[np.ndarray, np.ndarray]:
        cell = self.sums[:, part, INDEX[name]]
        return cell[:, 0], cell[:, 1]

    def value(self, name: str, part: int) -> Value:
        """A mean over all sessions or sets; the error counts lifters, since what one lifter does hangs together."""
        sums, counts = self._of(name, part)
        if not counts.sum():
            return Value(float("nan"), float("nan"))
        mean = sums.sum() / counts.sum()
        return Value(float(mean), _spread((sums - mean * counts) / counts.sum()))

    def ratio(self, other: Results, name: str, part: int) -> Value:
        """This method's mean divided by another's, on the same lifters, so that what they share falls out."""
        mine, theirs = self._of(name, part), other._of(name, part)
        ratio = (mine[0].sum() / mine[1].sum()) / (theirs[0].sum() / theirs[1].sum())
        return Value(float(ratio), float(ratio * _spread(_pull(*mine) - _pull(*theirs))))

    def difference(self, other: Results, name: str, part: int) -> Value:
        """This method's mean less another's, on the same lifters."""
        mine, theirs = self.value(name, part), other.value(name, part)
        first, second = self._of(name, part), other._of(name, part)
        pull = _pull(*first) * mine.mean - _pull(*second) * theirs.mean
        return Value(mine.mean - theirs.mean, _spread(pull))


def _pull(sums: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """How much each lifter moves the log of a mean."""
    total = sums.sum()
    return (sums / total if total else 0 * sums) - counts / counts.sum()


def _spread(pulls: np.ndarray) -> float:
    """Standard error of a sum of such pulls."""
    n = len(pulls)
    return sqrt(float((pulls**2).sum()) * n / (n - 1)) if n > 1 else float("nan")
