"""Places: where someone trains, and what can be loaded there."""

from __future__ import annotations

from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import bindparam, select

from service.core.kits import default_kit
from service.core.records import Kit
from service.core.units import MassUnit
from service.store.errors import NotFound
from service.store.session import Tx
from service.store.tables import places

KIT: TypeAdapter[Kit] = TypeAdapter(Kit)
KIT_OF = select(places.c.kit).where(places.c.gym_id == bindparam("gym"), places.c.id == bindparam("place"))


def kit(tx: Tx, place_id: UUID | None, unit: MassUnit) -> Kit:
    """Return what can be loaded at a place of the gym; without a place, the usual kit in a unit."""
    if place_id is None:
        return default_kit(unit)
    stored = tx.execute(KIT_OF, {"gym": tx.gym, "place": place_id}).scalar_one_or_none()
    if stored is None:
        raise NotFound("place")
    return KIT.validate_python(stored)
