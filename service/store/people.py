"""Who an answer is for, and under which conditions that person trains on a day."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import Date, DateTime, bindparam, select, text
from sqlalchemy import Uuid as UuidType

from service.core.records import Absence, ReturnRule, Settings
from service.core.units import GRAINS_PER_KG, MassUnit
from service.store.athletes import SETTINGS
from service.store.each import Each
from service.store.errors import NotFound
from service.store.loads import stored_load
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import athletes
from service.store.unfit import local_day


@dataclass(frozen=True, slots=True)
class Person:
    """Who is meant, and which day it is there."""

    id: UUID
    today: date


@dataclass(frozen=True, slots=True)
class Away:
    """What a way back from an absence is worked out from."""

    today: date
    """The athlete's day."""
    day: date
    """The day on which the session is done."""
    trained: tuple[date, ...]
    """Days with work sets before that, in no order: all since `since`, and the last one before."""
    since: date
    """As long before `day` as a way back can take."""
    absences: tuple[Absence, ...]
    """Those announced that may still matter."""


ABSENCES: TypeAdapter[tuple[Absence, ...]] = TypeAdapter(tuple[Absence, ...])


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What a person's loads depend on besides lifts and maxes."""

    unit: MassUnit
    """The unit that loads are shown in."""
    birth_year: int | None
    settings: Settings
    """The athlete's over the gym's."""
    place: UUID | None
    """Where: the place asked for, else the athlete's, else the gym's."""
    kit: str | None
    """What can be loaded there, as JSON."""
    body_weight_kg: float | None
    """The latest on or before the day. [kg]"""


DAYS_KNOWN = 60
"""Training of so many days, and the last before them, is read: no way back from an absence takes longer. Where nobody
has changed the rule, so many as that takes. [days]"""
ABSENCES_KNOWN = 400
"""Absences that ended so long ago are read. [days]"""

_READ = """
SELECT a.unit, a.birth_year, CAST(a.settings AS text) AS settings, CAST(g.settings AS text) AS gym_settings,
       coalesce(CAST(:place AS uuid), a.place_id, g.place_id) AS place, CAST(p.kit AS text) AS kit,
       w.load_value, w.load_unit{more}
  FROM athletes a JOIN gyms g ON g.gym_id = a.gym_id
  LEFT JOIN places p ON p.gym_id = a.gym_id AND p.id = coalesce(CAST(:place AS uuid), a.place_id, g.place_id)
  LEFT JOIN LATERAL (
    SELECT b.load_value, b.load_unit FROM body_weights b
     WHERE b.gym_id = a.gym_id AND b.athlete_id = a.id AND b.date <= :on ORDER BY b.date DESC LIMIT 1
  ) w ON true{joined}
 WHERE a.gym_id = :gym AND a.id = :athlete
"""
_WORK = """FROM sets s WHERE s.gym_id = a.gym_id AND s.athlete_id = a.id AND s.deleted_at IS NULL
               AND s.role NOT IN ('warm_up', 'build_up')"""
_AWAY = f""",
       t.today, d.day, d.day - d.window AS since,
       (WITH RECURSIVE k AS (
          (SELECT s.local_date, s.at {_WORK} AND s.local_date < d.day AND s.at < CAST(d.day + 1 AS timestamptz)
            ORDER BY s.at DESC LIMIT 1)
          UNION ALL
          SELECT n.local_date, n.at FROM k CROSS JOIN LATERAL (
            SELECT s.local_date, s.at {_WORK} AND s.local_date < k.local_date
               AND s.at < least(k.at, CAST(k.local_date AS timestamp) AT TIME ZONE 'UTC' + interval '13 hours')
             ORDER BY s.at DESC LIMIT 1
          ) n WHERE k.local_date > d.day - d.window
        ) SELECT array_agg(k.local_date) FROM k) AS trained,
       (SELECT CAST(json_agg(json_build_object(
                 'kind', x.kind, 'since', x.from_date, 'until', x.until_date, 'agreed_on', x.agreed_on, 'rule', x.rule
               ) ORDER BY x.from_date) AS text)
          FROM absences x
         WHERE x.gym_id = a.gym_id AND x.athlete_id = a.id AND x.from_date <= d.day
           AND (x.until_date IS NULL OR greatest(x.until_date, x.agreed_on) > d.day - {ABSENCES_KNOWN}
                OR (x.kind = 'injury' AND x.agreed_on IS NULL))) AS absences"""  # noqa: S608  (numbers of ours)
_DAY = f"""
  CROSS JOIN LATERAL (SELECT CAST(:now AT TIME ZONE a.time_zone AS date) AS today) t
  CROSS JOIN LATERAL (
    SELECT coalesce(CAST(:done AS date), greatest(CAST(:on AS date), t.today)) AS day,
           CASE WHEN a.settings->'return_rule' IS NULL AND g.settings->'return_rule' IS NULL AND NOT EXISTS (
             SELECT FROM absences x WHERE x.gym_id = a.gym_id AND x.athlete_id = a.id AND x.rule IS NOT NULL
           ) THEN {ReturnRule().most_days} ELSE {DAYS_KNOWN} END AS window
  ) d"""  # noqa: S608  (numbers of ours)
_BINDS = (
    bindparam("gym", type_=UuidType), bindparam("athlete", type_=UuidType), bindparam("place", type_=UuidType),
    bindparam("on", type_=Date),
)  # fmt: skip
CONDITIONS = Each(text(_READ.format(more="", joined="")).bindparams(*_BINDS), athlete="uuid", on="date", place="uuid")
CONDITIONS_WITH_ABSENCES = Each(
    text(_READ.format(more=_AWAY, joined=_DAY)).bindparams(
        *_BINDS, bindparam("now", type_=DateTime(timezone=True)), bindparam("done", type_=Date)
    ),
    athlete="uuid", on="date", place="uuid", done="date",
)  # fmt: skip
When = tuple[UUID, date, UUID | None]
"""An athlete, a day there, and where; None: the athlete's place, else the gym's."""


def conditions(tx: Tx, athlete_id: UUID, *, on: date, place_id: UUID | None) -> Conditions:
    """Return the conditions of an athlete on a day, in one statement; raises NotFound for an unknown place."""
    return conditions_of_each(tx, [(athlete_id, on, place_id)])[0]


def conditions_of_each(tx: Tx, asked: Sequence[When]) -> list[Conditions]:
    """As `conditions`, of many in one statement."""
    return [_conditions(rows) for rows in CONDITIONS.rows(tx, asked)]


def conditions_and_absences(
    tx: Tx, athlete_id: UUID, *, on: date, place_id: UUID | None, done_on: date | None
) -> tuple[Conditions, Away]:
    """As `conditions`, with what a way back is worked out from, in the same statement.

    `done_on`: the day on which the sets are done, whatever day they were planned for; None: today at the earliest.
    """
    return conditions_and_absences_of_each(tx, [(athlete_id, on, place_id, done_on)])[0]


def conditions_and_absences_of_each(
    tx: Tx, asked: Sequence[tuple[UUID, date, UUID | None, date | None]]
) -> list[tuple[Conditions, Away]]:
    """As `conditions_and_absences`, of many in one statement: athlete, day, place and the day on which it is done."""
    return [(_conditions(rows), _away(rows[0])) for rows in CONDITIONS_WITH_ABSENCES.rows(tx, asked, now=tx.now)]


def _conditions(rows: Sequence[Any]) -> Conditions:
    if not rows:
        raise NotFound("athlete")
    row = rows[0]
    if row.place is not None and row.kit is None:
        raise NotFound("place")
    weight = stored_load(row)
    return Conditions(
        unit=row.unit,
        birth_year=row.birth_year,
        settings=_settings(row.gym_settings, row.settings),
        place=row.place,
        kit=row.kit,
        body_weight_kg=None if weight is None else weight.grains / GRAINS_PER_KG,
    )


def _away(row: Any) -> Away:
    absences = _absences(row.absences, row.gym_settings, row.settings)
    return Away(row.today, row.day, tuple(row.trained or ()), row.since, absences)


@lru_cache(maxsize=256)  # nobody changes what is remembered
def _settings(gym: str, own: str) -> Settings:
    return SETTINGS.validate_python({**json.loads(gym), **json.loads(own)})


def _absences(stored: str | None, gym: str, own: str) -> tuple[Absence, ...]:
    """Absences from their stored form; a rule of their own changes some numbers of the settings' rule."""
    if stored is None:
        return ()
    usual = ({**json.loads(gym), **json.loads(own)}).get("return_rule") or {}
    found = json.loads(stored)
    for one in found:
        one["rule"] = None if one["rule"] is None else usual | one["rule"]
    return ABSENCES.validate_python(found)


def find(tx: Tx, name: str) -> Person | None:
    """The athlete that a name means, by our id or `ref:`; None where this caller has no such athlete."""
    query = select(athletes.c.id, athletes.c.time_zone).where(named(tx, athletes, name))
    if tx.caller.athlete is not None:
        query = query.where(athletes.c.id == tx.caller.athlete)
    row = tx.execute(query).one_or_none()
    return None if row is None else Person(row.id, local_day(tx.now, row.time_zone))


def todays(tx: Tx, ids: Collection[UUID]) -> dict[UUID, date]:
    """Each athlete's own day, in one statement; unknown ids, and those that are not this caller's, are absent."""
    query = select(athletes.c.id, athletes.c.time_zone).where(athletes.c.gym_id == tx.gym, athletes.c.id.in_(ids))
    if tx.caller.athlete is not None:
        query = query.where(athletes.c.id == tx.caller.athlete)
    return {row.id: local_day(tx.now, row.time_zone) for row in tx.execute(query)}
