"""Groups: athletes who train together, and what a substitute coach notes about a day of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Select, Text, cast, delete, func, insert, literal, select, tuple_, update
from sqlalchemy.dialects.postgresql import insert as upsert
from sqlalchemy.exc import IntegrityError

from service.store.errors import ChangedMeanwhile, Conflict, NotFound, VersionNeeded
from service.store.ids import new_id
from service.store.naming import named
from service.store.session import Tx, constraint
from service.store.tables import athletes, group_members, group_notes, groups

Day = date  # a record's own field may be called date
NOT_SENT = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Athletes who train together."""

    id: UUID
    """Our id."""
    ref: str | None
    """The gym's own reference."""
    name: str
    """As the gym writes it."""
    archived: bool
    """Archived groups leave the lists; what was decided for them goes on until its last day."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When the group was made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """An athlete of a group."""

    group: UUID
    """Our id of the group."""
    athlete: UUID
    """Our id of the athlete."""
    ref: str | None
    """The gym's own reference of the athlete."""
    name: str
    """The athlete's name."""
    since: datetime
    """When the athlete came into the group."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupNote:
    """What a coach notes about a group's day, for the one who comes back."""

    group: UUID
    """Our id of the group."""
    date: Day
    """The day that it is about."""
    text: str
    """As it was written."""
    made_by: str
    """The name of the key that it was last written with."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When it was first written."""


_COLUMNS = (groups.c.id, groups.c.ref, groups.c.name, groups.c.archived, groups.c.version, groups.c.created_at)
_NOTE = (
    group_notes.c.group_id.label("group"),
    group_notes.c.date,
    group_notes.c.text,
    group_notes.c.made_by,
    group_notes.c.version,
    group_notes.c.created_at,
)


def get(tx: Tx, group: str) -> Group:
    """Return one group of the gym (a bound key: that its own athlete belongs to), or raise NotFound."""
    query = select(*_COLUMNS).where(named(tx, groups, group))
    if tx.caller.athlete is not None:
        own = select(group_members.c.group_id).where(
            group_members.c.gym_id == tx.gym, group_members.c.athlete_id == tx.caller.athlete
        )
        query = query.where(groups.c.id.in_(own))
    row = tx.execute(query).one_or_none()
    if row is None:
        raise NotFound("group")
    return Group(**row._asdict())


def lock(tx: Tx, group: UUID) -> None:
    """Let nobody come into a group, leave it, or decide for it, until this transaction ends."""
    tx.execute(
        select(groups.c.id).where(groups.c.gym_id == tx.gym, groups.c.id == group).with_for_update(key_share=True)
    )


def page(
    tx: Tx, *, after: tuple[str, ...] | None, limit: int, archived: bool = False, words: str | None = None
) -> list[Group]:
    """Return up to `limit` groups by name, starting past `after` (name, id)."""
    query = (
        select(*_COLUMNS)
        .where(groups.c.gym_id == tx.gym, groups.c.archived == archived)
        .order_by(groups.c.name, groups.c.id)
        .limit(limit)
    )
    if after is not None:  # as text, so that a cursor that somebody made up cannot be anything but a text
        query = query.where(tuple_(groups.c.name, cast(groups.c.id, Text)) > tuple((*after, "", "")[:2]))
    if words is not None:
        pattern = "%" + words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
        query = query.where(groups.c.name.ilike(pattern) | groups.c.ref.ilike(pattern))
    return [Group(**row._asdict()) for row in tx.execute(query)]


def add(tx: Tx, *, values: dict[str, Any]) -> Group:
    """Make a group."""
    identity = new_id()
    try:
        with tx.connection.begin_nested():
            tx.execute(insert(groups).values(gym_id=tx.gym, id=identity, **values))
    except IntegrityError as error:
        raise _refused(error) from error
    return get(tx, str(identity))


def change(tx: Tx, group: str, *, expected: int | None, values: dict[str, Any]) -> Group:
    """Change some fields; `expected` is the version that the caller read (None: whatever it is)."""
    before = get(tx, group)
    changed = update(groups).where(groups.c.gym_id == tx.gym, groups.c.id == before.id)
    if expected is not None:
        changed = changed.where(groups.c.version == expected)
    try:
        with tx.connection.begin_nested():
            count = tx.execute(changed.values(version=groups.c.version + 1, **values)).rowcount
    except IntegrityError as error:
        raise _refused(error) from error
    if not count:
        raise ChangedMeanwhile(before.version)
    return get(tx, str(before.id))


def put(tx: Tx, group: str, *, values: dict[str, Any]) -> tuple[Group, bool]:
    """Create or replace by the gym's own reference; tell whether it was created. The members stay."""
    ref = group.removeprefix("ref:")
    tx.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(f"{tx.gym}/groups/{ref}", 0))))
    try:
        found = get(tx, group)
    except NotFound:
        return add(tx, values=values | {"ref": ref}), True
    return replace(tx, str(found.id), expected=None, values=values), False


def replace(tx: Tx, group: str, *, expected: int | None, values: dict[str, Any]) -> Group:
    """Replace all fields; the ref and the members stay."""
    return change(tx, group, expected=expected, values={"archived": False} | values)


def _refused(error: IntegrityError) -> Exception:
    if constraint(error) == "groups_ref_key":
        return Conflict("Another group of this gym has this ref.")
    return error


def _members(tx: Tx, group: UUID) -> Select[Any]:
    """Who belongs to a group and is not archived, by name."""
    return (
        select(
            group_members.c.group_id.label("group"),
            athletes.c.id.label("athlete"),
            athletes.c.ref,
            athletes.c.name,
            group_members.c.created_at.label("since"),
        )
        .join_from(
            group_members,
            athletes,
            (athletes.c.gym_id == group_members.c.gym_id) & (athletes.c.id == group_members.c.athlete_id),
        )
        .where(group_members.c.gym_id == tx.gym, group_members.c.group_id == group, ~athletes.c.archived)
        .order_by(athletes.c.name, athletes.c.id)
    )


def members(tx: Tx, group: UUID) -> list[Member]:
    """Return all who belong to a group and are not archived, by name."""
    return [Member(**row._asdict()) for row in tx.execute(_members(tx, group))]


def member_page(tx: Tx, group: str, *, after: tuple[str, ...] | None, limit: int) -> list[Member]:
    """Return up to `limit` members who are not archived by name, starting past `after` (name, id)."""
    query = _members(tx, get(tx, group).id).limit(limit)
    if after is not None:
        query = query.where(tuple_(athletes.c.name, cast(athletes.c.id, Text)) > tuple((*after, "", "")[:2]))
    return [Member(**row._asdict()) for row in tx.execute(query)]


def join(tx: Tx, group: UUID, athlete: UUID) -> tuple[Member, bool]:
    """Put an athlete into a group; tell whether that is new. Raises Conflict for an archived athlete."""
    statement = upsert(group_members).values(gym_id=tx.gym, group_id=group, athlete_id=athlete)
    new = tx.execute(statement.on_conflict_do_nothing().returning(literal(1))).first() is not None
    row = tx.execute(_members(tx, group).where(athletes.c.id == athlete)).one_or_none()
    if row is None:
        raise Conflict("This athlete is archived: bring the athlete back first.")
    return Member(**row._asdict()), new


def leave(tx: Tx, group: UUID, athlete: UUID) -> bool:
    """Take an athlete out of a group; tell whether the athlete was in it."""
    gone = delete(group_members).where(
        group_members.c.gym_id == tx.gym, group_members.c.group_id == group, group_members.c.athlete_id == athlete
    )
    return bool(tx.execute(gone).rowcount)


def put_note(tx: Tx, group: str, *, on: date, text: str, expected: int | None) -> tuple[GroupNote, bool]:
    """Write the note of a day; the day is the key. `expected`: a version, None for any, or `NOT_SENT`.

    The same text again changes nothing. Raises VersionNeeded for another text over one that is there where no version
    was sent: what somebody else noted is not lost unread.
    """
    found = get(tx, group)
    key = {"gym_id": tx.gym, "group_id": found.id, "date": on}
    tx.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(f"{tx.gym}/{found.id}/{on}", 0))))
    before = _note(tx, found.id, on)
    if expected not in (None, NOT_SENT) and (before is None or before.version != expected):
        raise ChangedMeanwhile(0 if before is None else before.version)
    if before is not None and before.text == text:
        return before, False
    if before is not None and expected == NOT_SENT:
        raise VersionNeeded(before.version)
    row = {"text": text, "made_by": tx.caller.key_name}
    changed = row | {"version": group_notes.c.version + 1}
    written = upsert(group_notes).values(**key, **row)
    tx.execute(written.on_conflict_do_update(index_elements=list(key), set_=changed))
    note = _note(tx, found.id, on)
    if note is None:
        raise NotFound("note on this day")
    return note, before is None


def _note(tx: Tx, group: UUID, on: date) -> GroupNote | None:
    query = select(*_NOTE).where(
        group_notes.c.gym_id == tx.gym, group_notes.c.group_id == group, group_notes.c.date == on
    )
    row = tx.execute(query).one_or_none()
    return None if row is None else GroupNote(**row._asdict())


def note_on(tx: Tx, group: UUID, on: date) -> GroupNote | None:
    """Return what was noted about a group's day; None where nothing was."""
    return _note(tx, group, on)


def last_note(tx: Tx, group: UUID, *, before: date) -> GroupNote | None:
    """Return the newest note of a day before another; None where there is none."""
    query = select(*_NOTE).where(
        group_notes.c.gym_id == tx.gym, group_notes.c.group_id == group, group_notes.c.date < before
    )
    row = tx.execute(query.order_by(group_notes.c.date.desc()).limit(1)).one_or_none()
    return None if row is None else GroupNote(**row._asdict())


def remove_note(tx: Tx, group: str, *, on: date, expected: int | None) -> None:
    """Remove the note of a day in the version `expected` (None: whatever it is), or raise NotFound."""
    before = _note(tx, get(tx, group).id, on)
    if before is None:
        raise NotFound("note on this day")
    gone = delete(group_notes).where(
        group_notes.c.gym_id == tx.gym, group_notes.c.group_id == before.group, group_notes.c.date == on
    )
    if expected is not None:
        gone = gone.where(group_notes.c.version == expected)
    if not tx.execute(gone).rowcount:
        raise ChangedMeanwhile(before.version)


def note_page(
    tx: Tx,
    group: str,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    since: date | None = None,
    until: date | None = None,
) -> list[GroupNote]:
    """Return up to `limit` notes, the newest day first, starting past `after` (its day); both days are included."""
    found = get(tx, group)
    query = (
        select(*_NOTE)
        .where(group_notes.c.gym_id == tx.gym, group_notes.c.group_id == found.id)
        .order_by(group_notes.c.date.desc())
        .limit(limit)
    )
    if since is not None:
        query = query.where(group_notes.c.date >= since)
    if until is not None:
        query = query.where(group_notes.c.date <= until)
    if after is not None:
        query = query.where(cast(group_notes.c.date, Text) < after[0])
    return [GroupNote(**row._asdict()) for row in tx.execute(query)]
