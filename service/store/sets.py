"""Logged sets: what was done, with its history; an id that was deleted is never used again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import Select, bindparam, insert, select, tuple_, update
from sqlalchemy.exc import IntegrityError

from service.core.model.memory import LiftMemory
from service.core.model.state import Person
from service.store.errors import Conflict, NotFound
from service.store.hot import Hot
from service.store.memories import Before, before_json, lift_json, person_json
from service.store.naming import as_id
from service.store.session import Tx, constraint
from service.store.set_columns import COLUMNS, columns_of, stored_from
from service.store.set_records import Entry, LoggedSet, StoredSet
from service.store.set_statements import TAKE_IN
from service.store.states import LiftState, state_json
from service.store.tables import body_weights, set_entries, sets

LOGGED: TypeAdapter[LoggedSet] = TypeAdapter(LoggedSet)

_GYM = sets.c.gym_id == bindparam("gym")
_KEPT = sets.c.deleted_at.is_(None)
_ORDER = (sets.c.local_date, sets.c.at, sets.c.id)
ONE = Hot(select(*COLUMNS).where(_GYM, sets.c.id == bindparam("id")))
OF_SESSION = Hot(select(*COLUMNS).where(_GYM, sets.c.session_id == bindparam("session"), _KEPT).order_by(*_ORDER))


def of_session(tx: Tx, session: UUID) -> list[StoredSet]:
    """Return a session's sets in the order in which they were done."""
    return [stored_from(row) for row in tx.execute(OF_SESSION, {"gym": tx.gym, "session": session})]


def body_kg(tx: Tx, athlete: UUID, on: date) -> float | None:
    """Return the latest body weight on or before a day. [kg]"""
    query = select(body_weights.c.load_kg).where(body_weights.c.gym_id == tx.gym, body_weights.c.athlete_id == athlete)
    query = query.where(body_weights.c.date <= on).order_by(body_weights.c.date.desc()).limit(1)
    found = tx.execute(query).scalar_one_or_none()
    return None if found is None else float(found)


def find(tx: Tx, identity: UUID) -> StoredSet | None:
    """Return a set of the gym by its id, a deleted one too, or None.

    A bound key: one of another athlete is NotFound, so that a phone can neither read nor overwrite it.
    """
    row = tx.execute(ONE, {"gym": tx.gym, "id": identity}).one_or_none()
    if row is None:
        return None
    if tx.caller.athlete is not None and row.athlete_id != tx.caller.athlete:
        raise NotFound("set")
    return stored_from(row)


def get(tx: Tx, name: str) -> StoredSet:
    """Return a set that is not deleted, or raise NotFound."""
    identity = as_id(name)
    found = None if identity is None else find(tx, identity)
    if found is None or found.deleted:
        raise NotFound("set")
    return found


def read(tx: Tx, name: str) -> LoggedSet:
    """Return a set as it was logged, or raise NotFound."""
    return get(tx, name).set


def page(
    tx: Tx,
    athlete: UUID,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    lift: str | None = None,
    since: date | None = None,
    until: date | None = None,
    doubtful: bool = False,
) -> list[LoggedSet]:
    """Return up to `limit` sets of an athlete, the newest first, starting past `after` (moment, id).

    `doubtful`: only those with a question that nobody has answered.
    """
    query = select(*COLUMNS).where(sets.c.gym_id == tx.gym, sets.c.athlete_id == athlete, _KEPT)
    if lift is not None:
        query = query.where(sets.c.lift == lift)
    if since is not None:
        query = query.where(sets.c.local_date >= since)
    if until is not None:
        query = query.where(sets.c.local_date <= until)
    if doubtful:
        query = query.where(sets.c.doubt.is_not(None), sets.c.doubt_answer.is_(None))
    if after is not None:
        query = query.where(tuple_(sets.c.at, sets.c.id) < _place(after))
    return _page(tx, query.order_by(sets.c.at.desc(), sets.c.id.desc()), limit)


def session_page(tx: Tx, session: UUID, *, after: tuple[str, ...] | None, limit: int) -> list[LoggedSet]:
    """Return up to `limit` sets of a session in the order in which they were done, starting past `after`."""
    query = select(*COLUMNS).where(sets.c.gym_id == tx.gym, sets.c.session_id == session, _KEPT)
    if after is not None:
        query = query.where(tuple_(sets.c.at, sets.c.id) > _place(after))
    return _page(tx, query.order_by(sets.c.at, sets.c.id), limit)


def _place(after: tuple[str, ...]) -> tuple[datetime, UUID]:
    """Where a page begins; a cursor that somebody made up begins at the epoch."""
    try:
        at, identity = after
        return datetime.fromisoformat(at).astimezone(UTC), UUID(identity)
    except (ValueError, OverflowError):
        return datetime.fromtimestamp(0, UTC), UUID(int=0)


def _page(tx: Tx, query: Select[Any], limit: int) -> list[LoggedSet]:
    return [stored_from(row).set for row in tx.execute(query.limit(limit))]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taught:
    """What a new set changed, with the set in it; None: unchanged."""

    state: LiftState | None = None
    """The moving average."""
    day_kg: float | None = None
    """The max that this set gives its day, effective. [kg]"""
    person: Person | None = None
    """The athlete's model; then all of the next two are there too."""
    lift: LiftMemory | None = None
    before: Before | None = None


NOTHING = Taught()


def add(tx: Tx, stored: StoredSet, taught: Taught = NOTHING) -> None:
    """Store a set with its first entry, and in the same statement what it changed.

    The caller holds the athlete's lock. Raises Conflict where another athlete has the id.
    """
    row = columns_of(stored)
    row |= {
        "shown": None if row["shown"] is None else json.dumps(row["shown"]),
        "doubt": None if row["doubt"] is None else json.dumps(row["doubt"]),
        "gym": tx.gym,
        "id": stored.set.id,
        "athlete": stored.set.athlete,
        "entry": LOGGED.dump_json(stored.set).decode(),
        "made_by": tx.caller.key_name,
        "state": None if taught.state is None else state_json(taught.state),
        "model": None if taught.lift is None else lift_json(taught.lift),
        "before": None if taught.before is None else before_json(taught.before),
        "person": None if taught.person is None else person_json(taught.person),
        "day_kg": taught.day_kg,
    }
    try:
        tx.execute(TAKE_IN, row)
    except IntegrityError as error:
        if constraint(error) == "sets_pkey":
            raise Conflict("This id is taken: make a new one for this set.") from error
        raise


def correct(tx: Tx, stored: StoredSet) -> None:
    """Write the next version of a set (`stored.set.version`), keeping all that came before."""
    changed = (
        update(sets)
        .where(sets.c.gym_id == tx.gym, sets.c.id == stored.set.id)
        .values(version=stored.set.version, **columns_of(stored))
    )
    tx.execute(changed)
    _keep(tx, stored)


def remove(tx: Tx, stored: StoredSet) -> None:
    """Delete a set; its id and history stay, so that the id is never used again."""
    tx.execute(
        update(sets)
        .where(sets.c.gym_id == tx.gym, sets.c.id == stored.set.id)
        .values(deleted_at=tx.now, version=stored.set.version + 1)
    )


def _keep(tx: Tx, stored: StoredSet) -> None:
    tx.execute(
        insert(set_entries).values(
            gym_id=tx.gym,
            set_id=stored.set.id,
            version=stored.set.version,
            entry=LOGGED.dump_python(stored.set, mode="json"),
            made_by=tx.caller.key_name,
        )
    )


def expect(tx: Tx, identity: UUID, expected_rpe: float | None, *, by_ladder: bool) -> None:
    """Write what words about a set's effort are read against, and whether a ladder asked for its load. [RPE]"""
    changed = update(sets).where(sets.c.gym_id == tx.gym, sets.c.id == identity)
    tx.execute(changed.values(expected_rpe=expected_rpe, by_ladder=by_ladder))


def history(tx: Tx, identity: UUID) -> list[Entry]:
    """Return every version of a set as it was entered, the first one first; of a deleted one too."""
    rows = tx.execute(
        select(set_entries.c.version, set_entries.c.entry, set_entries.c.made_by, set_entries.c.created_at)
        .where(set_entries.c.gym_id == tx.gym, set_entries.c.set_id == identity)
        .order_by(set_entries.c.version)
    )
    return [Entry(r.version, LOGGED.validate_python(r.entry), r.made_by, r.created_at) for r in rows]
