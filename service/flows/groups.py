"""An athlete comes into a group or leaves it: what was decided for the group counts from now on, or no more."""

from __future__ import annotations

from service.flows.open_session import refresh_open
from service.store import athletes, groups
from service.store.groups import Member
from service.store.session import Tx


def join(tx: Tx, group: str, athlete: str) -> tuple[Member, bool]:
    """Put an athlete into a group; as `store.groups.join`. Raises NotFound for either."""
    found, person = groups.get(tx, group), athletes.get(tx, athlete)
    groups.lock(tx, found.id)
    member, new = groups.join(tx, found.id, person.id)
    if new:
        refresh_open(tx, person.id)
    return member, new


def leave(tx: Tx, group: str, athlete: str) -> None:
    """Take an athlete out of a group; one who is not in it stays so. Raises NotFound for either."""
    found, person = groups.get(tx, group), athletes.get(tx, athlete)
    groups.lock(tx, found.id)
    if groups.leave(tx, found.id, person.id):
        refresh_open(tx, person.id)
