"""Short ways to write slots, sessions and weeks, and to ask what is found in them."""

from __future__ import annotations

from typing import Any

from service.core.catalogue import BUILT_IN
from service.core.check.check import TemplateChecked, check
from service.core.check.finding import Finding
from service.core.context import Context
from service.core.slots import (
    BackOff,
    EffortTarget,
    PercentTarget,
    SameLoad,
    Scheme,
    SessionPlan,
    SetsAtTarget,
    Slot,
    Target,
    TopSet,
    WeekPlan,
)


def effort(reps: int, rpe: float, **more: Any) -> EffortTarget:
    return EffortTarget(reps=reps, rpe=rpe, **more)


def percent(reps: int, value: float, basis: Any = "tested", **more: Any) -> PercentTarget:
    return PercentTarget(reps=reps, percent=value, basis=basis, **more)


def slot(target: Target, scheme: Scheme | int = 3, lift: str = "squat", **more: Any) -> Slot:
    return Slot(
        lift=lift, scheme=SetsAtTarget(sets=scheme) if isinstance(scheme, int) else scheme, target=target, **more
    )


def back_off(sets: int, less: float = 8) -> TopSet:
    return TopSet(back_off=BackOff(sets=sets, less_percent=less))


def same_load(sets: int) -> TopSet:
    return TopSet(same_load=SameLoad(sets=sets))


def session(*slots: Slot, name: str = "A", **more: Any) -> SessionPlan:
    return SessionPlan(name=name, slots=slots, **more)


def week(*sessions: SessionPlan | Slot, **more: Any) -> WeekPlan:
    made = tuple(one if isinstance(one, SessionPlan) else session(one) for one in sessions)
    return WeekPlan(sessions=made, **more)


def checked(*weeks: WeekPlan | Slot, ctx: Context | None = None) -> TemplateChecked:
    """Weeks (a slot stands for a week of its own) against the built-in lifts."""
    made = tuple(one if isinstance(one, WeekPlan) else week(one) for one in weeks)
    return check(made, BUILT_IN if ctx is None else ctx.lifts, ctx=ctx)


def found(code: str, *weeks: WeekPlan | Slot, ctx: Context | None = None) -> list[Finding]:
    return [one for one in checked(*weeks, ctx=ctx).findings if one.code == code]


def levels(code: str, *weeks: WeekPlan | Slot, ctx: Context | None = None) -> list[str]:
    return [one.level for one in found(code, *weeks, ctx=ctx)]


HEAVY = slot(effort(3, 8), TopSet())
LIGHT = slot(percent(5, 60), 2)
