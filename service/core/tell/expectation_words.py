"""Sentences about what to expect of a set: for lifters, short, with how often in place of bare chances."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor

from service.core import words
from service.core.answers import Named, Step
from service.core.curves.curves import CURVES
from service.core.prescribe.grounds import Grounds, heavier
from service.core.prescribe.one_set import LIGHTEST_RPE, shown_rpe
from service.core.tell.answers import ChosenLoad, NumberRange, Passing
from service.core.units import Load, tidy

_MOST = 30
"""More possible repetitions are not told apart. The model's own limit. [reps]"""
_SURE = 0.95
"""From here on a chance to make a set is not worth a sentence. Ours. [1]"""


def often(chance: float) -> str:
    """A chance as how often: people read counts better than percentages. [1].

    >>> often(0.32), often(0.06), often(0.004), often(0.98)
    ('in about 3 of 10 such sets', 'in about 1 of 20 such sets', 'hardly ever', 'nearly always')
    """
    if chance >= _SURE:
        return "nearly always"
    if chance >= 0.075:
        return f"in about {max(floor(10 * chance + 0.5), 1)} of 10 such sets"
    for least, of in ((0.035, 20), (0.015, 50), (0.0075, 100)):
        if chance >= least:
            return f"in about 1 of {of} such sets"
    return "hardly ever"


def text(
    g: Grounds,
    load: Load,
    reps: int,
    rpe: float,
    to_make: float | None,
    passes: Sequence[Passing],
    chosen: ChosenLoad | None,
) -> str:
    """The answer in a few short sentences. [reps], [RPE], [1]"""
    said = f"{reps} with {words.load(load, g.lift.load_kind, g.unit)}: this {words.should_leave(rpe)}."
    lighter = chosen is not None and heavier(chosen.planned, load)
    if lighter and chosen is not None and chosen.limit is not None and chosen.overshoot is not None:
        alone = words.load(g.wire(g.effective(chosen.planned), 1), g.lift.load_kind)
        said += (
            f" RPE {words.number(chosen.rpe)} alone would mean {alone}; it is lighter so that RPE "
            f"{words.number(chosen.overshoot.rpe)} is hardly passed."
        )
    if to_make is None:
        return f"{said} A pinned curve tells one effort and no chances."
    last = passes[-1]
    worst = max(float(last.chance_reported or 0), float(last.chance_true or 0))
    said += f" It goes past RPE {words.number(last.rpe)} {often(worst)}."
    if to_make < _SURE:
        all_ = "The repetition goes" if reps == 1 else f"All {reps} repetitions go"
        said += f" {all_} up {often(to_make)}."
    return said


def of_load(g: Grounds, load: Load, kg: float) -> tuple[Step, ...]:
    """From a load that was sent to its part of the max. Effective. [kg]"""
    found = g.able
    if found is None:
        return ()
    steps = [*found.steps]
    if g.lift.load_kind == "bodyweight":
        steps.append(_with_body(g, load, kg))
    part = 100 * kg / found.kg
    shown = words.mass(kg, g.unit)
    said = f"{shown} is {words.number(part)} % of {found.phrase} of {words.mass(found.kg, g.unit)}."
    inputs = (g.named("load", kg), g.named("max", found.kg))
    return (*steps, Step(said, "part_of_max", inputs, Named("share", tidy(part, 2), "percent")))


def _with_body(g: Grounds, load: Load, kg: float) -> Step:
    body = words.mass(g.body_kg, g.unit)
    less = f"less {words.number(-load.value, 2)} {load.unit} of assistance" if load.value < 0 else f"and {_said(load)}"
    said = f"The body of {body} {less} are {words.mass(kg, g.unit)}."
    inputs = (g.named("body_weight", g.body_kg), Named("load", load.value, load.unit))
    return Step(said, "with_body_weight", inputs, g.named("load", kg))


def _said(load: Load) -> str:
    return f"{load.value:g} {load.unit}"


def held(g: Grounds, chance: float, past: float, free: float, most: float, *, really: bool) -> Step:
    """The load is lower so that the limit is hardly passed. [1], [RPE], [kg], [kg]"""
    percent, how = 100 * chance, "really be" if really else "be felt as"
    said = (
        f"With {words.mass(free, g.unit)} the chance that it will {how} more than RPE {words.number(past)} is over "
        f"{words.number(percent, 0)} %: {words.mass(most, g.unit)} keeps it there."
    )
    inputs = (g.named("exact", free), Named("limit", tidy(past, 1), "rpe"), Named("chance", tidy(percent), "percent"))
    return Step(said, "chance_limit", inputs, g.named("exact", most))


def steps(
    g: Grounds, load: Load, reps: int, rpe: float, possible: float, near: NumberRange | None, name: str
) -> tuple[Step, ...]:
    """From the load to the effort and its range. [reps], [RPE], [reps]"""
    shown = shown_rpe(rpe) or 0
    by = f"by the curve “{CURVES[name].title}”" if name in CURVES else "as you report them"
    can = f"With {words.load(load, g.lift.load_kind)} about {words.plural(possible, 'repetition')}"
    if possible > _MOST:
        can = f"With {words.load(load, g.lift.load_kind)} more than {_MOST} repetitions"
    if rpe > 10:
        said = f"{can} can be hoped for {by}: a set of {reps} is likely to be missed."
    elif rpe < LIGHTEST_RPE:
        said = f"{can} are possible {by}, so a set of {reps} is RPE {words.number(LIGHTEST_RPE)} or lighter."
    else:
        said = f"{can} are possible {by}, so a set of {reps} is RPE {words.number(shown)}."
    inputs = (
        Named("load", load.value, load.unit),
        Named("reps", reps, "reps"),
        Named("possible", tidy(possible, 1), "reps"),
    )
    found = [Step(said, "expected_effort", inputs, Named("expected_rpe", shown, "rpe"))]
    if near is not None:
        low, high = words.number(near.low), words.number(near.high)
        said = f"In 8 of 10 such sets the report will lie from RPE {low} to {high}."
        if near.low == near.high:
            said = f"In 8 of 10 such sets the report will be RPE {low} or beyond the scale."
        ends = (Named("low", near.low, "rpe"), Named("high", near.high, "rpe"))
        found.append(Step(said, "effort_range", (*ends, Named("cases", 8, "cases"), Named("of", 10, "cases")), None))
    return tuple(found)


def chance_steps(reps: int, to_make: float | None, passes: Sequence[Passing]) -> tuple[Step, ...]:
    """The chances, each with both of its sides; nothing where a curve is pinned. [reps], [1]"""
    if to_make is None:
        return ()
    made = _percent(to_make)
    all_ = "it goes up" if reps == 1 else f"all {reps} repetitions go up"
    inputs = (Named("reps", reps, "reps"),)
    result = Named("chance_to_make", made, "percent")
    found = [Step(f"The chance that {all_} is {_shown(made)}.", "chance", inputs, result)]
    for one in passes:
        if one.chance_reported is None or one.chance_true is None:
            continue
        told, true = _percent(one.chance_reported), _percent(one.chance_true)
        said = (
            f"The chance that more than RPE {words.number(one.rpe)} will be reported is {_shown(told)}; that it will "
            f"really be more, {_shown(true)}."
        )
        limits = (Named("rpe", one.rpe, "rpe"), Named("chance_true", true, "percent"))
        found.append(Step(said, "chance", limits, Named("chance_reported", told, "percent")))
    return tuple(found)


def _percent(chance: float) -> float:
    return tidy(100 * chance, 0)


def _shown(percent: float) -> str:
    if percent < 1:
        return "under 1 %"
    return "over 99 %" if percent > 99 else f"{words.number(percent, 0)} %"
