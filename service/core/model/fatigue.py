"""What a set costs: fatigue units, which fall to zero with the next session of the lift."""

from __future__ import annotations

from math import exp2

MOST_LEFT = 8.0
"""More repetitions left than that are counted as so many. Ours. [reps]"""
UNIT_LEFT, HALF_STEP = 2.0, 1.5
"""Repetitions left at which a set costs one unit, and by how many more it costs half. Published velocity loss over sets
with none, one and three repetitions left. [reps]"""


def fatigue_unit(left: float) -> float:
    """Fatigue units that a set adds: `2 ** (-(left - 2) / 1.5)`, with `left` limited to 0..8.

    Parameters
    ----------
    left : float
        Repetitions left at the end of the set, any number. [reps]

    Returns
    -------
    float
        Units, from 0.0625 to 2.52: one at RPE 8.

    Examples
    --------
    >>> fatigue_unit(2), round(fatigue_unit(0), 2), round(fatigue_unit(4), 2)
    (1.0, 2.52, 0.4)
    """
    return exp2((UNIT_LEFT - min(max(left, 0.0), MOST_LEFT)) / HALF_STEP)
