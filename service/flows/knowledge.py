"""What the log has taught of an athlete, as it stands on a day: for loads to come."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from service.core.context import KnownRow
from service.core.model.closing import as_of
from service.core.model.kin import Key
from service.core.model.levels import rolling_max
from service.core.model.memory import Known, Memory
from service.core.model.passing import opened
from service.core.model.state import Person, Row
from service.core.records import MODEL, KnownMax, Settings
from service.flows.hear import turned
from service.flows.remember import remembered
from service.store import known_maxes, log
from service.store.known_maxes import SOURCES
from service.store.lines import Lifter
from service.store.memories import Before
from service.store.session import Tx


@dataclass(slots=True)
class Knowledge:
    """What is known on a day, of the machines of one place."""

    person: Person
    rows: dict[Key, Row]
    """Not yet opened on the day."""
    memory: Memory
    maxes: list[KnownMax]


def known_on(
    tx: Tx, lifter: Lifter, on: date, *, stacks: Mapping[str, str], before_sets_of: Collection[str] = ()
) -> Knowledge:
    """What is known of an athlete on a day, in two statements.

    Parameters
    ----------
    tx : Tx
        The transaction; it may only read, and then KeptFirst is raised where a log has to be folded.
    lifter : Lifter
        The athlete; nothing is locked.
    on : date
        The athlete's day.
    stacks : mapping of str to str
        For lifts on machines, which machine: what others show does not count.
    before_sets_of : collection of str
        Lifts that are to stand as before the first set of that day.
    """
    whole = remembered(tx, lifter.id)
    entered = known_maxes.known(tx, lifter.id, on, stacks=stacks, without_that_day_of=before_sets_of)
    memory = whole.memory
    if memory.day is not None and memory.day < on:
        later = any(one.basis == "tested" and one.on > memory.day for one in entered)
        later = later or (whole.injured is not None and whole.injured > memory.day)
        events = log.maxes(tx, lifter.id).events_between(memory.day, on) if later else ()
        memory = as_of(turned(memory, on, events, Known({})), on)
    person, rows = memory.person, {}
    for key, lift in memory.lifts.items():
        if key.stack != stacks.get(key.lift, ""):
            continue
        before = whole.befores.get(key)
        row = _row_on(lift.row, before, on, begun=key.lift not in before_sets_of)
        if row is not None:
            rows[key] = row
        own = before is not None and before.on == on and key.lift in before_sets_of
        if before is not None and (own or before.on > on) and before.person.version < person.version:
            person = before.person
    if person is not memory.person:  # what the other lifts learned meanwhile is not known yet either
        rows = {key: _earlier(row, whole.befores.get(key), person) for key, row in rows.items()}
    # No moving averages where the model is in force.
    maxes = [one for one in entered if one.basis != "rolling" or lifter.settings.curve_of(one.lift) != MODEL]
    maxes += _by_model(rows, person, lifter.settings, on)
    return Knowledge(person, rows, memory, maxes)


def _row_on(row: Row, before: Before | None, on: date, *, begun: bool) -> Row | None:
    """A row as it stands on a day; None where it was not there."""
    if before is not None and before.on == on and not begun:
        return before.row
    if row.day is None or row.day <= on:
        return row
    if before is None or before.row is None or before.row.day is None or before.row.day > on:
        return None
    return before.row


def _earlier(row: Row, before: Before | None, person: Person) -> Row:
    """A row from before it knew more of the athlete than is to be known."""
    if row.seen > person.version and before is not None and before.row is not None:
        return before.row
    return row


def _by_model(rows: Mapping[Key, Row], person: Person, settings: Settings, on: date) -> list[KnownMax]:
    """The maxes of typical days, of the lifts for which no curve is pinned."""
    found = []
    for key, row in rows.items():
        if settings.curve_of(key.lift) != MODEL:
            continue
        known = rolling_max(opened(row, person, on), person)
        if known is not None:
            found.append(
                KnownMax(
                    lift=key.lift, basis="rolling", kg=known.kg, on=row.day or on, source=SOURCES["rolling"],
                    support=key.support_class,
                )
            )  # fmt: skip
    return found


def rows_for(known: Knowledge, lifts: Collection[str]) -> tuple[KnownRow, ...]:
    """The rows of some lifts and of their kin: along parents and children, however far."""
    tied: dict[Key, set[Key]] = {}
    for key, lift in known.memory.lifts.items():
        if lift.ratio is not None:
            tied.setdefault(key, set()).add(lift.ratio.parent)
            tied.setdefault(lift.ratio.parent, set()).add(key)
    wanted = {key for key in {*known.memory.lifts, *tied} if key.lift in lifts}
    queue = list(wanted)
    for key in queue:  # grows while it is walked
        new = tied.get(key, set()) - wanted
        wanted |= new
        queue += new
    return tuple(
        KnownRow(lift=key.lift, support=key.support_class, row=known.rows[key], ratio=known.memory.lifts[key].ratio)
        for key in sorted(wanted & known.rows.keys())
    )
