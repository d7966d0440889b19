"""The sessions of one lift as the model took them in, read from the log."""

from __future__ import annotations

from collections.abc import Iterable

from service.core.model.closing import as_of
from service.core.model.kin import Key
from service.core.model.memory import Known, Memory, start
from service.core.model.passing import opened
from service.core.model.replay import Event, SetEvent, walk
from service.core.model.state import Row
from service.core.tell.parts import Session


def sessions(
    events: Iterable[Event], known: Known, key: Key, memory: Memory | None = None
) -> tuple[list[Session], Memory]:
    """Each day on which a lift was done, with what its sets taught; and the memory after the log.

    Parameters
    ----------
    events : iterable of events
        The log, in any order; with `memory` what comes after it.
    known : Known
        The lifts, and the maxes that rows start from.
    key : Key
        The lift.
    memory : Memory or None
        To go on from; None: nothing has happened yet.

    Returns
    -------
    tuple of (list of Session, Memory)
        Oldest first; empty where the model has no business with the lift.
    """
    found: list[Session] = []
    memory = Memory() if memory is None else memory
    for event, after, lesson in walk(events, known, memory):
        if isinstance(event, SetEvent) and event.key == key and lesson is not None:
            row = after.lifts[key].row
            if not found or found[-1].on != event.on:
                before = _before(as_of(memory, event.on), key, known, event)
                found.append(Session(event.on, before, memory.person, row, after.person, ()))
            now = found[-1]
            now.sets, now.after, now.person = (*now.sets, (event.heard, lesson)), row, after.person
        memory = after
    return found, memory


def _before(memory: Memory, key: Key, known: Known, event: SetEvent) -> Row | None:
    """The lift before its day's first set, opened; one that starts there from a max or from its kin, started."""
    lift = memory.lifts.get(key)
    if lift is not None and lift.row.reference is not None:
        return opened(lift.row, memory.person, event.on)
    begun = start(memory, key, event.on, known)
    return None if begun is None else begun.row
