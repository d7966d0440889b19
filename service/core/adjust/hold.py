"""Hanging a decided load, and the limits that act on any: after a miss, pain or a doubt, and the most effort."""

from __future__ import annotations

from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Decision, Facts, Limit, Planned
from service.core.adjust.fit import Fitted, lowered
from service.core.adjust.judged import Judged
from service.core.adjust.today import Today
from service.core.effort import HIGHEST_RPE
from service.core.records import Role, Rounding
from service.core.units import Load

FOLLOWERS: frozenset[Role] = frozenset({"back_off", "same_load"})


def hang(f: Facts, d: Decision, kg: float, rounding: Rounding | None = None, below: Load | None = None) -> float:
    """Give a set the load for a mass; its effective mass. [kg]"""
    d.loading = found = f.rack.hang(kg, rounding, below)
    d.load, d.kg = found.load, found.kg + f.g.body_kg
    return d.kg


def held(
    f: Facts, today: Today, p: Planned, d: Decision, cap_rpe: float | None, *, after: Judged | None = None
) -> Decision:
    """Limits that act on any load: after a miss or pain, and the effort that a following set may reach.

    `after`: a following set that was too hard; the next one is lighter by that set alone too. [RPE]
    """
    if d.loading is None or d.kg is None:
        return d
    if today.light is not None and d.kg > today.light + 1e-6:
        if hang(f, d, today.light, "down") > today.light + 1e-6:
            return Decision(ends="no_lighter")
        d.limits = (*d.limits, today.light_for or "miss")
    d.unsaid, able = True, today.able
    if cap_rpe is None or able is None or p.role == "open_set" or d.reps is None:
        return d
    return d if after is None and _light_enough(f, p, d, cap_rpe) else _under(f, today, p, d, able, cap_rpe, after)


def _under(
    f: Facts, today: Today, p: Planned, d: Decision, able: Ability, cap_rpe: float, after: Judged | None
) -> Decision:
    """A set brought under an effort where it is above. [RPE]"""
    if d.loading is None or d.kg is None:
        return d
    fitted = Fitted(d.loading, d.kg, d.reps, d.reps_to)

    known: dict[float, float] = {}

    def most(middle: float) -> float:
        if middle not in known:
            known[middle] = _most(f, today, p, able, middle, cap_rpe, after)
        return known[middle]

    if fitted.under(most):
        return d
    light = lowered(f.rack, fitted, able, most)
    if light is None:
        return Decision(ends="too_hard", cap_rpe=cap_rpe)
    names: tuple[Limit, ...] = ("effort" if after is None else "after_hard",)
    if light.reps != fitted.reps and "fewer_reps" not in d.limits:
        names = (*names, "fewer_reps")
    d.limits, d.cap_rpe = (*d.limits, *names), cap_rpe
    d.loading, d.load, d.kg, d.reps, d.reps_to = (
        light.loading, light.loading.load, light.kg, light.reps, light.reps_to,
    )  # fmt: skip
    d.leaves_out = False
    return d


def _light_enough(f: Facts, p: Planned, d: Decision, cap_rpe: float) -> bool:
    """Whether a set is under the limits of its own target already, and so under those of a harder effort. [RPE]"""
    if d.kg is None or d.free_kg is None or d.most_kg is None or d.reps != p.reps or d.kg > d.free_kg:
        return False
    return d.kg <= d.most_kg and f.target_rpe is not None and f.target_rpe <= cap_rpe


def _most(
    f: Facts, today: Today, p: Planned, able: Ability, middle: float, cap_rpe: float, after: Judged | None
) -> float:
    """The heaviest load for repetitions under an effort; by the model, sets of today have a say too. [RPE], [kg]"""
    most = able.most(middle, cap_rpe if f.g.rpe_cap is None else min(cap_rpe + f.g.near, HIGHEST_RPE))
    if not isinstance(able, ByModel):
        return most
    made = today.easily if p.role == "same_load" else max(today.made, today.easily)
    if made > most and middle <= f.reps and able.expected(made, middle) <= cap_rpe + f.g.near:
        most = made  # it was lifted today: what is left in doubt of it does not matter
    if after is not None and after.kg is not None and after.reported is not None and after.reps:
        most = min(most, after.kg * able.within(middle, cap_rpe) / able.within(after.reps, after.reported))
    return most


def expected(f: Facts, today: Today, kg: float | None, reps: float, p: Planned) -> float | None:
    """Effort by today's max; that of the plan for open sets, none for technique lifts. [RPE]"""
    able = today.able
    if p.role == "open_set" or kg is None or kg <= 0 or able is None or p.reps is None:
        return p.expected
    return None if f.g.lift.technique else able.expected(kg, reps)


def by_what_was_lifted(today: Today, d: Decision) -> None:
    """Sets of today stand above chances: no less than what was clearly easy, no more than what was clearly hard."""
    if d.exact_kg is None or not isinstance(today.ability, ByModel):
        return
    if d.bound is not None and d.exact_kg < today.easily:
        d.exact_kg = min(today.easily, d.free_kg or today.easily)
    if today.hardly is not None:
        d.exact_kg = min(d.exact_kg, today.hardly)
