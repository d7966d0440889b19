"""A max and a named curve: what stands where a coach has pinned one."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp

from service.core.ability.ability import Bounded
from service.core.curves import curves
from service.core.estimate import spread
from service.core.estimate.capacity import FATIGUE_PER_UNIT, expected_rpe, load_for


@dataclass(slots=True)
class ByCurve:
    """The curve's share of a max. Not frozen for speed: functions give new ones."""

    curve: str
    max_kg: float | None
    fatigue: float = 0.0
    """Of the work sets done. [units]"""
    anchor: float | None = None
    """What today's max may move around: the plan's max, else the first one implied. [kg]"""
    ceiling: float | None = None
    """What a hard set showed below the farthest that the max moves. [kg]"""

    @property
    def known(self) -> bool:
        """Whether there is a max."""
        return self.max_kg is not None

    @property
    def kg(self) -> float:
        """The max that loads are computed from. [kg]"""
        if self.max_kg is None:
            raise ValueError("no max is known")
        return self.max_kg if self.ceiling is None else min(self.max_kg, self.ceiling)

    @property
    def name(self) -> str:
        """The curve's name."""
        return self.curve

    def load(self, reps: float, rpe: float, fatigue: float = 0.0) -> float:
        """As `Ability.load`."""
        return load_for(self.kg, reps, rpe, self.curve, self.fatigue + fatigue)

    def within(self, reps: float, rpe: float) -> float:
        """As `Ability.within`."""
        return possible_kg(self.kg, reps + 10 - rpe, self.fatigue, self.curve)

    def bounded(self, reps: float, rpe: float, limit: float | None) -> Bounded:  # noqa: ARG002  (a curve has no chances)
        """As `Ability.bounded`."""
        kg = self.within(reps, rpe)
        return Bounded(kg, kg)

    def most(self, reps: float, rpe: float) -> float:
        """As `Ability.most`: the load at which the effort is expected."""
        return self.within(reps, rpe)

    def span(self, kg: float, possible: float) -> tuple[float, float]:
        """As `Ability.span`: as wide as published repetitions differ between people."""
        half = spread.half_percent(possible) / 100
        return kg * (1 - half), kg * (1 + half)

    def expected(self, kg: float, reps: float, fatigue: float = 0.0) -> float:
        """As `Ability.expected`."""
        return expected_rpe(kg, reps, self.kg, self.curve, self.fatigue + fatigue)


@lru_cache(maxsize=4096)  # repetitions and efforts come in halves
def share_within(curve: str, reps: float) -> float:
    """Share of the max for repetitions to failure; past the curve's ends as at the end. [reps] -> [1]

    >>> share_within("epley", 0.5), share_within("epley", 40) == share_within("epley", 30)
    (1.0, True)
    """
    named = curves.curve_named(curve)
    return curves.share(curve, min(max(reps, named.fewest), named.most))


def possible_kg(max_kg: float, possible: float, fatigue: float, curve: str) -> float:
    """Load for repetitions to failure, after fatigue; inverse of `implied_kg`. [kg]"""
    fresh = max_kg * share_within(curve, possible)
    return fresh * exp(-FATIGUE_PER_UNIT * fatigue) if fatigue else fresh


def implied_kg(kg: float, possible: float, fatigue: float, curve: str) -> float:
    """Fresh max that a load for so many repetitions to failure implies. [kg]"""
    fresh = kg / share_within(curve, possible)
    return fresh * exp(FATIGUE_PER_UNIT * fatigue) if fatigue else fresh
