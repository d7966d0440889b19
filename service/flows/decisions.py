"""A coach enters, changes or ends a max or an override: open sessions follow, as far as they were not begun."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from service.flows.open_session import refresh_open
from service.flows.replay import replay
from service.store import maxes, overrides
from service.store.maxes import Max
from service.store.overrides import Override
from service.store.session import Tx


def add_max(tx: Tx, athlete: str, *, values: Mapping[str, Any]) -> Max:
    """Enter a max; as `store.maxes.add`."""
    made = maxes.add(tx, athlete, values=values)
    _settled(tx, made.athlete)
    return made


def change_max(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Max:
    """Change a max; as `store.maxes.change`."""
    changed = maxes.change(tx, name, expected=expected, values=values)
    _settled(tx, changed.athlete)
    return changed


def remove_max(tx: Tx, name: str, *, expected: int | None) -> None:
    """Remove a max; as `store.maxes.remove`."""
    athlete = maxes.get(tx, name).athlete
    maxes.remove(tx, name, expected=expected)
    _settled(tx, athlete)


def add_override(tx: Tx, athlete: str, *, values: Mapping[str, Any]) -> Override:
    """Set an override; as `store.overrides.add`."""
    made = overrides.add(tx, athlete, values=values)
    refresh_open(tx, made.athlete)
    return made


def change_override(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Override:
    """Change an override; as `store.overrides.change`."""
    changed = overrides.change(tx, name, expected=expected, values=values)
    refresh_open(tx, changed.athlete)
    return changed


def end_override(tx: Tx, name: str, *, expected: int | None) -> None:
    """End an override; as `store.overrides.end`."""
    athlete = overrides.get(tx, name).athlete
    overrides.end(tx, name, expected=expected)
    refresh_open(tx, athlete)


def _settled(tx: Tx, athlete: UUID) -> None:
    """After a max: the model started from it, or heard it."""
    replay(tx, athlete)
    refresh_open(tx, athlete)
