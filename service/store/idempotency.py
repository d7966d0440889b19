"""Answers kept for a repeated request: written in the same transaction as the effect."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from sqlalchemy import bindparam, delete, insert, select

from service.store.errors import KeyReused
from service.store.hot import Hot
from service.store.session import Tx
from service.store.tables import idempotency_keys as kept

KEPT_DAYS = 7  # a phone may be offline for a weekend


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered: status, where the new thing is, its tag, the bytes (None where they held a secret)."""

    status: int
    location: str | None
    etag: str | None
    body: bytes | None


FIND = Hot(
    select(kept.c.fingerprint, kept.c.status, kept.c.location, kept.c.etag, kept.c.body).where(
        kept.c.gym_id == bindparam("gym"),
        kept.c.key_id == bindparam("key"),
        kept.c.idempotency_key == bindparam("repeat"),
    )
)
KEEP = Hot(
    insert(kept).values({column.name: bindparam(column.name) for column in kept.c if column.name != "created_at"})
)


def find(tx: Tx, key: str, fingerprint: bytes) -> Answer | None:
    """Return the answer already given to this key, or None.

    Raises
    ------
    KeyReused
        If the key was sent before with another request.
    """
    row = tx.execute(FIND, {"gym": tx.gym, "key": tx.caller.key_id, "repeat": key}).one_or_none()
    if row is None:
        return None
    if bytes(row.fingerprint) != fingerprint:
        raise KeyReused("This Idempotency-Key was used for another request: make a new key for each action.")
    return Answer(row.status, row.location, row.etag, None if row.body is None else bytes(row.body))


def keep(tx: Tx, key: str, fingerprint: bytes, answer: Answer) -> None:
    """Keep an answer; a second one for the same key breaks the constraint, and the loser is run again."""
    tx.execute(
        KEEP,
        {
            "gym_id": tx.gym,
            "key_id": tx.caller.key_id,
            "idempotency_key": key,
            "fingerprint": fingerprint,
            "status": answer.status,
            "location": answer.location,
            "etag": answer.etag,
            "body": answer.body,
        },
    )


def forget(tx: Tx) -> int:
    """Remove answers older than seven days; return how many."""
    gone = delete(kept).where(kept.c.gym_id == tx.gym, kept.c.created_at < tx.now - timedelta(days=KEPT_DAYS))
    return tx.execute(gone).rowcount
