"""Which maxes are in force on a day: those entered, the days' estimates, and what the log says."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Date, Uuid, bindparam, text

from service.core.records import KnownMax
from service.store.each import Each
from service.store.session import Tx

DAYS_BACK = 14
"""A day's estimate serves for at most so many days, its own included. [days]"""

KNOWN = Each(
    text("""
SELECT n.lift, n.kind AS basis, n.support_class, '' AS stack, n.date, n.source, CAST(NULL AS numeric) AS before,
       n.load_kg + CASE WHEN l.load_kind = 'bodyweight' THEN (
         SELECT w.load_kg FROM body_weights w
          WHERE w.gym_id = :gym AND w.athlete_id = :athlete AND w.date <= n.date ORDER BY w.date DESC LIMIT 1
       ) ELSE 0 END AS kg
  FROM (
    SELECT DISTINCT ON (m.lift, m.kind, m.support_class)
           m.lift, m.kind, m.support_class, m.load_kg, m.date, m.source
      FROM maxes m
     WHERE m.gym_id = :gym AND m.athlete_id = :athlete AND m.date <= :on
     ORDER BY m.lift, m.kind, m.support_class, m.date DESC, m.id DESC
  ) n JOIN lifts l ON l.gym_id = :gym AND l.id = n.lift
 UNION ALL
SELECT d.lift, 'day', d.support_class, d.stack, d.date, CAST(NULL AS text), CAST(NULL AS numeric), d.effective_kg
  FROM day_estimates d
 WHERE d.gym_id = :gym AND d.athlete_id = :athlete AND d.date > :since AND d.date <= :on
 UNION ALL
SELECT s.lift, 'rolling', s.support_class, s.stack, CAST(s.body->>'day' AS date), CAST(NULL AS text),
       CAST(s.body->>'value_before' AS numeric), CAST(s.body->>'value' AS numeric)
  FROM lift_states s
 WHERE s.gym_id = :gym AND s.athlete_id = :athlete AND s.body->>'value' IS NOT NULL
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete")),
        *(bindparam(name, type_=Date()) for name in ("on", "since")),
    ),
    athlete="uuid",
    on="date",
    since="date",
)
SOURCES = {"day": "the day's heavy set", "rolling": "the log"}


def known(
    tx: Tx,
    athlete_id: UUID,
    on: date,
    *,
    stacks: Mapping[str, str] | None = None,
    without_that_day_of: Collection[str] = (),
) -> list[KnownMax]:
    """Return the maxes of an athlete that count on a day, effective, in one statement.

    Parameters
    ----------
    tx : Tx
        The transaction.
    athlete_id : UUID
        Whose.
    on : date
        The athlete's day.
    stacks : mapping of str to str, optional
        For lifts on machines, which machine: estimates made on others do not count.
    without_that_day_of : collection of str
        Lifts whose estimates stand as before the first set of that day.

    Returns
    -------
    list of KnownMax
        The newest tested and training max for each lift and support class, the day's estimates of the last 14 days,
        and the rolling averages. Maxes of `bodyweight` lifts contain the latest body weight on or before their date;
        without one they are left out.
    """
    return known_of_each(tx, [(athlete_id, on)], [stacks or {}], [without_that_day_of])[0]


def known_of_each(
    tx: Tx,
    asked: Sequence[tuple[UUID, date]],
    stacks: Sequence[Mapping[str, str]],
    without_that_day_of: Sequence[Collection[str]],
) -> list[list[KnownMax]]:
    """As `known`, of many athletes and days in one statement."""
    found = KNOWN.rows(tx, [(athlete, on, on - timedelta(days=DAYS_BACK)) for athlete, on in asked])
    return [
        _in_force(rows, on, machines, without)
        for (_, on), rows, machines, without in zip(asked, found, stacks, without_that_day_of, strict=True)
    ]


def _in_force(
    rows: Sequence[Any], on: date, stacks: Mapping[str, str], without_that_day_of: Collection[str]
) -> list[KnownMax]:
    found = []
    for row in rows:
        kg = row.kg
        if row.stack != stacks.get(row.lift, "") and row.basis in SOURCES:
            continue
        if row.date == on and row.lift in without_that_day_of and row.basis in SOURCES:
            kg = row.before
        if kg is None or row.date > on:
            continue
        source = SOURCES.get(row.basis) or row.source or row.basis
        found.append(
            KnownMax(
                lift=row.lift, basis=row.basis, kg=float(kg), on=row.date, source=source, support=row.support_class
            )
        )
    return found
