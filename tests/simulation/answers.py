"""What lifters answer when a set is refused: mostly the truth, sometimes nothing, now and then the wrong thing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.core.model.heard import Heard
from service.core.model.replay import SetEvent
from service.core.model.slips import Slip
from tests.simulation.lifters import Lifter
from tests.simulation.lifting import Set

SILENT = 0.10
"""Questions that are never answered."""
WRONG = 0.05
"""Answers that are the wrong button."""
LOOKS_AGAIN = 0.6
"""Lifters who find another slip themselves when asked to check; the others have the set left out."""


class Answers:
    """One lifter's answers; the luck is the lifter's and the set's own."""

    def __init__(self, who: Lifter) -> None:
        self.seed = who.seed

    def __call__(self, event: SetEvent, slip: Slip | None, true: Set) -> Heard | None:
        """The set as it is to be heard, or None."""
        draws = np.random.default_rng((self.seed, 99, int(event.id))).random(3)
        if draws[0] < SILENT:
            return None
        heard = event.heard
        right = abs(heard.kg - true.kg) < 0.01 and heard.reps == true.reps
        proposed = None if slip is None else replace(heard, kg=slip.kg)
        fits = slip is not None and abs(slip.kg / true.kg - 1) < 0.01 and heard.reps == true.reps
        wrong = draws[1] < WRONG
        if right:
            return proposed or replace(heard, excluded=True) if wrong else replace(heard, confirmed=True)
        if wrong:
            return replace(heard, confirmed=True)
        if fits:
            return proposed
        if draws[2] < LOOKS_AGAIN:
            return replace(heard, kg=true.kg, reps=true.reps)
        return replace(heard, excluded=True)
