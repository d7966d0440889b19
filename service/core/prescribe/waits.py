"""A load that grows by rule waits where the grown one would be too hard: by the log, or by the coach's own effort."""

from __future__ import annotations

from service.core import words
from service.core.answers import Named, Step
from service.core.estimate.rolling import support_class
from service.core.prescribe import enough
from service.core.prescribe.grounds import Grounds, hang_under, heavier
from service.core.records import PastWork
from service.core.slots import AddLoad, EffortTarget
from service.core.units import say, tidy

SURE = 0.08
"""A lift is known well enough where the 80 % range of the max is no wider than so much to each side, as a part of the
max. Ours. [1]"""
CLEARLY = 0.5
"""A grown load waits where its first set is expected to pass the effort limit by as much: half a point may be how the
day is. Ours. [RPE]"""
HARDLY = 0.12
"""A max that is known to no more than this to each side says nothing of how hard a load that grows will be: it is worth
four or five repetitions. Ours. [1]"""
HARDER = 1.0
"""Sets that were so much harder than the target's effort, on average, were clearly harder. Ours. [RPE]"""


def spread_of(g: Grounds) -> float | None:
    """Half the width of the max's 80 % range, as a part of it; None where no max is known. [1]"""
    if g.able is None or g.ability is None or not g.ability.known:
        return None
    low, high = g.ability.span(g.able.kg, 1.0)
    return (high - low) / 2 / g.able.kg


def waits(g: Grounds, add: AddLoad, last: PastWork, kg: float) -> tuple[float, Step] | None:
    """The last load, all of whose sets were complete, in place of a grown one, and why; None where the rule rules.

    It waits where three things are so: the lift is known well (a narrow range, by enough sets or a test), that goes
    back to the last session at the earliest (else what was complete then says more), and the least that is asked would
    clearly pass the athlete's effort limit. A lifter who reports nothing grows by the rule. Effective. [kg]
    """
    low, _ = words.target_reps(g.slot.target)
    if g.own_limit is None or low is None or last.load.unit == "step" or not _known_since(g, last):
        return None
    grown = hang_under(g, kg).load
    rpe = g.expected(g.effective(grown), low)
    if rpe is None or not heavier(grown, last.load) or rpe < g.own_limit + CLEARLY:
        return None
    was, more = words.load(last.load, g.lift.load_kind), words.load(grown, g.lift.load_kind)
    text = (
        f"All was complete with {was}, and the rule adds {say(add.step)}. By what was reported, {low} with "
        f"{more} {words.would_be(rpe)}, and work sets stay under RPE {words.number(g.own_limit)}: {was} again, until "
        "it gets easier."
    )
    inputs = (
        Named("last", last.load.value, last.load.unit),
        Named("step", add.step.value, add.step.unit),
        Named("reps", low, "reps"),
        Named("grown", grown.value, grown.unit),
        Named("expected_rpe", tidy(rpe, 1), "rpe"),
        Named("effort_limit", tidy(g.own_limit, 1), "rpe"),
    )
    return g.effective(last.load), Step(text, "load_waits", inputs, Named("load", last.load.value, last.load.unit))


def harder_than_asked(g: Grounds, add: AddLoad, last: PastWork) -> Step | None:
    """Why nothing is added though all was complete: by their reports the sets were clearly harder than the target says.

    None where the target states no effort, nothing was reported, or the sets were as hard as they were to be. A
    repetition less than then is a point easier.
    """
    target = g.slot.target
    if not isinstance(target, EffortTarget) or last.rpe is None:
        return None
    asked, top = target.asked_rpe, target.reps if target.reps_to is None else target.reps_to
    now = last.rpe + min(top - last.goal, 0)
    if now < asked + HARDER:
        return None
    was, fewer = words.load(last.load, g.lift.load_kind), max(last.goal - top, 0)
    less = f", {words.plural(fewer, 'repetition')} fewer would be about RPE {words.number(now)}" if fewer else ""
    text = (
        f"All was complete with {was}, and the rule adds {say(add.step)}. But by their reports the sets were RPE "
        f"{words.number(last.rpe)} on average{less}, and the plan asks for RPE {words.number(asked)}: {was} again, "
        "until it gets easier."
    )
    inputs = (
        Named("last", last.load.value, last.load.unit),
        Named("step", add.step.value, add.step.unit),
        Named("reported_rpe", tidy(last.rpe, 1), "rpe"),
        *((Named("fewer", fewer, "reps"), Named("now_rpe", tidy(now, 1), "rpe")) if fewer else ()),
        Named("rpe", tidy(asked, 1), "rpe"),
    )
    return Step(text, "load_waits", inputs, Named("load", last.load.value, last.load.unit))


def _known_since(g: Grounds, last: PastWork) -> bool:
    """Whether the lift is known well, by the last session of the rule or something newer."""
    spread, support = spread_of(g), support_class(g.slot.support)
    if spread is None or spread > SURE or g.able is None or g.able.on < last.on:
        return False
    if enough.tested_since(g.ctx, g.lift.id, support, last.on):
        return True
    newest = enough.newest(g.ctx, g.lift.id, support)
    tested = enough.tested_lately(g.ctx, g.lift.id, support)
    return (
        newest is not None
        and newest >= last.on
        and (tested or enough.is_enough(*enough.told(g.ctx, g.lift.id, support)))
    )
