"""Blocks: a template version laid out for one athlete on dates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Text, cast, delete, insert, or_, select, tuple_, update

from service.store import athletes, states
from service.store.errors import ChangedMeanwhile, Conflict, NotFound
from service.store.naming import as_id, named
from service.store.session import Tx
from service.store.tables import athletes as athlete_rows
from service.store.tables import blocks, sessions, sets


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A template version laid out for one athlete."""

    id: UUID
    """Our id."""
    athlete: UUID
    """Who runs it."""
    template: UUID
    """The template that it was made from."""
    template_version: int
    """The version of that; later ones do not change this block."""
    name: str
    """What it is called."""
    start: date
    """The first day that could be used; weeks count from the first weekday on or after it."""
    weekdays: list[str]
    """The days to train on."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When it was laid out."""


@dataclass(frozen=True, slots=True)
class Named:
    """An athlete that a body names."""

    id: UUID
    archived: bool


_COLUMNS = (
    blocks.c.id,
    blocks.c.athlete_id.label("athlete"),
    blocks.c.template_id.label("template"),
    blocks.c.template_version,
    blocks.c.name,
    blocks.c.start_date.label("start"),
    blocks.c.weekdays,
    blocks.c.version,
    blocks.c.created_at,
)


def get(tx: Tx, block: str) -> Block:
    """Return one block (a bound key: of its own athlete only), or raise NotFound."""
    row = tx.execute(select(*_COLUMNS).where(named(tx, blocks, block))).mappings().one_or_none()
    if row is None or tx.caller.athlete not in (None, row["athlete"]):
        raise NotFound("block")
    return Block(**row)


def page(tx: Tx, *, after: tuple[str, ...] | None, limit: int, athlete: str | None = None) -> list[Block]:
    """Return up to `limit` blocks, the latest start first, starting past `after` (start, id)."""
    query = select(*_COLUMNS).where(blocks.c.gym_id == tx.gym)
    query = query.order_by(blocks.c.start_date.desc(), blocks.c.id.desc()).limit(limit)
    if athlete is not None:
        query = query.where(blocks.c.athlete_id == athletes.get(tx, athlete).id)
    if tx.caller.athlete is not None:
        query = query.where(blocks.c.athlete_id == tx.caller.athlete)
    if after is not None:
        place = tuple((*after, "", "")[:2])
        query = query.where(tuple_(cast(blocks.c.start_date, Text), cast(blocks.c.id, Text)) < place)
    return [Block(**row) for row in tx.execute(query).mappings()]


def add_many(tx: Tx, new: Sequence[Mapping[str, Any]]) -> None:
    """Store blocks; `new` are their columns but for the gym."""
    tx.execute(insert(blocks), [{"gym_id": tx.gym, **row} for row in new])


def rename(tx: Tx, block: str, *, expected: int | None, name: str | None) -> Block:
    """Give a block another name; None: it stays."""
    found = get(tx, block)
    if expected not in (None, found.version):
        raise ChangedMeanwhile(found.version)
    if name is not None and name != found.name:
        changed = update(blocks).where(blocks.c.gym_id == tx.gym, blocks.c.id == found.id)
        changed = changed.where(blocks.c.version == found.version)
        if not tx.execute(changed.values(version=blocks.c.version + 1, name=name)).rowcount:
            raise ChangedMeanwhile(get(tx, block).version)
    return get(tx, block)


def remove(tx: Tx, block: str, *, expected: int | None) -> None:
    """Remove a block with its sessions, as long as no set was ever logged in it."""
    states.lock(tx, get(tx, block).athlete)  # no set may come in between
    found = get(tx, block)
    if expected not in (None, found.version):
        raise ChangedMeanwhile(found.version)
    logged = (
        select(sets.c.id)
        .join_from(sets, sessions, (sessions.c.gym_id == sets.c.gym_id) & (sessions.c.id == sets.c.session_id))
        .where(sets.c.gym_id == tx.gym, sessions.c.block_id == found.id)
        .limit(1)
    )
    if tx.execute(logged).first() is not None:
        raise Conflict("Sets were logged in this block, so it stays: skip the sessions that are left.")
    tx.execute(delete(blocks).where(blocks.c.gym_id == tx.gym, blocks.c.id == found.id))


def athletes_named(tx: Tx, names: Iterable[str]) -> dict[str, Named]:
    """Return the athletes that names mean, by our ids or `ref:`, in one statement; unknown names are absent."""
    wanted = set(names)
    ids = {identity for name in wanted if (identity := as_id(name)) is not None}
    refs = {name.removeprefix("ref:") for name in wanted if name.startswith("ref:")}
    a = athlete_rows.c
    query = select(a.id, a.ref, a.archived).where(a.gym_id == tx.gym, or_(a.id.in_(ids), a.ref.in_(refs)))
    found: dict[str, Named] = {}
    for row in tx.execute(query):
        for name in (str(row.id), f"ref:{row.ref}"):
            if name in wanted:
                found[name] = Named(row.id, row.archived)
    return found
