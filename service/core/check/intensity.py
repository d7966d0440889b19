"""A slot's work sets before anyone lifts them: how heavy against the max, how hard, with fatigue from set to set."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.check.basis import By, Reader
from service.core.errors import OutOfRange
from service.core.estimate.capacity import fatigue_units
from service.core.model.load import BUILD_UP_UNITS
from service.core.plan.sizes import BUILD_UPS, reps_of, work_sets
from service.core.prescribe.bounds import EPSILON
from service.core.prescribe.follow import MOST_OPEN, roles
from service.core.prescribe.grounds import MARGIN
from service.core.prescribe.lower import ON_TARGET
from service.core.records import Role
from service.core.slots import (
    AscendingSets,
    BackOff,
    Cluster,
    EffortTarget,
    Ladder,
    MaxTest,
    OpenLastSet,
    SetsAtTarget,
    Slot,
    TopSet,
)

NEAR = 0.05
"""Efforts are worked out in rounds and told to a tenth. [RPE]"""


@dataclass(slots=True)
class SetSeen:
    """One work set as it is expected to come."""

    role: Role
    reps: float | None
    """The middle of a range; all parts of a cluster, all lifts of a complex. None where none are named. [reps]"""
    kg: float | None
    """Effective, with the load lowered as it will be; without an athlete against a max of 100 kg. [kg]"""
    rpe: float | None
    """Expected to be reported, with the load lowered as it will be; not limited to the scale. [RPE]"""
    written_rpe: float | None
    """The same, if no load were ever lowered. [RPE]"""
    written_kg: float | None
    """As the template has it: not lowered for the fatigue of the sets before; of sets that are each chosen to land on
    an effort as `kg`. [kg]"""


@dataclass(slots=True)
class SlotSeen:
    """A slot's work sets, and what they were read by."""

    slot: Slot
    by: By
    sets: tuple[SetSeen, ...]
    limit: float | None
    """Work sets stay below it; None where it is lifted. [RPE]"""
    asked_rpe: float | None = None
    """The effort that the target names, where it names one. [RPE]"""
    before: float = 0.0
    """Fatigue of the lift's slots before it in the session. [units]"""

    def percent(self, one: SetSeen) -> float | None:
        """How heavy a set is written against the lift's own max. [%]"""
        return None if one.written_kg is None or self.by.max_kg is None else 100 * one.written_kg / self.by.max_kg

    @property
    def held_under(self) -> float | None:
        """Highest effort that following sets are let to reach. [RPE]"""
        return None if self.limit is None else self.limit - MARGIN

    @property
    def after(self) -> float:
        """Fatigue of the lift when it is done. [units]"""
        rated = [one.rpe for one in self.sets if one.rpe is not None]
        return self.before + (_build_up(self) if rated else 0.0) + sum(fatigue_units(10 - rpe) for rpe in rated)


def see(slot: Slot, reader: Reader, *, lifted: bool = False, before: float = 0.0) -> SlotSeen:
    """Work out a slot's work sets; never refuses.

    Loads follow the rules by which they will be prescribed, before rounding: the target's load, back-off sets less
    their part, and each following set lowered where the effort expected of it, with the fatigue of those before, would
    pass half a point over its target or half a point under the effort limit. That lowers the efforts that are told, not
    how heavy the sets are written. Efforts are those of the athlete's model
    (or pinned curve); without an athlete the model's start for lifts of the kind.

    Parameters
    ----------
    slot : Slot
        A line of a session.
    reader : Reader
        Whose.
    lifted : bool
        True in a test or a meet: the effort limit does not act.
    before : float
        Fatigue of the lift's slots before it in the session, at least 0. [units]

    Returns
    -------
    SlotSeen
        Clusters and complexes have no efforts: they break the repetition curve. Ladders and tests have neither loads
        nor efforts. Of back-off sets until an effort there are as many as are expected to be done.
    """
    by = reader.by(slot)
    asked = slot.target.asked_rpe if isinstance(slot.target, EffortTarget) else None
    free = lifted or isinstance(slot.scheme, MaxTest) or (asked is not None and asked >= 10)
    seen = SlotSeen(slot, by, (), None if free else float(reader.settings.effort_limit), asked, before)
    if isinstance(slot.scheme, Ladder | MaxTest):
        seen.sets = (SetSeen("top_set", reps_of(slot), None, None, None, None),) * work_sets(slot)
        return seen
    first = _first_kg(seen)
    if first is None or by.ability is None or broken(slot):
        seen.sets = _without_efforts(seen, first)
    elif isinstance(slot.scheme, AscendingSets):
        seen.sets = _ascending(seen, slot.scheme, first)
    else:
        seen.sets = _through(seen, first)
    return seen


def broken(slot: Slot) -> bool:
    """Whether a slot is done in a way that no repetition curve holds for: clusters and complexes."""
    return isinstance(slot.scheme, Cluster) or bool(slot.complex)


def _reps(slot: Slot) -> float | None:
    """Repetitions that load and effort are worked out for: of a cluster one part. [reps]"""
    reps = reps_of(slot)
    return reps / slot.scheme.parts if reps is not None and isinstance(slot.scheme, Cluster) else reps


def _ahead(seen: SlotSeen) -> float:
    """Fatigue before the first set: of the lift's slots before, and of build-up sets. [units]"""
    return seen.before + _build_up(seen)


def _build_up(seen: SlotSeen) -> float:
    """Fatigue of the build-up sets before an effort that is worked up to, where the model counts it. [units]"""
    slot = seen.slot
    worked_up_to = isinstance(slot.target, EffortTarget) and isinstance(slot.scheme, TopSet | SetsAtTarget)
    if not worked_up_to or slot.accessory or not isinstance(seen.by.ability, ByModel):
        return 0.0
    return BUILD_UP_UNITS * BUILD_UPS


def _first_kg(seen: SlotSeen) -> float | None:
    """The target's load. [kg]"""
    slot, by = seen.slot, seen.by
    if not isinstance(slot.target, EffortTarget):
        return by.planned_kg
    reps = _reps(slot)
    if by.ability is None or reps is None or seen.asked_rpe is None:
        return None
    rpe = seen.asked_rpe
    if seen.limit is not None and seen.held_under is not None and rpe >= seen.limit:
        rpe = seen.held_under
    return _load(by.ability, reps, rpe, _ahead(seen))


def _load(ability: Ability, reps: float, rpe: float, fatigue: float) -> float:
    """The load for an effort after some fatigue; past a curve's ends as at the end. [reps], [RPE], [units] -> [kg]"""
    try:
        return ability.load(reps, rpe, fatigue)
    except OutOfRange:
        return ability.within(reps, rpe)


def _without_efforts(seen: SlotSeen, first: float | None) -> tuple[SetSeen, ...]:
    """Sets of which no effort can be expected but the one asked: loads where they follow from the target."""
    slot, reps, scheme = seen.slot, reps_of(seen.slot), seen.slot.scheme
    rpe = None if broken(slot) else seen.asked_rpe
    found = []
    for at, role in enumerate(roles(scheme)):
        kg = first
        if kg is not None and role == "back_off" and isinstance(scheme, TopSet) and scheme.back_off is not None:
            kg *= 1 - float(scheme.back_off.less_percent) / 100
        if kg is not None and isinstance(scheme, AscendingSets):
            kg *= float(scheme.percents[at]) / 100
        found.append(SetSeen(role, reps, kg, rpe if role in ("top_set", "target_set") else None, None, kg))
    return tuple(found)


def _ascending(seen: SlotSeen, scheme: AscendingSets, whole: float) -> tuple[SetSeen, ...]:
    reps = _reps(seen.slot) or 1.0
    found, fatigue = [], seen.before
    for percent in scheme.percents:
        kg = whole * float(percent) / 100
        rpe = _expected(seen.by, kg, reps, fatigue)
        fatigue += fatigue_units(10 - rpe)
        found.append(SetSeen("target_set", reps, kg, rpe, rpe, kg))
    return tuple(found)


def _through(seen: SlotSeen, first: float) -> tuple[SetSeen, ...]:
    """The first set and those that follow it."""
    written = _pass(seen, first, lowering=False)
    if all((one.rpe or 0) <= (_most(seen, one.role) or 11) + EPSILON for one in written[1:]):
        return tuple(written)
    found = _pass(seen, first, lowering=True)
    for one, other in zip(found, written, strict=False):
        one.written_rpe = other.rpe
    return tuple(found)


def _pass(seen: SlotSeen, first: float, *, lowering: bool) -> list[SetSeen]:
    scheme, reps = seen.slot.scheme, _reps(seen.slot) or 1.0
    fatigue = _ahead(seen)
    found: list[SetSeen] = []
    kg = written = first
    back_off = scheme.back_off if isinstance(scheme, TopSet) else None
    for role in roles(scheme):
        if role == "back_off" and back_off is not None and (not found or found[-1].role != "back_off"):
            kg = written = first * (1 - float(back_off.less_percent) / 100)
        if role == "open_set" and isinstance(scheme, OpenLastSet):
            found.append(replace(_open(seen, scheme, kg, fatigue), written_kg=written))
            continue
        rpe = _expected(seen.by, kg, reps, fatigue)
        most = _most(seen, role) if found and lowering else None
        if most is not None and rpe > most + EPSILON and seen.by.ability is not None:
            aim = most if role != "target_set" or seen.asked_rpe is None else min(seen.asked_rpe, most)
            kg = min(kg, _load(seen.by.ability, reps, aim, fatigue))
            rpe = _expected(seen.by, kg, reps, fatigue)
        chosen = role == "target_set" and seen.asked_rpe is not None
        found.append(SetSeen(role, reps, kg, rpe, rpe, kg if chosen else written))
        fatigue += fatigue_units(10 - rpe)
        if role == "back_off" and back_off is not None and _stops(back_off, found, rpe):
            break
    return found


def _stops(back_off: BackOff, found: list[SetSeen], rpe: float) -> bool:
    """Whether back-off sets until an effort end with the last one found. [RPE]"""
    if back_off.until_rpe is None or rpe < float(back_off.until_rpe) - NEAR:
        return False
    return sum(1 for one in found if one.role == "back_off") >= back_off.fewest_sets


def _most(seen: SlotSeen, role: Role) -> float | None:
    """The most that a following set may be. [RPE]"""
    ends = [] if seen.held_under is None else [seen.held_under]
    if role == "target_set" and seen.asked_rpe is not None:
        ends.append(seen.asked_rpe + ON_TARGET)
    return min(ends, default=None)


def _open(seen: SlotSeen, scheme: OpenLastSet, kg: float, fatigue: float) -> SetSeen:
    """An open set: as many repetitions as stay within its stop, or the limit."""
    stop = float(scheme.stop_rpe) if scheme.stop_rpe is not None else 10.0
    if seen.held_under is not None:
        stop = min(stop, seen.held_under)
    count = 1
    rpe = _expected(seen.by, kg, count, fatigue)
    while count < (scheme.most_reps or MOST_OPEN):
        more = _expected(seen.by, kg, count + 1, fatigue)
        if more > stop + EPSILON:
            break
        count, rpe = count + 1, more
    return SetSeen("open_set", float(count), kg, rpe, rpe, kg)


def _expected(by: By, kg: float, reps: float, fatigue: float) -> float:
    return 0.0 if by.ability is None else by.ability.expected(kg, reps, fatigue)
