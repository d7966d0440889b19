"""The published fixed step: two per cent of the load for each half point that a set was off its range."""

from __future__ import annotations

from service.core.effort import HIGHEST_RPE, LOWEST_RPE
from service.core.errors import OutOfRange

STEP = 0.02
"""Part of the load for each half point outside of the range (Helms et al. 2018, table 3). [1]"""
HALF_BAND = 0.5
"""Half width of the range around a target that names one RPE: design rule, common practice, no source. [RPE]"""


def published_step(low: float, high: float, actual: float) -> float:
    """Factor for the next set's load, from how hard the last one was against the range that was asked.

    Parameters
    ----------
    low, high : float
        The range asked, 1 <= low <= high <= 10. [RPE]
    actual : float
        What was reported, 1 to 10. [RPE]

    Returns
    -------
    float
        1 inside of the range, below 1 after a harder set, above 1 after a lighter one. [1]

    Raises
    ------
    OutOfRange
        If a number is off the scale, or `high` is below `low`.

    Notes
    -----
    About 2 % per half point outside of the range in the compensating direction, straight in between: Helms et al.
    2018, Frontiers in Physiology 9:247, table 3. Its second example, a full point under, is +4 %.

    Examples
    --------
    >>> published_step(6, 8, 8.5), published_step(6, 8, 5), published_step(6, 8, 7)
    (0.98, 1.04, 1.0)
    """
    for name, value, least in (("low", low, LOWEST_RPE), ("high", high, low), ("actual", actual, LOWEST_RPE)):
        if not least <= value <= HIGHEST_RPE:
            raise OutOfRange(name, value, least, HIGHEST_RPE, "RPE")
    outside = max(low - actual, 0.0) - max(actual - high, 0.0)
    return 1 + STEP * outside / 0.5


def around(target_rpe: float) -> tuple[float, float]:
    """The range that a single target stands for: half a point to each side, on the scale. [RPE]

    >>> around(8), around(10)
    ((7.5, 8.5), (9.5, 10.0))
    """
    return max(target_rpe - HALF_BAND, LOWEST_RPE), min(target_rpe + HALF_BAND, HIGHEST_RPE)
