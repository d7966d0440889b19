"""The slots that an operation acts on, and a change that is made to each of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from service.core.changes.operations import Which, chosen_weeks, refused
from service.core.progressions.numbers import OutOfLimits
from service.core.records import Lift
from service.core.slots import SessionPlan, Slot, WeekPlan
from service.core.words import NO_LIFTS, lift_words, listing

Weeks = tuple[WeekPlan, ...]


def changed(
    weeks: Weeks,
    which: Which,
    fits: Callable[[Slot], bool],
    change: Callable[[Slot], Slot],
    member: str,
    lifts: Mapping[str, Lift],
) -> Weeks:
    """The weeks with each slot that is picked, and that the change `fits`, as `change` gives it.

    Raises
    ------
    Refused
        Where no slot is picked, or a number would leave its limits; then at the operation's `member`.
    """
    places = chosen_weeks(which.weeks, len(weeks), "/which/weeks")
    found = False
    result = list(weeks)
    for place in places:
        week = weeks[place]
        sessions = list(week.sessions)
        for at, session in enumerate(sessions):
            if not _picks_session(which, session):
                continue
            slots = list(session.slots)
            for to, slot in enumerate(slots):
                if _picks_slot(which, slot) and fits(slot):
                    found = True
                    slots[to] = _made(
                        change, slot, f"Week {place + 1}, {session.name}, {lift_words(slot.lift, lifts)}", member
                    )
            sessions[at] = with_slots(session, tuple(slots))
        result[place] = with_sessions(week, tuple(sessions))
    if not found:
        raise refused("/which" if which != Which() else member, "nothing_matched", "finds no slot that has this")
    return tuple(result)


def with_slots(session: SessionPlan, slots: tuple[Slot, ...]) -> SessionPlan:
    """The session with these slots; itself where they are its own, so that it is seen to be unchanged at once."""
    same = len(slots) == len(session.slots) and all(map(_is, slots, session.slots))
    return session if same else replace(session, slots=slots)


def with_sessions(week: WeekPlan, sessions: tuple[SessionPlan, ...]) -> WeekPlan:
    """The week with these sessions; itself where they are its own."""
    same = len(sessions) == len(week.sessions) and all(map(_is, sessions, week.sessions))
    return week if same else replace(week, sessions=sessions)


def said(which: Which, lifts: Mapping[str, Lift] = NO_LIFTS) -> str:
    """Which slots, in words; nothing where it is all.

    >>> said(Which(weeks=(2, 3), lift="squat", accessory=False)), said(Which())
    (' in weeks 2 and 3, the squat, without accessories', '')
    """
    parts = []
    if which.weeks is not None:
        numbers = listing(tuple(str(number) for number in which.weeks))
        parts.append(f"week {numbers}" if len(which.weeks) == 1 else f"weeks {numbers}")
    if which.sessions is not None:
        parts.append(listing(which.sessions))
    if which.lift is not None:
        parts.append(f"the {lift_words(which.lift, lifts)}")
    if which.accessory is not None:
        parts.append("accessories only" if which.accessory else "without accessories")
    return f" in {', '.join(parts)}" if parts else ""


def _picks_session(which: Which, session: SessionPlan) -> bool:
    return session.kind == "block" if which.sessions is None else session.name in which.sessions


def _picks_slot(which: Which, slot: Slot) -> bool:
    return which.lift in (None, slot.lift) and which.accessory in (None, slot.accessory)


def _made(change: Callable[[Slot], Slot], slot: Slot, where: str, member: str) -> Slot:
    try:
        made = change(slot)
    except OutOfLimits as out:
        rule = f"cannot be done: in {where}, {out}. Name the slots by which, or hold them by at_limit"
        raise refused(member, "out_of_range", rule) from out
    return slot if made == slot else made


def _is(one: object, other: object) -> bool:
    return one is other
