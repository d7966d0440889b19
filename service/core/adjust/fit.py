"""Loads and repetitions between what is wanted and what can be loaded: fewer repetitions where the steps are coarse."""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import Literal

from service.core.adjust.rack import Rack
from service.core.adjust.today import possible_kg, share_within
from service.core.answers import Loading
from service.core.estimate.capacity import expected_rpe
from service.core.estimate.capacity import possible as possible_reps
from service.core.loading.loading import Hung

MOST_CHANGE = 2
"""Repetitions change by at most this many. Ours. [reps]"""
SLACK = 1e-6
"""Efforts that differ by less are the same. [RPE]"""
WORTH = 0.5
"""An effort that is off by less is left alone: lifters report in halves. Ours. [RPE]"""


@dataclass(frozen=True, slots=True)
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

    def by(self, change: int) -> Fitted:
        """The same load with other repetitions."""
        to = None if self.reps_to is None else self.reps_to + change
        return Fitted(self.loading, self.kg, (self.reps or 0) + change, to)


def fewer_or_more(
    rack: Rack,
    exact_kg: float,
    *,
    base_kg: float,
    chosen_kg: float,
    possible: float,
    reps: int,
    asked: int,
    harder: bool,
) -> int | Literal["leave_out"] | None:
    """Whether repetitions follow the effort better than the nearest load, where a step is larger than the correction.

    Parameters
    ----------
    exact_kg, base_kg, chosen_kg : float
        Wanted load, the one just lifted (or planned), the nearest that can be loaded; effective. [kg]
    possible : float
        Repetitions to failure behind the wanted load. [reps]
    reps, asked : int
        Planned for this set; asked in the set just done. [reps]
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
    curve = rack.g.ctx.settings.curve
    full = exact_kg / share_within(curve, possible)
    same = abs(chosen_kg - base_kg) < 1e-6
    if same and abs(possible_reps(base_kg, full, curve) - possible) < WORTH:
        return None
    least = abs(log(chosen_kg / exact_kg)) if chosen_kg > 0 and exact_kg > 0 else float("inf")
    found: int | None = None
    for change in range(-MOST_CHANGE, MOST_CHANGE + 1):
        count = reps + change
        if count < 1 or (count >= asked if harder else count <= asked):
            continue
        error = abs(log(base_kg / (full * share_within(curve, possible + change))))
        if error < least - 1e-12:
            least, found = error, change
    if found is None and harder and same:
        return "leave_out"
    return found


def lowered(rack: Rack, set_: Fitted, capacity_kg: float, fatigue: float, cap_rpe: float) -> Fitted | None:
    """A set brought under an effort: the next lighter load, or fewer repetitions where that is the smaller change.

    The set itself where it is under the cap already; None where nothing that can be loaded is light enough. [kg], [RPE]
    """
    curve = rack.g.ctx.settings.curve

    def effort(one: Fitted) -> float:
        return expected_rpe(one.kg, one.middle, capacity_kg, curve, fatigue)

    cap = cap_rpe + SLACK
    if effort(set_) <= cap:
        return set_
    most_kg = possible_kg(capacity_kg, set_.middle + 10 - cap_rpe, fatigue, curve)
    loading = rack.hang(most_kg, "down")
    lighter = Fitted(loading, rack.g.effective(loading.load), set_.reps, set_.reps_to)
    ways = [lighter] if lighter.kg < set_.kg else []
    step = rack.step(set_.kg)
    if step is None or set_.kg - most_kg < step:
        ways += _fewer(set_)
    under = [one for one in ways if effort(one) <= cap]
    if not under:
        under = [one for one in _fewer(lighter) if effort(one) <= cap]
    return max(under, key=effort, default=None)


def _fewer(set_: Fitted) -> list[Fitted]:
    return [set_.by(-n) for n in range(1, MOST_CHANGE + 1) if (set_.reps or 0) - n >= 1]
