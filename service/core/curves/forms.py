"""The shapes that published curves between repetitions and load share have, each with its inverse and slope."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log

RealFunction = Callable[[float], float]


@dataclass(frozen=True, slots=True)
class Form:
    """Share at repetitions, repetitions at a share, and minus the derivative of log share."""

    share: RealFunction
    repetitions: RealFunction
    slope: RealFunction


def hyperbolic(p: float, k: float) -> Form:
    """Share = (1 + k (n - 1))^-p."""
    return Form(
        lambda n: (1 + k * (n - 1)) ** -p,
        lambda s: 1 + (s ** (-1 / p) - 1) / k,
        lambda n: p * k / (1 + k * (n - 1)),
    )


def growing(c: float) -> Form:
    """Max = load (1 + c r)."""
    return Form(lambda r: 1 / (1 + c * r), lambda s: (1 / s - 1) / c, lambda r: c / (1 + c * r))


def straight(a: float, b: float, unit: float) -> Form:
    """Share = (a - b r) / unit."""
    return Form(lambda r: (a - b * r) / unit, lambda s: (a - unit * s) / b, lambda r: b / (a - b * r))


def exponential(a: float, b: float, c: float) -> Form:
    """Share = a + b e^(-c r)."""

    def per_repetition(r: float) -> float:
        part = b * exp(-c * r)
        return c * part / (a + part)

    return Form(lambda r: a + b * exp(-c * r), lambda s: -log((s - a) / b) / c, per_repetition)


def power(q: float) -> Form:
    """Share = r^-q."""
    return Form(lambda r: r**-q, lambda s: s ** (-1 / q), lambda r: q / r)


def cubic(a: float, b: float, c: float, d: float, most: float) -> Form:
    """Max = load (a + b r + c r² + d r³), rising up to `most`; the inverse is found by halving."""

    def factor(r: float) -> float:
        return a + r * (b + r * (c + r * d))

    def inverse(s: float) -> float:
        low, high = 1.0, most
        for _ in range(60):  # 20 repetitions / 2^60 is below what a float can tell apart
            middle = (low + high) / 2
            low, high = (middle, high) if factor(middle) * s < 1 else (low, middle)
        return (low + high) / 2

    return Form(lambda r: 1 / factor(r), inverse, lambda r: (b + r * (2 * c + r * 3 * d)) / factor(r))


def table(rows: tuple[tuple[int, int], ...]) -> Form:
    """Straight lines between the rows of (repetitions, percent)."""
    reps = [row[0] for row in rows]
    shares = [row[1] / 100 for row in rows]
    falling = [-s for s in shares]  # bisect wants a rising list

    def at(r: float) -> float:
        i = min(max(bisect_right(reps, r), 1), len(rows) - 1)
        return shares[i - 1] + (r - reps[i - 1]) / (reps[i] - reps[i - 1]) * (shares[i] - shares[i - 1])

    def inverse(s: float) -> float:
        i = min(max(bisect_left(falling, -s), 1), len(rows) - 1)
        return reps[i - 1] + (s - shares[i - 1]) / (shares[i] - shares[i - 1]) * (reps[i] - reps[i - 1])

    def per_repetition(r: float) -> float:
        i = min(max(bisect_right(reps, r), 1), len(rows) - 1)
        return (shares[i - 1] - shares[i]) / (reps[i] - reps[i - 1]) / at(r)

    return Form(at, inverse, per_repetition)
