"""Gyms: the tenants. They are made by command line, as the owner's role."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, insert, select, text, update
from sqlalchemy.exc import IntegrityError

from service.core.records import Settings
from service.core.units import MassUnit
from service.store import memories
from service.store.athletes import SETTINGS, check_lifts, how_read
from service.store.errors import ChangedMeanwhile, Conflict, UnknownReference
from service.store.ids import new_id
from service.store.naming import named
from service.store.session import Tx, constraint
from service.store.tables import gyms, keys, places


@dataclass(frozen=True, slots=True)
class Gym:
    """A gym: everything belongs to one."""

    id: UUID
    """Our id."""
    name: str
    """As the gym writes it."""
    unit: MassUnit
    """The unit of new athletes."""
    time_zone: str
    """IANA name; that of new athletes."""
    settings: Settings
    """The settings in force where an athlete has no own."""
    place: UUID | None
    """Where athletes without an own place train."""
    version: int
    """What `If-Match` takes."""


_COLUMNS = (
    gyms.c.gym_id,
    gyms.c.name,
    gyms.c.unit,
    gyms.c.time_zone,
    gyms.c.settings,
    gyms.c.place_id,
    gyms.c.version,
)


def get(tx: Tx) -> Gym:
    """Return the gym of this transaction."""
    row = tx.execute(select(*_COLUMNS).where(gyms.c.gym_id == tx.gym)).one()
    settings = SETTINGS.validate_python(row.settings)
    return Gym(row.gym_id, row.name, row.unit, row.time_zone, settings, row.place_id, row.version)


def change(tx: Tx, *, expected: int | None, values: dict[str, Any]) -> Gym:
    """Change `name`, `unit`, `time_zone`, `settings` (merged; None gives one back to the usual) or `place`.

    `expected` is the version that the caller read (None: whatever it is).
    """
    query = select(gyms.c.version, gyms.c.settings).where(gyms.c.gym_id == tx.gym)
    before = tx.execute(query.with_for_update()).one()
    if expected is not None and expected != before.version:
        raise ChangedMeanwhile(before.version)
    row = {name: value for name, value in values.items() if name not in ("place", "settings")}
    if "place" in values:
        row["place_id"] = None if values["place"] is None else _place(tx, values["place"])
    if "settings" in values:
        merged = before.settings | values["settings"]
        check_lifts(tx, values["settings"])
        row["settings"] = {name: value for name, value in merged.items() if value is not None}
        if how_read(_read(before.settings)) != how_read(_read(row["settings"])):
            memories.forget_all(tx)
    try:
        with tx.connection.begin_nested():
            tx.execute(update(gyms).where(gyms.c.gym_id == tx.gym).values(version=gyms.c.version + 1, **row))
    except IntegrityError as error:
        if constraint(error) == "gyms_name_key":
            raise Conflict("Another gym of this service has this name.") from error
        raise
    return get(tx)


def _read(stored: dict[str, Any]) -> Settings:
    return SETTINGS.validate_python(stored)


def _place(tx: Tx, name: str) -> UUID:
    found = tx.execute(select(places.c.id).where(named(tx, places, name))).scalar_one_or_none()
    if found is None:
        raise UnknownReference("place", "#/place")
    return UUID(str(found))


def find_by_name(connection: Connection, name: str) -> UUID | None:
    """The gym of a name; only the owner's role sees more than its own."""
    return connection.execute(select(gyms.c.gym_id).where(gyms.c.name == name)).scalar_one_or_none()


def of_key(connection: Connection, key_id: str) -> UUID | None:
    """The gym of a key; only the owner's role sees more than its own."""
    return connection.execute(select(keys.c.gym_id).where(keys.c.id == key_id)).scalar_one_or_none()


def add(connection: Connection, *, name: str, unit: str, time_zone: str) -> UUID:
    """Make a gym as the owner's role; the caller then fills it in (built-in lifts, a place)."""
    identity = new_id()
    connection.execute(text("SELECT set_config('app.gym', :gym, true)"), {"gym": str(identity)})
    connection.execute(insert(gyms).values(gym_id=identity, name=name, unit=unit, time_zone=time_zone, settings={}))
    return identity
