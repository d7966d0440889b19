"""What a max means for a set: the load for an effort, the effort of a load, and what earlier work sets cost.

Where a coach has pinned a curve: that curve, with the model's prior for fatigue.
"""

from __future__ import annotations

from math import exp, log

from service.core.curves import curves

FATIGUE_PER_UNIT = 0.006
"""Capacity lost for each fatigue unit: a work set at RPE 8 costs 0.6 %. Prior of the athlete model, set by published
velocity loss per set (Refalo et al. 2023, Sports Medicine - Open: about 0.6 to 0.85 % at 1 to 3 in reserve). [log]"""


def fatigue_units(left: float) -> float:
    """Fatigue that a work set leaves, by the repetitions that were left: 1 at two left, 2.5 at none.

    >>> fatigue_units(2.0)
    1.0
    """
    return float(2 ** (-(min(max(left, 0.0), 8.0) - 2) / 1.5))


def load_for(max_kg: float, reps: float, rpe: float, curve: str, fatigue: float = 0.0) -> float:
    """Load at which `reps` repetitions should feel like `rpe`, after `fatigue` units of work sets. [kg].

    Raises OutOfRange where the curve does not reach `reps` plus the repetitions left.

    >>> round(load_for(150, 3, 7.5, "default"), 3)
    126.802
    """
    return max_kg * exp(-FATIGUE_PER_UNIT * fatigue) * curves.share(curve, reps + 10 - rpe)


def expected_rpe(kg: float, reps: float, max_kg: float, curve: str, fatigue: float = 0.0) -> float:
    """RPE that `reps` with `kg` should be; above 10 the set is likely to be missed. [RPE].

    Never refused: a load lighter than the curve reaches counts as the curve's most repetitions (an RPE far below
    any target), a load heavier than it reaches goes on along its slope there.

    >>> round(expected_rpe(127.5, 3, 150, "default"), 2), expected_rpe(160, 1, 150, "brzycki") > 10
    (7.68, True)
    """
    return 10 - (possible(kg, max_kg, curve, fatigue) - reps)


def possible(kg: float, max_kg: float, curve: str, fatigue: float = 0.0) -> float:
    """Repetitions to failure with `kg`, as in `expected_rpe`; may be below 0 far above the max. [reps]."""
    share = kg / (max_kg * exp(-FATIGUE_PER_UNIT * fatigue))
    low, top = curves.reach(curve)
    if low < share <= top:
        return curves.repetitions(curve, share)
    chosen = curves.curve_named(curve)
    if share <= low:
        return chosen.most
    return chosen.fewest - log(share / top) / curves.slope(curve, chosen.fewest)
