"""Which slots of a week a progression is about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.core.progressions.numbers import LIMITS, value_of
from service.core.progressions.records import LighterWeeks, Progression, Where
from service.core.slots import SessionPlan, SetsAtTarget, Slot, WeekPlan
from service.core.templates import Fault

Spot = tuple[int, int]
"""A slot of a week: its session's and its own index, from 0."""


def chosen(week: WeekPlan, progression: Progression) -> tuple[Spot, ...]:
    """The slots that a progression is about, in the week's order: those that fit and have the number it changes.

    A load that grows by its own rule (`add_load`) is moved by that alone: its stated load is only where it starts.
    """
    change = None if isinstance(progression, LighterWeeks) else progression.change
    return tuple(
        (s, i)
        for s, session in enumerate(week.sessions)
        if _session_fits(progression, s, session)
        for i, slot in enumerate(session.slots)
        if _slot_fits(progression, i, slot, accessories=change is None)
        and (change is None or value_of(slot, change) is not None)
        and not (change == "load" and grows(slot))
    )


def grows(slot: Slot) -> bool:
    """Whether a slot's load grows from session to session by its own rule."""
    return isinstance(slot.scheme, SetsAtTarget) and slot.scheme.add_load is not None


def not_chosen(week: WeekPlan, progression: Progression, at: str) -> Iterator[Fault]:
    """What is wrong with the choice: names and numbers that the week does not have, or a number that no slot has."""
    wrong = [*_sessions_missing(week, progression, at)]
    here = [session for s, session in enumerate(week.sessions) if _session_fits(progression, s, session)]
    if not wrong and not here:
        wrong = [Fault(at, "unknown", "is about no session: tests and meets are meant where they are named")]
    if not wrong:
        wrong = [*_slots_missing(here, progression, at)]
    if not wrong and not chosen(week, progression):
        if isinstance(progression, LighterWeeks):
            wrong = [Fault(at, "unknown", "is about no slot of this week")]
        else:
            rule = f"changes {LIMITS[progression.change].words}, but no slot that this is about has one"
            if progression.change == "load" and _any_grows(here, progression):
                rule = "moves a load that grows by its own rule (add_load): state one of the two"
            wrong = [Fault(f"{at}/change", "no_such_member", rule)]
    yield from wrong


def _any_grows(here: Sequence[SessionPlan], where: Where) -> bool:
    return any(
        grows(slot) and value_of(slot, "load") is not None and _slot_fits(where, i, slot, accessories=False)
        for session in here
        for i, slot in enumerate(session.slots)
    )


def _sessions_missing(week: WeekPlan, where: Where, at: str) -> Iterator[Fault]:
    names = {session.name for session in week.sessions}
    for index, name in enumerate(where.sessions):
        if name not in names:
            yield Fault(f"{at}/sessions/{index}", "unknown", "names no session of this week")
    for index, number in enumerate(where.session_numbers):
        if number > len(week.sessions):
            yield Fault(f"{at}/session_numbers/{index}", "unknown", f"must be from 1 to {len(week.sessions)}")


def _slots_missing(here: Sequence[SessionPlan], where: Where, at: str) -> Iterator[Fault]:
    most = max(len(session.slots) for session in here)
    for index, number in enumerate(where.slots):
        if number > most:
            yield Fault(f"{at}/slots/{index}", "unknown", f"must be from 1 to {most}: there are no more slots")
    lift = where.lift
    if lift is not None and not any(slot.lift == lift for session in here for slot in session.slots):
        yield Fault(f"{at}/lift", "unknown", "is in no session that this is about")


def _session_fits(where: Where, index: int, session: SessionPlan) -> bool:
    if where.sessions or where.session_numbers:
        return session.name in where.sessions or index + 1 in where.session_numbers
    return session.kind == "block"


def _slot_fits(where: Where, index: int, slot: Slot, *, accessories: bool) -> bool:
    if where.slots and index + 1 not in where.slots:
        return False
    if where.lift is not None:
        return slot.lift == where.lift
    return accessories or not slot.accessory or bool(where.slots)
