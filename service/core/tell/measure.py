"""Masses of the model as a lifter reads them: in the unit of the answer, and without the body."""

from __future__ import annotations

from dataclasses import dataclass

from service.core.answers import LoadRange, Named
from service.core.model.levels import Ranged
from service.core.records import Lift
from service.core.units import Load, MassUnit, load
from service.core.words import in_unit, number


@dataclass(frozen=True, slots=True)
class Measure:
    """How one lift's effective masses are shown."""

    lift: Lift
    unit: MassUnit
    body_kg: float = 0.0
    """What an effective mass holds beyond the load of the wire: 0 but for `bodyweight`. [kg]"""

    def load(self, kg: float, decimals: int = 3) -> Load:
        """An effective mass as the lift's load is meant. [kg]"""
        return load(in_unit(kg - self.body_kg, self.unit, decimals), self.unit)

    def range(self, known: Ranged, level: float = 0.8) -> LoadRange:
        """An effective range as the lift's load is meant."""
        return LoadRange(self.load(known.low, 1), self.load(known.high, 1), level)

    def value(self, kg: float) -> float:
        """The number that sentences have, to a tenth. [kg]"""
        return float(in_unit(kg - self.body_kg, self.unit, 1))

    def say(self, kg: float) -> str:
        """A max in words. [kg]

        >>> from service.core.catalogue import BUILT_IN
        >>> Measure(BUILT_IN["pull-up"], "kg", 80.0).say(100), Measure(BUILT_IN["squat"], "kg").say(152.12)
        ('20 kg added', '152.1 kg')
        """
        value = self.value(kg)
        if self.lift.load_kind != "bodyweight":
            return f"{number(value)} {self.unit}" + (" in each hand" if self.lift.load_kind == "per_hand" else "")
        if value < 0:
            return f"{number(-value)} {self.unit} of assistance"
        return f"{number(value)} {self.unit} added" if value else "body weight"

    def span(self, known: Ranged) -> str:
        """A range in words: `132.1 to 170.3 kg`; with assistance, each end by itself."""
        if self.lift.load_kind == "bodyweight" and self.value(known.low) <= 0:
            return f"{self.say(known.low)} to {self.say(known.high)}"
        return f"{number(self.value(known.low))} to {self.say(known.high)}"

    def named(self, name: str, kg: float) -> Named:
        """An effective mass as a named number, as it is said. [kg]"""
        return Named(name, in_unit(kg - self.body_kg, self.unit, 1), self.unit)
