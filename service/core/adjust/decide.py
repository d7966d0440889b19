"""What comes next in a slot, in numbers: the load, the repetitions, and which rule and which limits made them."""

from __future__ import annotations

from collections.abc import Collection

from service.core.ability.ability import Ability
from service.core.ability.by_curve import ByCurve, share_within
from service.core.ability.by_model import ByModel
from service.core.adjust.by_curve import SURE_RPE, sure_enough
from service.core.adjust.effort_cap import under_effort_cap
from service.core.adjust.facts import Decision, Facts, Planned, middle
from service.core.adjust.fit import MOST_CHANGE, fewer_or_more
from service.core.adjust.hold import FOLLOWERS, by_what_was_lifted, expected, hang, held
from service.core.adjust.judged import Judged
from service.core.adjust.published_step import around, published_step
from service.core.adjust.steady import stands
from service.core.adjust.steps import by_steps
from service.core.adjust.today import Today
from service.core.effort import HIGHEST_RPE, OR_MORE_RPE
from service.core.errors import DomainError
from service.core.estimate.rolling import HEAVY_REPS, MISSED_PART
from service.core.model.load import BUILD_UP_UNITS
from service.core.records import Role
from service.core.slots import TopSet

ON_TARGET = 0.5
"""Sets count as on target while they lie within about one point of each other around it: common practice, no source.
[RPE]"""


def decide(f: Facts, today: Today) -> Decision:
    """The next set of a slot after the sets so far; a load that cannot be made ends it with the reason."""
    if today.over is not None:
        return Decision(ends=today.over)
    at = today.at
    while at < len(f.sets) - today.dropped:
        try:
            found = _set(f, today, f.sets[at])
        except DomainError as refused:
            return Decision(ends="refused", refusal=str(refused))
        if found is not None and found.leaves_out and at + 1 == len(f.sets) - today.dropped:
            return Decision(ends="left_out")
        if found is not None:
            return found
        at += 1
    return Decision(ends="left_out" if today.dropped else "all")


def _set(f: Facts, today: Today, p: Planned) -> Decision | None:
    """One planned set as it is now; None where it has become useless on the way up."""
    found, most = _uncapped(f, today, p), f.g.rpe_cap
    return found if most is None or found is None else under_effort_cap(f, today, p, found, most)


def _uncapped(f: Facts, today: Today, p: Planned) -> Decision | None:
    """As `_set`, whatever effort a coach allows."""
    d = as_planned(p)
    if f.as_planned or (p.reps is None and p.role != "open_set"):
        return held(f, today, p, d, None) if today.light_for == "pain" and f.masses else d
    if p.role in ("warm_up", "build_up"):
        return _on_the_way(f, today, p, d)
    if not f.masses:
        return _by_steps(f, today, p, d)
    if f.fixed and p.role != "back_off" and today.light_for != "pain":
        d.rule, d.unsaid = "fixed", True
        return d
    if f.steady:
        return stands(f, today, p, d)
    if p.role in FOLLOWERS:
        return _follower(f, today, p, d)
    if today.last is None or f.target_rpe is None or f.ascending:
        return _first(f, today, p, d)
    return _again(f, today, p, d)


def complete(f: Facts, today: Today, d: Decision) -> Decision:
    """A decision with what imagined ones are spared: the plan's exact load, and the effort it should be."""
    if d.planned is None:
        return d
    if d.exact_kg is None:
        d.exact_kg = d.planned.exact_kg
    if d.unsaid and f.grows and d.planned.load is not None and d.planned.expected is None:
        d.expected, d.unsaid = None, False  # the plan says nothing of it either: hardly anything is known
    if d.unsaid:
        d.expected, d.unsaid = expected(f, today, d.kg, middle(d.reps, d.reps_to), d.planned), False
    return d


def as_planned(p: Planned) -> Decision:
    """A planned set, unchanged."""
    return Decision(
        planned=p, load=p.load, loading=p.loading, kg=p.kg, reps=p.reps, reps_to=p.reps_to, expected=p.expected,
        was=p.load,
    )  # fmt: skip


def _by_steps(f: Facts, today: Today, p: Planned, d: Decision) -> Decision:
    """Where loads have no mass."""
    found = by_steps(
        f.g, today, role=p.role, target=f.target_rpe, reps=p.reps, reps_to=p.reps_to, least_left_rpe=f.g.most_rpe
    )
    if found is None:
        return d
    if found.leaves_out:
        return Decision(ends="no_lighter")
    d.rule, d.load, d.loading, d.was = found.rule, found.load, found.loading, found.was
    d.reps, d.reps_to = found.reps, found.reps_to
    if found.reps_by:
        d.limits = ("fewer_reps" if found.reps_by < 0 else "more_reps",)
    return d


def _on_the_way(f: Facts, today: Today, p: Planned, d: Decision) -> Decision | None:
    """Warm-ups stay; build-ups by effort follow today's max, or are passed over where they have become pointless."""
    if p.kg is None or not f.masses:
        return d
    if today.light is not None and p.kg > today.light:
        return None
    able = today.able
    if p.role == "warm_up" or f.published or f.target_rpe is None or able is None or able is f.start:
        return d
    # from the load, not the exact one: the plan may have kept it under the top set
    scale = _build_up_scale(f, able, p)
    if scale == 1:
        return d
    d.rule, d.exact_kg = "moved", p.kg * scale
    kg = hang(f, d, d.exact_kg)
    if isinstance(able, ByModel) and d.load == p.load:
        d.rule, d.exact_kg = "planned", None
    if kg <= today.heaviest_build_up + 1e-6 or (today.light is not None and kg > today.light):
        return None
    d.unsaid = True
    return d


def _build_up_scale(f: Facts, able: Ability, p: Planned) -> float:
    """By how much a build-up set follows what is known by now: its own effort, for its own repetitions. [1]"""
    start = f.start
    if start is None:
        return 1.0
    if isinstance(able, ByCurve) or not isinstance(start, ByModel) or p.expected is None:
        return able.kg / start.kg
    places = [one.index for one in f.sets if one.role == "build_up"]
    if p.begun_kg is None:
        p.begun_kg = start.load(p.middle, p.expected, BUILD_UP_UNITS * len(places))
    to_come = BUILD_UP_UNITS * len([place for place in places if place >= p.index])
    return able.load(p.middle, p.expected, to_come) / p.begun_kg


def _first(f: Facts, today: Today, p: Planned, d: Decision) -> Decision:
    """The top set, the first set at target, or one of a rising row."""
    able, start = today.able, f.start
    lowered_today = able is not None and start is not None and able.kg < start.kg
    cap_rpe = f.g.most_rpe if today.last is not None or lowered_today else None
    if f.target_rpe is None:
        return d if p.kg is None else _kept_easier(f, today, p, d, cap_rpe, of=("target_set", "open_set"))
    if f.published and today.build_up is not None and p.exact_kg is not None and not f.ascending:
        factor = _factor_of(today)
        if factor != 1:
            d.rule, d.exact_kg, d.factor = "published_step", p.exact_kg * factor, factor
    elif f.ascending and able is not None and start is not None and p.exact_kg is not None and able.kg != start.kg:
        d.rule, d.exact_kg = "moved", p.exact_kg * able.kg / start.kg
    elif not f.ascending and able is not None and (isinstance(able, ByModel) or p.kg is None or _other(able, start)):
        _aim(f, d, able, p, f.asked_rpe or f.target_rpe)
        by_what_was_lifted(today, d)
        d.rule = "moved"
    if d.exact_kg is None and p.kg is None:
        return d
    if d.rule != "planned":
        _fit(f, today, p, d, p.kg)
        if isinstance(able, ByModel) and d.load == p.load and d.reps == p.reps and d.bound is None:
            d.rule, d.limits, d.leaves_out = "planned", (), False
    if d.rule == "published_step":  # a fixed step knows nothing of the effort that it leads to
        return held(f, today, p, d, f.g.most_rpe)
    return held(f, today, p, d, cap_rpe if f.ascending else None)


def _other(able: Ability, start: Ability | None) -> bool:
    return start is None or able.kg != start.kg


def _aim(f: Facts, d: Decision, able: Ability, p: Planned, rpe: float) -> None:
    """The exact load for an effort, as the set is about to be lifted: under the limits of what is known. [RPE]

    On the way back from an absence it is lighter by what that takes off.
    """
    found = able.bounded(p.middle, rpe, f.g.limit)
    kg = found.kg if f.before is None else min(found.kg, f.before.kg)
    d.exact_kg, d.free_kg, d.most_kg, d.bound = kg * f.ease, found.free_kg * f.ease, found.most_kg, found.bound
    if found.bound is not None:
        d.limits = (*d.limits, "chance")


def _factor_of(today: Today) -> float:
    """The published step by the last build-up set against what it was expected to be; half of it where unsure."""
    judged = today.build_up
    if judged is None or judged.reported is None or judged.expected is None or judged.verdict == "as_expected":
        return 1.0
    asked = around(min(max(judged.expected, OR_MORE_RPE), HIGHEST_RPE))
    factor = published_step(*asked, judged.reported)
    if not judged.halved:
        return factor
    half = 1 + (factor - 1) / 2
    return max(half, published_step(*asked, SURE_RPE)) if sure_enough(judged) else half


def _again(f: Facts, today: Today, p: Planned, d: Decision) -> Decision:
    """A further set at the target: the same again while on target, else the load for it."""
    last, target, able = today.last, f.target_rpe, today.able
    if last is None or last.kg is None or target is None:
        return d
    d.was, d.exact_kg = last.load, last.kg
    off = None if last.as_asked is None else last.as_asked - target
    if off is None or (abs(off) <= ON_TARGET and last.verdict != "missed"):
        d.rule = "same_again"
        if last.asked[0] is not None and p.role != "open_set":
            d.reps, d.reps_to = last.asked
        hang(f, d, last.kg, "nearest")
        return held(f, today, p, d, f.g.most_rpe)
    if f.published:
        d.rule, d.factor = "published_step", published_step(*around(target), min(max(last.as_asked or target, 1), 10))
        d.exact_kg = last.kg * d.factor
    else:
        d.rule = "for_target"
        if able is not None:
            _aim(f, d, able, p, f.asked_rpe or target)
            exact = d.exact_kg
            d.exact_kg = min(exact, _by_last(able, last, p.middle, target)) if off > 0 else max(exact, last.kg)
            if off < 0:
                by_what_was_lifted(today, d)
    _fit(f, today, p, d, last.kg)
    return _not_against(held(f, today, p, d, f.g.most_rpe), last, off)


def _not_against(d: Decision, last: Judged, off: float) -> Decision:
    """With the load of the last set there are no more repetitions after a harder set, and no fewer after a lighter."""
    asked = last.asked[0]
    if d.load is None or d.load != last.load or asked is None or d.reps is None or (d.reps - asked) * off <= 0:
        return d
    d.reps, d.reps_to = last.asked
    return d


def _by_last(able: Ability, last: Judged, reps: float, target: float) -> float:
    """The load by a set that was too hard alone, however far that is from the plan; the model has weighed it. [kg]"""
    kg = last.kg or 0.0
    if not isinstance(able, ByCurve):
        return kg
    curve, possible = able.curve, reps + 10 - target
    shown = last.reps + (MISSED_PART if last.verdict == "missed" else 10 - (last.reported or HIGHEST_RPE))
    return min(kg, kg * share_within(curve, possible) / share_within(curve, shown))


def _follower(f: Facts, today: Today, p: Planned, d: Decision) -> Decision:
    """A back-off or same-load set, from the load that was lifted in the top set."""
    scheme = f.slot.scheme
    plan_top = next((one for one in f.sets if one.role == "top_set"), None)
    base, top_load = (plan_top.kg, plan_top.load) if plan_top is not None else (None, None)
    if today.top is not None and today.top.kg is not None:
        base, top_load = today.top.kg, today.top.load
    if base is None or top_load is None:
        return d
    d.was = top_load
    if p.role == "back_off" and isinstance(scheme, TopSet) and scheme.back_off is not None:
        d.rule, d.exact_kg = "percent_off", base * (1 - float(scheme.back_off.less_percent) / 100)
        below = top_load if scheme.back_off.less_percent > 0 else None
        hang(f, d, d.exact_kg, below=below)
        if below is not None and d.reps is not None and d.load == below and d.reps == _top_reps(f) > f.g.fewest:
            d.reps, d.reps_to = d.reps - 1, None if d.reps_to is None else d.reps_to - 1  # nothing lighter is here
            d.limits = (*d.limits, "fewer_reps")
    else:
        d.rule, d.exact_kg = "same_load", base
        hang(f, d, base, "nearest")
    return _kept_easier(f, today, p, d, f.g.most_rpe, of=FOLLOWERS)


def _kept_easier(
    f: Facts, today: Today, p: Planned, d: Decision, most: float | None, *, of: Collection[Role]
) -> Decision:
    """A set whose load comes from elsewhere than an effort, under the most. [RPE]

    After one of its kind that reached it, half a point more under it, by that set alone too.
    """
    last = today.last
    hard = most is not None and last is not None and last.role in of and (last.as_asked or 0) >= most
    if most is None or last is None or not hard:
        return held(f, today, p, d, most)
    return held(f, today, p, d, most - 0.5, after=last)


def _top_reps(f: Facts) -> int:
    return next((one.reps or 0 for one in f.sets if one.role == "top_set"), 0)


def _fit(f: Facts, today: Today, p: Planned, d: Decision, base_kg: float | None) -> None:
    """Hang the exact load; where the step is too coarse for the correction, change repetitions instead (rule 13)."""
    exact = d.exact_kg or 0.0
    kg = hang(f, d, exact)
    if kg > exact + 1e-6 and (_over(d, kg) or _reaches_limit(f, today, p, kg)):
        kg = hang(f, d, exact, "down")
    settled = p.role == "open_set" or f.ascending or (today.light is not None and (base_kg or 0.0) > today.light)
    if base_kg is None or f.target_rpe is None or p.reps is None or settled:
        return
    harder = exact < (base_kg if today.last is not None else p.exact_kg or base_kg) - 1e-9
    if harder != (exact < base_kg - 1e-9):  # the plan's rounding has corrected already
        return
    if not harder and _capped_above(f, base_kg):  # repetitions are no way past a coach's cap
        return
    asked = today.last.asked[0] if today.last is not None and today.last.asked[0] is not None else p.reps
    able = today.able
    if able is None or (d.bound is not None and base_kg > exact):
        return
    found = fewer_or_more(
        f.rack, able, exact, base_kg=base_kg, chosen_kg=kg, middle=p.middle, rpe=f.target_rpe, reps=p.reps,
        asked=asked, between=_room(f, p, p.reps), harder=harder,
    )  # fmt: skip
    if found == "leave_out":
        d.leaves_out = f.slot.scheme.kind == "sets_at_target" and today.last is not None
    elif found is not None:
        hang(f, d, base_kg, "nearest")
        d.reps, d.reps_to = p.reps + found, None if p.reps_to is None else p.reps_to + found
        if found:
            d.limits = ("fewer_reps" if found < 0 else "more_reps",)


def _room(f: Facts, p: Planned, planned: int) -> tuple[int, int]:
    """The fewest and the most repetitions of a set: near those that the coach wrote, a plan has changed them once.

    A heavy top set stays one, since it tells the day's max.
    """
    written = planned if f.g.written is None else f.g.written
    heavy = p.role == "top_set" and written <= HEAVY_REPS
    return max(f.g.fewest, written - MOST_CHANGE), max(HEAVY_REPS, planned) if heavy else written + MOST_CHANGE


def _capped_above(f: Facts, kg: float) -> bool:
    """Whether the next heavier load is more than a coach allows. [kg]"""
    cap, step = f.g.cap, f.rack.step(kg)
    return cap is not None and cap.unit != "step" and step is not None and kg + step > f.g.effective(cap) + 1e-6


def _over(d: Decision, kg: float) -> bool:
    """Whether a load is past what the chances to pass the limit allow, or what was lifted easily enough. [kg]"""
    return d.most_kg is not None and kg > max(d.most_kg, d.exact_kg or 0.0) * (1 + 1e-9)


def _reaches_limit(f: Facts, today: Today, p: Planned, kg: float) -> bool:
    limit = f.g.limit
    rpe = expected(f, today, kg, p.middle, p)
    if rpe is None:
        return False
    return rpe > 10 if limit is None else rpe >= limit  # as the plan rounds
