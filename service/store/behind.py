"""Whether a session of a block comes weeks after what was done last, with planned ones between that were missed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from uuid import UUID

from sqlalchemy import ARRAY, Date, Integer, Text, Uuid, bindparam, text

from service.core.context import Behind
from service.core.records import WORK_ROLES
from service.store.each import Each
from service.store.session import Tx

BEHIND = Each(
    text("""
SELECT l.week AS last_week, l.date AS last_on,
       (SELECT min(m.week) FROM sessions m
         WHERE m.gym_id = :gym AND m.block_id = :block AND m.state = 'planned' AND m.date < :on
           AND (m.week, m.number) < (:week, :number)
           AND (l.week IS NULL OR (m.week, m.number) > (l.week, l.number))) AS missed_week
  FROM (SELECT 1) one
  LEFT JOIN LATERAL (
    SELECT s.week, s.number, s.date FROM sessions s
     WHERE s.gym_id = :gym AND s.block_id = :block AND (s.week, s.number) < (:week, :number)
       AND EXISTS (SELECT FROM sets e WHERE e.gym_id = s.gym_id AND e.session_id = s.id AND e.deleted_at IS NULL
                      AND e.role = ANY(:roles))
     ORDER BY s.week DESC, s.number DESC LIMIT 1
  ) l ON true
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "block")),
        *(bindparam(name, type_=Integer()) for name in ("week", "number")),
        bindparam("on", type_=Date()),
        bindparam("roles", type_=ARRAY(Text())),
    ),
    block="uuid",
    week="int",
    number="int",
    on="date",
)

At = tuple[UUID, int, int, date]
"""A block, a session's week and number in it, and the day that it is looked at on."""


def behind(tx: Tx, asked: Sequence[At]) -> list[Behind | None]:
    """Return for each session what was done last, where it comes more than a week after that; in one statement.

    None where the sessions between were done, or somebody has said what becomes of them: they were skipped, or given
    other days.
    """
    found: list[Behind | None] = []
    for (_, week, _, _), rows in zip(asked, BEHIND.rows(tx, asked, roles=sorted(WORK_ROLES)), strict=True):
        last, missed = rows[0].last_week, rows[0].missed_week
        far = missed is not None and week > (missed if last is None else last) + 1
        found.append(Behind(week=week, last_week=last, last_on=rows[0].last_on) if far else None)
    return found
