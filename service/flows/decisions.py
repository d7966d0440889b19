"""A coach enters, changes or ends a max or an override: open sessions follow, as far as they were not begun."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from service.flows.open_session import refresh_open
from service.flows.replay import replay
from service.store import groups, maxes, overrides, sessions, states
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
    """Set an override for an athlete; as `store.overrides.add`."""
    return _followed(tx, overrides.add(tx, athlete, values=values))


def add_group_override(tx: Tx, group: str, *, values: Mapping[str, Any]) -> Override:
    """Set an override for a group; as `store.overrides.add_for_group`."""
    found = groups.get(tx, group)
    return _followed(tx, overrides.add_for_group(tx, found.id, values=values))


def change_override(tx: Tx, name: str, *, expected: int | None, values: Mapping[str, Any]) -> Override:
    """Change an override; as `store.overrides.change`."""
    return _followed(tx, overrides.change(tx, name, expected=expected, values=values))


def end_override(tx: Tx, name: str, *, expected: int | None) -> None:
    """End an override; as `store.overrides.end`."""
    found = overrides.get(tx, name)
    overrides.end(tx, name, expected=expected)
    _followed(tx, found)


def _followed(tx: Tx, one: Override) -> Override:
    """Let the open sessions of those it is about follow; of a group, of those who have any."""
    if one.athlete is not None:
        refresh_open(tx, one.athlete)
    if one.group is not None:
        refresh_group(tx, one.group)
    return one


def refresh_group(tx: Tx, group: UUID) -> None:
    """Compute anew what changed in the open sessions of a group's athletes, who are locked in the order of their ids.

    Who comes into the group or leaves it meanwhile waits for the group.
    """
    groups.lock(tx, group)
    athletes = sorted(one.athlete for one in groups.members(tx, group))
    states.lock_many(tx, athletes)
    for athlete in sessions.with_open(tx, athletes):
        refresh_open(tx, athlete)


def _settled(tx: Tx, athlete: UUID) -> None:
    """After a max: the model started from it, or heard it."""
    replay(tx, athlete)
    refresh_open(tx, athlete)
