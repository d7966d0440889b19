"""An athlete's fields change, and with another curve all that sets have shown is read anew."""

from __future__ import annotations

from typing import Any

from service.flows.open_session import refresh_open
from service.flows.replay import replay
from service.store import athletes
from service.store.athletes import Athlete, how_read
from service.store.errors import NotFound
from service.store.session import Tx


def change(tx: Tx, athlete: str, *, expected: int | None, values: dict[str, Any]) -> Athlete:
    """Change some fields."""
    before = athletes.get(tx, athlete)
    return _settled(tx, before, athletes.change(tx, athlete, expected=expected, values=values))


def replace(tx: Tx, athlete: str, *, expected: int | None, values: dict[str, Any]) -> Athlete:
    """Replace all fields."""
    before = athletes.get(tx, athlete)
    return _settled(tx, before, athletes.replace(tx, athlete, expected=expected, values=values))


def put(tx: Tx, athlete: str, *, values: dict[str, Any]) -> tuple[Athlete, bool]:
    """Create or replace by the gym's own reference; tell whether it was created."""
    try:
        before = athletes.get(tx, athlete)
    except NotFound:
        return athletes.put(tx, athlete, values=values)
    after, created = athletes.put(tx, athlete, values=values)
    return _settled(tx, before, after), created


def _settled(tx: Tx, before: Athlete, after: Athlete) -> Athlete:
    if how_read(before.settings) != how_read(after.settings):
        replay(tx, after.id)
    if before.birth_year != after.birth_year:  # who is a minor waits for an approval
        refresh_open(tx, after.id)
    return after
