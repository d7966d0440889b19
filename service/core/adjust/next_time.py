"""What comes the next time, at the end of a slot whose load grows from session to session."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from service.core import words
from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.answers import LiftDone, Next, PrescribedSet
from service.core.context import Context, KnownRow, Telling
from service.core.errors import DomainError
from service.core.estimate.rolling import reported_rpe, support_class
from service.core.prescribe.add_load import DoneThen, is_lighter, rule_of, summed
from service.core.prescribe.enough import TELLING_RPE, told
from service.core.prescribe.grounds import heavier
from service.core.prescribe.prescribe import prescribe
from service.core.records import WORK_ROLES, DoneSet, PastWork
from service.core.slots import Slot


@dataclass(frozen=True, slots=True)
class Coming:
    """How a lift is planned the next time."""

    slot: Slot
    on: date
    """The day."""


Look = Callable[[], Coming | None]
"""Finds what comes; asked only where that is to be told."""


def with_next_time(
    found: Next,
    slot: Slot,
    ctx: Context,
    done: Sequence[DoneSet],
    asked: int,
    able: Ability | None,
    look: Look | None = None,
) -> Next:
    """A finished lift with the load of its next session, by the coach's rule; anything else as it is.

    `asked`: work sets of today's plan, fewer than written where the time is short. `able`: with today's sets. [sets]
    `look`: how the lift is planned the next time; None: a calculation without a plan, as if the same slot came again.
    Nothing is told where more than the rule decides: a coach's decision, the way back from an absence, a target that
    takes over when the lift is known well enough, pain, a test or a meet, no next session, or one that is far off.
    """
    rule = rule_of(slot)
    if not isinstance(found, LiftDone) or rule is None or rule.until_sure or found.cautions:
        return found
    if ctx.overrides or ctx.eased is not None or ctx.session_kind != "block":
        return found
    mine = [
        one
        for one in done
        if one.role in WORK_ROLES and one.lift == slot.lift and one.method not in ("drop_set", "rest_pause")
    ]
    counted = [
        DoneThen(one.load, one.reps, None if one.felt is not None else reported_rpe(one))
        for one in mine
        if one.load is not None and one.reps is not None
    ]
    whole = counted and len(counted) == len(mine)
    today = summed(slot, slot.lift, ctx.on, counted, sets_asked=asked) if whole else None
    if today is None:
        return found
    coming = Coming(slot, ctx.on + timedelta(days=1)) if look is None else look()
    if coming is None or not _by_rule(coming, ctx):
        return found
    then = replace(_learned(slot, ctx, mine, able), on=coming.on, progress=(*ctx.progress, today))
    try:
        sets = prescribe(coming.slot, then, warm=False, why=False).sets
    except DomainError:
        return found
    first = next((one for one in sets if one.role in WORK_ROLES), None)
    if first is None or first.load is None:
        return found
    return replace(found, text=f"{found.text} {_words(first, coming.slot, today, ctx)}")


def _by_rule(coming: Coming, ctx: Context) -> bool:
    """Whether a rule alone decides what is lifted the next time, and no long time without training lies before it."""
    rule = rule_of(coming.slot)
    return rule is not None and not rule.until_sure and (coming.on - ctx.on).days < ctx.settings.return_rule.from_days


def _words(first: PrescribedSet, slot: Slot, today: PastWork, ctx: Context) -> str:
    """What comes, held against today."""
    now = first.load
    if now is None:
        return ""
    top = first.reps if first.reps_to is None else first.reps_to
    same_reps = (top, first.reps if first.reps_to is not None else None) == (today.goal, today.goal_low)
    lighter = ", in a session that is lighter on purpose" if is_lighter(slot) else ""
    if now == today.load and same_reps and not lighter:
        return "The same again next time."
    count = "" if same_reps else f"{words.reps(first.reps, first.reps_to)} with "
    less = ", less than today" if heavier(today.load, now) else ""
    said = words.load(now, ctx.lifts[slot.lift].load_kind)
    return f"Next time {count}{said}{less}{lighter}."


def _learned(slot: Slot, ctx: Context, mine: Sequence[DoneSet], able: Ability | None) -> Context:
    """With what today's sets have taught of the lift, where the model learns from them."""
    hard = sum((reported_rpe(one) or 0.0) >= TELLING_RPE for one in mine)
    if not hard or not isinstance(able, ByModel):
        return ctx
    support = support_class(slot.support)

    def of_it(one: KnownRow | Telling) -> bool:
        return (one.lift, one.support) == (slot.lift, support)

    rows = [KnownRow(lift=slot.lift, support=support, row=able.row), *(one for one in ctx.rows if not of_it(one))]
    sets, days = told(ctx, slot.lift, support)
    newest = Telling(lift=slot.lift, support=support, sets=sets + hard, days=days + 1, last=ctx.on)
    others = (one for one in ctx.telling if not of_it(one))
    return replace(ctx, rows=tuple(rows), person=able.person, telling=(newest, *others))
