"""What of a session matters least: it goes first where the time is short, and where accessories are trimmed."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from service.core.slots import Slot

MAIN, ACCESSORY, OPTIONAL = 3, 6, 8
"""Priorities of slots where the coach states none; 1 stays longest. Ours."""


def priority_of(slot: Slot) -> int:
    """A slot's priority: the coach's, else 3 for main work, 6 for accessories, 8 for what is optional."""
    if slot.priority is not None:
        return slot.priority
    return OPTIONAL if slot.optional else ACCESSORY if slot.accessory else MAIN


def least_first(slots: Sequence[Slot], places: Collection[int]) -> list[int]:
    """Places of a session's slots, from 0, in the order in which they go: the highest priority number first.

    Of slots with one priority the later one goes first.

    >>> from service.core.slots import FreeTarget, SetsAtTarget
    >>> row = Slot(lift="row", scheme=SetsAtTarget(sets=3), target=FreeTarget(), accessory=True)
    >>> first = Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=FreeTarget())
    >>> least_first([first, row, row], range(3))
    [2, 1, 0]
    """
    return sorted(places, key=lambda place: (priority_of(slots[place]), place), reverse=True)
