"""The set about to be lifted is no harder than a coach allows, whatever the sets before have shown."""

from __future__ import annotations

from service.core.adjust.facts import Decision, Facts, Limit, Planned, middle
from service.core.adjust.fit import Fitted, lowered
from service.core.adjust.today import Today
from service.core.effort import HIGHEST_RPE
from service.core.prescribe.bounds import NEAR


def under_effort_cap(f: Facts, today: Today, p: Planned, d: Decision, rpe: float) -> Decision:
    """A work set brought under an effort where it is expected to pass it; the end where nothing is light enough. [RPE]

    A lighter load, or fewer repetitions where that is the smaller change; a fixed load gives way too.
    """
    able = today.able
    if d.ends is not None or d.loading is None or d.kg is None or d.reps is None or able is None:
        return d
    if p.role in ("warm_up", "build_up"):
        return d
    fitted = Fitted(d.loading, d.kg, d.reps, None if p.role == "open_set" else d.reps_to)
    if able.expected(d.kg, middle(fitted.reps, fitted.reps_to)) <= rpe + NEAR:
        return d
    light = lowered(f.rack, fitted, able, lambda reps: able.within(reps, min(rpe + NEAR, HIGHEST_RPE)))
    if light is None:
        return Decision(ends="too_hard", cap_rpe=rpe)
    names: tuple[Limit, ...] = ("effort",)
    if light.reps != fitted.reps and "fewer_reps" not in d.limits:
        names = (*names, "fewer_reps")
    d.limits, d.cap_rpe = (*d.limits, *names), rpe
    d.loading, d.load, d.kg, d.reps = light.loading, light.loading.load, light.kg, light.reps
    d.reps_to = d.reps_to if p.role == "open_set" else light.reps_to
    d.unsaid, d.leaves_out = True, False
    return d
