"""The arithmetic of one observation, written out: what it says of each state, and how the states move.

An observation is linear in the state with factors `c = (1, -u, 1, -fatigue, -shape, -worth, 0)`, for (level, curve
factor, day, fatigue loss, bend, bias, person). Covariances are upper triangles by rows, as in `Row`.
"""

from __future__ import annotations

from math import erfc, exp, pi, sqrt

from service.core.model.state import Covariance, Means

_SQRT_HALF = sqrt(0.5)
_PEAK = 1 / sqrt(2 * pi)
LEAST_STEP = 1e-10
"""A bound that moves less, in standard deviations, changes nothing. Ours. [1]"""


def project(p: Covariance, u: float, fatigue: float, shape: float, worth: float) -> tuple[Means, float]:
    """Covariances of the states with an expectation, `P c`, and the variance of it, `c P c`.

    Parameters
    ----------
    p : Covariance
        Of the states.
    u, fatigue, shape, worth : float
        What the factors are made of: log load against the reference, fatigue units, shape function, and the slope that
        the report bias acts through (0 where the truth is seen and not a report). [log], [units], [1], [log / rep]

    Returns
    -------
    tuple of (Means, float)
        `P c`, and `c P c` in log².

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> towards, variance = project(new_row("other", 100).p, -0.2, 0, 0, 0)
    >>> round(variance, 6)  # 0.1² + 0.2² (0.09² + 0.11²) + 0.025²
    0.011433
    """
    (
        aa, af, ad, al, ak, ab, ae,
        ff, fd, fl, fk, fb, fe,
        dd, dl, dk, db, de,
        ll, lk, lb, le,
        kk, kb, ke,
        bb, be,
        _,
    ) = p  # fmt: skip
    a = aa - u * af + ad - fatigue * al - shape * ak - worth * ab
    f = af - u * ff + fd - fatigue * fl - shape * fk - worth * fb
    d = ad - u * fd + dd - fatigue * dl - shape * dk - worth * db
    l = al - u * fl + dl - fatigue * ll - shape * lk - worth * lb  # noqa: E741 # one letter a state
    k = ak - u * fk + dk - fatigue * lk - shape * kk - worth * kb
    b = ab - u * fb + db - fatigue * lb - shape * kb - worth * bb
    e = ae - u * fe + de - fatigue * le - shape * ke - worth * be
    return (a, f, d, l, k, b, e), a - u * f + d - fatigue * l - shape * k - worth * b


def move(m: Means, p: Covariance, towards: Means, step: float, cut: float) -> tuple[Means, Covariance]:
    """States moved along `towards` = P c: `m + step P c`, `P - cut (P c)(P c)'`.

    An observation with surprise e and variance S has step e / S and cut 1 / S.

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> row = new_row("other", 100)
    >>> towards, variance = project(row.p, 0, 0, 0, 0)  # a true single with the reference
    >>> m, p = move(row.m, row.p, towards, 0.02 / (2 * variance), 1 / (2 * variance))  # seen as surely as expected
    >>> round(m[0] + m[2], 6)  # half of the surprise
    0.01
    """
    a, f, d, l, k, b, e = towards  # noqa: E741 # one letter a state
    ca, cf, cd, cl, ck, cb = a * cut, f * cut, d * cut, l * cut, k * cut, b * cut
    return (
        m[0] + a * step, m[1] + f * step, m[2] + d * step, m[3] + l * step, m[4] + k * step, m[5] + b * step,
        m[6] + e * step,
    ), (
        p[0] - ca * a, p[1] - ca * f, p[2] - ca * d, p[3] - ca * l, p[4] - ca * k, p[5] - ca * b, p[6] - ca * e,
        p[7] - cf * f, p[8] - cf * d, p[9] - cf * l, p[10] - cf * k, p[11] - cf * b, p[12] - cf * e,
        p[13] - cd * d, p[14] - cd * l, p[15] - cd * k, p[16] - cd * b, p[17] - cd * e,
        p[18] - cl * l, p[19] - cl * k, p[20] - cl * b, p[21] - cl * e,
        p[22] - ck * k, p[23] - ck * b, p[24] - ck * e,
        p[25] - cb * b, p[26] - cb * e,
        p[27] - e * cut * e,
    )  # fmt: skip


def held(before: Means, after: Means, p: Covariance) -> Means:
    """Means after an observation, with the max left where it was before.

    Parameters
    ----------
    before, after : Means
        Before and after the observation.
    p : Covariance
        After it. It stays: a lifter is not known better because a set was read with care.

    Returns
    -------
    Means
        With the level divided by the factor as in `before`.

    Notes
    -----
    With t the max before, in logs, it is unchanged where `level - t factor` is 0. The states go back along their
    covariances with that difference, to the means that they would have if the max were known to be unchanged. What is
    expected of the observed load still moves towards the observation, only less far, by the Cauchy-Schwarz inequality.
    Ours.

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> row = new_row("other", 100)
    >>> after = (0.01, 1.02, *row.m[2:])
    >>> held(row.m, after, row.p)[:2]  # the level is back at 0; nothing ties the factor to it
    (0.0, 1.02)
    """
    t = before[0] / before[1]
    level, factor = p[0] - t * p[1], p[1] - t * p[7]
    back = (after[0] - t * after[1]) / (level - t * factor)
    return (
        after[0] - back * level,
        after[1] - back * factor,
        after[2] - back * (p[2] - t * p[8]),
        after[3] - back * (p[3] - t * p[9]),
        after[4] - back * (p[4] - t * p[10]),
        after[5] - back * (p[5] - t * p[11]),
        after[6] - back * (p[6] - t * p[12]),
    )


def bound(sign: int, surprise: float, spread: float) -> tuple[float, float]:
    """How far a bound moves what is expected, and how much surer it gets, both for a spread of one.

    The normal distribution is cut off at the bound and replaced by one of the same mean and variance. A bound that was
    expected anyway says almost nothing.

    Parameters
    ----------
    sign : int
        1: at least the reported was possible; -1: at most.
    surprise : float
        Reported less expected. [log]
    spread : float
        Standard deviation of the surprise. [log]

    Returns
    -------
    tuple of float
        `k` and `k (k + z)`, with z the distance to the bound in spreads (at least -6), k = density / distribution at
        z; both 0 where k is below `LEAST_STEP`. [1]

    References
    ----------
    .. [1] N. L. Johnson, S. Kotz and N. Balakrishnan, Continuous Univariate Distributions, vol. 1, 2nd ed. New York:
       Wiley, 1994, sec. 13.10.1 (moments of the truncated normal distribution).

    Examples
    --------
    >>> [round(x, 6) for x in bound(1, 0.0, 1.0)]  # half a normal: mean sqrt(2 / pi), variance 1 - 2 / pi
    [0.797885, 0.63662]
    """
    z = max(-6.0, -sign * surprise / spread)
    k = _PEAK * exp(-0.5 * z * z) / max(0.5 * erfc(-z * _SQRT_HALF), 1e-12)
    if k < LEAST_STEP:
        return 0.0, 0.0
    return k, k * (k + z)
