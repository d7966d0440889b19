"""From the sets done so far today to the next one: its load, its reason, and what would follow it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from service.core.ability.by_model import ByModel
from service.core.adjust import until
from service.core.adjust.begun import begun
from service.core.adjust.by_scheme import next_step
from service.core.adjust.choices import SOME, STOP, WARNING_SIGNS, pain_choice
from service.core.adjust.facts import Decision, Facts, facts
from service.core.adjust.next_if import next_if
from service.core.adjust.next_time import Look, with_next_time
from service.core.adjust.next_why import judged_why, why
from service.core.adjust.next_words import end_text, set_text, unchanged
from service.core.adjust.today import Today
from service.core.adjust.walk import walk
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
from service.core.context import Context
from service.core.errors import DomainError
from service.core.loading.loading import as_it_hangs
from service.core.prescribe.aim import load_range
from service.core.prescribe.bounds import HELD_RPE, NEAR
from service.core.prescribe.cautions import of_set
from service.core.prescribe.ease import cautions as ease_cautions
from service.core.prescribe.grounds import hang_under
from service.core.prescribe.obey import Alone, obeyed
from service.core.prescribe.one_set import shown_rpe
from service.core.prescribe.prescribe import obeying_of
from service.core.prescribe.stepwise import is_stepwise
from service.core.records import WORK_ROLES, DoneSet
from service.core.slots import Slot
from service.core.units import Load


def next_set(
    slot: Slot,
    ctx: Context,
    done: Sequence[DoneSet],
    *,
    plan: ResolvedSlot | None = None,
    slot_id: str | None = None,
    why: bool = True,
    ahead: bool = True,
    now: ByModel | None = None,
    look: Look | None = None,
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
    why : bool
        False: without reasons.
    ahead : bool
        False: `next_if`, what would follow each outcome of the coming set, stays empty.
    now : ByModel or None
        What the log says by now, all its sets included; None: what the sets of this slot say to what `ctx` knew.
    look : callable or None
        Finds how the lift is planned the next time, for the end of a load that grows (`with_next_time`).

    Returns
    -------
    Next
        A set with what would follow its outcomes, a choice after some pain, or the end of the lift.

    Raises
    ------
    NotComputable, OutOfRange
        Where the slot cannot be prescribed at all (`technique_lift`, `unknown_lift`, ...), or a set has two efforts.
    """
    if plan is None:
        drawn = begun(slot, ctx, done)
        if isinstance(drawn, tuple):
            sketched, f = drawn
            if is_stepwise(slot):
                return next_step(f, sketched.set, done, now, slot_id, why=why, ahead=ahead)
            today, then = walk(f, done, now)
            told = _Answer(f, sketched.set, today, then, slot_id, why, ahead).next()
            return with_next_time(told, slot, ctx, done, f.work_sets, today.ability, look)
        plan = drawn
    whole = partial(_alone, slot, ctx, done, now)
    if plan.left_out:
        return LiftDone(slot=slot_id, text=plan.text, why=(), next_slot=None, cautions=())
    f = facts(slot, ctx, plan)
    if is_stepwise(slot):
        return next_step(f, partial(_told, plan), done, now, slot_id, why=why, ahead=ahead)
    today, then = walk(f, done, now)
    told = _Answer(f, partial(_told, plan), today, then, slot_id, why, ahead, whole).next()
    return with_next_time(told, slot, ctx, done, f.work_sets, today.ability, look)


def _alone(slot: Slot, ctx: Context, done: Sequence[DoneSet], now: ByModel | None) -> Decision | None:
    """What the calculation alone would say comes next; None where it has no answer."""
    try:
        drawn = begun(slot, replace(ctx, overrides=(), age_years=None), done)
    except DomainError:
        return None
    return walk(drawn[1], done, now)[1] if isinstance(drawn, tuple) else None


def _told(plan: ResolvedSlot, at: int, *, why: bool) -> PrescribedSet:  # noqa: ARG001  (as `Sketch.set`)
    return plan.sets[at]


@dataclass(frozen=True, slots=True)
class _Obeyed:
    """Decisions that a set obeys, and what goes with them."""

    overrides: tuple[ObeyedOverride, ...] = ()
    without: Load | None = None
    cautions: tuple[Caution, ...] = ()
    why: tuple[Step, ...] = ()


NOTHING = _Obeyed()


@dataclass(slots=True)
class _Answer:
    """A decision on its way into words."""

    f: Facts
    planned: Callable[..., PrescribedSet]
    """A set of the plan, by its place, `why`: with its reasons."""
    today: Today
    d: Decision
    slot_id: str | None
    with_why: bool
    ahead: bool
    alone: Callable[[], Decision | None] | None = None
    """What the calculation alone would say; None where no decision acts."""

    def next(self) -> Next:
        done = self.today.done
        painful = done is not None and (done.pain == "some" or (done.ended_by == "pain" and done.pain != "stop"))
        if self.today.over is None and painful and self.d.ends not in ("all", "left_out"):
            lighter = None if self.d.ends is not None else PrescribedSet(**self._set(self.d))
            return pain_choice(self.f, lighter, self.slot_id)
        if self.d.ends is not None:
            return self._done()
        then = next_if(self.f, self.today, self.d) if self.ahead else ()
        return NextSet(slot=self.slot_id, next_if=then, **self._set(self.d))

    def _done(self) -> LiftDone:
        done = self.today.done
        cautions: tuple[Caution, ...] = ()
        if self.today.over == "pain":
            cautions = (STOP, WARNING_SIGNS)
        elif done is not None and (done.pain != "none" or done.ended_by == "pain"):
            cautions = (SOME, WARNING_SIGNS)
        return LiftDone(
            slot=self.slot_id,
            text=self._end_text(),
            why=self._end_why() if self.with_why else (),
            next_slot=None,
            cautions=cautions,
        )

    def _end_text(self) -> str:
        return until.end_text(self.f, self.today.seen) if self.d.ends == "until" else end_text(self.today, self.d)

    def _end_why(self) -> tuple[Step, ...]:
        judged = judged_why(self.f, self.today)
        return judged if self.d.ends != "until" else (*judged, *until.end_why(self.f, self.today.seen))

    def _set(self, d: Decision) -> dict[str, Any]:
        """The values of a `PrescribedSet`."""
        p = d.planned
        as_planned = p is not None and unchanged(d, p)
        source = self.planned(0 if p is None else p.index, why=as_planned and self.with_why)
        obeyed_ = self._obeyed(d, source, as_planned=as_planned)
        if self.f.orders.lifted and not as_planned:
            obeyed_ = self._approved(d, source, obeyed_)
        left_out = self.today.dropped + d.leaves_out if source.role == "target_set" else 0
        return {
            "role": source.role,
            "number": source.number,
            "of": source.of - left_out,
            "reps": d.reps,
            "reps_to": d.reps_to,
            "seconds": source.seconds,
            "metres": source.metres,
            "load": d.load,
            "expected_rpe": source.expected_rpe if d.expected is None else shown_rpe(d.expected),
            "provisional": source.provisional,
            "rest_seconds": source.rest_seconds,
            "text": set_text(self.f, self.today, d, source),
            "why": self._why(d, source, as_planned=as_planned) + obeyed_.why if self.with_why else (),
            "range": source.range if as_planned else self._range(d, source),
            "loading": as_it_hangs(d.loading),
            "cautions": obeyed_.cautions + self._cautions(d, source),
            "overrides": obeyed_.overrides,
            "without_override": obeyed_.without,
            "in_parts": source.in_parts,
        }

    def _why(self, d: Decision, source: PrescribedSet, *, as_planned: bool) -> tuple[Step, ...]:
        if as_planned:
            return (*judged_why(self.f, self.today), *source.why)
        return why(self.f, self.today, d)

    def _range(self, d: Decision, source: PrescribedSet) -> LoadRange | None:
        """As wide as any estimate from an effort, around the load by today's max."""
        estimated = d.rule in ("moved", "for_target") and source.role in WORK_ROLES
        able, rpe = self.today.able, self.f.target_rpe
        if not estimated or d.exact_kg is None or d.planned is None or rpe is None or able is None:
            return None
        return load_range(self.f.g, able, d.free_kg or d.exact_kg, d.planned.middle + 10 - rpe)

    def _cautions(self, d: Decision, source: PrescribedSet) -> tuple[Caution, ...]:
        if source.role == "warm_up" or d.load is None:
            return source.cautions
        loading = as_it_hangs(d.loading)
        meant = self._meant(d) if source.role in WORK_ROLES else None
        found = of_set(
            self.f.g, role=source.role, kg=d.kg, expected=d.expected, possible=None, loading=loading, meant=meant
        )
        if source.cautions:
            found += tuple(one for one in source.cautions if one.code == "many_repetitions")
        if self.today.light_for == "pain":
            found = (*found, SOME)
        return found if self.f.g.ctx.eased is None else ease_cautions(self.f.g.ctx) + found

    def _meant(self, d: Decision) -> float | None:
        """What a set would be by its target; with the first one's load what that one would have been. [kg]

        None where something keeps it lighter.
        """
        if d.limits and d.limits != ("more_reps",):
            return None
        for one in self.f.sets:
            if one.role in WORK_ROLES:
                planned = one.exact_kg if one.load == d.load else None
                return d.exact_kg if planned is None else max(planned, d.exact_kg or 0.0)
        return d.exact_kg

    def _obeyed(self, d: Decision, source: PrescribedSet, *, as_planned: bool) -> _Obeyed:
        """What is obeyed, and the load without it."""
        if self.alone is None:
            return NOTHING
        orders, g = self.f.orders, self.f.g
        waits = tuple(one for one in source.cautions if one.code == "needs_approval")
        if as_planned or orders.exchanges or d.rule == "fixed":
            # a set without a load keeps all its cautions already
            return _Obeyed(source.overrides, source.without_override, () if d.load is None else waits)
        if orders.bound_otherwise and source.role in WORK_ROLES:
            return self._unlike_alone(d, source, waits)
        if orders.cap is None or g.cap is None or d.exact_kg is None or d.exact_kg <= g.effective(g.cap):
            return NOTHING
        try:
            free = hang_under(replace(g, cap=None), d.exact_kg).load
        except DomainError:
            return NOTHING
        return _Obeyed((obeyed(orders.cap, g.ctx),), free) if free != d.load else NOTHING

    def _approved(self, d: Decision, source: PrescribedSet, so_far: _Obeyed) -> _Obeyed:
        """With the approval of the planned set, where the next one is as hard that it needs it."""
        if d.expected is not None and d.expected <= HELD_RPE + NEAR:
            return so_far
        named = {one.id for one in so_far.overrides}
        more = tuple(one for one in source.overrides if one.kind == "approval" and one.id not in named)
        return replace(so_far, overrides=so_far.overrides + more)

    def _unlike_alone(self, d: Decision, source: PrescribedSet, waits: tuple[Caution, ...]) -> _Obeyed:
        """What is obeyed in a work set that more than a cap of a load bounds."""
        free = None if self.alone is None else self.alone()
        p = None if free is None else free.planned
        if free is None or p is None or p.role != source.role:
            return _Obeyed(source.overrides, None, waits)
        if free.load == d.load and free.reps == d.reps:
            return _Obeyed(
                () if d.expected is not None else source.overrides, None, waits if d.expected is None else ()
            )
        alone = Alone(free.load, free.reps, free.expected)
        obeying = obeying_of(self.f.g, self.f.orders)
        names, held = obeying.names([alone]), obeying.held_back(alone)
        if not names and not held:
            return NOTHING
        return _Obeyed(names, free.load, (obeying.waits(),) if held else (), (obeying.step(alone, names, d.reps),))
