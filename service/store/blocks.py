"""Blocks: a template version laid out for one athlete on dates."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import Date, Integer, Text, Uuid, bindparam, cast, delete, or_, select, text, tuple_, update
from sqlalchemy.dialects.postgresql import ARRAY

from service.core.layout.wishes import Apart, Holiday, Layout, LightBefore, Wishes
from service.store import athletes, session_plans, states
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
    """The first day that could be used; of a block laid out backwards its first session's."""
    weekdays: list[str]
    """The days to train on."""
    layout: dict[str, Any] | None
    """How its days were asked for, as a body asks; null where only the weekdays were kept."""
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
    blocks.c.layout,
)
ADD = text("""
INSERT INTO blocks (gym_id, id, athlete_id, template_id, template_version, name, start_date, weekdays, layout)
SELECT :gym, t.id, t.athlete_id, :template_id, :template_version, :name, :start_date, :weekdays, CAST(:layout AS json)
  FROM unnest(:ids, :athletes) AS t (id, athlete_id)
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("template_id", type_=Uuid()),
    bindparam("template_version", type_=Integer()),
    bindparam("start_date", type_=Date()),
    bindparam("weekdays", type_=ARRAY(Text())),
    *(bindparam(name, type_=Text()) for name in ("name", "layout")),
    *(bindparam(name, type_=ARRAY(Uuid())) for name in ("ids", "athletes")),
)


def get(tx: Tx, block: str) -> Block:
    """Return one block (a bound key: of its own athlete only), or raise NotFound."""
    row = tx.execute(select(*_COLUMNS).where(named(tx, blocks, block))).mappings().one_or_none()
    if row is None or tx.caller.athlete not in (None, row["athlete"]):
        raise NotFound("block")
    return Block(**row)


def many(tx: Tx, ids: Sequence[UUID]) -> list[Block]:
    """Return blocks of the gym by id, in one statement; unknown ids are absent."""
    query = select(*_COLUMNS).where(blocks.c.gym_id == tx.gym, blocks.c.id.in_(ids)).order_by(blocks.c.id)
    return [Block(**row) for row in tx.execute(query).mappings()]


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


def add_alike(tx: Tx, ids: Mapping[UUID, UUID], values: Mapping[str, Any], layout: Layout) -> None:
    """Store blocks that are laid out alike: by athlete their ids; `values` are the columns that they share."""
    kept = json.dumps(layout_json(layout), separators=(",", ":"))
    many = {"athletes": list(ids), "ids": list(ids.values())}
    tx.execute(ADD, {"gym": tx.gym, **many, **values, "layout": kept})


def layout_json(layout: Layout) -> dict[str, Any]:
    """A layout as it is kept and answered: the members that a body has, without what was not said."""
    wishes = layout.wishes
    said: dict[str, Any] = {
        "never_on": list(wishes.never_on),
        "holidays": [{"from": str(one.since), "until": str(one.until)} for one in wishes.holidays],
        "apart": [{one.by: list(one.kinds), "days": one.days, "must": one.must} for one in wishes.apart],
        "light_before": [{"date": str(one.date), "days": one.days, "must": one.must} for one in wishes.light_before],
    }
    shown: dict[str, Any] = {"weekdays": list(layout.weekdays)}
    for name, day in (("start", layout.start), ("end", layout.end)):
        if day is not None:
            shown[name] = str(day)
    told = {name: value for name, value in said.items() if value}
    if wishes.most_a_week is not None:
        told["most_a_week"] = wishes.most_a_week
    if told:
        shown["wishes"] = told
    if layout.places:
        shown["places"] = {day: str(place) for day, place in layout.places.items()}
    return shown | {name: True for name in ("reorder", "spread") if getattr(layout, name)}


def layout_of(block: Block) -> Layout:
    """The layout of a block; where none was kept, its weekdays from its start."""
    kept: dict[str, Any] = block.layout or {"weekdays": block.weekdays, "start": str(block.start)}
    said: dict[str, Any] = kept.get("wishes", {})
    day = date.fromisoformat
    return Layout(
        weekdays=tuple(kept["weekdays"]),
        start=day(kept["start"]) if "start" in kept else None,
        end=day(kept["end"]) if "end" in kept else None,
        wishes=Wishes(
            never_on=tuple(said.get("never_on", ())),
            holidays=tuple(Holiday(since=day(x["from"]), until=day(x["until"])) for x in said.get("holidays", ())),
            apart=tuple(_apart(one) for one in said.get("apart", ())),
            light_before=tuple(
                LightBefore(date=day(one["date"]), days=one["days"], must=one["must"])
                for one in said.get("light_before", ())
            ),
            most_a_week=said.get("most_a_week"),
        ),
        places={name: UUID(place) for name, place in kept.get("places", {}).items()},
        reorder=kept.get("reorder", False),
        spread=kept.get("spread", False),
    )


def _apart(kept: Mapping[str, Any]) -> Apart:
    by: Literal["sessions", "lifts"] = "sessions" if "sessions" in kept else "lifts"
    return Apart(by=by, kinds=tuple(kept[by]), days=kept["days"], must=kept["must"])


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
    plans = session_plans.hold(tx, blocks=[found.id])
    tx.execute(delete(blocks).where(blocks.c.gym_id == tx.gym, blocks.c.id == found.id))
    session_plans.drop_unused(tx, plans)


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
