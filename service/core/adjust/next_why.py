"""The steps from the sets that were done to the next load: each a sentence, a formula, what went in, what came out."""

from __future__ import annotations

from math import exp

from service.core import words
from service.core.ability.ability import Ability
from service.core.ability.by_curve import ByCurve, share_within
from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Decision, Facts
from service.core.adjust.judged import Judged
from service.core.adjust.today import Today
from service.core.answers import Named, Step
from service.core.estimate.capacity import FATIGUE_PER_UNIT
from service.core.model.load import limit_for
from service.core.prescribe.aim import body_steps, curve_step
from service.core.prescribe.ease import before_step, load_step
from service.core.prescribe.one_set import LIGHTEST_RPE
from service.core.slots import TopSet
from service.core.units import Load, say, tidy

_HELD = frozenset({"effort", "after_hard", "miss", "pain", "doubt", "hard", "chance"})
"""Limits that a load is kept under."""


def why(f: Facts, today: Today, d: Decision) -> tuple[Step, ...]:
    """The reason of the next set."""
    steps = [*judged_why(f, today), *_rule(f, today, d)]
    if d.loading is not None and d.exact_kg is not None and d.rule not in ("planned", "fixed", "step", "no_less"):
        steps += body_steps(f.g, d.exact_kg) if d.rule != "same_again" else ()
    return (*steps, *_limits(f, today, d), *_final(f, d))


def judged_why(f: Facts, today: Today) -> tuple[Step, ...]:
    """What the last set showed; nothing where it taught nothing."""
    judged = today.seen
    if judged is None or judged.load is None or judged.after is None or judged.verdict == "nothing":
        return ()
    if not judged.after.known:
        return ()
    done = f"{judged.reps} with {words.load(judged.load, f.g.lift.load_kind)}"
    inputs = [Named("reps", judged.reps, "reps"), Named("load", judged.load.value, judged.load.unit)]
    if judged.verdict == "missed":
        done += " before a miss"
    elif judged.reported is not None:
        felt = None if today.done is None else today.done.felt
        at = f"RPE {words.number(judged.reported)}"
        done += f" at {at}" if felt is None else f", said to be {words.FELT[felt]} ({at})"
        inputs.append(Named("rpe", tidy(judged.reported, 1), "rpe"))
    hoped = None if judged.expected is None else min(max(judged.expected, LIGHTEST_RPE), 10.0)
    if hoped is not None:
        inputs.append(Named("expected_rpe", tidy(hoped, 1), "rpe"))
    before = judged.before.kg if judged.before is not None and judged.before.known else None
    if before is not None:
        inputs.append(f.g.named("max_before", before))
    text = done + _shown(f, today, judged, before, judged.after.kg, hoped)
    formula = "doubtful" if judged.verdict == "doubtful" else "max_today"
    return (Step(text, formula, tuple(inputs), f.g.named("max_today", judged.after.kg)),)


def _shown(f: Facts, today: Today, judged: Judged, before: float | None, after: float, hoped: float | None) -> str:
    """What a set showed, as the end of its sentence. [kg], [RPE]"""
    now = words.mass(after, f.g.unit)
    if before is None:
        return f" shows a max of {now} today."
    expected = f", expected {words.number(hoped)}" if hoped is not None else ""
    if judged.verdict == "doubtful":
        return f"{expected}: too far off to be believed, so today's max stays {now}."
    half = " (it counts half, as such a report is not sure)" if judged.halved else ""
    stays = abs(after - before) < 0.05
    if today.done is not None and today.done.felt == "as_expected" and stays:
        return f": today's max stays {now}."
    if judged.verdict == "as_expected" and hoped is not None:
        return f"{expected}: as expected, today's max {'stays' if stays else 'is'} {now}."
    if stays:
        return f"{expected}: today's max stays {now}{half}."
    return f"{expected}: today's max goes from {words.mass(before, f.g.unit)} to {now}{half}."


def _rule(f: Facts, today: Today, d: Decision) -> list[Step]:
    if d.planned is None or d.exact_kg is None:
        return _without_mass(d)
    if d.rule in ("moved", "for_target") and d.factor is None:
        return _by_max(f, today, d)
    if d.rule == "published_step" and d.factor is not None:
        return [_published(f, d)]
    if d.rule == "percent_off" and isinstance(f.slot.scheme, TopSet) and f.slot.scheme.back_off is not None:
        less = f.slot.scheme.back_off.less_percent
        base = d.exact_kg / (1 - float(less) / 100) if less != 100 else 0.0
        body = ", body weight included," if f.g.body_kg else ""
        text = (
            f"{words.number(less, 2)} % less than the top set's {words.mass(base, f.g.unit)}{body} "
            f"is {words.mass(d.exact_kg, f.g.unit)}."
        )
        inputs = (f.g.named("top_set", base), Named("less_percent", less, "percent"))
        return [Step(text, "back_off", inputs, f.g.named("exact", d.exact_kg))]
    if d.rule in ("same_load", "same_again", "stands") and d.was is not None:
        set_ = "top set" if d.rule == "same_load" else today.before_next
        text = f"The same load as in the {set_}: {words.load(d.was, f.g.lift.load_kind)}."
        return [Step(text, "same_load", (), _named("load", d.was))]
    return []


def _by_max(f: Facts, today: Today, d: Decision) -> list[Step]:
    """From today's max to the load, by effort or in proportion to the plan."""
    able, p = today.able, d.planned
    if p is None or able is None or d.exact_kg is None:
        return []
    if p.role == "build_up" and p.kg is not None and p.expected is not None and isinstance(able, ByModel):
        return [_build_up(f, p.kg, p.expected, d.exact_kg)]
    planned = p.kg if p.role == "build_up" else p.exact_kg if f.ascending else None
    if f.start is not None and planned is not None:
        plan_max, now = words.mass(f.start.kg, f.g.unit), words.mass(able.kg, f.g.unit)
        text = (
            f"Planned were {words.mass(planned, f.g.unit)} by a max of {plan_max}; "
            f"by {now} it is {words.mass(d.exact_kg, f.g.unit)}."
        )
        of = (f.g.named("planned", planned), f.g.named("max", f.start.kg), f.g.named("max_today", able.kg))
        return [Step(text, "in_proportion", of, f.g.named("exact", d.exact_kg))]
    if f.target_rpe is None:
        return []
    if isinstance(able, ByCurve):
        return _by_curve(f, able, d.exact_kg, p.middle, f.asked_rpe or f.target_rpe)
    return _by_model(f, able, d, d.exact_kg, p.middle, f.asked_rpe or f.target_rpe)


def _build_up(f: Facts, planned: float, rpe: float, exact_kg: float) -> Step:
    """A build-up set keeps its effort. [kg], [RPE]"""
    text = (
        f"Planned were {words.mass(planned, f.g.unit)}, to be about RPE {words.number(rpe)}; by what is known now that "
        f"effort takes {words.mass(exact_kg, f.g.unit)}."
    )
    of = (f.g.named("planned", planned), Named("rpe", tidy(rpe, 1), "rpe"))
    return Step(text, "same_effort", of, f.g.named("exact", exact_kg))


def _by_curve(f: Facts, able: ByCurve, exact_kg: float, middle: float, rpe: float) -> list[Step]:
    now, exact = words.mass(able.kg, f.g.unit), f.g.named("exact", exact_kg)
    share = share_within(able.curve, middle + 10 - rpe)
    lost = 100 * (1 - exp(-FATIGUE_PER_UNIT * able.fatigue))
    tired = f", less {words.number(lost)} % for the work sets done," if able.fatigue else ""
    spent = (Named("fatigue", tidy(lost, 1), "percent"),) if able.fatigue else ()
    inputs = (f.g.named("max_today", able.kg), Named("share", tidy(100 * share, 2), "percent"), *spent)
    whole = able.kg * share * (1 - lost / 100)
    text = f"{words.number(100 * share, 2)} % of {now}{tired} is {words.mass(whole, f.g.unit)}."
    steps = [curve_step(able.curve, middle, rpe, share)]
    if abs(whole - exact_kg) < 0.001:
        return [*steps, Step(text, "share_of_max", inputs, exact)]
    steps += [Step(text, "share_of_max", inputs, f.g.named("exact", whole)), *_as_before(f, whole)]
    whole = _held(f, whole)
    steps += _eased(f, whole)
    whole *= f.ease
    return steps if abs(whole - exact_kg) < 0.001 else [*steps, _other_than(f, able, exact_kg, whole)]


def _held(f: Facts, kg: float) -> float:
    """A load, or what was lifted before an absence where this is less. [kg]"""
    return kg if f.before is None else min(kg, f.before.kg)


def _as_before(f: Facts, kg: float) -> list[Step]:
    """That nothing harder is asked than before an absence. [kg]"""
    return [] if f.before is None or kg <= f.before.kg + 0.001 else [before_step(f.g, kg, f.before)]


def _eased(f: Facts, kg: float) -> list[Step]:
    """What comes off on the way back from an absence. [kg]"""
    ease = f.g.eased
    return [] if ease is None or f.ease >= 1 else [load_step(f.g, ease, kg)]


def _other_than(f: Facts, able: Ability, exact_kg: float, whole: float) -> Step:
    """A set of today spoke against the load by today's max. [kg]"""
    kept = words.mass(exact_kg, f.g.unit)
    then, formula = f"After a set that was too light the load does not fall: {kept}.", "no_fall"
    if exact_kg < whole:
        formula = "last_set_alone"
        then = f"The last set alone speaks for {kept}, which is less, so it counts."
        if not isinstance(able, ByCurve):
            then = f"A set with {kept} was harder than asked today, so it is no more than that."
    return Step(then, formula, (f.g.named("exact", whole),), f.g.named("exact", exact_kg))


def _by_model(f: Facts, able: Ability, d: Decision, exact_kg: float, middle: float, rpe: float) -> list[Step]:
    """From today's max by the lifter's own curve, then what the chance to pass the limit takes off. [kg]"""
    free = (d.free_kg or exact_kg) / f.ease
    share = free / able.kg
    text = (
        f"After the sets so far that is {words.number(100 * share, 2)} % of today's max of "
        f"{words.mass(able.kg, f.g.unit)}: {words.mass(free, f.g.unit)}."
    )
    inputs = (f.g.named("max_today", able.kg), Named("share", tidy(100 * share, 2), "percent"))
    steps = [curve_step(able.name, middle, rpe, share), Step(text, "share_of_max", inputs, f.g.named("exact", free))]
    held = free
    if isinstance(able, ByModel) and d.bound is not None and d.most_kg is not None and f.g.limit is not None:
        held = d.most_kg
        if free - held > 0.05:  # else both are said to be the same
            really, past = d.bound == "true", limit_for(rpe, f.g.limit)
            steps.append(_chance(f, able.chance(d.bound), past, free, held, really=really))
    steps += _as_before(f, held)
    held = _held(f, held)
    steps += _eased(f, held)
    held *= f.ease
    if abs(held - exact_kg) > 0.001:
        steps.append(_other_than(f, able, exact_kg, held))
    return steps


def _chance(f: Facts, chance: float, past: float, free: float, most: float, *, really: bool) -> Step:
    """The load is lower so that the limit is hardly passed. [1], [RPE], [kg]"""
    percent, how = 100 * chance, "really be" if really else "be felt as"
    text = (
        f"With {words.mass(free, f.g.unit)} the chance that it will {how} more than RPE {words.number(past)} is "
        f"over {words.number(percent, 0)} %: {words.mass(most, f.g.unit)} keeps it to that."
    )
    inputs = (f.g.named("exact", free), Named("limit", tidy(past, 1), "rpe"), Named("chance", tidy(percent), "percent"))
    return Step(text, "chance_limit", inputs, f.g.named("exact", most))


def _published(f: Facts, d: Decision) -> Step:
    factor, exact = d.factor or 1.0, d.exact_kg or 0.0
    base = exact / factor
    change = 100 * (factor - 1)
    if change == 0:
        text = f"By the fixed step the load stays {words.mass(base, f.g.unit)}."
    else:
        text = (
            f"By the published fixed step (2 % for each half point off, Helms and others 2018), "
            f"{words.number(abs(change), 2)} % {'more' if change > 0 else 'less'} than {words.mass(base, f.g.unit)} "
            f"is {words.mass(exact, f.g.unit)}."
        )
    inputs = (
        f.g.named("load", base),
        Named("step", 2, "percent"),
        Named("change", tidy(abs(change), 2), "percent"),
        Named("year", 2018, "year"),
    )
    return Step(text, "published_step", inputs, f.g.named("exact", exact))


def _without_mass(d: Decision) -> list[Step]:
    if d.load is None or d.was is None or d.rule in ("planned", "fixed"):
        return []
    if d.rule == "step":
        text = f"The steps here have no mass: from {say(d.was)}, the next one is {say(d.load)}."
        return [Step(text, "next_step", (_named("last", d.was),), _named("load", d.load))]
    return [Step(f"The load stays: {say(d.load)}.", "same_load", (), _named("load", d.load))]


def _limits(f: Facts, today: Today, d: Decision) -> list[Step]:
    steps = []
    if "doubt" in d.limits and today.light is not None:
        text = f"The last set is in doubt: until that is clear, no more than {words.mass(today.light, f.g.unit)}."
        steps.append(Step(text, "after_doubt", (), f.g.named("most", today.light)))
    if "hard" in d.limits and today.light is not None:
        text = (
            "After a set that was too hard the load is lighter by the published fixed step, 2 % for each half point: "
            f"{words.mass(today.light, f.g.unit)} at most."
        )
        steps.append(Step(text, "published_step", (Named("step", 2, "percent"),), f.g.named("most", today.light)))
    if ("miss" in d.limits or "pain" in d.limits) and today.light is not None:
        text = "After a missed repetition" if "miss" in d.limits else "After pain"
        least = "at least 5 % less" if "miss" in d.limits else "about 10 % less"
        part = Named("less_percent", 5 if "miss" in d.limits else 10, "percent")
        light = words.mass(today.light, f.g.unit)
        formula = "after_miss" if "miss" in d.limits else "after_pain"
        text += f" the load is {least}: {light} at most."
        steps.append(Step(text, formula, (part,), f.g.named("most", today.light)))
    able = today.able
    if "after_hard" in d.limits and d.cap_rpe is not None and isinstance(able, ByModel):
        steps.append(_after_hard(today, d.cap_rpe))
    elif ("effort" in d.limits or "after_hard" in d.limits) and d.cap_rpe is not None and able is not None:
        cap = words.number(d.cap_rpe)
        now = words.mass(able.kg, f.g.unit)
        known = ", and how well that is known," if isinstance(able, ByModel) else ""
        text = f"By today's max of {now}{known} this set must be easier to stay at RPE {cap}."
        inputs = (f.g.named("max_today", able.kg),)
        steps.append(Step(text, "effort_limit", inputs, Named("rpe", tidy(d.cap_rpe, 1), "rpe")))
    changed = d.planned is not None and d.reps != d.planned.reps  # else the plan has so many already
    if ("fewer_reps" in d.limits or "more_reps" in d.limits) and changed and d.planned and d.planned.reps is not None:
        planned, count = words.reps(d.planned.reps, d.planned.reps_to), words.reps(d.reps, d.reps_to)
        text = f"The steps between loads are too coarse for that: {count} repetitions instead of {planned}."
        if not f.masses:
            text = f"The repetitions change instead: {count}, planned were {planned}."
        counts = (("planned", d.planned.reps), ("planned_to", d.planned.reps_to), ("reps_to", d.reps_to))
        told = tuple(Named(name, value, "reps") for name, value in counts if value is not None)
        steps.append(Step(text, "repetitions", told, Named("reps", d.reps or 0, "reps")))
    if "no_less" in d.limits and d.load is not None and d.reps is not None:
        steps.append(_no_less(f, d, d.load, d.reps))
    return steps


def _after_hard(today: Today, cap_rpe: float) -> Step:
    """A following set was too hard, as hard as it would have been with the repetitions asked. [RPE]"""
    last = today.last
    was = None if last is None else last.as_asked
    hard = "that was so hard" if was is None else f"at RPE {words.number(min(was, 10))}"
    if last is not None and last.reported is not None and was is not None and was > last.reported:
        asked = words.plural(last.asked[0] or last.reps, "repetition")
        so_hard = f"{words.number(last.reps)} at RPE {words.number(last.reported)}"
        hard = f"of {so_hard}, where {asked} would have been too hard,"
    text = f"After a set {hard} this one stays at RPE {words.number(cap_rpe)} or easier, also by that set alone."
    inputs = () if was is None else (Named("last_rpe", tidy(min(was, 10), 1), "rpe"),)
    return Step(text, "effort_limit", inputs, Named("rpe", tidy(cap_rpe, 1), "rpe"))


def _no_less(f: Facts, d: Decision, load: Load, reps: int) -> Step:
    """What a harder set would bring, which is more than what this one would by itself."""
    asked = f"{words.reps(reps, d.reps_to)} with {words.load(load, f.g.lift.load_kind)}"
    to = () if d.reps_to is None else (Named("reps_to", d.reps_to, "reps"),)
    text = f"A harder set would be followed by {asked}, so no less follows this one."
    return Step(text, "no_less", (Named("reps", reps, "reps"), *to), _named("load", load))


def _final(f: Facts, d: Decision) -> list[Step]:
    """The load that can be loaded, where it is not the one named already."""
    if d.loading is None or d.load is None or d.exact_kg is None or d.load.unit == "step":
        return []
    if "no_less" in d.limits or (d.rule in ("same_again", "same_load", "stands") and d.was == d.load):
        return []
    exact = f.g.wire(d.exact_kg)
    shown = words.load(d.load, f.g.lift.load_kind)
    text = f"The nearest that can be loaded here is {shown}."
    if abs(f.g.effective(d.load) - d.exact_kg) < 0.0005:
        text = f"{shown[0].upper()}{shown[1:]} can be loaded as it is."
    elif _HELD.intersection(d.limits):
        text = f"The nearest that is light enough here is {shown}."
    if d.was == d.load and d.rule != "percent_off":
        text = f"The load stays {shown}."
    return [Step(text, "loadable", (Named("exact", exact.value, exact.unit),), _named("load", d.load))]


def _named(name: str, shown: Load) -> Named:
    return Named(name, shown.value, shown.unit)
