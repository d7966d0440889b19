"""The load of a slot whose load grows from session to session, and why; when the target takes over from the rule."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.core import words
from service.core.answers import Named, Reason, Step
from service.core.errors import DomainError
from service.core.estimate.rolling import support_class
from service.core.prescribe import enough
from service.core.prescribe.add_load import DAYS_BACK, TWO, Move, alike, asks_more, move
from service.core.prescribe.aim import Aim, aim, body_steps
from service.core.prescribe.ease import eased_load
from service.core.prescribe.from_ladder import from_ladder, ladder_before, written_instead
from service.core.prescribe.grounds import Grounds, heavier_step, lighter_step
from service.core.prescribe.grown_steps import (
    HELD_MORE,
    as_taken,
    for_more,
    load_named,
    moved_on,
    of_last,
    since,
    stays,
)
from service.core.prescribe.too_heavy import refuse
from service.core.prescribe.waits import HARDLY, SURE, harder_than_asked, spread_of
from service.core.records import PastWork
from service.core.slots import AddLoad, LoadTarget, SetsAtTarget, Slot
from service.core.units import say, tidy


@dataclass(frozen=True, slots=True)
class Grown:
    """A slot as its load is worked out today."""

    slot: Slot
    """With the load as its target while the rule decides; without the rule where the target has taken over."""
    aim: Aim | None = None
    """None: as the slot's target says, or the lifter chooses."""
    steps: tuple[Reason | Step, ...] = ()
    """What goes before the reasons of the target."""
    note: str = ""
    """A further sentence of the last set."""
    vague: bool = False
    """How hard its sets will be is hardly known: nothing is said of it."""


def grown(g: Grounds, add: AddLoad) -> Grown:
    """What a slot's load is today, by the coach's rule and the sessions before.

    `g` stands on the slot as it was planned. After a newcomer's ladder it starts from the working load that this found,
    unless the plan states a load of its own. Where the rule has no load (the lifter chooses, nothing is known yet) the
    slot stays as it is. Raises as `aim` where the start cannot be computed, and `too_heavy` where the lightest load of
    the place did not go up once the last time.
    """
    past = alike(g.ctx.progress, g.slot)
    found = move(past, add)
    fresh = ladder_before(g.ctx.progress, g.slot)
    last = found.last if fresh is None else fresh
    if last is not None:
        refuse(g, last)
    if fresh is not None and not any(fresh.reps):
        fresh = None  # something lighter is here than what did not go up
    told: tuple[Step, ...] = ()
    spread = spread_of(g)
    if add.until_sure:
        sure, step = _how_sure(g, spread)
        told = (step,)
        if sure:
            return Grown(without_rule(g.slot), steps=told)
    target = None if fresh is None or isinstance(g.slot.target, LoadTarget) else from_ladder(g, fresh)
    starts = target is not None or found.last is None
    if target is None:
        target = _start(g, fresh) if found.last is None else _onward(g, add, past, found, found.last)
    if starts and target is not None:
        _lighter_start(g, add, target)
    note = _what_adds(g, add)
    if target is None:
        return Grown(g.slot, steps=told, note=note)
    target.steps = (*told, *target.steps)
    return Grown(_with_load(g, target), target, note=note, vague=spread is not None and spread > HARDLY)


def _lighter_start(g: Grounds, add: AddLoad, target: Aim) -> None:
    """The start of a load, in a session that is lighter on purpose: less by what the week takes off."""
    percent = add.lighter_percent
    if not percent or target.kg is None:
        return
    kg = target.kg * (1 - float(percent) / 100)
    text = f"This session is lighter on purpose: {words.number(float(percent), 2)} % less is {as_taken(g, kg)}."
    inputs = (g.named("start", target.kg), Named("less_percent", percent, "percent"))
    target.steps = (*target.steps, Step(text, "lighter_session", inputs, g.named("exact", kg)))
    target.kg = kg


def _what_adds(g: Grounds, add: AddLoad) -> str:
    """What the last set is open for, by the rule of two for two; nothing else asks for more than is planned."""
    reps, reps_to = words.target_reps(g.slot.target)
    if add.when != "two_more_twice" or reps is None or add.lighter_percent is not None:
        return ""
    enough = (reps_to or reps) + TWO
    return f" In this one do more where it goes well: {enough} or more in {TWO} sessions in a row add {say(add.step)}."


def _how_sure(g: Grounds, spread: float | None) -> tuple[bool, Step]:
    """Whether the lift is known well enough for its target, and why: narrowly, and by enough sets or a test."""
    limit = Named("sure_within", tidy(100 * SURE), "percent")
    onward = "so the load grows by what was done, from session to session."
    if spread is None:
        return False, Step(f"No max is known yet, {onward}", "until_sure", (limit,), None)
    off = 100 * spread
    known = f"The max is known to about {words.number(off)} % to each side"
    result = Named("spread", tidy(off, 2), "percent")
    if spread > SURE:
        text = f"{known}: more than {words.number(100 * SURE)} %, {onward}"
        return False, Step(text, "until_sure", (limit,), result)
    support = support_class(g.slot.support)
    sets, days = enough.told(g.ctx, g.lift.id, support)
    tested = enough.tested_lately(g.ctx, g.lift.id, support)
    if tested or enough.is_enough(sets, days):
        text = f"{known}: within {words.number(100 * SURE)} %, so the plan's target decides instead of added load."
        return True, Step(text, "until_sure", (limit,), result)
    hard = f"RPE {words.number(enough.TELLING_RPE)} or harder"
    had = f"{words.plural(sets, 'set')} at {hard} on {words.plural(days, 'day')}" if sets else f"no set at {hard}"
    text = (
        f"By the numbers the max is known to about {words.number(off)} % to each side, but by {had}. Before "
        f"{enough.ENOUGH_SETS} on {enough.ENOUGH_DAYS} days, or a test, that is not believed, {onward}"
    )
    inputs = (
        limit, Named("sets", sets, "sets"), Named("days", days, "days"), Named("rpe", enough.TELLING_RPE, "RPE"),
        Named("enough_sets", enough.ENOUGH_SETS, "sets"), Named("enough_days", enough.ENOUGH_DAYS, "days"),
    )  # fmt: skip
    return False, Step(text, "until_sure", inputs, result)


def without_rule(slot: Slot) -> Slot:
    """A slot that goes by its target alone."""
    scheme = slot.scheme
    return replace(slot, scheme=replace(scheme, add_load=None)) if isinstance(scheme, SetsAtTarget) else slot


def _with_load(g: Grounds, target: Aim) -> Slot:
    """The slot with the load that was found, in place of its target."""
    reps, reps_to = words.target_reps(g.slot.target)
    load = target.step if target.kg is None else g.wire(target.kg)
    if reps is None or load is None:
        return g.slot
    return replace(g.slot, target=LoadTarget(reps=reps, reps_to=reps_to, load=load))


def _start(g: Grounds, fresh: PastWork | None) -> Aim | None:
    """The target's own load, under the limits of what is known; None where the lifter chooses.

    `fresh`: a ladder whose load gives way to the plan's own.
    """
    found = aim(g)
    if found.kg is None and found.step is None:
        return None
    text = f"The load starts here: no session of this kind is in the log of the last {DAYS_BACK} days."
    if any(one.lift == g.slot.lift and one.left is None and not one.lighter for one in g.ctx.progress):
        text = f"The load starts here: in the last {DAYS_BACK} days the plan stated no load, or another one."
    steps: tuple[Step | Reason, ...] = (Step(text, "start_load", (Named("days", DAYS_BACK, "days"),), None),)
    kg = found.kg
    reps = words.middle_reps(g.slot.target)
    if kg is not None and found.rpe is not None and reps is not None and g.able is not None and g.ability is not None:
        safe = g.ability.bounded(reps, found.rpe, g.limit).kg
        if safe < kg:
            text = (
                f"How heavy {words.mass(kg, g.unit)} will be is not known well enough to begin with it: "
                f"{words.mass(safe, g.unit)}."
            )
            steps = (Step(text, "start_load", (g.named("exact", kg),), g.named("exact", safe)), *steps)
            kg = safe
    # no effort of its own: that of the target was for the start, and sets are not moved by it
    return Aim(
        kg=kg, step=found.step, steps=(*found.steps, *steps, *written_instead(g, fresh)),
        provisional=found.provisional, range=found.range,
        possible=found.possible, same=True,
    )  # fmt: skip


def _onward(g: Grounds, add: AddLoad, past: tuple[PastWork, ...], found: Move, last: PastWork) -> Aim | None:
    """From the last session's load to today's."""
    before = _before_absence(g, past)
    if before is last:
        return _on_the_way_back(g, last)
    if g.massless or last.load.unit == "step":
        return _by_steps(g, add, found, last)
    kg, step = moved_on(g, add, found, last)
    steps: tuple[Reason | Step, ...] = (step,)
    if before is not None and before.load.unit != "step":
        eased, lighter = eased_load(g, g.effective(before.load))
        kg, steps = (eased, (*steps, *lighter)) if eased < kg else (kg, steps)
    return Aim(kg=kg, steps=(*steps, *body_steps(g, kg)), same=True)


def _by_steps(g: Grounds, add: AddLoad, found: Move, last: PastWork) -> Aim | None:
    """A machine's steps without a mass: the next one, the same, or the one before."""
    shown, lighter = last.load, add.lighter_percent
    hard = harder_than_asked(g, add, last) if found.way == "add" and lighter is None else None
    if hard is not None:
        return Aim(step=shown, steps=(hard,), same=True)
    if lighter is None and found.way != "take_off" and asks_more(g.slot, last):
        _, step = for_more(g, last, min(asks_more(g.slot, last), HELD_MORE))
        return Aim(step=shown, steps=(step,), same=True)
    way = {"add": heavier_step, "take_off": lighter_step}.get(found.way)
    if lighter is not None:
        way = lighter_step if lighter else None
    try:
        other = way(g, shown) if way is not None and shown.unit == "step" else None
    except DomainError:  # the place has no such machine
        other = None
    now = shown if other is None else other.load
    inputs: tuple[Named, ...] = (Named("last", shown.value, shown.unit),)
    if lighter is not None:
        text = f"{since(g, last)} it was {say(shown)}. This session is lighter on purpose: {say(now)}."
        return Aim(step=now, steps=(Step(text, "lighter_session", of_last(g, last), load_named(now)),), same=True)
    if other is None:
        return Aim(step=now, steps=(stays(g, add, last, load_named(now)),), same=True)
    done = "complete" if found.way == "add" else "not complete"
    were = "was" if found.count == 1 else "were"
    sessions = words.plural(found.count, "session")
    text = f"{sessions} with {say(shown)} {were} {done}: the machine's next step is {say(now)}."
    inputs = (Named("sessions", found.count, "sessions"), *inputs)
    formula = "add_load" if found.way == "add" else "take_load_off"
    return Aim(step=now, steps=(Step(text, formula, inputs, load_named(now)),), same=True)


def _before_absence(g: Grounds, past: tuple[PastWork, ...]) -> PastWork | None:
    """The last session before the absence that the day is eased for; None on other days."""
    ease = g.eased
    if ease is None or ease.load >= 1 or ease.absent_days < 1:
        return None
    ends = [*(one.on for one in past[1:]), g.ctx.on]
    return next(
        (
            one
            for one, then in zip(reversed(past), reversed(ends), strict=True)
            if (then - one.on).days >= ease.absent_days
        ),
        None,
    )


def _on_the_way_back(g: Grounds, last: PastWork) -> Aim:
    """The first session after an absence: the load from before it, less what that takes off; nothing is added."""
    days = (g.ctx.on - last.on).days
    was = words.load(last.load, g.lift.load_kind)
    text = f"{words.plural(days, 'day')} ago it was {was}; after an absence nothing is added."
    inputs = (Named("days_ago", days, "days"),)
    step = Step(text, "repeat_load", inputs, load_named(last.load))
    if g.massless or last.load.unit == "step":
        return Aim(step=last.load, steps=(step,), same=True)
    kg, lighter = eased_load(g, g.effective(last.load))
    return Aim(kg=kg, steps=(step, *lighter, *body_steps(g, kg)), same=True)
