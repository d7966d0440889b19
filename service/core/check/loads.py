"""Loads that nobody would believe, tempos without their own max, and what is missing for one athlete."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from service.core.check.basis import By
from service.core.check.finding import OURS, PRACTICE, Remark
from service.core.check.intensity import NEAR, SlotSeen
from service.core.context import Context
from service.core.errors import DomainError
from service.core.loading.kits import stack_for
from service.core.loading.loadable import options, without_masses
from service.core.loading.loading import smallest_step_kg
from service.core.plan.families import is_pull
from service.core.plan.sizes import percent_of_max, seconds_a_rep
from service.core.prescribe.bounds import HELD_PERCENT, HELD_RPE
from service.core.prescribe.cautions import FAR_HIGH, FAR_LOW
from service.core.prescribe.obey import orders
from service.core.records import Lift
from service.core.slots import EffortTarget, LoadTarget, MaxTest, PercentTarget, SetsAtTarget, Slot
from service.core.units import GRAINS_PER_KG, say
from service.core.words import mass, number

SLOW_SECONDS = 5
"""A repetition that takes longer is slow. Ours; publications compare 4 s with 8 and more. [s]"""
SLOW = "border: ours; 2/0/2/0 is compared with 5/0/3/0 and 6/0/4/0 by Wilk et al. 2018, PMC6006544"
LOADS_TRIED = 40
"""Where no load is known, steps are looked at from so many of the lightest loads up. Ours. [loads]"""
OWN_TEMPO = frozenset({"tempo", "slow", "pause", "paused"})
"""Words in the name of a lift that has its tempo in its own max."""


def remarks(seen: SlotSeen, lift: Lift) -> Iterator[Remark]:
    """What is doubtful in a slot's loads, whoever lifts it."""
    percents = [percent for one in seen.sets if (percent := seen.percent(one)) is not None]
    low, high = (min(percents), max(percents)) if percents else (100.0, 100.0)
    if low < 100 * FAR_LOW:
        text = _slip(seen, lift, low, f"less than {number(100 * FAR_LOW)} %")
        yield Remark("doubt", "load_hard_to_believe", text, OURS, "/target")
    if high > 100 * FAR_HIGH and not is_pull(lift):
        text = _slip(seen, lift, high, f"more than {number(100 * FAR_HIGH)} %")
        yield Remark("doubt", "load_hard_to_believe", text, OURS, "/target")
    yield from _tempo(seen.slot, lift)


def _slip(seen: SlotSeen, lift: Lift, percent: float, beyond: str) -> str:
    """A part of the max that is hard to believe; of a fixed load with the load."""
    target, name = seen.slot.target, lift.name.lower()
    if isinstance(target, LoadTarget):
        return (
            f"The {name} with {say(target.load)} is {number(percent)} % of the athlete's max, {beyond}: is that a slip?"
        )
    return f"The {name} with {number(percent)} % is {beyond} of the max: is that a slip?"


def _tempo(slot: Slot, lift: Lift) -> Iterator[Remark]:
    if slot.tempo is None or slot.accessory or not isinstance(slot.target, EffortTarget | PercentTarget):
        return
    named = set(lift.name.lower().replace("-", " ").split())
    seconds = seconds_a_rep(slot.tempo)
    if seconds <= SLOW_SECONDS or named & OWN_TEMPO:
        return
    text = (
        f"A repetition of the {lift.name.lower()} at {slot.tempo} takes {number(seconds)} seconds: loads go by the max "
        "of the usual lift, which is too much for it. Make it a lift of its own, based on the usual one with a ratio."
    )
    yield Remark("doubt", "slow_tempo", text, SLOW, "/tempo")


def of_athlete(seen: SlotSeen, lift: Lift, ctx: Context, *, lifted: bool) -> Iterator[Remark]:
    """What is missing or does not fit for the athlete whose context it is. `lifted`: a test or a meet."""
    yield from _missing(seen.slot, seen.by)
    yield from _steps(seen, lift, ctx)
    if orders(seen.slot.lift, ctx).held and _waits(seen, lift, lifted=lifted):
        most = (
            f"under {number(HELD_PERCENT)} % of the max" if lift.technique else f"at RPE {number(HELD_RPE)} or easier"
        )
        text = (
            f"The {lift.name.lower()} is hard enough here to wait for a coach's approval: for this athlete work sets "
            f"stay {most} until then. Local rules may ask for more."
        )
        yield Remark("note", "approval_needed", text, PRACTICE)


def _missing(slot: Slot, by: By) -> Iterator[Remark]:
    if by.missing is None:
        return
    if isinstance(slot.target, PercentTarget):
        yield Remark("error", "basis_missing", by.missing, "the athlete's maxes", "/target/basis")
    elif isinstance(slot.target, EffortTarget) and not (slot.accessory or slot.scheme.kind in ("ladder", "test")):
        text = f"{by.missing} Until then the lifter chooses the load by the effort."
        yield Remark("doubt", "max_missing", text, "the athlete's maxes", "/target")


def _waits(seen: SlotSeen, lift: Lift, *, lifted: bool) -> bool:
    """Whether a slot is heavier or harder than what goes without an approval."""
    if seen.slot.accessory:
        return False
    if lifted or isinstance(seen.slot.scheme, MaxTest):
        return True
    if lift.technique:
        return any((seen.percent(one) or 0) >= HELD_PERCENT for one in seen.sets)
    return any((one.rpe or 0) > HELD_RPE + NEAR for one in seen.sets)


def _steps(seen: SlotSeen, lift: Lift, ctx: Context) -> Iterator[Remark]:
    """Steps between loads that are too coarse for the effort, or for what is added from session to session."""
    kg, scheme = seen.sets[0].kg if seen.sets else None, seen.slot.scheme
    added = scheme.add_load.step if isinstance(scheme, SetsAtTarget) and scheme.add_load is not None else None
    if kg is None and added is None:
        return
    try:
        step = _step_kg(None if kg is None else kg - seen.by.body_kg, lift, ctx)
    except DomainError:  # the place has nothing for the lift
        return
    if step is None:
        return
    if kg is not None:
        yield from _for_effort(seen, lift, ctx, step)
    if added is not None and added.unit != "step" and added.grains / GRAINS_PER_KG < step - 1e-6:
        far = f"the next load at their place is {mass(step, ctx.unit)} away"
        if kg is None:
            far = f"no two loads at their place are closer than {mass(step, ctx.unit)}"
        text = f"{say(added)} is to be added to the {lift.name.lower()}, but {far}."
        yield Remark("doubt", "coarse_steps", text, PRACTICE, "/scheme/add_load/step")


def _for_effort(seen: SlotSeen, lift: Lift, ctx: Context, step: float) -> Iterator[Remark]:
    """Whether half a point of effort can be met by the load. [kg]"""
    ability, asked = seen.by.ability, seen.asked_rpe
    if ability is None or asked is None or asked > 9:
        return
    reps = seen.sets[0].reps or 1.0
    try:
        half = ability.within(reps, asked + 0.5) - ability.within(reps, asked)
    except DomainError:
        return
    if step / 2 > half:
        text = (
            f"In the {lift.name.lower()} the next load at their place is {mass(step, ctx.unit)} away, and half a point "
            f"of effort is worth {mass(half, ctx.unit)}: repetitions will change where the load cannot."
        )
        yield Remark("note", "coarse_steps", text, PRACTICE, "/target")


def _step_kg(near_kg: float | None, lift: Lift, ctx: Context) -> float | None:
    """How far the next load is from one, or, where none is known, two loads from one another at least. [kg]

    None where there are no two.
    """
    if near_kg is not None:
        return smallest_step_kg(near_kg, lift, ctx.kit, unit=ctx.unit)
    if lift.load_kind == "none" or (lift.load_kind == "stack" and without_masses(stack_for(ctx.kit, lift.id))):
        return None
    possible = options(lift, ctx.kit, ctx.unit)
    at, found = possible.lightest(), []
    for _ in range(LOADS_TRIED):
        above = possible.around(at + 1)[1]
        if above is None:
            break
        found.append(above - at)
        at = above
    return min(found) / GRAINS_PER_KG if found else None


def unknown_ratio(seen: SlotSeen, lift: Lift, lifts: Mapping[str, Lift]) -> Iterator[Remark]:
    """A percentage of another lift's max that no ratio ties to this one: how heavy it is cannot be told."""
    target = seen.slot.target
    if not isinstance(target, PercentTarget) or target.of is None or lift.load_kind == "none":
        return
    if seen.by.planned_kg is None and percent_of_max(seen.slot, lifts) is None:
        of = lifts.get(target.of)
        name = target.of if of is None else of.name.lower()
        text = f"No ratio ties the {lift.name.lower()} to the {name}: how heavy it is for the lift cannot be told."
        yield Remark("note", "intensity_unknown", text, OURS, "/target/of")
