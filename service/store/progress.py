"""What was done before in slots whose load grows from session to session, and in ladders of their lifts."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import ARRAY, Date, Double, Integer, Text, Uuid, bindparam, text

from service.core.context import Telling
from service.core.plan.sizes import work_sets
from service.core.prescribe.add_load import DAYS_BACK, SESSIONS_BACK, DoneThen, summed
from service.core.prescribe.enough import TELLING_RPE
from service.core.prescribe.from_ladder import Rung, found_by_ladder, is_ladder
from service.core.prescribe.too_heavy import not_once
from service.core.records import WORK_ROLES, PastWork
from service.core.slots import Slot
from service.core.units import load
from service.store.each import Each
from service.store.plans import SLOT
from service.store.session import Tx

PROGRESS = Each(
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
    ),
    athlete="uuid",
    since="date",
    on="date",
    session="uuid",
)

ASKED = Each(
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
    ),
    athlete="uuid",
)
"""How many work sets were prescribed: a session may have been shortened."""

TOLD = Each(
    text("""
SELECT s.lift, s.support_class, count(*) AS sets, count(DISTINCT s.local_date) AS days,
       max(s.local_date) AS last
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
    ),
    athlete="uuid",
    since="date",
    on="date",
)
"""How many sets tell how strong somebody is: those that were hard enough for a number of repetitions left to count."""


@dataclass(frozen=True, slots=True)
class Growing:
    """Whose lifts are to grow, by what was done before a day."""

    athlete: UUID
    lifts: Collection[str]
    """What is lifted."""
    on: date
    """The athlete's day; only days before it count, and no more than 120 back."""
    session: UUID | None = None
    """Left out."""


def progress(tx: Tx, asked: Sequence[Growing]) -> list[tuple[PastWork, ...]]:
    """Return the last sessions before a day in which loads of lifts grew, oldest first, in one or two statements.

    Returns
    -------
    list of tuple of PastWork
        For each that is asked for, one for each slot that was worked in; a ladder's, where it found a working load or
        its lightest load did not go up once. Sets that are in doubt, drop sets and rest-pause sets are no repetitions
        that count.
    """
    lifts = sorted({lift for one in asked for lift in one.lifts})
    values = [(one.athlete, one.on - timedelta(days=DAYS_BACK), one.on, one.session) for one in asked]
    roles = sorted(WORK_ROLES)
    read = PROGRESS.rows(tx, values, lifts=lifts, roles=roles, most=SESSIONS_BACK)
    worked: list[dict[tuple[UUID, str], list[Any]]] = []
    for one, rows in zip(asked, read, strict=True):
        worked.append({})
        for row in rows:
            if row.lift in one.lifts:
                worked[-1].setdefault((row.slot, row.lift), []).append(row)
    bodies = {slot: rows[0].body for found in worked for (slot, _), rows in found.items()}
    slots = {slot: SLOT.validate_json(body) for slot, body in bodies.items()}
    fewer = {
        slot: None
        for found in worked
        for (slot, _), rows in found.items()
        if not is_ladder(slots[slot]) and len(rows) < work_sets(slots[slot])
    }
    told: list[dict[UUID, int]] = [{} for _ in asked]
    if fewer:
        counted = ASKED.rows(tx, [(one.athlete,) for one in asked], slots=list(fewer), roles=roles)
        told = [{row.slot: row.asked for row in rows} for rows in counted]
    return [_past(found, slots, sets_asked) for found, sets_asked in zip(worked, told, strict=True)]


def _past(
    found: Mapping[tuple[UUID, str], list[Any]], slots: Mapping[UUID, Slot], sets_asked: Mapping[UUID, int]
) -> tuple[PastWork, ...]:
    done = (_summed(rows, slots[slot], sets_asked.get(slot)) for (slot, _), rows in found.items())
    # of one day, what grew counts as the later
    return tuple(sorted((one for one in done if one is not None), key=lambda one: (one.on, one.left is None)))


def telling(tx: Tx, asked: Sequence[Growing]) -> list[tuple[Telling, ...]]:
    """Return how many sets of lifts tell how strong somebody is, in the 120 days before a day; in one statement."""
    lifts = sorted({lift for one in asked for lift in one.lifts})
    values = [(one.athlete, one.on - timedelta(days=DAYS_BACK), one.on) for one in asked]
    return [
        tuple(
            Telling(lift=row.lift, support=row.support_class, sets=row.sets, days=row.days, last=row.last)
            for row in rows
            if row.lift in one.lifts
        )
        for one, rows in zip(asked, TOLD.rows(tx, values, lifts=lifts, rpe=TELLING_RPE), strict=True)
    ]


def _summed(rows: list[Any], slot: Slot, asked: int | None) -> PastWork | None:
    first = rows[0]
    if is_ladder(slot):
        rungs = [_rung(row) for row in rows]
        found = found_by_ladder(slot, first.lift, first.day, rungs)
        return found or not_once(slot, first.lift, first.day, rungs)
    sets = [DoneThen(load(row.load_value, row.load_unit), row.reps, _said(row)) for row in rows]
    return summed(slot, first.lift, first.day, sets, sets_asked=asked or None)


def _said(row: Any) -> float | None:
    """How hard a set was said to be: to failure without a number is 10, and a word says nothing here. [RPE]"""
    if row.left_over is not None:
        return 10.0 - float(row.left_over)
    return 10.0 if row.ended_by == "strength" and row.felt is None else None


def _rung(row: Any) -> Rung:
    """One set of a ladder. A word says nothing of how many were left: nobody was told what to expect."""
    left = None if row.felt is not None else row.left_over
    whole = row.made and row.ended_by in ("choice", "strength")
    painful = row.pain != "none" or row.ended_by == "pain"
    return Rung(load(row.load_value, row.load_unit), row.reps, left, whole=whole, painful=painful)
