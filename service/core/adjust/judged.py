"""One set that was done, and what it showed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.ability.ability import Ability
from service.core.records import Role
from service.core.units import Load

Verdict = Literal["as_expected", "harder", "lighter", "missed", "first", "doubtful", "nothing"]


@dataclass(slots=True)
class Judged:
    """One set that was done, and what it showed. Not frozen for speed: nobody changes it once `judge` has given it."""

    role: Role
    load: Load | None
    kg: float | None
    """Effective; None without a mass. [kg]"""
    reps: int
    asked: tuple[int | None, int | None]
    """Repetitions that were asked, and the end of their range. [reps]"""
    reported: float | None
    """Five or more left is five: few lifters count further. [RPE]"""
    expected: float | None
    """By what was known before it. [RPE]"""
    before: Ability | None
    after: Ability | None
    """What the lifter could do before and after it."""
    verdict: Verdict = "nothing"
    halved: bool = False
    """It counts half, as such a report is not sure (by a curve)."""
    counts: bool = True
    """Ended by choice or strength, and to be believed: what was reported of it counts."""
    easier: bool = False
    """Of a doubtful set: it was far easier than could be believed, not harder."""

    @property
    def as_asked(self) -> float | None:
        """The report as if the repetitions asked had been done: one fewer than asked is a point harder. [RPE]"""
        if self.reported is None or not self.counts:
            return None
        low = self.reps if self.asked[0] is None else self.asked[0]
        high = low if self.asked[1] is None else max(low, self.asked[1])
        return self.reported + min(max(self.reps, low), high) - self.reps


@dataclass(slots=True)
class Stands:
    """What stands of a set whatever is said of how it went: worked out once for a dozen imagined reports."""

    place: int | None
    """In the plan; None for one more than planned."""
    asked: tuple[int | None, int | None] = (None, None)
    """Repetitions that were asked, and the end of their range. [reps]"""
    kg: float | None = None
    """Effective; None without a mass. [kg]"""
    expected: float | None = None
    """By what was known before it. [RPE]"""
    possible: float | None = None
    """The same as the model says it: repetitions to failure. [reps]"""
