"""Zones of intensity, and the sums of a lift over a week or a session."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Zone = Literal["below_70", "from_70", "from_80", "from_90"]
BORDERS: tuple[tuple[float, Zone], ...] = ((90, "from_90"), (80, "from_80"), (70, "from_70"))
"""Where intensity zones begin (Hristov 2005; borders differ between copies). [%]"""
ZONES: tuple[Zone, ...] = ("below_70", "from_70", "from_80", "from_90")


@dataclass(slots=True)
class Total:
    """Sums of one lift over a week or a session, exact."""

    sets: int = 0
    reps: float = 0.0
    known_reps: float = 0.0
    volume: float = 0.0
    """Repetitions times intensity. [reps]"""
    zones: dict[Zone, float] = field(default_factory=dict)
    hard: int = 0
    nearly_hard: int = 0
    """Hard sets, and those at most a point easier: as far as an effort usually climbs from week to week."""
    rated: int = 0
    """Sets of which an effort is expected."""
    kg: float | None = None
    tested: bool = False
    """Whether a test or a meet is a part of it: what that asks for is no work that could have grown."""

    def add(self, other: Total) -> None:
        """Take another sum in."""
        self.sets += other.sets
        self.reps += other.reps
        self.known_reps += other.known_reps
        self.volume += other.volume
        self.hard += other.hard
        self.nearly_hard += other.nearly_hard
        self.rated += other.rated
        self.tested = self.tested or other.tested
        for zone, reps in other.zones.items():
            self.zones[zone] = self.zones.get(zone, 0.0) + reps
        if other.kg is not None:
            self.kg = (self.kg or 0.0) + other.kg


def zone_of(percent: float) -> Zone:
    """The zone of an intensity. [%]

    >>> zone_of(69.9), zone_of(70), zone_of(89.9), zone_of(104)
    ('below_70', 'from_70', 'from_80', 'from_90')
    """
    near = percent + 1e-9
    for border, zone in BORDERS:
        if near >= border:
            return zone
    return "below_70"
