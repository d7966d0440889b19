"""Ids made by the service: UUID version 7 (RFC 9562), so that they sort by the time they were made."""

from __future__ import annotations

import os
import time
from uuid import UUID


def new_id() -> UUID:
    """Make an id: 48 bits of milliseconds, then 74 random bits."""
    milliseconds = time.time_ns() // 1_000_000
    random = int.from_bytes(os.urandom(10), "big")
    value = (
        (milliseconds & (1 << 48) - 1) << 80 | 0x7 << 76 | (random >> 68) << 64 | 0b10 << 62 | random & (1 << 62) - 1
    )
    return UUID(int=value)


def new_ids(count: int) -> list[UUID]:
    """Make many ids at once, in their order: an index takes them in as they come."""
    start = (time.time_ns() // 1_000_000 & (1 << 48) - 1) << 80 | 0x7 << 76 | 0b10 << 62
    random = os.urandom(10 * count)
    made = sorted(int.from_bytes(random[at : at + 10], "big") for at in range(0, 10 * count, 10))
    return [UUID(int=start | (own >> 68) << 64 | own & (1 << 62) - 1) for own in made]
