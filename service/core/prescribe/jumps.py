"""From one load to the next where hardly anything is known: published steps, and what a set allows at most.

The steps are those of the protocol for testing a one-repetition maximum in Haff & Triplett eds., Essentials of Strength
Training and Conditioning, 4th ed.: up by 5 to 10 % in lifts of the upper body and by 10 to 20 % in those of the lower
body, after a miss down by 2.5 to 5 % and by 5 to 10 %.
"""

from __future__ import annotations

from math import exp

from service.core.answers import Loading
from service.core.errors import DomainError
from service.core.loading.loading import Hung, step_up
from service.core.model.shape import g as log_share
from service.core.prescribe.grounds import Grounds, hang_under, heavier, lighter_step
from service.core.records import Lift
from service.core.units import GRAINS_PER_KG, Load

PROTOCOL = "Haff & Triplett eds., Essentials of Strength Training and Conditioning, 4th ed."
UP_UPPER, UP_LOWER = (5.0, 10.0), (10.0, 20.0)
"""By so much the load goes up from set to set. [%]"""
DOWN_UPPER, DOWN_LOWER = (2.5, 5.0), (5.0, 10.0)
"""By so much it goes down after a miss. [%]"""
FAR_STEP = 25.0
"""While five or more are left no step is larger. Ours: published steps are for sets near a limit. [%]"""
STEEP = 1.2
"""Loads are read as if the lifter lost repetitions so many times as fast with the load as is usual: one in ten does.
The model's spread of curves between lifters. [1]"""
SMALL_KG, SMALL_ON_MACHINE = 2.5, 5.0
"""A step of the place that is no larger than this, both hands together, is taken where finer ones are missing, however
many percent it is. On a machine nobody is caught under the load, and its first steps are far apart. Ours. [kg]"""


def lower_body(lift: Lift) -> bool:
    """Whether a lift takes the steps of the lower body; technique lifts and all others take the smaller ones.

    >>> from service.core.catalogue import BUILT_IN
    >>> lower_body(BUILT_IN["squat"]), lower_body(BUILT_IN["bench-press"]), lower_body(BUILT_IN["snatch"])
    (True, False, False)
    """
    return lift.curve_group in ("squat_like", "deadlift_like") and not lift.technique


def up_by(lift: Lift) -> tuple[float, float]:
    """The smaller and the larger published step up. [%]"""
    return UP_LOWER if lower_body(lift) else UP_UPPER


def down_by(lift: Lift) -> tuple[float, float]:
    """The smaller and the larger published step down. [%]"""
    return DOWN_LOWER if lower_body(lift) else DOWN_UPPER


def read_from(possible: float, reps: float, *, steep: float = 1.0) -> float:
    """By which factor the load may rise so that `reps` still go up, where at least `possible` did or would have.

    The usual curve of the model; a report of repetitions left is read from one side, as "at least so many".

    Parameters
    ----------
    possible : float
        Repetitions done and left, >= 1. [reps]
    reps : float
        Repetitions that the next set is to leave possible, >= 1. [reps]
    steep : float
        As if the lifter lost repetitions so many times as fast with the load as is usual, >= 1. [1]

    Returns
    -------
    float
        Next load divided by this one. [1]

    Examples
    --------
    >>> round(read_from(10, 5), 4), round(read_from(9, 7), 4), read_from(5, 5)
    (1.1428, 1.0526, 1.0)
    >>> round(read_from(20, 7), 4), round(read_from(20, 7, steep=1.2), 4)
    (1.2898, 1.2362)
    """
    return exp((log_share(possible) - log_share(reps)) / steep)


def hung_below(g: Grounds, kg: float) -> Hung | None:
    """The heaviest load that is not above a mass; None where nothing is so light. Effective. [kg]"""
    try:
        found = hang_under(g, kg, rounding="down")
    except DomainError:
        return None
    return found if effective(g, found.load) <= kg + 1e-6 else None


def next_up(g: Grounds, current: Load) -> Loading | None:
    """The next heavier load of the place, on the light bar too; None where there is none, or a coach's cap is reached.

    Raises NotComputable where the place has nothing for the lift.
    """
    bars = (None,) if g.light_bar is None else (None, g.light_bar)
    ways = [step_up(current, g.lift, g.ctx.kit, unit=g.unit, bar=bar) for bar in bars]
    found = [one for one in ways if one is not None]
    best = min(found, key=lambda one: one.load.grains if one.load.unit != "step" else one.load.value, default=None)
    if best is None or (g.cap is not None and heavier(best.load, g.cap)):
        return None
    return best


def next_down(g: Grounds, current: Load) -> Loading | None:
    """The next lighter load of the place; None where there is none."""
    try:
        return lighter_step(g, current)
    except DomainError:
        return None


def effective(g: Grounds, load: Load) -> float:
    """Effective mass of a load with a mass. [kg]"""
    return load.grains / GRAINS_PER_KG + g.body_kg


def is_small(g: Grounds, apart_kg: float) -> bool:
    """Whether a step is so small in itself that its percentage does not matter. [kg]"""
    kind = g.lift.load_kind
    small = SMALL_ON_MACHINE if kind == "stack" else SMALL_KG
    return apart_kg * (2 if kind == "per_hand" else 1) <= small + 1e-6
