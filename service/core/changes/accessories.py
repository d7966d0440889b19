"""Operations on accessories: added, or trimmed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from service.core.changes.operations import (
    MOST_SLOTS,
    AddAccessory,
    Changed,
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
    OpenLastSet,
    SessionPlan,
    SetsAtTarget,
    Slot,
    TopSet,
    WeekPlan,
)
from service.core.templates import slot_faults
from service.core.words import lift_words, plural

Weeks = tuple[WeekPlan, ...]


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
    lift = lift_words(slot.lift, lifts)
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
