"""Whether a template can be lifted as it is written: each slot against the lifts it names."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.core.prescribe.add_load import rule_of
from service.core.records import Lift
from service.core.slots import (
    DistanceTarget,
    EffortTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    Slot,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.units import Load
from service.core.words import target_reps

MOST_FAULTS = 50


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with one member: a JSON Pointer (RFC 6901) as URI fragment, a stable code, a sentence's end."""

    pointer: str
    code: str
    text: str


def faults(weeks: Sequence[WeekPlan], lifts: Mapping[str, Lift]) -> list[Fault]:
    """What is wrong with a template, all of it at once, in the template's order; at most 50 faults.

    `lifts` are the gym's lifts by id, at least those that the template names.
    """
    found = (
        fault
        for w, week in enumerate(weeks)
        for s, session in enumerate(week.sessions)
        for fault in _of_slots(session.slots, lifts, f"#/weeks/{w}/sessions/{s}/slots")
    )
    return [fault for fault, _ in zip(found, range(MOST_FAULTS), strict=False)]


def slot_faults(slots: Sequence[Slot], lifts: Mapping[str, Lift], at: str = "#/slots") -> list[Fault]:
    """What is wrong with the slots of one session; `at` is the pointer to their list."""
    return [fault for fault, _ in zip(_of_slots(slots, lifts, at), range(MOST_FAULTS), strict=False)]


def lifts_named(weeks: Sequence[WeekPlan]) -> frozenset[str]:
    """Ids of all lifts that a template names."""
    return frozenset(
        name for week in weeks for session in week.sessions for slot in session.slots for name in named_by(slot)
    )


def named_by(slot: Slot) -> tuple[str, ...]:
    """Ids of the lifts that a slot names: its own, the one that a percentage is of, those of its complex."""
    parts = tuple([part.lift for part in slot.complex])
    if isinstance(slot.target, PercentTarget) and slot.target.of is not None:
        return slot.lift, slot.target.of, *parts
    return slot.lift, *parts


def _of_slots(slots: Sequence[Slot], lifts: Mapping[str, Lift], at: str) -> Iterator[Fault]:
    for number, slot in enumerate(slots):
        here = f"{at}/{number}"
        lift = lifts.get(slot.lift)
        if lift is None:
            yield Fault(f"{here}/lift", "unknown", "names no lift of this gym")
        for at_part, part in enumerate(slot.complex):
            if part.lift not in lifts:
                yield Fault(f"{here}/complex/{at_part}/lift", "unknown", "names no lift of this gym")
        target = slot.target
        if lift is not None and lift.load_kind == "none" and rule_of(slot) is not None:
            text = f"has nothing to add to: the {lift.name.lower()} is done without a load"
            yield Fault(f"{here}/scheme/add_load", "load_kind", text)
        yield from _of_scheme(slot, lift, f"{here}/scheme")
        if isinstance(target, PercentTarget):
            yield from _percent(target, lift, lifts, here)
        elif isinstance(slot.scheme, Ladder | MaxTest):
            yield from _set_by_set(slot.scheme, lift, f"{here}/scheme")
        elif isinstance(target, EffortTarget) and lift is not None and lift.technique:
            yield Fault(
                f"{here}/target",
                "technique_lift",
                f"cannot be an effort in the {lift.name.lower()}: technique ends its sets, not strength; "
                "use a percentage of the tested or the day's max, or a load",
            )
        elif isinstance(target, LoadTarget | TimeTarget | DistanceTarget) and target.load is not None and lift:
            yield from _load(target.load, lift, f"{here}/target/load")


def _of_scheme(slot: Slot, lift: Lift | None, here: str) -> Iterator[Fault]:
    """A part of a load taken off where there is none; an open set that ends before the others do."""
    scheme, target = slot.scheme, slot.target
    if isinstance(scheme, TopSet) and scheme.back_off is not None:
        if lift is not None and lift.load_kind == "none":
            text = f"has nothing to take off: the {lift.name.lower()} is done without a load"
            yield Fault(f"{here}/back_off", "load_kind", text)
        elif isinstance(target, TimeTarget | DistanceTarget) and target.load is None:
            yield Fault(f"{here}/back_off", "does_not_fit", "has nothing to take off: the target states no load")
    if isinstance(scheme, OpenLastSet) and scheme.most_reps is not None:
        least = target_reps(target)[0]
        if least is not None and scheme.most_reps < least:
            text = f"must be at least the target's repetitions, {least}"
            yield Fault(f"{here}/most_reps", "does_not_fit", text)


def _set_by_set(scheme: Ladder | MaxTest, lift: Lift | None, here: str) -> Iterator[Fault]:
    """A ladder or a test: each needs a load, and a ladder needs repetitions left that say something."""
    if lift is not None and lift.load_kind == "none":
        yield Fault(here, "load_kind", f"finds nothing in the {lift.name.lower()}: it is done without a load")
    elif lift is not None and lift.technique and isinstance(scheme, Ladder):
        text = f"finds nothing in the {lift.name.lower()}: technique ends its sets, not strength"
        yield Fault(here, "technique_lift", text)


def _percent(target: PercentTarget, lift: Lift | None, lifts: Mapping[str, Lift], here: str) -> Iterator[Fault]:
    of = lift if target.of is None else lifts.get(target.of)
    if target.of is not None and of is None:
        yield Fault(f"{here}/target/of", "unknown", "names no lift of this gym")
    if lift is not None and lift.load_kind == "none":
        yield Fault(
            f"{here}/target", "load_kind", f"cannot be a percentage: the {lift.name.lower()} is done without a load"
        )
    elif of is not None and of.load_kind == "none":
        yield Fault(f"{here}/target/of", "load_kind", f"has no max: the {of.name.lower()} is done without a load")
    if of is not None and of.technique and target.basis == "rolling":
        yield Fault(
            f"{here}/target/basis",
            "technique_lift",
            f"cannot be rolling in the {of.name.lower()}: its sets tell no estimate; use tested, training or day",
        )


def _load(load: Load, lift: Lift, here: str) -> Iterator[Fault]:
    """A fixed load against the lift's load kind."""
    name = lift.name.lower()
    if lift.load_kind == "none":
        yield Fault(here, "load_kind", f"cannot be stated: the {name} is done without a load")
        return
    if load.unit == "step" and lift.load_kind != "stack":
        yield Fault(f"{here}/unit", "load_kind", f"must be kg or lb: the {name} is not done on a machine with steps")
    if load.value <= 0 and lift.load_kind != "bodyweight":
        yield Fault(f"{here}/value", "not_positive", f"must be more than 0: the {name} cannot be done with assistance")
