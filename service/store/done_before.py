"""What was lifted in the weeks before an absence, and since: loads on the way back are held against it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy import ARRAY, Date, Text, Uuid, bindparam, text

from service.core.context import DoneBefore
from service.core.records import WORK_ROLES
from service.core.units import load
from service.store.each import Each
from service.store.session import Tx

DONE = Each(
    text("""
SELECT DISTINCT ON (s.lift, s.support_class, s.stack, s.reps)
       s.lift, s.support_class, s.stack, s.reps, CAST(s.load_value AS float8) AS load_value, s.load_unit, s.local_date
  FROM sets s
 WHERE s.gym_id = :gym AND s.athlete_id = :athlete AND s.lift = ANY(:lifts) AND s.local_date >= :since
   AND s.local_date < :on AND s.deleted_at IS NULL AND s.role = ANY(:roles) AND s.load_kg IS NOT NULL
   AND s.method = 'straight' AND s.made AND s.reps > 0 AND s.pain <> 'stop'
   AND (s.doubt IS NULL OR s.doubt_answer = 'confirmed')
 ORDER BY s.lift, s.support_class, s.stack, s.reps, s.load_kg DESC, s.local_date DESC
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete")),
        *(bindparam(name, type_=ARRAY(Text())) for name in ("lifts", "roles")),
        *(bindparam(name, type_=Date()) for name in ("since", "on")),
    ),
    athlete="uuid",
    since="date",
    on="date",
)


@dataclass(frozen=True, slots=True)
class Before:
    """Whose lifts, between which days: the first is included, the last is not."""

    athlete: UUID
    lifts: Collection[str]
    since: date
    on: date


def done_before(tx: Tx, asked: Sequence[Before]) -> list[tuple[tuple[str, DoneBefore], ...]]:
    """Return the heaviest complete work set of each lift with each number of repetitions, and its machine.

    In one statement. Sets in doubt, drop sets and the like, and those that pain ended are none.
    """
    lifts = sorted({lift for one in asked for lift in one.lifts})
    values = [(one.athlete, one.since, one.on) for one in asked]
    return [
        tuple(
            (
                row.stack,
                DoneBefore(
                    lift=row.lift,
                    support=row.support_class,
                    load=load(row.load_value, row.load_unit),
                    reps=row.reps,
                    on=row.local_date,
                ),
            )
            for row in rows
            if row.lift in one.lifts
        )
        for one, rows in zip(asked, DONE.rows(tx, values, lifts=lifts, roles=sorted(WORK_ROLES)), strict=True)
    ]
