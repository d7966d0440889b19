"""Work sets: the first one, and those that follow it under the effort limit.

Capacity falls from work set to work set (`capacity.fatigue_units`); following sets are lowered where the effort
expected of them would pass half a point under the limit.
"""

from __future__ import annotations

from functools import partial

from service.core import words
from service.core.answers import Named, Step
from service.core.estimate.capacity import fatigue_units
from service.core.prescribe.aim import Aim, body_steps
from service.core.prescribe.bounds import EPSILON
from service.core.prescribe.first import blank, first_set
from service.core.prescribe.grounds import Grounds, heavier, lighter_step
from service.core.prescribe.lower import ON_TARGET, fewer, lower
from service.core.prescribe.one_set import Draft, hang_as_is, hang_draft
from service.core.prescribe.until import tell_until
from service.core.records import Role
from service.core.slots import (
    AscendingSets,
    BackOff,
    Cluster,
    DistanceTarget,
    EffortTarget,
    Ladder,
    OpenLastSet,
    Scheme,
    SetsAtTarget,
    TimeTarget,
    TopSet,
)
from service.core.units import Load, say, tidy

MOST_OPEN = 50
"""An open set is not imagined past so many. Ours. [reps]"""


def roles(scheme: Scheme) -> tuple[Role, ...]:
    """The roles of a scheme's work sets, in order."""
    order: list[Role] = []
    if isinstance(scheme, TopSet):
        order.append("top_set")
        order += ["same_load"] * (scheme.same_load.sets if scheme.same_load else 0)
        order += ["back_off"] * (scheme.back_off.most_sets if scheme.back_off else 0)
    elif isinstance(scheme, OpenLastSet):
        order += ["target_set"] * scheme.sets_before
        order.append("open_set")
    elif isinstance(scheme, AscendingSets):
        order += ["target_set"] * len(scheme.percents)
    elif isinstance(scheme, SetsAtTarget | Cluster):
        order += ["target_set"] * scheme.sets
    elif isinstance(scheme, Ladder):
        order.append("target_set")
    else:
        order.append("top_set")
    return tuple(order)


def work_sets(g: Grounds, aim: Aim, first: Draft) -> list[Draft]:
    """All work sets of a slot that is no rising row, in order, with the first one given. Raises as `hang_draft`."""
    scheme = g.slot.scheme
    order = roles(scheme)
    found = [first]
    fatigue = _cost(first)
    for role in order[1:]:
        before = found[-1]
        if role == "back_off" and isinstance(scheme, TopSet) and scheme.back_off is not None:
            if before.role == "back_off":
                draft = repeat_set(g, before, role, aim_rpe=None, fatigue=fatigue)
            else:
                draft = back_off_set(g, first, scheme.back_off, fatigue=fatigue)
        elif role == "open_set":
            draft = repeat_set(g, before, role, aim_rpe=None, fatigue=fatigue, fixed=aim.fixed)
        else:
            aim_rpe = aim.rpe if role == "target_set" else None
            draft = repeat_set(g, before, role, aim_rpe=aim_rpe, fatigue=fatigue, fixed=aim.fixed or aim.same)
        found.append(draft)
        fatigue += _cost(draft)
    if isinstance(scheme, OpenLastSet):
        _open(g, found[-1], scheme, fatigue - _cost(found[-1]))
    elif isinstance(scheme, TopSet) and scheme.back_off is not None and scheme.back_off.until_rpe is not None:
        tell_until(found, scheme.back_off)
    return found


def load_comes_later(g: Grounds) -> bool:
    """Whether the loads after the first work set come from what is lifted, so that a plan can do without them."""
    scheme, target = g.slot.scheme, g.slot.target
    # nothing follows what was lifted in a test or a meet; holds and carries stay as they are planned
    if g.ctx.session_kind in ("test", "meet") or isinstance(target, TimeTarget | DistanceTarget):
        return False
    return isinstance(scheme, TopSet) or (isinstance(scheme, SetsAtTarget) and isinstance(target, EffortTarget))


def followers(g: Grounds, aim: Aim, first: Draft) -> list[Draft]:  # noqa: ARG001  (as `work_sets`)
    """As `work_sets`, the sets after the first without loads."""
    found = [first]
    for role in roles(g.slot.scheme)[1:]:
        draft = blank(g, role)
        draft.provisional, draft.reps, draft.reps_to = first.provisional, first.reps, first.reps_to
        found.append(draft)
    return found


def _cost(draft: Draft) -> float:
    """Fatigue that a planned set leaves. [units]."""
    return 0.0 if draft.expected is None else fatigue_units(10 - draft.expected)


def repeat_set(
    g: Grounds, before: Draft, role: Role, *, aim_rpe: float | None, fatigue: float, fixed: bool = False
) -> Draft:
    """A set with the load of the one before, lowered where it has become too hard.

    Too hard: expected to be more than `ON_TARGET` over `aim_rpe`, or to pass `Grounds.most_rpe`. A coach's fixed
    load stays. `fatigue`: of the work sets before. [RPE], [units]
    """
    draft = blank(g, role)
    draft.provisional, draft.reps, draft.reps_to = before.provisional, before.reps, before.reps_to
    if before.load is None:
        draft.how = before.how if role == before.role else " with the load of the set before"
        return draft
    if before.other_reps:
        draft.how, draft.other_reps = before.how, True
    if before.loading is not None:
        hang_as_is(draft, g, before.loading, fatigue=fatigue)
    else:
        draft.load = before.load
    if not fixed and _too_hard(g, draft.expected, aim_rpe):
        lower(g, draft, min(one for one in (aim_rpe, g.most_rpe) if one is not None), fatigue)
        return draft
    if role == before.role == "back_off":
        draft.how = before.how
    draft.why.append(partial(_same_load, g, before.load))
    return draft


def _same_load(g: Grounds, load: Load) -> Step:
    text = f"Planned with the same load as the set before: {words.load(load, g.lift.load_kind)}."
    return Step(text, "same_load", (), Named("load", load.value, load.unit))


def _too_hard(g: Grounds, expected: float | None, aim_rpe: float | None) -> bool:
    """Whether a following set is more than is wanted of it, or allowed. [RPE]."""
    if expected is None:
        return False
    off_target = aim_rpe is not None and expected > aim_rpe + ON_TARGET + EPSILON
    return off_target or (g.most_rpe is not None and expected > g.most_rpe + g.near)


def back_off_set(g: Grounds, top: Draft, back_off: BackOff, *, fatigue: float) -> Draft:
    """A set with a stated part of the top set's load taken off, strictly lighter than it.

    Lowered further where it would pass `Grounds.most_rpe`. Where nothing lighter can be loaded, it has a repetition
    less instead. `fatigue`: of the sets before [units].
    """
    draft = blank(g, "back_off")
    draft.provisional, draft.reps, draft.reps_to = top.provisional, top.reps, top.reps_to
    if top.load is None or top.load.unit == "step":
        return _back_off_without_mass(g, draft, top, words.number(back_off.less_percent, 2))
    kg = (top.kg or 0) * (1 - back_off.less_percent / 100)
    draft.why += [partial(back_off_step, g, top.kg or 0, back_off, kg), *body_steps(g, kg)]
    below = top.load if back_off.less_percent > 0 else None
    hang_draft(draft, g, kg, fatigue=fatigue, below=below, limited=False)  # its own limit follows
    most = g.most_rpe
    if most is not None and draft.expected is not None and draft.expected > most + g.near:
        lower(g, draft, most, fatigue)
    if draft.load is not None and heavier(top.load, draft.load):
        fewer_too = " and with fewer repetitions" if (draft.reps or 0) < (top.reps or 0) else ""
        draft.how = f", {_part_off(top, draft, float(back_off.less_percent))} lighter than the top set{fewer_too}"
    elif below is not None and draft.reps == top.reps:
        fewer(g, draft, fatigue)
    return draft


def back_off_step(g: Grounds, top_kg: float, back_off: BackOff, kg: float) -> Step:
    """From the top set to what a back-off set is before limits and rounding. [kg]."""
    less = words.number(back_off.less_percent, 2)
    body = ", body weight included," if g.body_kg else ""
    text = f"{less} % less than the top set's {words.mass(top_kg, g.unit)}{body} is {words.mass(kg, g.unit)}."
    inputs = (g.named("top_set", top_kg), Named("less_percent", back_off.less_percent, "percent"))
    return Step(text, "back_off", inputs, g.named("exact", kg))


def _part_off(top: Draft, draft: Draft, asked: float) -> str:
    """How much lighter than the top set, as it is after rounding: `about 8 %`."""
    off = 100 * (1 - (draft.kg or 0) / (top.kg or 1))
    return f"about {words.number(asked if abs(off - asked) <= 1 else off, 0)} %"


def _back_off_without_mass(g: Grounds, draft: Draft, top: Draft, less: str) -> Draft:
    """Without a mass: the machine's next lighter step, or the lifter's choice."""
    lower = lighter_step(g, top.load) if top.load is not None and g.lift.load_kind == "stack" else None
    if lower is None:
        draft.how = f" with {less} % less than the top set"
        return draft
    draft.load, draft.loading, draft.how = lower.load, lower, ", one step lighter than the top set"
    text = f"The machine's steps have no mass: the next lighter one is {say(lower.load)}."
    draft.why.append(Step(text, "back_off", (), Named("load", lower.load.value, lower.load.unit)))
    return draft


def _open(g: Grounds, draft: Draft, scheme: OpenLastSet, fatigue: float) -> None:
    """Turn the last set into an open one: how far it may go, and what that should come to."""
    draft.reps_to = scheme.most_reps
    stop = float(scheme.stop_rpe) if scheme.stop_rpe is not None else g.most_rpe
    if stop is not None and g.most_rpe is not None:
        stop = min(stop, g.most_rpe)
    with_load = f" with {words.load(draft.load, g.lift.load_kind, g.unit)}" if draft.load is not None else draft.how
    text = f"As many good repetitions as possible{with_load}"
    text += f", {scheme.most_reps} at most" if scheme.most_reps is not None else ""
    text += f"; stop when another one would take you past RPE {words.number(stop)}" if stop is not None else ""
    draft.text = text = f"{text}."
    if draft.kg is None or g.able is None:
        return
    count = 1
    draft.expected = single = g.expected(draft.kg, count, fatigue) or 0.0
    while count < (scheme.most_reps or MOST_OPEN):
        more = g.expected(draft.kg, count + 1, fatigue) or 0.0
        if more > (10 if stop is None else stop) + EPSILON:
            break
        count, draft.expected = count + 1, more
    if g.rpe_cap is not None and draft.reps is not None and count < draft.reps:
        draft.reps = count  # a coach's cap ends it before what the plan asks at least
    to_failure = count + 10 - draft.expected
    draft.expected = min(draft.expected, 10 if stop is None else max(stop, single))
    draft.text = f"{text} About {words.plural(count, 'repetition')} should come of it."
    why = f"By the max that is known, about {words.plural(count, 'repetition')} should be possible."
    inputs = [Named("possible", tidy(to_failure, 1), "reps")]
    if stop is not None:
        why = f"{why[:-1]} up to RPE {words.number(stop)}."
        inputs.append(Named("stop_rpe", tidy(stop, 1), "rpe"))
    draft.why.append(Step(why, "open_set", tuple(inputs), Named("reps", count, "reps")))


def ascending_sets(g: Grounds, aim: Aim, scheme: AscendingSets) -> list[Draft]:
    """One set at each percentage of the target's load. Raises as `hang_draft`."""
    found: list[Draft] = []
    fatigue = 0.0
    for percent in scheme.percents:
        draft = first_set(g, aim, "target_set") if aim.kg is None else _part(g, aim, float(percent), fatigue)
        if aim.kg is None:
            draft.how = f" with {words.number(percent, 2)} % of the last set's load" if percent != 100 else draft.how
        found.append(draft)
        fatigue += _cost(draft)
    return found


def _part(g: Grounds, aim: Aim, percent: float, fatigue: float) -> Draft:
    draft = blank(g, "target_set")
    draft.why.extend(aim.steps)
    draft.provisional = aim.provisional
    whole = aim.kg or 0
    kg = whole * percent / 100
    if percent == 100:
        draft.range, draft.possible = aim.range, aim.possible
    else:
        text = f"{words.number(percent, 2)} % of {words.mass(whole, g.unit)} is {words.mass(kg, g.unit)}."
        inputs = (g.named("target_load", whole), Named("percent", tidy(percent, 2), "percent"))
        draft.why += [Step(text, "ascending", inputs, g.named("exact", kg)), *body_steps(g, kg)]
    hang_draft(draft, g, kg, fatigue=fatigue, limited=not aim.fixed)
    return draft
