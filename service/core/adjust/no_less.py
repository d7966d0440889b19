"""An easier set is never followed by less than a harder one: where rounding turned that round, it is set right.

Loads come in steps, repetitions in whole numbers, and limits act on what was rounded already. Each of these is right by
itself; together they can ask for less after a set that went better.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from service.core.adjust.facts import Decision, Facts
from service.core.adjust.today import Today
from service.core.errors import DomainError
from service.core.units import Number, tidy

REPORTS: tuple[Number, ...] = (1, *(tidy(half / 2) for half in range(11, 21)))
"""The efforts that can be told apart: up to RPE 5 all count alike (`today.judge`). [RPE]"""

FROM_BEFORE = frozenset({"percent_off", "same_load", "fixed"})
"""Rules whose load stands before the report."""
_BY_REPORT = frozenset({"moved", "for_target", "published_step"})
"""Rules whose exact load falls from each report to the next harder one."""
_OF_THE_LOAD = frozenset({"too_hard", "no_lighter"})
"""Ends that come from what can be loaded."""


def free(f: Facts, d: Decision) -> bool:
    """Whether neither the report nor what it left behind had a part in a set."""
    from_before = d.rule in FROM_BEFORE or (d.rule == "planned" and f.target_rpe is None)
    return from_before and d.ends is None and not d.limits


def may_be_less(f: Facts, d: Decision) -> bool:
    """Whether harder reports are worth a look.

    By the calculation an easier report gives no lower load, and as many repetitions, as long as no limit acts. The
    fixed step and today's max are two measures, which can disagree anywhere.
    """
    if d.ends is not None:
        return d.ends in _OF_THE_LOAD and f.masses
    if d.planned is None or d.kg is None or not f.masses or d.planned.role in ("warm_up", "build_up"):
        return False
    return (f.published and not free(f, d)) or bool(d.limits) or d.leaves_out


def may_go_on_too_long(f: Facts, today: Today, d: Decision) -> bool:
    """Whether easier reports are worth a look: one that leaves out the last set leaves it out after harder ones too."""
    p, at_target = d.planned, f.slot.scheme.kind == "sets_at_target" and f.target_rpe is not None
    if p is None or d.ends is not None or not at_target or not f.masses or p.index + 1 != len(f.sets) - today.dropped:
        return False
    return today.last is not None and today.last is today.seen


def no_less(f: Facts, d: Decision, harder: Iterable[Decision]) -> Decision:
    """A decision, raised to the most that harder reports of the same set would bring; these nearest first."""
    for one in harder:
        if d.ends is None and _below(f, one, d.kg or 0.0):
            break
        if one.ends is not None or one.planned is None or (d.ends is None and d.planned is not one.planned):
            continue
        if d.ends is not None:  # no load of its own: what it is worked out from is what stands
            d = _raised(replace(one, rule="no_less", exact_kg=one.kg, factor=None), one)
        elif _size(one) > _size(d):
            d = _raised(d, one)
    return d


def _below(f: Facts, one: Decision, kg: float) -> bool:
    """Whether all rounding up would not bring a decision to a load; nor those after it, from harder sets still. [kg]"""
    if one.ends is not None or one.exact_kg is None or one.rule not in _BY_REPORT or one.exact_kg >= kg:
        return False
    try:
        return f.rack.hang(one.exact_kg, "up").kg + f.g.body_kg < kg - 1e-6
    except DomainError:
        return False


def _size(d: Decision) -> tuple[float, int, int, bool]:
    return d.kg or 0.0, d.reps or 0, d.reps_to or 0, not d.leaves_out


def _raised(d: Decision, one: Decision) -> Decision:
    kept = tuple(limit for limit in one.limits if limit in ("miss", "pain"))
    return replace(
        d, load=one.load, loading=one.loading, kg=one.kg, reps=one.reps, reps_to=one.reps_to, was=d.was or one.was,
        leaves_out=one.leaves_out, limits=(*kept, "no_less"), cap_rpe=None, expected=None, unsaid=True,
    )  # fmt: skip
