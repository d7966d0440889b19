"""What comes the next time, at the end of a slot whose load grows from session to session."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from service.core import words
from service.core.answers import LiftDone, Next
from service.core.context import Context
from service.core.errors import DomainError
from service.core.prescribe.add_load import DoneThen, rule_of, summed
from service.core.prescribe.grounds import heavier
from service.core.prescribe.prescribe import prescribe
from service.core.records import WORK_ROLES, DoneSet
from service.core.slots import Slot


def with_next_time(found: Next, slot: Slot, ctx: Context, done: Sequence[DoneSet], asked: int) -> Next:
    """A finished lift with the load of its next session, by the coach's rule; anything else as it is.

    `asked`: work sets of today's plan, fewer than written where the time is short. [sets]
    Nothing is told where more than the rule decides: a coach's decision, the way back from an absence, a target that
    takes over when the lift is known well enough, pain, a test or a meet.
    """
    rule = rule_of(slot)
    if not isinstance(found, LiftDone) or rule is None or rule.until_sure or found.cautions:
        return found
    if ctx.overrides or ctx.eased is not None or ctx.session_kind != "block":
        return found
    mine = [one for one in done if one.role in WORK_ROLES and one.lift == slot.lift]
    counted = [DoneThen(one.load, one.reps) for one in mine if one.load is not None and one.reps is not None]
    told = counted and len(counted) == len(mine)
    today = summed(slot, slot.lift, ctx.on, counted, sets_asked=asked) if told else None
    if today is None:
        return found
    then = replace(ctx, on=ctx.on + timedelta(days=1), progress=(*ctx.progress, today))
    try:
        sets = prescribe(slot, then, warm=False, why=False).sets
    except DomainError:
        return found
    coming = next((one.load for one in sets if one.role in WORK_ROLES), None)
    if coming is None:
        return found
    if coming == today.load:
        return replace(found, text=f"{found.text} The same again next time.")
    less = ", less than today" if heavier(today.load, coming) else ""
    said = words.load(coming, ctx.lifts[slot.lift].load_kind)
    return replace(found, text=f"{found.text} Next time {said}{less}.")
