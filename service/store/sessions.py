"""Sessions: training days on dates, each with what it plans."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import (
    Date,
    Float,
    Integer,
    Select,
    SmallInteger,
    Text,
    Uuid,
    bindparam,
    cast,
    delete,
    select,
    text,
    update,
)
from sqlalchemy import tuple_ as row_of
from sqlalchemy.dialects.postgresql import ARRAY

from service.core.records import SessionKind
from service.core.slots import Slot, WeekPlan
from service.core.units import Number, tidy
from service.store import session_plans, states
from service.store.errors import ChangedMeanwhile, Conflict, NotFound
from service.store.naming import as_id
from service.store.plans import slot_json
from service.store.session import Tx
from service.store.session_plans import NewSlot, SlotText
from service.store.tables import sessions, sets

Day = date  # a record's own field may be called date
State = Literal["planned", "open", "finished", "skipped"]
ROWS_AT_ONCE = 5000  # keeps each statement far below its time limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A training day, without its slots."""

    id: UUID
    """Our id."""
    athlete: UUID
    """Whose it is."""
    block: UUID | None
    """The block that it is part of; null outside of one."""
    week: int | None
    """Week of the block, from 1."""
    number: int | None
    """Number of the session in its week, from 1."""
    kind: SessionKind
    """`block`, `free`, `first`, `test` or `meet`."""
    state: State
    """`planned`, `open`, `finished` or `skipped`."""
    date: Day
    """The athlete's day."""
    name: str
    """What the session is called."""
    place: UUID | None
    """Where; null while planned: where the athlete trains by default."""
    plan_note: str | None
    """The coach's words."""
    minutes_available: int | None
    """The time that there is; null: as planned. [minutes]"""
    session_rpe: Number | None
    """How hard the whole session was. [RPE]"""
    minutes: int | None
    """How long it took. [minutes]"""
    note: str | None
    """The lifter's words."""
    opened_at: datetime | None
    """When its loads were kept."""
    finished_at: datetime | None
    """When it was finished."""
    version: int
    """What `If-Match` takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewSession:
    """A session to be stored with a plan of its own; `slots` are `slot_row`s."""

    id: UUID
    athlete: UUID
    kind: SessionKind
    date: Day
    name: str
    slots: Sequence[SlotText]
    block: UUID | None = None
    week: int | None = None
    number: int | None = None
    place: UUID | None = None
    plan_note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AlikeSession:
    """A session that many athletes get alike, on one day."""

    week: int
    number: int
    kind: SessionKind
    date: Day
    name: str
    place: UUID | None
    plan: UUID | None
    """The plan that all of them share."""
    plan_note: str | None


_COLUMNS = (
    sessions.c.id,
    sessions.c.athlete_id.label("athlete"),
    sessions.c.block_id.label("block"),
    sessions.c.week,
    sessions.c.number,
    sessions.c.kind,
    sessions.c.state,
    sessions.c.date,
    sessions.c.name,
    sessions.c.place_id.label("place"),
    sessions.c.plan_note,
    sessions.c.minutes_available,
    cast(sessions.c.session_rpe, Float).label("session_rpe"),
    sessions.c.minutes,
    sessions.c.note,
    sessions.c.opened_at,
    sessions.c.finished_at,
    sessions.c.version,
)
ONE = select(*_COLUMNS).where(sessions.c.gym_id == bindparam("gym"), sessions.c.id == bindparam("id"))

ADD_SESSIONS = text("""
INSERT INTO sessions
  (gym_id, state, id, athlete_id, block_id, week, number, kind, date, name, place_id, plan_id, plan_note)
SELECT :gym, 'planned', t.*
  FROM unnest(:id, :athlete, :block, :week, :number, :kind, :date, :name, :place, :plan, :plan_note)
    AS t (id, athlete_id, block_id, week, number, kind, date, name, place_id, plan_id, plan_note)
""").bindparams(
    bindparam("gym", type_=Uuid()),
    *(bindparam(name, type_=ARRAY(Uuid())) for name in ("id", "athlete", "block", "place", "plan")),
    *(bindparam(name, type_=ARRAY(SmallInteger())) for name in ("week", "number")),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("kind", "name", "plan_note")),
    bindparam("date", type_=ARRAY(Date())),
)
ADD_ALIKE = text("""
INSERT INTO sessions
  (gym_id, state, id, athlete_id, block_id, week, number, kind, date, name, place_id, plan_id, plan_note)
SELECT :gym, 'planned', one.id, who.athlete, who.block, d.week, d.number, d.kind, d.date, d.name, d.place, d.plan,
       d.plan_note
  FROM unnest(CAST(:ids AS uuid[])) WITH ORDINALITY AS one (id, at)
  JOIN unnest(:athletes, :blocks) WITH ORDINALITY AS who (athlete, block, at) ON who.at = (one.at - 1) / :days + 1
  JOIN unnest(:week, :number, :kind, :date, :name, :place, :plan, :plan_note) WITH ORDINALITY
       AS d (week, number, kind, date, name, place, plan, plan_note, at) ON d.at = (one.at - 1) % :days + 1
""").bindparams(
    *(bindparam(name, type_=kind) for name, kind in (("gym", Uuid()), ("ids", Text()), ("days", Integer()))),
    *(bindparam(name, type_=ARRAY(Uuid())) for name in ("athletes", "blocks", "place", "plan")),
    *(bindparam(name, type_=ARRAY(SmallInteger())) for name in ("week", "number")),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("kind", "name", "plan_note")),
    bindparam("date", type_=ARRAY(Date())),
)
"""What all have alike goes to the database once, however many get it."""
STANDING = text("""
SELECT athlete_id, array_agg(DISTINCT date ORDER BY date) FILTER (WHERE date = ANY(:days)) AS days,
       bool_or(block_id IS NOT NULL) AS in_block
  FROM sessions
 WHERE gym_id = :gym AND athlete_id = ANY(:athletes) AND date BETWEEN :first AND :last AND state IN ('planned', 'open')
 GROUP BY athlete_id
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("athletes", type_=ARRAY(Uuid())),
    bindparam("days", type_=ARRAY(Date())),
    bindparam("first", type_=Date()),
    bindparam("last", type_=Date()),
)
"""Arrays and one statement for thousands of rows: a block for hundreds of athletes is laid out in seconds."""


def _record(row: Mapping[Any, Any]) -> Session:
    values = dict(row)
    if values["session_rpe"] is not None:
        values["session_rpe"] = tidy(values["session_rpe"])
    return Session(**values)


def get(tx: Tx, session: str | UUID) -> Session:
    """Return one session (a bound key: of its own athlete only), or raise NotFound."""
    identity = as_id(session) if isinstance(session, str) else session
    row = tx.execute(ONE, {"gym": tx.gym, "id": identity}).mappings().one_or_none()
    if row is None or tx.caller.athlete not in (None, row["athlete"]):
        raise NotFound("session")
    return _record(row)


def of_athlete(
    tx: Tx,
    athlete: UUID,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    since: date | None = None,
    until: date | None = None,
    state: State | None = None,
) -> list[Session]:
    """Return up to `limit` sessions of an athlete by date, starting past `after` (date, id); both days included."""
    query = _page(after, limit).where(sessions.c.gym_id == tx.gym, sessions.c.athlete_id == athlete)
    if since is not None:
        query = query.where(sessions.c.date >= since)
    if until is not None:
        query = query.where(sessions.c.date <= until)
    if state is not None:
        query = query.where(sessions.c.state == state)
    return [_record(row) for row in tx.execute(query).mappings()]


def of_block(tx: Tx, block: UUID, *, after: tuple[str, ...] | None, limit: int) -> list[Session]:
    """Return up to `limit` sessions of a block by date, starting past `after` (date, id)."""
    query = _page(after, limit).where(sessions.c.gym_id == tx.gym, sessions.c.block_id == block)
    return [_record(row) for row in tx.execute(query).mappings()]


def _page(after: tuple[str, ...] | None, limit: int) -> Select[Any]:
    query = select(*_COLUMNS).order_by(sessions.c.date, sessions.c.id).limit(limit)
    if after is None:
        return query
    # Compared as text, so that a cursor that somebody made up cannot be anything but a text.
    return query.where(row_of(cast(sessions.c.date, Text), cast(sessions.c.id, Text)) > tuple((*after, "", "")[:2]))


def with_open(tx: Tx, athletes: Sequence[UUID]) -> list[UUID]:
    """Which of these athletes have an open session, in the order of their ids."""
    query = (
        select(sessions.c.athlete_id)
        .where(sessions.c.gym_id == tx.gym, sessions.c.athlete_id.in_(athletes), sessions.c.state == "open")
        .distinct()
        .order_by(sessions.c.athlete_id)
    )
    return list(tx.execute(query).scalars())


def slot_row(slot: Slot) -> SlotText:
    """A slot as its row keeps it: the lift, and the body as JSON."""
    return slot.lift, json.dumps(slot_json(slot), ensure_ascii=False, separators=(",", ":"))


class Written:
    """Slots as rows keep them, each object once: a template's slots come again week after week."""

    def __init__(self) -> None:
        self._rows: dict[int, tuple[Slot, SlotText]] = {}

    def row(self, slot: Slot) -> SlotText:
        """A slot as its row keeps it."""
        found = self._rows.get(id(slot))
        if found is None:
            found = self._rows[id(slot)] = slot, slot_row(slot)  # the slot too: its id stays its own
        return found[1]


def slot_rows(weeks: Sequence[WeekPlan]) -> dict[tuple[int, int], list[SlotText]]:
    """The slots of all sessions as rows keep them, by week and number from 1; those that are one object once."""
    written = Written()
    return {
        (week, number): [written.row(slot) for slot in session.slots]
        for week, one in enumerate(weeks, 1)
        for number, session in enumerate(one.sessions, 1)
    }


def add_many(tx: Tx, new: Sequence[NewSession]) -> None:
    """Store sessions, each with a plan of its own, thousands of rows in one statement."""
    plans = session_plans.add(tx, [[NewSlot(slot) for slot in one.slots] for one in new])
    names = ("id", "athlete", "block", "week", "number", "kind", "date", "name", "place", "plan_note")
    for first in range(0, len(new), ROWS_AT_ONCE):
        some = new[first : first + ROWS_AT_ONCE]
        columns = {name: [getattr(one, name) for one in some] for name in names}
        tx.execute(ADD_SESSIONS, {"gym": tx.gym, **columns, "plan": plans[first : first + ROWS_AT_ONCE]})


def add_alike(
    tx: Tx, days: Sequence[AlikeSession], athletes: Sequence[UUID], blocks: Sequence[UUID], ids: Iterable[UUID]
) -> None:
    """Store the same sessions for many athletes, in one statement.

    `blocks` has the block of each of the athletes, `ids` the session of each day of the first, then of the second.
    """
    names = ("week", "number", "kind", "date", "name", "place", "plan", "plan_note")
    columns = {name: [getattr(one, name) for one in days] for name in names}
    # our own ids as the text of an array: thousands of them take no time to write
    written = "{" + ",".join([one.hex for one in ids]) + "}"
    many = {"athletes": list(athletes), "blocks": list(blocks), "ids": written, "days": len(days)}
    tx.execute(ADD_ALIKE, {"gym": tx.gym, **columns, **many})


@dataclass(frozen=True, slots=True)
class Standing:
    """What an athlete has to come already."""

    days: tuple[date, ...]
    """On which of the days that were asked for."""
    in_block: bool
    """Whether any session between the first and the last of them is part of a block."""


def standing(tx: Tx, athletes: Sequence[UUID], days: Sequence[date]) -> dict[UUID, Standing]:
    """Return what these athletes have to come on these days, one or more, and between; who has nothing is absent."""
    values = {"gym": tx.gym, "athletes": list(athletes), "days": list(days), "first": min(days), "last": max(days)}
    return {row.athlete_id: Standing(tuple(row.days or ()), row.in_block) for row in tx.execute(STANDING, values)}


def change(tx: Tx, session: UUID, values: Mapping[str, Any]) -> None:
    """Write some columns of a session and count its version up; the caller holds the athlete's lock."""
    tx.execute(
        update(sessions)
        .where(sessions.c.gym_id == tx.gym, sessions.c.id == session)
        .values(version=sessions.c.version + 1, **values)
    )


def remove(tx: Tx, session: str, *, expected: int | None) -> None:
    """Remove a session outside of a block in which nothing was ever logged."""
    states.lock(tx, get(tx, session).athlete)  # no set may come in between
    found = get(tx, session)
    if expected is not None and expected != found.version:
        raise ChangedMeanwhile(found.version)
    if found.block is not None:
        raise Conflict("This session is part of a block: skip it instead.")
    logged = select(sets.c.id).where(sets.c.gym_id == tx.gym, sets.c.session_id == found.id).limit(1)
    if tx.execute(logged).first() is not None:
        raise Conflict("Sets were logged in this session: it stays.")
    plans = session_plans.hold(tx, sessions=[found.id])
    tx.execute(delete(sessions).where(sessions.c.gym_id == tx.gym, sessions.c.id == found.id))
    session_plans.drop_unused(tx, plans)
