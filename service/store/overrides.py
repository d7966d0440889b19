"""Overrides: a coach's decisions about an athlete that outrank the calculation until a date."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any, ClassVar, Literal
from uuid import UUID

from pydantic import Field
from sqlalchemy import Text, bindparam, cast, insert, select, tuple_, update

from service.core import records
from service.core.units import Load
from service.store import athletes, lifts
from service.store.errors import ChangedMeanwhile, Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.loads import load_columns, stored_load
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import athletes as athlete_rows
from service.store.tables import overrides
from service.store.unfit import fit_load, local_day, unfit

Kind = Literal["load", "cap", "exchange", "leave_out"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A coach's decision about a lift of an athlete."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"serialize_by_alias": True}

    id: UUID
    """Our id."""
    athlete: UUID
    """Whom it is about."""
    kind: Kind
    """`load`: this load; `cap`: no more than this load; `exchange`: `to_lift` in its place; `leave_out`."""
    lift: str
    """The lift's word."""
    load: Load | None
    """Of the kinds `load` and `cap`."""
    to_lift: str | None
    """Of the kind `exchange`."""
    reason: str
    """Why; the lifter reads it."""
    from_date: Annotated[date, Field(alias="from")]
    """The first day."""
    until: date
    """The last day; it is included."""
    set_by: str
    """The name of the key that it was set with."""
    ended_at: datetime | None
    """When it was ended before its time; it does not count from that day on."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When it was set."""


_COLUMNS = (
    overrides.c.id,
    overrides.c.athlete_id,
    overrides.c.kind,
    overrides.c.lift,
    overrides.c.load_value,
    overrides.c.load_unit,
    overrides.c.to_lift,
    overrides.c.reason,
    overrides.c.from_date,
    overrides.c.until_date,
    overrides.c.set_by,
    overrides.c.ended_at,
    overrides.c.version,
    overrides.c.created_at,
)


def _record(row: Any) -> Override:
    values = row._asdict()
    for name in ("load_value", "load_unit", "athlete_id", "until_date", "time_zone"):
        values.pop(name, None)
    return Override(athlete=row.athlete_id, until=row.until_date, load=stored_load(row), **values)


IN_FORCE = (
    select(*_COLUMNS, athlete_rows.c.time_zone)
    .join_from(
        overrides,
        athlete_rows,
        (athlete_rows.c.gym_id == overrides.c.gym_id) & (athlete_rows.c.id == overrides.c.athlete_id),
    )
    .where(
        overrides.c.gym_id == bindparam("gym"),
        overrides.c.athlete_id == bindparam("athlete"),
        overrides.c.from_date <= bindparam("on"),
        overrides.c.until_date >= bindparam("on"),
    )
    .order_by(overrides.c.id)
)


def in_force(tx: Tx, athlete_id: UUID, on: date) -> list[records.Override]:
    """Return the decisions that count on a day of the athlete, as the calculation takes them, oldest first."""
    return [
        records.Override(
            id=str(one.id),
            kind=one.kind,
            lift=one.lift,
            reason=one.reason,
            set_by=one.set_by,
            until=one.until,
            load=one.load,
            to_lift=one.to_lift,
        )
        for one in _counting(tx, athlete_id, on)
    ]


def _counting(tx: Tx, athlete_id: UUID, on: date) -> list[Override]:
    rows = tx.execute(IN_FORCE, {"gym": tx.gym, "athlete": athlete_id, "on": on})
    return [_record(row) for row in rows if row.ended_at is None or local_day(row.ended_at, row.time_zone) > on]


def get(tx: Tx, name: str) -> Override:
    """Return one override of the gym (a bound key: about its own athlete only), or raise NotFound."""
    query = select(*_COLUMNS).where(named(tx, overrides, name))
    if tx.caller.athlete is not None:
        query = query.where(overrides.c.athlete_id == tx.caller.athlete)
    row = tx.execute(query).one_or_none()
    if row is None:
        raise NotFound("override")
    return _record(row)


def page(tx: Tx, athlete: str, *, after: tuple[str, ...] | None, limit: int, on: date | None = None) -> list[Override]:
    """Return up to `limit` overrides, those that end last first, starting past `after` (until, id); `on`: in force."""
    found = athletes.get(tx, athlete)
    start = tuple((*after, "", "")[:2]) if after is not None else None
    if on is not None:
        counting = sorted(_counting(tx, found.id, on), key=place_of, reverse=True)
        return [one for one in counting if start is None or place_of(one) < start][:limit]
    query = (
        select(*_COLUMNS)
        .where(overrides.c.gym_id == tx.gym, overrides.c.athlete_id == found.id)
        .order_by(overrides.c.until_date.desc(), overrides.c.id.desc())
        .limit(limit)
    )
    if start is not None:  # as text, so that a cursor that somebody made up cannot be anything but a text
        query = query.where(tuple_(cast(overrides.c.until_date, Text), cast(overrides.c.id, Text)) < start)
    return [_record(row) for row in tx.execute(query)]


def place_of(one: Override) -> tuple[str, str]:
    """Where an override stands in the list."""
    return str(one.until), str(one.id)


def add(tx: Tx, athlete: str, *, values: Mapping[str, Any]) -> Override:
    """Set an override; without `from_date` it counts from the athlete's today."""
    found = athletes.get(tx, athlete)
    start = values.get("from_date") or local_day(tx.now, found.time_zone)
    _ordered(start, values["until"])
    _fitting(tx, values["lift"], values)
    row = {
        "kind": values["kind"],
        "lift": values["lift"],
        "to_lift": values.get("to_lift"),
        "reason": values["reason"],
        "from_date": start,
        "until_date": values["until"],
        "set_by": tx.caller.key_name,
        **load_columns(values.get("load")),
    }
    identity = new_id()
    tx.execute(insert(overrides).values(gym_id=tx.gym, id=identity, athlete_id=found.id, **row))
    return get(tx, str(identity))


def change(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Override:
    """Change the load, the lift in exchange, the reason or the last day of an override that has not been ended."""
    before = get(tx, name)
    if before.ended_at is not None:
        raise Conflict("This override was ended; set a new one.")
    for member, kinds in (("load", ("load", "cap")), ("to_lift", ("exchange",))):
        if member in values and before.kind not in kinds:
            raise unfit(f"is not a member of an override of the kind {before.kind}", f"#/{member}")
    until = values.get("until", before.until)
    _ordered(before.from_date, until)
    _fitting(tx, before.lift, values)
    row = {member: values[member] for member in ("reason", "to_lift") if member in values} | {"until_date": until}
    if "load" in values:
        row |= load_columns(values["load"])
    _written(tx, before, expected, row)
    return get(tx, name)


def end(tx: Tx, name: str, *, expected: int | None) -> None:
    """End an override from the athlete's today on; it stays in the list. Ending it again changes nothing."""
    before = get(tx, name)
    if before.ended_at is None:
        _written(tx, before, expected, {"ended_at": tx.now})
    elif expected is not None and expected not in (before.version, before.version - 1):
        raise ChangedMeanwhile(before.version)


def _written(tx: Tx, before: Override, expected: int | None, row: dict[str, Any]) -> None:
    changed = update(overrides).where(overrides.c.gym_id == tx.gym, overrides.c.id == before.id)
    if expected is not None:
        changed = changed.where(overrides.c.version == expected)
    if not tx.execute(changed.values(version=overrides.c.version + 1, **row)).rowcount:
        raise ChangedMeanwhile(before.version)


def _ordered(start: date, until: date) -> None:
    if until < start:
        raise unfit(f"must not be before the first day, {start}", "#/until")


def _fitting(tx: Tx, lift: str, values: Mapping[str, Any]) -> None:
    """Refuse lifts that the gym does not have, and a load that says nothing for the lift."""
    to_lift = values.get("to_lift")
    known = lifts.get_many(tx, [lift] if to_lift is None else [lift, to_lift])
    if lift not in known:
        raise UnknownReference("lift", "#/lift")
    if to_lift is not None and to_lift not in known:
        raise UnknownReference("lift", "#/to_lift")
    if to_lift == lift:
        raise unfit("must be another lift than the one that is exchanged", "#/to_lift")
    if values.get("load") is not None:
        fit_load(values["load"], known[lift])
