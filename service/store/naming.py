"""How a path or a body names a thing: by our id, or by `ref:` and the gym's own reference."""

from __future__ import annotations

import re
from uuid import UUID

from sqlalchemy import ColumnElement, Table, and_, false

from service.store.session import Tx

UUID_FORM = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def named(tx: Tx, table: Table, name: str) -> ColumnElement[bool]:
    """The condition that picks the thing of this gym; a malformed name picks nothing."""
    gym = table.c.gym_id == tx.gym
    if name.startswith("ref:") and "ref" in table.c:
        return and_(gym, table.c.ref == name[4:])
    identity = as_id(name)
    return false() if identity is None else and_(gym, table.c.id == identity)


def as_id(name: str) -> UUID | None:
    """The id that a text is, or None."""
    return UUID(name) if UUID_FORM.fullmatch(name) else None
