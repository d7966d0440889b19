"""Repetitions a set and a session against the published table of zones; it comes from weightlifting: notes only."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.core.check.analysis import SlotRead
from service.core.check.finding import Finding, Remark
from service.core.check.intensity import broken
from service.core.check.total import Zone, zone_of
from service.core.plan.families import is_pull
from service.core.records import Lift
from service.core.words import number

SOURCE = "Hristov 2005; Laputin & Oleshko 1982: from weightlifting, and zone borders differ between copies"
LOWEST = 55
"""Lighter than anything the table is about. [%]"""


@dataclass(frozen=True, slots=True)
class Published:
    """A row of the table."""

    words: str
    fewest: int
    most: int
    """Repetitions a set. [reps]"""
    low: int
    high: int
    """All repetitions of a lift in a session. [reps]"""
    best: int


TABLE: dict[Zone, Published] = {
    "below_70": Published("below 70 %", 3, 6, 18, 30, 24),
    "from_70": Published("at 70 to 79 %", 3, 6, 12, 24, 18),
    "from_80": Published("at 80 to 89 %", 2, 4, 10, 20, 15),
    "from_90": Published("at 90 % and above", 1, 2, 4, 10, 7),
}


def of_slot(one: SlotRead, lift: Lift) -> Iterator[Remark]:
    """Sets with more or fewer repetitions than the table has for their intensity."""
    if _left_out(one, lift):
        return
    told: set[tuple[float, Zone]] = set()
    for each in one.seen.sets:
        percent = one.seen.percent(each)
        if percent is None or percent < LOWEST or each.reps is None or each.role == "open_set":
            continue
        zone = zone_of(percent)
        row = TABLE[zone]
        if row.fewest <= each.reps <= row.most or (each.reps, zone) in told:
            continue
        told.add((each.reps, zone))
        text = (
            f"The {lift.name.lower()} has sets of {number(each.reps)} {row.words}: the table for weightlifters has "
            f"{row.fewest} to {row.most} a set."
        )
        yield Remark("note", "repetitions_of_set", text, SOURCE)


def of_session(
    slots: Sequence[SlotRead], lifts: Mapping[str, Lift], pointer: str, *, lighter: bool
) -> Iterator[Finding]:
    """More or fewer repetitions of a lift in a zone than the table has for a session.

    Too few are told only where all of the lift's repetitions are in the zone, and not in a lighter week.
    """
    by_lift: dict[str, dict[Zone | None, float]] = {}
    for one in slots:
        word = one.seen.slot.lift
        lift = lifts.get(word)
        if lift is None or _left_out(one, lift):
            continue
        zones = by_lift.setdefault(word, {})
        for each in one.seen.sets:
            percent = one.seen.percent(each)
            if each.reps is not None:
                zone = None if percent is None or percent < LOWEST else zone_of(percent)
                zones[zone] = zones.get(zone, 0.0) + each.reps
    for word, zones in by_lift.items():
        for zone, reps in zones.items():
            row = None if zone is None else TABLE[zone]
            if row is None or (reps <= row.high and (reps >= row.low or len(zones) > 1 or lighter)):
                continue
            text = (
                f"The {lifts[word].name.lower()} has {number(reps)} repetitions {row.words} in one session: the table "
                f"for weightlifters has {row.low} to {row.high}, best about {row.best}."
            )
            yield Finding("note", "repetitions_of_session", text, SOURCE, pointer, word)


def _left_out(one: SlotRead, lift: Lift) -> bool:
    """Supporting work, pulls (their percentages are of another lift) and what breaks the curve."""
    slot = one.seen.slot
    return slot.accessory or is_pull(lift) or broken(slot)
