"""A lift exchanged for another one, wherever it stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.core.changes.operations import Changed, ExchangeLift, chosen_weeks, in_place, refused
from service.core.changes.pick import with_sessions, with_slots
from service.core.records import Lift
from service.core.slots import (
    AscendingSets,
    ComplexPart,
    DistanceTarget,
    FreeTarget,
    LoadTarget,
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
from service.core.words import lift_words, plural

Weeks = tuple[WeekPlan, ...]
MOST_REPS = 20
"""Of a part of a complex, as bodies are read. [reps]"""
MOST_NAMED = 3
"""So many complexes are named in a sentence; the rest are counted. Ours."""


def exchange(weeks: Weeks, operation: ExchangeLift, lifts: Mapping[str, Lift]) -> Changed:
    """Another lift in the place of one, wherever it is named.

    Efforts, percentages and set counts stay. A fixed load is that of the old lift: the lifter chooses one. A part of a
    complex is exchanged in it, and what is then done twice in a row is one part. A complex stays as it is, and is
    told, where it is logged as the old lift, because its row would be another one than it is called by, or where one
    lift alone would be left of it. Refused where the other lift cannot be asked for that way, such as an effort in a
    technique lift, and where the old one stands nowhere else than in such complexes.
    """
    _refuse_lift(operation, lifts)
    result = list(weeks)
    left: list[str] = []
    found = False
    for place in chosen_weeks(operation.weeks, len(weeks), "/weeks"):
        sessions = []
        for session in weeks[place].sessions:
            where = f"week {place + 1}, {session.name}"
            left += [where for slot in session.slots if _stays(slot, operation)]
            made = with_slots(session, tuple(_exchanged(slot, operation) for slot in session.slots))
            if made is not session:
                found = True
                _refuse_misfit(session, made, f"Week {place + 1}, {session.name}", lifts)
            sessions.append(made)
        result[place] = with_sessions(weeks[place], tuple(sessions))
    if not found and left:
        rule = f"stands in complexes that this cannot make anew ({_some(left)}): write these slots as they are to be"
        raise refused("/lift", "complex", rule)
    if not found:
        raise refused("/lift", "nothing_matched", "must be a lift that stands in these weeks")
    names = lift_words(operation.to_lift, lifts), lift_words(operation.lift, lifts)
    text = f"{names[0].capitalize()} in place of {names[1]}"
    fixed = sum(map(_fixed, _slots(weeks))) - sum(map(_fixed, _slots(tuple(result))))
    if fixed:
        text += f"; {plural(fixed, 'fixed load')} of it {'is' if fixed == 1 else 'are'} left to the lifter"
    if left:
        stay = "1 complex stays as it is" if len(left) == 1 else f"{len(left)} complexes stay as they are"
        text += f"; {stay} ({_some(left)}): write {'it' if len(left) == 1 else 'them'} anew"
    return in_place(tuple(result), text)


def _refuse_lift(operation: ExchangeLift, lifts: Mapping[str, Lift]) -> None:
    """Refuse another lift that is unknown, the same one, or done without a load where the old one has one."""
    if operation.to_lift not in lifts:
        raise refused("/to_lift", "unknown", "names no lift of this gym")
    if operation.to_lift == operation.lift:
        raise refused("/to_lift", "does_not_fit", "must be another lift than the one that it takes the place of")
    old, new = lifts.get(operation.lift), lifts[operation.to_lift]
    if new.load_kind == "none" and old is not None and old.load_kind != "none":
        names = old.name.lower(), new.name.lower()
        rule = f"must be a lift with a load: what is planned for the {names[0]} says nothing for the {names[1]}"
        raise refused("/to_lift", "does_not_fit", rule)


def _slots(weeks: Weeks) -> Iterator[Slot]:
    return (slot for week in weeks for session in week.sessions for slot in session.slots)


def _some(places: list[str]) -> str:
    named = tuple(dict.fromkeys(places))
    more = len(named) - MOST_NAMED
    return "; ".join((*named[:MOST_NAMED], *([f"{more} more"] if more > 0 else [])))


def _fixed(slot: Slot) -> bool:
    return getattr(slot.target, "load", None) is not None


def _stays(slot: Slot, operation: ExchangeLift) -> bool:
    """Whether it is a complex with the old lift that cannot be made one with the other by exchange alone."""
    if not slot.complex:
        return False
    if slot.lift == operation.lift:
        return True
    if all(part.lift != operation.lift for part in slot.complex):
        return False
    row = _row(slot.complex, operation)
    return len(row) == 1 or any(part.reps > MOST_REPS for part in row)


def _row(parts: tuple[ComplexPart, ...], operation: ExchangeLift) -> tuple[ComplexPart, ...]:
    """A complex with the other lift; two parts of one lift in a row, where one of them is new, are one."""
    row: list[ComplexPart] = []
    new = False
    for part in parts:
        changed = part.lift == operation.lift
        one = replace(part, lift=operation.to_lift) if changed else part
        if row and row[-1].lift == one.lift and (changed or new):
            row[-1] = replace(one, reps=row[-1].reps + one.reps)
        else:
            row.append(one)
        new = changed
    return tuple(row)


def _exchanged(slot: Slot, operation: ExchangeLift) -> Slot:
    lift, other = operation.lift, operation.to_lift
    if _stays(slot, operation):
        return slot
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
    name = other if slot.lift == lift else slot.lift
    return replace(slot, lift=name, scheme=scheme, target=target, complex=_row(slot.complex, operation))


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
