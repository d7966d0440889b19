"""Maxes: tested ones and training maxes, as coaches enter them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import Text, cast, delete, insert, select, tuple_, update
from sqlalchemy.dialects.postgresql import distinct_on

from service.core.estimate.rolling import support_class
from service.core.records import Lift, SupportClass
from service.core.units import GRAINS_PER_KG, Load, MassUnit, from_kg, load, say
from service.store import athletes, lifts
from service.store.errors import ChangedMeanwhile, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.loads import load_columns
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import body_weights, maxes
from service.store.unfit import fit_load, unfit

Day = date  # a record's own field may be called date
Kind = Literal["tested", "training"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Max:
    """A tested max or a training max."""

    id: UUID
    """Our id."""
    athlete: UUID
    """Whose max it is."""
    lift: str
    """The lift's word."""
    kind: Kind
    """`tested`: done on a platform or in a test; `training`: the coach's working figure for percentages."""
    load: Load
    """In the sense of the lift's load kind; for `bodyweight` what was added."""
    date: Day
    """Since when it is in force."""
    source: str | None
    """Where it comes from, in words."""
    support: tuple[str, ...]
    """What was worn."""
    support_class: SupportClass
    """What maxes and sets are compared within: `unsupported` (none, belt, sleeves), `wraps`, `suit` (suit, shirt)."""
    note: str | None
    """The coach's."""
    session: UUID | None
    """The test day whose heaviest attempt it is, which it follows; null where somebody entered it."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When it was entered."""


_COLUMNS = (
    maxes.c.id,
    maxes.c.athlete_id,
    maxes.c.lift,
    maxes.c.kind,
    maxes.c.load_value,
    maxes.c.load_unit,
    maxes.c.date,
    maxes.c.source,
    maxes.c.support,
    maxes.c.support_class,
    maxes.c.note,
    maxes.c.session_id.label("session"),
    maxes.c.version,
    maxes.c.created_at,
)


def _record(row: Any) -> Max:
    values = row._asdict()
    for name in ("load_value", "load_unit", "athlete_id"):
        del values[name]
    values["support"] = tuple(row.support)
    return Max(athlete=row.athlete_id, load=load(float(row.load_value), row.load_unit), **values)


def get(tx: Tx, name: str) -> Max:
    """Return one max of the gym (a bound key: its own athlete's only), or raise NotFound."""
    query = select(*_COLUMNS).where(named(tx, maxes, name))
    if tx.caller.athlete is not None:
        query = query.where(maxes.c.athlete_id == tx.caller.athlete)
    row = tx.execute(query).one_or_none()
    if row is None:
        raise NotFound("max")
    return _record(row)


def page(
    tx: Tx,
    athlete: str,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    on: date | None = None,
    lift: str | None = None,
    support: SupportClass | None = None,
) -> list[Max]:
    """Return up to `limit` maxes, the newest first, starting past `after` (date, id).

    `on`: only those in force that day, one for each lift, kind and support class.
    """
    found = athletes.get(tx, athlete)
    own = select(*_COLUMNS).where(maxes.c.gym_id == tx.gym, maxes.c.athlete_id == found.id)
    if on is not None:
        each = (maxes.c.lift, maxes.c.kind, maxes.c.support_class)
        newest = own.where(maxes.c.date <= on).ext(distinct_on(*each))
        own = newest.order_by(*each, maxes.c.date.desc(), maxes.c.id.desc())
    listed = own.subquery()
    query = select(listed).order_by(listed.c.date.desc(), listed.c.id.desc()).limit(limit)
    if lift is not None:
        query = query.where(listed.c.lift == lift)
    if support is not None:
        query = query.where(listed.c.support_class == support)
    if after is not None:  # as text, so that a cursor that somebody made up cannot be anything but a text
        query = query.where(tuple_(cast(listed.c.date, Text), cast(listed.c.id, Text)) < tuple((*after, "", "")[:2]))
    return [_record(row) for row in tx.execute(query)]


def add(tx: Tx, athlete: str, *, values: Mapping[str, Any]) -> Max:
    """Enter a max; a training max may be a `percent` of the tested max in force on its date in place of a load."""
    found = athletes.get(tx, athlete)
    lift = _lift(tx, values["lift"])
    worn = tuple(values.get("support") or ())
    row = {
        "lift": lift.id,
        "kind": values["kind"],
        "date": values["date"],
        "source": values.get("source"),
        "note": values.get("note"),
        "support": list(worn),
        "support_class": support_class(worn),
    }
    if values.get("percent") is not None:
        shown, words = _part_of_tested(tx, found.id, lift, row, values["percent"])
        row["source"] = words if row["source"] is None else f"{row['source']}; {words}"
    else:
        shown = values["load"]
    _checked(shown, lift)
    identity = new_id()
    tx.execute(insert(maxes).values(gym_id=tx.gym, id=identity, athlete_id=found.id, **row, **load_columns(shown)))
    return get(tx, str(identity))


def change(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Max:
    """Change some fields; `expected` is the version that the caller read (None: whatever it is)."""
    before = get(tx, name)
    row = {member: values[member] for member in ("date", "source", "note") if member in values}
    if "support" in values:
        worn = tuple(values["support"] or ())
        row |= {"support": list(worn), "support_class": support_class(worn)}
    if "load" in values:
        _checked(values["load"], _lift(tx, before.lift))
        row |= load_columns(values["load"])
    changed = update(maxes).where(maxes.c.gym_id == tx.gym, maxes.c.id == before.id)
    if expected is not None:
        changed = changed.where(maxes.c.version == expected)
    if not tx.execute(changed.values(version=maxes.c.version + 1, **row)).rowcount:
        raise ChangedMeanwhile(before.version)
    return get(tx, name)


def remove(tx: Tx, name: str, *, expected: int | None) -> None:
    """Remove a max that was entered by mistake."""
    before = get(tx, name)
    gone = delete(maxes).where(maxes.c.gym_id == tx.gym, maxes.c.id == before.id)
    if expected is not None:
        gone = gone.where(maxes.c.version == expected)
    if not tx.execute(gone).rowcount:
        raise ChangedMeanwhile(before.version)


def _lift(tx: Tx, word: str) -> Lift:
    found = lifts.get_many(tx, [word]).get(word)
    if found is None:
        raise UnknownReference("lift", "#/lift")
    return found


def _checked(shown: Load, lift: Lift) -> None:
    fit_load(shown, lift)
    if shown.unit == "step":
        raise unfit("must be kg or lb: a machine's step without a mass has no max", "#/load/unit")


def _part_of_tested(tx: Tx, athlete_id: UUID, lift: Lift, row: Mapping[str, Any], percent: float) -> tuple[Load, str]:
    """The load that is a percentage of the tested max in force on the row's date, and where it comes from, in words."""
    query = (
        select(maxes.c.load_value, maxes.c.load_unit, maxes.c.date)
        .where(maxes.c.gym_id == tx.gym, maxes.c.athlete_id == athlete_id, maxes.c.lift == lift.id)
        .where(maxes.c.kind == "tested", maxes.c.support_class == row["support_class"], maxes.c.date <= row["date"])
        .order_by(maxes.c.date.desc(), maxes.c.id.desc())
        .limit(1)
    )
    tested = tx.execute(query).one_or_none()
    if tested is None:
        raise unfit("needs a tested max of this lift and support, in force on that date: send a load", "#/percent")
    base = load(float(tested.load_value), tested.load_unit)
    body_kg = _body_kg(tx, athlete_id, tested.date) if lift.load_kind == "bodyweight" else 0.0
    if body_kg is None:
        raise unfit("needs a body weight on or before the tested max's date: send a load", "#/percent")
    whole_kg = base.grains / GRAINS_PER_KG + body_kg
    unit: MassUnit = "lb" if base.unit == "lb" else "kg"
    shown = from_kg(whole_kg * percent / 100 - body_kg, unit)
    return shown, f"{percent:g} % of the tested max of {say(base)} of {tested.date}"


def _body_kg(tx: Tx, athlete_id: UUID, on: date) -> float | None:
    query = (
        select(body_weights.c.load_kg)
        .where(body_weights.c.gym_id == tx.gym, body_weights.c.athlete_id == athlete_id, body_weights.c.date <= on)
        .order_by(body_weights.c.date.desc())
        .limit(1)
    )
    found = tx.execute(query).scalar_one_or_none()
    return None if found is None else float(found)
