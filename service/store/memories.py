"""What the athlete's model remembers, as it is stored: the athlete in one row, each lift in another.

What is stored is the log folded up to its last set, with the day of that set still open, and with the tested maxes up
to that day. An athlete without it (a new version of the model, a setting of the whole gym) is folded anew from the log
at the next use, and kept then.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any, NamedTuple, cast
from uuid import UUID

from sqlalchemy import Date, DateTime, Text, Uuid, bindparam, null, text, update
from sqlalchemy.dialects.postgresql import ARRAY

from service.core.model.kin import Key
from service.core.model.memory import LiftMemory, Memory
from service.core.model.state import Person, Row, new_person
from service.core.model.stored import (
    MODEL_VERSION,
    lift_from,
    lift_values,
    person_from,
    person_values,
    row_from,
    row_values,
)
from service.core.records import SupportClass
from service.store.each import Each
from service.store.hot import Hot
from service.store.session import Tx
from service.store.tables import athlete_states


class Place(NamedTuple):
    """Where a set stands in an athlete's log: sets are folded by day, moment, id, however they arrived."""

    date: date
    at: datetime
    id: UUID


@dataclass(slots=True)
class Before:
    """A lift before its first set of a day. Treated as if it were frozen."""

    on: date
    row: Row | None
    """None: nothing was remembered of it."""
    person: Person
    """The athlete at that moment."""
    began: Row | None = None
    """What it began from on that day, where nothing was known of its level: a max, its kin, or nothing still."""


@dataclass(slots=True)
class Whole:
    """All that is stored of an athlete. Treated as if it were frozen."""

    memory: Memory
    befores: dict[Key, Before]
    last: Place | None
    """The newest set that was folded."""
    injured: date | None = None
    """The last day on which somebody came back from an injury, or will; as `log.Maxes.injuries`."""


_OF = (bindparam("gym", type_=Uuid()), bindparam("athlete", type_=Uuid()))
READ = Each(
    text("""
SELECT CAST(a.person AS text) AS person, a.day, a.last_at, a.last_set, l.lift, l.support_class, l.stack,
       CAST(l.model AS text) AS model, CAST(l.before AS text) AS before,
       (SELECT max(coalesce(x.until_date, x.from_date) + 1) FROM absences x
         WHERE x.gym_id = :gym AND x.athlete_id = :athlete AND x.kind = 'injury') AS injured
  FROM athlete_states a
  LEFT JOIN lift_states l ON l.gym_id = a.gym_id AND l.athlete_id = a.athlete_id AND l.model IS NOT NULL
 WHERE a.gym_id = :gym AND a.athlete_id = :athlete
""").bindparams(*_OF),
    athlete="uuid",
)
WRITE = Hot(
    text("""
UPDATE lift_states l SET model = CAST(u.model AS json)
  FROM unnest(:lifts, :classes, :stacks, :models) AS u (lift, support_class, stack, model)
 WHERE l.gym_id = :gym AND l.athlete_id = :athlete AND l.lift = u.lift AND l.support_class = u.support_class
   AND l.stack = u.stack
""").bindparams(*_OF, *(bindparam(name, type_=ARRAY(Text)) for name in ("lifts", "classes", "stacks", "models")))
)

WRITE_PERSON = Hot(
    text("""
UPDATE athlete_states SET person = CAST(:person AS json), day = :day, last_at = :at, last_set = :set
 WHERE gym_id = :gym AND athlete_id = :athlete
""").bindparams(
        *_OF,
        bindparam("person", type_=Text()),
        bindparam("day", type_=Date()),
        bindparam("at", type_=DateTime(timezone=True)),
        bindparam("set", type_=Uuid()),
    )
)


def person_json(person: Person) -> str:
    """The stored form of an athlete."""
    return _json([MODEL_VERSION, *person_values(person)])


def read_person(stored: str | None) -> Person | None:
    """An athlete from its stored form; None where the log has to be folded: nothing is stored, or another version."""
    if stored is None:
        return None
    version, *values = json.loads(stored)
    return person_from(values) if version == MODEL_VERSION else None


def lift_json(lift: LiftMemory) -> str:
    """The stored form of a lift."""
    return _json(lift_values(lift))


# Lifts that are not trained come again and again with the same text.
@lru_cache(maxsize=1024)
def read_lift(stored: str) -> LiftMemory:
    """A lift from its stored form."""
    return lift_from(json.loads(stored))


def before_json(before: Before) -> str:
    """The stored form of a lift before its day's first set."""
    row = None if before.row is None else row_values(before.row)
    began = [] if before.began is None else [row_values(before.began)]
    return _json([before.on.isoformat(), row, person_values(before.person), *began])


@lru_cache(maxsize=1024)
def read_before(stored: str) -> Before:
    """A lift before its day's first set, from the stored form."""
    on, row, person, *began = json.loads(stored)
    return Before(
        date.fromisoformat(on),
        None if row is None else row_from(row),
        person_from(person),
        row_from(began[0]) if began else None,
    )


def _json(values: list[Any]) -> str:
    return json.dumps(values, separators=(",", ":"))


def read(tx: Tx, athlete: UUID) -> Whole | None:
    """All that is remembered of an athlete, in one statement; None where the log has to be folded."""
    return of_each(tx, [athlete])[0]


def of_each(tx: Tx, athletes: Sequence[UUID]) -> list[Whole | None]:
    """As `read`, of many in one statement."""
    return [_whole(rows) for rows in READ.rows(tx, [(athlete,) for athlete in athletes])]


def _whole(rows: Sequence[Any]) -> Whole | None:
    person = read_person(rows[0].person) if rows else None
    if person is None:
        return None
    first = rows[0]
    lifts, befores = {}, {}
    for row in rows:
        if row.lift is not None:
            key = Key(row.lift, cast("SupportClass", row.support_class), row.stack)
            lifts[key] = read_lift(row.model)
            befores[key] = read_before(row.before)
    last = None if first.last_set is None else Place(first.day, first.last_at, first.last_set)
    return Whole(Memory(person, lifts, first.day, closed=first.day is None), befores, last, first.injured)


def write_lifts(tx: Tx, athlete: UUID, lifts: Mapping[Key, LiftMemory]) -> None:
    """Write lifts that are stored already, after the end of a day; in one statement."""
    if lifts:
        values = {
            "lifts": [key.lift for key in lifts],
            "classes": [key.support_class for key in lifts],
            "stacks": [key.stack for key in lifts],
            "models": [lift_json(lift) for lift in lifts.values()],
        }
        tx.execute(WRITE, {"gym": tx.gym, "athlete": athlete} | values)


def write_person(tx: Tx, athlete: UUID, person: Person, last: Place | None) -> None:
    """Write the athlete, and the newest set that was folded."""
    on, at, identity = (None, None, None) if last is None else last
    values = {"person": person_json(person), "day": on, "at": at, "set": identity}
    tx.execute(WRITE_PERSON, {"gym": tx.gym, "athlete": athlete} | values)


def forget_all(tx: Tx) -> None:
    """Let the log of every athlete of the gym be folded anew at its next use: what all of them stand on has changed."""
    tx.execute(update(athlete_states).where(athlete_states.c.gym_id == tx.gym).values(person=null()))


NEW = json.loads(person_json(new_person()))
"""What is stored of a new athlete: an empty log is folded already."""
