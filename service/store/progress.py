"""What was done before in slots whose load grows from session to session."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import ARRAY, Date, Integer, Text, Uuid, bindparam, text

from service.core.plan.sizes import work_sets
from service.core.prescribe.add_load import DAYS_BACK, SESSIONS_BACK, DoneThen, summed
from service.core.records import WORK_ROLES, PastWork
from service.core.slots import Slot
from service.core.units import load
from service.store.hot import Hot
from service.store.plans import SLOT
from service.store.session import Tx

PROGRESS = Hot(
    text("""
SELECT d.slot, d.day, d.body, t.lift, CAST(t.load_value AS float8) AS load_value, t.load_unit, t.reps
  FROM unnest(:lifts) AS w (lift)
  CROSS JOIN LATERAL (
    SELECT n.id AS slot, CAST(n.body AS text) AS body, max(e.local_date) AS day
      FROM sets e JOIN slots n ON n.gym_id = e.gym_id AND n.id = e.slot_id
     WHERE e.gym_id = :gym AND e.athlete_id = :athlete AND e.lift = w.lift AND e.local_date >= :since
       AND e.local_date < :on AND e.deleted_at IS NULL AND e.role = ANY(:roles)
       AND e.session_id IS DISTINCT FROM :session AND n.body->'scheme'->'add_load' IS NOT NULL
     GROUP BY n.gym_id, n.id ORDER BY max(e.local_date) DESC, n.id DESC LIMIT :most
  ) d
  JOIN sets t ON t.gym_id = :gym AND t.athlete_id = :athlete AND t.slot_id = d.slot AND t.lift = w.lift
       AND t.local_date >= :since AND t.deleted_at IS NULL AND t.role = ANY(:roles) AND t.load_value IS NOT NULL
       AND t.method NOT IN ('drop_set', 'rest_pause') AND (t.doubt IS NULL OR t.doubt_answer = 'confirmed')
 ORDER BY d.day, d.slot, t.at, t.id
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete", "session")),
        *(bindparam(name, type_=ARRAY(Text())) for name in ("lifts", "roles")),
        *(bindparam(name, type_=Date()) for name in ("since", "on")),
        bindparam("most", type_=Integer()),
    )
)

ASKED = Hot(
    text("""
SELECT n.id AS slot, (
    SELECT count(*) FROM json_array_elements(p.answer->(
      SELECT CAST(count(*) AS integer) FROM slots b
       WHERE b.gym_id = n.gym_id AND b.session_id = n.session_id AND b.position < n.position
    )->'sets') AS s WHERE s->>'role' = ANY(:roles)
  ) AS asked
  FROM slots n
  JOIN sessions x ON x.gym_id = n.gym_id AND x.id = n.session_id
  JOIN prescriptions p ON p.gym_id = x.gym_id AND p.id = x.prescription_id
 WHERE n.gym_id = :gym AND n.id = ANY(:slots)
""").bindparams(
        bindparam("gym", type_=Uuid()),
        bindparam("roles", type_=ARRAY(Text())),
        bindparam("slots", type_=ARRAY(Uuid())),
    )
)
"""How many work sets were prescribed: a session may have been shortened."""


def progress(
    tx: Tx, athlete: UUID, lifts: Iterable[str], *, on: date, session: UUID | None = None
) -> tuple[PastWork, ...]:
    """Return the last sessions before a day in which loads of these lifts grew, oldest first, in one or two statements.

    Parameters
    ----------
    tx : Tx
        The transaction.
    athlete : UUID
        Whose.
    lifts : iterable of str
        What was lifted.
    on : date
        The athlete's day; only days before it count, and no more than 120 back.
    session : UUID or None
        Left out.

    Returns
    -------
    tuple of PastWork
        One for each slot that was worked in. Sets that are in doubt, drop sets and rest-pause sets are no repetitions
        that count.
    """
    values = {
        "gym": tx.gym, "athlete": athlete, "lifts": list(lifts), "roles": sorted(WORK_ROLES), "session": session,
        "since": on - timedelta(days=DAYS_BACK), "on": on, "most": SESSIONS_BACK,
    }  # fmt: skip
    found: dict[tuple[UUID, str], list[Any]] = {}
    for row in tx.execute(PROGRESS, values):
        found.setdefault((row.slot, row.lift), []).append(row)
    slots = {slot: SLOT.validate_json(rows[0].body) for (slot, _), rows in found.items()}
    fewer = [slot for (slot, _), rows in found.items() if len(rows) < work_sets(slots[slot])]
    asked: dict[UUID, int] = {}
    if fewer:
        asked = {row.slot: row.asked for row in tx.execute(ASKED, {**values, "slots": fewer})}
    done = (_summed(rows, slots[slot], asked.get(slot)) for (slot, _), rows in found.items())
    return tuple(sorted((one for one in done if one is not None), key=lambda one: one.on))


def _summed(rows: list[Any], slot: Slot, asked: int | None) -> PastWork | None:
    first = rows[0]
    sets = [DoneThen(load(row.load_value, row.load_unit), row.reps) for row in rows]
    return summed(slot, first.lift, first.day, sets, sets_asked=asked or None)
