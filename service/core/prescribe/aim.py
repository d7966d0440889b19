"""The load that a slot's target asks for, before rounding, with its reason."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache, partial

from service.core import words
from service.core.ability.ability import Ability
from service.core.answers import LoadRange, Named, Reason, Step
from service.core.curves.curves import CURVES
from service.core.errors import NotComputable
from service.core.estimate import spread
from service.core.estimate.rolling import support_class
from service.core.prescribe.basis import Found, age, find_max
from service.core.prescribe.bounds import HELD_RPE
from service.core.prescribe.ease import asked_on_the_way_back, eased_load, eased_rpe
from service.core.prescribe.grounds import Grounds
from service.core.prescribe.two_for_one import no_harder
from service.core.records import Override
from service.core.slots import DistanceTarget, EffortTarget, LoadTarget, PercentTarget, TimeTarget
from service.core.units import Load, say, tidy


@dataclass(slots=True, kw_only=True)
class Aim:
    """What the target comes to. Kilograms are effective; `kg` is None where the lifter chooses."""

    kg: float | None = None
    step: Load | None = None
    """A machine's step without a mass, where that is the load."""
    rpe: float | None = None
    """Effort aimed at, after the effort limit and an absence; None where the target names none. [RPE]."""
    asked_rpe: float | None = None
    """The same before an absence took anything off. [RPE]"""
    steps: tuple[Step | Reason, ...] = ()
    provisional: bool = False
    possible: float | None = None
    """Repetitions to failure behind an effort. [reps]."""
    range: Callable[[], LoadRange] | None = None
    fixed: bool = False
    """A coach's override names the load: it stands."""
    same: bool = False
    """All sets have this load: the rule by which it grows goes by that."""
    ends: tuple[float, float] | None = None
    """Both ends of a percentage band. [kg]."""


def aim(g: Grounds, fixed: Override | None = None) -> Aim:
    """The target's load.

    Raises NotComputable: `technique_lift` (an effort in such a lift), `no_max`, `no_mass` or `no_load` (a percentage
    where nothing has a mass); OutOfRange where the curve does not reach so many repetitions.
    """
    found = _aim(g, fixed)
    if g.bounds.single is None or found.kg is None or (found.rpe is not None and not found.fixed):
        return found
    kg, step = no_harder(g, found.kg)
    part = kg / found.kg if found.kg else 1.0
    ends = None if found.ends is None else (found.ends[0] * part, found.ends[1] * part)
    return replace(found, kg=kg, ends=ends, steps=(*found.steps, step, *body_steps(g, kg)))


def _aim(g: Grounds, fixed: Override | None) -> Aim:
    if fixed is not None and fixed.load is not None:
        return _fixed(g, fixed.load)
    target = g.slot.target
    if isinstance(target, EffortTarget):
        return _effort(g, target)
    if isinstance(target, PercentTarget):
        return _percent(g, target)
    if isinstance(target, LoadTarget | TimeTarget | DistanceTarget) and target.load is not None:
        return _load(g, target.load)
    return Aim()


def _fixed(g: Grounds, load: Load) -> Aim:
    text = f"The coach has fixed the load at {say(load)}."
    step = Step(text, "override", (), Named("fixed_load", load.value, load.unit))
    if load.unit == "step" or g.massless:
        return Aim(step=load, steps=(step,), fixed=True)
    return Aim(kg=g.effective(load), steps=(step,), fixed=True)


def _load(g: Grounds, load: Load) -> Aim:
    text = f"The plan says {say(load)}."
    step = Step(text, "planned_load", (), Named("planned_load", load.value, load.unit))
    if load.unit == "step" or g.massless:
        return Aim(step=load, steps=(step,))
    kg, lighter = eased_load(g, g.effective(load), words.middle_reps(g.slot.target))
    return Aim(kg=kg, steps=(step, *lighter, *(body_steps(g, kg) if lighter else ())))


def _effort(g: Grounds, target: EffortTarget) -> Aim:
    name = g.lift.name.lower()
    if g.lift.technique:
        raise NotComputable(
            "technique_lift",
            f"The {name} cannot be planned by effort: technique ends its sets, not strength, so there is no "
            "repetition curve for it. Use a percentage of a tested or the day's max, or a load.",
        )
    asked = target.asked_rpe
    rpe, limited = _under_limit(g, asked)
    if g.massless or (g.able is None and g.slot.accessory):
        return Aim(rpe=rpe, steps=limited)
    if g.able is None or g.ability is None:
        find_max(g.slot.lift, g.ctx, support=support_class(g.slot.support))  # refuses with its own sentence
        raise NotComputable("no_max", f"No max of the {name} is known.")
    reps = words.middle_reps(target) or float(target.reps)
    left = 10 - rpe
    possible = reps + left
    kg = g.load_for(reps, rpe) or 0.0
    part = kg / g.able.kg
    by_curve = partial(curve_step, g.ability.name, reps, rpe, part)
    of_max = partial(_of_max, g, g.able, part, kg)
    kg, lighter = eased_load(g, kg, reps)
    rpe = asked_on_the_way_back(g, reps, rpe)
    return Aim(
        kg=kg,
        rpe=eased_rpe(g, reps, rpe),
        asked_rpe=rpe,
        steps=(*g.able.steps, *limited, by_curve, of_max, *lighter, *body_steps(g, kg)),
        possible=possible,
        range=partial(load_range, g, g.ability, kg, possible),
    )


def load_range(g: Grounds, ability: Ability, kg: float, possible: float) -> LoadRange:
    """Where a load for an effort, for so many repetitions to failure, is likely to lie. [kg], [reps]"""
    low, high = ability.span(kg, possible)
    return LoadRange(g.wire(low, 1), g.wire(high, 1), spread.LEVEL)


def _under_limit(g: Grounds, asked: float) -> tuple[float, tuple[Step, ...]]:
    """The effort to aim at: one that reaches the limit gives way to the highest half below it."""
    most = g.most_rpe
    if most is None or g.limit is None or asked < g.limit:
        return asked, ()
    text = (
        f"The plan asks for RPE {words.number(asked)}, but work sets stay under {words.number(g.limit)}: "
        f"the load is for RPE {words.number(most)}."
    )
    if g.rpe_cap is not None and most == g.rpe_cap:
        by, formula = "a coach allows no more than", "override"
        if g.bounds.held and most == HELD_RPE:
            by, formula = "until a coach has approved more, work sets stay at", "approval"
        text = f"The plan asks for RPE {words.number(asked)}, but {by} RPE {words.number(most)}."
        return most, (Step(text, formula, (Named("rpe", tidy(asked, 1), "rpe"),), Named("rpe", tidy(most, 1), "rpe")),)
    inputs = (Named("rpe", tidy(asked, 1), "rpe"), Named("effort_limit", tidy(g.limit, 1), "rpe"))
    return most, (Step(text, "effort_limit", inputs, Named("rpe", tidy(most, 1), "rpe")),)


@lru_cache(maxsize=1024)  # templates ask for few different sets
def curve_step(curve: str, reps: float, rpe: float, part: float) -> Step:
    """From repetitions and effort to a share of the max. [reps], [RPE], [1]."""
    left = 10 - rpe
    by = "" if curve == "default" else f" by the curve “{CURVES[curve].title}”" if curve in CURVES else " in this lift"
    means = "nothing left" if left == 0 else f"{words.number(left)} left means a load for {words.number(reps + left)}"
    text = f"{words.plural(reps, 'repetition')} with {means}: about {words.number(100 * part, 0)} % of the max{by}."
    inputs = (
        Named("reps", tidy(reps, 1), "reps"),
        Named("rpe", tidy(rpe, 1), "rpe"),
        Named("left", tidy(left, 1), "reps"),
        Named("possible", tidy(reps + left, 1), "reps"),
    )
    return Step(text, f"{curve}_curve", inputs, Named("share", tidy(100 * part, 2), "percent"))


def _of_max(g: Grounds, found: Found, part: float, kg: float) -> Step:
    old, age_input = age(found)
    text = (
        f"{words.number(100 * part, 2)} % of {found.phrase} of {words.mass(found.kg, g.unit)}{old} "
        f"is {words.mass(kg, g.unit)}."
    )
    inputs = (g.named("max", found.kg), Named("share", tidy(100 * part, 2), "percent"), *age_input)
    return Step(text, "share_of_max", inputs, g.named("exact", kg))


def body_steps(g: Grounds, kg: float) -> tuple[Step, ...]:
    """From an effective mass to what is added to the body; nothing for other lifts. [kg]."""
    if g.lift.load_kind != "bodyweight":
        return ()
    body = words.mass(g.body_kg, g.unit)
    added = kg - g.body_kg
    shown = g.wire(kg)
    if added >= 0:
        more = f"{words.mass(added, g.unit)} is" if shown.value else "nothing is"
        text = f"Body weight is {body} of that: {more} added."
        result = Named("added", shown.value, shown.unit)
    else:
        text = f"Body weight is {body}, more than that: {words.mass(-added, g.unit)} of assistance."
        result = Named("assistance", tidy(-shown.value), shown.unit)
    return (Step(text, "body_weight", (g.named("exact", kg), g.named("body_weight", g.body_kg)), result),)


def _percent(g: Grounds, target: PercentTarget) -> Aim:
    if g.massless:
        code = "no_load" if g.lift.load_kind == "none" else "no_mass"
        what = "is done without a load" if code == "no_load" else "machine lists steps without a mass"
        raise NotComputable(code, f"The {g.lift.name.lower()} {what}: a percentage says nothing here. Use an effort.")
    found = find_max(
        target.of or g.slot.lift,
        g.ctx,
        basis=target.basis,
        support=support_class(g.slot.support),
        valid_days=target.valid_days,
    )
    high = target.percent_to if target.percent_to is not None else target.percent
    percent = (target.percent + high) / 2
    kg, lighter = eased_load(g, found.kg * percent / 100, words.middle_reps(target))
    ends = None if high == target.percent else (found.kg * target.percent / 100, found.kg * high / 100)
    return Aim(
        kg=kg,
        steps=(*found.steps, partial(_percent_step, g, target, found, percent, ends), *lighter, *body_steps(g, kg)),
        provisional=found.provisional,
        ends=None if lighter else ends,
    )


def _percent_step(
    g: Grounds, target: PercentTarget, found: Found, percent: float, ends: tuple[float, float] | None
) -> Step:
    old, age_input = age(found)
    whose = ""
    if target.of is not None and target.of != g.slot.lift:
        of = g.ctx.lifts.get(target.of)
        whose = f" in the {of.name.lower()}" if of is not None else ""
    kg = found.kg * percent / 100
    text = (
        f"{words.number(percent, 2)} % of {found.phrase} of {words.mass(found.kg, g.unit)}{whose}{old} "
        f"is {words.mass(kg, g.unit)}."
    )
    inputs = [g.named("max", found.kg), Named("percent", tidy(percent, 2), "percent"), *age_input]
    if ends is not None:
        low, high = ends
        text += (
            f" That is the middle of {words.band(target.percent, target.percent_to)} %, "
            f"{words.mass(low, g.unit)} to {words.mass(high, g.unit)}."
        )
        inputs += [
            Named("percent_from", target.percent, "percent"),
            Named("percent_to", target.percent_to or target.percent, "percent"),
            g.named("low", low),
            g.named("high", high),
        ]
    return Step(text, "percent_of_basis", tuple(inputs), g.named("exact", kg))
