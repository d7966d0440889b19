"""What was done before in slots whose load grows from session to session, and in ladders of their lifts."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import ARRAY, Date, Double, Integer, Text, Uuid, bindparam, text

from service.core.context import Telling
from service.core.plan.sizes import work_sets
from service.core.prescribe.add_load import DAYS_BACK, SESSIONS_BACK, DoneThen, summed
from service.core.prescribe.enough import TELLING_RPE
from service.core.prescribe.from_ladder import Rung, found_by_ladder, is_ladder
from service.core.records import WORK_ROLES, PastWork
from service.core.slots import Slot
from service.core.units import load
from service.store.hot import Hot
from service.store.plans import SLOT
from service.store.session import Tx

PROGRESS = Hot(
    text("""
SELECT d.slot, d.day, d.body, t.lift, CAST(t.load_value AS float8) AS load_value, t.load_unit, t.reps,
       CAST(coalesce(t.rir, 10 - t.rpe) AS float8) AS left_over, t.felt, t.made, t.ended_by, t.pain
  FROM unnest(:lifts) AS w (lift)
  CROSS JOIN LATERAL (
    SELECT n.id AS slot, CAST(n.body AS text) AS body, max(e.local_date) AS day
      FROM sets e JOIN slots n ON n.gym_id = e.gym_id AND n.id = e.slot_id
     WHERE e.gym_id = :gym AND e.athlete_id = :athlete AND e.lift = w.lift AND e.local_date >= :since
       AND e.local_date < :on AND e.deleted_at IS NULL AND e.role = ANY(:roles)
       AND e.session_id IS DISTINCT FROM :session
       AND (n.body->'scheme'->'add_load' IS NOT NULL OR n.body->'scheme'->>'kind' = 'ladder')
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
       WHERE b.gym_id = n.gym_id AND b.plan_id = n.plan_id AND b.position < n.position
    )->'sets') AS s WHERE s->>'role' = ANY(:roles)
  ) AS asked
  FROM slots n
  JOIN sessions x ON x.gym_id = n.gym_id AND x.plan_id = n.plan_id AND x.athlete_id = :athlete
  JOIN prescriptions p ON p.gym_id = x.gym_id AND p.id = x.prescription_id
 WHERE n.gym_id = :gym AND n.id = ANY(:slots)
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete")),
        bindparam("roles", type_=ARRAY(Text())),
        bindparam("slots", type_=ARRAY(Uuid())),
    )
)
"""How many work sets were prescribed: a session may have been shortened."""

TOLD = Hot(
    text("""
SELECT s.lift, s.support_class, count(*) AS sets, count(DISTINCT s.local_date) AS days
  FROM sets s
 WHERE s.gym_id = :gym AND s.athlete_id = :athlete AND s.lift = ANY(:lifts) AND s.local_date >= :since
   AND s.local_date < :on AND s.deleted_at IS NULL AND s.role <> 'warm_up' AND s.load_value IS NOT NULL
   AND s.method = 'straight' AND s.pain <> 'stop' AND (s.doubt IS NULL OR s.doubt_answer = 'confirmed')
   AND (s.ended_by = 'strength' OR (s.made AND s.ended_by = 'choice' AND coalesce(s.rpe, 10 - s.rir,
        s.expected_rpe + CASE s.felt WHEN 'lighter' THEN -1 WHEN 'heavier' THEN 1 ELSE 0 END) >= :rpe))
 GROUP BY s.lift, s.support_class
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete")),
        bindparam("lifts", type_=ARRAY(Text())),
        *(bindparam(name, type_=Date()) for name in ("since", "on")),
        bindparam("rpe", type_=Double()),
    )
)
"""How many sets tell how strong somebody is: those that were hard enough for a number of repetitions left to count."""


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
        One for each slot that was worked in; a ladder's, where it found a working load. Sets that are in doubt, drop
        sets and rest-pause sets are no repetitions that count.
    """
    values = {
        "gym": tx.gym, "athlete": athlete, "lifts": list(lifts), "roles": sorted(WORK_ROLES), "session": session,
        "since": on - timedelta(days=DAYS_BACK), "on": on, "most": SESSIONS_BACK,
    }  # fmt: skip
    found: dict[tuple[UUID, str], list[Any]] = {}
    for row in tx.execute(PROGRESS, values):
        found.setdefault((row.slot, row.lift), []).append(row)
    slots = {slot: SLOT.validate_json(rows[0].body) for (slot, _), rows in found.items()}
    fewer = [
        slot for (slot, _), rows in found.items() if not is_ladder(slots[slot]) and len(rows) < work_sets(slots[slot])
    ]
    asked: dict[UUID, int] = {}
    if fewer:
        asked = {row.slot: row.asked for row in tx.execute(ASKED, {**values, "slots": fewer})}
    done = (_summed(rows, slots[slot], asked.get(slot)) for (slot, _), rows in found.items())
    # of one day, what grew counts as the later
    return tuple(sorted((one for one in done if one is not None), key=lambda one: (one.on, one.left is None)))


def telling(tx: Tx, athlete: UUID, lifts: Iterable[str], *, on: date) -> tuple[Telling, ...]:
    """Return how many sets of these lifts tell how strong somebody is, in the 120 days before a day."""
    values = {
        "gym": tx.gym, "athlete": athlete, "lifts": list(lifts), "since": on - timedelta(days=DAYS_BACK), "on": on,
        "rpe": TELLING_RPE,
    }  # fmt: skip
    return tuple(
        Telling(lift=row.lift, support=row.support_class, sets=row.sets, days=row.days)
        for row in tx.execute(TOLD, values)
    )


def _summed(rows: list[Any], slot: Slot, asked: int | None) -> PastWork | None:
    first = rows[0]
    if is_ladder(slot):
        return found_by_ladder(slot, first.lift, first.day, [_rung(row) for row in rows])
    sets = [DoneThen(load(row.load_value, row.load_unit), row.reps) for row in rows]
    return summed(slot, first.lift, first.day, sets, sets_asked=asked or None)


def _rung(row: Any) -> Rung:
    """One set of a ladder. A word says nothing of how many were left: nobody was told what to expect."""
    left = None if row.felt is not None else row.left_over
    whole = row.made and row.ended_by in ("choice", "strength")
    painful = row.pain != "none" or row.ended_by == "pain"
    return Rung(load(row.load_value, row.load_unit), row.reps, left, whole=whole, painful=painful)
