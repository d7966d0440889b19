"""Loads and repetitions between what is wanted and what can be loaded: fewer repetitions where the steps are coarse."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import log
from typing import Literal

from service.core.ability.ability import Ability
from service.core.adjust.rack import Rack
from service.core.answers import Loading
from service.core.loading.loading import Hung

MOST_CHANGE = 2
"""Repetitions change by at most this many. Ours. [reps]"""
SLACK = 1e-7
"""Loads that differ by a smaller part are the same. [1]"""
WORTH = 0.5
"""An effort that is off by less is left alone: lifters report in halves. Ours. [RPE]"""


@dataclass(slots=True)
class Fitted:
    """A load as it hangs, with repetitions; effective. [kg], [reps]"""

    loading: Loading | Hung
    kg: float
    reps: int | None
    reps_to: int | None

    @property
    def middle(self) -> float:
        """Repetitions that efforts are computed for. [reps]"""
        return ((self.reps or 0) + (self.reps_to if self.reps_to is not None else self.reps or 0)) / 2

    def under(self, most: Callable[[float], float]) -> bool:
        """Whether it is not heavier than the most for its repetitions. [reps] -> [kg]"""
        return self.kg <= most(self.middle) * (1 + SLACK)

    def by(self, change: int) -> Fitted:
        """The same load with other repetitions."""
        to = None if self.reps_to is None else self.reps_to + change
        return Fitted(self.loading, self.kg, (self.reps or 0) + change, to)


def fewer_or_more(
    rack: Rack,
    able: Ability,
    exact_kg: float,
    *,
    base_kg: float,
    chosen_kg: float,
    middle: float,
    rpe: float,
    reps: int,
    asked: int,
    between: tuple[int, int],
    harder: bool,
) -> int | Literal["leave_out"] | None:
    """Whether repetitions follow the effort better than the nearest load, where a step is larger than the correction.

    Parameters
    ----------
    able : Ability
        What is known of the lifter; only how loads for other repetitions stand to each other.
    exact_kg, base_kg, chosen_kg : float
        Wanted load, the one just lifted (or planned), the nearest that can be loaded; effective. [kg]
    middle, rpe : float
        Repetitions and effort behind the wanted load. [reps], [RPE]
    reps, asked : int
        Planned for this set; asked in the set just done. [reps]
    between : tuple of int
        The fewest and the most that this set may have. [reps]
    harder : bool
        The last set was harder than it should be, so that less is wanted.

    Returns
    -------
    int, "leave_out" or None
        Change of the planned repetitions with the load `base_kg`; `leave_out` where the set was too hard and neither
        load nor repetitions can follow; None where the chosen load serves.
    """
    step = rack.step(base_kg)
    if step is not None and abs(exact_kg - base_kg) >= step:
        return None
    target = able.within(middle, rpe)
    same = abs(chosen_kg - base_kg) < 1e-6
    if same and abs(able.expected(base_kg * target / exact_kg, middle) - rpe) < WORTH:
        return None
    least = abs(log(chosen_kg / exact_kg)) if chosen_kg > 0 and exact_kg > 0 else float("inf")
    found: int | None = None
    for change in range(-MOST_CHANGE, MOST_CHANGE + 1):
        count = reps + change
        if not between[0] <= count <= between[1] or (count >= asked if harder else count <= asked):
            continue
        error = abs(log(base_kg * target / (exact_kg * able.within(middle + change, rpe))))
        if error < least - 1e-12:
            least, found = error, change
    if found is None and harder and same:
        return "leave_out"
    return found


def lowered(rack: Rack, set_: Fitted, able: Ability, most: Callable[[float], float]) -> Fitted | None:
    """A set brought under a load: the next lighter one, or fewer repetitions where that is the smaller change.

    `most`: the heaviest load for repetitions. The set itself where it is not heavier; None where nothing that can be
    loaded is light enough. [reps] -> [kg]
    """
    most_kg = most(set_.middle)
    if set_.kg <= most_kg * (1 + SLACK):
        return set_
    loading = rack.hang(most_kg, "down")
    lighter = Fitted(loading, rack.g.effective(loading.load), set_.reps, set_.reps_to)
    ways = [lighter] if lighter.kg < set_.kg else []
    step = rack.step(set_.kg)
    if step is None or set_.kg - most_kg < step:
        ways += _fewer(set_, rack.g.fewest)
    light = [one for one in ways if one.under(most)]
    if not light:
        light = [one for one in _fewer(lighter, rack.g.fewest) if one.under(most)]
    if len(light) == 1:
        return light[0]
    return max(light, key=lambda one: able.expected(one.kg, one.middle), default=None)


def _fewer(set_: Fitted, fewest: int) -> list[Fitted]:
    return [set_.by(-n) for n in range(1, MOST_CHANGE + 1) if (set_.reps or 0) - n >= fewest]
