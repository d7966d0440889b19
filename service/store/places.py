"""Places: where someone trains, and what can be loaded there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import Uuid, bindparam, delete, func, insert, select, tuple_, update
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.exc import IntegrityError

from service.core.loading.kits import default_kit
from service.core.records import Bar, Kit, Plate, Stack
from service.core.units import Load, MassUnit
from service.store import lifts
from service.store.errors import ChangedMeanwhile, Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.naming import named
from service.store.session import Tx, constraint
from service.store.tables import places

KIT: TypeAdapter[Kit] = TypeAdapter(Kit)
KITS = select(places.c.id, places.c.kit).where(
    places.c.gym_id == bindparam("gym"), places.c.id == func.any(bindparam("places", type_=ARRAY(Uuid)))
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where someone trains."""

    id: UUID
    """Our id."""
    ref: str | None
    """The gym's own reference."""
    name: str
    """As the gym writes it."""
    bars: tuple[Bar, ...]
    """Bars with their mass; `lifts` names those that one is for, empty: all."""
    collars: Load
    """Both collars together."""
    plates: tuple[Plate, ...]
    """Plates by kind; `count` is all that there are."""
    dumbbells: tuple[Load, ...]
    """The masses of which there is a pair."""
    stacks: tuple[Stack, ...]
    """Machines with their listed steps; `lifts` names those that one is for, empty: all."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When the place was added."""


_COLUMNS = (places.c.id, places.c.ref, places.c.name, places.c.kit, places.c.version, places.c.created_at)


def _record(row: Any) -> Place:
    stored = KIT.validate_python(row.kit)
    return Place(
        id=row.id,
        ref=row.ref,
        name=row.name,
        bars=stored.bars,
        collars=stored.collars,
        plates=stored.plates,
        dumbbells=stored.dumbbells,
        stacks=stored.stacks,
        version=row.version,
        created_at=row.created_at,
    )


def kit(tx: Tx, place_id: UUID | None, unit: MassUnit) -> Kit:
    """Return what can be loaded at a place of the gym; without a place, the usual kit in a unit."""
    if place_id is None:
        return default_kit(unit)
    stored = kits(tx, [place_id])
    if not stored:
        raise NotFound("place")
    return stored[place_id]


def kits(tx: Tx, ids: Sequence[UUID]) -> dict[UUID, Kit]:
    """Return what can be loaded at places of the gym, in one statement; unknown ids are absent."""
    if not ids:
        return {}
    rows = tx.execute(KITS, {"gym": tx.gym, "places": list(ids)})
    return {row.id: KIT.validate_python(row.kit) for row in rows}


def kit_named(tx: Tx, place: str, *, pointer: str = "#/place") -> Kit:
    """Return what can be loaded at the place that a body names by id or ref, or raise UnknownReference."""
    stored = tx.execute(select(places.c.kit).where(named(tx, places, place))).scalar_one_or_none()
    if stored is None:
        raise UnknownReference("place", pointer)
    return KIT.validate_python(stored)


def get(tx: Tx, place: str) -> Place:
    """Return one place of the gym, or raise NotFound."""
    row = tx.execute(select(*_COLUMNS).where(named(tx, places, place))).one_or_none()
    if row is None:
        raise NotFound("place")
    return _record(row)


def page(tx: Tx, *, after: tuple[str, str] | None, limit: int) -> list[Place]:
    """Return up to `limit` places by name, starting past `after` (name, id)."""
    query = select(*_COLUMNS).where(places.c.gym_id == tx.gym).order_by(places.c.name, places.c.id).limit(limit)
    if after is not None:
        query = query.where(tuple_(places.c.name, places.c.id) > after)
    return [_record(row) for row in tx.execute(query)]


def add(tx: Tx, *, name: str, ref: str | None, kit: Kit) -> Place:
    """Add a place."""
    _lifts_known(tx, kit)
    identity = new_id()
    row = {"gym_id": tx.gym, "id": identity, "name": name, "ref": ref, "kit": KIT.dump_python(kit, mode="json")}
    try:
        with tx.connection.begin_nested():
            tx.execute(insert(places).values(**row))
    except IntegrityError as error:
        raise _refused(error) from error
    return get(tx, str(identity))


def change(tx: Tx, place: str, *, expected: int | None, values: dict[str, Any]) -> Place:
    """Change the `name`, the `ref`, or parts of the kit (`bars`, `collars`, `plates`, `dumbbells`, `stacks`).

    `expected` is the version that the caller read (None: whatever it is).
    """
    before = get(tx, place)
    parts = ("bars", "collars", "plates", "dumbbells", "stacks")
    whole = Kit(**{part: values.get(part, getattr(before, part)) for part in parts})
    _lifts_known(tx, whole)
    row = {name: value for name, value in values.items() if name not in parts}
    statement = update(places).where(places.c.gym_id == tx.gym, places.c.id == before.id)
    if expected is not None:
        statement = statement.where(places.c.version == expected)
    statement = statement.values(version=places.c.version + 1, kit=KIT.dump_python(whole, mode="json"), **row)
    try:
        with tx.connection.begin_nested():
            count = tx.execute(statement).rowcount
    except IntegrityError as error:
        raise _refused(error) from error
    if not count:
        raise ChangedMeanwhile(before.version)
    return get(tx, str(before.id))


def put(tx: Tx, place: str, *, only_new: bool, name: str, kit: Kit) -> tuple[Place, bool]:
    """Create or replace by the gym's own reference; tell whether it was created."""
    ref = place.removeprefix("ref:")
    tx.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(f"{tx.gym}/places/{ref}", 0))))
    try:
        found = get(tx, place)
    except NotFound:
        return add(tx, name=name, ref=ref, kit=kit), True
    if only_new:
        raise ChangedMeanwhile(found.version)
    return replace(tx, str(found.id), expected=None, name=name, kit=kit), False


def replace(tx: Tx, place: str, *, expected: int | None, name: str, kit: Kit) -> Place:
    """Replace name and kit; the ref stays."""
    parts = {part: getattr(kit, part) for part in ("bars", "collars", "plates", "dumbbells", "stacks")}
    return change(tx, place, expected=expected, values={"name": name} | parts)


def remove(tx: Tx, place: str, *, expected: int | None) -> None:
    """Remove a place that nothing uses."""
    found = get(tx, place)
    if expected is not None and expected != found.version:
        raise ChangedMeanwhile(found.version)
    try:
        with tx.connection.begin_nested():
            tx.execute(delete(places).where(places.c.gym_id == tx.gym, places.c.id == found.id))
    except IntegrityError as error:
        raise Conflict("The place is in use: by the gym, by athletes or by sessions.") from error


def _lifts_known(tx: Tx, kit: Kit) -> None:
    """Refuse a kit whose bars or machines name a lift that the gym does not have."""
    asked = dict(_lifts_named(kit))
    known = lifts.get_many(tx, set(asked.values())) if asked else {}
    for pointer, lift in asked.items():
        if lift not in known:
            raise UnknownReference("lift", pointer)


def _lifts_named(kit: Kit) -> Iterator[tuple[str, str]]:
    named_for = {"bars": [bar.lifts for bar in kit.bars], "stacks": [stack.lifts for stack in kit.stacks]}
    for part, things in named_for.items():
        for at, words in enumerate(things):
            yield from ((f"#/{part}/{at}/lifts/{number}", lift) for number, lift in enumerate(words))


def _refused(error: IntegrityError) -> Exception:
    if constraint(error) == "places_ref_key":
        return Conflict("Another place of this gym has this ref.")
    return error
