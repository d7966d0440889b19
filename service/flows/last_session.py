"""What the last session of one lift taught, from that day's sets alone: no longer with a longer log."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.model.kin import Key
from service.core.model.memory import Known, LiftMemory, Memory
from service.core.model.passing import opened
from service.core.model.replay import SetEvent, fold, in_order
from service.core.model.state import Row
from service.core.tell.parts import Session
from service.flows.lift_log import set_events
from service.flows.remember import remembered
from service.store import lifts as lift_store
from service.store import log, sets
from service.store.memories import Before, Whole
from service.store.session import Tx


@dataclass(frozen=True, slots=True)
class Last:
    """The last session of a lift."""

    session: Session | None
    """None: the model has heard no set of the lift."""
    body_kg: float | None
    """The body weight of its day, where one is known and is part of the load. [kg]"""


def last_session(tx: Tx, athlete: UUID, key: Key, until: date) -> Last | None:
    """The last session of a lift, with what its sets taught.

    Each lift is stored as it was before its last day, and the day's sets are folded from there. Where sets of two lifts
    were done in turn and the other lift has been trained since, what its sets said of the athlete in between is left
    out: it hardly shows in what is told.

    Parameters
    ----------
    tx : Tx
        The transaction; it may only read.
    athlete : UUID
        Whose.
    key : Key
        The lift.
    until : date
        The athlete's today.

    Returns
    -------
    Last or None
        None where the log has to be gone through: there are sets after `until`.
    """
    whole = remembered(tx, athlete)
    before = whole.befores.get(key)
    if before is None:
        return Last(None, None)
    if before.on > until or _begins(before) is None:
        return None
    same_day = [one for one, begun in whole.befores.items() if begun.on == before.on and _begins(begun) is not None]
    lifts = lift_store.get_many(tx, {one.lift for one in same_day})
    weighed = any(lifts[one.lift].load_kind == "bodyweight" for one in same_day)
    body_kg = sets.body_kg(tx, athlete, before.on) if weighed else None
    events = set_events(log.rows_of_day(tx, athlete, before.on, same_day), lifts, lambda _: body_kg)
    return Last(_folded(events, whole, Known(lifts), key, before.on), body_kg)


def _folded(events: Iterable[SetEvent], whole: Whole, known: Known, key: Key, on: date) -> Session | None:
    """One lift's part of a day; each lift comes in at its first set, with the athlete of that moment."""
    memory = Memory(day=on, closed=False)
    session = None
    for event in in_order(events):
        assert isinstance(event, SetEvent)  # noqa: S101  (for the type checker: they are given)
        before = whole.befores[event.key]
        row = _begins(before)
        if event.key not in memory.lifts and row is not None:
            lift = LiftMemory(row, ratio=whole.memory.lifts[event.key].ratio)
            memory = Memory(before.person, {**memory.lifts, event.key: lift}, on, closed=False)
            if event.key == key:
                session = Session(on, opened(row, before.person, on), before.person, row, before.person, ())
        memory, lesson = fold(memory, event, known)
        if session is not None and event.key == key and lesson is not None:
            session.sets = (*session.sets, (event.heard, lesson))
            session.after, session.person = memory.lifts[key].row, memory.person
    return session


def _begins(before: Before) -> Row | None:
    """The lift as its day's first set met it; None: stored by an older version."""
    known = before.row is not None and before.row.reference is not None
    return before.row if known else before.began
