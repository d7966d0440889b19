"""Loads of one lift at one place, asked for again and again while a dozen imagined sets are gone through."""

from __future__ import annotations

from service.core.loading.loadable import Options
from service.core.loading.loading import Hung, hung_among, smallest_step_kg
from service.core.prescribe.grounds import Grounds, hang_under
from service.core.records import Rounding
from service.core.units import Load


class Rack:
    """`hang_under` and `smallest_step_kg` for one slot. Kilograms are effective."""

    __slots__ = ("_plain", "_possible", "_steps", "g")

    def __init__(self, g: Grounds) -> None:
        self.g = g
        self._plain = g.cap is None and g.light_bar is None
        self._possible: Options | None = None
        self._steps: dict[float, float | None] = {}

    def hang(self, kg: float, rounding: Rounding | None = None, below: Load | None = None) -> Hung:
        """The load that can be loaded for a mass; raises as `hang_under`. [kg]"""
        g = self.g
        if below is not None or not self._plain:
            return hang_under(g, kg, rounding=rounding, below=below)
        if self._possible is None:
            self._possible = g.options(g.ctx.kit)
        return hung_among(self._possible, kg - g.body_kg, rounding or g.ctx.settings.rounding)

    def step(self, kg: float) -> float | None:
        """How far the nearest other load is; None where there is none. [kg]"""
        if kg not in self._steps:
            g = self.g
            self._steps[kg] = smallest_step_kg(kg - g.body_kg, g.lift, g.ctx.kit, unit=g.unit)
        return self._steps[kg]
