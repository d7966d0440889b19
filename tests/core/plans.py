"""Contexts and slots that the tests of prescribing share, and a reader of numbers in sentences."""

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from service.core.answers import PrescribedSet, ResolvedSlot, Step
from service.core.context import Context
from service.core.loading.kits import default_kit
from service.core.records import KnownMax, Lift, LoadKind, Settings, Stack
from service.core.slots import Basis, EffortTarget, PercentTarget, Slot, TopSet
from service.core.units import MassUnit, load

TODAY = date(2026, 11, 25)

KINDS: dict[str, LoadKind] = {
    "squat": "total",
    "press": "total",
    "dumbbell-press": "per_hand",
    "dip": "bodyweight",
    "leg-press": "stack",
    "cable": "stack",
    "plank": "none",
}
LIFTS = {lift: Lift(id=lift, name=lift.replace("-", " ").capitalize(), load_kind=kind) for lift, kind in KINDS.items()}
LIFTS["snatch"] = Lift(id="snatch", name="Snatch", load_kind="total", technique=True)
LIFTS["pause-squat"] = Lift(
    id="pause-squat", name="Pause squat", load_kind="total", based_on="squat", ratio=0.92, ratio_source="the coach"
)
LIFTS["tempo-pause-squat"] = Lift(
    id="tempo-pause-squat", name="Tempo pause squat", load_kind="total", based_on="pause-squat", ratio=0.95
)
CABLE = Stack(name="cable tower", lifts=("cable",), steps=tuple(load(n, "step") for n in range(1, 16)))


def known(lift: str, kg: float, basis: Basis = "tested", *, days: int = 0, **more: Any) -> KnownMax:
    return KnownMax(lift=lift, basis=basis, kg=kg, on=TODAY - timedelta(days=days), source="entered", **more)


def pinned(**more: Any) -> Settings:
    """Settings of an athlete whose coach has pinned the default curve."""
    return Settings(**{"curve": "default", **more})


def context(*maxes: KnownMax, unit: MassUnit = "kg", **more: Any) -> Context:
    """A context whose coach has pinned the default curve."""
    kit = default_kit(unit)
    values = {"settings": pinned(), "kit": replace(kit, stacks=(CABLE, *kit.stacks)), "body_weight_kg": 80.0, **more}
    return Context(on=TODAY, unit=unit, maxes=maxes, **{"lifts": LIFTS, **values})


def effort(reps: int = 3, rpe: float | None = 7.5, **more: Any) -> EffortTarget:
    return EffortTarget(reps=reps, rpe=None if "rir" in more else rpe, **more)


def percent(value: float, basis: Basis = "tested", reps: int = 3, **more: Any) -> PercentTarget:
    return PercentTarget(reps=reps, percent=value, basis=basis, **more)


def slot(target: Any = None, scheme: Any = None, lift: str = "squat", **more: Any) -> Slot:
    return Slot(lift=lift, scheme=scheme or TopSet(), target=target or effort(), **more)


def values(sets: tuple[PrescribedSet, ...], role: str) -> list[float | None]:
    return [None if one.load is None else one.load.value for one in sets if one.role == role]


def only(resolved: ResolvedSlot, role: str) -> PrescribedSet:
    (found,) = (one for one in resolved.sets if one.role == role)
    return found


def unexplained(step: Step) -> Iterator[str]:
    """Numbers of a step's sentence that are neither an input nor the result, at the precision printed.

    What is quoted (a lift's or a source's own words) is left out.
    """
    named = [abs(float(one.value)) for one in (*step.inputs, *([step.result] if step.result else []))]
    for printed in re.findall(r"\d+(?:\.\d+)?", re.sub("“[^”]*”", "", step.text)):
        decimals = len(printed.partition(".")[2])
        half = 0.5000001 * 10**-decimals
        if not any(abs(value - float(printed)) <= half for value in named):
            yield printed
