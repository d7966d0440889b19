"""Logging a set: stored, learnt from, and answered with the next one, in one transaction."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.core.ability.by_model import ByModel
from service.core.adjust.max_test_words import is_max_test
from service.core.answers import Caution, Next
from service.core.methods import left_out
from service.core.model.kin import Key
from service.flows import take
from service.flows.fold_log import Folded
from service.flows.learn import NO_BODY_WEIGHT, DayEstimate
from service.flows.max_test import settle
from service.flows.next_set import following
from service.flows.set_entry import SetEntry
from service.flows.take import Found, Held, Taken
from service.store import people
from service.store.errors import Conflict, NotFound
from service.store.naming import as_id
from service.store.session import Tx
from service.store.set_records import LoggedSet

OTHERWISE = "A set with this id is stored with other content: read it, and correct it with PATCH."


@dataclass(frozen=True, slots=True, kw_only=True)
class Logged:
    """A set that was logged, what it changed, and what comes next."""

    set: LoggedSet
    """The set as it is stored."""
    day_estimate: DayEstimate | None
    """The day's max of the lift; null unless this set changed it."""
    next: Next | None
    """What comes next; null for a set outside of a session."""
    cautions: tuple[Caution, ...]
    """Those that apply to this set."""

    @property
    def version(self) -> int:
        """The set's version."""
        return self.set.version


def log_in_session(tx: Tx, session: str, entry: SetEntry, *, identity: str | None = None) -> Logged:
    """Log a set of a session; a planned one is opened.

    With an id that is stored already, the same content is answered and nothing is stored; other content is a Conflict.
    Raises NotFound for the session, and as `take.find`.
    """
    held = take.hold_session(tx, session)
    found, taken = _log(tx, held, entry, identity)
    line = found.where.line
    if line is None:
        return _answer(found, taken, None)
    answer = _answer(found, taken, following(tx, line, held.stored, now=_now(taken)))
    if line.slot is not None and is_max_test(line.slot):
        settle(tx, line.session)
    return answer


def log_free(tx: Tx, athlete: str, entry: SetEntry, *, identity: str | None = None) -> Logged:
    """Log a set outside of a session; as `log_in_session`."""
    person = people.find(tx, athlete)
    if person is None:
        raise NotFound("athlete")
    return _answer(*_log(tx, take.hold_athlete(tx, person.id), entry, identity), None)


def _log(tx: Tx, held: Held, entry: SetEntry, identity: str | None) -> tuple[Found, Taken]:
    found = take.find(tx, held, entry, identity=None if identity is None else as_id(identity))
    if found.was is not None:
        if not found.same:
            raise Conflict(OTHERWISE)
        return found, Taken(found.was)
    return learn(tx, held, found)


def learn(tx: Tx, held: Held, found: Found) -> tuple[Found, Taken]:
    """Store a new set and let everything follow that depends on it."""
    taken = take.add(tx, held, found)
    stored = taken.stored
    if taken.late:
        sessions = set() if held.session is None else {held.session}
        moved, folded = take.recompute(
            tx, held.lifter, sessions=sessions, days={stored.set.date}, watch=stored.set.id
        )  # fmt: skip
        _watched(held, found, taken, folded)
    else:
        changed = set() if taken.day is None else {stored.set.lift}
        moved = take.follow(tx, held.lifter, changed, {stored.set.date})
    return (take.again(tx, held, found) if moved or taken.late else found), taken


def _watched(held: Held, found: Found, taken: Taken, folded: Folded) -> None:
    """What a set turned out to teach after the whole log was folded anew."""
    stored = taken.stored
    learned, asked, ranged = folded.watched or (None, None, None)
    if asked is not None:
        taken.stored = replace(stored, set=replace(stored.set, doubt=asked))
    lifter = replace(held.lifter, settings=folded.settings)
    source = folded.estimates.get(stored.key)
    for day in () if source is None else source.days:
        if day.date == stored.set.date and day.set_id == stored.set.id:
            taken.day = take.explained(lifter, found, learned, day.effective_kg, ranged)


def _now(taken: Taken) -> dict[Key, ByModel]:
    return {} if taken.now is None else {taken.stored.key: taken.now}


def _answer(found: Found, taken: Taken, following_: Next | None) -> Logged:
    where = found.where
    unknown = where.lift.load_kind == "bodyweight" and where.body_kg is None
    cautions = (NO_BODY_WEIGHT,) if unknown else ()
    told = None if taken.stored.set.role == "warm_up" else left_out(taken.stored.set.method)
    if told is not None:
        cautions = (*cautions, Caution("left_out", told))
    return Logged(set=taken.stored.set, day_estimate=taken.day, next=following_, cautions=cautions)
