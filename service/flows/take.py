"""A set on its way into the log: found or new, learnt from, and what follows from it in other answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from service.flows.learn import DayEstimate, day_estimate
from service.flows.open_session import ensure_open, refresh_open
from service.flows.replay import averaged, expect_again, replay_lifts, shows
from service.flows.set_entry import SetEntry, Where, known_lift, moment, stored_set
from service.store import lifts as lift_store
from service.store import lines, sets
from service.store.errors import Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.lines import Known, Lifter
from service.store.naming import as_id
from service.store.session import Tx
from service.store.set_records import StoredSet
from service.store.states import LiftState
from service.store.unfit import local_day

DELETED = "A set with this id was deleted, and its id is never used again: make a new id to log the set again."
TAKEN = "Another athlete's set has this id: make a new one for this set."


@dataclass(slots=True)
class Held:
    """A session, or an athlete outside of one, whose lock is held, with the session's sets so far."""

    lifter: Lifter
    session: UUID | None
    stored: list[StoredSet]
    """In the order in which they were done."""


@dataclass(frozen=True, slots=True)
class Found:
    """A set that an entry means, and what is stored under its id already."""

    where: Where
    meant: StoredSet
    was: StoredSet | None

    @property
    def same(self) -> bool:
        """Whether what is stored says the same."""
        return self.was is not None and self.was.set == self.meant.set


@dataclass(frozen=True, slots=True)
class Taken:
    """What a new set changed."""

    day: DayEstimate | None = None
    """The day's max, where this set gives another one."""
    late: bool = False
    """Sets that are in the log already have to be computed anew after it."""


def hold_session(tx: Tx, session: str) -> Held:
    """Lock the athlete of a session, or raise NotFound."""
    identity = as_id(session)
    lifter = None if identity is None else lines.lock_session(tx, identity)
    if identity is None or lifter is None:
        raise NotFound("session")
    return Held(lifter, identity, sets.of_session(tx, identity))


def hold_athlete(tx: Tx, athlete: UUID) -> Held:
    """Lock an athlete, or raise NotFound."""
    lifter = lines.lock_athlete(tx, athlete)
    if lifter is None:
        raise NotFound("athlete")
    return Held(lifter, None, [])


def find(tx: Tx, held: Held, entry: SetEntry, *, identity: UUID | None = None) -> Found:
    """Work out which set an entry means; a session that is planned or skipped is opened.

    Raises
    ------
    UnknownReference
        For a slot that the session does not have, or a lift that the gym does not have.
    Conflict
        For an id that was deleted, or that another athlete's set has.
    UnfitReference
        For a load or a moment that does not fit.
    """
    was = None if identity is None else sets.find(tx, identity)
    if was is not None and was.deleted:
        raise Conflict(DELETED)
    if was is not None and was.set.athlete != held.lifter.id:
        raise Conflict(TAKEN)
    where = place(tx, held, entry, was)
    meant = stored_set(tx, where, entry, identity or new_id(), session_sets=held.stored, was=was)
    return Found(where, meant, was)


def place(tx: Tx, held: Held, entry: SetEntry, was: StoredSet | None) -> Where:
    """Where a set belongs: its line of the session and its lift."""
    on = local_day(moment(tx, held.lifter, entry, was), held.lifter.time_zone)
    if held.session is None:
        named = [entry.lift] if entry.lift else []
        lift = known_lift(lift_store.get_many(tx, named).get(entry.lift or ""))
        body_kg = sets.body_kg(tx, held.lifter.id, on) if lift.load_kind == "bodyweight" else None
        return Where(lifter=held.lifter, line=None, lift=lift, body_kg=body_kg)
    slot = None if entry.slot is None else as_id(entry.slot)
    at = lines.line(tx, held.session, slot, lift=entry.lift, on=on)
    if at is not None and at.state in ("planned", "skipped"):
        ensure_open(tx, held.session)
        at = lines.line(tx, held.session, slot, lift=entry.lift, on=on)
    if at is None:
        raise NotFound("session")
    if entry.slot is not None and at.slot_id is None:
        raise UnknownReference("slot", "#/slot")
    return Where(lifter=held.lifter, line=at, lift=known_lift(at.lift), body_kg=at.body_kg)


def add(tx: Tx, held: Held, found: Found) -> Taken:
    """Store a new set, with what it teaches where it is the newest; `late` where the log must be gone through."""
    stored, lift = found.meant, found.where.lift
    shown = shows(stored, lift, held.lifter.curve, found.where.body_kg)
    state, day_kg, day, late = None, None, None, _before_words(held, stored)
    if shown is not None:
        known = lines.known(tx, held.lifter.id, stored.key, stored.set.date)
        if shown.top is not None:
            late = late or not _newer(stored, known.state)
            state = None if late else averaged(known.state, stored, shown.kg, shown.top)
        if shown.day is not None and _heaviest(stored, shown.kg, known, found.where.body_kg):
            day_kg = shown.day
            if known.day_kg is None or abs(known.day_kg - day_kg) > 1e-9:
                day = day_estimate(
                    stored.done(), lift, on=stored.set.date, max_kg=day_kg, curve=held.lifter.curve,
                    body_kg=found.where.body_kg,
                )  # fmt: skip
    add_plainly(tx, held, stored, state=state, day_kg=day_kg)
    return Taken(day, late)


def add_plainly(
    tx: Tx, held: Held, stored: StoredSet, *, state: LiftState | None = None, day_kg: float | None = None
) -> None:
    """Store a new set without going through the log."""
    sets.add(tx, stored, state=state, day_kg=day_kg)
    if held.session is not None:
        held.stored.append(stored)
        held.stored.sort(key=lambda one: one.order)


def recompute(
    tx: Tx,
    lifter: Lifter,
    *,
    lifts: set[str],
    sessions: set[UUID],
    days: set[date],
    changed: frozenset[str] = frozenset(),
) -> bool:
    """Compute anew what some lifts and sessions show, and the open sessions that depend on it.

    `changed` are lifts whose day estimates are known to be others. Returns whether an open session's loads changed.
    """
    for session in sessions:
        expect_again(tx, session)
    others = changed | replay_lifts(tx, lifter.id, lifts, curve=lifter.curve) if lifts else changed
    return follow(tx, lifter, set(others), days)


def follow(tx: Tx, lifter: Lifter, lifts: set[str], days: set[date]) -> bool:
    """Let percentages of a day's max follow it; whether an open session's loads changed."""
    if not lifts:
        return False
    new = [one for day in sorted(days) for one in refresh_open(tx, lifter.id, day_of=lifts, on=day)]
    return bool(new)


def again(tx: Tx, held: Held, found: Found) -> Found:
    """As found, with the line read once more: its loads have changed."""
    line = found.where.line
    if line is None:
        return found
    fresh = lines.line(tx, line.session, line.slot_id, lift=found.where.lift.id, on=found.meant.set.date)
    held.stored = sets.of_session(tx, line.session)
    return replace(found, where=replace(found.where, line=fresh))


def _newer(stored: StoredSet, state: LiftState | None) -> bool:
    return state is None or stored.order > (state.rolling.day, state.at, state.set_id)


def _heaviest(stored: StoredSet, kg: float, known: Known, body_kg: float | None) -> bool:
    """Whether the day's max stands on this set: its heaviest telling one, of equals the first."""
    if known.day_set is None or known.day_load_kg is None or known.day_at is None:
        return True
    now, before = round(kg, 6), round(round(known.day_load_kg, 3) + (body_kg or 0.0), 6)
    first = (stored.set.at, stored.set.id) < (known.day_at, known.day_set)
    return now > before or (now == before and first)


def _before_words(held: Held, stored: StoredSet) -> bool:
    """Whether a later set of the slot says its effort in words, which are read against what came before."""
    return any(
        one.set.felt is not None and one.set.slot == stored.set.slot and one.order > stored.order for one in held.stored
    )
