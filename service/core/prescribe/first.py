"""The first work set of a slot: the target's load as it hangs, and other repetitions where the steps are too coarse."""

from __future__ import annotations

from dataclasses import replace
from math import floor

from service.core import words
from service.core.answers import Named, StackLoading, Step
from service.core.errors import OutOfRange
from service.core.estimate.rolling import HEAVY_REPS
from service.core.loading.kits import stack_for
from service.core.prescribe.aim import Aim, aim
from service.core.prescribe.bounds import EPSILON, NEAR
from service.core.prescribe.grounds import Grounds, heavier, heavier_step, lighter_step
from service.core.prescribe.lower import ON_TARGET, fit_repetitions
from service.core.prescribe.one_set import Draft, hang_draft
from service.core.records import Override, Role
from service.core.slots import DistanceTarget, EffortTarget, SetsAtTarget, TimeTarget, TopSet
from service.core.units import Load, say, tidy

WIDE, CLEARLY_LIGHTER = 0.08, 0.02
"""A load is hardly known where its range goes so far below it, and the limits would take off a usual step. Ours. [1]"""
MOST_CHANGE = 2
"""Repetitions change by at most this many. Ours. [reps]."""


def first_of_slot(
    g: Grounds, fixed: Override | None, role: Role, given: Aim | None = None
) -> tuple[Grounds, Aim, Draft]:  # fmt: skip
    """The target's load and the set that carries it; with other repetitions where no load here meets the effort.

    What is planned for everybody stands where it is no harder than a coach, or a missing approval, allows. The grounds
    come back with the repetitions that are done. `given`: a load that comes from elsewhere than the target. Raises as
    `aim` and `hang_draft`.
    """
    if g.rpe_cap is not None:
        free = replace(g, bounds=replace(g.bounds, rpe=None), limit=g.own_limit)
        own, target, first = _first_of_slot(free, fixed, role, given)
        if first.expected is not None and first.expected <= g.rpe_cap + NEAR:
            target.rpe = None if target.rpe is None else min(target.rpe, g.rpe_cap)
            return replace(own, bounds=g.bounds, limit=g.limit), target, first
    return _first_of_slot(g, fixed, role, given)


def _first_of_slot(
    g: Grounds, fixed: Override | None, role: Role, given: Aim | None
) -> tuple[Grounds, Aim, Draft]:  # fmt: skip
    """As `first_of_slot`, under the bounds that `g` has."""
    target = given or aim(g, fixed)
    first = first_set(g, target, role)
    change, asked = _other_reps(g, target, first), g.slot.target
    if not change or not isinstance(asked, EffortTarget) or target.rpe is None:
        return g, target, first
    other = replace(g, slot=replace(g.slot, target=replace(asked, reps=asked.reps + change, reps_to=None)))
    try:
        new_aim = aim(other, fixed)
        new = first_set(other, new_aim, role)
    except OutOfRange:  # a published curve that does not reach so far
        return g, target, first
    off, left = ((one.expected or 0.0) - target.rpe for one in (first, new))
    if new.load != first.load or abs(left) >= abs(off):
        return g, target, first
    new.why.insert(0, _why(g, first, new, target.rpe))
    new.how = f", with {_COUNT[abs(change)]} {'more' if change > 0 else 'fewer'} than planned"
    new.other_reps = True
    return other, new_aim, new


_COUNT = {1: "one repetition", 2: "two repetitions"}


def _other_reps(g: Grounds, aim: Aim, first: Draft) -> int:
    """How many repetitions bring the set on target where the nearest load cannot; 0 where it does, or nothing may.

    Only for efforts with fixed repetitions, between two loads of the place; a set that is done for its load (a test,
    a maximal set, a coach's load or cap) keeps its repetitions, a heavy set that tells the day stays one.
    """
    target, scheme = g.slot.target, g.slot.scheme
    if not isinstance(target, EffortTarget) or not isinstance(scheme, TopSet | SetsAtTarget) or aim.fixed:
        return 0
    asked, expected = target.reps, first.expected
    if g.limit is None or g.most_rpe is None or target.reps_to not in (None, asked) or first.reps != asked:
        return 0
    if aim.rpe is None or aim.kg is None or expected is None or first.load is None:
        return 0
    off = expected - aim.rpe
    if abs(off) <= ON_TARGET + EPSILON or (g.cap is not None and g.cap.unit != "step" and g.effective(g.cap) < aim.kg):
        return 0
    change = _change(off, g.ctx.settings.rounding)
    if change > 0:
        most = HEAVY_REPS if isinstance(scheme, TopSet) and asked <= HEAVY_REPS else asked + MOST_CHANGE
        change = min(change, most - asked, floor(max(g.most_rpe, aim.rpe) - expected + EPSILON))
    change = max(change, g.fewest - asked)
    between = heavier_step(g, first.load) if off < 0 else lighter_step(g, first.load)
    return 0 if between is None else change


def _change(off: float, rounding: str) -> int:
    """Repetitions that make up for an effort that is off, a point each: the nearest, on the rounding's side [RPE]."""
    exact = min(max(-off, -MOST_CHANGE), MOST_CHANGE)
    if rounding == "nearest":
        return round(exact)
    return floor(exact + EPSILON) if rounding == "down" else -floor(-exact + EPSILON)


def _why(g: Grounds, first: Draft, new: Draft, rpe: float) -> Step:
    """Why the repetitions are others than planned."""
    more = (new.reps or 0) > (first.reps or 0)
    expected, held = tidy(first.expected or 0, 1), first.load
    side = "more" if more else "fewer"
    what = words.load(held, g.lift.load_kind) if held is not None else ""
    text = (
        f"{first.reps} with {what} would be RPE {words.number(float(expected))} instead of {words.number(rpe)}, and "
        f"the steps between loads are too coarse here, so the repetitions are {side}: {new.reps}."
    )
    inputs = [Named("planned", first.reps or 0, "reps"), Named("expected_rpe", expected, "rpe")]
    inputs.append(Named("rpe", tidy(rpe, 1), "rpe"))
    if held is not None:
        inputs.append(Named("load", held.value, held.unit))
    formula = "more_repetitions" if more else "fewer_repetitions"
    return Step(text, formula, tuple(inputs), Named("reps", new.reps or 0, "reps"))


def hardly_known(g: Grounds, aim: Aim) -> bool:
    """Whether the first work set would be clearly lighter than its plan if it were lifted now, by the limits."""
    if g.ability is None or g.able is None or aim.rpe is None or aim.kg is None or aim.fixed:
        return False
    reps = words.middle_reps(g.slot.target)
    if reps is None or g.ability.span(aim.kg, reps + 10 - aim.rpe)[0] > (1 - WIDE) * aim.kg:
        return False
    found = g.ability.bounded(reps, aim.rpe, g.limit)
    return found.bound is not None and found.kg < (1 - CLEARLY_LIGHTER) * aim.kg


def blank(g: Grounds, role: Role) -> Draft:
    """A work set that has only what the target asks."""
    target = g.slot.target
    if isinstance(target, TimeTarget):
        return Draft(role=role, seconds=target.seconds)
    if isinstance(target, DistanceTarget):
        return Draft(role=role, metres=target.metres)
    return Draft(role=role, reps=target.reps, reps_to=target.reps_to)


def first_set(g: Grounds, aim: Aim, role: Role) -> Draft:
    """The set that carries the target's load. Raises as `hang_draft`."""
    draft = blank(g, role)
    draft.why.extend(aim.steps)
    draft.provisional, draft.range, draft.possible = aim.provisional, aim.range, aim.possible
    if aim.kg is not None:
        hang_draft(draft, g, aim.kg, limited=not aim.fixed)
        if aim.rpe is not None:
            fit_repetitions(g, draft, aim.rpe)
        if aim.ends is not None:
            low, high = (words.mass(end - g.body_kg, g.unit) for end in aim.ends)
            draft.how = f" (the band is {low} to {high})"
    elif aim.step is not None:
        _give_step(g, draft, aim.step)
    else:
        draft.how = _choose(g, aim)
    return draft


def _give_step(g: Grounds, draft: Draft, step: Load) -> None:
    """A machine's step as it is listed; as given where the machine does not list it. A coach's cap holds."""
    if g.cap is not None and heavier(step, g.cap):
        text = f"The coach's cap of {say(g.cap)} is less than {say(step)}, so it holds."
        inputs = (Named("load", step.value, step.unit),)
        draft.why.append(Step(text, "override", inputs, Named("cap", g.cap.value, g.cap.unit)))
        step = g.cap
    draft.load = step
    if g.lift.load_kind != "stack":
        return
    for number, listed in enumerate(stack_for(g.ctx.kit, g.lift.id).steps, 1):
        if listed.unit == step.unit and listed.value == step.value:
            draft.loading = StackLoading(exact=None, load=step, difference=None, number=number)


def _choose(g: Grounds, aim: Aim) -> str:
    """What the lifter goes by where there is no load."""
    at_most = "" if g.cap is None else f", no more than {words.both(g.cap, g.unit)}"
    if g.rpe_cap is not None and aim.rpe is None:
        at_most += f", no harder than RPE {words.number(g.rpe_cap)}"
    if g.lift.load_kind == "none":
        return "" if aim.rpe is None else f", in a way that {words.left(aim.rpe)}"
    if aim.rpe is not None:
        what = "step" if g.massless else "load"
        return f" with a {what} that {words.left(aim.rpe)}{at_most}"
    if isinstance(g.slot.target, TimeTarget | DistanceTarget):
        return at_most
    return f" with a load of your choice{at_most}"
