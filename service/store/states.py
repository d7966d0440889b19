"""What logged sets have shown of each lift: the moving average, and the max of each day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import Date, Double, Text, Uuid, bindparam, func, select, text
from sqlalchemy.dialects.postgresql import ARRAY

from service.core.estimate.rolling import RollingState
from service.core.model.kin import Key
from service.store.hot import Hot
from service.store.memories import Whole, before_json, lift_json, write_person
from service.store.session import Tx
from service.store.tables import athlete_states, day_estimates, lift_states


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftState:
    """The moving average, and the last set that it has taken in: an older one asks for a replay."""

    rolling: RollingState
    at: datetime
    set_id: UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class DaySource:
    """The max of one day, and the set that showed it."""

    date: date
    set_id: UUID
    effective_kg: float
    """The max: with body weight for `bodyweight`, one hand for `per_hand`. [kg]"""


@dataclass(slots=True, kw_only=True)
class Estimates:
    """All that is known of one lift, class of support and stack."""

    state: LiftState | None = None
    days: tuple[DaySource, ...] = ()


@dataclass(frozen=True, slots=True)
class _Stored:
    """The columns of a state's body: those of the average, then where it stands."""

    value_before: float | None
    day: date
    best_kg: float
    best_estimate: float
    value: float
    at: datetime
    set_id: UUID


STORED: TypeAdapter[_Stored] = TypeAdapter(_Stored)

LOCK = (
    select(athlete_states.c.changes)
    .where(athlete_states.c.gym_id == bindparam("gym"), athlete_states.c.athlete_id == bindparam("athlete"))
    .with_for_update()
)
LOCK_MANY = (
    select(athlete_states.c.athlete_id)
    .where(
        athlete_states.c.gym_id == bindparam("gym"),
        athlete_states.c.athlete_id == func.any(bindparam("athletes", type_=ARRAY(Uuid()))),
    )
    .order_by(athlete_states.c.athlete_id)
    .with_for_update()
)
_ROLLING = select(lift_states.c.lift, lift_states.c.support_class, lift_states.c.stack, lift_states.c.body).where(
    lift_states.c.gym_id == bindparam("gym"), lift_states.c.athlete_id == bindparam("athlete")
)
_DAYS = select(
    day_estimates.c.lift,
    day_estimates.c.support_class,
    day_estimates.c.stack,
    day_estimates.c.date,
    day_estimates.c.set_id,
    day_estimates.c.effective_kg,
).where(day_estimates.c.gym_id == bindparam("gym"), day_estimates.c.athlete_id == bindparam("athlete"))


_SAME_KG = 1e-9
"""Two maxes no further apart are one: the database keeps eleven decimals. [kg]"""
_SCOPE = (bindparam("gym", type_=Uuid()), bindparam("athlete", type_=Uuid()))
_KEYS = tuple(bindparam(name, type_=ARRAY(Text)) for name in ("lifts", "classes", "stacks"))
_DATES = bindparam("dates", type_=ARRAY(Date))
_FORGET = Hot(text("DELETE FROM lift_states WHERE gym_id = :gym AND athlete_id = :athlete").bindparams(*_SCOPE))
_PUT = Hot(
    text("""
INSERT INTO lift_states (gym_id, athlete_id, lift, support_class, stack, body, model, before)
SELECT :gym, :athlete, u.lift, u.support_class, u.stack, CAST(u.body AS json), CAST(u.model AS json),
       CAST(u.before AS json)
  FROM unnest(:lifts, :classes, :stacks, :bodies, :models, :befores)
    AS u (lift, support_class, stack, body, model, before)
""").bindparams(*_SCOPE, *_KEYS, *(bindparam(name, type_=ARRAY(Text)) for name in ("bodies", "models", "befores")))
)
_DROP_DAYS = Hot(
    text("""
DELETE FROM day_estimates d USING unnest(:lifts, :classes, :stacks, :dates) AS u (lift, support_class, stack, date)
 WHERE d.gym_id = :gym AND d.athlete_id = :athlete AND d.lift = u.lift AND d.support_class = u.support_class
   AND d.stack = u.stack AND d.date = u.date
""").bindparams(*_SCOPE, *_KEYS, _DATES)
)
_PUT_DAYS = Hot(
    text("""
INSERT INTO day_estimates (gym_id, athlete_id, lift, support_class, stack, date, set_id, effective_kg)
SELECT :gym, :athlete, u.lift, u.support_class, u.stack, u.date, u.set_id, u.kg
  FROM unnest(:lifts, :classes, :stacks, :dates, :ids, :kgs) AS u (lift, support_class, stack, date, set_id, kg)
ON CONFLICT (gym_id, athlete_id, lift, support_class, stack, date)
DO UPDATE SET set_id = excluded.set_id, effective_kg = excluded.effective_kg
""").bindparams(*_SCOPE, *_KEYS, _DATES, bindparam("ids", type_=ARRAY(Uuid())), bindparam("kgs", type_=ARRAY(Double())))
)


def lock(tx: Tx, athlete_id: UUID) -> None:
    """Wait for, and keep until the commit, the one lock under which an athlete's sets are written."""
    tx.execute(LOCK, {"gym": tx.gym, "athlete": athlete_id}).one_or_none()


def lock_many(tx: Tx, athlete_ids: Sequence[UUID]) -> None:
    """As `lock`, for many at once, in the order of their ids: two who lock the same ones never wait for each other."""
    if athlete_ids:
        tx.execute(LOCK_MANY, {"gym": tx.gym, "athletes": list(athlete_ids)})


def state_json(state: LiftState) -> str:
    """The stored form of a state."""
    return STORED.dump_json(_stored(state)).decode()


def read_state(body: str | bytes | dict[str, Any]) -> LiftState:
    """A state from its stored form."""
    s = STORED.validate_python(body) if isinstance(body, dict) else STORED.validate_json(body)
    rolled = RollingState(s.value_before, s.day, s.best_kg, s.best_estimate, s.value)
    return LiftState(rolling=rolled, at=s.at, set_id=s.set_id)


def _stored(state: LiftState) -> _Stored:
    r = state.rolling
    return _Stored(r.value_before, r.day, r.best_kg, r.best_estimate, r.value, state.at, state.set_id)


def rolling(tx: Tx, athlete_id: UUID) -> dict[Key, RollingState]:
    """Return the moving average of each lift of an athlete; `.value` is effective. [kg]"""
    rows = tx.execute(_ROLLING, {"gym": tx.gym, "athlete": athlete_id})
    return {Key(r.lift, r.support_class, r.stack): read_state(r.body).rolling for r in rows}


def days(tx: Tx, athlete_id: UUID, *, since: date, until: date) -> list[tuple[Key, date, float]]:
    """Return the day estimates from `since` to `until`, both included, newest first: key, day, effective max. [kg]"""
    query = _DAYS.where(day_estimates.c.date.between(since, until)).order_by(day_estimates.c.date.desc())
    rows = tx.execute(query, {"gym": tx.gym, "athlete": athlete_id})
    return [(Key(r.lift, r.support_class, r.stack), r.date, float(r.effective_kg)) for r in rows]


def rewrite(tx: Tx, athlete_id: UUID, found: dict[Key, Estimates], whole: Whole) -> set[str]:
    """Replace all that is stored of an athlete; return the lifts whose day estimates are others now.

    The caller holds the lock.
    """
    scope = {"gym": tx.gym, "athlete": athlete_id}
    before = {
        (Key(r.lift, r.support_class, r.stack), r.date): (r.set_id, float(r.effective_kg))
        for r in tx.execute(_DAYS, scope)
    }
    after = {
        (key, day.date): (day.set_id, day.effective_kg) for key, estimates in found.items() for day in estimates.days
    }
    keys = sorted(found.keys() | whole.memory.lifts.keys())
    tx.execute(_FORGET, scope)
    if keys:
        states = [found[key].state if key in found else None for key in keys]
        values = {
            "bodies": [None if state is None else state_json(state) for state in states],
            "models": [lift_json(whole.memory.lifts[key]) if key in whole.memory.lifts else None for key in keys],
            "befores": [before_json(whole.befores[key]) if key in whole.befores else None for key in keys],
        }
        tx.execute(_PUT, scope | _columns(keys) | values)
    gone = [place for place in before if place not in after]
    if gone:
        tx.execute(_DROP_DAYS, scope | _columns([key for key, _ in gone]) | {"dates": [on for _, on in gone]})
    new = {place: day for place, day in after.items() if not _alike(before.get(place), day)}
    if new:
        shown: dict[str, Any] = {
            "dates": [on for _, on in new],
            "ids": [day[0] for day in new.values()],
            "kgs": [day[1] for day in new.values()],
        }
        tx.execute(_PUT_DAYS, scope | _columns([key for key, _ in new]) | shown)
    write_person(tx, athlete_id, whole.memory.person, whole.last)
    lifts = {key.lift for key, _ in gone}
    for place, (_, kg) in new.items():
        if place not in before or abs(before[place][1] - kg) > _SAME_KG:
            lifts.add(place[0].lift)
    return lifts


def _alike(one: tuple[UUID, float] | None, other: tuple[UUID, float]) -> bool:
    return one is not None and one[0] == other[0] and abs(one[1] - other[1]) <= _SAME_KG


def _columns(keys: Sequence[Key]) -> dict[str, list[str]]:
    return {
        "lifts": [key.lift for key in keys],
        "classes": [key.support_class for key in keys],
        "stacks": [key.stack for key in keys],
    }
