"""What a load that grows comes to from one session to the next, and the sentences that say why."""

from __future__ import annotations

from dataclasses import replace

from service.core import words
from service.core.answers import Named, Step
from service.core.prescribe.add_load import TWO, Move, asks_more
from service.core.prescribe.grounds import Grounds, hang_under, heavier, heavier_step
from service.core.prescribe.jumps import read_from
from service.core.prescribe.waits import harder_than_asked, waits
from service.core.records import PastWork
from service.core.slots import AddLoad, LoadTarget
from service.core.units import GRAINS_PER_KG, Load, Number, say

HELD_MORE = 2
"""With so many repetitions more the load stays; more of them take less. Ours. [reps]"""


def moved_on(g: Grounds, add: AddLoad, found: Move, last: PastWork) -> tuple[float, Step]:
    """What the rule makes of the last load, and why. Effective. [kg]"""
    was = g.effective(last.load)
    if add.lighter_percent is not None:
        return _lighter(g, add, last)
    if found.way == "take_off":
        return _taken_off(g, add, found, last)
    more = asks_more(g.slot, last)
    if more:
        return for_more(g, last, more)
    if found.way == "add":
        hard = harder_than_asked(g, add, last)
        if hard is not None:
            return was, hard
        kg = _exact(g, add, found, last)
        held = waits(g, add, last, kg)
        if held is not None:
            return held
        if kg <= was + add.step.grains / GRAINS_PER_KG:
            found = replace(found, steps=min(found.steps, 1))  # who waited, or stayed by choice, is owed one
        return kg, _added(g, add, found, last, g.named("exact", kg), as_taken(g, kg))
    return was, stays(g, add, last, g.named("exact", was))


def as_taken(g: Grounds, kg: float) -> str:
    """An exact load in words, as the lifter takes it. Effective. [kg]"""
    if g.lift.load_kind == "bodyweight":
        return words.load(g.wire(kg, 2), g.lift.load_kind)
    return words.mass(kg, g.unit)


def _exact(g: Grounds, add: AddLoad, found: Move, last: PastWork) -> float:
    """With what is added, before rounding. Effective. [kg]"""
    was, step = g.effective(last.load), add.step.grains / GRAINS_PER_KG
    kg = was + step
    if found.steps == 1 or heavier(hang_under(g, kg).load, last.load):
        return kg
    # steps that plates were too coarse for are still owed, up to the next load that there is
    over = heavier_step(g, last.load)
    return kg if over is None else max(kg, min(was + found.steps * step, g.effective(over.load)))


def _less(g: Grounds, last: PastWork, percent: Number) -> tuple[float, str, tuple[Named, ...]]:
    """So much less than the last load, as it is to hang; the rest of a sentence about it, with its numbers. [%], [kg]

    It is lighter than the last load even where rounding would lead back to that, wherever anything lighter can hang.
    """
    kg = g.effective(last.load) * (1 - float(percent) / 100)
    exact, text = g.named("exact", kg), f"{words.number(float(percent), 2)} % less is {as_taken(g, kg)}"
    if not percent or heavier(last.load, hang_under(g, kg).load):
        return kg, text, (exact,)
    hung = hang_under(g, kg, below=last.load).load
    if heavier(last.load, hung):
        lighter = words.load(hung, g.lift.load_kind)
        text = f"{text}, and the next lighter that can be loaded is {lighter}"
        return g.effective(hung), text, (exact, Named("lighter", hung.value, hung.unit))
    return kg, f"{text}, and nothing lighter than {words.load(hung, g.lift.load_kind)} can be loaded here", (exact,)


def _lighter(g: Grounds, add: AddLoad, last: PastWork) -> tuple[float, Step]:
    """A session that is lighter on purpose: the last load less what the week takes off. Effective. [kg]"""
    percent, was = add.lighter_percent or 0, words.load(last.load, g.lift.load_kind)
    inputs = of_last(g, last)
    if not percent:
        text = f"{since(g, last)} it was {was}. This session is lighter on purpose: nothing is added, and {was} it is."
        kg = g.effective(last.load)
        return kg, Step(text, "lighter_session", inputs, g.named("exact", kg))
    kg, less, named = _less(g, last, percent)
    text = f"{since(g, last)} it was {was}. This session is lighter on purpose, nothing is added: {less}."
    more = (Named("less_percent", percent, "percent"), *named)
    return kg, Step(text, "lighter_session", (*inputs, *more), g.named("exact", kg))


def for_more(g: Grounds, last: PastWork, more: int) -> tuple[float, Step]:
    """More repetitions than last time: no more load; for many more as much less as leaves as many. Effective. [kg]

    The load that the plan states may be asked for where the last one was not less.
    """
    was, kg = words.load(last.load, g.lift.load_kind), g.effective(last.load)
    reps = last.goal + more
    text = f"{since(g, last)} it was {was} for {last.goal}, and {reps} are asked now: nothing is added"
    if more > HELD_MORE:
        kg *= read_from(last.goal, reps)
        if isinstance(g.slot.target, LoadTarget):
            kg = min(g.effective(last.load), max(kg, g.effective(g.slot.target.load)))
        text += f", and so many take less, {as_taken(g, kg)}"
    inputs = (*of_last(g, last), Named("goal", last.goal, "reps"), Named("reps", reps, "reps"))
    return kg, Step(f"{text}.", "repeat_load", inputs, g.named("exact", kg))


def since(g: Grounds, last: PastWork) -> str:
    """When the last session was, in words."""
    return words.plural((g.ctx.on - last.on).days, "day") + " ago"


def of_last(g: Grounds, last: PastWork) -> tuple[Named, ...]:
    """When the last session was and its load, as inputs of a reason."""
    days = (g.ctx.on - last.on).days
    return Named("days_ago", days, "days"), Named("last", last.load.value, last.load.unit)


def _taken_off(g: Grounds, add: AddLoad, found: Move, last: PastWork) -> tuple[float, Step]:
    """The last load less what failures take off. Effective. [kg]"""
    percent = add.less_percent or 0
    kg, less, named = _less(g, last, percent)
    of_them = words.plural(found.count, "session") + (" in a row" if found.count > 1 else "")
    were = "were not complete, the last" if found.count > 1 else "was not complete,"
    text = f"{of_them} with {words.load(last.load, g.lift.load_kind)} {were} {since(g, last)}: {less}."
    more = (Named("sessions", found.count, "sessions"), Named("less_percent", percent, "percent"), *named)
    return kg, Step(text, "take_load_off", (*of_last(g, last), *more), g.named("exact", kg))


def _added(g: Grounds, add: AddLoad, found: Move, last: PastWork, result: Named, shown: str) -> Step:
    was, more = words.load(last.load, g.lift.load_kind), f"{say(add.step)} more is {shown}"
    sessions, goal = Named("sessions", found.count, "sessions"), Named("goal", last.goal, "reps")
    in_a_row = f"{words.plural(found.count, 'session')} in a row"
    step = Named("step", add.step.value, add.step.unit)
    if found.steps > 1:
        text = (
            f"{in_a_row} with {was} were complete, the last {since(g, last)}, and {say(add.step)} could not be added "
            f"each time: together it is {shown}."
        )
        return Step(text, "add_load", (*of_last(g, last), sessions, step), result)
    if add.when == "two_more_twice":
        text = (
            f"In {in_a_row}, the last {since(g, last)}, the last set with {was} had {TWO} repetitions or more over "
            f"{last.goal}: {more}."
        )
        over = Named("over", TWO, "reps")
        return Step(text, "add_load", (*of_last(g, last), sessions, over, goal, step), result)
    text = f"{since(g, last)} all {words.plural(last.sets, 'set')} with {was} had {last.goal} repetitions: {more}."
    return Step(text, "add_load", (*of_last(g, last), Named("sets", last.sets, "sets"), goal, step), result)


def stays(g: Grounds, add: AddLoad, last: PastWork, result: Named) -> Step:
    """Why the load is the last one again."""
    was, goal = words.load(last.load, g.lift.load_kind), Named("goal", last.goal, "reps")
    if add.when == "two_more_twice":
        text = (
            f"{since(g, last)} it was {was}: that stays until the last set has {TWO} repetitions or more over "
            f"{last.goal} in {TWO} sessions in a row."
        )
        return Step(text, "repeat_load", (*of_last(g, last), Named("over", TWO, "reps"), goal), result)
    text = (
        f"{since(g, last)} not all {words.plural(last.sets, 'set')} with {was} had {last.goal} repetitions: the same "
        "load again."
    )
    return Step(text, "repeat_load", (*of_last(g, last), Named("sets", last.sets, "sets"), goal), result)


def load_named(shown: Load) -> Named:
    """A load as an input or a result."""
    return Named("load", shown.value, shown.unit)
