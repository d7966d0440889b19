"""How a set moves today's max where a coach has pinned a curve: by the max that it implies, within bounds."""

from __future__ import annotations

from math import sqrt

from service.core.ability.by_curve import ByCurve, implied_kg
from service.core.adjust.judged import Judged
from service.core.effort import HIGHEST_RPE, OR_MORE_RPE
from service.core.estimate.capacity import fatigue_units
from service.core.estimate.rolling import MISSED_PART
from service.core.records import DoneSet

FARTHEST = 0.1
"""Today's max moves by no more than this part of the plan's, so that one slip of the pen cannot double a load. Ours.
[1]"""
EXPECTED_WITHIN = 0.5
"""A report closer than this to what was expected confirms it: lifters report in halves. Ours. [RPE]"""
SURE_RPE = 7.0
"""A build-up set reported lighter than this counts half: repetitions left are told badly when there are many (Zourdos
et al. 2021, JSCR 35(2S):S158-S165, squat: 2.05 +- 1.73 at one left, 5.15 +- 2.92 at five). [RPE]"""
HARD_RPE = 9.0
"""From here on a set bounds the loads after it, however far below the plan it was. Ours. [RPE]"""
UNKNOWN_LEFT = 2.0
"""Repetitions left, for the fatigue of a set of which nothing is known. Ours. [reps]"""


def hear(judged: Judged, before: ByCurve, done: DoneSet, *, teaches: bool) -> None:
    """Judge a set by the max that it implies, and move today's."""
    if not teaches:
        return
    raw = None
    if judged.verdict == "missed":
        if judged.kg is not None:
            raw = implied_kg(judged.kg, max(done.reps + MISSED_PART, 1), before.fatigue, before.curve)
    elif judged.kg is not None and judged.reported is not None and done.reps >= 1:
        raw = implied_kg(judged.kg, done.reps + 10 - judged.reported, before.fatigue, before.curve)
        if judged.expected is None:
            judged.verdict = "first"
        else:
            raw = _against(judged, before, done, raw, judged.reported - judged.expected)
    if raw is not None:
        judged.after = _moved(before, judged, raw)


def _against(judged: Judged, before: ByCurve, done: DoneSet, implied: float, harder_by: float) -> float | None:
    """A report held against what was expected; the max it implies, None where it confirms."""
    easy = judged.reported == OR_MORE_RPE and harder_by > 0 and (judged.expected or 0) <= OR_MORE_RPE
    # a word says a direction: where rounding it to a half would turn that round, it says nothing more
    contrary = (done.felt == "lighter" and harder_by > 0) or (done.felt == "heavier" and harder_by < 0)
    if abs(harder_by) < EXPECTED_WITHIN or easy or contrary or done.felt == "as_expected" or not before.known:
        judged.verdict = "as_expected"
        return None
    judged.halved = done.felt is not None or (done.role == "build_up" and (judged.reported or 0) < SURE_RPE)
    judged.verdict = "harder" if harder_by > 0 else "lighter"
    half = sqrt(before.kg * implied)
    if sure_enough(judged) and done.felt is None and judged.kg is not None:
        # at least as light as the lightest report that counts in full
        half = max(half, implied_kg(judged.kg, done.reps + 10 - SURE_RPE, before.fatigue, before.curve))
    return half if judged.halved else implied


def sure_enough(judged: Judged) -> bool:
    """Whether a set reported lighter than sure was expected to be harder than that, so that it is light for sure."""
    return judged.halved and judged.verdict == "lighter" and (judged.expected or 0) > SURE_RPE


def _moved(before: ByCurve, judged: Judged, raw: float) -> ByCurve:
    """Today's max after a set: within a tenth of the plan's, never raised by a set that was harder or missed."""
    anchor = before.anchor if before.anchor is not None else raw
    after = min(max(raw, anchor * (1 - FARTHEST)), anchor * (1 + FARTHEST))
    if judged.verdict in ("harder", "missed") and before.known:
        raw, after = min(raw, before.kg), min(after, before.max_kg or after)
    bounded = before.ceiling is not None or (judged.reported or 0) >= HARD_RPE
    return ByCurve(before.curve, after, before.fatigue, anchor, raw if raw < after and bounded else None)


def tired(ability: ByCurve, judged: Judged) -> ByCurve:
    """After a work set: repetitions left as reported, else as expected, else two."""
    if judged.reported is not None:
        left = 10 - judged.reported
    else:
        left = UNKNOWN_LEFT if judged.expected is None else HIGHEST_RPE - judged.expected
    fatigue = ability.fatigue + fatigue_units(left)
    return ByCurve(ability.curve, ability.max_kg, fatigue, ability.anchor, ability.ceiling)
