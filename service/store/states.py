"""What logged sets have shown of each lift: the moving average, and the max of each day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import bindparam, delete, insert, select

from service.core.estimate.rolling import RollingState
from service.store.session import Tx
from service.store.tables import athlete_states, day_estimates, lift_states


@dataclass(frozen=True, slots=True)
class Key:
    """What a max belongs to: a lift, a class of support, and for machines the stack (else empty)."""

    lift: str
    support_class: str
    stack: str


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimates:
    """All that is known of one lift, class of support and stack."""

    state: LiftState | None
    days: tuple[DaySource, ...]


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
_ROLLING = select(lift_states.c.lift, lift_states.c.support_class, lift_states.c.stack, lift_states.c.body).where(
    lift_states.c.gym_id == bindparam("gym"), lift_states.c.athlete_id == bindparam("athlete")
)
_DAYS = select(
    day_estimates.c.lift,
    day_estimates.c.support_class,
    day_estimates.c.stack,
    day_estimates.c.date,
    day_estimates.c.effective_kg,
).where(day_estimates.c.gym_id == bindparam("gym"), day_estimates.c.athlete_id == bindparam("athlete"))


def lock(tx: Tx, athlete_id: UUID) -> None:
    """Wait for, and keep until the commit, the one lock under which an athlete's sets are written."""
    tx.execute(LOCK, {"gym": tx.gym, "athlete": athlete_id}).one_or_none()


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


def rewrite(tx: Tx, athlete_id: UUID, lifts: set[str] | None, found: dict[Key, Estimates]) -> set[str]:
    """Replace what is stored of some lifts (None: all); return the lifts whose day estimates are others now.

    The caller holds the lock.
    """
    of_lifts = {"gym": tx.gym, "athlete": athlete_id}
    before = {
        (Key(r.lift, r.support_class, r.stack), r.date, round(float(r.effective_kg), 9))
        for r in tx.execute(_DAYS if lifts is None else _DAYS.where(day_estimates.c.lift.in_(lifts)), of_lifts)
    }
    for table in (lift_states, day_estimates):
        gone = delete(table).where(table.c.gym_id == tx.gym, table.c.athlete_id == athlete_id)
        tx.execute(gone if lifts is None else gone.where(table.c.lift.in_(lifts)))
    states, days_, after = [], [], set()
    for key, estimates in found.items():
        row = {
            "gym_id": tx.gym,
            "athlete_id": athlete_id,
            "lift": key.lift,
            "support_class": key.support_class,
            "stack": key.stack,
        }
        if estimates.state is not None:
            states.append(row | {"body": STORED.dump_python(_stored(estimates.state), mode="json")})
        for day in estimates.days:
            after.add((key, day.date, round(day.effective_kg, 9)))
            days_.append(row | {"date": day.date, "set_id": day.set_id, "effective_kg": day.effective_kg})
    if states:
        tx.execute(insert(lift_states), states)
    if days_:
        tx.execute(insert(day_estimates), days_)
    return {key.lift for key, _, _ in before ^ after}
