"""Loads that stand for a whole slot: those that grow from session to session, of clusters and of complexes.

Reports do not move them up: a load that grows goes by repetitions, and no curve says what a report means in a cluster
or a complex. Sets that are too hard, missed or painful still make the next ones lighter.
"""

from __future__ import annotations

from service.core.adjust.facts import Decision, Facts, Planned
from service.core.adjust.hold import hang, held
from service.core.adjust.judged import Judged
from service.core.adjust.published_step import published_step
from service.core.adjust.today import Today
from service.core.effort import HIGHEST_RPE, LOWEST_RPE

ON_TARGET = 0.5
"""Over the effort asked by no more than this a set is on target: common practice, no source. [RPE]"""


def stands(f: Facts, today: Today, p: Planned, d: Decision) -> Decision:
    """A work set as it is planned, lighter only after a miss, pain, a doubt, or one that was too hard.

    Where the lifter chose the first load, it is the load of the others.
    """
    last = today.last
    if p.kg is None and p.load is None and last is not None and last.kg is not None:
        d.rule, d.was, d.exact_kg = "stands", last.load, last.kg
        if hang(f, d, last.kg, "nearest") > last.kg + 1e-6 and last.load is not None:
            # what was chosen is not of this place: it is what there is, and nothing heavier is asked instead
            d.load, d.loading, d.kg, d.unsaid = last.load, None, last.kg, True
    return held(f, today, p, d, None)


def most_rpe(f: Facts) -> float | None:
    """How hard a set may be before the next one gets lighter; None: as hard as it comes. [RPE]"""
    ends = [f.g.most_rpe] if f.g.most_rpe is not None else []
    if f.target_rpe is not None:
        ends.append(min(f.target_rpe + ON_TARGET, HIGHEST_RPE))
    return min(ends, default=None)


def too_hard(f: Facts, today: Today, judged: Judged) -> None:
    """Bound what follows a work set that was harder than may be: the published step, from what was lifted."""
    most = most_rpe(f)
    if most is None or judged.kg is None or judged.reported is None or judged.reported <= most:
        return
    light = judged.kg * published_step(LOWEST_RPE, max(most, LOWEST_RPE), min(judged.reported, HIGHEST_RPE))
    if today.light is None or light < today.light:
        today.light, today.light_for = light, "hard"
