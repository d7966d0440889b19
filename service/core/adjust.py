"""From the sets done so far today to the next one: its load, its reason, and what would follow it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from service.core import spread
from service.core.answers import (
    Caution,
    LiftDone,
    LoadRange,
    Next,
    NextSet,
    ObeyedOverride,
    PrescribedSet,
    ResolvedSlot,
    Step,
)
from service.core.cautions import of_set
from service.core.choices import SOME, STOP, WARNING_SIGNS, pain_choice
from service.core.errors import DomainError, NotComputable
from service.core.facts import Decision, Facts, facts
from service.core.grounds import hang_under
from service.core.next_if import next_if
from service.core.next_why import judged_why, why
from service.core.next_words import end_text, set_text, unchanged
from service.core.obey import obeyed
from service.core.one_set import LIGHTEST_RPE
from service.core.prescribe import prescribe, without_loads
from service.core.records import WORK_ROLES, Context, DoneSet
from service.core.slots import Slot
from service.core.today import Today
from service.core.units import Load, tidy
from service.core.walk import walk

_WITHOUT_LOADS = frozenset({"no_max", "no_body_weight"})
"""What keeps loads from being planned, while sets that are done still tell how to go on."""


def next_set(
    slot: Slot,
    ctx: Context,
    done: Sequence[DoneSet],
    *,
    plan: ResolvedSlot | None = None,
    slot_id: str | None = None,
) -> Next:
    """What comes next in a slot, after the sets done so far.

    Parameters
    ----------
    slot : Slot
        What the template asks for.
    ctx : Context
        As the plan was made with; `maxes` without the day's max that this slot's own sets gave.
    done : sequence of DoneSet
        Sets of this slot, in the order in which they were done.
    plan : ResolvedSlot or None
        What was prescribed at the start; None: prescribed anew.
    slot_id : str or None
        Given back in the answer.

    Returns
    -------
    Next
        A set with what would follow its outcomes, a choice after some pain, or the end of the lift.

    Raises
    ------
    NotComputable, OutOfRange
        Where the slot cannot be prescribed at all (`technique_lift`, `unknown_lift`, ...), or a set has two efforts.
    """
    plan = plan if plan is not None else _plan(slot, ctx)
    if plan.left_out:
        return LiftDone(slot=slot_id, text=plan.text, why=(), next_slot=None, cautions=())
    f = facts(slot, ctx, plan)
    today, d = walk(f, done)
    return _Answer(f, plan, today, d, slot_id).next()


def _plan(slot: Slot, ctx: Context) -> ResolvedSlot:
    try:
        return prescribe(slot, ctx)
    except NotComputable as refusal:
        if refusal.code not in _WITHOUT_LOADS:
            raise
        return without_loads(slot, ctx, refusal)


@dataclass(frozen=True, slots=True)
class _Answer:
    """A decision on its way into words."""

    f: Facts
    plan: ResolvedSlot
    today: Today
    d: Decision
    slot_id: str | None

    def next(self) -> Next:
        done = self.today.done
        painful = done is not None and (done.pain == "some" or (done.ended_by == "pain" and done.pain != "stop"))
        if self.today.over is None and painful and self.d.ends not in ("all", "left_out"):
            lighter = None if self.d.ends is not None else self._set(self.d)
            return pain_choice(self.f, lighter, self.slot_id)
        if self.d.ends is not None:
            return self._done()
        one = self._set(self.d)
        values = {name: getattr(one, name) for name in PrescribedSet.__slots__}
        return NextSet(slot=self.slot_id, next_if=next_if(self.f, self.today, self.d), **values)

    def _done(self) -> LiftDone:
        done = self.today.done
        cautions: tuple[Caution, ...] = ()
        if self.today.over == "pain":
            cautions = (STOP, WARNING_SIGNS)
        elif done is not None and (done.pain != "none" or done.ended_by == "pain"):
            cautions = (SOME, WARNING_SIGNS)
        return LiftDone(
            slot=self.slot_id,
            text=end_text(self.today, self.d),
            why=judged_why(self.f, self.today),
            next_slot=None,
            cautions=cautions,
        )

    def _set(self, d: Decision) -> PrescribedSet:
        source = self.plan.sets[d.planned.index if d.planned is not None else 0]
        as_planned = unchanged(d, source)
        expected = source.expected_rpe
        if d.expected is not None:
            expected = tidy(min(max(d.expected, LIGHTEST_RPE), 10.0), 1)
        overrides, without = self._overrides(d, source, as_planned=as_planned)
        left_out = self.today.dropped + d.leaves_out if source.role == "target_set" else 0
        return replace(
            source,
            of=source.of - left_out,
            reps=d.reps,
            reps_to=d.reps_to,
            load=d.load,
            expected_rpe=expected,
            text=set_text(self.f, self.today, d, source),
            why=self._why(d, source, as_planned=as_planned),
            range=source.range if as_planned else self._range(d, source),
            loading=d.loading,
            cautions=self._cautions(d, source),
            overrides=overrides,
            without_override=without,
        )

    def _why(self, d: Decision, source: PrescribedSet, *, as_planned: bool) -> tuple[Step, ...]:
        if as_planned:
            return (*judged_why(self.f, self.today), *source.why)
        return why(self.f, self.today, d)

    def _range(self, d: Decision, source: PrescribedSet) -> LoadRange | None:
        """As wide as any estimate from an effort, around the load by today's max."""
        estimated = d.rule in ("moved", "for_target") and source.role in WORK_ROLES
        if not estimated or d.exact_kg is None or d.planned is None or self.f.target_rpe is None:
            return None
        half = spread.half_percent(d.planned.middle + 10 - self.f.target_rpe) / 100
        g = self.f.g
        return LoadRange(g.wire(d.exact_kg * (1 - half), 1), g.wire(d.exact_kg * (1 + half), 1), spread.LEVEL)

    def _cautions(self, d: Decision, source: PrescribedSet) -> tuple[Caution, ...]:
        if source.role == "warm_up" or d.load is None:
            return source.cautions
        found = of_set(self.f.g, role=source.role, kg=d.kg, expected=d.expected, possible=None, loading=d.loading)
        many = tuple(one for one in source.cautions if one.code == "many_repetitions")
        return (*found, *many, *((SOME,) if self.today.light_for == "pain" else ()))

    def _overrides(
        self, d: Decision, source: PrescribedSet, *, as_planned: bool
    ) -> tuple[tuple[ObeyedOverride, ...], Load | None]:
        """What is obeyed, and the load without it."""
        orders, g = self.f.orders, self.f.g
        if as_planned or orders.exchanges or d.rule == "fixed":
            return source.overrides, source.without_override
        if orders.cap is None or g.cap is None or d.exact_kg is None or d.exact_kg <= g.effective(g.cap):
            return (), None
        try:
            free = hang_under(replace(g, cap=None), d.exact_kg).load
        except DomainError:
            return (), None
        return ((obeyed(orders.cap, g.ctx),), free) if free != d.load else ((), None)
