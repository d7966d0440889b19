"""The load list of a lift: the loads that can be loaded, and beside each how many repetitions leave one, two, three."""

from __future__ import annotations

from dataclasses import replace

from service.core.ability.ability import Ability
from service.core.ability.by_curve import ByCurve
from service.core.ability.by_model import ByModel
from service.core.answers import Caution, Step
from service.core.context import Context
from service.core.errors import OutOfRange
from service.core.model.levels import rolling_max
from service.core.model.load_list import WEAK_FROM
from service.core.model.load_list import load_list as modelled
from service.core.prescribe.grounds import Grounds, ground, hang_under
from service.core.prescribe.obey import obeyed, orders
from service.core.slots import FreeTarget, SetsAtTarget, Slot
from service.core.tell.answers import Count, ListedLoad, LoadList
from service.core.tell.estimates import WORN, Ground
from service.core.tell.unknown import unknown
from service.core.units import Load

MOST_POSSIBLE = 15
"""The list goes to so many repetitions, those left included. Ours. [reps]"""
LEFT = (1, 2, 3)
"""Repetitions left, one column each."""
SLACK = 1e-9


def load_list(at: Ground, ctx: Context, *, why: bool = True) -> LoadList:
    """The load list of a lift for an athlete at a place: a typical day, fresh, in the athlete's way of reporting.

    Parameters
    ----------
    at : Ground
        What is known of the lift (`estimates.stand`).
    ctx : Context
        The athlete, the place, the settings: a pinned curve counts.
    why : bool
        False: without reasons.

    Returns
    -------
    LoadList
        Only loads at which one of the counts changes: a lighter load counts as the next heavier one listed. Empty, with
        the reason in `text`, where nothing is known.
    """
    if at.missing is not None:
        return _empty(at, ctx)
    slot = Slot(lift=at.lift.id, scheme=SetsAtTarget(sets=1), target=FreeTarget(), support=WORN[at.support])
    g = ground(slot, ctx)
    if g.able is None or g.ability is None:
        return _empty(at, ctx)
    most = thresholds(g.ability)
    loads = tuple(ListedLoad(load, _counts(g, load, most)) for load in _loads(g, most))
    known = None if at.row is None or at.person is None else rolling_max(at.row, at.person)
    by_model = isinstance(g.ability, ByModel)
    kg = known.kg if by_model and known is not None else g.able.kg
    step = Step(
        f"From a max of {at.shown.say(kg)}: for each load the most repetitions that leave so many.",
        "load_list",
        (at.shown.named("max", kg),),
        None,
    )
    return LoadList(
        lift=at.lift.id,
        name=at.lift.name,
        support=at.support,
        unit=ctx.unit,
        max=at.shown.load(kg),
        range=at.shown.range(known) if by_model and known is not None else None,
        text=_text(at, kg, by_model=by_model, loads=loads),
        loads=loads,
        why=(*g.able.steps, step) if why else (),
        cautions=(*_cautions(loads), *_decided(at, ctx)),
    )


def thresholds(ability: Ability) -> dict[int, list[float]]:
    """For each number left, the heaviest load for 1, 2, ... repetitions. Effective. [kg]"""
    if isinstance(ability, ByModel):
        listed = modelled(ability.row, range(1, MOST_POSSIBLE), LEFT)
        return {
            left: [one.kg for one in listed if one.left == left and one.reps <= MOST_POSSIBLE - left] for left in LEFT
        }
    fresh = replace(ability, fatigue=0.0) if isinstance(ability, ByCurve) else ability
    found: dict[int, list[float]] = {left: [] for left in LEFT}
    for left, kgs in found.items():
        for reps in range(1, MOST_POSSIBLE - left + 1):
            try:
                kgs.append(fresh.load(reps, 10 - left))
            except OutOfRange:  # a published curve that does not reach so far
                break
    return found


def _loads(g: Grounds, most: dict[int, list[float]]) -> list[Load]:
    """The heaviest load at the place for each count, heaviest first."""
    found: dict[float, Load] = {}
    for kg in (kg for kgs in most.values() for kg in kgs):
        hung = hang_under(g, kg, rounding="down").load
        if hung.unit == "step":
            continue
        mass = g.effective(hung)
        if mass <= kg * (1 + SLACK):  # the lightest there is may be too heavy
            found[mass] = hung
    return [found[mass] for mass in sorted(found, reverse=True)]


def _counts(g: Grounds, load: Load, most: dict[int, list[float]]) -> tuple[Count, ...]:
    mass = g.effective(load)
    counts = []
    for left, kgs in most.items():
        reps = sum(1 for kg in kgs if mass <= kg * (1 + SLACK))
        counts.append(Count(left, reps or None, reps + left > WEAK_FROM))
    return tuple(counts)


def _text(at: Ground, kg: float, *, by_model: bool, loads: tuple[ListedLoad, ...]) -> str:
    how = "by what the log says" if by_model else "by the pinned curve"
    if by_model and at.row is not None and at.row.used_ever == 0:
        how = "by what was entered, as nothing is logged yet"
    text = f"{at.lift.name}, {how}, for a typical day and fresh: a max of about {at.shown.say(kg)}."
    if not loads:
        return f"{text} Nothing light enough for it can be loaded here."
    return f"{text} Beside each load stand the most repetitions that leave one, two and three."


def _empty(at: Ground, ctx: Context) -> LoadList:
    return LoadList(
        lift=at.lift.id,
        name=at.lift.name,
        support=at.support,
        unit=ctx.unit,
        max=None,
        range=None,
        text=unknown(at.lift, at.missing or "no_max"),
        loads=(),
        why=(),
        cautions=(),
    )


def _cautions(loads: tuple[ListedLoad, ...]) -> tuple[Caution, ...]:
    if not any(count.weak for one in loads for count in one.counts):
        return ()
    text = f"Where more than {WEAK_FROM} repetitions are possible, little is known: let the set decide when to stop."
    return (Caution("many_repetitions", text),)


def _decided(at: Ground, ctx: Context) -> tuple[Caution, ...]:
    """A coach's decisions about this lift outrank any list."""
    in_force = orders(at.lift.id, ctx)
    decided = (in_force.left_out, *in_force.acting)
    return tuple(Caution("override", obeyed(one, ctx).text) for one in decided if one is not None)
