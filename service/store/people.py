"""Who an answer is for, and under which conditions that person trains on a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Date, Text, bindparam, cast, func, select, true
from sqlalchemy import Uuid as UuidType

from service.core.records import Settings
from service.core.units import GRAINS_PER_KG, MassUnit
from service.store.athletes import SETTINGS
from service.store.errors import NotFound
from service.store.loads import stored_load
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import athletes, body_weights, gyms, places
from service.store.unfit import local_day


@dataclass(frozen=True, slots=True)
class Person:
    """Who is meant, and which day it is there."""

    id: UUID
    today: date


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


def _conditions() -> Any:
    at = func.coalesce(bindparam("place", type_=UuidType), athletes.c.place_id, gyms.c.place_id)
    weighed = (
        select(body_weights.c.load_value, body_weights.c.load_unit)
        .where(body_weights.c.gym_id == athletes.c.gym_id, body_weights.c.athlete_id == athletes.c.id)
        .where(body_weights.c.date <= bindparam("on", type_=Date))
        .order_by(body_weights.c.date.desc())
        .limit(1)
        .lateral()
    )
    return (
        select(
            athletes.c.unit,
            athletes.c.birth_year,
            athletes.c.settings,
            gyms.c.settings.label("gym_settings"),
            at.label("place"),
            cast(places.c.kit, Text).label("kit"),
            weighed.c.load_value,
            weighed.c.load_unit,
        )
        .join_from(athletes, gyms, gyms.c.gym_id == athletes.c.gym_id)
        .outerjoin(places, (places.c.gym_id == athletes.c.gym_id) & (places.c.id == at))
        .outerjoin(weighed, true())
        .where(athletes.c.gym_id == bindparam("gym"), athletes.c.id == bindparam("athlete"))
    )


CONDITIONS = _conditions()


def conditions(tx: Tx, athlete_id: UUID, *, on: date, place_id: UUID | None) -> Conditions:
    """Return the conditions of an athlete on a day, in one statement; raises NotFound for an unknown place."""
    values = {"gym": tx.gym, "athlete": athlete_id, "on": on, "place": place_id}
    row = tx.execute(CONDITIONS, values).one_or_none()
    if row is None:
        raise NotFound("athlete")
    if row.place is not None and row.kit is None:
        raise NotFound("place")
    weight = stored_load(row)
    return Conditions(
        unit=row.unit,
        birth_year=row.birth_year,
        settings=SETTINGS.validate_python({**row.gym_settings, **row.settings}),
        place=row.place,
        kit=row.kit,
        body_weight_kg=None if weight is None else weight.grains / GRAINS_PER_KG,
    )


def find(tx: Tx, name: str) -> Person | None:
    """The athlete that a name means, by our id or `ref:`; None where this caller has no such athlete."""
    query = select(athletes.c.id, athletes.c.time_zone).where(named(tx, athletes, name))
    if tx.caller.athlete is not None:
        query = query.where(athletes.c.id == tx.caller.athlete)
    row = tx.execute(query).one_or_none()
    return None if row is None else Person(row.id, local_day(tx.now, row.time_zone))
