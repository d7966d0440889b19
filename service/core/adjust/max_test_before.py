"""The sets before a test's attempts, and the first attempt."""

from __future__ import annotations

from dataclasses import replace

from service.core import words
from service.core.ability.ability import Ability
from service.core.adjust.facts import Facts, Planned
from service.core.adjust.max_test_attempts import LEAST_STEP, down
from service.core.adjust.max_test_state import SAME, Trial, Try, least_shown
from service.core.adjust.max_test_steps import approach, make_attempt, without_mass
from service.core.adjust.steps import hung
from service.core.answers import Loading, Named, Step
from service.core.loading.loading import Hung
from service.core.prescribe.jumps import hung_below, up_by
from service.core.prescribe.max_test import FIRST_PERCENT, approach_set, attempt, reps_of, rise
from service.core.prescribe.one_set import Draft
from service.core.records import WORK_ROLES
from service.core.units import tidy

MOST_APPROACH = 8
"""Sets before the attempts where nothing is known, the warm-up included: the protocol then goes on to attempts. Ours.
[sets]"""
EASY_LEFT = 4.0
"""A set before the attempts that leaves so many is followed by another one. Ours. [reps]"""
SLACK = 0.08
"""Part of a step that rounding may have taken off: no further set comes before the attempts for it. Ours. [1]"""


def to_the_first(f: Facts, at: Trial) -> Trial:
    """The first attempt, or a further set before it."""
    last = at.before[-1] if at.before else None
    planned = [one for one in f.sets if one.role in WORK_ROLES]
    able = at.today.able
    if last is not None and not last.made and last.kg is not None:
        return down(f, at, last)
    if last is None or last.load is None:
        if planned:
            return _planned_attempt(f, at, planned[0])
        return replace(at, coming=None, ends="too_far") if last is not None else _start(f, at)
    if last.kg is None:
        return without_mass(f, at, last)
    silent = able is None or at.today.build_up is None  # nothing has told that today is another day
    if silent and planned and planned[0].kg is not None and planned[0].kg > last.kg + SAME:
        return _planned_attempt(f, at, planned[0])
    easy = f.start is None and last.rpe is not None and 10 - last.rpe >= EASY_LEFT and len(at.before) < MOST_APPROACH
    if able is None or easy:
        return _blindly(f, at, last, last.kg)
    return _from_today(f, at, last, last.kg, able)


def _from_today(f: Facts, at: Trial, last: Try, last_kg: float, able: Ability) -> Trial:
    """The first attempt from what today's sets have shown; another set before it where that is too far off. [kg]"""
    kg = able.within(reps_of(f.g), 10)
    low = able.span(kg, reps_of(f.g))[0]
    shown = least_shown(f, at)
    kg, low = max(kg, shown), max(low, shown)
    first = min(FIRST_PERCENT / 100 * kg, low)
    step = 1 + up_by(f.g.lift)[1] / 100
    if first > last_kg * step * (1 + SLACK) and len(at.before) < MOST_APPROACH:
        found = rise(f.g, last.load, last_kg, min(first / step, last_kg * step))
        if found is not None and f.g.effective(found.load) < first - SAME:
            which = 1 if f.g.effective(found.load) * step >= first else 0
            return approach(f, at, found, which, last)
    chosen: Loading | Hung | None = hung_below(f.g, min(first, last_kg * step))
    if chosen is None or f.g.effective(chosen.load) <= last_kg + SAME:
        chosen = rise(f.g, last.load, last_kg, last_kg * (1 + LEAST_STEP / 100))
        if chosen is None and last.load is not None:
            chosen = hung(f.g, last.load)
    text = (
        f"By the sets so far, {words.mass(kg - f.g.body_kg, f.g.unit)} is expected: the first attempt is nearly sure."
    )
    inputs = (f.g.named("expected", kg), f.g.named("low", low), Named("percent", FIRST_PERCENT, "percent"))
    return make_attempt(f, at, chosen, Step(text, "test_attempt", inputs, None))


def _start(f: Facts, at: Trial) -> Trial:
    """Nothing is known and nothing done: the plan's first set."""
    return replace(at, coming=as_planned(f, f.sets[0], 0), index=0)


def _planned_attempt(f: Facts, at: Trial, p: Planned) -> Trial:
    return replace(at, coming=as_planned(f, p, 1), index=p.index)


def _blindly(f: Facts, at: Trial, last: Try, kg: float) -> Trial:
    """No max can be read from the sets so far: the protocol's steps, until a set of two or three is no longer easy."""
    left = None if last.rpe is None else 10 - last.rpe
    easy = left is not None and left >= EASY_LEFT
    smaller, larger = up_by(f.g.lift)
    percent = larger if easy else smaller
    found = rise(f.g, last.load, kg, kg * (1 + percent / 100))
    if found is None:
        return replace(at, ends="heaviest")
    if len(at.before) >= 3 and not (easy and len(at.before) < MOST_APPROACH):
        text = f"The protocol's step of {percent:g} % leads to the first attempt."
        return make_attempt(f, at, found, Step(text, "test_step", (Named("step", tidy(percent), "percent"),), None))
    return approach(f, at, found, 0 if len(at.before) == 1 else 1, last)


def as_planned(f: Facts, p: Planned, number: int) -> Draft:
    """A set of the plan."""
    if p.role == "top_set" and p.loading is not None:
        return attempt(f.g, p.loading, p.expected, number=number)
    if p.role == "build_up" and p.loading is not None:
        which = sum(1 for one in f.sets[: p.index] if one.role == "build_up")
        return approach_set(f.g, p.loading, min(which, 1))
    return Draft(role=p.role, reps=p.reps, reps_to=p.reps_to, load=p.load, loading=p.loading, kg=p.kg)
