"""A set on its way into the log: found or new, learnt from, and what follows from it in other answers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from uuid import UUID

from service.core.ability.by_model import ByModel
from service.core.estimate.rolling import effective_kg, top_set_estimate
from service.core.model.levels import Ranged
from service.core.model.memory import Known as Around
from service.core.model.memory import Memory
from service.core.model.passing import opened
from service.core.records import DoneSet
from service.core.units import MassUnit
from service.flows.doubts import doubt
from service.flows.fold_log import Folded, average_curve, averaged, changed_lifts, day_max_of
from service.flows.hear import Learned, hears, learn_set, turned
from service.flows.learn import DayEstimate, day_by_model, day_estimate
from service.flows.open_session import ensure_open, refresh_open
from service.flows.replay import expect_again, replay_log
from service.flows.set_entry import SetEntry, Where, known_lift, moment, stored_set
from service.store import lifts as lift_store
from service.store import lines, log, memories, sets
from service.store.errors import Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.lines import Known, Lifter
from service.store.naming import as_id
from service.store.session import Tx
from service.store.set_records import StoredSet
from service.store.sets import Taught
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


@dataclass(slots=True)
class Taken:
    """What a new set changed."""

    stored: StoredSet
    """As it is stored: with what is to be asked about it."""
    day: DayEstimate | None = None
    """The day's max, where this set gives another one."""
    late: bool = False
    """The whole log has to be folded anew: the set is not the newest, or something before it is not known."""
    now: ByModel | None = None
    """Its lift by what the log says now; None: not known here."""


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
        ensure_open(tx, held.session, on)
        at = lines.line(tx, held.session, slot, lift=entry.lift, on=on)
    if at is None:
        raise NotFound("session")
    if entry.slot is not None and at.slot_id is None:
        raise UnknownReference("slot", "#/slot")
    return Where(lifter=held.lifter, line=at, lift=known_lift(at.lift), body_kg=at.body_kg)


def add(tx: Tx, held: Held, found: Found) -> Taken:
    """Store a new set, with what it teaches where it is the newest; `late` where the log must be folded anew."""
    stored, lift, body_kg = found.meant, found.where.lift, found.where.body_kg
    done = stored.done()
    kg, words = effective_kg(done, lift, body_kg), _before_words(held, stored)
    if kg is None or words:
        add_plainly(tx, held, stored)
        return Taken(stored, late=words)
    known = lines.known(tx, held.lifter.id, stored.key, stored.set.date)
    if known.person is None or not _newest(stored, known):
        add_plainly(tx, held, stored)
        return Taken(stored, late=True)
    lifter = replace(held.lifter, settings=known.settings)
    learned = extend(tx, lifter, known, stored, done, kg) if hears(done, lift, kg) else None
    if learned is not None and learned.lesson.status == "refused":
        recent = log.recent(tx, lifter.id, stored.key, stored.order)
        asked = doubt(
            learned, done, lift, on=stored.set.date, unit=_unit(lifter), body_kg=body_kg, recent=recent
        )  # fmt: skip
        stored = replace(stored, set=replace(stored.set, doubt=asked))
    top = top_set_estimate(done, lift, average_curve(lifter, lift.id), body_kg)
    state = None if top is None else averaged(known.state, stored.order, kg, top)
    curve = lifter.settings.curve_of(lift.id)
    shown, ranged = day_max_of(done, lift, learned, curve=curve, on=stored.set.date, body_kg=body_kg)
    if shown is not None and not _heaviest(stored, kg, known, body_kg):
        shown = None
    add_plainly(tx, held, stored, _taught(learned, state, shown))
    taken = Taken(stored)
    if learned is not None:
        taken.now = ByModel(opened(learned.lift.row, learned.person, stored.set.date), learned.person)
    if shown is not None and (known.day_kg is None or abs(known.day_kg - shown) > 1e-9):
        taken.day = explained(lifter, found, learned, shown, ranged)
    return taken


def _taught(learned: Learned | None, state: LiftState | None, day_kg: float | None) -> Taught:
    if learned is None:
        return Taught(state=state, day_kg=day_kg)
    return Taught(
        state=state, day_kg=day_kg, person=learned.person, lift=learned.lift, before=learned.before
    )  # fmt: skip


def explained(
    lifter: Lifter, found: Found, learned: Learned | None, shown: float, ranged: Ranged | None
) -> DayEstimate:
    """The day's max with its reason; effective. [kg]"""
    done, lift, on = found.meant.done(), found.where.lift, found.meant.set.date
    if learned is not None and ranged is not None:
        return day_by_model(done, lift, on=on, day=ranged, learned=learned, body_kg=found.where.body_kg)
    curve = average_curve(lifter, lift.id)
    return day_estimate(done, lift, on=on, max_kg=shown, curve=curve, body_kg=found.where.body_kg)


def extend(tx: Tx, lifter: Lifter, known: Known, stored: StoredSet, done: DoneSet, kg: float) -> Learned | None:
    """What the newest set of an athlete teaches the model; what is known of other lifts is read where it matters.

    On the day of the log's last set no more is needed than the set's lift, if its level is known. Otherwise days are
    closed, which other lifts are told of, or the lift starts from what is known of its kin.
    """
    on, key, person = stored.set.date, stored.key, known.person
    assert person is not None  # noqa: S101  (for the type checker: else the log is folded)
    same_day = known.last is not None and known.last.date == on
    if same_day and known.lift is not None and known.lift.row.reference is not None:
        memory = Memory(person, {key: known.lift}, on, closed=False)
        return learn_set(memory, key, on, done, kg, known=_NOTHING_ELSE, before=known.before)
    whole = memories.read(tx, lifter.id)
    if whole is None:
        return None
    maxes = log.maxes(tx, lifter.id)
    around = Around(
        lift_store.get_many(tx, [key.lift]), partial(maxes.given, percent=float(lifter.settings.training_max_percent))
    )
    memory = whole.memory
    if not same_day:
        memory = turned(memory, on, maxes.events_between(memory.day, on), around)
        changed = changed_lifts(whole.memory, memory)
        changed.pop(key, None)  # written with the set
        memories.write_lifts(tx, lifter.id, changed)
    return learn_set(memory, key, on, done, kg, known=around, before=known.before)


_NOTHING_ELSE = Around({})


def add_plainly(tx: Tx, held: Held, stored: StoredSet, taught: Taught = sets.NOTHING) -> None:
    """Store a new set without going through the log."""
    sets.add(tx, stored, taught)
    if held.session is not None:
        held.stored.append(stored)
        held.stored.sort(key=lambda one: one.order)


def recompute(
    tx: Tx,
    lifter: Lifter,
    *,
    sessions: set[UUID],
    days: set[date],
    changed: frozenset[str] = frozenset(),
    watch: UUID | None = None,
) -> tuple[bool, Folded]:
    """Fold an athlete's log anew, and the open sessions that depend on it.

    `changed` are lifts whose day estimates are known to be others; `watch` a set of which it is to be told what it did.
    Returns whether an open session's loads changed, and what was found.
    """
    for session in sessions:
        expect_again(tx, session)
    replayed = replay_log(tx, lifter, watch=watch)
    return follow(tx, lifter, set(changed | replayed.lifts), days), replayed.folded


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


def _newest(stored: StoredSet, known: Known) -> bool:
    """Whether a set comes after all that the model and the lift's average have taken in."""
    if known.last is not None and stored.order < known.last:
        return False
    state = known.state
    return state is None or stored.order > (state.rolling.day, state.at, state.set_id)


def _unit(lifter: Lifter) -> MassUnit:
    return "lb" if lifter.unit == "lb" else "kg"


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
