"""A cap of a percentage as a load: of which max it is, and what that comes to on the wire."""

from __future__ import annotations

from math import floor

from service.core.answers import Named
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.estimate.rolling import support_class
from service.core.prescribe.basis import find_max
from service.core.prescribe.bounds import HELD_PERCENT, Bounds
from service.core.records import Lift
from service.core.slots import PercentTarget, Slot
from service.core.units import KG_PER, Load, MassUnit, tidy
from service.core.units import load as make_load


def strictest(one: Load | None, other: Load | None) -> Load | None:
    """The lighter of two bounds, the first of equals; None bounds nothing, a step stands beside steps only."""
    if one is None or other is None:
        return other if one is None else one
    if (one.unit == "step") != (other.unit == "step"):
        return one
    size = (one.value, other.value) if one.unit == "step" else (one.grains, other.grains)
    return other if size[1] < size[0] else one


def percent_cap(
    slot: Slot, ctx: Context, lift: Lift, bounds: Bounds, able_kg: float | None, body_kg: float
) -> tuple[Load, Named] | None:
    """What a cap of a percentage allows on the wire, and the max that it is of; None without such a cap. [kg]

    Of a percentage it is of that one's basis, else of the max that efforts are read by. Technique lifts have no
    efforts: where maximal work waits for an approval they stay at `HELD_PERCENT`. Raises NotComputable (`no_max`)
    where a coach's cap is of a max that nobody knows.
    """
    held = bounds.held and lift.technique
    ends = [one for one in (bounds.percent, HELD_PERCENT if held else None) if one is not None]
    if not ends:
        return None
    try:
        kg = _max_of(slot, ctx, able_kg)
    except NotComputable:
        if bounds.percent is None:
            return None
        raise
    unit = ctx.unit
    return _shown(kg * min(ends) / 100 - body_kg, unit), Named("max", tidy(kg / KG_PER[unit]), unit)


def _max_of(slot: Slot, ctx: Context, able_kg: float | None) -> float:
    target, support = slot.target, support_class(slot.support)
    if isinstance(target, PercentTarget):
        days = target.valid_days
        return find_max(target.of or slot.lift, ctx, basis=target.basis, support=support, valid_days=days).kg
    return able_kg if able_kg is not None else find_max(slot.lift, ctx, support=support).kg


def _shown(kg: float, unit: MassUnit) -> Load:
    """A bound as it is, or as it is shown, to a tenth: whoever sees 90 % of 100 kg may lift the 90 kg. [kg]"""
    exact, shown = not_above(kg, unit), make_load(tidy(kg / KG_PER[unit], 1), unit)
    return shown if shown.grains > exact.grains else exact


def not_above(kg: float, unit: MassUnit) -> Load:
    """The heaviest load of the wire that is not above a mass. [kg]

    >>> not_above(100.0009, "kg").value, not_above(100, "lb").value
    (100, 220.462)
    """
    return make_load(tidy(floor(kg / KG_PER[unit] * 1000 + 1e-6) / 1000), unit)
