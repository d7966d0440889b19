"""Loads in another unit than they were kept in. What is stored stays as it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar
from uuid import UUID

from service.core.answers import ResolvedSlot
from service.core.context import Context
from service.core.prescribe.prescribe import resolve_session
from service.core.units import GRAINS_PER_KG, Load, MassUnit, from_kg
from service.store.athletes import BodyWeight
from service.store.maxes import Max
from service.store.overrides import Override
from service.store.prescribed import MODEL, LastTime
from service.store.revisions import Revision
from service.store.set_records import LoggedSet, StoredSet

_SAME_KG = 0.002
"""Two loads are the same bar when they are no further apart: both are shown rounded to a thousandth. [kg]"""

Loaded = TypeVar("Loaded", LoggedSet, Max, Override, BodyWeight)


def load_in(shown: Load, unit: MassUnit) -> Load:
    """A load in a unit, to three decimals; its kilograms stay. A machine's step stays a step.

    >>> from service.core.units import load
    >>> load_in(load(127.5, "kg"), "lb"), load_in(load(225, "lb"), "lb").value
    (Load(value=281.089, unit='lb', kg=127.5), 225)
    """
    if shown.unit in (unit, "step"):
        return shown
    return replace(from_kg(shown.grains / GRAINS_PER_KG, unit), kg=shown.kg)


def record_in(record: Loaded, unit: MassUnit) -> Loaded:
    """A record with its load in a unit. What a phone had on its screen (`shown`) stays as it was."""
    if record.load is None:
        return record
    return replace(record, load=load_in(record.load, unit))


def logged_in(logged: Sequence[StoredSet], unit: MassUnit) -> list[StoredSet]:
    """Logged sets with their loads in a unit, to be shown; the calculation takes them as they were entered."""
    return [replace(one, set=record_in(one.set, unit)) for one in logged]


def last_in(last: LastTime, unit: MassUnit) -> LastTime:
    """A lift's last time with its loads in a unit."""
    done = (one if one.load is None else replace(one, load=load_in(one.load, unit)) for one in last.sets)
    return replace(last, sets=tuple(done))


@dataclass(frozen=True, slots=True)
class Plan:
    """What is prescribed in a slot, and what it is computed from."""

    sets: ResolvedSlot
    context: Context


def plans_in(revisions: Sequence[Revision], unit: MassUnit) -> dict[UUID, Plan]:
    """What a session's revisions prescribe in the end, told in a unit; empty without a revision.

    Each slot is computed anew from the inputs of the revision that prescribed it: a slot that was worked on stands on
    older ones than the rest. The bar is the one that was prescribed: a slot that would come to other loads in this
    unit (such as assistance by hand, which goes in steps of 2.5 kg or of 5 lb), or that was computed in a way that is
    gone, is told as it was kept.
    """
    if not revisions:
        return {}
    found: dict[int, ResolvedSlot] = {}
    before: tuple[ResolvedSlot, ...] = ()
    for one in revisions:
        stays = {at: plan for at, plan in found.items() if one.answer[at : at + 1] == before[at : at + 1]}
        found = dict(enumerate(_told(one, unit, stays)))
        before = one.answer
    latest = revisions[-1].inputs
    told = replace(latest.context, unit=unit)  # where the plan could not be told in the unit, what comes next is not
    contexts = [latest.context if found[at] == kept else told for at, kept in enumerate(before)]
    return {slot.id: Plan(found[at], contexts[at]) for at, slot in enumerate(latest.slots)}


def _told(one: Revision, unit: MassUnit, stays: dict[int, ResolvedSlot]) -> tuple[ResolvedSlot, ...]:
    """A revision in a unit; `stays`: slots that it took over from the one before."""
    if one.inputs.context.unit == unit or one.model != MODEL:
        return tuple(stays.get(at, kept) for at, kept in enumerate(one.answer))
    anew = resolve_session([kept.slot for kept in one.inputs.slots], replace(one.inputs.context, unit=unit), kept=stays)
    return tuple(plan if _same_bars(plan, kept) else kept for plan, kept in zip(anew, one.answer, strict=True))


def _same_bars(one: ResolvedSlot, other: ResolvedSlot) -> bool:
    """Whether two answers ask for the same sets with the same masses."""
    if one.lift != other.lift or len(one.sets) != len(other.sets):
        return False
    for mine, theirs in zip(one.sets, other.sets, strict=True):
        if (mine.role, mine.reps, mine.reps_to) != (theirs.role, theirs.reps, theirs.reps_to):
            return False
        a, b = mine.load, theirs.load
        if a is None or b is None or a.kg is None or b.kg is None:
            if a != b:
                return False
        elif abs(a.kg - b.kg) > _SAME_KG:
            return False
    return True
