"""From a slot to its sets: warm-ups, build-up sets, work sets, each with its load, its reason and its cautions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from service.core.answers import ObeyedOverride, PrescribedSet, ResolvedSlot
from service.core.context import Context
from service.core.errors import DomainError
from service.core.plan.families import first_of_line
from service.core.prescribe import obey
from service.core.prescribe.aim import aim
from service.core.prescribe.approve import approved
from service.core.prescribe.ease import eased_slot, in_words, sets_step
from service.core.prescribe.effort_cap import within
from service.core.prescribe.first import first_of_slot, hardly_known
from service.core.prescribe.follow import ascending_sets, followers, load_comes_later, roles, work_sets
from service.core.prescribe.grounds import Grounds, ground
from service.core.prescribe.one_set import BEGINS_LIGHTER, BUILD_UP_DECIDES, Draft, all_cautions, finish, write
from service.core.prescribe.settle import is_settled, settled, whole_bounds
from service.core.prescribe.shorten import Shortened, shorten
from service.core.prescribe.stepwise import is_stepwise, stepwise, without_attempts
from service.core.prescribe.warm_up import build_ups, build_ups_before, warm_ups
from service.core.prescribe.without_loads import without_loads
from service.core.records import WORK_ROLES, Lift, Override, Role
from service.core.slots import (
    AscendingSets,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    LoadTarget,
    PercentTarget,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
)


def prescribe(
    slot: Slot, ctx: Context, *, warm: bool = True, after: str | None = None, why: bool = True
) -> ResolvedSlot:
    """Resolve a slot to its sets for one athlete, day and place.

    Parameters
    ----------
    slot : Slot
        What the template asks for.
    ctx : Context
        Maxes, place, settings, overrides, unit of the answer.
    warm : bool
        False where the lift was already worked in this session: no warm-ups, and only stated build-up sets.
    after : str or None
        A lift of the same family (`same_family`) that was worked before in this session: fewer warm-ups, none of them
        from the empty bar.
    why : bool
        False: without reasons.

    Returns
    -------
    ResolvedSlot
        Sets in the order in which they are done. `lift` is what is to be done after overrides; a lift that is left
        out has no sets. Its cautions are those of its sets, each once.

    Raises
    ------
    NotComputable
        Where there is no answer: `no_max`, `technique_lift`, `no_mass`, `no_load`, `no_body_weight`, `unknown_lift`,
        `cap_too_light`, `too_heavy` (a load that grows), or the place has nothing for the lift.
    OutOfRange
        Where the curve does not reach so many repetitions.
    """
    in_force = obey.orders(slot.lift, ctx)
    if in_force.left_out is not None:
        return _left_out(slot, in_force, ctx)
    g, drafts = _drafts(_exchanged(slot, in_force), ctx, in_force, warm=warm, after=after)
    sets = finish(drafts, g, why=why)
    if in_force.change_loads:
        sets = obey.marked(sets, _alone(slot, ctx, warm=warm, after=after), obeying_of(g, in_force))
        sets = sets if why else tuple(replace(one, why=()) for one in sets)
    if in_force.lifted:
        sets = approved(sets, g, in_force, why=why)
    text, overrides = in_words(obey.doubled(slot, in_force)[0], ctx), _all_overrides(sets)
    waiting = without_attempts(g, in_force)
    if waiting is not None:
        text = f"{text}. {waiting[0]}."
        overrides = tuple({one.id: one for one in (*waiting[1], *overrides)}.values())
    return ResolvedSlot(
        lift=in_force.lift,
        text=text,
        sets=sets,
        cautions=all_cautions(sets),
        overrides=overrides,
        left_out=False,
    )


def obeying_of(g: Grounds, in_force: obey.Orders) -> obey.Obeying:
    """What a slot's sets are held against, to tell which decisions changed them."""
    by_percent = g.cap_of is not None
    return obey.Obeying(in_force=in_force, ctx=g.ctx, cap=g.cap, by_percent=by_percent, technique=g.lift.technique)


@dataclass(slots=True)
class Sketch:
    """A slot's plan in numbers; words are found for the set that is asked for."""

    g: Grounds
    in_force: obey.Orders
    drafts: list[Draft]
    _told: dict[tuple[int, bool], PrescribedSet] = field(default_factory=dict, repr=False)
    """Sets that words were found for. A plan that is remembered is asked for the same set again: when the report of the
    set before it is corrected, when an answer was lost on its way, by each screen that shows it."""

    def set(self, at: int, *, why: bool) -> PrescribedSet:
        """A set of the plan, by its place from 0; `why`: with its reasons."""
        told = self._told.get((at, why))
        if told is None:
            draft = self.drafts[at]
            order = [one.role for one in self.drafts]
            number, of = order[: at + 1].count(draft.role), order.count(draft.role)
            told = self._told[at, why] = write(draft, self.g, number=number, of=of, why=why)
        return told


def sketch(slot: Slot, ctx: Context, *, reached: Role | None = None) -> Sketch | None:
    """The numbers of `prescribe`, without the words; None where a coach's decision is in force, which takes words.

    `reached`: where the slot was begun with a set of this role, the warm-ups before it are spared, and the loads of
    sets that follow what is lifted before them. Raises as `prescribe`.
    """
    in_force = obey.orders(slot.lift, ctx)
    if in_force.left_out is not None or in_force.change_loads or in_force.lifted:
        return None
    g, drafts = _drafts(slot, ctx, in_force, warm=True, after=None, reached=reached)
    return Sketch(g, in_force, drafts)


def resolve_session(
    slots: Iterable[Slot], ctx: Context, *, kept: Mapping[int, ResolvedSlot] | None = None
) -> tuple[ResolvedSlot, ...]:
    """Resolve all slots of a session, in order; never refuses. `kept`: answers that stay, by place from 0.

    A slot that cannot be computed gets its sets without loads, a sentence that tells the lifter how to choose, and
    the caution `no_load`. Warm-ups of a lift come once in a session, and fewer of them after a lift of its family.
    Where `ctx.minutes_available` is short, slots have fewer sets or are left out (`shorten`), and say so; what is left
    says how long it takes where that is still too long.
    """
    worked: list[str] = []
    found = []
    slots = tuple(slots)
    short = () if ctx.minutes_available is None else _shortened(slots, ctx, kept or {})
    for at, slot in enumerate(slots):
        one = kept.get(at) if kept is not None else None
        if one is None and short:
            one = _fitted(slot, short[at], ctx, worked)
        elif one is None:
            one = _resolved(slot, ctx, worked)
        if not one.left_out:
            worked.append(one.lift)
        found.append(one)
    return tuple(found)


def _shortened(slots: tuple[Slot, ...], ctx: Context, kept: Mapping[int, ResolvedSlot]) -> tuple[Shortened, ...]:
    gone = {at for at, slot in enumerate(slots) if obey.orders(slot.lift, ctx).left_out is not None}
    gone |= {at for at, one in kept.items() if one.left_out}
    return shorten(
        slots,
        ctx.minutes_available or 0,
        ctx.lifts,
        build_up=ctx.settings.build_up,
        fixed=kept.keys(),
        gone=gone,
        as_done=lambda slot: eased_slot(slot, ctx),
    )


def _fitted(slot: Slot, short: Shortened, ctx: Context, worked: Sequence[str]) -> ResolvedSlot:
    """A slot of a session that is short of time; what a coach has left out says that."""
    if short.slot is None and obey.orders(slot.lift, ctx).left_out is not None:
        return _resolved(slot, ctx, worked)
    why = short.text(ctx.minutes_available or 0)
    if short.slot is None:
        return ResolvedSlot(lift=slot.lift, text=why or "", sets=(), cautions=(), overrides=(), left_out=True)
    found = _resolved(short.slot, ctx, worked)
    return found if why is None else replace(found, text=f"{found.text.removesuffix('.')}. {why}")


def _resolved(slot: Slot, ctx: Context, worked: Sequence[str]) -> ResolvedSlot:
    """One slot after the lifts worked before it in the session."""
    lift = obey.orders(slot.lift, ctx).lift
    after = next((one for one in reversed(worked) if same_family(lift, one, ctx.lifts)), None)
    try:
        return prescribe(slot, ctx, warm=lift not in worked, after=after)
    except DomainError as refusal:
        found = without_loads(slot, ctx, refusal)
        return found if refusal.code != "cap_too_light" else _too_light(found, slot, ctx)


def _too_light(found: ResolvedSlot, slot: Slot, ctx: Context) -> ResolvedSlot:
    """With what the calculation alone would have said, where nothing is as light as a coach allows."""
    alone = {(one.role, one.number): one.load for one in _alone(slot, ctx, warm=False, after=None)}
    sets = tuple(replace(one, without_override=alone.get((one.role, one.number))) for one in found.sets)
    return replace(found, sets=sets)


def same_family(lift: str, other: str, lifts: Mapping[str, Lift]) -> bool:
    """Whether one lift is based on the other, or both on a third, over any number of lifts between."""
    return first_of_line(lift, lifts) == first_of_line(other, lifts)


def _drafts(
    slot: Slot, ctx: Context, in_force: obey.Orders, *, warm: bool, after: str | None, reached: Role | None = None
) -> tuple[Grounds, list[Draft]]:
    slot, bounds = obey.doubled(slot, in_force)
    if is_stepwise(slot):
        return stepwise(slot, ctx, in_force)
    own = None if is_settled(slot) else settled(slot, ctx, bounds, fixed=in_force.fixed)
    planned, bounds = (slot, bounds) if own is None else (own.slot, whole_bounds(slot, bounds))
    slot = eased_slot(planned, ctx)
    worked_up_to = _worked_up_to(slot, ctx, warm=warm)
    g = ground(slot, ctx, bounds=bounds, build_ups=build_ups_before(slot, ctx) if worked_up_to else 0)
    if isinstance(slot.scheme, AscendingSets):
        target = aim(g, in_force.fixed)
        work = ascending_sets(g, target, slot.scheme)
    else:
        given = None if own is None else own.aim
        g, target, first = first_of_slot(g, in_force.fixed, roles(slot.scheme)[0], given)
        follow = followers if reached not in (None, "warm_up") and load_comes_later(g) else work_sets
        work = follow(g, target, first)
    if own is not None:
        work[0].why[:0] = own.steps if own.aim is None else ()
        work[-1].note += own.note
    if slot is not planned:
        work[0].why.append(sets_step(len(roles(planned.scheme)), len(work)))
    work = within(g, work)
    if own is not None and own.vague:
        for one in work:
            one.expected = None
    heavy = build_ups(g, target, work[0]) if worked_up_to else []
    if not isinstance(slot.scheme, AscendingSets) and hardly_known(g, target):
        work[0].note = BUILD_UP_DECIDES if heavy else BEGINS_LIGHTER
    before = ctx.lifts.get(after) if after is not None else None
    behind = reached in WORK_ROLES or (reached == "build_up" and bool(heavy))
    light = warm_ups(g, (heavy or work)[0], before) if warm and not slot.accessory and not behind else []
    return g, [*light, *heavy, *work]


def _worked_up_to(slot: Slot, ctx: Context, *, warm: bool) -> bool:
    """Stated build-up sets always; the usual ones before efforts worked up to, once a session."""
    scheme, lift = slot.scheme, ctx.lifts.get(slot.lift)
    stated = isinstance(scheme, TopSet) and scheme.build_up is not None
    usual = (
        warm
        and isinstance(slot.target, EffortTarget)
        and isinstance(scheme, TopSet | SetsAtTarget)
        and not slot.accessory
        and not (lift is not None and lift.technique)
    )
    return stated or usual


def _exchanged(slot: Slot, in_force: obey.Orders) -> Slot:
    """The slot for the lift that is to be done. Loads of the planned lift, and maxes it was tied to, do not carry."""
    if not in_force.exchanges:
        return slot
    target = slot.target
    if isinstance(target, PercentTarget):
        target = replace(target, of=None)
    elif isinstance(target, LoadTarget):
        target = FreeTarget(reps=target.reps, reps_to=target.reps_to)
    elif isinstance(target, TimeTarget | DistanceTarget):
        target = replace(target, load=None)
    return replace(slot, lift=in_force.lift, target=target)


def _alone(slot: Slot, ctx: Context, *, warm: bool, after: str | None) -> tuple[PrescribedSet, ...]:
    """What the calculation says without overrides; nothing where it has no answer."""
    try:
        g, drafts = _drafts(slot, ctx, obey.Orders(lift=slot.lift), warm=warm, after=after)
    except DomainError:
        return ()
    return finish(drafts, g, why=False)


def _all_overrides(sets: Iterable[PrescribedSet]) -> tuple[ObeyedOverride, ...]:
    return tuple({one.id: one for each in sets for one in each.overrides}.values())


def _left_out(slot: Slot, in_force: obey.Orders, ctx: Context) -> ResolvedSlot:
    acting: tuple[Override, ...] = in_force.exchanges
    if in_force.left_out is not None:
        acting = (*acting, in_force.left_out)
    told = tuple(obey.obeyed(one, ctx) for one in acting)
    last = told[-1].text
    text = f"Left out: {last[0].lower()}{last[1:]}"
    loads = [one.load for one in _alone(slot, ctx, warm=False, after=None) if one.role in WORK_ROLES]
    alone = max((one for one in loads if one is not None), key=lambda one: one.value, default=None)
    return ResolvedSlot(
        lift=slot.lift, text=text, sets=(), cautions=(), overrides=told, left_out=True, without_override=alone
    )
