"""The next planned slot of a lift, for saying at the end of a slot what comes the next time."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from uuid import UUID

from sqlalchemy import Uuid, bindparam, text

from service.core.adjust.next_time import Coming
from service.store.hot import Hot
from service.store.plans import SLOT
from service.store.session import Tx

COMING = Hot(
    text("""
SELECT CAST(c.body AS text) AS body, c.date, c.planned
  FROM sessions x
  JOIN slots h ON h.gym_id = x.gym_id AND h.id = :slot
  JOIN athletes a ON a.gym_id = x.gym_id AND a.id = x.athlete_id
  JOIN gyms g ON g.gym_id = x.gym_id
  CROSS JOIN LATERAL (
    SELECT n.body, s.date,
           s.id <> x.id AND s.state = 'planned' AND s.kind = 'block'
             AND coalesce(s.place_id, a.place_id, g.place_id) IS NOT DISTINCT FROM x.place_id AS planned
      FROM sessions s JOIN slots n ON n.gym_id = s.gym_id AND n.plan_id = s.plan_id
     WHERE s.gym_id = x.gym_id AND s.athlete_id = x.athlete_id AND s.date >= x.date AND n.lift = h.lift
       AND ((s.id = x.id AND n.position > h.position) OR (s.id <> x.id AND s.state IN ('planned', 'open')))
     ORDER BY s.id <> x.id, s.date, s.week, s.number, s.id, n.position LIMIT 1
  ) c
 WHERE x.gym_id = :gym AND x.id = :session
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "session", "slot")),
    )
)
"""What is lifted before the athlete comes back to the lift elsewhere, in a test or in an open session is not told."""


def coming_after(tx: Tx, session: UUID, slot: UUID, day: date) -> Callable[[], Coming | None]:
    """How to look up what a slot's lift is planned as the next time, by one statement, where that is wanted.

    Parameters
    ----------
    tx : Tx
        A transaction.
    session, slot : UUID
        The session and its slot that has just ended.
    day : date
        When that was done.

    Returns
    -------
    callable
        It gives None where nothing is planned, or more than the slot decides: the lift comes again in this session or
        on the same day, in a test or a meet, at another place, or in a session that is open already.
    """

    def look() -> Coming | None:
        row = tx.execute(COMING, {"gym": tx.gym, "session": session, "slot": slot}).one_or_none()
        if row is None or not row.planned or row.date == day:
            return None
        return Coming(SLOT.validate_json(row.body), max(row.date, day + timedelta(days=1)))

    return look
