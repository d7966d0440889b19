"""Lists of sets: of an athlete, of a session."""

from __future__ import annotations

from datetime import date

from service.store import people, sessions, sets
from service.store.errors import NotFound
from service.store.session import Tx
from service.store.set_records import LoggedSet


def of_athlete(
    tx: Tx,
    athlete: str,
    *,
    after: tuple[str, ...] | None,
    limit: int,
    lift: str | None = None,
    since: date | None = None,
    until: date | None = None,
    doubtful: bool = False,
) -> list[LoggedSet]:
    """Return up to `limit` sets of an athlete, the newest first, or raise NotFound."""
    person = people.find(tx, athlete)
    if person is None:
        raise NotFound("athlete")
    return sets.page(tx, person.id, after=after, limit=limit, lift=lift, since=since, until=until, doubtful=doubtful)


def of_session(tx: Tx, session: str, *, after: tuple[str, ...] | None, limit: int) -> list[LoggedSet]:
    """Return up to `limit` sets of a session in the order in which they were done, or raise NotFound."""
    return sets.session_page(tx, sessions.get(tx, session).id, after=after, limit=limit)
