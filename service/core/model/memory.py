"""The whole athlete: one row of the person and one of each lift, and how a set, a test or a day's end changes them.

Everything here gives new objects; an older `Memory` stays what it was, so that it can be kept and gone on from.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from math import log, sqrt

from service.core.model.heard import Heard, Lesson
from service.core.model.kin import Key, Level, Ratio, facts_of, level_of
from service.core.model.learn import learn
from service.core.model.levels import LEAST_FACTOR
from service.core.model.passing import opened
from service.core.model.state import ANCHORED_SD, NOTHING_SD, Person, Row, new_person, new_row
from service.core.model.tested import Given, after_test, started
from service.core.records import Lift


@dataclass(slots=True)
class LiftMemory:
    """What is remembered of one lift in one class of support. Treated as if it were frozen."""

    row: Row
    before: Level | None = None
    """The level when the session began (time step and adopting done), or from its last new anchor on; None: empty."""
    told: date | None = None
    """Date of the last session in which a set or a test changed a belief."""
    own: Level | None = None
    """The level after that session, before its kin said anything; set at its day's end."""
    ratio: Ratio | None = None
    """Of this lift to its parent; None: it has none."""


@dataclass(slots=True)
class Memory:
    """What is remembered of an athlete. Treated as if it were frozen."""

    person: Person = field(default_factory=new_person)
    lifts: dict[Key, LiftMemory] = field(default_factory=dict)
    day: date | None = None
    """Date of the last event; None: nothing happened yet."""
    closed: bool = True
    """That date's sessions are over, and their kin know of them."""


def _nothing(_key: Key, _on: date) -> Given | None:
    return None


@dataclass(frozen=True, slots=True)
class Known:
    """What has to be known beside the log."""

    lifts: Mapping[str, Lift]
    """All lifts of the gym, by id."""
    given: Callable[[Key, date], Given | None] = _nothing
    """The max in force for a row on a date; called where a row starts."""


def take(person: Person, lift: LiftMemory, on: date, heard: Heard) -> tuple[Person, LiftMemory, Lesson]:
    """One set of a lift that has a row: all that is needed of the athlete are these two.

    Parameters
    ----------
    person : Person
        The athlete.
    lift : LiftMemory
        From the memory, or from `start` where it has none or an empty row. Days before `on` are closed.
    on : date
        Local date of the set.
    heard : Heard
        The set.

    Returns
    -------
    tuple of (Person, LiftMemory, Lesson)
        Both after the set, and what it did.
    """
    row, before = lift.row, lift.before
    if row.day != on:
        row = opened(row, person, on)
        before = level_of(row)
    reference, factor = row.reference, row.m[1]
    person, row, lesson = learn(person, row, heard)
    if row.reference is not None and row.reference != reference:
        found = reference is None or lift.row.at_least
        spread = (NOTHING_SD if found else ANCHORED_SD) / max(LEAST_FACTOR, factor)
        before = None if row.at_least else Level(row.reference, spread * spread)
    told = on if lesson.status in ("used", "re_anchored") else lift.told
    return person, LiftMemory(row, before, told, lift.own, lift.ratio), lesson


def take_test(person: Person, lift: LiftMemory, on: date, kg: float) -> tuple[Person, LiftMemory]:
    """One tested max of a lift that has a row; it comes before that date's sets.

    Parameters
    ----------
    person, lift, on
        As in `take`.
    kg : float
        The max, effective, > 0. [kg]
    """
    row, before = lift.row, lift.before
    if row.day != on:
        row = opened(row, person, on)
        before = level_of(row)
    reference = row.reference
    person, row = after_test(person, row, kg)
    if row.reference != reference:
        before = level_of(row)
    return person, LiftMemory(row, before, on, lift.own, lift.ratio)


def start(memory: Memory, key: Key, on: date, known: Known) -> LiftMemory | None:
    """A lift before its first set, or while nothing is known of its level: from a max, from its kin, or empty.

    Parameters
    ----------
    memory : Memory
        The athlete, earlier days closed; the key has no row in it, or an empty one.
    key : Key
        Which.
    on : date
        Date of the set.
    known : Known
        The lifts, and their maxes.

    Returns
    -------
    LiftMemory or None
        Opened on the date; None where the model has no business (`facts_of`).
    """
    lift = memory.lifts.get(key)
    if lift is None:
        facts = facts_of(known.lifts, key)
        if facts is None:
            return None
        kin = facts.kin
        ratio = None if kin is None else Ratio(kin.parent, kin.log_ratio, kin.spread**2)
        lift = LiftMemory(new_row(facts.group), ratio=ratio)
    row = opened(lift.row, memory.person, on)
    given = known.given(key, on)
    if given is not None:
        # As `new_row` has it: the spread of a given max is one of the level in units of the curve.
        row = started(row, log(given.kg), given.spread)
    else:
        found = from_kin(memory, key, on, known)
        if found is not None:
            row = started(row, found.at, max(LEAST_FACTOR, row.m[1]) * sqrt(found.variance))
    return replace(lift, row=row, before=level_of(row))


def from_kin(memory: Memory, key: Key, on: date, known: Known) -> Level | None:
    """What the nearest kin that is known says of a level: along parents and children, parents first.

    Parameters
    ----------
    memory, key, on, known
        As in `start`.

    Returns
    -------
    Level or None
        From a row, as it is on that date, or else from a max that was given for a lift without one; with the doubt of
        all ratios between. None: nothing is known of any kin. [log kg]
    """
    # Each: a key, the log of this key's max divided by that one's, and the variance of it.
    queue = [(key, 0.0, 0.0)]
    seen = {key}
    for at, ratio, variance in queue:  # grows while it is walked
        if at != key:
            level = _known_level(memory, at, on, known)
            if level is not None:
                return Level(level.at + ratio, level.variance + variance)
        steps = []
        up = _ratio(memory, at, known)
        if up is not None:
            steps.append((up.parent, ratio + up.mean, variance + up.variance_at(on)))
        for child in sorted(memory.lifts):
            down = memory.lifts[child].ratio
            if down is not None and down.parent == at:
                steps.append((child, ratio - down.mean, variance + down.variance_at(on)))
        queue += [step for step in steps if step[0] not in seen]
        seen.update(step[0] for step in steps)
    return None


def _known_level(memory: Memory, key: Key, on: date, known: Known) -> Level | None:
    lift = memory.lifts.get(key)
    if lift is not None and lift.row.reference is not None:
        return level_of(opened(lift.row, memory.person, on))
    given = known.given(key, on)
    return None if given is None else Level(log(given.kg), given.spread**2)


def _ratio(memory: Memory, key: Key, known: Known) -> Ratio | None:
    lift = memory.lifts.get(key)
    if lift is not None:
        return lift.ratio
    facts = facts_of(known.lifts, key)
    if facts is None or facts.kin is None:
        return None
    return Ratio(facts.kin.parent, facts.kin.log_ratio, facts.kin.spread**2)
