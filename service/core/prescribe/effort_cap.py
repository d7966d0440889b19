"""No work set harder than a coach allows: a lighter load, fewer repetitions, or fewer sets."""

from __future__ import annotations

from math import ceil

from service.core import words
from service.core.answers import Named, Step
from service.core.errors import NotComputable, OutOfRange
from service.core.estimate.capacity import fatigue_units
from service.core.prescribe.bounds import NEAR
from service.core.prescribe.grounds import Grounds
from service.core.prescribe.lower import give_reps
from service.core.prescribe.one_set import Draft, hang_draft
from service.core.units import tidy


def within(g: Grounds, work: list[Draft]) -> list[Draft]:
    """The work sets of a slot, none harder than `Grounds.rpe_cap`.

    A set that nothing here is light enough for is left out, with those after it. Raises NotComputable
    (`cap_too_light`) where that is the first one.
    """
    if g.rpe_cap is None:
        return work
    fatigue = 0.0
    kept: list[Draft] = []
    for draft in work:
        if _too_hard(g, draft) and draft.role != "open_set":
            _lower(g, draft, fatigue)
        if _too_hard(g, draft):
            if not kept:
                most = words.number(g.rpe_cap)
                raise NotComputable(
                    "cap_too_light", f"Nothing that can be loaded here stays at RPE {most} or easier: ask the coach."
                )
            kept[-1].why.append(_left_out(g, len(work) - len(kept)))
            break
        kept.append(draft)
        fatigue += 0.0 if draft.expected is None else fatigue_units(10 - draft.expected)
    return kept


def _too_hard(g: Grounds, draft: Draft) -> bool:
    return g.rpe_cap is not None and draft.expected is not None and draft.expected > g.rpe_cap + NEAR


def _lower(g: Grounds, draft: Draft, fatigue: float) -> None:
    """A lighter load for the effort allowed, else fewer repetitions. `fatigue`: of the sets before [units]."""
    rpe, held = g.rpe_cap, draft.load
    if rpe is None or held is None:
        return
    try:
        kg = g.load_for(draft.middle, rpe, fatigue)
    except OutOfRange:  # a published curve that does not reach so far
        kg = None
    if kg is not None:
        hang_draft(draft, g, kg, fatigue=fatigue, at_most=held)
        draft.how = draft.how if draft.load == held else ", lighter than the set before"
    if draft.expected is not None and draft.reps is not None and draft.expected > rpe + NEAR:
        count = max(g.fewest, draft.reps - ceil(draft.expected - rpe - NEAR))
        if count < draft.reps:
            give_reps(g, draft, count, fatigue)
            draft.range = draft.possible = None  # those were of the repetitions asked


def _left_out(g: Grounds, count: int) -> Step:
    most = g.rpe_cap or 0.0
    text = f"Nothing here is light enough for more sets at RPE {words.number(most)} or easier: {count} left out."
    return Step(text, "override", (Named("most_rpe", tidy(most, 1), "rpe"),), Named("left_out", count, "sets"))
