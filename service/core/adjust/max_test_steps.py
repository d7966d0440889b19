"""What comes next in a test, as a set with its reason: an attempt, a set before the attempts, a machine's next step."""

from __future__ import annotations

from dataclasses import replace

from service.core import words
from service.core.adjust.facts import Facts
from service.core.adjust.max_test_state import Trial, Try, expected
from service.core.answers import Loading, Named, Step
from service.core.effort import HIGHEST_RPE
from service.core.loading.loading import Hung
from service.core.prescribe.jumps import next_down, next_up, up_by
from service.core.prescribe.max_test import approach_set, attempt, reps_of
from service.core.records import WORK_ROLES
from service.core.units import Load, tidy


def first_attempt(f: Facts) -> int:
    """Place of the first attempt in the plan; past its end where none is planned."""
    return next((one.index for one in f.sets if one.role in WORK_ROLES), len(f.sets))


def approach(f: Facts, at: Trial, found: Loading | Hung, which: int, last: Try) -> Trial:
    """With a next set before the attempts; `which`: 0 the one for more repetitions, 1 the one for fewer."""
    draft = approach_set(f.g, found, which)
    draft.expected = expected(at, draft.kg, draft.reps or 1)
    _, larger = up_by(f.g.lift)
    text = f"Before the attempts the load rises by the protocol's steps of up to {larger:g} %."
    inputs = [Named("step", tidy(larger), "percent")]
    if last.load is not None:
        inputs.append(Named("last", last.load.value, last.load.unit))
    why = Step(text, "test_step", tuple(inputs), Named("load", found.load.value, found.load.unit))
    return replace(at, coming=draft, why=why, index=first_attempt(f))


def make_attempt(f: Facts, at: Trial, found: Loading | Hung | None, why: Step) -> Trial:
    """With a next attempt, for a reason."""
    if found is None:
        return replace(at, ends="too_far")
    kg = None if found.load.unit == "step" or f.body_kg is None else f.g.effective(found.load)
    draft = attempt(f.g, found, expected(at, kg, reps_of(f.g)), number=len(at.tries) + 1)
    why.result = Named("load", found.load.value, found.load.unit)
    place = first_attempt(f) + len(at.tries)
    return replace(at, coming=draft, why=why, index=min(place, len(f.sets)))


def without_mass(f: Facts, at: Trial, last: Try) -> Trial:
    """On steps without a mass: one up, one down."""
    if last.load is None:
        return replace(at, ends="all")
    if last.made:
        if last.rpe is not None and last.rpe >= HIGHEST_RPE:
            return replace(at, ends="nothing_left")
        found, end = next_up(f.g, last.load), "heaviest"
    else:
        found, end = next_down(f.g, last.load), "no_lighter"
    if found is None:
        return replace(at, ends=end)  # type: ignore[arg-type]
    tried = [one for one in at.tries if one.load == found.load]
    if tried:
        return replace(at, ends="between")
    if not at.tries and len(at.before) < 3:
        return approach(f, at, found, 0 if len(at.before) == 1 else 1, last)
    up = "made: one step more" if last.made else "missed: one step less"
    return make_attempt(
        f, at, found, Step(f"{say_load(f, last.load)} was {up}.", "test_step", named_load("last", last.load), None)
    )


def say_load(f: Facts, load: Load | None) -> str:
    """A load in words; nothing where there was none."""
    return "" if load is None else words.load(load, f.g.lift.load_kind)


def named_load(name: str, load: Load | None) -> tuple[Named, ...]:
    """A load as an input of a step, as it was entered."""
    return () if load is None else (Named(name, load.value, load.unit),)
