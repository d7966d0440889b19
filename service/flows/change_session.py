"""A session is added outside of a block, opened, finished, skipped, or moved to another day or place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import select

from service.core.calendar import same_week
from service.core.errors import DomainError
from service.core.records import SessionKind
from service.core.slots import Slot
from service.core.words import day as day_words
from service.core.words import listing
from service.flows.max_test import settle
from service.flows.open_session import open_session, refresh_open
from service.flows.session_view import Seen, see
from service.store import group_sessions, people, prescribed, sessions, states
from service.store.errors import ChangedMeanwhile, Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.naming import named
from service.store.session import Tx
from service.store.sessions import NewSession, Session
from service.store.tables import places
from service.store.unfit import unfit

NAMES: dict[SessionKind, str] = {"free": "Free session", "first": "First session", "test": "Test", "meet": "Meet"}
MOST_DAYS_BACK = 60
"""A planned session is moved so far into the past at most, from its own day or from today: enough to enter what was
done. Ours. [days]"""
OLDEST_DAYS = 3653
"""A session is added so far back at most, about ten years: an earlier day is a slip of the finger. Ours. [days]"""
NOT_SENT = -1
ONWARD = {("planned", "open"), ("planned", "skipped"), ("open", "finished")}
ADVICE = {
    "open": "Only a planned session can be opened.",
    "finished": "Only an open session can be finished: open it, or log a set.",
    "skipped": "Only a planned session can be skipped.",
    "planned": "A session does not become planned again.",
}


class BeyondWeek(DomainError):
    """A move out of the session's week, which is the coach's to decide."""

    code = "beyond_week"


def add(
    tx: Tx,
    athlete: str,
    *,
    kind: SessionKind,
    on: date | None,
    name: str | None,
    place: str | None,
    note: str | None,
    slots: Sequence[Slot],
) -> Seen:
    """Add a session outside of a block; without a date, on the athlete's today.

    Raises NotFound, UnknownReference, and UnfitReference for a day longer ago than `OLDEST_DAYS`.
    """
    person = people.find(tx, athlete)
    if person is None:
        raise NotFound("athlete")
    first = person.today - timedelta(days=OLDEST_DAYS)
    if on is not None and on < first:
        raise unfit(f"must not be before {first}: what was done longer ago is entered as sets or as a max", "#/date")
    new = NewSession(
        id=new_id(),
        athlete=person.id,
        kind=kind,
        date=on or person.today,
        name=name or NAMES[kind],
        slots=[sessions.slot_row(slot) for slot in slots],
        place=place_id(tx, place),
        plan_note=note,
    )
    sessions.add_many(tx, [new])
    return _seen(tx, new.id, told=_beside(tx, new.id, person.id, new.date))


def change(tx: Tx, session: str, *, expected: int | None, values: Mapping[str, Any]) -> Seen:
    """Change state, day, place, or what is told of a session; `expected` is a version, None, or `NOT_SENT`.

    Raises
    ------
    Conflict
        Where the session's state does not allow it.
    UnfitReference
        Where a session would be moved far into the past.
    BeyondWeek
        Where a key without the coach's right moves a session out of its ISO week.
    """
    found = sessions.get(tx, session)
    states.lock(tx, found.athlete)
    found = sessions.get(tx, found.id)  # as it stands under the lock
    if expected not in (None, NOT_SENT, found.version):
        raise ChangedMeanwhile(found.version)
    state = values.get("state") or found.state
    if state != found.state and (found.state, state) not in ONWARD:
        raise Conflict(f"This session is {found.state}. {ADVICE[state]}")
    columns = _day(tx, found, values) | _place(tx, found, values) | _time(found, values) | _told(found, state, values)
    if state not in (found.state, "open"):
        columns |= {"state": state} | ({"finished_at": tx.now} if state == "finished" else {})
    if columns:
        sessions.change(tx, found.id, columns)
    if state == "finished" and found.state == "open":
        settle(tx, found.id)
    if state == "open" and found.state == "planned":
        open_session(tx, found.id)
    elif {"place_id", "minutes_available"} & columns.keys() and found.state == "open":
        refresh_open(tx, found.athlete)
    moved = columns.get("date")
    return _seen(tx, found.id, told=() if moved is None else _beside(tx, found.id, found.athlete, moved))


def _beside(tx: Tx, session: UUID, athlete: UUID, on: date) -> tuple[str, ...]:
    """That the athlete has other sessions on the day of this one; skipped ones do not count."""
    there = group_sessions.on_days(tx, [athlete], [on])
    names = tuple(f"“{one.name}”" for one in there if one.id != session and one.state != "skipped")
    if not names:
        return ()
    others = "is another session" if len(names) == 1 else "are other sessions"
    return (f"There {others} on {day_words(on)}: {listing(names)}.",)


def _seen(tx: Tx, session: UUID, *, told: tuple[str, ...]) -> Seen:
    seen = see(tx, prescribed.page(tx, session))
    seen.told = told
    _ = seen.answers  # computed here, in the thread of the transaction
    return seen


def _day(tx: Tx, found: Session, values: Mapping[str, Any]) -> dict[str, Any]:
    day = values.get("date")
    if day is None or day == found.date:
        return {}
    if found.state != "planned":
        raise Conflict(f"This session is {found.state}: only a planned one can be moved.")
    if not same_week(found.date, day) and tx.caller.right not in ("coach", "owner"):
        raise BeyondWeek("A session may be moved within its week; another week is the coach's decision.")
    if day < found.date:
        _not_long_past(tx, found, day)
    return {"date": day}


def _not_long_past(tx: Tx, found: Session, day: date) -> None:
    person = people.find(tx, str(found.athlete))
    today = tx.now.date() if person is None else person.today
    first = min(found.date, today) - timedelta(days=MOST_DAYS_BACK)
    if day < first:
        raise unfit(f"must not be before {first}: planned sessions are not moved far into the past", "#/date")


def _place(tx: Tx, found: Session, values: Mapping[str, Any]) -> dict[str, Any]:
    if "place" not in values:
        return {}
    wanted = place_id(tx, values["place"])
    if found.state == "open" and wanted is None:  # null: where the athlete trains by default
        wanted = people.conditions(tx, found.athlete, on=found.date, place_id=None).place
    if wanted == found.place:
        return {}
    if found.state not in ("planned", "open"):
        raise Conflict(f"This session is {found.state}: its place stays.")
    return {"place_id": wanted}


def _time(found: Session, values: Mapping[str, Any]) -> dict[str, Any]:
    if "minutes_available" not in values or values["minutes_available"] == found.minutes_available:
        return {}
    if found.state not in ("planned", "open"):
        raise Conflict(f"This session is {found.state}: it is not shortened any more.")
    return {"minutes_available": values["minutes_available"]}


def _told(found: Session, state: str, values: Mapping[str, Any]) -> dict[str, Any]:
    """What the lifter tells of the session; null takes it back."""
    told = {name: values[name] for name in ("session_rpe", "minutes", "note") if name in values}
    measured = any(told.get(name) is not None for name in ("session_rpe", "minutes"))
    if measured and state not in ("open", "finished"):
        raise Conflict(f"This session is {state}: session_rpe and minutes come with finishing it.")
    return {name: value for name, value in told.items() if value != getattr(found, name)}


def place_id(tx: Tx, name: str | None) -> UUID | None:
    """The place that a body names at `#/place`, or UnknownReference."""
    if name is None:
        return None
    found = tx.execute(select(places.c.id).where(named(tx, places, name))).scalar_one_or_none()
    if found is None:
        raise UnknownReference("place", "#/place")
    return UUID(str(found))
