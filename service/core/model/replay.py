"""The log makes the memory: events in their order, from the start or from a copy that was kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from service.core.model.closing import as_of, close_day
from service.core.model.heard import Heard, Lesson
from service.core.model.kin import Key
from service.core.model.memory import Known, LiftMemory, Memory, start, take, take_test
from service.core.model.passing import begin, opened, returned_from_injury
from service.core.model.smooth import Step

CHECKPOINT_DAYS = 30
"""Days between two copies that are kept to go on from. Ours. [days]"""


@dataclass(slots=True)
class SetEvent:
    """A set was logged."""

    on: date
    """Local date."""
    key: Key
    heard: Heard
    moment: datetime
    """All of one log with a zone, or all without."""
    id: str


@dataclass(slots=True)
class MaxEvent:
    """A max was tested."""

    on: date
    key: Key
    kg: float
    """Effective, > 0. [kg]"""
    id: str


@dataclass(slots=True)
class InjuryEvent:
    """The lifter came back from an injury: levels are believed less from this date on."""

    on: date
    id: str
    lift: str | None = None
    """Of this lift; None: of all."""


Event = SetEvent | MaxEvent | InjuryEvent


def in_order(events: Iterable[Event]) -> list[Event]:
    """Events as the memory takes them: by date, within it injuries, tests, then sets by moment and id; each id once."""
    found: dict[tuple[type, str], Event] = {}
    for event in sorted(events, key=_place):
        found.setdefault((type(event), event.id), event)
    return list(found.values())


def _place(event: Event) -> tuple[date, int, datetime, str] | tuple[date, int, str]:
    if isinstance(event, SetEvent):
        return event.on, 2, event.moment, event.id
    return event.on, 1 if isinstance(event, MaxEvent) else 0, event.id


def fold(memory: Memory, event: Event, known: Known) -> tuple[Memory, Lesson | None]:
    """The memory after one more event.

    Parameters
    ----------
    memory : Memory
        After all events that come before it (`in_order`).
    event : SetEvent, MaxEvent or InjuryEvent
        At its first event on a later date, the day before is closed.
    known : Known
        The lifts, and the maxes that rows start from.

    Returns
    -------
    tuple of (Memory, Lesson or None)
        The lesson of a set; None for what is no set, or a set of a lift that the model has no business with.

    Raises
    ------
    ValueError
        If the event is dated before the last one, or on a day that is closed: the log has to be replayed.
    """
    on = event.on
    if memory.day is not None and (on < memory.day or (memory.closed and on == memory.day)):
        raise ValueError(f"An event of {on} comes after the end of {memory.day}: replay")
    if on != memory.day:
        memory = close_day(memory)
    if isinstance(event, SetEvent):
        return _set(memory, event, known)
    if isinstance(event, MaxEvent):
        return _test(memory, event), None
    hurt = {
        key: replace(lift, row=returned_from_injury(lift.row))
        for key, lift in memory.lifts.items()
        if event.lift in (None, key.lift)
    }
    return Memory(memory.person, memory.lifts | hurt, on, closed=False), None


def _set(memory: Memory, event: SetEvent, known: Known) -> tuple[Memory, Lesson | None]:
    key, on = event.key, event.on
    lift: LiftMemory | None = memory.lifts.get(key)
    if lift is None or lift.row.reference is None:
        lift = start(memory, key, on, known)
        if lift is None:
            return memory, None
    person, lift, lesson = take(memory.person, lift, on, event.heard)
    return Memory(person, {**memory.lifts, key: lift}, on, closed=False), lesson


def _test(memory: Memory, event: MaxEvent) -> Memory:
    """A test before the first set of its lift is no event: it is the max in force when the row starts."""
    lift = memory.lifts.get(event.key)
    if lift is None:
        return memory
    person, lift = take_test(memory.person, lift, event.on, event.kg)
    return Memory(person, {**memory.lifts, event.key: lift}, event.on, closed=False)


def walk(
    events: Iterable[Event], known: Known, memory: Memory | None = None
) -> Iterator[tuple[Event, Memory, Lesson | None]]:
    """Each event of a log in its order, with the memory after it and what it did.

    Parameters
    ----------
    events : iterable of events
        In any order; an id may come twice. With `memory`, those after it.
    known : Known
        The lifts, and the maxes that rows start from.
    memory : Memory or None
        To go on from; None: nothing has happened yet.
    """
    memory = Memory() if memory is None else memory
    for event in in_order(events):
        memory, lesson = fold(memory, event, known)
        yield event, memory, lesson


def replay(events: Iterable[Event], known: Known, memory: Memory | None = None) -> Memory:
    """The memory after a log; arguments as for `walk`. The same bits, however the log is cut or shuffled."""
    memory = Memory() if memory is None else memory
    for event in in_order(events):
        memory, _ = fold(memory, event, known)
    return memory


def checkpoints(events: Iterable[Event], known: Known, *, days: int = CHECKPOINT_DAYS) -> list[Memory]:
    """Memories at the end of days at least `days` apart, oldest first: `replay` goes on from each with what follows it.

    An event on or before a memory's `day` asks for an older one. The last memory of the log is not among them.
    """
    kept: list[Memory] = []
    last: Memory | None = None
    due: date | None = None
    for event, memory, _ in walk(events, known):
        if last is not None and last.day is not None and event.on != last.day:
            due = last.day if due is None else due
            if last.day >= due:
                kept.append(last)
                due = last.day + timedelta(days=days)
        last = memory
    return kept


def steps(events: Iterable[Event], known: Known, key: Key) -> list[Step]:
    """What each session of one lift did, for the smoother; what its kin said on other days counts as a session.

    Returns
    -------
    list of Step
        Oldest first. In the last one the athlete is adopted.
    """
    found: list[Step] = []
    before = Memory()
    for event, memory, _ in walk(events, known):
        if before.day is not None and event.on != before.day:
            closed = close_day(before)
            _step(found, before, closed, key)
            before = closed
        if not isinstance(event, InjuryEvent):  # which adds doubt between two sessions, and is none
            _step(found, before, memory, key)
        before = memory
    if before.day is None:
        return found
    closed = as_of(before, date.max)
    _step(found, before, closed, key)
    if found:
        row = opened(closed.lifts[key].row, closed.person, found[-1].on)
        found[-1] = replace(found[-1], filtered=(row.m, row.p))
    return found


def _step(found: list[Step], before: Memory, after: Memory, key: Key) -> None:
    """Add to the steps what changed the row between two memories."""
    old, new = before.lifts.get(key), after.lifts.get(key)
    if new is None or (old is not None and old.row is new.row):
        return
    row = new.row
    reference, day = row.reference, row.day
    if reference is None or day is None:
        return
    anchored = old is None or old.row.reference != reference
    predicted = row.m, row.p
    if found and found[-1].on == day:
        last = found.pop()
        anchored, predicted = anchored or last.anchored, last.predicted
    elif old is not None and not anchored:
        begun = begin(old.row, day)
        predicted = begun.m, begun.p
    found.append(Step(day, reference, predicted, (row.m, row.p), anchored))
