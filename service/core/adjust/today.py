"""What today's sets have shown so far: the max they imply, the fatigue they left, what was lifted, missed, painful.

Plain numbers: a set that was only imagined goes through the same functions as one that was logged.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, sqrt
from typing import Literal

from service.core.curves import curves
from service.core.effort import HIGHEST_RPE, OR_MORE_RPE
from service.core.estimate.capacity import FATIGUE_PER_UNIT, expected_rpe, fatigue_units
from service.core.estimate.rolling import MISSED_PART
from service.core.records import DoneSet, Lift, Role
from service.core.units import GRAINS_PER_KG, Load

Verdict = Literal["as_expected", "harder", "lighter", "missed", "first", "nothing"]

FARTHEST = 0.1
"""Today's max moves by no more than this part of the plan's, so that one slip of the pen cannot double a load. Ours.
[1]"""
EXPECTED_WITHIN = 0.5
"""A report closer than this to what was expected confirms it: lifters report in halves. Ours. [RPE]"""
SURE_RPE = 7.0
"""A build-up set reported lighter than this counts half: repetitions left are told badly when there are many (Zourdos
et al. 2021, JSCR 35(2S):S158-S165, squat: 2.05 +- 1.73 at one left, 5.15 +- 2.92 at five). [RPE]"""
HARD_RPE = 9.0
"""From here on a set bounds the loads after it, however far below the plan it was. Ours. [RPE]"""
AFTER_MISS, AFTER_PAIN = 0.95, 0.9
"""Loads after a missed repetition and after pain, at most: common practice, no source. [1]"""
UNKNOWN_LEFT = 2.0
"""Repetitions left, for the fatigue of a set of which nothing is known. Ours. [reps]"""


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
    before: float | None
    after: float | None
    """Today's max before and after it. [kg]"""
    verdict: Verdict = "nothing"
    halved: bool = False
    counts: bool = True
    """Ended by choice or strength: what was reported of it counts."""

    @property
    def as_asked(self) -> float | None:
        """The report as if the repetitions asked had been done: one fewer than asked is a point harder. [RPE]"""
        if self.reported is None or not self.counts:
            return None
        low = self.reps if self.asked[0] is None else self.asked[0]
        high = low if self.asked[1] is None else max(low, self.asked[1])
        return self.reported + min(max(self.reps, low), high) - self.reps


@dataclass(slots=True)
class Today:
    """The state of one slot after the sets so far. Kilograms are effective.

    Not frozen for speed, as a dozen imagined sets go through it in one answer: change a `copy` only.
    """

    at: int = 0
    """Place of the next set in the plan."""
    max_kg: float | None = None
    anchor: float | None = None
    """What `max_kg` may move around: the plan's max, else the first one implied. [kg]"""
    ceiling: float | None = None
    """What a hard set showed below the farthest that the max moves. [kg]"""
    fatigue: float = 0.0
    misses: int = 0
    light: float | None = None
    """No set is heavier than this, after a miss or pain. [kg]"""
    light_for: Literal["miss", "pain"] | None = None
    top: Judged | None = None
    """The heaviest top set."""
    last: Judged | None = None
    """The last work set of this lift."""
    build_up: Judged | None = None
    """The last build-up set that showed something."""
    heaviest_build_up: float = 0.0
    dropped: int = 0
    """Sets left out of the plan's end."""
    over: Literal["missed", "pain"] | None = None
    done: DoneSet | None = None
    """The last set of any kind."""
    seen: Judged | None = None
    """What that set showed."""

    def copy(self) -> Today:
        """A state of its own."""
        return Today(
            self.at, self.max_kg, self.anchor, self.ceiling, self.fatigue, self.misses, self.light, self.light_for,
            self.top, self.last, self.build_up, self.heaviest_build_up, self.dropped, self.over, self.done, self.seen,
        )  # fmt: skip

    @property
    def capacity(self) -> float | None:
        """The max that loads are computed from. [kg]"""
        if self.max_kg is None or self.ceiling is None:
            return self.max_kg
        return min(self.max_kg, self.ceiling)


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


def surely_within(
    kg: float, reps: float, rpe: float, max_kg: float, fatigue: float, curve: str
) -> bool:  # fmt: skip
    """Whether a set is easier than an effort, by its load alone; False where it takes a closer look. [kg], [RPE]"""
    possible = reps + 10 - rpe
    return possible <= curves.curve_named(curve).most and kg < 0.999999 * possible_kg(max_kg, possible, fatigue, curve)


def implied_kg(kg: float, possible: float, fatigue: float, curve: str) -> float:
    """Fresh max that a load for so many repetitions to failure implies. [kg]"""
    fresh = kg / share_within(curve, possible)
    return fresh * exp(FATIGUE_PER_UNIT * fatigue) if fatigue else fresh


def mass_kg(load: Load | None, body_kg: float | None) -> float | None:
    """Effective mass, exact to the grain; `body_kg` is the body weight where it counts, else 0. [kg]"""
    if load is None or load.unit == "step" or body_kg is None:
        return None
    return load.grains / GRAINS_PER_KG + body_kg


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


def expectation(today: Today, done: DoneSet, lift: Lift, curve: str, kg: float | None) -> float | None:
    """What a set should be by what was known before it; None where nothing is. [kg] -> [RPE]"""
    before = today.capacity
    if kg is None or before is None or lift.technique:
        return None
    return expected_rpe(kg, done.reps, before, curve, today.fatigue)


def judge(
    today: Today, done: DoneSet, lift: Lift, curve: str, stands: Stands, reported: float | None
) -> tuple[Judged, float | None]:
    """What a set showed by the effort `reported`, and the max it implies before any limit.

    A set teaches only when choice or strength ended it, it was no warm-up, and no pain stopped it; never for technique
    lifts. [RPE] -> [kg]
    """
    before, fatigue, kg = today.capacity, today.fatigue, stands.kg
    if reported is not None and reported < OR_MORE_RPE:
        reported = OR_MORE_RPE
    judged = Judged(done.role, done.load, kg, done.reps, stands.asked, reported, stands.expected, before, before)
    judged.counts = done.ended_by in ("choice", "strength") and done.pain != "stop"
    if done.role == "warm_up" or not judged.counts or lift.technique:
        return judged, None
    if not done.made and done.ended_by == "strength":
        judged.reported, judged.verdict = HIGHEST_RPE, "missed"
        return judged, None if kg is None else implied_kg(kg, max(done.reps + MISSED_PART, 1), fatigue, curve)
    if kg is None or reported is None or done.reps < 1:
        return judged, None
    implied = implied_kg(kg, done.reps + 10 - reported, fatigue, curve)
    if before is None or stands.expected is None:
        judged.verdict = "first"
        return judged, implied
    return judged, _against(judged, done, implied, reported - stands.expected, fatigue, curve)


def _against(
    judged: Judged, done: DoneSet, implied: float, harder_by: float, fatigue: float, curve: str
) -> float | None:
    """A report held against what was expected; the max it implies, None where it confirms."""
    easy = judged.reported == OR_MORE_RPE and harder_by > 0 and (judged.expected or 0) <= OR_MORE_RPE
    # a word says a direction: where rounding it to a half would turn that round, it says nothing more
    contrary = (done.felt == "lighter" and harder_by > 0) or (done.felt == "heavier" and harder_by < 0)
    confirmed = abs(harder_by) < EXPECTED_WITHIN or easy or contrary or done.felt == "as_expected"
    if confirmed or judged.before is None:
        judged.verdict = "as_expected"
        return None
    judged.halved = done.felt is not None or (done.role == "build_up" and (judged.reported or 0) < SURE_RPE)
    judged.verdict = "harder" if harder_by > 0 else "lighter"
    half = sqrt(judged.before * implied)
    if sure_enough(judged) and done.felt is None and judged.kg is not None:
        # at least as light as the lightest report that counts in full
        half = max(half, implied_kg(judged.kg, done.reps + 10 - SURE_RPE, fatigue, curve))
    return half if judged.halved else implied


def sure_enough(judged: Judged) -> bool:
    """Whether a set reported lighter than sure was expected to be harder than that, so that it is light for sure."""
    return judged.halved and judged.verdict == "lighter" and (judged.expected or 0) > SURE_RPE


def move(today: Today, judged: Judged, raw: float | None) -> None:
    """Move today's max by a set: within a tenth of the plan's, never raised by a set that was harder or missed."""
    if raw is None:
        return
    anchor = today.anchor if today.anchor is not None else raw
    after = min(max(raw, anchor * (1 - FARTHEST)), anchor * (1 + FARTHEST))
    if judged.verdict in ("harder", "missed") and judged.before is not None:
        raw, after = min(raw, judged.before), min(after, today.max_kg or after)
    today.max_kg, today.anchor = after, anchor
    bounded = today.ceiling is not None or (judged.reported or 0) >= HARD_RPE
    today.ceiling = raw if raw < after and bounded else None
    judged.after = after if today.ceiling is None else raw


def left_after(judged: Judged) -> float:
    """Repetitions left, for the fatigue of a work set: as reported, else as expected, else two. [reps]"""
    if judged.reported is not None:
        return 10 - judged.reported
    return UNKNOWN_LEFT if judged.expected is None else 10 - judged.expected


def work_set(today: Today, judged: Judged, *, is_top: bool) -> None:
    """Take in a work set: fatigue, the last set, the heaviest top set."""
    today.fatigue += fatigue_units(left_after(judged))
    today.last = judged
    heavier = today.top is None or judged.kg is None or judged.kg >= (today.top.kg or 0)
    if is_top and heavier:
        today.top = judged


def lighten(today: Today, done: DoneSet, kg: float | None) -> None:
    """Bound what follows a miss by strength or pain."""
    missed = not done.made and done.ended_by == "strength"
    painful = done.pain != "none" or done.ended_by == "pain"
    today.misses += missed
    if kg is None:
        return
    if missed and (today.light is None or kg * AFTER_MISS < today.light):
        today.light, today.light_for = kg * AFTER_MISS, "miss"
    if painful and (today.light is None or kg * AFTER_PAIN < today.light):
        today.light, today.light_for = kg * AFTER_PAIN, "pain"
    if today.light_for == "pain" and today.light is not None and kg > today.light and not missed and not painful:
        today.light = kg  # lifted without pain since: no reason to stay under that
