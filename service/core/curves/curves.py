"""Curves between repetitions to failure and the share of the max that can be lifted so often."""

from __future__ import annotations

from service.core.curves.catalogue import CURVES, TEXTBOOK_PERCENTS, Curve
from service.core.errors import NotComputable, OutOfRange

__all__ = [
    "CURVES",
    "TEXTBOOK_PERCENTS",
    "Curve",
    "curve_named",
    "max_from_five",
    "reach",
    "repetitions",
    "share",
    "slope",
]


def curve_named(name: str) -> Curve:
    """The curve of a name, or NotComputable (`unknown_curve`).

    >>> curve_named("epley").formula
    'max = load × (1 + reps / 30)'
    """
    found = CURVES.get(name)
    if found is None:
        raise NotComputable("unknown_curve", f"There is no curve named {name!r}; there are {', '.join(CURVES)}.")
    return found


def reach(curve: str) -> tuple[float, float]:
    """Lowest and highest share that a curve reaches, at its most and its fewest repetitions [1].

    Raises NotComputable as `curve_named`.

    >>> reach("brzycki")[1]
    1.0
    """
    found = _SHARES.get(curve)
    return found if found is not None else _shares(curve_named(curve))


def share(curve: str, reps: float) -> float:
    """Share of the max that can be lifted `reps` times to failure.

    Parameters
    ----------
    curve : str
        A name in `CURVES`.
    reps : float
        Repetitions to failure, real-valued, within the curve's `fewest` and `most`. [reps]

    Returns
    -------
    float
        Share, continuous and strictly decreasing in `reps`; exactly 1 at 1; above 1 only by the default curve
        below one repetition. [1]

    Raises
    ------
    OutOfRange, NotComputable
        If `reps` lies outside of the curve's range; if there is no such curve.

    Examples
    --------
    >>> round(share("default", 3), 4), share("brzycki", 10), share("mayhew", 1)
    (0.9199, 0.75, 1.0)
    """
    chosen = curve_named(curve)
    _check_reps(chosen, reps)
    if reps == 1:
        return 1.0
    if chosen.jumps_at_one and reps < 2:
        return 1 - (reps - 1) * (1 - chosen.form.share(2))
    return chosen.form.share(reps)


def repetitions(curve: str, share: float) -> float:
    """Repetitions to failure with a share of the max: the inverse of `share`.

    Parameters
    ----------
    curve : str
        A name in `CURVES`.
    share : float
        Load divided by the max, between the shares at the curve's `most` and `fewest` repetitions. [1]

    Returns
    -------
    float
        Repetitions, real-valued. [reps]

    Raises
    ------
    OutOfRange, NotComputable
        If `share` lies outside of what the curve reaches; if there is no such curve.

    Examples
    --------
    >>> repetitions("brzycki", 0.75), round(repetitions("textbook_table", 0.94), 9)
    (10.0, 2.5)
    """
    chosen = curve_named(curve)
    low, high = reach(curve)
    if not low <= share <= high:
        raise OutOfRange("share", share, low, high, "of the max")
    if share == 1:
        return 1.0
    if chosen.jumps_at_one and share > (second := chosen.form.share(2)):
        return 1 + (1 - share) / (1 - second)
    found = chosen.form.repetitions(share)
    # the closed forms may miss the ends by a rounding error, which `share` would then refuse
    return found if chosen.fewest <= found <= chosen.most else min(max(found, chosen.fewest), chosen.most)


def slope(curve: str, reps: float) -> float:
    """Log load that one repetition is worth: minus the derivative of ln `share`.

    Where the curve has a corner (at 2 after a straight line from 1, at each row of the table) it is that of the side
    with more repetitions, at the last row that of the side with fewer.

    Parameters
    ----------
    curve : str
        A name in `CURVES`.
    reps : float
        Repetitions to failure, within the curve's range. [reps]

    Returns
    -------
    float
        Slope, > 0; a hundredth is about one per cent of load. [1/reps]

    Raises
    ------
    OutOfRange, NotComputable
        As `share`.

    Examples
    --------
    >>> round(slope("default", 1), 4), round(slope("epley", 10), 4)
    (0.0464, 0.025)
    """
    chosen = curve_named(curve)
    _check_reps(chosen, reps)
    if chosen.jumps_at_one and reps < 2:
        drop = 1 - chosen.form.share(2)
        return drop / (1 - (reps - 1) * drop)
    return chosen.form.slope(reps)


def max_from_five(kg: float, exercise: str) -> float:
    """Max from a five-repetition maximum, by the straight lines of Reynolds et al. (2006), JSCR 20(3):584-592.

    Parameters
    ----------
    kg : float
        Load that could be lifted five times and not six, > 0. [kg]
    exercise : str
        `bench_press` (standard error 2.98 kg) or `leg_press` (16.16 kg), 70 people of 18 to 69 years.

    Returns
    -------
    float
        Max. [kg]

    Examples
    --------
    >>> round(max_from_five(100, "bench_press"), 2), round(max_from_five(200, "leg_press"), 2)
    (113.77, 233.65)
    """
    if exercise not in _FIVE_RM:
        raise NotComputable("unknown_exercise", f"The line was published for {' and '.join(_FIVE_RM)} only.")
    if not 0 < kg <= 1000:
        raise OutOfRange("kg", kg, 0, 1000, "kg")
    factor, constant = _FIVE_RM[exercise]
    return factor * kg + constant


_FIVE_RM = {"bench_press": (1.1307, 0.6999), "leg_press": (1.0970, 14.2546)}


def _check_reps(curve: Curve, reps: float) -> None:
    if not curve.fewest <= reps <= curve.most:
        raise OutOfRange("repetitions to failure", reps, curve.fewest, curve.most, "reps")


def _shares(curve: Curve) -> tuple[float, float]:
    return share(curve.name, curve.most), share(curve.name, curve.fewest)


_SHARES = {name: _shares(curve) for name, curve in CURVES.items()}
