"""What the log shows, computed anew from all of it: after a correction, a deletion, a late set, a body weight."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.errors import DomainError
from service.core.units import Load
from service.flows.fold_log import Folded
from service.flows.next_set import by_ladder, expectation
from service.flows.open_session import refresh_open
from service.flows.remember import fold_and_keep
from service.store import athletes, lines, sets
from service.store.athletes import BodyWeight
from service.store.lines import Lifter, Line
from service.store.session import Tx
from service.store.set_records import StoredSet


def replay(tx: Tx, athlete_id: UUID) -> set[str]:
    """Compute all that the log of an athlete shows anew, in its order.

    The order is that of day, moment and id, so it does not matter in which order sets arrived. Takes the athlete's
    lock. Returns the lifts whose day estimates are others now.
    """
    lifter = lines.lock_athlete(tx, athlete_id)
    return set() if lifter is None else replay_log(tx, lifter).lifts


@dataclass(slots=True)
class Replayed:
    """What a replay has changed."""

    lifts: set[str]
    """Those whose day estimates are others now."""
    folded: Folded


def replay_log(tx: Tx, lifter: Lifter, *, watch: UUID | None = None) -> Replayed:
    """As `replay`, where the caller holds the lock. `watch`: a set of which it is to be kept what it did."""
    return Replayed(*fold_and_keep(tx, lifter, watch=watch))


def expect_again(tx: Tx, session: UUID) -> None:
    """What words about efforts are read against, anew for all sets of a session: a set before them has changed.

    Also whether a ladder asked for their loads; what it asked for then stays asked for.
    """
    stored = sets.of_session(tx, session)
    slots = {one.set.slot for one in stored if one.by_ladder}
    for index, one in enumerate(stored):
        if one.set.slot is None:
            continue
        ladder = not one.by_ladder and one.set.slot in slots
        if one.set.felt is None and not ladder:
            continue
        at = lines.line(tx, session, one.set.slot)
        now = one.expected_rpe
        if one.set.felt is not None:
            now = None if at is None else _expected(at, stored[:index], one)
        asked = one.by_ladder or (ladder and at is not None and _by_ladder(at, stored[:index], one))
        if (now, asked) != (one.expected_rpe, one.by_ladder):
            sets.expect(tx, one.set.id, now, by_ladder=asked)


def _expected(at: Line, before: list[StoredSet], one: StoredSet) -> float | None:
    try:
        return expectation(at, before, one.done())
    except DomainError:  # nothing can be said of the plan
        return None


def _by_ladder(at: Line, before: list[StoredSet], one: StoredSet) -> bool:
    try:
        return by_ladder(at, before, one.done())
    except DomainError:  # as above
        return False


def put_body_weight(tx: Tx, athlete: str, *, on: date, weight: Load) -> tuple[BodyWeight, bool]:
    """Write the body weight of a day, and compute anew what it is part of."""
    found = athletes.get(tx, athlete)
    written = athletes.put_body_weight(tx, str(found.id), on=on, weight=weight)
    _replay_bodyweight(tx, found.id)
    return written


def remove_body_weight(tx: Tx, athlete: str, *, on: date) -> None:
    """Remove the body weight of a day, and compute anew what it was part of."""
    found = athletes.get(tx, athlete)
    athletes.remove_body_weight(tx, str(found.id), on=on)
    _replay_bodyweight(tx, found.id)


def _replay_bodyweight(tx: Tx, athlete_id: UUID) -> None:
    replay(tx, athlete_id)
    refresh_open(tx, athlete_id)
