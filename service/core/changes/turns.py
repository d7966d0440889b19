"""Slots that are done in turn, where some of them go."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from service.core.slots import Slot


def without(slots: tuple[Slot, ...], gone: Collection[int]) -> tuple[Slot, ...]:
    """Slots without some, by place from 0; of those that are done in turn, the last that is left ends the turn."""
    kept: list[Slot] = []
    turn: list[Slot] = []
    for place, slot in enumerate(slots):
        if place not in gone:
            turn.append(slot)
        if not slot.with_next:
            kept += [one if one.with_next else replace(one, with_next=True) for one in turn[:-1]]
            kept += [one if not one.with_next else replace(one, with_next=False) for one in turn[-1:]]
            turn = []
    return tuple(kept)
