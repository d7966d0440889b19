"""Gyms: the tenants. They are made by command line, as the owner's role."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, insert, select, text, update

from service.store.errors import ChangedMeanwhile
from service.store.ids import new_id
from service.store.session import Tx
from service.store.tables import gyms, keys


@dataclass(frozen=True, slots=True)
class Gym:
    """A gym: everything belongs to one."""

    id: UUID
    name: str
    unit: str
    time_zone: str
    settings: dict[str, Any]
    place: UUID | None
    version: int


_COLUMNS = (
    gyms.c.gym_id.label("id"),
    gyms.c.name,
    gyms.c.unit,
    gyms.c.time_zone,
    gyms.c.settings,
    gyms.c.place_id.label("place"),
    gyms.c.version,
)


def get(tx: Tx) -> Gym:
    """Return the gym of this transaction."""
    return Gym(**tx.execute(select(*_COLUMNS).where(gyms.c.gym_id == tx.gym)).one()._asdict())


def change(tx: Tx, *, expected: int | None, values: dict[str, Any]) -> Gym:
    """Change some fields of the gym."""
    before = get(tx)
    if expected is not None and expected != before.version:
        raise ChangedMeanwhile(before.version)
    tx.execute(update(gyms).where(gyms.c.gym_id == tx.gym).values(version=gyms.c.version + 1, **values))
    return get(tx)


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
