"""What stays the same in the weeks of a part, and the numbers that may change."""

from __future__ import annotations

from dataclasses import replace

from service.core.progressions.chosen import Spot
from service.core.progressions.numbers import MEMBERS, Member, thousandths, value_of
from service.core.slots import (
    Cluster,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    Scheme,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
    WeekPlan,
)

Key = tuple[Spot, Member]


def shape_of(week: WeekPlan) -> tuple[object, ...]:
    """Everything of a week but its name, whether it is lighter, and numbers that progressions may change."""
    sessions = tuple(
        (session.name, session.kind, session.note, tuple([_slot(slot) for slot in session.slots]))
        for session in week.sessions
    )
    return week.note, sessions


def numbers_of(week: WeekPlan) -> tuple[list[Key], list[int]]:
    """Which numbers a week has and what they are; weeks of one shape have the same ones. [thousandths]"""
    keys: list[Key] = []
    values: list[int] = []
    for s, session in enumerate(week.sessions):
        for i, slot in enumerate(session.slots):
            for member in MEMBERS:
                value = value_of(slot, member)
                if value is not None:
                    keys.append(((s, i), member))
                    values.append(thousandths(value))
    return keys, values


def _slot(slot: Slot) -> tuple[object, ...]:
    fixed = isinstance(slot.scheme, Ladder | MaxTest)
    return (
        slot.lift,
        _scheme(slot.scheme),
        slot.target if fixed else _target(slot.target),
        slot.tempo,
        slot.rest_seconds is None,
        slot.note,
        slot.accessory,
        slot.optional,
        slot.with_next,
        slot.support,
        slot.complex,
        slot.priority,
    )


def _scheme(scheme: Scheme) -> object:
    if isinstance(scheme, SetsAtTarget):
        return scheme.kind, None if scheme.add_load is None else replace(scheme.add_load, lighter_percent=None)
    if isinstance(scheme, Cluster):
        return scheme.kind, scheme.parts, scheme.rest_seconds
    if isinstance(scheme, OpenLastSet):
        return scheme.kind, scheme.most_reps, scheme.stop_rpe is None
    if not isinstance(scheme, TopSet):
        return scheme
    off, up = scheme.back_off, scheme.build_up
    return (
        scheme.kind,
        None if off is None else (off.until_rpe is None, off.fewest is None),
        scheme.same_load is None,
        None if up is None else (up.percents, len(up.rpes or ()), up.reps),
    )


def _target(target: Target) -> object:
    if isinstance(target, EffortTarget):
        return target.kind, target.reps_to is None, target.rpe is None
    if isinstance(target, PercentTarget):
        ends = target.reps_to is None, target.percent_to is None
        return target.kind, *ends, target.basis, target.valid_days, target.of
    if isinstance(target, FreeTarget):
        return target.kind, target.reps is None, target.reps_to is None
    if isinstance(target, LoadTarget):
        return target.kind, target.reps_to is None, target.load.unit
    if isinstance(target, TimeTarget | DistanceTarget):
        return target.kind, None if target.load is None else target.load.unit
    raise AssertionError(target)
