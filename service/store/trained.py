"""Which lifts an athlete has trained or has a max in, since when, and how many of their sets wait for an answer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import cast
from uuid import UUID

from sqlalchemy import Date, Uuid, bindparam, text

from service.core.model.kin import Key
from service.core.records import SupportClass
from service.store.hot import Hot
from service.store.session import Tx


@dataclass(frozen=True, slots=True)
class Trained:
    """What is logged of one lift, in one class of support, on one machine."""

    last: date | None
    """Date of the last set; None: only a max is entered. Tombstones do not count."""
    doubtful: int
    """Sets about which a question is open."""


TRAINED = Hot(
    text("""
WITH RECURSIVE keys AS (
  (SELECT lift, support_class, stack FROM sets WHERE gym_id = :gym AND athlete_id = :athlete
    ORDER BY lift, support_class, stack LIMIT 1)
  UNION ALL
  SELECT n.lift, n.support_class, n.stack FROM keys k CROSS JOIN LATERAL (
    SELECT s.lift, s.support_class, s.stack FROM sets s
     WHERE s.gym_id = :gym AND s.athlete_id = :athlete
       AND (s.lift, s.support_class, s.stack) > (k.lift, k.support_class, k.stack)
     ORDER BY s.lift, s.support_class, s.stack LIMIT 1
  ) AS n
)
SELECT lift, support_class, stack, max(last) AS last, sum(doubtful) AS doubtful FROM (
  SELECT k.lift, k.support_class, k.stack, n.local_date AS last, 0 AS doubtful
    FROM keys k CROSS JOIN LATERAL (
    SELECT s.local_date FROM sets s
     WHERE s.gym_id = :gym AND s.athlete_id = :athlete AND s.lift = k.lift AND s.support_class = k.support_class
       AND s.stack = k.stack AND s.deleted_at IS NULL AND s.local_date <= :on
     ORDER BY s.local_date DESC LIMIT 1
  ) AS n
  UNION ALL
  SELECT lift, support_class, stack, CAST(NULL AS date), count(*)
    FROM sets WHERE gym_id = :gym AND athlete_id = :athlete AND deleted_at IS NULL AND local_date <= :on
     AND doubt IS NOT NULL AND doubt_answer IS NULL
   GROUP BY lift, support_class, stack
  UNION ALL
  SELECT DISTINCT lift, support_class, '', CAST(NULL AS date), 0
    FROM maxes WHERE gym_id = :gym AND athlete_id = :athlete AND date <= :on
) AS each GROUP BY lift, support_class, stack
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("athlete", type_=Uuid()), bindparam("on", type_=Date()))
)
"""From each lift the index leads to the next one, and to its last day: a longer log takes no longer."""


def trained(tx: Tx, athlete: UUID, *, on: date) -> dict[Key, Trained]:
    """Each lift that was trained or has a max, up to a day; in one statement."""
    rows = tx.execute(TRAINED, {"gym": tx.gym, "athlete": athlete, "on": on})
    return {
        Key(row.lift, cast("SupportClass", row.support_class), row.stack): Trained(row.last, int(row.doubtful))
        for row in rows
    }
