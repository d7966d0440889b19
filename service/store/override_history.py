"""What was decided when, and by whom: each version of an override stays as it was."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

from pydantic import Field, TypeAdapter
from sqlalchemy import Text, cast, func, select
from sqlalchemy.dialects.postgresql import insert as upsert

from service.core.units import Load, Number, load
from service.store.session import Tx
from service.store.tables import override_entries


@dataclass(frozen=True, slots=True, kw_only=True)
class OverrideEntry:
    """An override as it stood from one decision to the next."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"serialize_by_alias": True}

    version: int
    """The override's version since then."""
    what: Literal["set", "changed", "ended"]
    """What was decided."""
    made_by: str
    """The name of the key that it was decided with."""
    made_at: datetime
    """When."""
    load: Load | None
    """Of the kinds `load` and `cap`."""
    rpe: Number | None
    """Of the kind `cap`. [RPE]"""
    percent: Number | None
    """Of the kind `cap`. [%]"""
    to_lift: str | None
    """Of the kind `exchange`."""
    reason: str
    """Why, as it was written then."""
    from_date: Annotated[date, Field(alias="from")]
    """The first day."""
    until: date
    """The last day; it is included."""


_DAY: TypeAdapter[date] = TypeAdapter(date)


def keep(tx: Tx, override: UUID, version: int, values: Mapping[str, Any], *, made_by: str) -> None:
    """Write down how an override stands in a version; one that is written down stays as it is."""
    row = {"gym_id": tx.gym, "override_id": override, "version": version, "entry": dict(values), "made_by": made_by}
    tx.execute(upsert(override_entries).values(**row).on_conflict_do_nothing())


def page(tx: Tx, override: UUID, *, after: tuple[str, ...] | None, limit: int) -> list[OverrideEntry]:
    """Return up to `limit` entries of an override, the newest first, starting past `after` (its place)."""
    place = func.lpad(cast(override_entries.c.version, Text), 10, "0")
    query = (
        select(
            override_entries.c.version,
            override_entries.c.entry,
            override_entries.c.made_by,
            override_entries.c.created_at,
        )
        .where(override_entries.c.gym_id == tx.gym, override_entries.c.override_id == override)
        .order_by(override_entries.c.version.desc())
        .limit(limit)
    )
    if after is not None:
        query = query.where(place < after[0])
    return [_record(row) for row in tx.execute(query)]


def place_of(one: OverrideEntry) -> tuple[str]:
    """Where an entry stands in the list."""
    return (f"{one.version:010d}",)


def _record(row: Any) -> OverrideEntry:
    entry = row.entry
    held = entry["load"]
    return OverrideEntry(
        version=row.version,
        what="ended" if entry["ended"] else "set" if row.version == 1 else "changed",
        made_by=row.made_by,
        made_at=row.created_at,
        load=None if held is None else load(held["value"], held["unit"]),
        rpe=entry["rpe"],
        percent=entry["percent"],
        to_lift=entry["to_lift"],
        reason=entry["reason"],
        from_date=_DAY.validate_python(entry["from"]),
        until=_DAY.validate_python(entry["until"]),
    )
