"""From what hangs on a bar now to what shall hang: what to take off and what to put on."""

from __future__ import annotations

from dataclasses import dataclass

from service.core.answers import BarLoading, PlateCount
from service.core.loading.loading import plate_list


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateChange:
    """What to change on each side of a bar."""

    take_off: tuple[PlateCount, ...]
    """On each side, outermost first: the order in which they come off."""
    put_on: tuple[PlateCount, ...]
    """On each side, innermost first: the order in which they go on."""
    moved: int
    """Plates handled, both sides together."""
    text: str


def plate_changes(now: tuple[PlateCount, ...], then: BarLoading) -> PlateChange:
    """The change from `now` (each side, from the inside outwards) to a loading.

    A bar is loaded from the inside outwards, the heaviest plate first. Plates stay as far as both agree from the
    inside; everything outside the first difference has to come off. Plates are compared by their mass.
    """
    old, new = _single(now), _single(then.per_side)
    kept = 0
    while kept < min(len(old), len(new)) and old[kept].plate.grains == new[kept].plate.grains:
        kept += 1
    take_off, put_on = _counted(old[kept:][::-1]), _counted(new[kept:])
    return PlateChange(
        take_off=take_off,
        put_on=put_on,
        moved=2 * (len(old) + len(new) - 2 * kept),
        text=_say(take_off, put_on, kept, then),
    )


def _single(plates: tuple[PlateCount, ...]) -> list[PlateCount]:
    return [PlateCount(one.plate, 1, one.colour, one.diameter_mm) for one in plates for _ in range(one.count)]


def _counted(single: list[PlateCount]) -> tuple[PlateCount, ...]:
    """Equal neighbours as one, the order kept."""
    counted: list[PlateCount] = []
    for one in single:
        last = counted[-1] if counted else None
        if last and (last.plate, last.colour, last.diameter_mm) == (one.plate, one.colour, one.diameter_mm):
            counted[-1] = PlateCount(last.plate, last.count + 1, last.colour, last.diameter_mm)
        else:
            counted.append(one)
    return tuple(counted)


def _say(take_off: tuple[PlateCount, ...], put_on: tuple[PlateCount, ...], kept: int, then: BarLoading) -> str:
    if not take_off and not put_on:
        return "Leave the bar as it is."
    parts = []
    mixed = any(one.plate.unit != then.load.unit for one in (*take_off, *put_on))  # then both parts name their units
    if take_off:
        everything = "" if kept else "everything: "
        parts.append(f"take off {everything}{plate_list(take_off, None if mixed else then.load)}")
    if put_on:
        parts.append(f"put on {plate_list(put_on, None if mixed else then.load)}")
    return f"Each side: {'; then '.join(parts)}."
