"""What today's sets have shown so far: what the lifter can do now, what was lifted, missed, painful.

Plain numbers: a set that was only imagined goes through the same functions as one that was logged.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.ability.ability import Ability
from service.core.ability.by_curve import ByCurve
from service.core.ability.by_model import ByModel
from service.core.ability.hearing import heard
from service.core.adjust import by_curve
from service.core.adjust.judged import Judged, Stands
from service.core.effort import HIGHEST_RPE, OR_MORE_RPE
from service.core.model.learn import learn
from service.core.records import WORK_ROLES, DoneSet, Lift
from service.core.units import GRAINS_PER_KG, Load

EXPECTED_WITHIN = by_curve.EXPECTED_WITHIN
AFTER_MISS, AFTER_PAIN = 0.95, 0.9
"""Loads after a missed repetition and after pain, at most: common practice, no source. [1]"""
CLEARLY = 0.5
"""Within so much of the target a set counts as on it: common practice, no source. [RPE]"""
DOUBTFUL_HARD_RPE = 9.5
"""A doubtful set that was so hard is followed by less, as a missed one is; an easier one by no more. Ours. [RPE]"""


@dataclass(slots=True)
class Today:
    """The state of one slot after the sets so far. Kilograms are effective.

    Not frozen for speed, as a dozen imagined sets go through it in one answer: change a `copy` only.
    """

    at: int = 0
    """Place of the next set in the plan."""
    ability: Ability | None = None
    """What the lifter can do now; None for technique lifts and where nothing has a mass."""
    misses: int = 0
    light: float | None = None
    """No set is heavier than this, after a miss, pain, a doubtful set, or one that was too hard. [kg]"""
    light_for: Literal["miss", "pain", "doubt", "hard"] | None = None
    top: Judged | None = None
    """The heaviest top set."""
    last: Judged | None = None
    """The last work set of this lift."""
    build_up: Judged | None = None
    """The last build-up set that showed something."""
    heaviest_build_up: float = 0.0
    easily: float = 0.0
    """The heaviest load that was clearly easier than the work sets shall be, none as light harder since. [kg]"""
    made: float = 0.0
    """As `easily`, of sets that were made and not clearly harder; nobody need have said how hard they were. [kg]"""
    hardly: float | None = None
    """The lightest load that was clearly harder than that, none as heavy easier since. [kg]"""
    dropped: int = 0
    """Sets left out of the plan's end."""
    over: Literal["missed", "pain", "until"] | None = None
    done: DoneSet | None = None
    """The last set of any kind."""
    seen: Judged | None = None
    """What that set showed."""

    def copy(self) -> Today:
        """A state of its own."""
        return Today(
            self.at, self.ability, self.misses, self.light, self.light_for, self.top, self.last, self.build_up,
            self.heaviest_build_up, self.easily, self.made, self.hardly, self.dropped, self.over, self.done,
            self.seen,
        )  # fmt: skip

    @property
    def before_next(self) -> str:
        """What the set is called that the next one is held against: one in doubt or by another method is no measure."""
        seen = self.seen
        aside = seen is not None and seen is not self.last and (seen.verdict == "doubtful" or seen.role in WORK_ROLES)
        return "set before that" if aside else "last set"

    @property
    def able(self) -> Ability | None:
        """What loads are computed from; None where nothing is known."""
        return self.ability if self.ability is not None and self.ability.known else None


def mass_kg(load: Load | None, body_kg: float | None) -> float | None:
    """Effective mass, exact to the grain; `body_kg` is the body weight where it counts, else 0. [kg]"""
    if load is None or load.unit == "step" or body_kg is None:
        return None
    return load.grains / GRAINS_PER_KG + body_kg


def expectation(today: Today, done: DoneSet, kg: float | None) -> tuple[float | None, float | None]:
    """What a set should be by what was known before it, None where nothing is; by the model, to failure too.

    [kg] -> [RPE], [reps]
    """
    able = today.able
    if kg is None or able is None:
        return None, None
    if isinstance(able, ByModel):
        possible = able.possible(kg, done.reps)
        return 10 + done.reps - possible, possible
    return able.expected(kg, done.reps), None


def judge(today: Today, done: DoneSet, lift: Lift, stands: Stands, reported: float | None) -> Judged:
    """What a set showed by the effort `reported`; `Judged.after` is what the lifter can do then.

    A set teaches only when choice or strength ended it, it was no warm-up, and no pain stopped it; never for technique
    lifts. [RPE]
    """
    if reported is not None and reported < OR_MORE_RPE:
        reported = OR_MORE_RPE
    before = today.ability
    judged = Judged(
        done.role, done.load, stands.kg, done.reps, stands.asked, reported, stands.expected, before, before
    )  # fmt: skip
    judged.counts = done.ended_by in ("choice", "strength") and done.pain != "stop" and done.method == "straight"
    missed = not done.made and done.ended_by == "strength"
    if missed and judged.counts and done.role != "warm_up" and not lift.technique:
        judged.reported, judged.verdict = HIGHEST_RPE, "missed"
    if isinstance(before, ByModel):
        if stands.kg is not None and stands.kg > 0 and done.seconds is None:  # a timed set counts no repetitions
            _by_model(judged, before, done, stands, stands.kg, reported)
    elif isinstance(before, ByCurve):
        by_curve.hear(judged, before, done, teaches=done.role != "warm_up" and judged.counts and not lift.technique)
    return judged


def _by_model(
    judged: Judged, before: ByModel, done: DoneSet, stands: Stands, kg: float, reported: float | None
) -> None:
    """The set is learned from; one that cannot be believed shows nothing."""
    said = heard(done, kg, rpe=None if done.felt else reported)
    person, row, lesson = learn(before.person, before.row, said, stands.possible)
    judged.after = ByModel(row, person)
    if done.answer == "excluded":
        judged.counts = False
        return
    if lesson.status == "refused":
        judged.verdict, judged.counts, judged.easier = "doubtful", False, lesson.surprise > 0
        return
    if judged.verdict == "missed" or done.role == "warm_up" or not judged.counts or reported is None or done.reps < 1:
        return
    if judged.expected is None:
        judged.verdict = "first"
        return
    off = reported - judged.expected
    told = done.felt == "as_expected" or (reported == OR_MORE_RPE and off > 0 and judged.expected <= OR_MORE_RPE)
    judged.verdict = "as_expected" if told or abs(off) < EXPECTED_WITHIN else "harder" if off > 0 else "lighter"


def work_set(today: Today, judged: Judged, *, is_top: bool) -> None:
    """Take in a work set: fatigue, the last set, the heaviest top set. One in doubt is no measure for what follows."""
    if isinstance(today.ability, ByCurve):
        today.ability = by_curve.tired(today.ability, judged)
    if judged.verdict == "doubtful":
        return
    today.last = judged
    heavier = today.top is None or judged.kg is None or judged.kg >= (today.top.kg or 0)
    if is_top and heavier:
        today.top = judged


def against_asked(today: Today, judged: Judged, reps: float, possible: float) -> None:
    """Take in how a set compares with what the work sets ask for: repetitions, and those to failure. [reps]"""
    kg = judged.kg
    if kg is None or not judged.counts:
        return
    shown = possible  # nobody has said anything else
    if judged.verdict == "missed":
        shown = 0.0
    elif judged.reported is not None:
        shown = judged.reps + 10 - judged.reported
    if shown < possible - CLEARLY:
        today.hardly = kg if today.hardly is None else min(today.hardly, kg)
        today.easily = 0.0 if today.easily >= kg else today.easily
        today.made = 0.0 if today.made >= kg else today.made
        return
    if judged.reps >= reps and kg > today.made:
        today.made = kg
    if shown > possible + CLEARLY:
        today.easily = max(today.easily, kg)
        if today.hardly is not None and today.hardly <= kg:
            today.hardly = None


def lighten(today: Today, done: DoneSet, judged: Judged) -> None:
    """Bound what follows a miss by strength, pain, or a set that was too hard to be believed."""
    missed = not done.made and done.ended_by == "strength"
    painful = done.pain != "none" or done.ended_by == "pain"
    kg = judged.kg
    today.misses += missed
    if kg is None:
        return
    if missed and (today.light is None or kg * AFTER_MISS < today.light):
        today.light, today.light_for = kg * AFTER_MISS, "miss"
    if judged.verdict == "doubtful" and not judged.easier and not missed:
        most = kg * (AFTER_MISS if (judged.reported or 0) >= DOUBTFUL_HARD_RPE else 1.0)
        if today.light is None or most < today.light:
            today.light, today.light_for = most, "doubt"
    if painful and (today.light is None or kg * AFTER_PAIN < today.light):
        today.light, today.light_for = kg * AFTER_PAIN, "pain"
    if today.light_for == "pain" and today.light is not None and kg > today.light and not missed and not painful:
        today.light = kg  # lifted without pain since: no reason to stay under that
