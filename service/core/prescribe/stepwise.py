"""Slots whose loads come one by one from what was done: a newcomer's ladder, a test."""

from __future__ import annotations

from typing import Literal

from service.core.context import Context
from service.core.prescribe.grounds import Grounds, ground
from service.core.prescribe.ladder import ladder
from service.core.prescribe.obey import Orders
from service.core.prescribe.one_set import Draft
from service.core.prescribe.test_day import protocol
from service.core.slots import EffortTarget, Ladder, MaxTest, Slot
from service.core.units import Load

LADDER_REPS, LADDER_LEFT = 5, 3
"""A newcomer's working load, where nobody states another one: common practice, no source. [reps]"""


def is_stepwise(slot: Slot) -> bool:
    """Whether a slot's sets are decided one by one."""
    return isinstance(slot.scheme, Ladder | MaxTest)


def slot_for(kind: Literal["first", "test"], lift: str) -> Slot:
    """The slot of a lift in a newcomer's first session, which leaves three repetitions of five, or in a test."""
    if kind == "first":
        return Slot(lift=lift, scheme=Ladder(), target=EffortTarget(reps=LADDER_REPS, rir=LADDER_LEFT))
    return Slot(lift=lift, scheme=MaxTest(), target=EffortTarget(reps=1, rpe=10))


def stepwise(slot: Slot, ctx: Context, in_force: Orders) -> tuple[Grounds, list[Draft]]:
    """What stands before the first set of such a slot; a coach's fixed load is the most, as a cap is.

    Raises as `ladder` and `protocol`.
    """
    g = ground(slot, ctx, cap=most_allowed(in_force))
    return g, ladder(g) if isinstance(slot.scheme, Ladder) else protocol(g)


def most_allowed(in_force: Orders) -> Load | None:
    """The lighter of a coach's cap and fixed load."""
    found = [one.load for one in (in_force.cap, in_force.fixed) if one is not None and one.load is not None]
    return min(
        found, key=lambda one: (one.unit == "step", one.grains if one.unit != "step" else one.value), default=None
    )
