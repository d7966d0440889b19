"""How unsure the model's sums are: the variance of what is read from a row, and the normal distribution."""

from __future__ import annotations

from math import erfc, exp, pi, sqrt

from service.core.model.state import Covariance

Z80, Z85, Z95 = 1.2815515655, 1.0364333895, 1.959964
"""Normal quantiles: half the width of an 80 % range (one side with 10 %), one side with 15 %, half of a 95 % range."""

_ROOT_HALF = sqrt(0.5)
_DENSITY = 1 / sqrt(2 * pi)


def set_variance(p: Covariance, u: float, fatigue: float, bend: float, bias: float) -> float:
    """Variance of what is expected of a set: `c P c` of `c = (1, -u, 1, -fatigue, -bend, -bias, 0)`, written out.

    Parameters
    ----------
    p : Covariance
        Of (level, curve factor, day, fatigue, bend, bias, person): upper triangle by rows.
    u : float
        Load against the reference. [log]
    fatigue : float
        Units of the session so far. [units]
    bend : float
        The shape function at the repetitions possible. [1]
    bias : float
        The curve's slope there for a report, 0 for the truth. [log / rep]

    Returns
    -------
    float
        Variance of the model equation's right side without noise. [log ** 2]
    """
    aa, ag, ad, af, ak, ab, _, gg, gd, gf, gk, gb, _, dd, df, dk, db, _, ff, fk, fb, _, kk, kb, _, bb, _, _ = p
    return (
        aa
        + dd
        + u * (u * gg)
        + fatigue * (fatigue * ff)
        + bend * (bend * kk)
        + bias * (bias * bb)
        + 2.0
        * (
            ad
            - u * (ag + gd - fatigue * gf - bend * gk - bias * gb)
            - fatigue * (af + df - bend * fk - bias * fb)
            - bend * (ak + dk - bias * kb)
            - bias * (ab + db)
        )
    )


def level_variance(p: Covariance, t: float) -> float:
    """Variance of the level at the log max `t`: `c P c` of `c = (1, -t, 0, 0, 0, 0, 0)`. [log] -> [log ** 2].

    Never below 0, which rounding could give.
    """
    return max(0.0, p[0] - 2.0 * t * p[1] + t * (t * p[7]))


def day_variance(p: Covariance, t: float) -> float:
    """Variance of level and day together at the log max `t`: as `level_variance`, with a one for the day as well."""
    return max(0.0, p[0] + p[13] + t * (t * p[7]) + 2.0 * (p[2] - t * (p[1] + p[8])))


def normal_chance(z: float) -> float:
    """The chance that a standard normal number is below `z`.

    >>> normal_chance(0), round(normal_chance(Z80), 6)
    (0.5, 0.9)
    """
    return 0.5 * erfc(-z * _ROOT_HALF)


def normal_edge(chance: float) -> float:
    """The number that a standard normal one is above with this chance, 0 < chance <= 0.5: `Z80` for 0.1.

    >>> round(normal_edge(0.15), 9) == round(Z85, 9), normal_edge(0.5)
    (True, 0.0)
    """
    # Newton from the middle: the tail is convex there, so that each step falls short of the edge and none goes beyond
    z = 0.0
    for _ in range(100):
        step = (normal_chance(-z) - chance) / (_DENSITY * exp(-0.5 * z * z))
        z += step
        if step < 1e-12:
            break
    return z
