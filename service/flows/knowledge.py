"""What the log has taught of an athlete, as it stands on a day: for loads to come."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
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
from service.flows.remember import remembered_of_each
from service.store import known_maxes, log
from service.store.known_maxes import SOURCES
from service.store.lines import Lifter
from service.store.log import Maxes
from service.store.memories import Before, Whole
from service.store.session import Tx


@dataclass(slots=True)
class Knowledge:
    """What is known on a day, of the machines of one place."""

    person: Person
    rows: dict[Key, Row]
    """Not yet opened on the day."""
    memory: Memory
    maxes: list[KnownMax]


@dataclass(frozen=True, slots=True, kw_only=True)
class Whose:
    """Of whom something is to be known."""

    lifter: Lifter
    """The athlete; nothing is locked."""
    on: date
    """The athlete's day."""
    stacks: Mapping[str, str]
    """For lifts on machines, which machine: what others show does not count."""
    before_sets_of: Collection[str] = ()
    """Lifts that are to stand as before the first set of that day."""


def known_on(tx: Tx, lifter: Lifter, on: date, *, stacks: Mapping[str, str]) -> Knowledge:
    """As `known_of_each`, of one."""
    return known_of_each(tx, [Whose(lifter=lifter, on=on, stacks=stacks)])[0]


def known_of_each(tx: Tx, asked: Sequence[Whose]) -> list[Knowledge]:
    """What is known of athletes on a day, in two statements; in three where maxes or injuries came after the log.

    Parameters
    ----------
    tx : Tx
        The transaction; it may only read, and then KeptFirst is raised where a log has to be folded.
    asked : sequence of Whose
        Of whom, and when.
    """
    wholes = remembered_of_each(tx, [one.lifter.id for one in asked])
    entered = known_maxes.known_of_each(
        tx,
        [(one.lifter.id, one.on) for one in asked],
        [one.stacks for one in asked],
        [one.before_sets_of for one in asked],
    )
    behind = [at for at, one in enumerate(asked) if _goes_on(wholes[at], entered[at], one.on)]
    since = log.maxes_of_each(tx, [asked[at].lifter.id for at in behind])
    heard = dict(zip(behind, since, strict=True))
    return [_known(one, wholes[at], entered[at], heard.get(at)) for at, one in enumerate(asked)]


def _goes_on(whole: Whole, entered: Sequence[KnownMax], on: date) -> bool:
    """Whether between the newest set and a day there is something that the model hears beside sets."""
    day = whole.memory.day
    if day is None or day >= on:
        return False
    return any(one.basis == "tested" and one.on > day for one in entered) or (
        whole.injured is not None and whole.injured > day
    )


def _known(asked: Whose, whole: Whole, entered: Sequence[KnownMax], heard: Maxes | None) -> Knowledge:
    on, stacks, settings, memory = asked.on, asked.stacks, asked.lifter.settings, whole.memory
    if memory.day is not None and memory.day < on:
        events = () if heard is None else heard.events_between(memory.day, on)
        memory = as_of(turned(memory, on, events, Known({})), on)
    person, rows = memory.person, {}
    for key, lift in memory.lifts.items():
        if key.stack != stacks.get(key.lift, ""):
            continue
        before = whole.befores.get(key)
        row = _row_on(lift.row, before, on, begun=key.lift not in asked.before_sets_of)
        if row is not None:
            rows[key] = row
        own = before is not None and before.on == on and key.lift in asked.before_sets_of
        if before is not None and (own or before.on > on) and before.person.version < person.version:
            person = before.person
    if person is not memory.person:  # what the other lifts learned meanwhile is not known yet either
        rows = {key: _earlier(row, whole.befores.get(key), person) for key, row in rows.items()}
    # No moving averages where the model is in force.
    maxes = [one for one in entered if one.basis != "rolling" or settings.curve_of(one.lift) != MODEL]
    maxes += _by_model(rows, person, settings, on)
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
