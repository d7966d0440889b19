"""Going through a slot's sets by its scheme: ladders and tests have their own way, all others share one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Decision, Facts
from service.core.adjust.ladder import climb
from service.core.adjust.ladder_words import ladder_decision, ladder_next
from service.core.adjust.max_test import trial
from service.core.adjust.max_test_state import Trial
from service.core.adjust.max_test_words import trial_decision, trial_next
from service.core.adjust.today import Today
from service.core.adjust.walk import walk
from service.core.answers import Next, PrescribedSet
from service.core.prescribe.stepwise import bounded, is_stepwise
from service.core.records import DoneSet
from service.core.slots import Ladder


def gone_through(f: Facts, sets: Sequence[DoneSet]) -> tuple[Today, Decision]:
    """The state after a slot's sets, in order, and what comes next in numbers."""
    if not is_stepwise(f.slot):
        return walk(f, sets)
    sets = measures(f, sets)
    f = _bounded(f)
    if isinstance(f.slot.scheme, Ladder):
        ladder = climb(f, sets)
        return ladder.today, ladder_decision(f, ladder)
    test = trial(f, sets)
    return test.today, trial_decision(f, test)


def next_step(
    f: Facts,
    planned: Callable[..., PrescribedSet],
    sets: Sequence[DoneSet],
    now: ByModel | None,
    slot_id: str | None,
    *,
    why: bool,
    ahead: bool,
) -> Next:
    """What comes next in a ladder or a test; `planned`: a set of the plan in words, by its place, `why` or without."""
    f, sets = _bounded(f), measures(f, sets)
    if isinstance(f.slot.scheme, Ladder):
        return ladder_next(f, climb(f, sets, now), planned, slot_id, why=why, ahead=ahead)
    return trial_next(f, trial(f, sets, now), planned, slot_id, why=why, ahead=ahead)


def gone_to_test(f: Facts, sets: Sequence[DoneSet]) -> Trial:
    """A test after its sets."""
    return trial(_bounded(f), measures(f, sets))


def measures(f: Facts, sets: Sequence[DoneSet]) -> list[DoneSet]:
    """Those of a ladder's or a test's sets that say something about the next one, and those that hurt."""
    return [one for one in sets if one.method in ("straight", f.method) or one.pain != "none" or one.ended_by == "pain"]


def _bounded(f: Facts) -> Facts:
    return f if f.orders.fixed is None else replace(f, g=bounded(f.g, f.orders))
