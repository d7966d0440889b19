"""Sets of a slot that has no answer: without loads, saying why and what the lifter can go by."""

from __future__ import annotations

from math import floor

from service.core import words
from service.core.answers import PrescribedSet, ResolvedSlot
from service.core.context import Context
from service.core.curves.curves import reach, repetitions
from service.core.errors import DomainError, NotComputable
from service.core.plan.sizes import percent_of_max
from service.core.prescribe import obey
from service.core.prescribe.cautions import no_load
from service.core.prescribe.ease import before_work, eased_slot, in_words
from service.core.prescribe.follow import roles
from service.core.prescribe.parts import count_words, in_parts, whole
from service.core.prescribe.too_heavy import TOO_HEAVY
from service.core.prescribe.until import only_while
from service.core.records import Role
from service.core.slots import DistanceTarget, EffortTarget, Slot, TimeTarget, TopSet

USUAL_RPE = 8.0
"""What a lifter goes by at most where no load is known: two repetitions left. Ours. [RPE]."""
DEFAULT = "default"
"""The curve that percentages are read by where nothing is known of the lifter."""


def without_loads(slot: Slot, ctx: Context, refusal: DomainError) -> ResolvedSlot:
    """A slot's work sets without loads, saying why and what the lifter can go by."""
    in_force = obey.orders(slot.lift, ctx)
    written, slot = slot, whole(obey.doubled(slot, in_force)[0])
    told = tuple(obey.obeyed(one, ctx) for one in in_force.acting)
    order = roles(eased_slot(slot, ctx).scheme)
    caution = no_load(str(refusal), choose=refusal.code not in ("cap_too_light", TOO_HEAVY))
    reps, reps_to = words.target_reps(slot.target)
    cap = in_force.cap.load if in_force.cap is not None else None
    most = "" if cap is None else words.both(cap, ctx.unit)
    counted = _counted(slot, ctx)
    go_by = _go_by(slot, ctx, refusal, in_force.rpe_cap)
    text = f"{counted}: {_reason(refusal)}, so {go_by}{most and f', no more than {most}'}."
    if refusal.code == "cap_too_light" and cap is not None:
        text = f"{counted}: nothing here is as light as the {most} that the coach allows, so ask the coach."
    if refusal.code == TOO_HEAVY:
        text = f"{counted}: the lightest here was too heavy the last time, so choose something easier with the coach."
    sets = tuple(
        PrescribedSet(
            role=role,
            number=order[: at + 1].count(role),
            of=order.count(role),
            reps=reps,
            reps_to=reps_to,
            seconds=slot.target.seconds if isinstance(slot.target, TimeTarget) else None,
            metres=slot.target.metres if isinstance(slot.target, DistanceTarget) else None,
            load=None,
            expected_rpe=None,
            provisional=False,
            rest_seconds=slot.rest_seconds,
            text=_followers_text(role, slot, order[: at + 1].count(role), ctx) or text,
            why=(),
            range=None,
            loading=None,
            cautions=(*before_work(ctx), caution),
            overrides=told,
            without_override=None,
            in_parts=in_parts(slot),
        )
        for at, role in enumerate(order)
    )
    return ResolvedSlot(
        lift=in_force.lift,
        text=in_words(obey.doubled(written, in_force)[0], ctx),
        sets=sets,
        cautions=(*before_work(ctx), caution),
        overrides=told,
        left_out=False,
    )


def _followers_text(role: Role, slot: Slot, number: int, ctx: Context) -> str | None:
    """What follows a top set follows its load, whatever that came to. `number`: of its role, from 1."""
    scheme = slot.scheme
    if role == "same_load":
        return f"{_count(slot, ctx)} with the load of the top set."
    if role == "back_off" and isinstance(scheme, TopSet) and scheme.back_off is not None:
        off = scheme.back_off
        note = only_while(off) if off.until_rpe is not None and number > off.fewest_sets else ""
        return f"{_count(slot, ctx)} with {words.number(off.less_percent, 2)} % less than the top set.{note}"
    return None


def _count(slot: Slot, ctx: Context) -> str:
    target = slot.target
    if isinstance(target, TimeTarget):
        return words.plural(target.seconds, "second")
    if isinstance(target, DistanceTarget):
        return words.plural(target.metres, "metre")
    if target.reps is None:
        return "As many as you choose"
    return count_words(slot, target.reps, target.reps_to, ctx.lifts).removesuffix(",")


def _counted(slot: Slot, ctx: Context) -> str:
    """As `_count`, with a noun: no sentence begins with a bare number and a colon."""
    count = _count(slot, ctx)
    if isinstance(slot.target, TimeTarget | DistanceTarget) or slot.target.reps is None or slot.complex:
        return count
    return f"{count} {'repetition' if count == '1' else 'repetitions'}"


def _reason(refusal: DomainError) -> str:
    known = {
        "no_max": "no max is known",
        "technique_lift": "this lift is not planned by effort",
        "no_body_weight": "no body weight is known",
        "no_mass": "this machine's steps have no mass",
    }
    return known.get(refusal.code, "no load can be worked out here")


def _planned_rpe(slot: Slot, ctx: Context) -> float:
    """The effort that the target names; of a percentage what it stands for by the default curve, to the easier half.

    So nobody is told to go harder than planned because a max is missing; past a curve's ends as at the end. [RPE]
    """
    target = slot.target
    if isinstance(target, EffortTarget):
        return target.asked_rpe
    percent = percent_of_max(slot, ctx.lifts, float(ctx.settings.training_max_percent))
    count = words.middle_reps(target)
    if percent is None or count is None:
        return USUAL_RPE
    low, high = reach(DEFAULT)
    possible = repetitions(DEFAULT, min(max(percent / 100, low), high))
    return floor(2 * (10 + count - possible)) / 2


def _go_by(slot: Slot, ctx: Context, refusal: DomainError, most: float | None) -> str:
    if isinstance(refusal, NotComputable) and refusal.code == "technique_lift":
        return "choose a load that you can lift well"
    rpe = min(_planned_rpe(slot, ctx), USUAL_RPE)
    rpe = rpe if most is None else min(rpe, most)
    if refusal.code == "no_body_weight":
        return f"go on in a way that {words.left(rpe)}"
    return f"choose a load that {words.left(rpe)}"
