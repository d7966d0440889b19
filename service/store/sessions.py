"""Sessions: training days on dates, with their slots as rows."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from typing import Any, Literal, TypeVar
from uuid import UUID

from sqlalchemy import Date, Float, Select, SmallInteger, Text, Uuid, bindparam, cast, delete, select, text, update
from sqlalchemy import tuple_ as row_of
from sqlalchemy.dialects.postgresql import ARRAY

from service.core.records import SessionKind
from service.core.slots import Slot, WeekPlan
from service.core.units import Number, tidy
from service.store import states
from service.store.errors import ChangedMeanwhile, Conflict, NotFound
from service.store.ids import new_id, new_ids
from service.store.naming import as_id
from service.store.plans import slot_json
from service.store.session import Tx
from service.store.tables import sessions, sets

T = TypeVar("T")
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
    """A session to be stored; `slots` are `slot_row`s, made once and shared by all who get the same."""

    id: UUID
    athlete: UUID
    kind: SessionKind
    date: Day
    name: str
    slots: Sequence[tuple[str, str]]
    block: UUID | None = None
    week: int | None = None
    number: int | None = None
    place: UUID | None = None
    plan_note: str | None = None


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
INSERT INTO sessions (gym_id, state, id, athlete_id, block_id, week, number, kind, date, name, place_id, plan_note)
SELECT :gym, 'planned', t.* FROM unnest(:id, :athlete, :block, :week, :number, :kind, :date, :name, :place, :plan_note)
  AS t (id, athlete_id, block_id, week, number, kind, date, name, place_id, plan_note)
""").bindparams(
    bindparam("gym", type_=Uuid()),
    *(bindparam(name, type_=ARRAY(Uuid())) for name in ("id", "athlete", "block", "place")),
    *(bindparam(name, type_=ARRAY(SmallInteger())) for name in ("week", "number")),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("kind", "name", "plan_note")),
    bindparam("date", type_=ARRAY(Date())),
)
ADD_SLOTS = text("""
INSERT INTO slots (gym_id, id, session_id, position, lift, body)
SELECT :gym, t.id, t.session_id, t.position, t.lift, CAST(t.body AS json)
  FROM unnest(:id, :session, :position, :lift, :body) AS t (id, session_id, position, lift, body)
""").bindparams(
    bindparam("gym", type_=Uuid()),
    *(bindparam(name, type_=ARRAY(Uuid())) for name in ("id", "session")),
    bindparam("position", type_=ARRAY(SmallInteger())),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("lift", "body")),
)
ADD_ALIKE = text("""
WITH line AS MATERIALIZED (
  SELECT t.at, t.position, t.lift, CAST(t.body AS json) AS body
    FROM unnest(CAST(:at AS integer[]), :position, :lift, :body) AS t (at, position, lift, body)
)
INSERT INTO slots (gym_id, id, session_id, position, lift, body)
SELECT :gym, t.id, t.session_id, line.position, line.lift, line.body
  FROM unnest(CAST(:ids AS uuid[]), CAST(:sessions AS uuid[]), CAST(:lines AS integer[])) AS t (id, session_id, at)
  JOIN line USING (at)
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("position", type_=ARRAY(SmallInteger())),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("lift", "body")),
    *(bindparam(name, type_=Text()) for name in ("at", "ids", "sessions", "lines")),
)
DAYS_OF = text("""
SELECT athlete_id, array_agg(DISTINCT date ORDER BY date) AS days FROM sessions
 WHERE gym_id = :gym AND athlete_id = ANY(:athletes) AND date = ANY(:days) AND state IN ('planned', 'open')
 GROUP BY athlete_id
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("athletes", type_=ARRAY(Uuid())),
    bindparam("days", type_=ARRAY(Date())),
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


def slot_row(slot: Slot) -> tuple[str, str]:
    """A slot as its row keeps it: the lift, and the body as JSON."""
    return slot.lift, json.dumps(slot_json(slot), ensure_ascii=False, separators=(",", ":"))


def slot_rows(weeks: Sequence[WeekPlan]) -> dict[tuple[int, int], list[tuple[str, str]]]:
    """The slots of all sessions as rows keep them, by week and number from 1; those that are one object once."""
    written: dict[int, tuple[str, str]] = {}
    rows: dict[tuple[int, int], list[tuple[str, str]]] = {}
    for week, one in enumerate(weeks, 1):
        for number, session in enumerate(one.sessions, 1):
            rows[week, number] = own = []
            for slot in session.slots:
                row = written.get(id(slot))
                if row is None:
                    row = written[id(slot)] = slot_row(slot)
                own.append(row)
    return rows


def add_many(tx: Tx, new: Sequence[NewSession]) -> None:
    """Store sessions with their slots, thousands of rows in one statement."""
    names = ("id", "athlete", "block", "week", "number", "kind", "date", "name", "place", "plan_note")
    for some in _chunks(new):
        columns = {name: [getattr(one, name) for one in some] for name in names}
        tx.execute(ADD_SESSIONS, {"gym": tx.gym, **columns})
    rows = ((one.id, at, *slot) for one in new for at, slot in enumerate(one.slots, 1))
    for part in _chunks(rows):
        ids, at, lifts, bodies = zip(*part, strict=True)
        columns = {"id": [new_id() for _ in ids], "session": list(ids), "position": list(at)}
        tx.execute(ADD_SLOTS, {"gym": tx.gym, **columns, "lift": list(lifts), "body": list(bodies)})


def add_alike(tx: Tx, new: Sequence[NewSession], slots: Mapping[tuple[int, int], Sequence[tuple[str, str]]]) -> None:
    """Store sessions of blocks that are laid out alike; `slots` are the `slot_row`s by week and number.

    What a slot asks for goes to the database once, however many athletes get it.
    """
    add_many(tx, new)
    lines: dict[tuple[int, int], range] = {}
    columns: list[tuple[int, str, str]] = []
    for place in dict.fromkeys((one.week or 0, one.number or 0) for one in new):
        lines[place] = range(len(columns), len(columns) + len(slots[place]))
        columns.extend((position, *row) for position, row in enumerate(slots[place], 1))
    by_session = ((one.id.hex, lines[one.week or 0, one.number or 0]) for one in new)
    rows = ((identity, line) for identity, own in by_session for line in own)
    for part in _chunks(rows):
        used = sorted({line for _, line in part})
        positions, words, bodies = zip(*(columns[line] for line in used), strict=True)
        tx.execute(
            ADD_ALIKE,
            {
                "gym": tx.gym,
                "at": _array(used),
                "position": list(positions),
                "lift": list(words),
                "body": list(bodies),
                "ids": _array(new_ids(len(part))),
                "sessions": _array(identity for identity, _ in part),
                "lines": _array(line for _, line in part),
            },
        )


def _array(values: Iterable[object]) -> str:
    """Ids and numbers of our own as the text of an array: thousands of them take no time to write."""
    return "{" + ",".join(map(str, values)) + "}"


def days_of(tx: Tx, athletes: Sequence[UUID], days: Sequence[date]) -> dict[UUID, tuple[date, ...]]:
    """Return on which of these days each of these athletes has a session to come; who has none is absent."""
    rows = tx.execute(DAYS_OF, {"gym": tx.gym, "athletes": list(athletes), "days": list(days)})
    return {row.athlete_id: tuple(row.days) for row in rows}


def _chunks(items: Iterable[T]) -> Iterator[list[T]]:
    left = iter(items)
    while some := list(islice(left, ROWS_AT_ONCE)):
        yield some


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
    tx.execute(delete(sessions).where(sessions.c.gym_id == tx.gym, sessions.c.id == found.id))
