"""One set on its way through the athlete's model: the same steps when it is logged and when the log is folded."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from service.core.ability.hearing import heard
from service.core.estimate.rolling import HEAVY_RPE, TOP_REPS, reported_rpe
from service.core.model.closing import close_day
from service.core.model.heard import Heard, Lesson
from service.core.model.kin import Key
from service.core.model.levels import Ranged, day_max
from service.core.model.memory import Known, LiftMemory, Memory, start, take
from service.core.model.passing import opened
from service.core.model.replay import InjuryEvent, MaxEvent, fold
from service.core.model.state import Person, Row
from service.core.records import WORK_ROLES, DoneSet, Lift
from service.store.memories import Before

BELIEVED = ("used", "re_anchored")


@dataclass(slots=True)
class Learned:
    """What a set did to the athlete's model."""

    said: Heard
    """The set as the model hears it."""
    from_person: Person
    from_row: Row
    """The athlete and the lift before it, not yet opened on its date."""
    person: Person
    lift: LiftMemory
    """Both after it."""
    before: Before
    """The lift before the day's first set."""
    lesson: Lesson


def hears(done: DoneSet, lift: Lift, kg: float | None) -> bool:
    """Whether the model hears a set: not where technique ends it, without a mass, or with a time. Effective. [kg]"""
    return kg is not None and kg > 0 and not lift.technique and lift.load_kind != "none" and done.seconds is None


def turned(memory: Memory, on: date, events: Iterable[InjuryEvent | MaxEvent], known: Known) -> Memory:
    """The memory at the start of a later day: days before it are closed, `events` since its last one are heard.

    `events` are tests and injuries after the memory's day, up to `on`, in order.
    """
    for one in events:
        memory, _ = fold(memory, one, known)
    return memory if memory.day == on else close_day(memory)


def learn_set(
    memory: Memory,
    key: Key,
    on: date,
    done: DoneSet,
    kg: float,
    *,
    known: Known,
    before: Before | None,
) -> Learned | None:
    """What a set that the model hears does; None where the lift is no business of the model's.

    Parameters
    ----------
    memory : Memory
        The athlete, `turned` to the day; of the lifts no more is needed than this one, where it has a known level.
    key : Key
        What the set belongs to.
    on : date
        Its local date.
    done : DoneSet
        The set.
    kg : float
        Effective load. [kg]
    known : Known
        Lifts and maxes that a lift starts from.
    before : Before or None
        The lift before the first set of the last day on which it was trained.
    """
    stored = memory.lifts.get(key)
    lift = stored
    if lift is None or lift.row.reference is None:
        lift = start(memory, key, on, known)
        if lift is None:
            return None
    if before is None or before.on != on:
        begins = stored is None or stored.row.reference is None
        before = Before(on, None if stored is None else stored.row, memory.person, lift.row if begins else None)
    said = heard(done, kg)
    row = lift.row
    person, after, lesson = take(memory.person, lift, on, said)
    return Learned(said, memory.person, row, person, after, before, lesson)


def day_of(learned: Learned, done: DoneSet, on: date) -> Ranged | None:
    """The day's max after a set that is heavy enough to tell it; None for others. [kg]"""
    said = learned.said
    if done.role not in WORK_ROLES or said.counts != "all" or learned.lesson.status not in BELIEVED:
        return None
    if done.reps > TOP_REPS or not (said.failed or (_effort(said, done) or 0.0) >= HEAVY_RPE):
        return None
    return day_max(opened(learned.lift.row, learned.person, on))


def _effort(said: Heard, done: DoneSet) -> float | None:
    return reported_rpe(done) if said.felt is not None else said.rpe
