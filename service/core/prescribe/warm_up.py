"""Sets before the work: warm-ups from the lightest implement, build-up sets that tell how today is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache, lru_cache, partial
from math import floor

from service.core import words
from service.core.answers import Named, Step
from service.core.context import Context
from service.core.loading.kits import Place
from service.core.loading.loading import hang, smallest_step_kg
from service.core.prescribe.aim import Aim
from service.core.prescribe.basis import Found
from service.core.prescribe.ease import eased_load
from service.core.prescribe.grounds import Grounds, hang_under, heavier
from service.core.prescribe.one_set import Draft, hang_draft
from service.core.records import Kit, Lift
from service.core.slots import BuildUp, Slot, TopSet
from service.core.units import GRAINS_PER_KG, Load, tidy

MOST_WARM_UPS = 5
"""Equal steps of a fifth of the way (common practice, no source)."""
REPS = {1: (8,), 2: (8, 5), 3: (8, 5, 3), 4: (8, 5, 3, 2), 5: (8, 5, 4, 3, 2)}
TECHNIQUE_REPS = {1: (5,), 2: (5, 3), 3: (5, 3, 2), 4: (5, 3, 2, 1), 5: (5, 4, 3, 2, 1)}
"""Falling repetitions (common practice, no source); fewer where technique tires first."""
SMALLEST_SHARE = 0.16
"""A step is at least this part of the first heavier load, so that light loads take fewer warm-ups. Ours."""
PLATE_PART = 12
"""Plates of less than this part of a warm-up's step are left off. Ours."""
LIGHT_BAR_ABOVE = 0.5
"""Where the usual bar alone is more than this part of the first heavier load, warm-ups begin on a lighter bar. Ours."""
EASY_LEFT = 4
"""Repetitions that a warm-up leaves at least, where a max is known. Ours."""
UNDER_TARGET = (2.5, 1.0)
"""Where build-up sets are placed under the target's effort: simulated, better than the pairs beside it. [RPE]."""
STEPS_BETWEEN = 2
"""At most so many warm-ups where a lift of the same family was worked before: common practice, no source. [sets]."""
PLANNED_PERCENTS = (90, 95)
"""Build-up sets where no effort is known (common practice, no source). [%]."""


def build_ups(g: Grounds, aim: Aim, top: Draft) -> list[Draft]:
    """Build-up sets to a heaviest set: strictly rising, strictly lighter than it.

    What the scheme states, else the settings, else `UNDER_TARGET` with the target's repetitions. Steps that round to
    the same load as another one or as the top are dropped.
    """
    if top.kg is None or top.load is None or top.reps is None:
        return []
    stated = g.slot.scheme.build_up if isinstance(g.slot.scheme, TopSet) else None
    plan = stated if stated is not None and (stated.rpes or stated.percents) else g.ctx.settings.build_up
    reps = max(g.fewest, (stated.reps if stated is not None else None) or plan.reps or round(top.middle))
    found: list[Draft] = []
    for draft in (*_by_effort(g, aim, top, plan, reps), *_by_percent(g, top, plan, reps)):
        if heavier(top.load, draft.load or top.load) and (not found or _rises(found[-1], draft)):
            draft.provisional = top.provisional
            found.append(draft)
    return found


def build_ups_before(slot: Slot, ctx: Context) -> int:
    """How many build-up sets are planned before a slot's work, where there are any. [sets]"""
    stated = slot.scheme.build_up if isinstance(slot.scheme, TopSet) else None
    plan = stated if stated is not None and (stated.rpes or stated.percents) else ctx.settings.build_up
    return len(plan.rpes or plan.percents or UNDER_TARGET)


def _rises(before: Draft, draft: Draft) -> bool:
    return before.load is not None and draft.load is not None and heavier(draft.load, before.load)


def _by_effort(g: Grounds, aim: Aim, top: Draft, plan: BuildUp, reps: int) -> list[Draft]:
    if plan.percents or g.able is None or g.ability is None:
        return []
    rpes = plan.rpes or _under_target(g, aim, top)
    own = not plan.rpes and _stands_alone(g, aim)
    return [_at_effort(g, g.able, top, float(rpe), reps, ease=not own) for rpe in sorted(rpes) if rpe >= 1]


def _stands_alone(g: Grounds, aim: Aim) -> bool:
    """Whether a coach's load or cap stands for the target's effort."""
    capped = g.cap is not None and g.cap.unit != "step" and aim.kg is not None and g.effective(g.cap) < aim.kg
    return aim.asked_rpe is None or capped


def _under_target(g: Grounds, aim: Aim, top: Draft) -> tuple[float, ...]:
    """Efforts under the target's; under the expected one where a coach's load or cap stands for it. [RPE]."""
    base = top.expected if _stands_alone(g, aim) else aim.asked_rpe
    return () if base is None else tuple(min(base, 10.0) - under for under in UNDER_TARGET)


def _at_effort(g: Grounds, able: Found, top: Draft, rpe: float, reps: int, *, ease: bool) -> Draft:
    """`ease`: on the way back it is lighter, as the work is; a coach's load stands as it is. [RPE], [reps]"""
    draft = Draft(role="build_up", reps=reps, how=" on the way up")
    kg = g.load_for(reps, rpe) or 0.0
    draft.why.append(partial(_at_effort_why, g, able, rpe, reps, kg / able.kg))
    if ease:
        kg, lighter = eased_load(g, kg)
        draft.why += lighter
    hang_draft(draft, g, kg, below=top.load)
    return draft


def _at_effort_why(g: Grounds, able: Found, rpe: float, reps: int, part: float) -> Step:
    """From the max to a build-up set. [RPE], [reps], [1]."""
    share, kg = 100 * part, able.kg * part
    begins, asked = _asked_of_build_up(rpe, reps)
    text = f"{begins}, {words.number(share, 2)} % of {words.mass(able.kg, g.unit)}, is {words.mass(kg, g.unit)}."
    inputs = (*asked, Named("share", tidy(share, 2), "percent"), g.named("max", able.kg))
    return Step(text, "build_up", inputs, g.named("exact", kg))


@lru_cache(maxsize=1024)  # templates ask for few different efforts and repetitions
def _asked_of_build_up(rpe: float, reps: int) -> tuple[str, tuple[Named, ...]]:
    """What a build-up set asks for: the begin of its sentence, and what goes in. [RPE], [reps]"""
    left = 10 - rpe
    begins = (
        f"A build-up set at RPE {words.number(rpe)} tells how today is: {words.plural(reps, 'repetition')} with "
        f"{words.number(left)} left"
    )
    return begins, (
        Named("reps", reps, "reps"),
        Named("rpe", tidy(rpe, 1), "rpe"),
        Named("left", tidy(left, 1), "reps"),
    )


def _by_percent(g: Grounds, top: Draft, plan: BuildUp, reps: int) -> list[Draft]:
    by_effort = g.able is not None and g.ability is not None
    percents = plan.percents or (() if plan.rpes or by_effort else PLANNED_PERCENTS)
    found = []
    for percent in sorted(percents):
        draft = Draft(role="build_up", reps=reps, how=" on the way up")
        kg = (top.kg or 0) * percent / 100
        text = (
            f"A build-up set: {words.number(percent, 2)} % of the planned {words.mass(top.kg or 0, g.unit)} "
            f"is {words.mass(kg, g.unit)}."
        )
        inputs = (g.named("planned", top.kg or 0), Named("percent", percent, "percent"))
        draft.why.append(Step(text, "build_up", inputs, g.named("exact", kg)))
        hang_draft(draft, g, kg, below=top.load)
        found.append(draft)
    return found


def warm_ups(g: Grounds, first: Draft, after: Lift | None = None) -> list[Draft]:
    """Warm-ups to the first heavier set: from the lightest implement in at most five equal steps.

    After a lift of the same family that was worked in this session only the last of them, `STEPS_BETWEEN` at most,
    and none with the lightest implement.

    Dumbbells and machines start at the step nearest to a fifth of the way, since their lightest is no load at all.
    A step is at least two of the smallest steps at the place, and `SMALLEST_SHARE` of the first heavier load. Loads
    rise strictly and stay below it; repetitions fall, and leave `EASY_LEFT` where a max is known.
    """
    if first.kg is None or first.load is None or first.reps is None or g.lightest is None:
        return []
    start = _start(g, first.load, first.kg)
    if start is None:
        return []
    base = g.effective(start)
    way = first.kg - base
    smallest = smallest_step_kg(base - g.body_kg, g.lift, g.ctx.kit, unit=g.unit) or 0.0
    step = max(2 * smallest, SMALLEST_SHARE * first.kg, way / MOST_WARM_UPS)
    count = max(1, min(MOST_WARM_UPS, floor(way / step + 1e-9)))
    if g.lift.load_kind == "bodyweight" and g.ctx.body_weight_kg is None:
        count = 1  # how much of the whole the added load is, nobody knows
    reps = (TECHNIQUE_REPS if g.lift.technique else REPS)[count]
    kit = _easy_plates(g, way / count)
    found: list[Draft] = []
    shared = cache(partial(_climbing, g, start, first.load, after))
    for at in range(count):
        draft = _warm_up(g, first.load, base + way * at / count, reps[at], kit)
        if draft is not None and (not found or _rises(found[-1], draft)):
            draft.why.append(partial(_why, shared, draft.load))
            draft.text = partial(_text, g, start)
            found.append(draft)
    return found if after is None else found[1:][-STEPS_BETWEEN:]


def _start(g: Grounds, first: Load, first_kg: float) -> Load | None:
    """Where warm-ups begin; None where nothing is lighter than the first heavier set."""
    if g.lightest is None:
        return None
    start = g.lightest.load
    if g.light_bar is not None:
        usual = hang(0, g.lift, g.ctx.kit, unit=g.unit).load  # that bar alone
        start = usual if usual.grains <= LIGHT_BAR_ABOVE * first.grains else start
    if g.lift.load_kind in ("per_hand", "stack"):
        fifth = hang_under(g, first_kg / MOST_WARM_UPS).load
        start = fifth if heavier(fifth, start) else start
    return start if heavier(first, start) else None


def _easy_plates(g: Grounds, step: float) -> Kit:
    """The place without plates so small that they do not matter to a warm-up: nobody hangs fractions for it [kg]."""
    if g.lift.load_kind != "total":
        return g.ctx.kit
    enough = step * GRAINS_PER_KG / PLATE_PART
    lightest = min((mass for plate in g.ctx.kit.plates if (mass := plate.load.grains) >= enough), default=None)
    return _without_lighter(Place(g.ctx.kit), lightest)


@lru_cache(maxsize=256)
def _without_lighter(place: Place, lightest: int | None) -> Kit:
    """Only plates that are not lighter than one; none without it [1e-11 kg].

    Remembered, so that what can be loaded with them is too.
    """
    kept = tuple(plate for plate in place.kit.plates if lightest is not None and plate.load.grains >= lightest)
    return replace(place.kit, plates=kept)


def _why(shared: Callable[[], tuple[str, tuple[Named, ...]]], load: Load | None) -> Step:
    """The reason of one warm-up."""
    text, inputs = shared()
    return Step(text, "warm_up", inputs, None if load is None else Named("load", load.value, load.unit))


def _climbing(g: Grounds, start: Load, first: Load, after: Lift | None) -> tuple[str, tuple[Named, ...]]:
    """What the reasons of all warm-ups share: the sentence, and what goes in."""
    kind = g.lift.load_kind
    heavy = Named("first_heavier", first.value, first.unit)
    if after is not None:
        text = f"You are warm from the {after.name.lower()}: one or two steps lead up to {words.load(first, kind)}."
        return text, (heavy,)
    text = f"Warm-ups climb from {words.load(start, kind)} towards {words.load(first, kind)} in about even steps."
    return text, (Named("lightest", start.value, start.unit), heavy)


def _text(g: Grounds, start: Load, draft: Draft) -> str:
    return f"{draft.reps} with {_implement(g, draft, start)}, to warm up."


def _warm_up(g: Grounds, first: Load, kg: float, reps: int, kit: Kit) -> Draft | None:
    loading = hang_under(g, kg, rounding="nearest", below=first, kit=kit)
    if not heavier(first, loading.load):
        return None
    effective = g.effective(loading.load)
    expected = g.expected(effective, reps)
    if expected is None:
        return Draft(role="warm_up", reps=reps, loading=loading, load=loading.load, kg=effective)
    fewer = reps - floor(reps + 10 - expected) + EASY_LEFT
    if fewer > 0:
        reps -= fewer
        expected = g.expected(effective, reps) if reps > 0 else None
    if expected is None:
        return None
    return Draft(role="warm_up", reps=reps, loading=loading, load=loading.load, kg=effective, expected=expected)


def _implement(g: Grounds, draft: Draft, start: Load) -> str:
    if draft.load is None:
        return "no load"
    if g.lift.load_kind == "total" and draft.load == start:
        return f"the empty bar ({words.both(start, g.unit).replace(' (', ', ').rstrip(')')})"
    return words.load(draft.load, g.lift.load_kind, g.unit)
