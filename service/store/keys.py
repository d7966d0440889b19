"""API keys: made, listed, rotated, revoked; and looked up before the gym is known."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Engine, and_, false, insert, or_, select, text, update

from service.store.errors import ChangedMeanwhile, Conflict, NotFound, UnknownReference
from service.store.key_text import KeyText, new_key_text
from service.store.naming import named
from service.store.session import Tx
from service.store.tables import athletes, keys

BOUND_DAYS = 90
"""How long an athlete's key lives where nobody says otherwise. [days]"""

LOOK_UP = text("SELECT * FROM key_lookup(:id)")
FAILED = text(
    "INSERT INTO failed_keys (address, minute, count) VALUES (:address, date_trunc('minute', now()), 1)"
    " ON CONFLICT (address, minute) DO UPDATE SET count = failed_keys.count + 1 RETURNING count"
)
OLD_FAILURES = text("DELETE FROM failed_keys WHERE minute < now() - interval '1 hour'")


@dataclass(frozen=True, slots=True)
class StoredKey:
    """What is known of a key without its secret."""

    id: str
    gym: UUID
    name: str
    right: str
    athlete: UUID | None
    secret_hash: bytes
    old_secret_hash: bytes | None
    old_until: datetime | None
    expires_at: datetime | None
    revoked_at: datetime | None


@dataclass(frozen=True, slots=True)
class ListedKey:
    """A key as lists show it."""

    id: str
    """Its 12 characters; the key itself begins with `lw_` and these."""
    name: str
    """What it is for."""
    right: str
    """What it may do: `read`, `log`, `coach`, `owner`; each includes those before."""
    athlete: UUID | None
    """The athlete that it is bound to, if any."""
    created_at: datetime
    """When it was made."""
    expires_at: datetime | None
    """When it stops working; null: never."""
    lifetime_days: int | None
    """Each new secret gives the key so many days; null: `expires_at` stays as it is."""
    revoked_at: datetime | None
    """When it was revoked."""
    last_used_at: datetime | None
    """When it was used last, to the hour."""
    version: int
    """What `If-Match` takes."""


@dataclass(frozen=True, slots=True)
class MadeKey(ListedKey):
    """A key with its secret."""

    key: str
    """The whole key, in this answer only: keep it now."""


def look_up(engine: Engine, key_id: str) -> StoredKey | None:
    """Find a key of any gym by its id; the only question that is asked before the gym is known."""
    with engine.begin() as connection:
        row = connection.execute(LOOK_UP, {"id": key_id}).one_or_none()
    if row is None:
        return None
    return StoredKey(
        key_id,
        row.gym_id,
        row.name,
        row.right,
        row.athlete_id,
        bytes(row.secret_hash),
        None if row.old_secret_hash is None else bytes(row.old_secret_hash),
        row.old_until,
        row.expires_at,
        row.revoked_at,
    )


def count_failure(engine: Engine, address: str) -> int:
    """Count one failed key from an address; return how many this minute."""
    with engine.begin() as connection:
        count = int(connection.execute(FAILED, {"address": address}).scalar_one())
        if count == 1:
            connection.execute(OLD_FAILURES)
    return count


_LISTED = (
    keys.c.id,
    keys.c.name,
    keys.c.right,
    keys.c.athlete_id.label("athlete"),
    keys.c.created_at,
    keys.c.expires_at,
    keys.c.lifetime_days,
    keys.c.revoked_at,
    keys.c.last_used_at,
    keys.c.version,
)


def add(
    tx: Tx,
    *,
    name: str,
    right: str,
    athlete: UUID | None = None,
    expires_at: datetime | None = None,
    lifetime_days: int | None = None,
) -> tuple[ListedKey, KeyText]:
    """Make a key; its secret is returned here and nowhere else."""
    made = new_key_text()
    row = tx.execute(
        insert(keys)
        .values(
            gym_id=tx.gym,
            id=made.id,
            name=name,
            right=right,
            athlete_id=athlete,
            secret_hash=made.hash,
            expires_at=expires_at,
            lifetime_days=lifetime_days,
        )
        .returning(*_LISTED)
    ).one()
    return ListedKey(**row._asdict()), made


def make(tx: Tx, *, name: str, right: str, athlete: str | None, expires_at: datetime | None) -> MadeKey:
    """Make a key as `add`, for the athlete that a body names; such a key lives 90 days where no end is given."""
    bound = None if athlete is None else _athlete(tx, athlete)
    days = BOUND_DAYS if bound is not None and expires_at is None else None
    until = expires_at if days is None else tx.now + timedelta(days=days)
    listed, made = add(tx, name=name, right=right, athlete=bound, expires_at=until, lifetime_days=days)
    return MadeKey(**asdict(listed), key=made.text)


def _athlete(tx: Tx, name: str) -> UUID:
    found = tx.execute(select(athletes.c.id).where(named(tx, athletes, name))).scalar_one_or_none()
    if found is None:
        raise UnknownReference("athlete", "#/athlete")
    return UUID(str(found))


def _seen(tx: Tx, *, itself: bool = False) -> ColumnElement[bool]:
    """The keys that the caller may manage: an owner all, a coach those of athletes; with `itself` the own one too."""
    gym = keys.c.gym_id == tx.gym
    if tx.caller.right == "owner":
        return gym
    allowed: list[ColumnElement[bool]] = [keys.c.athlete_id.is_not(None)] if tx.caller.right == "coach" else []
    if itself:
        allowed.append(keys.c.id == tx.caller.key_id)
    return and_(gym, or_(false(), *allowed))


def get(tx: Tx, key_id: str, *, itself: bool = False) -> ListedKey:
    """Return one key that the caller may manage, or raise NotFound."""
    row = tx.execute(select(*_LISTED).where(_seen(tx, itself=itself), keys.c.id == key_id)).one_or_none()
    if row is None:
        raise NotFound("key")
    return ListedKey(**row._asdict())


def page(tx: Tx, *, after: tuple[str] | None, limit: int) -> list[ListedKey]:
    """Return up to `limit` keys that the caller may manage by id, starting past `after`."""
    query = select(*_LISTED).where(_seen(tx)).order_by(keys.c.id).limit(limit)
    if after is not None:
        query = query.where(keys.c.id > after[0])
    return [ListedKey(**row._asdict()) for row in tx.execute(query)]


def revoke(tx: Tx, key_id: str) -> ListedKey:
    """Revoke a key; doing it again changes nothing."""
    tx.execute(
        update(keys)
        .where(_seen(tx), keys.c.id == key_id, keys.c.revoked_at.is_(None))
        .values(revoked_at=tx.now, version=keys.c.version + 1)
    )
    return get(tx, key_id)


def change(tx: Tx, key_id: str, *, expected: int | None, values: dict[str, Any]) -> ListedKey:
    """Change a key's `name` or `expires_at`; None as the end is "never", for an athlete's key 90 days from now."""
    before = get(tx, key_id)
    if expected is not None and expected != before.version:
        raise ChangedMeanwhile(before.version)
    row = dict(values)
    if "expires_at" in row:
        days = BOUND_DAYS if row["expires_at"] is None and before.athlete is not None else None
        row |= {"lifetime_days": days} | ({} if days is None else {"expires_at": tx.now + timedelta(days=days)})
    statement = update(keys).where(_seen(tx), keys.c.id == key_id, keys.c.version == before.version)
    if not tx.execute(statement.values(version=keys.c.version + 1, **row)).rowcount:
        raise ChangedMeanwhile(before.version)
    return get(tx, key_id)


def rotate(tx: Tx, key_id: str, *, overlap: timedelta) -> MadeKey:
    """Give a key a new secret, and its lifetime anew; the old secret works for `overlap` more."""
    before = get(tx, key_id, itself=True)
    if before.revoked_at is not None:
        raise Conflict("The key is revoked: make another one.")
    until = before.expires_at if before.lifetime_days is None else tx.now + timedelta(days=before.lifetime_days)
    if until is not None and until <= tx.now:
        raise Conflict("The key has expired: change expires_at first.")
    made = new_key_text(key_id)
    values = {"old_secret_hash": keys.c.secret_hash, "old_until": tx.now + overlap, "secret_hash": made.hash}
    tx.execute(
        update(keys)
        .where(_seen(tx, itself=True), keys.c.id == key_id)
        .values(expires_at=until, version=keys.c.version + 1, **values)
    )
    return MadeKey(**asdict(get(tx, key_id, itself=True)), key=made.text)


def used(tx: Tx, key_id: str) -> bool:
    """Remember that a key was used; written at most once an hour. Tell whether it was."""
    noted = (
        update(keys)
        .where(
            keys.c.gym_id == tx.gym,
            keys.c.id == key_id,
            keys.c.last_used_at.is_(None) | (keys.c.last_used_at < tx.now - timedelta(hours=1)),
        )
        .values(last_used_at=tx.now)
    )
    return bool(tx.execute(noted).rowcount)
