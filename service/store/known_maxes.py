"""Which maxes are in force on a day: those entered, the days' estimates, and what the log says."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Date, Numeric, Text, bindparam, case, cast, literal, null, select, union_all
from sqlalchemy import Uuid as UuidType
from sqlalchemy.dialects.postgresql import distinct_on

from service.core.records import KnownMax
from service.store.session import Tx
from service.store.tables import body_weights, day_estimates, lift_states, lifts, maxes

DAYS_BACK = 14
"""A day's estimate serves for at most so many days, its own included. [days]"""

_GYM, _ATHLETE = bindparam("gym", type_=UuidType), bindparam("athlete", type_=UuidType)
_ON, _SINCE = bindparam("on", type_=Date), bindparam("since", type_=Date)


def _statement() -> Any:
    each = (maxes.c.lift, maxes.c.kind, maxes.c.support_class)
    newest = (
        select(*each, maxes.c.load_kg, maxes.c.date, maxes.c.source)
        .where(maxes.c.gym_id == _GYM, maxes.c.athlete_id == _ATHLETE, maxes.c.date <= _ON)
        .ext(distinct_on(*each))
        .order_by(*each, maxes.c.date.desc(), maxes.c.id.desc())
        .subquery()
    )
    body_kg = (
        select(body_weights.c.load_kg)
        .where(body_weights.c.gym_id == _GYM, body_weights.c.athlete_id == _ATHLETE)
        .where(body_weights.c.date <= newest.c.date)
        .order_by(body_weights.c.date.desc())
        .limit(1)
        .scalar_subquery()
    )
    entered = select(
        newest.c.lift,
        newest.c.kind.label("basis"),
        newest.c.support_class,
        literal("").label("stack"),
        newest.c.date,
        (newest.c.load_kg + case((lifts.c.load_kind == "bodyweight", body_kg), else_=0)).label("kg"),
        newest.c.source,
        cast(null(), Numeric).label("before"),
    ).join_from(newest, lifts, (lifts.c.gym_id == _GYM) & (lifts.c.id == newest.c.lift))
    days = select(
        day_estimates.c.lift,
        literal("day").label("basis"),
        day_estimates.c.support_class,
        day_estimates.c.stack,
        day_estimates.c.date,
        day_estimates.c.effective_kg.label("kg"),
        cast(null(), Text).label("source"),
        cast(null(), Numeric).label("before"),
    ).where(
        day_estimates.c.gym_id == _GYM,
        day_estimates.c.athlete_id == _ATHLETE,
        day_estimates.c.date > _SINCE,
        day_estimates.c.date <= _ON,
    )
    log = lift_states.c.body
    rolling = select(
        lift_states.c.lift,
        literal("rolling").label("basis"),
        lift_states.c.support_class,
        lift_states.c.stack,
        cast(log["day"].as_string(), Date).label("date"),
        cast(log["value"].as_string(), Numeric).label("kg"),
        cast(null(), Text).label("source"),
        cast(log["value_before"].as_string(), Numeric).label("before"),
    ).where(lift_states.c.gym_id == _GYM, lift_states.c.athlete_id == _ATHLETE, log["value"].as_string().is_not(None))
    return union_all(entered, days, rolling)


KNOWN = _statement()
SOURCES = {"day": "the day's heavy set", "rolling": "the log"}


def known(
    tx: Tx,
    athlete_id: UUID,
    on: date,
    *,
    stacks: Mapping[str, str] | None = None,
    without_that_day_of: Collection[str] = (),
) -> list[KnownMax]:
    """Return the maxes of an athlete that count on a day, effective, in one statement.

    Parameters
    ----------
    tx : Tx
        The transaction.
    athlete_id : UUID
        Whose.
    on : date
        The athlete's day.
    stacks : mapping of str to str, optional
        For lifts on machines, which machine: estimates made on others do not count.
    without_that_day_of : collection of str
        Lifts whose estimates stand as before the first set of that day.

    Returns
    -------
    list of KnownMax
        The newest tested and training max for each lift and support class, the day's estimates of the last 14 days,
        and the rolling averages. Maxes of `bodyweight` lifts contain the latest body weight on or before their date;
        without one they are left out.
    """
    values = {"gym": tx.gym, "athlete": athlete_id, "on": on, "since": on - timedelta(days=DAYS_BACK)}
    found = []
    for row in tx.execute(KNOWN, values):
        kg = row.kg
        if row.stack != (stacks or {}).get(row.lift, "") and row.basis in SOURCES:
            continue
        if row.date == on and row.lift in without_that_day_of and row.basis in SOURCES:
            kg = row.before
        if kg is None or row.date > on:
            continue
        source = SOURCES.get(row.basis) or row.source or row.basis
        found.append(
            KnownMax(
                lift=row.lift, basis=row.basis, kg=float(kg), on=row.date, source=source, support=row.support_class
            )
        )
    return found
