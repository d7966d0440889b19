"""A coach's decisions: which of them are in force for a slot, and how an answer says that it obeys."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from service.core.answers import Caution, Named, ObeyedOverride, PrescribedSet, Step
from service.core.context import Context
from service.core.prescribe.bounds import FREE, HELD_PERCENT, HELD_RPE, Bounds
from service.core.records import WORK_ROLES, Override, OverrideKind
from service.core.slots import DistanceTarget, Slot, TimeTarget
from service.core.units import Load, Number, say, tidy
from service.core.words import both, day, number, plural, target_reps

ADULT_YEARS = 18
"""From here on nobody waits for an approval without being told. [years]"""


@dataclass(slots=True, kw_only=True)
class Orders:
    """What is in force for a slot's lift on a day, in the order in which it acts."""

    lift: str
    """What is to be done, after exchanges."""
    left_out: Override | None = None
    exchanges: tuple[Override, ...] = ()
    fixed: Override | None = None
    cap: Override | None = None
    """The strictest cap of a load."""
    effort: Override | None = None
    """The strictest cap of an effort."""
    percent: Override | None = None
    """The strictest cap of a percentage."""
    no_singles: Override | None = None
    waits: Override | None = None
    """Says that maximal work needs an approval."""
    approved: Override | None = None
    held: bool = False
    """Maximal work waits for an approval: a coach said so, or the athlete is a minor."""
    lifted: bool = False
    """It would wait, but it is approved."""

    @property
    def change_loads(self) -> bool:
        """Whether an answer may differ from what the calculation alone would say."""
        return bool(self.exchanges or self.fixed or self.cap) or self.bound_otherwise

    @property
    def bound_otherwise(self) -> bool:
        """Whether more than a load is bounded."""
        return bool(self.held or self.effort or self.percent or self.no_singles)

    @property
    def acting(self) -> tuple[Override, ...]:
        """All that may act on a slot that is done, in the order in which they act."""
        told = self.waits if self.held else self.approved if self.lifted else None
        last = (self.fixed, self.cap, self.percent, self.effort, self.no_singles, told)
        return (*self.exchanges, *(one for one in last if one is not None))

    @property
    def rpe_cap(self) -> float | None:
        """No work set is harder than this; None: as hard as the settings allow. [RPE]"""
        ends = [HELD_RPE] if self.held else []
        if self.effort is not None and self.effort.rpe is not None:
            ends.append(float(self.effort.rpe))
        return min(ends, default=None)

    @property
    def bounds(self) -> Bounds:
        """What they allow at most."""
        if not (self.cap or self.approved or self.bound_otherwise):
            return FREE
        return Bounds(
            load=None if self.cap is None else self.cap.load,
            rpe=self.rpe_cap,
            percent=None if self.percent is None else self.percent.percent,
            fewest=1 if self.no_singles is None else 2,
            held=self.held,
            approved=None if self.approved is None else f"{_by(self.approved)} until {day(self.approved.until)}",
        )


def orders(lift: str, ctx: Context) -> Orders:
    """Overrides in force for a lift on `ctx.on`; `until` is included.

    A lift that is left out stays out, whatever else is set. Exchanges are followed from lift to lift (of two for one
    lift the newer id counts), each lift once. Then the overrides of the lift that is to be done, those of every lift
    among them: of two fixed loads the lighter, of the caps of each kind the strictest.
    """
    minor = ctx.age_years is not None and ctx.age_years < ADULT_YEARS
    if not ctx.overrides:
        return Orders(lift=lift, held=minor)
    in_force = [one for one in ctx.overrides if one.until >= ctx.on]
    exchanges: list[Override] = []
    seen = {lift}
    while True:
        own = [one for one in in_force if one.lift == lift]
        left_out = _newest(own, "leave_out")
        if left_out is not None:
            return Orders(lift=lift, left_out=left_out, exchanges=tuple(exchanges))
        onward = [one for one in own if one.kind == "exchange" and one.to_lift and one.to_lift not in seen]
        if not onward:
            break
        newest = max(onward, key=lambda one: one.id)
        exchanges.append(newest)
        lift = newest.to_lift or lift
        seen.add(lift)
    own += [one for one in in_force if one.lift is None]
    approved, waits = _newest(own, "approval"), _newest(own, "needs_approval")
    return Orders(
        lift=lift,
        exchanges=tuple(exchanges),
        fixed=_least(own, "load", _weight),
        cap=_least(own, "cap", _weight),
        effort=_least(own, "cap", lambda one: one.rpe),
        percent=_least(own, "cap", lambda one: one.percent),
        no_singles=_newest(own, "no_singles"),
        waits=waits,
        approved=approved,
        held=approved is None and (minor or waits is not None),
        lifted=approved is not None and (minor or waits is not None),
    )


def _newest(own: list[Override], kind: OverrideKind) -> Override | None:
    return max((one for one in own if one.kind == kind), key=lambda one: one.id, default=None)


def _least(own: list[Override], kind: OverrideKind, size: Callable[[Override], float | None]) -> Override | None:
    """The strictest of a kind; of equals the older. Those without the size are of another kind of cap."""
    fitting = [(found, one.id, one) for one in own if one.kind == kind and (found := size(one)) is not None]
    return min(fitting, key=lambda each: each[:2], default=(0, "", None))[2]


def _weight(one: Override) -> float | None:
    shown = one.load
    if shown is None:
        return None
    return float(shown.value if shown.kg is None else shown.kg)


def doubled(slot: Slot, in_force: Orders) -> tuple[Slot, Bounds]:
    """A slot without singles where a coach wants none, and what is allowed in it.

    One repetition becomes two, a range begins at two; what is gone through in a row is no single.
    """
    bounds, target = in_force.bounds, slot.target
    if in_force.no_singles is None or slot.complex or isinstance(target, TimeTarget | DistanceTarget):
        return slot, bounds
    if target.reps is None or target.reps >= bounds.fewest:
        return slot, bounds
    low, high = target_reps(target)
    planned = ((low or 0) + (high or low or 0)) / 2
    to = None if target.reps_to is None else max(target.reps_to, bounds.fewest)
    changed = replace(target, reps=bounds.fewest, reps_to=None if to == bounds.fewest else to)
    return replace(slot, target=changed), replace(bounds, single=planned)


def obeyed(one: Override, ctx: Context) -> ObeyedOverride:
    """An override in words: what was decided, by whom, until when, why."""
    reason = one.reason.strip().rstrip(".")
    because = f": {reason}" if reason else ""
    whom = "" if one.group is None else f" for {one.group}"
    return ObeyedOverride(
        one.id, one.kind, f"{_decided(one, ctx)}, until {day(one.until)} (decided by {one.set_by}{whom}{because})."
    )


def _by(one: Override) -> str:
    return f"by {one.set_by}"


def _decided(one: Override, ctx: Context) -> str:
    name = _name(one.lift, ctx)
    where = "" if one.lift is None else f" in the {name}"
    if one.kind == "load" and one.load is not None:
        return f"The load for the {name} is fixed at {both(one.load, ctx.unit)}"
    if one.kind == "cap":
        return f"{_bound(one, ctx)}{where}"
    if one.kind == "exchange":
        return f"{_name(one.to_lift, ctx).capitalize()} instead of {name}"
    words = {
        "no_singles": f"No single repetitions{where}",
        "needs_approval": f"Maximal work{where} waits for a coach's approval",
        "approval": f"Maximal work{where} is approved{'' if one.since is None else f' from {day(one.since)} on'}",
    }
    return words.get(one.kind, f"No {name}")


def _bound(one: Override, ctx: Context) -> str:
    if one.load is not None:
        return f"No more than {both(one.load, ctx.unit)}"
    if one.rpe is not None:
        return f"No set harder than RPE {number(one.rpe)}"
    return f"No more than {number(one.percent or 0, 3)} % of the max"


def _name(lift_id: str | None, ctx: Context) -> str:
    if lift_id is None:
        return "any lift"
    known = ctx.lifts.get(lift_id)
    return known.name.lower() if known is not None else lift_id.replace("-", " ")


def needs_approval(in_force: Orders, *, technique: bool = False) -> Caution:
    """Maximal work waits: who can approve it, and what holds until then."""
    whom = "" if in_force.waits is not None else f" of a lifter under {ADULT_YEARS}"
    most = f"{number(HELD_PERCENT)} % of the max or lighter" if technique else f"RPE {number(HELD_RPE)} or easier"
    text = (
        f"Work above {_held_at(technique=technique)}{whom} waits until a coach of this gym has approved it; until then "
        f"work sets stay at {most}. Ask the coach on the floor."
    )
    return Caution("needs_approval", text)


def _held_at(*, technique: bool) -> str:
    """What work sets do not pass while more waits for an approval."""
    return f"{number(HELD_PERCENT)} % of the max" if technique else f"RPE {number(HELD_RPE)}"


class Alone(NamedTuple):
    """A set as it is without any decision."""

    load: Load | None
    reps: int | None
    rpe: Number | None
    """Expected effort. [RPE]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Obeying:
    """What a slot's sets are held against, to tell which decisions changed them."""

    in_force: Orders
    ctx: Context
    cap: Load | None
    """The strictest bound of a load."""
    by_percent: bool
    """That bound is a percentage's."""
    technique: bool

    def names(self, alone: Sequence[Alone]) -> tuple[ObeyedOverride, ...]:
        """Those of the decisions that made a difference to sets; all that could where that cannot be told."""
        orders_, fixed = self.in_force, self.in_force.fixed
        rest = (
            orders_.cap,
            orders_.percent,
            orders_.effort,
            orders_.no_singles,
            orders_.waits if orders_.held else None,
        )
        bounding = [one for one in rest if one is not None]
        acts = [one for one in bounding if one.kind != "no_singles" or not alone or self._acts(one, alone)]
        if fixed is not None:
            acts = [one for one in acts if one is not orders_.cap or (_weight(fixed) or 0.0) > (_weight(one) or 0.0)]
        elif len(bounding) > 1 and alone:
            acts = [one for one in acts if self._acts(one, alone)] or acts
        told = (*orders_.exchanges, *(() if fixed is None else (fixed,)), *acts)
        return tuple(obeyed(one, self.ctx) for one in told)

    def _acts(self, one: Override, alone: Sequence[Alone]) -> bool:
        """Whether any set would pass a bound without it."""
        if one.kind == "no_singles":
            return any(each.reps == 1 for each in alone)
        if one.kind == "needs_approval" or one.rpe is not None:
            most = HELD_RPE if one.rpe is None else float(one.rpe)
            return any(each.rpe is None or float(each.rpe) > most for each in alone)
        if (one.load is None) != self.by_percent or self.cap is None:
            return False
        return any(each.load is None or each.load.grains > self.cap.grains for each in alone)

    def step(self, alone: Alone | None, names: Sequence[ObeyedOverride], reps: int | None) -> Step:
        """What would have been said of a set that now has these repetitions."""
        where = " in the lift that was planned" if self.in_force.exchanges else ""
        begins = "A coach's decision is obeyed"
        inputs: tuple[Named, ...] = ()
        if not names:
            begins = (
                f"Work above {_held_at(technique=self.technique)} of a lifter under {ADULT_YEARS} waits for an approval"
            )
            held = (
                Named("most_percent", HELD_PERCENT, "percent") if self.technique else Named("most_rpe", HELD_RPE, "rpe")
            )
            inputs = (held, Named("adult_years", ADULT_YEARS, "years"))
        formula = "override" if names else "approval"
        if alone is None or alone.load is None:
            return Step(f"{begins}; the calculation names no load{where}.", formula, inputs, None)
        count = ""
        if alone.reps is not None and alone.reps != reps:
            count = f"{plural(alone.reps, 'repetition')} with "
            inputs = (*inputs, Named("reps", alone.reps, "reps"))
        text = f"{begins}; the calculation alone says {count}{say(alone.load)}{where}."
        return Step(text, formula, inputs, Named("without_override", alone.load.value, alone.load.unit))

    def held_back(self, alone: Alone | None) -> bool:
        """Whether a missing approval may have changed a set."""
        if not self.in_force.held:
            return False
        return alone is None or alone.rpe is None or float(alone.rpe) > HELD_RPE

    def waits(self) -> Caution:
        """That maximal work waits for an approval."""
        return needs_approval(self.in_force, technique=self.technique)


def marked(
    sets: tuple[PrescribedSet, ...], alone: tuple[PrescribedSet, ...], obeying: Obeying
) -> tuple[PrescribedSet, ...]:
    """The sets, with what they obey and what the calculation would have said.

    `alone` are the sets without any override; each set is held against that of its role and number. Under a cap alone,
    a set whose load would have been the same obeys nothing and is left as it is. Warm-ups only lead up to the others.
    """
    planned = {(one.role, one.number): Alone(one.load, one.reps, one.expected_rpe) for one in alone}
    names = obeying.names([planned[one.role, one.number] for one in alone if one.role in WORK_ROLES])
    return tuple(
        one if one.role == "warm_up" else _marked(one, planned.get((one.role, one.number)), names, obeying)
        for one in sets
    )


def _marked(
    one: PrescribedSet, planned: Alone | None, names: tuple[ObeyedOverride, ...], obeying: Obeying
) -> PrescribedSet:
    in_force = obeying.in_force
    always = in_force.fixed is not None or bool(in_force.exchanges)
    if one.role == "open_set" and in_force.effort is not None and not always:
        one = _stopped(one, planned, in_force.effort, obeying)
    same = planned is not None and planned.load == one.load and planned.reps == one.reps
    if same and not always and (one.load is not None or not names):
        return _unseen(one, obeying)
    waits = (obeying.waits(),) if obeying.held_back(planned) else ()
    if not names and not waits:
        return one
    step = obeying.step(planned, names, one.reps)
    without = None if planned is None else planned.load
    return replace(
        one, overrides=names, without_override=without, why=(*one.why, step), cautions=(*waits, *one.cautions)
    )


def _stopped(one: PrescribedSet, planned: Alone | None, effort: Override, obeying: Obeying) -> PrescribedSet:
    """An open set that ends earlier by a coach's decision, with a load that is the same."""
    most = effort.rpe
    if planned is None or planned.rpe is None or most is None or planned.rpe <= most or planned.load != one.load:
        return one
    text = f"A coach's decision is obeyed: it stops at RPE {number(float(most))} at the latest."
    step = Step(text, "override", (Named("most_rpe", tidy(float(most), 1), "rpe"),), None)
    return replace(one, overrides=(obeyed(effort, obeying.ctx),), why=(*one.why, step))


def _unseen(one: PrescribedSet, obeying: Obeying) -> PrescribedSet:
    """A set of which nobody can tell how hard it will be is told what holds: a coach's effort, a missing approval."""
    in_force = obeying.in_force
    if one.expected_rpe is not None or one.role == "build_up":
        return one
    names = () if in_force.effort is None else (obeyed(in_force.effort, obeying.ctx),)
    maximal = obeying.ctx.session_kind in ("test", "meet") or one.reps == 1
    waits = in_force.held and maximal and not (obeying.technique and obeying.cap is not None)
    cautions = (obeying.waits(), *one.cautions) if waits else one.cautions
    return replace(one, overrides=names, cautions=cautions)
