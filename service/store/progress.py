"""What was done before in slots whose load grows from session to session."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import ARRAY, Date, Integer, Text, Uuid, bindparam, text

from service.core.prescribe.add_load import DAYS_BACK, SESSIONS_BACK, DoneThen, summed
from service.core.records import WORK_ROLES, PastWork
from service.core.units import load
from service.store.hot import Hot
from service.store.plans import SLOT
from service.store.session import Tx

PROGRESS = Hot(
    text("""
SELECT d.slot, d.day, d.body, t.lift, CAST(t.load_value AS float8) AS load_value, t.load_unit, t.reps, a.asked
  FROM unnest(:lifts) AS w (lift)
  CROSS JOIN LATERAL (
    SELECT n.id AS slot, n.session_id AS session, n.position, CAST(n.body AS text) AS body, max(e.local_date) AS day
      FROM sets e JOIN slots n ON n.gym_id = e.gym_id AND n.id = e.slot_id
     WHERE e.gym_id = :gym AND e.athlete_id = :athlete AND e.lift = w.lift AND e.local_date >= :since
       AND e.local_date < :on AND e.deleted_at IS NULL AND e.role = ANY(:roles)
       AND e.session_id IS DISTINCT FROM :session AND n.body->'scheme'->'add_load' IS NOT NULL
     GROUP BY n.gym_id, n.id ORDER BY max(e.local_date) DESC, n.id DESC LIMIT :most
  ) d
  JOIN sets t ON t.gym_id = :gym AND t.athlete_id = :athlete AND t.slot_id = d.slot AND t.lift = w.lift
       AND t.local_date >= :since AND t.deleted_at IS NULL AND t.role = ANY(:roles) AND t.load_value IS NOT NULL
       AND t.method NOT IN ('drop_set', 'rest_pause') AND (t.doubt IS NULL OR t.doubt_answer = 'confirmed')
  LEFT JOIN LATERAL (
    SELECT count(*) FILTER (WHERE s->>'role' = ANY(:roles)) AS asked
      FROM sessions x
      JOIN prescriptions p ON p.gym_id = x.gym_id AND p.id = x.prescription_id
      CROSS JOIN LATERAL json_array_elements(p.answer->(
        SELECT CAST(count(*) AS integer) FROM slots b
         WHERE b.gym_id = :gym AND b.session_id = d.session AND b.position < d.position
      )->'sets') AS s
     WHERE x.gym_id = :gym AND x.id = d.session
  ) a ON true
 ORDER BY d.day, d.slot, t.at, t.id
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete", "session")),
        *(bindparam(name, type_=ARRAY(Text())) for name in ("lifts", "roles")),
        *(bindparam(name, type_=Date()) for name in ("since", "on")),
        bindparam("most", type_=Integer()),
    )
)
"""How many sets were asked is read from what was prescribed: a session may have been shortened."""


def progress(
    tx: Tx, athlete: UUID, lifts: Iterable[str], *, on: date, session: UUID | None = None
) -> tuple[PastWork, ...]:
    """Return the last sessions before a day in which the load of these lifts grew, oldest first, in one statement.

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
    done = (_summed(rows) for rows in found.values())
    return tuple(sorted((one for one in done if one is not None), key=lambda one: one.on))


def _summed(rows: list[Any]) -> PastWork | None:
    first = rows[0]
    sets = [DoneThen(load(row.load_value, row.load_unit), row.reps) for row in rows]
    return summed(SLOT.validate_json(first.body), first.lift, first.day, sets, sets_asked=first.asked or None)
