"""Slots whose loads come one by one from what was done: a newcomer's ladder, a test."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from service.core.answers import ObeyedOverride
from service.core.context import Context
from service.core.prescribe.grounds import Grounds, ground
from service.core.prescribe.ladder import ladder
from service.core.prescribe.max_test import is_held, protocol
from service.core.prescribe.obey import Orders, needs_approval, obeyed
from service.core.prescribe.one_set import Draft
from service.core.prescribe.percent_cap import strictest
from service.core.slots import EffortTarget, Ladder, MaxTest, Slot
from service.core.words import number

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
    g = bounded(ground(slot, ctx, bounds=in_force.bounds), in_force)
    if isinstance(slot.scheme, Ladder):
        return g, ladder(g)
    drafts = protocol(g)
    if in_force.held and is_held(g):
        for one in drafts:
            one.cautions = (needs_approval(in_force, technique=g.lift.technique), *one.cautions)
    return g, drafts


def without_attempts(g: Grounds, in_force: Orders) -> tuple[str, tuple[ObeyedOverride, ...]] | None:
    """Why a test stands without its attempts: a sentence, and the decisions that it obeys; None where it does not."""
    if not isinstance(g.slot.scheme, MaxTest) or not is_held(g):
        return None
    if in_force.held:
        text = "The attempts stand here once a coach of this gym has approved them"
        return text, () if in_force.waits is None else (obeyed(in_force.waits, g.ctx),)
    text = f"No attempts follow, as a coach's decision allows no set harder than RPE {number(g.rpe_cap or 0)}"
    return text, () if in_force.effort is None else (obeyed(in_force.effort, g.ctx),)


def bounded(g: Grounds, in_force: Orders) -> Grounds:
    """With a coach's fixed load as the most that is taken: the sets lead up to it, and not past it."""
    fixed = None if in_force.fixed is None else in_force.fixed.load
    return g if fixed is None else replace(g, cap=strictest(g.cap, fixed))
