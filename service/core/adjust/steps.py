"""Going on where loads have no mass: a machine's plain steps, or a body that was not weighed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.adjust.judged import Judged
from service.core.adjust.today import Today
from service.core.answers import Loading, StackLoading
from service.core.errors import NotComputable
from service.core.loading.kits import stack_for
from service.core.loading.loading import hang, step_down, step_up
from service.core.prescribe.grounds import Grounds
from service.core.records import Role
from service.core.units import GRAINS_PER_KG, Load

FULL_STEP = 2.0
"""Off by this much, a step of the machine; by less, a repetition: how much a step is, nobody knows. Ours. [RPE]"""


@dataclass(slots=True, kw_only=True)
class Stepped:
    """The next set on a machine's steps."""

    rule: Literal["same_again", "step", "same_load", "for_target"]
    load: Load
    loading: Loading | None
    was: Load
    reps: int | None
    reps_to: int | None
    reps_by: int = 0
    leaves_out: bool = False


def by_steps(
    g: Grounds, today: Today, *, role: Role, target: float | None, reps: int | None, reps_to: int | None,
    least_left_rpe: float | None,
) -> Stepped | None:  # fmt: skip
    """The next set by steps and repetitions; None before a work set with a load. Efforts in [RPE]."""
    last, top = today.last, today.top
    base = top if role in ("back_off", "same_load") and top is not None and top.load is not None else last
    if last is None or last.load is None or base is None or base.load is None or reps is None:
        return None
    follows = role in ("back_off", "same_load")
    hard = least_left_rpe is not None and (last.reported or 0) >= least_left_rpe and last.role == role
    if follows and not hard and last.verdict != "missed":
        if role in ("same_load", last.role):
            kept = last.load if last.role == role else base.load
            hangs = hung(g, kept)
            return Stepped(rule="same_load", load=kept, loading=hangs, was=base.load, reps=reps, reps_to=reps_to)
        return _changed(g, base, base.load, reps, reps_to, -FULL_STEP)
    if follows or last.verdict == "missed":
        return _changed(g, last, last.load, reps, reps_to, -FULL_STEP)
    off = None if last.as_asked is None or target is None else last.as_asked - target
    if off is None or abs(off) <= 0.5:
        low, high = last.asked if last.asked[0] is not None and target is not None else (reps, reps_to)
        hangs = hung(g, last.load)
        return Stepped(rule="same_again", load=last.load, loading=hangs, was=last.load, reps=low, reps_to=high)
    return _changed(g, last, last.load, reps, reps_to, -off)


def _changed(g: Grounds, last: Judged, load: Load, reps: int, reps_to: int | None, by: float) -> Stepped:
    """A step, or repetitions: `by` is how much harder the next set should be. [RPE]"""
    if abs(by) >= FULL_STEP:
        stepped = _neighbour(g, load, up=by > 0)
        if stepped is not None:
            return Stepped(rule="step", load=stepped.load, loading=stepped, was=load, reps=reps, reps_to=reps_to)
    change = (1 if by > 0 else -1) * (2 if abs(by) >= FULL_STEP else 1)
    new = max(g.fewest, reps + change)
    low = last.asked[0] if last.asked[0] is not None else reps
    stuck = by < 0 and new >= low and low == g.fewest
    to = None if reps_to is None else max(new, reps_to + change)
    return Stepped(
        rule="for_target", load=load, loading=hung(g, load), was=load, reps=new, reps_to=to, reps_by=new - reps,
        leaves_out=stuck,
    )  # fmt: skip


def _neighbour(g: Grounds, load: Load, *, up: bool) -> Loading | None:
    try:
        return (step_up if up else step_down)(load, g.lift, g.ctx.kit, unit=g.unit)
    except NotComputable:  # nothing is listed for this lift here
        return None


def hung(g: Grounds, load: Load) -> Loading | None:
    """A load as it hangs; None where the place has nothing for it."""
    try:
        if load.unit != "step":
            return hang(load.grains / GRAINS_PER_KG, g.lift, g.ctx.kit, unit=g.unit)
        steps = stack_for(g.ctx.kit, g.lift.id).steps
    except NotComputable:
        return None
    number = next((at for at, listed in enumerate(steps, 1) if listed == load), None)
    return None if number is None else StackLoading(exact=None, load=load, difference=None, number=number)
