"""When a set would be too hard: a lighter load, or fewer repetitions where nothing lighter can be loaded."""

from __future__ import annotations

from functools import partial
from math import ceil

from service.core import words
from service.core.answers import Named, Step
from service.core.prescribe.bounds import EPSILON
from service.core.prescribe.grounds import Grounds, hang_under, heavier
from service.core.prescribe.one_set import Draft, hang_as_is, hang_draft
from service.core.prescribe.percent_cap import not_above, strictest
from service.core.units import Load, tidy

ON_TARGET = 0.5
"""A set counts as on target within this much of it (common practice, no source) [RPE]."""
FEW_LESS = 2
"""So many repetitions at most take the place of a lighter load that is far off. Ours. [reps]"""
NOTHING_LIGHTER = "Nothing lighter can be loaded here"


def lower(g: Grounds, draft: Draft, rpe: float, fatigue: float) -> None:
    """Hang what leaves an effort of `rpe` instead of the load that the draft has [RPE], [units]."""
    kg, held, expected = g.load_for(draft.middle, rpe, fatigue), draft.load, draft.expected
    if kg is None or held is None or expected is None:
        return
    draft.why.append(partial(_too_hard, g, held, expected, rpe, kg))
    as_it_was, steps = draft.loading, len(draft.why)
    hang_draft(draft, g, kg, fatigue=fatigue, at_most=_at_most(g, draft, held, rpe, fatigue))
    if as_it_was is not None and _too_light(g, draft, expected, rpe):
        del draft.why[steps:]
        hang_as_is(draft, g, as_it_was, fatigue=fatigue)
        fewer(g, draft, fatigue)
        return
    if draft.load is not None and heavier(held, draft.load):
        draft.how = ", lighter than the set before"
    if g.most_rpe is None or draft.expected is None or draft.expected <= g.most_rpe + g.near:
        return
    if not _next_lighter(g, draft, rpe, fatigue):
        fewer(g, draft, fatigue)


def _too_hard(g: Grounds, held: Load, expected: float, rpe: float, kg: float) -> Step:
    """That a load would be too hard, and what leaves an effort of `rpe` instead [RPE], [kg]."""
    text = (
        f"After the sets before, {words.load(held, g.lift.load_kind)} {words.would_be(expected)}; "
        f"RPE {words.number(rpe)} takes {_mass_of_wire(g, kg)}."
    )
    inputs = (
        Named("load", held.value, held.unit),
        Named("expected_rpe", tidy(expected, 1), "rpe"),
        Named("rpe", tidy(rpe, 1), "rpe"),
    )
    exact = g.wire(kg)
    return Step(text, "effort_limit", inputs, Named("exact", exact.value, exact.unit))


def _next_lighter(g: Grounds, draft: Draft, rpe: float, fatigue: float) -> bool:
    """Where rounding led back to the load that is too hard: the next lighter one, unless it is clearly too light."""
    if draft.loading is None or draft.load is None or g.most_rpe is None or draft.expected is None:
        return False
    hard, held = draft.expected, draft.load
    lighter = hang_under(g, draft.kg or 0.0, below=held)
    then = g.expected(g.effective(lighter.load), draft.middle, fatigue)
    if not heavier(held, lighter.load) or then is None or then > g.most_rpe + g.near:
        return False
    if (draft.reps or 0) > g.fewest and _clearly_lighter(g, hard, then, rpe):
        return False
    kind = g.lift.load_kind
    text = (
        f"{words.load(held, kind)} would pass RPE {words.number(g.most_rpe)}, the most for a following set: the next "
        f"lighter is {words.load(lighter.load, kind)}."
    )
    inputs = (
        Named("load", held.value, held.unit),
        Named("expected_rpe", tidy(hard, 1), "rpe"),
        Named("most_rpe", tidy(g.most_rpe, 1), "rpe"),
    )
    result = Named("load", lighter.load.value, lighter.load.unit)
    draft.why.append(Step(text[0].upper() + text[1:], "effort_limit", inputs, result))
    hang_as_is(draft, g, lighter, fatigue=fatigue)
    draft.how = ", lighter than the set before"
    return True


def _mass_of_wire(g: Grounds, kg: float) -> str:
    """An exact load in words; what is added or taken off where the body is part of it [kg]."""
    if g.lift.load_kind != "bodyweight":
        return words.mass(kg, g.unit)
    added = kg - g.body_kg
    return f"{words.mass(abs(added), g.unit)} {'added' if added >= 0 else 'of assistance'}"


def _at_most(g: Grounds, draft: Draft, held: Load, rpe: float, fatigue: float) -> Load:
    """What rounding may not pass: the load held, and where the wanted effort is the most already, that."""
    if g.most_rpe is None or rpe < g.most_rpe:
        return held
    most = g.most_kg(draft.middle, rpe, fatigue)
    return held if most is None else strictest(held, not_above(most - g.body_kg, g.unit)) or held


def _too_light(g: Grounds, draft: Draft, hard: float, rpe: float) -> bool:
    """Whether a repetition less, or two, with the load that is too hard come clearly nearer than the lighter [RPE]."""
    then, most = draft.expected, hard if g.most_rpe is None else g.most_rpe
    if then is None or then >= rpe or (draft.reps or 0) - FEW_LESS < g.fewest or hard - most > FEW_LESS + g.near:
        return False
    return _clearly_lighter(g, hard, then, rpe)


def _clearly_lighter(g: Grounds, hard: float, then: float, rpe: float) -> bool:
    """Whether an effort is farther from the one aimed at than fewer repetitions, by more than `ON_TARGET` [RPE].

    `hard`: of the load with all repetitions; they are fewer until no more than `Grounds.most_rpe` is left of it.
    """
    most = hard if g.most_rpe is None else g.most_rpe
    by_reps = hard - max(1, ceil(hard - most - g.near))
    return abs(then - rpe) > abs(by_reps - rpe) + ON_TARGET


def fewer(g: Grounds, draft: Draft, fatigue: float) -> None:
    """Nothing lighter can be loaded, or only what is too far off: fewer repetitions take the lighter load's place.

    One less, and more until the effort is in hand; at least one stays. `fatigue`: of the sets before [units].
    """
    if draft.reps is None or draft.reps <= g.fewest or draft.loading is None:
        return
    over = 0.0 if draft.expected is None or g.most_rpe is None else draft.expected - g.most_rpe
    lighter = hang_under(g, draft.kg or 0.0, below=draft.load).load
    step = draft.load is not None and heavier(draft.load, lighter)
    because = "The next lighter load would be too far off" if step else NOTHING_LIGHTER
    give_reps(g, draft, max(g.fewest, draft.reps - max(1, ceil(over - g.near))), fatigue, because)
    lower_load = draft.how and not draft.other_reps
    draft.how = f"{draft.how} and with fewer repetitions" if lower_load else ", with fewer repetitions"


def give_reps(g: Grounds, draft: Draft, count: int, fatigue: float, because: str = NOTHING_LIGHTER) -> None:
    """Fewer repetitions, with the reason; a range keeps its width."""
    if draft.reps is None or draft.loading is None:
        return
    width = 0 if draft.reps_to is None else draft.reps_to - draft.reps
    draft.reps, draft.reps_to = count, None if draft.reps_to is None else count + width
    text = f"{because}, so the repetitions are fewer: {words.reps(draft.reps, draft.reps_to)}."
    inputs = () if draft.reps_to is None else (Named("reps_to", draft.reps_to, "reps"),)
    draft.why.append(Step(text, "fewer_repetitions", inputs, Named("reps", draft.reps, "reps")))
    hang_as_is(draft, g, draft.loading, fatigue=fatigue)


def fit_repetitions(g: Grounds, draft: Draft, rpe: float) -> None:
    """Where even the lightest load is too heavy for the effort asked, fewer repetitions keep the effort [RPE]."""
    too_hard = 10 + EPSILON if g.limit is None else g.limit
    if draft.reps is None or draft.expected is None or draft.expected < too_hard:
        return
    over = draft.expected - rpe  # one repetition less is one point less
    near = ON_TARGET if rpe + ON_TARGET < (10 if g.limit is None else g.limit) else 0.0
    count = max(g.fewest, draft.reps - ceil(over - near - EPSILON))
    if count < draft.reps:
        give_reps(g, draft, count, 0.0)
        draft.range = draft.possible = None  # those were of the repetitions asked
