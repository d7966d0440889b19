"""What the log shows, computed anew from all of it: after a correction, a deletion, a late set, a body weight."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.errors import DomainError
from service.core.estimate.rolling import RollingState, day_estimate, effective_kg, fold, top_set_estimate
from service.core.records import Lift
from service.core.units import Load
from service.flows.next_set import expectation
from service.flows.open_session import refresh_open
from service.store import athletes, lines, sets, states
from service.store import lifts as lift_store
from service.store.athletes import BodyWeight
from service.store.lines import Line
from service.store.session import Tx
from service.store.set_records import StoredSet
from service.store.states import DaySource, Estimates, Key, LiftState


@dataclass(frozen=True, slots=True)
class Shows:
    """What one set shows of a max, effective. [kg]"""

    kg: float
    """What was moved."""
    top: float | None
    """For the moving average."""
    day: float | None
    """For its day."""


def shows(stored: StoredSet, lift: Lift, curve: str, body_kg: float | None) -> Shows | None:
    """What a set shows of the lift's max; None where it shows nothing."""
    done = stored.done()
    kg = effective_kg(done, lift, body_kg)
    if kg is None:
        return None
    top, day = top_set_estimate(done, lift, curve, body_kg), day_estimate(done, lift, curve, body_kg)
    return None if top is None and day is None else Shows(kg, top, day)


def replay(tx: Tx, athlete_id: UUID, lift: str | None = None) -> set[str]:
    """Compute the averages and day estimates of one lift of an athlete, or of all, from the log; in its order.

    The order is that of day, moment and id, so it does not matter in which order sets arrived. Takes the athlete's
    lock. Returns the lifts whose day estimates are others now.
    """
    lifter = lines.lock_athlete(tx, athlete_id)
    if lifter is None:
        return set()
    wanted = None if lift is None else {lift}
    return replay_lifts(tx, athlete_id, wanted, curve=lifter.curve)


def replay_lifts(tx: Tx, athlete_id: UUID, wanted: set[str] | None, *, curve: str) -> set[str]:
    """As `replay`, for several lifts (None: all), by a curve; the caller holds the lock."""
    log = sets.of_lifts(tx, athlete_id, wanted)
    named = {stored.set.lift for stored in log} | (wanted or set())
    known = lift_store.get_many(tx, named)
    weights = _Weights(athletes.body_weights_kg(tx, athlete_id))
    days: dict[Key, dict[date, _Best]] = defaultdict(dict)
    averages: dict[Key, LiftState] = {}
    for stored in log:
        lift = known[stored.set.lift]
        shown = shows(stored, lift, curve, weights.on(stored.set.date) if lift.load_kind == "bodyweight" else None)
        if shown is None:
            continue
        if shown.top is not None:
            before = averages.get(stored.key)
            averages[stored.key] = averaged(before, stored, shown.kg, shown.top)
        best = days[stored.key].get(stored.set.date)
        if shown.day is not None and (best is None or shown.kg > best.kg):
            days[stored.key][stored.set.date] = _Best(shown.kg, stored.set.id, shown.day)
    found = {
        key: Estimates(
            state=averages.get(key),
            days=tuple(DaySource(date=on, set_id=b.set_id, effective_kg=b.max_kg) for on, b in days[key].items()),
        )
        for key in averages.keys() | days.keys()
    }
    return states.rewrite(tx, athlete_id, None if wanted is None else named, found)


def averaged(before: LiftState | None, stored: StoredSet, kg: float, top: float) -> LiftState:
    """The average with one more set, which is newer than all in it; raises ReplayNeeded where its day is older."""
    rolled: RollingState = fold(None if before is None else before.rolling, stored.set.date, kg, top)
    return LiftState(rolling=rolled, at=stored.set.at, set_id=stored.set.id)


def expect_again(tx: Tx, session: UUID) -> None:
    """What words about efforts are read against, anew for all sets of a session: a set before them has changed."""
    stored = sets.of_session(tx, session)
    for index, one in enumerate(stored):
        if one.set.felt is None or one.set.slot is None:
            continue
        at = lines.line(tx, session, one.set.slot)
        now = None if at is None else _expected(at, stored[:index], one)
        if now != one.expected_rpe:
            sets.expect(tx, one.set.id, now)


def _expected(at: Line, before: list[StoredSet], one: StoredSet) -> float | None:
    try:
        return expectation(at, before, one.done())
    except DomainError:  # nothing can be said of the plan
        return None


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
    lifter = lines.lock_athlete(tx, athlete_id)
    wanted = sets.bodyweight_lifts(tx, athlete_id)
    if lifter is not None and wanted:
        replay_lifts(tx, athlete_id, wanted, curve=lifter.curve)
    refresh_open(tx, athlete_id)


@dataclass(frozen=True, slots=True)
class _Best:
    kg: float
    set_id: UUID
    max_kg: float


class _Weights:
    """Body weights by day: the latest on or before one counts."""

    def __init__(self, weights: Iterable[tuple[date, float]]) -> None:
        found = sorted(weights)
        self._days, self._kg = [on for on, _ in found], [kg for _, kg in found]

    def on(self, day: date) -> float | None:
        """The body weight on a day. [kg]"""
        index = bisect_right(self._days, day)
        return self._kg[index - 1] if index else None
