"""What a test has shown so far: its attempts, and what they make likely."""

from __future__ import annotations

from dataclasses import dataclass
from math import log
from typing import Literal

from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Facts
from service.core.adjust.today import Today
from service.core.answers import Step
from service.core.effort import OR_MORE_RPE
from service.core.model.shape import g as log_share
from service.core.model.shape import repetitions
from service.core.prescribe.jumps import read_from, up_by
from service.core.prescribe.max_test import reps_of
from service.core.prescribe.one_set import Draft
from service.core.records import Role
from service.core.units import Load

SAME = 1e-6
"""Masses that differ by no more are the same. [kg]"""
EASILY, HARD = 8.5, 9.0
"""An attempt up to the one was made easily, from the other on it was hard. Ours. [RPE]"""
HARD_STEP = 3.0
"""After a hard attempt the load goes up by so much: as good lifters go from their second to their third (Travis and
others). [%]"""
STAY_LEFT = 1
"""After an attempt with some left the next is to leave so many by the usual curve. Ours. [reps]"""
MOST_MISSES = 2
"""After so many misses in a row a test ends: the protocol goes down after one, and each further one tires. Ours.
[sets]"""
MORE_LEFT = 2.0
"""Where the heaviest attempt left so many and nothing heavier was missed, more may have been possible: no tested max.
Ours. [reps]"""

TrialEnd = Literal[
    "held",
    "capped",
    "all",
    "nothing_left",
    "twice",
    "in_a_row",
    "between",
    "heaviest",
    "too_far",
    "no_lighter",
    "pain",
    "hurts",
]
"""How a test ends. `all`: its attempts are used up; `nothing_left`: made, with nothing left; `twice`: one load missed
twice; `in_a_row`: two sets missed one after the other; `between`: no load between made and missed; `heaviest`:
nothing heavier is here; `too_far`: the next is too far off; `no_lighter`: nothing lighter after a miss; `held`:
attempts wait for an approval, or are harder than a coach allows; `capped`: a coach allows no more load; `pain`: it
must stop; `hurts`: the lifter and the coach choose."""


@dataclass(frozen=True, slots=True)
class Try:
    """One attempt. Effective. [kg]"""

    load: Load | None
    kg: float | None
    made: bool
    rpe: float | None
    """As it was reported. [RPE]"""
    by_strength: bool
    """What ended a missed one was strength."""
    role: Role = "top_set"
    reps: int = 1
    """Repetitions done. [reps]"""
    too_easy: bool = False
    """Easier than the estimate can believe."""

    @property
    def possible(self) -> float | None:
        """Repetitions that could have been done at least; None where the estimate has taken in all there is to tell.

        Where five or more were left, and where a set was too easy for the estimate to believe. [reps]
        """
        if not self.made or self.rpe is None or (self.rpe > OR_MORE_RPE and not self.too_easy):
            return None
        return self.reps + 10 - max(self.rpe, OR_MORE_RPE)


@dataclass(slots=True)
class Trial:
    """A test after the sets so far."""

    today: Today
    coming: Draft | None = None
    index: int = 0
    """Place of the coming set in the plan; past its end where it is not in it."""
    tries: tuple[Try, ...] = ()
    before: tuple[Try, ...] = ()
    """Warm-ups and the sets before the attempts."""
    ends: TrialEnd | None = None
    why: Step | None = None
    """Why the coming set is what it is; None: it is the plan's."""

    @property
    def best(self) -> Try | None:
        """The heaviest attempt that was made."""
        made = [one for one in self.tries if one.made]
        return max(made, key=_heaviness, default=None)

    @property
    def missed_in_a_row(self) -> int:
        """How many of the last sets were missed, one after the other; those before the attempts too. [sets]"""
        sets = (*self.before, *self.tries)
        return next((at for at, one in enumerate(reversed(sets)) if one.made), len(sets))

    @property
    def may_be_more(self) -> bool:
        """Whether the heaviest that was made left so much that it is no max: nothing heavier was missed either."""
        best = self.best
        if best is None or best.rpe is None or 10 - best.rpe < MORE_LEFT:
            return False
        return not any(not one.made and one.by_strength and _heaviness(one) > _heaviness(best) for one in self.tries)


def _heaviness(one: Try) -> float:
    """What attempts are compared by: the mass, else the number of the step."""
    if one.kg is not None:
        return one.kg
    return -1.0 if one.load is None else float(one.load.value)


def likely(f: Facts, rpe: float | None) -> float:
    """How much heavier than an attempt that was made so hard the next may be. [RPE] -> [1]"""
    if rpe is None:
        return 1 + up_by(f.g.lift)[1] / 100
    reps, left = reps_of(f.g), 10 - max(rpe, OR_MORE_RPE)
    stays = read_from(reps + left, reps + STAY_LEFT)
    return stays if rpe < HARD and stays > 1 + HARD_STEP / 100 else 1 + HARD_STEP / 100


def least_shown(f: Facts, at: Trial) -> float:
    """What sets that went easily (`Try.possible`) show at least, by the usual curve; 0 without one. Effective. [kg]

    From one side: also where the estimate does not believe so easy a set.
    """
    reps = reps_of(f.g)
    sets = (*at.before, *at.tries)
    return max(
        (one.kg * read_from(one.possible, reps) for one in sets if one.kg is not None and one.possible is not None),
        default=0.0,
    )


def expected(at: Trial, kg: float | None, reps: int) -> float | None:
    """Effort of a coming set: no harder than what sets that went easily leave open. Effective. [kg] -> [RPE]

    None while all sets so far only say "at least".
    """
    able = at.today.able
    if able is None or kg is None or kg <= 0 or (isinstance(able, ByModel) and able.row.at_least):
        return None
    expected = able.expected(kg, reps)
    for one in (*at.before, *at.tries):
        if one.possible is not None and one.kg is not None and one.kg > 0:
            least = repetitions(log_share(one.possible) - log(kg / one.kg))
            expected = min(expected, 10 + reps - least)
    return expected
