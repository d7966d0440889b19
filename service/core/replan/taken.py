"""Work that sessions have taken over from missed ones: it is found again, and kept where a block gets another plan."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from service.core.plan.families import first_of_line
from service.core.records import Lift
from service.core.replan.effect import lift_words
from service.core.replan.merge import main_ends, part_of
from service.core.replan.records import BlockSession
from service.core.slots import SessionPlan, Slot
from service.core.words import listing

Plans = Mapping[tuple[int, int], SessionPlan]
"""Sessions of a version by week and number, from 1."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A slot that a session took over."""

    slot: Slot
    source: BlockSession
    """The session that was left out."""
    lift: str
    """What stood there."""


@dataclass(slots=True)
class Kept:
    """What planned sessions become so that what they took over stays with them."""

    plans: dict[str, SessionPlan] = field(default_factory=dict)
    """By the session's id; of those that took nothing over there is none."""
    told: list[str] = field(default_factory=list)
    """What stays and what does not, in sentences."""


def any_taken(sessions: Sequence[BlockSession]) -> bool:
    """Whether a planned session may have taken something over; quick, and true for a few that have not."""
    parts = _parts(sessions)
    return bool(parts) and any(slot in parts for one in sessions if one.planned for slot in one.plan.slots)


def taken_over(host: BlockSession, sessions: Sequence[BlockSession], own: SessionPlan | None) -> list[Taken]:
    """What a session took over from others of its block, in its order.

    Known by what it is: a part of a main slot of a session that was left out, as `merged` makes it, that does not
    stand in the session's own plan. A slot that somebody has changed since is not known again. `own`: the session as
    the block's version has it; None: it has none.
    """
    parts = _parts([one for one in sessions if one.date < host.date])
    more = Counter(host.plan.slots)
    more.subtract(() if own is None else own.slots)
    found = []
    for slot in host.plan.slots:
        if more[slot] > 0 and slot in parts:
            more[slot] -= 1
            found.append(parts[slot])
    return found


def _parts(sessions: Sequence[BlockSession]) -> dict[Slot, Taken]:
    """What could have been taken over of the sessions that were left out."""
    return {
        part: Taken(part, one, slot.lift)
        for one in sessions
        if not one.planned and not one.done
        for slot in one.plan.slots
        if not slot.accessory and not slot.optional
        for part in (part_of(slot, one.plan.name),)
    }


def kept(
    sessions: Sequence[BlockSession], version: Plans, before: Plans, from_week: int, lifts: Mapping[str, Lift]
) -> Kept:
    """What planned sessions become in another version, with what they took over from sessions that were left out.

    It stays as it was taken over, behind the main work of the version; but not where the version has main work of the
    same family there itself, or no such session any more. That, and where the version no longer has it in the session
    that it comes from, is told. `before`: the version that the block follows so far; `from_week`: the first week that
    follows the other one.
    """
    found = Kept()
    for host in sessions:
        key = (host.week, host.number)
        if not host.planned or host.week < from_week:
            continue
        taken = taken_over(host, sessions, before.get(key))
        if not taken:
            continue
        plan = version.get(key)
        if plan is None:
            lost = listing(tuple(f"{lift_words(one.slot, lifts)} of {_named(one.source)}" for one in taken))
            found.told.append(f"{_where(host)} goes, and with it what it had taken over: {lost}.")
            continue
        stays = [one for one in taken if not _has(plan, one.slot, lifts)]
        slots = list(plan.slots)
        at = main_ends(slots)
        slots[at:at] = [one.slot for one in stays]
        found.plans[host.id] = replace(plan, slots=tuple(slots))
        found.told += _told(host, taken, stays, version, lifts) if found.plans[host.id] != host.plan else ()
    return found


def _told(
    host: BlockSession, taken: Sequence[Taken], stays: Sequence[Taken], version: Plans, lifts: Mapping[str, Lift]
) -> Iterator[str]:
    for one in taken:
        what = f"{_where(host)}: {lift_words(one.slot, lifts)}, taken over from {_named(one.source)},"
        if one not in stays:
            yield f"{what} goes: the version has such work there itself."
            continue
        there = version.get((one.source.week, one.source.number))
        if there is None or all(slot.lift != one.lift for slot in there.slots):
            yield f"{what} stays, though the version no longer has it there."
        else:
            yield f"{what} stays as it was."


def _has(plan: SessionPlan, slot: Slot, lifts: Mapping[str, Lift]) -> bool:
    """Whether a session has main work of a slot's family."""
    family = first_of_line(slot.lift, lifts)
    return any(first_of_line(one.lift, lifts) == family and not one.accessory for one in plan.slots)


def _where(session: BlockSession) -> str:
    return f"Week {session.week}, {session.plan.name}"


def _named(session: BlockSession) -> str:
    return f"{session.plan.name} of week {session.week}"
