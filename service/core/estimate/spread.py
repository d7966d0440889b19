"""How wide an estimate from a bare curve is, while nothing is known of the lifter's own curve."""

from __future__ import annotations

from bisect import bisect_right

from service.core.errors import OutOfRange

LEVEL = 0.8
"""In 8 of 10 such cases the true value lies in the range."""

_CORNERS = ((1.0, 4.0), (5.0, 8.0), (10.0, 9.0))
_BEYOND = 1.0  # points for each repetition past the last corner


def half_percent(reps_to_failure: float) -> float:
    """Half width of the 80 % range of a load or a max from a bare curve.

    Parameters
    ----------
    reps_to_failure : float
        Repetitions to failure that the curve is read at, > 0 and finite; below one counts as one. [reps]

    Returns
    -------
    float
        Straight lines through 4 at one repetition, 8 at five, 9 at ten, then one more for each further one. [%]

    Raises
    ------
    OutOfRange
        If the repetitions are not positive and finite.

    Notes
    -----
    The lines are ours, laid within a point of what follows from the spread between people: standard deviation
    2.51 + 0.0925 (80 - percent of the max) repetitions (line through the two verified points of Nuzzo et al. 2024,
    Sports Med 54(2):303-321), times what a repetition is worth by the default curve, times 1.2816. Past ten
    repetitions they widen faster than that, as Mayhew et al. 2008 (JSCR 22(5):1570-1577) found: individual errors of
    9 to 11 % up to ten repetitions, 9 to 102 % up to thirty.

    Examples
    --------
    >>> half_percent(1), half_percent(3), half_percent(8), half_percent(15)
    (4.0, 6.0, 8.6, 14.0)
    """
    if not 0 < reps_to_failure < float("inf"):
        raise OutOfRange("repetitions to failure", reps_to_failure, 0, float("inf"), "reps")
    reps = max(reps_to_failure, 1.0)
    i = bisect_right(_CORNERS, (reps, float("inf")))
    low_reps, low = _CORNERS[i - 1]
    if i == len(_CORNERS):
        return low + _BEYOND * (reps - low_reps)
    high_reps, high = _CORNERS[i]
    return low + (high - low) * (reps - low_reps) / (high_reps - low_reps)
