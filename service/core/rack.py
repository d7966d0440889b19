"""Loads of one lift at one place, asked for again and again while a dozen imagined sets are gone through."""

from __future__ import annotations

from service.core.grounds import Grounds, hang_under
from service.core.loading import Hung, smallest_step_kg
from service.core.records import Rounding
from service.core.units import Load


class Rack:
    """`hang_under` and `smallest_step_kg` for one slot, each question answered once. Kilograms are effective."""

    __slots__ = ("_hung", "_steps", "g")

    def __init__(self, g: Grounds) -> None:
        self.g = g
        self._hung: dict[tuple[float, Rounding | None, Load | None], Hung] = {}
        self._steps: dict[float, float | None] = {}

    def hang(self, kg: float, rounding: Rounding | None = None, below: Load | None = None) -> Hung:
        """The load that can be loaded for a mass; raises as `hang_under`. [kg]"""
        key = (kg, rounding, below)
        found = self._hung.get(key)
        if found is None:
            found = self._hung[key] = hang_under(self.g, kg, rounding=rounding, below=below)
        return found

    def step(self, kg: float) -> float | None:
        """How far the nearest other load is; None where there is none. [kg]"""
        if kg not in self._steps:
            g = self.g
            self._steps[kg] = smallest_step_kg(kg - g.body_kg, g.lift, g.ctx.kit, unit=g.unit)
        return self._steps[kg]
