"""What loads are computed from, whichever way the lifter's max is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol


@dataclass(slots=True)
class Bounded:
    """The load for a set about to be lifted. Not frozen for speed: nobody changes it."""

    kg: float
    """What is left of the load for the effort under the bound. [kg]"""
    free_kg: float
    """Where the effort is expected to be the target's. [kg]"""
    most_kg: float | None = None
    """Nothing that is hung for this set is heavier; None: no such bound. [kg]"""
    bound: Literal["true", "report"] | None = None
    """Which chance to pass the effort limit acted: in truth, or in what will be reported."""


class Ability(Protocol):
    """What a lifter can do now. Efforts are those that the lifter is expected to report. Loads are effective. [kg]"""

    @property
    def known(self) -> bool:
        """Whether anything is known of the max: else no number can be asked for."""
        ...

    @property
    def kg(self) -> float:
        """Today's max, fresh: what sentences name. [kg]"""
        ...

    @property
    def name(self) -> str:
        """`model`, or the curve's name."""
        ...

    def load(self, reps: float, rpe: float, fatigue: float = 0.0) -> float:
        """Load at which `reps` should feel like `rpe`, after `fatigue` units more. Raises OutOfRange off a curve."""
        ...

    def within(self, reps: float, rpe: float) -> float:
        """As `load`, past a curve's ends as at the end: for a set that is going to be lifted. [kg]"""
        ...

    def bounded(self, reps: float, rpe: float, limit: float | None) -> Bounded:
        """The load for the set about to be lifted, kept from passing an effort limit (None: lifted). [RPE]"""
        ...

    def most(self, reps: float, rpe: float) -> float:
        """The heaviest load for which an effort is not passed, with what chance the way of knowing asks for. [kg]"""
        ...

    def span(self, kg: float, possible: float) -> tuple[float, float]:
        """The 80 % range around a load worked out from an effort. [kg], [reps] -> [kg]"""
        ...

    def expected(self, kg: float, reps: float, fatigue: float = 0.0) -> float:
        """RPE that a set should be, not limited, after `fatigue` units more. [kg], [reps], [units] -> [RPE]"""
        ...
