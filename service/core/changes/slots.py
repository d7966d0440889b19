"""Operations on numbers of slots: set counts, efforts, percentages."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from service.core.changes import pick
from service.core.changes.operations import (
    AtLimit,
    Changed,
    ScaleSets,
    ShiftEffort,
    ShiftPercent,
    in_place,
)
from service.core.progressions.members import eased, scaled
from service.core.progressions.numbers import LIMITS, Limit, checked
from service.core.records import Lift
from service.core.slots import (
    BackOff,
    BuildUp,
    EffortTarget,
    OpenLastSet,
    PercentTarget,
    Scheme,
    SetsAtTarget,
    Slot,
    Target,
    TopSet,
    WeekPlan,
)
from service.core.slots import Cluster as ClusterSets
from service.core.units import Number
from service.core.words import number, plural

Weeks = tuple[WeekPlan, ...]


def scale_sets(weeks: Weeks, operation: ScaleSets, lifts: Mapping[str, Lift]) -> Changed:
    """Set counts times a percentage."""
    change = _within(operation.at_limit, lambda slot: scaled(slot, operation.percent))
    made = pick.changed(weeks, operation.which, _has_sets, change, "/percent", lifts)
    return in_place(made, f"Sets scaled to {number(operation.percent, 3)} %{pick.said(operation.which, lifts)}")


def shift_effort(weeks: Weeks, operation: ShiftEffort, lifts: Mapping[str, Lift]) -> Changed:
    """Efforts harder or easier."""
    points = operation.rpe_points
    change = _within(operation.at_limit, lambda slot: eased(slot, rpe_points=points))
    made = pick.changed(weeks, operation.which, _has_effort, change, "/rpe_points", lifts)
    told = f"Efforts {plural(abs(points), 'RPE point')} {'harder' if points > 0 else 'easier'}"
    return in_place(made, told + pick.said(operation.which, lifts))


def shift_percent(weeks: Weeks, operation: ShiftPercent, lifts: Mapping[str, Lift]) -> Changed:
    """Percentages up or down."""
    points = operation.percent_points
    change = _within(operation.at_limit, lambda slot: eased(slot, percent_points=points))
    made = pick.changed(weeks, operation.which, _has_percent, change, "/percent_points", lifts)
    by = f"{number(abs(points), 3)} {'point' if abs(points) == 1 else 'points'}"
    told = f"Percentages {by} {'higher' if points > 0 else 'lower'}"
    return in_place(made, told + pick.said(operation.which, lifts))


def _within(at_limit: AtLimit, change: Callable[[Slot], Slot]) -> Callable[[Slot], Slot]:
    """The change with what leaves its limits refused, or held at them."""
    hold = _held if at_limit == "hold" else checked
    return lambda slot: hold(change(slot))


def _held(slot: Slot) -> Slot:
    """The slot with each number that these operations move held within its limits."""
    return replace(slot, scheme=_held_scheme(slot.scheme), target=_held_target(slot.target))


def _held_target(target: Target) -> Target:
    if isinstance(target, EffortTarget):
        return replace(target, rpe=_hold(LIMITS["rpe"], target.rpe), rir=_hold(LIMITS["rir"], target.rir))
    if isinstance(target, PercentTarget):
        percent, to = _held_to(LIMITS["percent"], target.percent), _hold(LIMITS["percent"], target.percent_to)
        return replace(target, percent=percent, percent_to=to)
    return target


def _held_scheme(scheme: Scheme) -> Scheme:
    sets, rpe = LIMITS["sets"], LIMITS["rpe"]
    if isinstance(scheme, SetsAtTarget | ClusterSets):
        return replace(scheme, sets=min(scheme.sets, int(sets.high)))
    if isinstance(scheme, OpenLastSet):
        before = min(scheme.sets_before, int(sets.high))
        return replace(scheme, sets_before=before, stop_rpe=_hold(rpe, scheme.stop_rpe))
    if not isinstance(scheme, TopSet):
        return scheme
    off, same, up = scheme.back_off, scheme.same_load, scheme.build_up
    return replace(
        scheme,
        back_off=None if off is None else _held_back_off(off),
        same_load=None if same is None else replace(same, sets=min(same.sets, int(LIMITS["same_load_sets"].high))),
        build_up=None if up is None else _held_build_up(up),
    )


def _held_back_off(off: BackOff) -> BackOff:
    counts = LIMITS["back_off_sets"]

    def held(count: int | None) -> int | None:
        return None if count is None else min(count, int(counts.high))

    return replace(
        off,
        sets=held(off.sets),
        fewest=held(off.fewest),
        most=held(off.most),
        until_rpe=_hold(LIMITS["rpe"], off.until_rpe),
    )


def _held_build_up(up: BuildUp) -> BuildUp:
    """Efforts that rise from set to set: of those held at one limit, one is left."""
    if up.rpes is None:
        return up
    return replace(up, rpes=tuple(sorted({_held_to(LIMITS["rpe"], one) for one in up.rpes})))


def _hold(limit: Limit, value: Number | None) -> Number | None:
    return None if value is None else _held_to(limit, value)


def _held_to(limit: Limit, value: Number) -> Number:
    return min(max(value, limit.low), limit.high)


def _has_sets(slot: Slot) -> bool:
    return scaled(slot, 200) != slot


def _has_effort(slot: Slot) -> bool:
    return eased(slot, rpe_points=0.5) is not slot


def _has_percent(slot: Slot) -> bool:
    return isinstance(slot.target, PercentTarget)
