"""Operations on what is lifted: a lift exchanged everywhere, accessories added or trimmed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.core.changes.operations import (
    MOST_SLOTS,
    AddAccessory,
    Changed,
    ExchangeLift,
    Refused,
    TrimAccessories,
    chosen_weeks,
    in_place,
    refused,
)
from service.core.changes.pick import with_sessions, with_slots
from service.core.changes.turns import without
from service.core.plan.priorities import least_first
from service.core.plan.sizes import work_sets
from service.core.records import Lift
from service.core.slots import (
    AscendingSets,
    Cluster,
    DistanceTarget,
    FreeTarget,
    LoadTarget,
    OpenLastSet,
    PercentTarget,
    SessionPlan,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.templates import slot_faults
from service.core.words import plural

Weeks = tuple[WeekPlan, ...]


def exchange(weeks: Weeks, operation: ExchangeLift, lifts: Mapping[str, Lift]) -> Changed:
    """Another lift in the place of one, wherever it is named.

    Efforts, percentages and set counts stay. A fixed load is that of the old lift: the lifter chooses one. Refused
    where the other lift cannot be asked for that way, such as an effort in a technique lift.
    """
    if operation.to_lift not in lifts:
        raise refused("/to_lift", "unknown", "names no lift of this gym")
    if operation.to_lift == operation.lift:
        raise refused("/to_lift", "does_not_fit", "must be another lift than the one that it takes the place of")
    result = list(weeks)
    found = False
    for place in chosen_weeks(operation.weeks, len(weeks), "/weeks"):
        sessions = []
        for session in weeks[place].sessions:
            slots = tuple(_exchanged(slot, operation) for slot in session.slots)
            made = with_slots(session, slots)
            if made is not session:
                found = True
                _refuse_misfit(session, made, f"Week {place + 1}, {session.name}", lifts)
            sessions.append(made)
        result[place] = with_sessions(weeks[place], tuple(sessions))
    if not found:
        raise refused("/lift", "nothing_matched", "must be a lift that stands in these weeks")
    names = operation.to_lift.replace("-", " "), operation.lift.replace("-", " ")
    text = f"{names[0].capitalize()} in place of {names[1]}"
    fixed = sum(map(_fixed, _slots(weeks))) - sum(map(_fixed, _slots(tuple(result))))
    if fixed:
        text += f"; {plural(fixed, 'fixed load')} of it {'is' if fixed == 1 else 'are'} left to the lifter"
    return in_place(tuple(result), text)


def _slots(weeks: Weeks) -> Iterator[Slot]:
    return (slot for week in weeks for session in week.sessions for slot in session.slots)


def _fixed(slot: Slot) -> bool:
    return getattr(slot.target, "load", None) is not None


def _exchanged(slot: Slot, operation: ExchangeLift) -> Slot:
    lift, other = operation.lift, operation.to_lift
    target = slot.target
    done = slot.lift == lift or any(part.lift == lift for part in slot.complex)
    if isinstance(target, PercentTarget) and target.of == lift:
        target = replace(target, of=other)
    if done:
        target = _without_load(target)
    if not done and target is slot.target:
        return slot
    scheme = slot.scheme
    if isinstance(scheme, AscendingSets) and isinstance(target, FreeTarget | TimeTarget | DistanceTarget):
        scheme = SetsAtTarget(sets=len(scheme.percents))  # its percentages were of a load that is no more
    timed = isinstance(target, TimeTarget | DistanceTarget) and target.load is None
    if timed and isinstance(scheme, TopSet) and scheme.back_off is not None:
        scheme = SetsAtTarget(sets=1 + scheme.back_off.most_sets)  # nor is there anything to take off
    parts = tuple(replace(part, lift=other) if part.lift == lift else part for part in slot.complex)
    return replace(slot, lift=other if slot.lift == lift else slot.lift, scheme=scheme, target=target, complex=parts)


def _without_load(target: Target) -> Target:
    if isinstance(target, LoadTarget):
        return FreeTarget(reps=target.reps, reps_to=target.reps_to)
    if isinstance(target, TimeTarget | DistanceTarget) and target.load is not None:
        return replace(target, load=None)
    return target


def _refuse_misfit(before: SessionPlan, after: SessionPlan, where: str, lifts: Mapping[str, Lift]) -> None:
    for old, new in zip(before.slots, after.slots, strict=True):
        if old is not new:
            for fault in slot_faults((new,), lifts):
                raise refused("/to_lift", fault.code, f"does not fit in {where}: the target {fault.text}")


def add_accessory(weeks: Weeks, operation: AddAccessory, lifts: Mapping[str, Lift]) -> Changed:
    """A slot of supporting work at the end of sessions."""
    slot = replace(operation.slot, accessory=True)
    wrong = slot_faults((slot,), lifts, "/slot")
    if wrong:
        raise Refused(*(replace(fault, pointer=fault.pointer.replace("/slot/0", "/slot", 1)) for fault in wrong))
    if slot.with_next:
        raise refused("/slot/with_next", "does_not_fit", "must not stand here: it is the last slot, and none follows")
    result = list(weeks)
    added = 0
    for place in chosen_weeks(operation.weeks, len(weeks), "/weeks"):
        sessions = []
        for session in weeks[place].sessions:
            if session.name != operation.session:
                sessions.append(session)
                continue
            if len(session.slots) >= MOST_SLOTS:
                rule = f"has {MOST_SLOTS} slots in week {place + 1} already: there is room for no more"
                raise refused("/session", "too_many_slots", rule)
            sessions.append(replace(session, slots=(*session.slots, slot)))
            added += 1
        result[place] = with_sessions(weeks[place], tuple(sessions))
    if not added:
        raise refused("/session", "nothing_matched", "must be the name of a session in these weeks")
    lift = slot.lift.replace("-", " ")
    return in_place(
        tuple(result), f"{lift.capitalize()} added to {plural(added, 'session')} called {operation.session}"
    )


def trim_accessories(weeks: Weeks, operation: TrimAccessories) -> Changed:
    """Fewer accessories, or fewer sets of each."""
    if operation.most_sets is None and operation.most_slots is None:
        raise refused("/most_sets", "required", "is required, or most_slots in its place")
    result = list(weeks)
    found = False
    for place in chosen_weeks(operation.weeks, len(weeks), "/weeks"):
        sessions = []
        for session in weeks[place].sessions:
            found = found or any(slot.accessory for slot in session.slots)
            slots = _fewer(session, operation.most_slots, place + 1)
            if operation.most_sets is not None:
                slots = tuple(_shorter(slot, operation.most_sets) for slot in slots)
            sessions.append(with_slots(session, slots))
        result[place] = with_sessions(weeks[place], tuple(sessions))
    if not found:
        raise refused("/weeks" if operation.weeks else "/kind", "nothing_matched", "finds no accessory")
    told = []
    if operation.most_slots is not None:
        told.append(f"at most {plural(operation.most_slots, 'accessory', 'accessories')} a session")
    if operation.most_sets is not None:
        told.append(f"at most {plural(operation.most_sets, 'set')} of each accessory")
    return in_place(tuple(result), " and ".join(told).capitalize())


def _fewer(session: SessionPlan, most: int | None, week: int) -> tuple[Slot, ...]:
    """The session's slots with at most so many accessories; the ones that matter least are gone."""
    accessories = [place for place, slot in enumerate(session.slots) if slot.accessory]
    if most is None or len(accessories) <= most:
        return session.slots
    if len(accessories) == len(session.slots) and most == 0:
        rule = f"would leave week {week}, {session.name}, without a slot: it has accessories only"
        raise refused("/most_slots", "nothing_left", rule)

    gone = frozenset(least_first(session.slots, accessories)[: len(accessories) - most])
    return without(session.slots, gone)


def _shorter(slot: Slot, most: int) -> Slot:
    """An accessory with at most so many sets; tests and ladders stay."""
    if not slot.accessory or work_sets(slot) <= most:
        return slot
    scheme = slot.scheme
    if isinstance(scheme, SetsAtTarget | Cluster):
        return replace(slot, scheme=replace(scheme, sets=most))
    if isinstance(scheme, OpenLastSet):
        return replace(slot, scheme=replace(scheme, sets_before=most - 1))
    if isinstance(scheme, AscendingSets):
        return replace(slot, scheme=replace(scheme, percents=scheme.percents[-most:]))
    return replace(slot, scheme=_fewer_after(scheme, most - 1)) if isinstance(scheme, TopSet) else slot


def _fewer_after(scheme: TopSet, most: int) -> TopSet:
    """A top set with at most so many sets after it."""
    if not most:
        return replace(scheme, back_off=None, same_load=None)
    same, off = scheme.same_load, scheme.back_off
    if same is not None:
        return replace(scheme, same_load=replace(same, sets=min(same.sets, most)))
    if off is None or off.sets is not None:
        return replace(scheme, back_off=None if off is None else replace(off, sets=min(off.sets or most, most)))
    fewest = None if off.fewest is None else min(off.fewest, most)
    return replace(scheme, back_off=replace(off, most=min(off.most_sets, most), fewest=fewest))
