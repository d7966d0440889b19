"""Slots that loads are computed for in another way than they are written: clusters, and loads that grow."""

from __future__ import annotations

from dataclasses import replace

from service.core.context import Context
from service.core.prescribe.add_load import rule_of
from service.core.prescribe.bounds import FREE, Bounds
from service.core.prescribe.grounds import ground
from service.core.prescribe.grown import Grown, grown, without_rule
from service.core.prescribe.parts import cluster_step, whole
from service.core.records import Override
from service.core.slots import Cluster, SetsAtTarget, Slot


def is_settled(slot: Slot) -> bool:
    """Whether a slot is computed as it is written: nearly all are."""
    scheme = slot.scheme
    return (type(scheme) is not SetsAtTarget or scheme.add_load is None) and type(scheme) is not Cluster


def settled(slot: Slot, ctx: Context, bounds: Bounds = FREE, *, fixed: Override | None = None) -> Grown:
    """A slot as its loads are computed today; a load that a coach has fixed goes before one that grows.

    Raises as `ground` and `aim` where a load that grows has no start.
    """
    if isinstance(slot.scheme, Cluster):
        slot = whole(slot)
        step = cluster_step(slot)
        return Grown(slot, steps=() if step is None else (step,))
    add = rule_of(slot)
    if add is None:
        return Grown(slot)
    if fixed is not None and fixed.load is not None:
        return Grown(without_rule(slot))
    return grown(ground(slot, ctx, bounds=bounds), add)


def whole_bounds(slot: Slot, bounds: Bounds) -> Bounds:
    """What is allowed in a slot, for the repetitions of whole sets where it is a cluster."""
    if bounds.single is None or not isinstance(slot.scheme, Cluster):
        return bounds
    return replace(bounds, single=bounds.single * slot.scheme.parts)
