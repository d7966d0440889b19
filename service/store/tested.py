"""Maxes that a session's tests have shown: they belong to it, and follow its sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import Float, Uuid, bindparam, cast, delete, insert, select, text, update

from service.core.records import SupportClass
from service.core.slots import Slot
from service.core.units import Load, load
from service.store.hot import Hot
from service.store.ids import new_id
from service.store.loads import load_columns
from service.store.plans import SLOT
from service.store.session import Tx
from service.store.tables import maxes

SOURCE = "Test day"
Key = tuple[str, SupportClass]
"""Lift and class of support: one tested max of each a session."""

TESTS = Hot(
    text("""
SELECT s.athlete_id, s.state, t.id, CAST(t.body AS text) AS body
  FROM sessions s JOIN slots t ON t.gym_id = s.gym_id AND t.plan_id = s.plan_id
 WHERE s.gym_id = :gym AND s.id = :session AND t.body->'scheme'->>'kind' = 'test'
 ORDER BY t.position
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("session", type_=Uuid()))
)


@dataclass(frozen=True, slots=True)
class Tests:
    """The slots of a session that are tests."""

    __test__ = False  # not one of those that pytest looks for

    athlete: UUID
    finished: bool
    slots: tuple[tuple[UUID, Slot], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tested:
    """The heaviest attempt of a test, as it is kept."""

    load: Load
    on: date
    support: tuple[str, ...]


def tests_of(tx: Tx, session: UUID) -> Tests | None:
    """The tests of a session; None where it has none."""
    rows = list(tx.execute(TESTS, {"gym": tx.gym, "session": session}))
    if not rows:
        return None
    found = tuple((row.id, SLOT.validate_json(row.body)) for row in rows)
    return Tests(rows[0].athlete_id, rows[0].state in ("finished", "skipped"), found)


def follow(tx: Tx, athlete: UUID, session: UUID, wanted: Mapping[Key, Tested]) -> bool:
    """Keep exactly these tested maxes of a session; tell whether any was another one before.

    The caller holds the athlete's lock.
    """
    own = (maxes.c.gym_id == tx.gym, maxes.c.session_id == session)
    kept: dict[Key, Any] = {}
    query = select(
        maxes.c.id, maxes.c.lift, maxes.c.support_class, cast(maxes.c.load_value, Float).label("value"),
        maxes.c.load_unit, maxes.c.date, maxes.c.support,
    ).where(*own)  # fmt: skip
    for row in tx.execute(query):
        kept[row.lift, row.support_class] = row
    changed = False
    for key, one in wanted.items():
        row = kept.pop(key, None)
        if row is None:
            tx.execute(insert(maxes).values(**_new(tx, athlete, session, key, one)))
        elif (load(row.value, row.load_unit), row.date, tuple(row.support)) != (one.load, one.on, one.support):
            values = {"date": one.on, "support": list(one.support), **load_columns(one.load)}
            tx.execute(
                update(maxes).where(*own, maxes.c.id == row.id).values(version=maxes.c.version + 1, **values)
            )  # fmt: skip
        else:
            continue
        changed = True
    if kept:
        tx.execute(delete(maxes).where(*own, maxes.c.id.in_([row.id for row in kept.values()])))
    return changed or bool(kept)


def _new(tx: Tx, athlete: UUID, session: UUID, key: Key, one: Tested) -> dict[str, Any]:
    lift, support_class = key
    return {
        "gym_id": tx.gym,
        "id": new_id(),
        "athlete_id": athlete,
        "session_id": session,
        "lift": lift,
        "kind": "tested",
        "date": one.on,
        "source": SOURCE,
        "support": list(one.support),
        "support_class": support_class,
        **load_columns(one.load),
    }
