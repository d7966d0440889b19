"""Absences: when somebody did not train, and what the way back from it stands on. No text: nothing says what it was."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import Field
from sqlalchemy import Text, cast, delete, func, insert, select, tuple_, update

from service.core.records import AbsenceKind
from service.store import athletes
from service.store.errors import ChangedMeanwhile, NotFound
from service.store.ids import new_id
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import absences
from service.store.tables import athletes as athlete_rows
from service.store.unfit import local_day, unfit


@dataclass(frozen=True, slots=True, kw_only=True)
class Absence:
    """A time without training."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"serialize_by_alias": True}

    id: UUID
    """Our id."""
    athlete: UUID
    """Who is away."""
    kind: AbsenceKind
    """`holiday`, `illness`, `injury` or `other`; nothing more is asked for, and no diagnosis is ever stored."""
    from_date: Annotated[date, Field(alias="from")]
    """The first day."""
    until: date | None
    """The last day; it is included. Null: not back yet."""
    agreed: bool
    """Of an injury: the coach has agreed that the way back begins. Until then all stays as light as at first."""
    agreed_on: date | None
    """Since when the coach agrees."""
    agreed_by: str | None
    """The name of the key that agreed."""
    rule: dict[str, Any] | None
    """What differs from `return_rule` of the settings on the way back from this absence; null: nothing."""
    made_by: str
    """The name of the key that it was entered with."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When it was entered."""


_COLUMNS = (
    absences.c.id,
    absences.c.athlete_id,
    absences.c.kind,
    absences.c.from_date,
    absences.c.until_date,
    absences.c.agreed_on,
    absences.c.agreed_by,
    absences.c.rule,
    absences.c.made_by,
    absences.c.version,
    absences.c.created_at,
)


def _record(row: Any) -> Absence:
    values = row._asdict()
    values["athlete"], values["until"] = values.pop("athlete_id"), values.pop("until_date")
    return Absence(agreed=row.agreed_on is not None, **values)


def get(tx: Tx, name: str) -> Absence:
    """Return one absence of the gym (a bound key: of its own athlete only), or raise NotFound."""
    query = select(*_COLUMNS).where(named(tx, absences, name))
    if tx.caller.athlete is not None:
        query = query.where(absences.c.athlete_id == tx.caller.athlete)
    row = tx.execute(query).one_or_none()
    if row is None:
        raise NotFound("absence")
    return _record(row)


def page(
    tx: Tx,
    athlete: str,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    since: date | None = None,
    to: date | None = None,
) -> list[Absence]:
    """Return up to `limit` absences, the newest first, past `after` (from, id); those that touch `since` to `to`."""
    found = athletes.get(tx, athlete)
    query = (
        select(*_COLUMNS)
        .where(absences.c.gym_id == tx.gym, absences.c.athlete_id == found.id)
        .order_by(absences.c.from_date.desc(), absences.c.id.desc())
        .limit(limit)
    )
    if since is not None:
        query = query.where(func.coalesce(absences.c.until_date, since) >= since)
    if to is not None:
        query = query.where(absences.c.from_date <= to)
    if after is not None:  # as text, so that a cursor that somebody made up cannot be anything but a text
        place = tuple((*after, "", "")[:2])
        query = query.where(tuple_(cast(absences.c.from_date, Text), cast(absences.c.id, Text)) < place)
    return [_record(row) for row in tx.execute(query)]


def ahead(tx: Tx, athletes: Collection[UUID], *, after: date) -> dict[UUID, list[tuple[date, date]]]:
    """Return the absences of athletes that begin after a day and have a last one: first and last days, by athlete."""
    query = select(absences.c.athlete_id, absences.c.from_date, absences.c.until_date).where(
        absences.c.gym_id == tx.gym,
        absences.c.athlete_id.in_(athletes),
        absences.c.from_date > after,
        absences.c.until_date.is_not(None),
    )
    found: dict[UUID, list[tuple[date, date]]] = {}
    for row in tx.execute(query.order_by(absences.c.from_date)):
        found.setdefault(row.athlete_id, []).append((row.from_date, row.until_date))
    return found


def place_of(one: Absence) -> tuple[str, str]:
    """Where an absence stands in the list."""
    return str(one.from_date), str(one.id)


def add(tx: Tx, athlete: UUID, *, values: Mapping[str, Any]) -> Absence:
    """Enter an absence of an athlete whose lock is held.

    An injury from which somebody is back already, entered with `agreed`, is agreed since the day after it.
    """
    row = {
        "kind": values["kind"],
        "from_date": values["from_date"],
        "until_date": values.get("until"),
        "rule": values.get("rule"),
        "made_by": tx.caller.key_name,
    }
    _fitting(tx, athlete, row, other_than=None, sent=values)
    if values.get("agreed"):
        _is_injury(row["kind"])
        today, until = _today(tx, athlete), row["until_date"]
        row |= {"agreed_on": today if until is None else min(today, until + timedelta(days=1))}
        row |= {"agreed_by": tx.caller.key_name}
    identity = new_id()
    tx.execute(insert(absences).values(gym_id=tx.gym, id=identity, athlete_id=athlete, **row))
    return get(tx, str(identity))


def change(tx: Tx, before: Absence, *, expected: int | None, values: Mapping[str, Any]) -> Absence:
    """Change an absence of an athlete whose lock is held; with `agreed` since today."""
    row: dict[str, Any] = {
        "kind": values.get("kind", before.kind),
        "from_date": values.get("from_date", before.from_date),
        "until_date": values.get("until", before.until),
        "rule": values.get("rule", before.rule),
    }
    _fitting(tx, before.athlete, row, other_than=before.id, sent=values)
    if values.get("agreed"):
        _is_injury(row["kind"])
        if not before.agreed:
            row |= {"agreed_on": _today(tx, before.athlete), "agreed_by": tx.caller.key_name}
    elif "agreed" in values or row["kind"] != "injury":
        row |= {"agreed_on": None, "agreed_by": None}
    changed = update(absences).where(absences.c.gym_id == tx.gym, absences.c.id == before.id)
    if expected is not None:
        changed = changed.where(absences.c.version == expected)
    if not tx.execute(changed.values(version=absences.c.version + 1, **row)).rowcount:
        raise ChangedMeanwhile(before.version)
    return get(tx, str(before.id))


def remove(tx: Tx, before: Absence, *, expected: int | None) -> None:
    """Remove an absence of an athlete whose lock is held."""
    gone = delete(absences).where(absences.c.gym_id == tx.gym, absences.c.id == before.id)
    if expected is not None:
        gone = gone.where(absences.c.version == expected)
    if not tx.execute(gone).rowcount:
        raise ChangedMeanwhile(before.version)


def _fitting(
    tx: Tx, athlete: UUID, row: Mapping[str, Any], *, other_than: UUID | None, sent: Mapping[str, Any]
) -> None:
    """Refuse days that are no time, or that another absence of the athlete has; a day that was `sent` is named."""
    first, last = row["from_date"], row["until_date"]
    if last is not None and last < first:
        raise unfit(f"must not be before the first day, {first}", "#/until")
    query = (
        select(absences.c.from_date, absences.c.until_date)
        .where(absences.c.gym_id == tx.gym, absences.c.athlete_id == athlete)
        .where(func.coalesce(absences.c.until_date, first) >= first)
        .order_by(absences.c.from_date)
        .limit(1)
    )
    if last is not None:
        query = query.where(absences.c.from_date <= last)
    if other_than is not None:
        query = query.where(absences.c.id != other_than)
    other = tx.execute(query).one_or_none()
    if other is not None:
        until = f" until {other.until_date}" if other.until_date is not None else ""
        first_is_wrong = "from_date" in sent and (other.from_date <= first or "until" not in sent)
        pointer = "#/from" if first_is_wrong else "#/until"
        raise unfit(f"must not overlap another absence, which is entered from {other.from_date}{until}", pointer)


def _is_injury(kind: str) -> None:
    if kind != "injury":
        raise unfit("is for an injury only: from everything else the way back begins by itself", "#/agreed")


def _today(tx: Tx, athlete: UUID) -> date:
    query = select(athlete_rows.c.time_zone).where(athlete_rows.c.gym_id == tx.gym, athlete_rows.c.id == athlete)
    return local_day(tx.now, tx.execute(query).scalar_one())
