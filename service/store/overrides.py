"""Overrides: a coach's decisions about an athlete or a group that outrank the calculation until a date."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import Field
from sqlalchemy import ColumnElement, Date, Select, Text, Uuid, bindparam, cast, insert, select, text, tuple_, update

from service.core import records
from service.core.records import OverrideKind
from service.core.units import Load, Number, tidy
from service.store import athletes, groups, lifts, override_history
from service.store.each import Each
from service.store.errors import ChangedMeanwhile, Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.loads import load_columns, stored_load
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import group_members, gyms, overrides
from service.store.unfit import fit_load, local_day, unfit

Kind = OverrideKind
MOST_DAYS_APPROVED = 14
"""Maximal work is approved for so many days at most, both ends included: for a test or a meet and what leads to it, and
never as a standing order. Ours. [days]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A coach's decision about what an athlete, or the athletes of a group, shall do."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"serialize_by_alias": True}

    id: UUID
    """Our id."""
    athlete: UUID | None
    """Whom it is about; null where it is about a group."""
    group: UUID | None
    """The group that it is about; null where it is about one athlete."""
    kind: Kind
    """`load`: this load; `cap`: no more than this load, effort or percentage; `exchange`: `to_lift` in its place;
    `leave_out`; `no_singles`; `needs_approval`: maximal work waits for an `approval`; `approval`."""
    lift: str | None
    """The lift's word; null: every lift."""
    load: Load | None
    """Of the kinds `load` and `cap`."""
    rpe: Number | None
    """Of the kind `cap`: no set is planned to be harder. [RPE]"""
    percent: Number | None
    """Of the kind `cap`: of the max that the loads are read by. [%]"""
    to_lift: str | None
    """Of the kind `exchange`."""
    reason: str
    """What is to be done in the gym, and why, in its own words; the lifter reads it. Never a diagnosis."""
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
    overrides.c.group_id,
    overrides.c.kind,
    overrides.c.lift,
    overrides.c.load_value,
    overrides.c.load_unit,
    overrides.c.rpe,
    overrides.c.percent,
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
    return Override(
        id=row.id,
        athlete=row.athlete_id,
        group=row.group_id,
        kind=row.kind,
        lift=row.lift,
        load=stored_load(row),
        rpe=None if row.rpe is None else tidy(float(row.rpe), 1),
        percent=None if row.percent is None else tidy(float(row.percent), 3),
        to_lift=row.to_lift,
        reason=row.reason,
        from_date=row.from_date,
        until=row.until_date,
        set_by=row.set_by,
        ended_at=row.ended_at,
        version=row.version,
        created_at=row.created_at,
    )


_NAMES = ", ".join(f"o.{column.name}" for column in _COLUMNS)
IN_FORCE = Each(
    text(f"""
SELECT {_NAMES}, a.time_zone, CAST(NULL AS text) AS group_name
  FROM overrides o JOIN athletes a ON a.gym_id = o.gym_id AND a.id = o.athlete_id
 WHERE o.gym_id = :gym AND o.athlete_id = :athlete AND o.from_date <= :on AND o.until_date >= :on
UNION ALL
SELECT {_NAMES}, a.time_zone, g.name AS group_name
  FROM group_members m
  JOIN overrides o ON o.gym_id = m.gym_id AND o.group_id = m.group_id
  JOIN groups g ON g.gym_id = m.gym_id AND g.id = m.group_id
  JOIN athletes a ON a.gym_id = m.gym_id AND a.id = m.athlete_id
 WHERE m.gym_id = :gym AND m.athlete_id = :athlete AND o.from_date <= :on AND o.until_date >= :on
 ORDER BY id
""").bindparams(  # noqa: S608  (the names are our own)
        bindparam("gym", type_=Uuid()), bindparam("athlete", type_=Uuid()), bindparam("on", type_=Date())
    ),
    athlete="uuid",
    on="date",
)
"""One statement for both: it is read with each session. Each half goes by an index of its own."""


def in_force(tx: Tx, athlete_id: UUID, on: date) -> list[records.Override]:
    """Return the decisions that count on a day of the athlete, those of the athlete's groups too, oldest first."""
    return in_force_of_each(tx, [(athlete_id, on)])[0]


def in_force_of_each(tx: Tx, asked: Sequence[tuple[UUID, date]]) -> list[list[records.Override]]:
    """As `in_force`, of many athletes and days in one statement."""
    return [
        [
            records.Override(
                id=str(one.id),
                kind=one.kind,
                lift=one.lift,
                reason=one.reason,
                set_by=one.set_by,
                until=one.until,
                since=one.from_date,
                load=one.load,
                to_lift=one.to_lift,
                rpe=one.rpe,
                percent=one.percent,
                group=group,
            )
            for one, group in counting
        ]
        for counting in _counting(tx, asked)
    ]


def _counting(tx: Tx, asked: Sequence[tuple[UUID, date]]) -> list[list[tuple[Override, str | None]]]:
    """Those in force, each with the name of its group."""
    return [
        [
            (_record(row), row.group_name)
            for row in rows
            if row.ended_at is None or local_day(row.ended_at, row.time_zone) > on
        ]
        for (_, on), rows in zip(asked, IN_FORCE.rows(tx, asked), strict=True)
    ]


def _about(tx: Tx, athlete: UUID) -> ColumnElement[bool]:
    """The condition that picks what is about an athlete, alone or in a group."""
    own = select(group_members.c.group_id).where(
        group_members.c.gym_id == tx.gym, group_members.c.athlete_id == athlete
    )
    return (overrides.c.athlete_id == athlete) | overrides.c.group_id.in_(own)


def get(tx: Tx, name: str) -> Override:
    """Return one override of the gym (a bound key: about its own athlete or their groups), or raise NotFound."""
    query = select(*_COLUMNS).where(named(tx, overrides, name))
    if tx.caller.athlete is not None:
        query = query.where(_about(tx, tx.caller.athlete))
    row = tx.execute(query).one_or_none()
    if row is None:
        raise NotFound("override")
    return _record(row)


def page(tx: Tx, athlete: str, *, after: tuple[str, ...] | None, limit: int, on: date | None = None) -> list[Override]:
    """Return up to `limit` overrides about an athlete, those of the athlete's groups too; those that end last first.

    They start past `after` (until, id); `on`: those in force.
    """
    found = athletes.get(tx, athlete)
    if on is not None:
        start = _start(after)
        counting = sorted((one for one, _ in _counting(tx, [(found.id, on)])[0]), key=place_of, reverse=True)
        return [one for one in counting if start is None or place_of(one) < start][:limit]
    return [_record(row) for row in tx.execute(_listed(tx, _about(tx, found.id), after, limit))]


def group_page(
    tx: Tx, group: str, *, after: tuple[str, ...] | None, limit: int, on: date | None = None
) -> list[Override]:
    """As `page`, what was decided for a group; `on`: a day of the gym."""
    found = groups.get(tx, group)
    query = _listed(tx, overrides.c.group_id == found.id, after, None if on is not None else limit)
    if on is None:
        return [_record(row) for row in tx.execute(query)]
    zone = tx.execute(select(gyms.c.time_zone).where(gyms.c.gym_id == tx.gym)).scalar_one()
    rows = tx.execute(query.where(overrides.c.from_date <= on, overrides.c.until_date >= on))
    listed = (_record(row) for row in rows if row.ended_at is None or local_day(row.ended_at, zone) > on)
    return list(listed)[:limit]


def _start(after: tuple[str, ...] | None) -> tuple[str, str] | None:
    if after is None:
        return None
    until, identity = (*after, "", "")[:2]
    return until, identity


def _listed(tx: Tx, which: ColumnElement[bool], after: tuple[str, ...] | None, limit: int | None) -> Select[Any]:
    query = (
        select(*_COLUMNS)
        .where(overrides.c.gym_id == tx.gym, which)
        .order_by(overrides.c.until_date.desc(), overrides.c.id.desc())
        .limit(limit)
    )
    start = _start(after)
    if start is not None:  # as text, so that a cursor that somebody made up cannot be anything but a text
        query = query.where(tuple_(cast(overrides.c.until_date, Text), cast(overrides.c.id, Text)) < start)
    return query


def place_of(one: Override) -> tuple[str, str]:
    """Where an override stands in the list."""
    return str(one.until), str(one.id)


def add(tx: Tx, athlete: str, *, values: Mapping[str, Any]) -> Override:
    """Set an override for one athlete; without `from_date` it counts from the athlete's today."""
    found = athletes.get(tx, athlete)
    return _add(tx, {"athlete_id": found.id}, found.time_zone, values)


def add_for_group(tx: Tx, group: UUID, *, values: Mapping[str, Any]) -> Override:
    """Set an override for all who belong to a group while it counts; without `from_date` from the gym's today."""
    zone = tx.execute(select(gyms.c.time_zone).where(gyms.c.gym_id == tx.gym)).scalar_one()
    return _add(tx, {"group_id": group}, zone, values)


def _add(tx: Tx, about: dict[str, UUID], time_zone: str, values: Mapping[str, Any]) -> Override:
    start = values.get("from_date") or local_day(tx.now, time_zone)
    _ordered(values["kind"], start, values["until"])
    _fitting(tx, values.get("lift"), values)
    row = {name: values.get(name) for name in ("kind", "lift", "rpe", "percent", "to_lift", "reason")}
    row |= {"from_date": start, "until_date": values["until"], "set_by": tx.caller.key_name}
    identity = new_id()
    load = load_columns(values.get("load"))
    tx.execute(insert(overrides).values(gym_id=tx.gym, id=identity, **about, **row, **load))
    return _kept(tx, identity)


def _kept(tx: Tx, identity: UUID) -> Override:
    """The override as it stands now, written into its history."""
    made = get(tx, str(identity))
    override_history.keep(tx, made.id, made.version, values_of(made), made_by=tx.caller.key_name)
    return made


def values_of(one: Override) -> dict[str, Any]:
    """What was decided, as the history keeps it."""
    return {
        "load": None if one.load is None else {"value": one.load.value, "unit": one.load.unit},
        "rpe": one.rpe,
        "percent": one.percent,
        "to_lift": one.to_lift,
        "reason": one.reason,
        "from": str(one.from_date),
        "until": str(one.until),
        "ended": one.ended_at is not None,
    }


def change(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Override:
    """Change what an override that has not been ended says: its bound, the lift in exchange, reason or last day."""
    before = get(tx, name)
    if before.ended_at is not None:
        raise Conflict("This override was ended; set a new one.")
    for member in ("load", "rpe", "percent", "to_lift"):
        if member in values and getattr(before, member) is None:
            raise unfit(f"is not a member of this override of the kind {before.kind}", f"#/{member}")
    until = values.get("until", before.until)
    _ordered(before.kind, before.from_date, until)
    _fitting(tx, before.lift, values)
    members = ("reason", "to_lift", "rpe", "percent")
    row = {member: values[member] for member in members if member in values} | {"until_date": until}
    if "load" in values:
        row |= load_columns(values["load"])
    _written(tx, before, expected, row)
    return _kept(tx, before.id)


def end(tx: Tx, name: str, *, expected: int | None) -> None:
    """End an override from today on; it stays in the list. Ending it again changes nothing."""
    before = get(tx, name)
    if before.ended_at is None:
        _written(tx, before, expected, {"ended_at": tx.now})
        _kept(tx, before.id)
    elif expected is not None and expected not in (before.version, before.version - 1):
        raise ChangedMeanwhile(before.version)


def _written(tx: Tx, before: Override, expected: int | None, row: dict[str, Any]) -> None:
    changed = update(overrides).where(overrides.c.gym_id == tx.gym, overrides.c.id == before.id)
    if expected is not None:
        changed = changed.where(overrides.c.version == expected)
    if not tx.execute(changed.values(version=overrides.c.version + 1, **row)).rowcount:
        raise ChangedMeanwhile(before.version)
    # one that is older than its history begins it with what stood before
    override_history.keep(tx, before.id, before.version, values_of(before), made_by=before.set_by)


def _ordered(kind: Kind, start: date, until: date) -> None:
    last = start + timedelta(days=MOST_DAYS_APPROVED - 1)
    if kind == "approval" and not start <= until <= last:
        rule = f"must be from {start} to {last}: an approval holds for {MOST_DAYS_APPROVED} days at most"
        raise unfit(rule, "#/until")
    if until < start:
        raise unfit(f"must not be before the first day, {start}", "#/until")


def _both_loaded(lift: records.Lift, to_lift: records.Lift) -> None:
    """Refuse a lift without a load in the place of one with: sets, loads and efforts of a plan say nothing for it."""
    if to_lift.load_kind == "none" and lift.load_kind != "none":
        name, other = lift.name.lower(), to_lift.name.lower()
        raise unfit(
            f"must be a lift with a load: the {other} is done without one, so what is planned for the {name} says "
            f"nothing for it; leave the {name} out, and plan the {other} by itself",
            "#/to_lift",
        )


def _fitting(tx: Tx, lift: str | None, values: Mapping[str, Any]) -> None:
    """Refuse lifts that the gym does not have, and a load that says nothing for the lift."""
    to_lift = values.get("to_lift")
    known = lifts.get_many(tx, [one for one in (lift, to_lift) if one is not None])
    if lift is not None and lift not in known:
        raise UnknownReference("lift", "#/lift")
    if to_lift is not None and to_lift not in known:
        raise UnknownReference("lift", "#/to_lift")
    if to_lift is not None and to_lift == lift:
        raise unfit("must be another lift than the one that is exchanged", "#/to_lift")
    if to_lift is not None and lift is not None:
        _both_loaded(known[lift], known[to_lift])
    if values.get("load") is not None and lift is not None:
        fit_load(values["load"], known[lift])
