"""A set's record as columns of its table, and back."""

from __future__ import annotations

from datetime import UTC, timedelta, timezone
from typing import Any

from sqlalchemy import Float, cast

from service.core.units import Number, load, tidy
from service.store.loads import load_columns
from service.store.set_records import Doubt, DoubtAnswer, LoggedSet, Shown, StoredSet
from service.store.tables import sets

COLUMNS = (
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
    cast(sets.c.metres, Float).label("metres"),
    cast(sets.c.rpe, Float).label("rpe"),
    cast(sets.c.rir, Float).label("rir"),
    sets.c.or_more,
    sets.c.felt,
    sets.c.made,
    sets.c.ended_by,
    sets.c.pain,
    sets.c.method,
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
    sets.c.by_ladder,
    (sets.c.deleted_at.is_not(None)).label("deleted"),
)


def _number(value: float | None) -> Number | None:
    return None if value is None else tidy(value)


def stored_from(row: Any) -> StoredSet:
    """The record of a row of `COLUMNS`, in their order."""
    (
        identity, version, athlete, session, slot, lift, role, load_value, load_unit, reps, seconds, metres, rpe, rir,
        or_more, felt, made, ended_by, pain, method, support, note, shown, doubt, answer, at,
        offset, on, prescription, support_class, stack, expected, by_ladder, deleted,
    ) = row  # fmt: skip
    logged = LoggedSet(
        id=identity, version=version, athlete=athlete, session=session, slot=slot, lift=lift, role=role,
        load=None if load_value is None else load(load_value, load_unit), reps=reps, seconds=seconds,
        metres=_number(metres), rpe=_number(rpe), rir=_number(rir), or_more=or_more, felt=felt,
        made=made, ended_by=ended_by, pain=pain, method=method,
        support=tuple(support), note=note, shown=None if shown is None else _shown(shown),
        at=at.astimezone(timezone(timedelta(minutes=offset)) if offset else UTC), date=on,
        doubt=None if doubt is None else _doubt(doubt, answer),
    )  # fmt: skip
    return StoredSet(
        set=logged, prescription=prescription, support_class=support_class, stack=stack, expected_rpe=expected,
        by_ladder=by_ladder, deleted=deleted,
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


def columns_of(stored: StoredSet) -> dict[str, Any]:
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
        "role": s.role, "reps": s.reps, "seconds": s.seconds, "metres": s.metres, "rpe": s.rpe, "rir": s.rir,
        "or_more": s.or_more, "felt": s.felt, "made": s.made, "ended_by": s.ended_by, "pain": s.pain,
        "method": s.method, "support": list(s.support),
        "support_class": stored.support_class, "stack": stored.stack, "expected_rpe": stored.expected_rpe,
        "by_ladder": stored.by_ladder, "note": s.note, "shown": shown,
        "doubt": None if s.doubt is None else doubt_json(s.doubt),
        "doubt_answer": None if s.doubt is None else s.doubt.answer, "at": s.at,
        "at_offset_minutes": int(offset.total_seconds() // 60), "local_date": s.date, **load_columns(s.load),
    }  # fmt: skip
