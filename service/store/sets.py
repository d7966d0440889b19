"""Logged sets: what was done, with its history; an id that was deleted is never used again."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import Float, Select, bindparam, cast, insert, select, tuple_, update
from sqlalchemy.exc import IntegrityError

from service.core.model.memory import LiftMemory
from service.core.model.state import Person
from service.core.units import Number, load, tidy
from service.store.errors import Conflict, NotFound
from service.store.hot import Hot
from service.store.loads import load_columns
from service.store.memories import Before, before_json, lift_json, person_json
from service.store.naming import as_id
from service.store.session import Tx, constraint
from service.store.set_records import Doubt, DoubtAnswer, Entry, LoggedSet, Shown, StoredSet
from service.store.set_statements import TAKE_IN
from service.store.states import LiftState, state_json
from service.store.tables import body_weights, set_entries, sets

LOGGED: TypeAdapter[LoggedSet] = TypeAdapter(LoggedSet)

_COLUMNS = (
    sets.c.id,
    sets.c.version,
    sets.c.athlete_id,
    sets.c.session_id,
    sets.c.slot_id,
    sets.c.lift,
    sets.c.role,
    cast(sets.c.load_value, Float).label("load_value"),
    sets.c.load_unit,
    sets.c.reps,
    sets.c.seconds,
    cast(sets.c.rpe, Float).label("rpe"),
    cast(sets.c.rir, Float).label("rir"),
    sets.c.or_more,
    sets.c.felt,
    sets.c.made,
    sets.c.ended_by,
    sets.c.pain,
    sets.c.support,
    sets.c.note,
    sets.c.shown,
    sets.c.doubt,
    sets.c.doubt_answer,
    sets.c.at,
    sets.c.at_offset_minutes,
    sets.c.local_date,
    sets.c.prescription_id,
    sets.c.support_class,
    sets.c.stack,
    cast(sets.c.expected_rpe, Float).label("expected_rpe"),
    (sets.c.deleted_at.is_not(None)).label("deleted"),
)
_GYM = sets.c.gym_id == bindparam("gym")
_KEPT = sets.c.deleted_at.is_(None)
_ORDER = (sets.c.local_date, sets.c.at, sets.c.id)
ONE = Hot(select(*_COLUMNS).where(_GYM, sets.c.id == bindparam("id")))
OF_SESSION = Hot(select(*_COLUMNS).where(_GYM, sets.c.session_id == bindparam("session"), _KEPT).order_by(*_ORDER))


def _number(value: float | None) -> Number | None:
    return None if value is None else tidy(value)


def _stored(row: Any) -> StoredSet:
    (
        identity, version, athlete, session, slot, lift, role, load_value, load_unit, reps, seconds, rpe, rir, or_more,
        felt, made, ended_by, pain, support, note, shown, doubt, answer, at,
        offset, on, prescription, support_class, stack, expected, deleted,
    ) = row  # fmt: skip
    logged = LoggedSet(
        id=identity, version=version, athlete=athlete, session=session, slot=slot, lift=lift, role=role,
        load=None if load_value is None else load(load_value, load_unit), reps=reps, seconds=seconds,
        rpe=_number(rpe), rir=_number(rir), or_more=or_more, felt=felt, made=made, ended_by=ended_by, pain=pain,
        support=tuple(support), note=note, shown=None if shown is None else _shown(shown),
        at=at.astimezone(timezone(timedelta(minutes=offset)) if offset else UTC), date=on,
        doubt=None if doubt is None else _doubt(doubt, answer),
    )  # fmt: skip
    return StoredSet(
        set=logged, prescription=prescription, support_class=support_class, stack=stack, expected_rpe=expected,
        deleted=deleted,
    )  # fmt: skip


def _shown(stored: dict[str, Any]) -> Shown:
    entered = stored.get("load")
    return Shown(None if entered is None else load(entered["value"], entered["unit"]), stored.get("reps"))


def _doubt(stored: dict[str, Any], answer: DoubtAnswer | None) -> Doubt:
    meant = stored["proposal"]
    proposal = None if meant is None else load(meant["value"], meant["unit"])
    return Doubt(stored["code"], stored["text"], proposal, answer)


def doubt_json(doubt: Doubt) -> dict[str, Any]:
    """The stored form of a doubt; its answer is a column of its own."""
    meant = doubt.proposal
    proposal = None if meant is None else {"value": meant.value, "unit": meant.unit}
    return {"code": doubt.code, "text": doubt.text, "proposal": proposal}


def of_session(tx: Tx, session: UUID) -> list[StoredSet]:
    """Return a session's sets in the order in which they were done."""
    return [_stored(row) for row in tx.execute(OF_SESSION, {"gym": tx.gym, "session": session})]


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
    return _stored(row)


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
    query = select(*_COLUMNS).where(sets.c.gym_id == tx.gym, sets.c.athlete_id == athlete, _KEPT)
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
    query = select(*_COLUMNS).where(sets.c.gym_id == tx.gym, sets.c.session_id == session, _KEPT)
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
    return [_stored(row).set for row in tx.execute(query.limit(limit))]


def _row(stored: StoredSet) -> dict[str, Any]:
    """The columns that an entry decides."""
    s = stored.set
    shown = None
    if s.shown is not None:
        entered = s.shown.load
        shown = {
            "load": None if entered is None else {"value": entered.value, "unit": entered.unit},
            "reps": s.shown.reps,
        }
    offset = s.at.utcoffset() or timedelta()
    return {
        "session_id": s.session, "slot_id": s.slot, "prescription_id": stored.prescription, "lift": s.lift,
        "role": s.role, "reps": s.reps, "seconds": s.seconds, "rpe": s.rpe, "rir": s.rir, "or_more": s.or_more,
        "felt": s.felt, "made": s.made, "ended_by": s.ended_by, "pain": s.pain, "support": list(s.support),
        "support_class": stored.support_class, "stack": stored.stack, "expected_rpe": stored.expected_rpe,
        "note": s.note, "shown": shown, "doubt": None if s.doubt is None else doubt_json(s.doubt),
        "doubt_answer": None if s.doubt is None else s.doubt.answer, "at": s.at,
        "at_offset_minutes": int(offset.total_seconds() // 60), "local_date": s.date, **load_columns(s.load),
    }  # fmt: skip


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
    row = _row(stored)
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
        .values(version=stored.set.version, **_row(stored))
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


def expect(tx: Tx, identity: UUID, expected_rpe: float | None) -> None:
    """Write what words about a set's effort are read against. [RPE]"""
    changed = update(sets).where(sets.c.gym_id == tx.gym, sets.c.id == identity)
    tx.execute(changed.values(expected_rpe=expected_rpe))


def history(tx: Tx, identity: UUID) -> list[Entry]:
    """Return every version of a set as it was entered, the first one first; of a deleted one too."""
    rows = tx.execute(
        select(set_entries.c.version, set_entries.c.entry, set_entries.c.made_by, set_entries.c.created_at)
        .where(set_entries.c.gym_id == tx.gym, set_entries.c.set_id == identity)
        .order_by(set_entries.c.version)
    )
    return [Entry(r.version, LOGGED.validate_python(r.entry), r.made_by, r.created_at) for r in rows]
