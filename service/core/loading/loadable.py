"""What can be loaded for each load kind: the neighbours of a mass among the possible loads, and how each hangs.

Masses are whole grains (1e-11 kg) in the wire's meaning for the kind: the whole bar, one hand, added to body
weight (negative: assistance), the step of a machine.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Hashable
from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

from service.core.answers import BarLoading, BodyweightLoading, DumbbellLoading, Loading, PlateCount, StackLoading
from service.core.errors import NotComputable
from service.core.loading.kits import Place, bar_for, stack_for
from service.core.loading.plates import PER_THOUSANDTH, Pile, pile
from service.core.records import Kit, Lift, LoadKind, Stack
from service.core.units import Load, MassUnit, load

Around = tuple[int | None, int | None]

_ASSISTANCE: dict[MassUnit, int] = {"kg": 2500 * PER_THOUSANDTH["kg"], "lb": 5000 * PER_THOUSANDTH["lb"]}
"""Steps of assistance where no machine is listed for the lift (bands, a partner): common practice, no source."""


class Options(Hashable, Protocol):
    """All loads that are possible for a lift at a place; told apart by identity, for memos."""

    @property
    def unit(self) -> MassUnit:
        """In which they are shown."""

    def around(self, mass: int) -> Around:
        """Heaviest load that is not above, lightest that is not below; None where there is none [1e-11 kg]."""

    def lightest(self) -> int:
        """Mass of the lightest implement [1e-11 kg]."""

    def answer(self, mass: int, exact: int) -> Loading:
        """One of these loads, as it hangs, beside the exact one [1e-11 kg]."""


def in_unit(mass: int, unit: MassUnit) -> Load:
    """A mass in a unit, rounded to its thousandth [1e-11 kg]."""
    per = PER_THOUSANDTH[unit]
    return load((2 * mass + per) // (2 * per) / 1000, unit)


@lru_cache(maxsize=2048)
def shown(mass: int, unit: MassUnit) -> Load:
    """A mass in the unit asked for; in the other one where it is whole thousandths only there [1e-11 kg].

    So a 50 lb dumbbell stays 50 lb for a lifter who reads kilograms. What is whole in neither (a 20 kg bar with
    plates in pounds) is rounded to a thousandth of the unit asked for: less than half a gram off what hangs.
    """
    other: MassUnit = "lb" if unit == "kg" else "kg"
    whole_only_there = mass % PER_THOUSANDTH[unit] and not mass % PER_THOUSANDTH[other]
    return in_unit(mass, other if whole_only_there else unit)


def three(mass: int, exact: int, unit: MassUnit) -> tuple[Load, Load, Load]:
    """Exact load, load and their difference in one unit, so that they add up as shown [1e-11 kg]."""
    possible = shown(mass, unit)
    wanted = in_unit(exact, "lb" if possible.unit == "lb" else "kg")
    return wanted, possible, load(possible.value - wanted.value, possible.unit)


@lru_cache(maxsize=2048)
def _counts(hanging: Pile, mass: int) -> tuple[PlateCount, ...]:
    return tuple(PlateCount(p.load, count, p.colour, p.diameter_mm) for p, count in hanging.pieces(mass))


@dataclass(frozen=True, slots=True, eq=False)
class BarOptions:
    """A bar with pairs of plates. Collars come with the plates; the bar alone needs none."""

    bar: Load
    collars: Load
    pairs: Pile
    unit: MassUnit
    alone: int
    """The bar [1e-11 kg]."""
    base: int
    """The bar with its collars [1e-11 kg]."""

    def around(self, mass: int) -> Around:
        """See `Options`."""
        alone, base = self.alone, self.base
        low, high = self.pairs.around(mass - base)
        if low is not None:
            low += base
        elif mass >= alone:
            low = alone
        if mass <= alone:
            return low, alone
        return low, high if high is None else high + base

    def lightest(self) -> int:
        """See `Options`."""
        return self.alone

    def answer(self, mass: int, exact: int) -> Loading:
        """See `Options`."""
        wanted, possible, difference = three(mass, exact, self.unit)
        bare = mass == self.alone
        collars = load(0, self.collars.unit) if bare else self.collars
        plates = 0 if bare else mass - self.base
        return BarLoading(
            exact=wanted,
            load=possible,
            difference=difference,
            bar=self.bar,
            collars=collars,
            per_side=_counts(self.pairs, plates),
        )


@dataclass(frozen=True, slots=True, eq=False)
class DumbbellOptions:
    """Pairs of dumbbells, by the mass of one."""

    masses: tuple[int, ...]
    unit: MassUnit

    def around(self, mass: int) -> Around:
        """See `Options`."""
        return _neighbours(self.masses, mass)

    def lightest(self) -> int:
        """See `Options`."""
        return self.masses[0]

    def answer(self, mass: int, exact: int) -> Loading:
        """See `Options`."""
        wanted, possible, difference = three(mass, exact, self.unit)
        return DumbbellLoading(exact=wanted, load=possible, difference=difference)


@dataclass(frozen=True, slots=True, eq=False)
class StackOptions:
    """The listed steps of a machine that have masses."""

    steps: tuple[Load, ...]
    masses: tuple[int, ...]
    unit: MassUnit

    def around(self, mass: int) -> Around:
        """See `Options`."""
        return _neighbours(self.masses, mass)

    def lightest(self) -> int:
        """See `Options`."""
        return self.masses[0]

    def answer(self, mass: int, exact: int) -> Loading:
        """See `Options`."""
        wanted, possible, difference = three(mass, exact, self.unit)
        number = next(at for at, step in enumerate(self.steps, 1) if step.grains == mass)
        return StackLoading(exact=wanted, load=possible, difference=difference, number=number)


@dataclass(frozen=True, slots=True, eq=False)
class BodyweightOptions:
    """Plates on a belt, nothing, or assistance; body weight alone is always possible."""

    plates: Pile
    assistance: tuple[int, ...]
    """Of a machine, most assistance first, each negative. Empty: any multiple of a usual step."""
    unit: MassUnit

    def around(self, mass: int) -> Around:
        """See `Options`."""
        if mass >= 0:
            return self.plates.around(mass)
        if self.assistance:
            return _neighbours((*self.assistance, 0), mass)
        step = _ASSISTANCE[self.unit]
        return mass // step * step, -(-mass // step) * step

    def lightest(self) -> int:
        """The body alone: assistance is no load that one could start with [1e-11 kg]."""
        return 0

    def answer(self, mass: int, exact: int) -> Loading:
        """See `Options`."""
        wanted, possible, difference = three(mass, exact, self.unit)
        return BodyweightLoading(
            exact=wanted, load=possible, difference=difference, plates=_counts(self.plates, max(mass, 0))
        )


def _neighbours(masses: tuple[int, ...], mass: int) -> Around:
    below, above = bisect_right(masses, mass), bisect_left(masses, mass)
    return masses[below - 1] if below else None, masses[above] if above < len(masses) else None


def without_masses(stack: Stack) -> bool:
    """Whether a machine lists steps that say nothing about a mass."""
    return any(step.unit == "step" for step in stack.steps)


def options(lift: Lift, kit: Kit, unit: MassUnit, bar: str | None = None) -> Options:
    """What can be loaded for a lift at a place.

    Raises NotComputable: `no_load` (the lift is done without one), `no_bar`, `no_dumbbells`, `no_stack` (none
    there), `no_mass` (a machine whose steps say nothing about a mass).
    """
    if lift.load_kind == "none":
        raise NotComputable("no_load", f"{lift.name} is done without a load.")
    return options_at(Place(kit), lift.id, lift.load_kind, unit, bar)


@lru_cache(maxsize=256)
def options_at(place: Place, lift_id: str, load_kind: LoadKind, unit: MassUnit, bar: str | None = None) -> Options:
    """As `options`, remembered, for any load kind but `none`."""
    kit = place.kit
    if load_kind == "total":
        found, pairs = bar_for(kit, lift_id, name=bar).load, pile(kit.plates, pairs=True)
        return BarOptions(found, kit.collars, pairs, unit, found.grains, found.grains + kit.collars.grains)
    if load_kind == "per_hand":
        if not kit.dumbbells:
            raise NotComputable("no_dumbbells", "No dumbbells are listed for this place: add them.")
        return DumbbellOptions(tuple(sorted({one.grains for one in kit.dumbbells})), unit)
    if load_kind == "bodyweight":
        machines = (s for s in kit.stacks if lift_id in s.lifts and s.steps and not without_masses(s))
        steps = next((s.steps for s in machines), ())
        return BodyweightOptions(
            pile(kit.plates, pairs=False), tuple(sorted({-abs(s.grains) for s in steps} - {0})), unit
        )
    stack = stack_for(kit, lift_id)
    if without_masses(stack):
        raise NotComputable("no_mass", f"The steps of {stack.name} have no mass: go by step or by repetitions.")
    return StackOptions(stack.steps, tuple(sorted({step.grains for step in stack.steps})), unit)
