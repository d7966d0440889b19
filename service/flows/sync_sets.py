"""A phone's queue of sets, emptied in one call: each by itself, none in the way of another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from typing import Literal
from uuid import UUID

from service.core.answers import Next
from service.core.errors import DomainError
from service.flows import take
from service.flows.correct_set import hold
from service.flows.max_test import settle
from service.flows.next_set import session_next
from service.flows.set_entry import SetEntry
from service.flows.take import Held
from service.store import sets
from service.store.errors import Unavailable, VersionNeeded
from service.store.lines import Lifter
from service.store.naming import as_id
from service.store.session import Tx
from service.store.set_records import LoggedSet


@dataclass(frozen=True, slots=True, kw_only=True)
class Queued:
    """One set of the queue, under the id that the phone made."""

    id: str
    session: str | None
    athlete: str | None
    entry: SetEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What became of one set: stored, there already, or refused."""

    state: Literal["stored", "unchanged", "problem"]
    set: LoggedSet | None
    error: DomainError | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NextOf:
    """What comes next in a session that was touched."""

    session: UUID
    """The session."""
    next: Next
    """What comes next in it."""


@dataclass(slots=True)
class _Touched:
    """What has to be computed anew for one athlete."""

    lifter: Lifter
    late: bool = False
    """The log has to be folded anew."""
    changed: set[str] = field(default_factory=set)
    """Lifts whose day estimates are others."""
    sessions: set[UUID] = field(default_factory=set)
    days: set[date] = field(default_factory=set)


def sync(tx: Tx, queue: Sequence[Queued | None]) -> tuple[list[Result | None], list[NextOf]]:
    """Store what can be stored of a queue, in the order in which the sets were done.

    Returns one result for each, in the queue's order (None for None: refused before), and what comes next in each
    session that was named. Sent again it stores nothing more, and answers `unchanged`.
    """
    results: list[Result | None] = [None] * len(queue)
    held: dict[tuple[str | None, str | None], Held] = {}
    touched: dict[UUID, _Touched] = {}
    sessions: dict[UUID, None] = {}
    order = sorted(
        ((index, one) for index, one in enumerate(queue) if one is not None),
        key=lambda pair: (pair[1].athlete or "", pair[1].session or "", pair[1].entry.at or _LONG_AGO),
    )
    for index, one in order:
        try:
            with tx.connection.begin_nested():
                results[index] = _one(tx, one, held, touched, sessions)
        except Unavailable:
            raise
        except DomainError as refusal:
            held.pop((one.session, one.athlete), None)  # what was read meanwhile is rolled back too
            results[index] = Result(state="problem", set=None, error=refusal)
    for it in touched.values():
        if it.late:
            _, folded = take.recompute(tx, it.lifter, sessions=it.sessions, days=it.days, changed=frozenset(it.changed))
            results = [_as_asked(tx, one, folded.doubts) for one in results]
        else:
            take.follow(tx, it.lifter, it.changed, it.days)
    for session in {session for it in touched.values() for session in it.sessions}:
        settle(tx, session)
    return results, [NextOf(session=one, next=session_next(tx, str(one))) for one in sessions]


def _as_asked(tx: Tx, result: Result | None, doubts: Mapping[UUID, str | None]) -> Result | None:
    """A result with the set as it is after the log was folded: perhaps something is asked about it."""
    if result is None or result.set is None or result.set.id not in doubts:
        return result
    return replace(result, set=sets.read(tx, str(result.set.id)))


_LONG_AGO = datetime(1900, 1, 1, tzinfo=UTC)


def _one(
    tx: Tx,
    one: Queued,
    held: dict[tuple[str | None, str | None], Held],
    touched: dict[UUID, _Touched],
    sessions: dict[UUID, None],
) -> Result:
    who = (one.session, one.athlete)
    if who not in held:
        held[who] = hold(tx, one.session, one.athlete)
    here = held[who]
    found = take.find(tx, here, one.entry, identity=as_id(one.id))
    if here.session is not None:
        sessions[here.session] = None
    if found.was is not None:
        if not found.same:
            raise VersionNeeded(found.was.set.version)
        return Result(state="unchanged", set=found.was.set)
    it = touched.setdefault(here.lifter.id, _Touched(here.lifter))
    stored = found.meant
    if it.late:
        take.add_plainly(tx, here, stored)
    else:
        taken = take.add(tx, here, found)
        it.late, stored = taken.late, taken.stored
        if taken.day is not None:
            it.changed.add(stored.set.lift)
    it.days.add(stored.set.date)
    if here.session is not None:
        it.sessions.add(here.session)
    return Result(state="stored", set=stored.set)
