"""A coach's decisions: which of them are in force for a slot, and how an answer says that it obeys."""

from __future__ import annotations

from dataclasses import dataclass, replace

from service.core.answers import Named, ObeyedOverride, PrescribedSet, Step
from service.core.context import Context
from service.core.records import Override
from service.core.units import Load, say
from service.core.words import both, day


@dataclass(slots=True, kw_only=True)
class Orders:
    """What is in force for a slot's lift on a day, in the order in which it acts."""

    lift: str
    """What is to be done, after exchanges."""
    left_out: Override | None = None
    exchanges: tuple[Override, ...] = ()
    fixed: Override | None = None
    cap: Override | None = None

    @property
    def change_loads(self) -> bool:
        """Whether an answer may differ from what the calculation alone would say."""
        return bool(self.exchanges or self.fixed or self.cap)


def orders(lift: str, ctx: Context) -> Orders:
    """Overrides in force for a lift on `ctx.on`; `until` is included.

    A lift that is left out stays out, whatever else is set. Exchanges are followed from lift to lift (of two for one
    lift the newer id counts), each lift once. Then the overrides of the lift that is to be done: of two fixed loads
    the lighter, of the caps the strictest.
    """
    if not ctx.overrides:
        return Orders(lift=lift)
    in_force = [one for one in ctx.overrides if one.until >= ctx.on]
    exchanges: list[Override] = []
    seen = {lift}
    while True:
        own = [one for one in in_force if one.lift == lift]
        left_out = max((one for one in own if one.kind == "leave_out"), key=lambda one: one.id, default=None)
        if left_out is not None:
            return Orders(lift=lift, left_out=left_out, exchanges=tuple(exchanges))
        onward = [one for one in own if one.kind == "exchange" and one.to_lift and one.to_lift not in seen]
        if not onward:
            break
        newest = max(onward, key=lambda one: one.id)
        exchanges.append(newest)
        lift = newest.to_lift or lift
        seen.add(lift)
    return Orders(lift=lift, exchanges=tuple(exchanges), fixed=_lightest(own, "load"), cap=_lightest(own, "cap"))


def _lightest(own: list[Override], kind: str) -> Override | None:
    fitting = [one for one in own if one.kind == kind and one.load is not None]
    return min(fitting, key=_weight, default=None)


def _weight(one: Override) -> tuple[float, str]:
    shown = one.load
    if shown is None:
        return 0.0, one.id
    return float(shown.value if shown.kg is None else shown.kg), one.id


def obeyed(one: Override, ctx: Context) -> ObeyedOverride:
    """An override in words: what was decided, by whom, until when, why."""
    name = _name(one.lift, ctx)
    if one.kind == "load" and one.load is not None:
        text = f"The load for the {name} is fixed at {both(one.load, ctx.unit)}"
    elif one.kind == "cap" and one.load is not None:
        text = f"No more than {both(one.load, ctx.unit)} in the {name}"
    elif one.kind == "exchange":
        text = f"{_name(one.to_lift or '', ctx).capitalize()} instead of {name}"
    else:
        text = f"No {name}"
    reason = one.reason.strip().rstrip(".")
    because = f": {reason}" if reason else ""
    return ObeyedOverride(one.id, one.kind, f"{text}, until {day(one.until)} (decided by {one.set_by}{because}).")


def _name(lift_id: str | None, ctx: Context) -> str:
    if lift_id is None:
        return "any lift"
    known = ctx.lifts.get(lift_id)
    return known.name.lower() if known is not None else lift_id.replace("-", " ")


def marked(
    sets: tuple[PrescribedSet, ...], alone: tuple[PrescribedSet, ...], in_force: Orders, ctx: Context
) -> tuple[PrescribedSet, ...]:
    """The sets, with what they obey and what the calculation would have said.

    `alone` are the sets without any override; each set is held against that of its role and number. Under a cap alone,
    a set whose load would have been the same obeys nothing and is left as it is. Warm-ups only lead up to the others.
    """
    planned = {(one.role, one.number): one for one in alone}
    names = [obeyed(one, ctx) for one in in_force.exchanges]
    fixed, cap = in_force.fixed, in_force.cap
    names += [obeyed(fixed, ctx)] if fixed is not None else []
    if cap is not None and (fixed is None or _weight(fixed) > _weight(cap)):
        names.append(obeyed(cap, ctx))
    always = fixed is not None or bool(in_force.exchanges)
    return tuple(
        one if one.role == "warm_up" else _marked(one, planned.get((one.role, one.number)), tuple(names), always=always)
        for one in sets
    )


def _marked(
    one: PrescribedSet, planned: PrescribedSet | None, names: tuple[ObeyedOverride, ...], *, always: bool
) -> PrescribedSet:
    without = planned.load if planned is not None else None
    if not always and planned is not None and without == one.load and one.load is not None:
        return one
    exchanged = any(name.kind == "exchange" for name in names)
    return replace(one, overrides=names, without_override=without, why=(*one.why, _step(without, exchanged=exchanged)))


def _step(without: Load | None, *, exchanged: bool) -> Step:
    """What would have been said."""
    where = " in the lift that was planned" if exchanged else ""
    if without is None:
        return Step(f"A coach's decision is obeyed; the calculation names no load{where}.", "override", (), None)
    text = f"A coach's decision is obeyed; the calculation alone says {say(without)}{where}."
    return Step(text, "override", (), Named("without_override", without.value, without.unit))
