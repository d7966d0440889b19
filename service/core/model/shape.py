"""The repetitions curve of the model: which share of the one-repetition maximum can be lifted how often.

`share(n) = (1 + k (n - 1)) ** -p`, kept as logarithms: `g(n)` is minus the log of the share at `n` repetitions to
failure, so that differences are parts of the load. A lifter's own curve is `exp(-(g(n) + bend * h(n)) / factor)`.
"""

from __future__ import annotations

from math import exp, log

P = 0.4
"""Exponent of the curve. With K: a single with two repetitions left is 92 % of the max (common practice, no source),
and published repetitions at 70 to 90 %. [1]"""
K = 0.116
"""Growth of the curve's base by repetition; as P. [1 / rep]"""
PK = P * K
SHAPE_ZERO = 0.25
"""g at which the shape function is zero again, about nine repetitions: the middle of usual sets. Simulation. [log]"""
SHAPE_FROM, SHAPE_TO = 0.5, 15.0
"""Repetitions between which the shape function changes. [reps]"""


def g(n: float) -> float:
    """Minus the log of the load share at `n` repetitions to failure, n >= 0.3. [reps] -> [log].

    >>> from math import exp
    >>> round(100 * exp(-g(3)), 4), g(1)
    (91.9932, 0.0)
    """
    return P * log(1 + K * (n - 1))


def slope(n: float) -> float:
    """Log load that one repetition is worth at `n`: the derivative of `g`. [reps] -> [log / rep].

    >>> round(slope(1), 4)
    0.0464
    """
    return PK / (1 + K * (n - 1))


def repetitions(x: float) -> float:
    """Repetitions to failure at which `g` is `x`. [log] -> [reps].

    >>> round(repetitions(g(7.5)), 9)
    7.5
    """
    return 1 + (exp(x / P) - 1) / K


def h(n: float) -> float:
    """The shape function: zero at one and about nine repetitions, negative between, held beyond 15. [reps] -> [1].

    >>> h(1), h(5) < 0 < h(12), h(15) == h(20)
    (-0.0, True, True)
    """
    big = g(min(max(n, SHAPE_FROM), SHAPE_TO))
    return big * (big - SHAPE_ZERO)
