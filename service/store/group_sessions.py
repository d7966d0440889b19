"""The sessions of all athletes of a group on a day, read and changed together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy import ARRAY, Boolean, Date, Uuid, bindparam, select, text

from service.store.session import Tx
from service.store.sessions import State
from service.store.tables import athletes as athlete_rows
from service.store.tables import sessions
from service.store.unfit import local_day

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True)
class DaySession:
    """A session as far as a change for many asks for it."""

    id: UUID
    athlete: UUID
    date: date
    state: State
    name: str
    place: UUID | None
    today: Day
    """The athlete's own day."""


@dataclass(frozen=True, slots=True)
class Changed:
    """How a session stands after a change."""

    date: date
    place: UUID | None
    version: int


CHANGE = text("""
UPDATE sessions s
   SET version = s.version + 1,
       date = coalesce(:to_date, s.date),
       place_id = CASE
         WHEN NOT :placed THEN s.place_id
         WHEN s.state = 'open' AND CAST(:place AS uuid) IS NULL THEN
           (SELECT coalesce(a.place_id, g.place_id)
              FROM athletes a JOIN gyms g ON g.gym_id = a.gym_id
             WHERE a.gym_id = s.gym_id AND a.id = s.athlete_id)
         ELSE :place
       END
 WHERE s.gym_id = :gym AND s.id = ANY(:ids)
RETURNING s.id, s.date, s.place_id, s.version
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("ids", type_=ARRAY(Uuid())),
    bindparam("to_date", type_=Date()),
    bindparam("placed", type_=Boolean()),
    bindparam("place", type_=Uuid()),
)
"""An open session has a place of its own: where the athlete trains by default is written into it."""


def on_days(tx: Tx, athletes: Sequence[UUID], days: Sequence[date]) -> list[DaySession]:
    """The sessions of athletes on some days, in the order of their ids."""
    query = (
        select(
            sessions.c.id,
            sessions.c.athlete_id,
            sessions.c.date,
            sessions.c.state,
            sessions.c.name,
            sessions.c.place_id,
            athlete_rows.c.time_zone,
        )
        .join(
            athlete_rows,
            (athlete_rows.c.gym_id == sessions.c.gym_id) & (athlete_rows.c.id == sessions.c.athlete_id),
        )
        .where(sessions.c.gym_id == tx.gym, sessions.c.athlete_id.in_(athletes), sessions.c.date.in_(days))
        .order_by(sessions.c.id)
    )
    return [
        DaySession(
            row.id, row.athlete_id, row.date, row.state, row.name, row.place_id, local_day(tx.now, row.time_zone)
        )
        for row in tx.execute(query)
    ]


def change(
    tx: Tx, ids: Sequence[UUID], *, to_date: date | None, placed: bool, place: UUID | None
) -> dict[UUID, Changed]:
    """Move sessions to another day (None: they stay) and, where `placed`, to another place (None: each one's usual).

    The caller holds the locks of all their athletes.
    """
    if not ids:
        return {}
    values = {"gym": tx.gym, "ids": list(ids), "to_date": to_date, "placed": placed, "place": place}
    return {row.id: Changed(row.date, row.place_id, row.version) for row in tx.execute(CHANGE, values)}
