"""Situations that the tests of adjusting share."""

from typing import Any

from service.core.adjust.adjust import next_set
from service.core.answers import LiftDone, NextSet
from service.core.records import DoneSet
from service.core.slots import BackOff, SetsAtTarget, TopSet
from service.core.units import load
from tests.core.plans import context, effort, known, slot

SQUAT = context(known("squat", 150))
TOP = slot(effort(3, 7.5), TopSet(back_off=BackOff(sets=2, less_percent=8)))
FIVES = slot(effort(5, 8), SetsAtTarget(sets=4))
PRESS = context(known("press", 40))
PRESSES = slot(effort(5, 8), SetsAtTarget(sets=3), "press")


def done(role: Any, value: float | None, reps: int, lift: str = "squat", unit: Any = "kg", **said: Any) -> DoneSet:
    return DoneSet(lift=lift, role=role, load=None if value is None else load(value, unit), reps=reps, **said)


def missed(role: Any, value: float, reps: int, lift: str = "squat") -> DoneSet:
    return done(role, value, reps, lift, made=False, ended_by="strength")


def after(*sets: DoneSet, on: Any = TOP, ctx: Any = SQUAT) -> NextSet:
    found = next_set(on, ctx, sets)
    assert isinstance(found, NextSet), found
    return found


def ended(*sets: DoneSet, on: Any = TOP, ctx: Any = SQUAT) -> LiftDone:
    found = next_set(on, ctx, sets)
    assert isinstance(found, LiftDone), found
    return found


def what(found: NextSet) -> tuple[Any, ...]:
    return found.role, found.load.value if found.load else None, found.reps
