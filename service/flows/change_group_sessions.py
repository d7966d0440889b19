"""A group's sessions of a day go to another day or place, in one call."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal
from uuid import UUID

from service.core.words import day
from service.flows.open_session import refresh_open
from service.store import group_sessions, groups, places, states
from service.store.errors import Conflict, NotFound, UnknownReference
from service.store.group_sessions import Changed, DaySession
from service.store.groups import Member
from service.store.session import Tx
from service.store.sessions import State
from service.store.unfit import unfit

Day = date  # a record's own field may be called date
What = Literal["date", "place"]
MOST_DAYS = 60
"""A day's sessions go so far at most: what lies farther is a slip, or a block to be laid out anew. Ours. [days]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is asked for."""

    date: Day
    to_date: Day | None
    """None: they stay on their day."""
    placed: bool
    """Whether the place changes."""
    place: str | None
    """Where; None: where each athlete trains by default."""
    skip: bool
    """Whether a session that cannot be changed is passed over; else it stops all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupSessionChange:
    """What came of one session of the day, or of an athlete who has none."""

    athlete: UUID
    """Whose it is."""
    name: str
    """The athlete's name."""
    session: UUID | None
    """The session; null where the athlete has none on this day."""
    state: State | None
    """`planned`, `open`, `finished` or `skipped`."""
    changed: tuple[What, ...]
    """What is different now; empty where it stays as it was."""
    date: Day | None
    """The day that it is on now."""
    place: UUID | None
    """Where, as it stands now; null: where the athlete trains by default."""
    version: int | None
    """What `If-Match` takes, where something changed."""
    text: str
    """What changed, or why not."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupSessionChanges:
    """One result for each session of the group on the day, and for each athlete without one, by name."""

    group: UUID
    """Our id of the group."""
    changed: int
    """How many sessions changed."""
    items: tuple[GroupSessionChange, ...]
    """By the athlete's name."""


def change(tx: Tx, group: str, order: Order) -> GroupSessionChanges:
    """Change the day's sessions of all who belong to a group and are not archived.

    Planned sessions change day and place, open ones their place; others stay, which the answer says. Raises NotFound
    for the group, UnknownReference for the place, UnfitReference for a day too far off or back in the past, Conflict
    where an open session would have to move, unless `skip`.
    """
    _fits(order)
    found = groups.get(tx, group)
    place, where = _place(tx, order)
    members = groups.members(tx, found.id)
    states.lock_many(tx, sorted(one.athlete for one in members))
    days = {order.date, order.to_date or order.date}
    there = group_sessions.on_days(tx, [one.athlete for one in members], sorted(days))
    todays = [one for one in there if one.date == order.date]
    _not_into_the_past(order, todays)
    names = {one.athlete: one.name for one in members}
    stuck = [one for one in todays if one.state == "open" and order.to_date not in (None, order.date)]
    if stuck and not order.skip:
        whose = ", ".join(names[one.athlete] for one in stuck)
        raise Conflict(f"Only planned sessions can be moved; open is that of: {whose}. With on_fault skip it stays.")
    wanted = [one for one in todays if one not in stuck and _differs(one, order, place)]
    moved = group_sessions.change(
        tx, [one.id for one in wanted], to_date=order.to_date, placed=order.placed, place=place
    )
    for athlete in sorted({one.athlete for one in wanted if one.state == "open"}):
        refresh_open(tx, athlete)
    busy = _two_on_a_day(there, moved, order)
    items = [item for one in members for item in _told(one, todays, moved, order, where, taken=one.athlete in busy)]
    return GroupSessionChanges(group=found.id, changed=len(moved), items=tuple(items))


def _fits(order: Order) -> None:
    """Refuse a day that is too far from the one whose sessions are meant."""
    most = timedelta(days=MOST_DAYS)
    if order.to_date is not None and abs(order.to_date - order.date) > most:
        nearest = f"from {order.date - most} to {order.date + most}"
        raise unfit(f"must be {nearest}: a day's sessions move by {MOST_DAYS} days at most", "#/to_date")


def _not_into_the_past(order: Order, todays: Sequence[DaySession]) -> None:
    """Refuse to bring planned sessions back to a day that is over for their athletes.

    Later than its own day a session may come even so: it was held then, and is entered now.
    """
    to = order.to_date
    if to is None or to >= order.date:
        return
    first = max((one.today for one in todays if one.state == "planned"), default=to)
    if to < min(first, order.date):
        raise unfit(
            f"must not be before {min(first, order.date)}: planned sessions are not moved back into the past",
            "#/to_date",
        )


def _place(tx: Tx, order: Order) -> tuple[UUID | None, str]:
    """The place and its name for sentences."""
    if order.place is None:
        return None, "where the athlete trains by default"
    try:
        found = places.get(tx, order.place)
    except NotFound:
        raise UnknownReference("place", "#/place") from None
    return found.id, f"at {found.name}"


def _differs(one: DaySession, order: Order, place: UUID | None) -> bool:
    """Whether a session is to change: planned ones in both, open ones in their place."""
    if one.state not in ("planned", "open"):
        return False
    moves = order.to_date not in (None, one.date)
    # an open session never stands at "where the athlete trains by default": that is written into it
    return moves or (order.placed and (one.place != place or (one.state == "open" and place is None)))


def _two_on_a_day(there: Sequence[DaySession], moved: Mapping[UUID, Changed], order: Order) -> set[UUID]:
    """Athletes who now have more than one session on the day that sessions were moved to; skipped ones do not count."""
    counts = Counter(
        one.athlete
        for one in there
        if one.state != "skipped" and (moved[one.id].date if one.id in moved else one.date) == order.to_date
    )
    return {athlete for athlete, count in counts.items() if count > 1}


def _told(
    member: Member, todays: list[DaySession], moved: dict[UUID, Changed], order: Order, where: str, *, taken: bool
) -> Iterator[GroupSessionChange]:
    own = [one for one in todays if one.athlete == member.athlete]
    if not own:
        yield GroupSessionChange(
            athlete=member.athlete,
            name=member.name,
            session=None,
            state=None,
            changed=(),
            date=None,
            place=None,
            version=None,
            text=f"There is no session on {day(order.date)}.",
        )
    for one in own:
        now = moved.get(one.id)
        changed = () if now is None else _changed(one, now)
        yield GroupSessionChange(
            athlete=member.athlete,
            name=member.name,
            session=one.id,
            state=one.state,
            changed=changed,
            date=one.date if now is None else now.date,
            place=one.place if now is None else now.place,
            version=None if now is None else now.version,
            text=_text(one, changed, order, where, taken=taken),
        )


def _changed(before: DaySession, now: Changed) -> tuple[What, ...]:
    found: list[What] = []
    if now.date != before.date:
        found.append("date")
    if now.place != before.place:
        found.append("place")
    return tuple(found)


def _text(one: DaySession, changed: tuple[What, ...], order: Order, where: str, *, taken: bool) -> str:
    if one.state in ("finished", "skipped"):
        return f"“{one.name}” is {one.state}: it stays as it is."
    if one.state == "open" and not changed and order.to_date not in (None, one.date):
        return f"“{one.name}” is open: only a planned session can be moved."
    if not changed:
        return f"“{one.name}” stays as it was."
    parts = []
    if "date" in changed and order.to_date is not None:
        parts.append(f"moved to {day(order.to_date)}" + (", where another session stands already" if taken else ""))
    if "place" in changed:
        parts.append(f"now {where}")
    return f"“{one.name}”: {', '.join(parts)}."
