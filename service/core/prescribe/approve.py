"""What a coach's approval has let through: sets that would else have waited say whose it is."""

from __future__ import annotations

from dataclasses import replace

from service.core.answers import Named, PrescribedSet, Step
from service.core.prescribe.bounds import HELD_PERCENT, HELD_RPE, Bounds
from service.core.prescribe.cautions import MINOR_APPROVED
from service.core.prescribe.grounds import Grounds
from service.core.prescribe.obey import Orders, obeyed
from service.core.prescribe.percent_cap import percent_cap
from service.core.records import WORK_ROLES, Override
from service.core.words import number


def approved(sets: tuple[PrescribedSet, ...], g: Grounds, in_force: Orders, *, why: bool) -> tuple[PrescribedSet, ...]:
    """The sets; those that would wait without the approval name it. Loads stay as they are."""
    if in_force.approved is None:
        return sets
    named, step = obeyed(in_force.approved, g.ctx), _step(g, in_force.approved)
    return tuple(
        replace(one, overrides=(*one.overrides, named), why=(*one.why, step) if why else ())
        if one.role in WORK_ROLES and would_wait(one, g)
        else one
        for one in sets
    )


def would_wait(one: PrescribedSet, g: Grounds) -> bool:
    """Whether a work set is harder, or of a technique lift heavier, than what goes without an approval."""
    if any(each.code == MINOR_APPROVED for each in one.cautions):
        return True
    if one.expected_rpe is not None:
        return float(one.expected_rpe) > HELD_RPE
    if g.lift.technique and one.load is not None and one.load.unit != "step":
        most = percent_cap(g.slot, g.ctx, g.lift, Bounds(held=True), None if g.able is None else g.able.kg, 0.0)
        return most is not None and one.load.grains > most[0].grains
    return g.ctx.session_kind in ("test", "meet") or one.reps == 1


def _step(g: Grounds, by: Override) -> Step:
    held = Named("most_rpe", HELD_RPE, "rpe")
    most = f"RPE {number(HELD_RPE)}"
    if g.lift.technique:
        held, most = Named("most_percent", HELD_PERCENT, "percent"), f"{number(HELD_PERCENT)} % of the max"
    return Step(f"Work above {most} waits for an approval; {by.set_by} has approved it.", "approval", (held,), None)
