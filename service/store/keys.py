"""API keys: made, listed, rotated, revoked; and looked up before the gym is known."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from sqlalchemy import Engine, insert, select, text, update

from service.store.errors import NotFound
from service.store.key_text import KeyText, new_key_text
from service.store.session import Tx
from service.store.tables import keys

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
    name: str
    right: str
    athlete: UUID | None
    created_at: datetime
    expires_at: datetime | None
    revoked_at: datetime | None
    last_used_at: datetime | None
    version: int


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
    keys.c.revoked_at,
    keys.c.last_used_at,
    keys.c.version,
)


def add(
    tx: Tx, *, name: str, right: str, athlete: UUID | None = None, expires_at: datetime | None = None
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
        )
        .returning(*_LISTED)
    ).one()
    return ListedKey(**row._asdict()), made


def get(tx: Tx, key_id: str) -> ListedKey:
    """Return one key of the gym, or raise NotFound."""
    row = tx.execute(select(*_LISTED).where(keys.c.gym_id == tx.gym, keys.c.id == key_id)).one_or_none()
    if row is None:
        raise NotFound("key")
    return ListedKey(**row._asdict())


def page(tx: Tx, *, after: str | None, limit: int, bound_only: bool = False) -> list[ListedKey]:
    """Return up to `limit` keys by id, starting past `after`; `bound_only`: those bound to an athlete."""
    query = select(*_LISTED).where(keys.c.gym_id == tx.gym).order_by(keys.c.id).limit(limit)
    if after is not None:
        query = query.where(keys.c.id > after)
    if bound_only:
        query = query.where(keys.c.athlete_id.is_not(None))
    return [ListedKey(**row._asdict()) for row in tx.execute(query)]


def revoke(tx: Tx, key_id: str) -> ListedKey:
    """Revoke a key; doing it again changes nothing."""
    tx.execute(
        update(keys)
        .where(keys.c.gym_id == tx.gym, keys.c.id == key_id, keys.c.revoked_at.is_(None))
        .values(revoked_at=tx.now, version=keys.c.version + 1)
    )
    return get(tx, key_id)


def rename(tx: Tx, key_id: str, *, name: str | None, expires_at: datetime | None, clear_expiry: bool) -> ListedKey:
    """Change a key's name or expiry."""
    values: dict[str, object] = {"version": keys.c.version + 1}
    if name is not None:
        values["name"] = name
    if expires_at is not None or clear_expiry:
        values["expires_at"] = expires_at
    tx.execute(update(keys).where(keys.c.gym_id == tx.gym, keys.c.id == key_id).values(**values))
    return get(tx, key_id)


def rotate(tx: Tx, key_id: str, *, overlap: timedelta, expires_at: datetime | None) -> tuple[ListedKey, KeyText]:
    """Give a key a new secret; the old one works for `overlap` more."""
    get(tx, key_id)
    made = new_key_text(key_id)
    tx.execute(
        update(keys)
        .where(keys.c.gym_id == tx.gym, keys.c.id == key_id)
        .values(
            old_secret_hash=keys.c.secret_hash,
            old_until=tx.now + overlap,
            secret_hash=made.hash,
            expires_at=expires_at,
            version=keys.c.version + 1,
        )
    )
    return get(tx, key_id), made


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
