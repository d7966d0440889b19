"""A newcomer's ladder as far as it is climbed: what was done, what comes, how it ends."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Facts
from service.core.adjust.today import Today
from service.core.answers import Loading, Step
from service.core.loading.loading import Hung
from service.core.prescribe.one_set import Draft
from service.core.slots import EffortTarget
from service.core.units import Load

LARGE, SMALL = 1.5, 0.5
"""So many repetitions more than the target's are left: a large step, a small one; less: it is reached. Ours. [reps]"""

LadderEnd = Literal[
    "found", "harder", "before", "fewer", "heaviest", "capped", "too_far", "most", "too_heavy", "pain", "hurts"
]
"""How a ladder ends. `found`: with this load; `harder`, `before`: with the one before, as this left too little or was
missed; `fewer`: with this load and fewer repetitions; `heaviest`: nothing heavier is here; `capped`: a coach allows no
more; `too_far`: the next is too far off; `most`: enough sets for today; `too_heavy`: the lightest was too much; `pain`:
it must stop; `hurts`: the lifter and the coach choose."""


@dataclass(frozen=True, slots=True)
class Done:
    """A step that was done with all its repetitions."""

    load: Load
    kg: float | None
    reps: int
    left: float | None
    """What was said to be left; None: nothing. [reps]"""
    more: bool = False
    """More than that were left: five or more."""


@dataclass(slots=True)
class Climb:
    """A ladder after the sets so far. Masses are effective. [kg]"""

    today: Today
    coming: Draft | None
    """The next step; None at its end."""
    asked: int
    """Repetitions that the coming step asks for. [reps]"""
    top: int
    """To how many it goes on while it is easy. [reps]"""
    number: int = 1
    """Of the coming step."""
    total: int = 0
    """Repetitions of all steps so far. [reps]"""
    steps: tuple[Done, ...] = ()
    """Those that were completed."""
    ceiling: float | None = None
    """The lightest load that was too much. [kg]"""
    ends: LadderEnd | None = None
    found: Done | None = None
    """The working load, where there is one."""
    why: Step | None = None
    """Why the coming step is what it is."""
    note: Literal["unsaid", "doubtful", "more_reps", "coarse", "lighter", "all", "between"] | None = None
    """What is to be said of it."""
    counted: ByModel | None = field(default=None, repr=False)
    """What the lifter can do by what was known before and by sets with a counted answer: "five or more" only says "at
    least"."""
    hanging: Loading | Hung | None = field(default=None, repr=False)
    """How the coming load hangs."""


def goal(f: Facts) -> tuple[int, float]:
    """Repetitions of a step, and how many the working load leaves. [reps]"""
    target = f.slot.target
    if not isinstance(target, EffortTarget):
        return max(5, f.g.fewest), 3.0
    most = 10.0 if f.g.rpe_cap is None else f.g.rpe_cap
    return max(target.reps, f.g.fewest), 10 - min(target.asked_rpe, most)
