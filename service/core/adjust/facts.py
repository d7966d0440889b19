"""The records of adjusting: the plan in numbers, what stands while a slot is done, and what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.core.ability.ability import Ability
from service.core.adjust.rack import Rack
from service.core.answers import Loading, PrescribedSet, ResolvedSlot
from service.core.context import Context
from service.core.effort import OR_MORE_RPE
from service.core.errors import DomainError, NotComputable
from service.core.loading.loading import Hung
from service.core.methods import method_of
from service.core.prescribe.add_load import rule_of
from service.core.prescribe.bounds import Bounds
from service.core.prescribe.ease import MostBefore, asked_on_the_way_back, eased_rpe, holds, most_before
from service.core.prescribe.grounds import Grounds, ground
from service.core.prescribe.obey import Orders, orders
from service.core.prescribe.one_set import Draft, shown_rpe
from service.core.prescribe.settle import is_settled, settled
from service.core.records import WORK_ROLES, Method, Role
from service.core.slots import (
    AscendingSets,
    BackOff,
    DistanceTarget,
    EffortTarget,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
)
from service.core.units import GRAINS_PER_KG, Load, Number

Rule = Literal[
    "planned",
    "fixed",
    "moved",
    "same_again",
    "for_target",
    "published_step",
    "percent_off",
    "same_load",
    "step",
    "no_less",
    "stands",
]
Limit = Literal["effort", "after_hard", "miss", "pain", "doubt", "hard", "chance", "fewer_reps", "more_reps", "no_less"]
End = Literal["all", "missed", "pain", "until", "left_out", "too_hard", "no_lighter", "refused"]


USUAL_RPE = 8.0
"""By this, sets whose plan names no effort are told to be easy or hard. Ours. [RPE]"""


def middle(reps: int | None, reps_to: int | None) -> float:
    """Middle of a range of repetitions. [reps]"""
    return ((reps or 0) + (reps_to if reps_to is not None else reps or 0)) / 2


@dataclass(slots=True)
class Planned:
    """A set of the plan; kilograms are effective. Not frozen for speed: nobody changes it."""

    index: int
    """Place in the plan, from 0."""
    role: Role
    reps: int | None
    reps_to: int | None
    load: Load | None
    loading: Loading | Hung | None
    kg: float | None
    body_kg: float
    """What an effective mass holds beyond the load. [kg]"""
    expected: float | None
    middle: float
    """Repetitions that loads are computed for. [reps]"""
    _exact_kg: float | None = None
    begun_kg: float | None = None
    """Of a build-up set: what its effort takes by what the plan stands on; None until that is asked for. [kg]"""

    @property
    def exact_kg(self) -> float | None:
        """Before rounding. [kg]"""
        if self._exact_kg is None and self.kg is not None:
            exact = None if self.loading is None else self.loading.exact
            self._exact_kg = self.kg if exact is None else exact.grains / GRAINS_PER_KG + self.body_kg
        return self._exact_kg


@dataclass(slots=True, kw_only=True)
class Facts:
    """What does not change while a slot is done."""

    slot: Slot
    g: Grounds
    rack: Rack
    body_kg: float | None
    """As `Grounds.body_kg`; None where it is not known. [kg]"""
    sets: tuple[Planned, ...]
    target_rpe: float | None
    """Effort aimed at, where the slot asks for one; lighter on the way back from an absence. [RPE]"""
    ascending: bool
    masses: bool
    """Whether loads can be hung by their mass."""
    published: bool
    """The published fixed step instead of the calculation."""
    orders: Orders
    """The coach's decisions in force."""
    as_planned: bool
    """A test or a meet: nothing is adjusted."""
    start: Ability | None
    """What the plan stands on; None where nothing is known."""
    asked_rpe: float | None = None
    """As `target_rpe`, before an absence took anything off. [RPE]"""
    ease: float = 1.0
    """What loads for `asked_rpe` are multiplied by on the way back. [1]"""
    before: MostBefore | None = None
    """What a load is held against then, before it is multiplied."""
    reps: float = 0.0
    """Repetitions that the first work set asks for. [reps]"""
    steady: bool = False
    """Loads stand for the whole slot (`steady`)."""
    grows: bool = False
    """The load grows from session to session."""
    method: Method = "straight"
    """How the slot's own sets are done."""
    until: BackOff | None = None
    """The rule that ends the back-off sets, where there is one."""
    possible: float | None = None
    """Repetitions to failure that the work sets ask for, at `USUAL_RPE` where they do not say; None for rising rows.
    [reps]"""
    begins: Decision | None = None
    """What comes before any set is done, once it was asked for; nobody changes it."""

    @property
    def work_sets(self) -> int:
        """How many work sets today's plan has. [sets]"""
        return sum(one.role in WORK_ROLES for one in self.sets)

    @property
    def fixed(self) -> bool:
        """A coach's override fixes the load."""
        return self.orders.fixed is not None


@dataclass(slots=True, kw_only=True)
class Decision:
    """The next set, or the end of the lift. Not frozen for speed: nobody changes it once `decide` has given it."""

    planned: Planned | None = None
    ends: End | None = None
    refusal: str = ""
    """For `refused`: why."""
    rule: Rule = "planned"
    limits: tuple[Limit, ...] = ()
    load: Load | None = None
    loading: Loading | Hung | None = None
    kg: float | None = None
    exact_kg: float | None = None
    """Effective, before limits and rounding; None: the plan's. [kg]"""
    free_kg: float | None = None
    """Where the effort is expected to be the target's, before the chance to pass the limit lowered it. [kg]"""
    most_kg: float | None = None
    """What the chance to pass the limit allows at most. [kg]"""
    bound: Literal["true", "report"] | None = None
    """Which of these chances lowered the load."""
    reps: int | None = None
    reps_to: int | None = None
    expected: float | None = None
    """Not limited; None where nothing is known. [RPE]"""
    unsaid: bool = False
    """`expected` is still to be worked out: `complete` does, for the sets that are answered."""
    was: Load | None = None
    """What the load is held against: the last set's, or the plan's."""
    cap_rpe: float | None = None
    """The effort that bounded it. [RPE]"""
    leaves_out: bool = False
    """The last set of the plan is left out, as neither load nor repetitions can follow the effort."""
    factor: float | None = None
    """Of the published step. [1]"""


def facts(slot: Slot, ctx: Context, plan: ResolvedSlot) -> Facts:
    """What stands while a slot is done; its lift is the plan's, after exchanges.

    Raises NotComputable (`unknown_lift`, `unknown_support`).
    """
    in_force = orders(slot.lift, ctx)
    if plan.lift != slot.lift:
        slot = replace(slot, lift=plan.lift)
    if not is_settled(slot):
        slot = _as_computed(slot, ctx, in_force)
    g, body_kg = _ground(slot, ctx, in_force.bounds)
    masses = _masses(g)
    sets = [_planned(at, one, one.expected_rpe, g, masses=masses) for at, one in enumerate(plan.sets)]
    return _facts(g, body_kg, in_force, sets)


def facts_of(g: Grounds, in_force: Orders, drafts: Sequence[Draft]) -> Facts:
    """As `facts`, from a plan that has no words yet."""
    masses = _masses(g)
    sets = [_planned(at, one, shown_rpe(one.expected), g, masses=masses) for at, one in enumerate(drafts)]
    return _facts(g, g.body_kg, in_force, sets)


def _as_computed(slot: Slot, ctx: Context, in_force: Orders) -> Slot:
    """The slot as the plan was computed for it; as it is written where no load could be."""
    try:
        return settled(slot, ctx, in_force.bounds, fixed=in_force.fixed).slot
    except DomainError:
        return slot


def _masses(g: Grounds) -> bool:
    return not g.massless and g.lightest is not None


def _facts(g: Grounds, body_kg: float | None, in_force: Orders, sets: list[Planned]) -> Facts:
    slot, ctx = g.slot, g.ctx
    target, scheme = slot.target, slot.scheme
    method = method_of(slot, g.lift)
    growing = isinstance(scheme, SetsAtTarget) and bool(scheme.add_load or slot.complex or method == "slow_tempo")
    steady = growing or scheme.kind == "cluster"
    if g.ability is not None and (scheme.kind == "cluster" or isinstance(target, TimeTarget | DistanceTarget)):
        g = replace(g, ability=None)  # no curve says what such sets show
    until = scheme.back_off if isinstance(scheme, TopSet) else None
    rpe = target.asked_rpe if isinstance(target, EffortTarget) and not g.lift.technique else None
    if rpe is not None and g.limit is not None and g.most_rpe is not None and rpe >= g.limit:
        rpe = g.most_rpe  # the plan aims there too
    reps = next((one.middle for one in sets if one.role in WORK_ROLES and one.reps is not None), None)
    before = None if g.eased is None or reps is None or not holds(g.eased) else most_before(g, reps)
    asked, ease = rpe, 1.0 if g.eased is None else g.eased.load
    if rpe is not None and reps is not None:
        rpe = asked_on_the_way_back(g, reps, rpe)
    if rpe is not None and reps is not None and ease < 1:  # five or more left is five, so nothing is held against more
        rpe = min(rpe, max(eased_rpe(g, reps, rpe), OR_MORE_RPE))
    return Facts(
        slot=slot,
        g=g,
        rack=Rack(g),
        body_kg=body_kg,
        sets=tuple(sets),
        target_rpe=rpe,
        asked_rpe=asked,
        ease=ease,
        before=before,
        ascending=isinstance(slot.scheme, AscendingSets),
        masses=_masses(g),
        published=ctx.settings.adjustment == "published_step",
        orders=in_force,
        as_planned=ctx.session_kind in ("test", "meet"),
        start=None if g.able is None else g.ability,
        steady=steady,
        grows=rule_of(slot) is not None,
        method=method,
        until=until if until is not None and until.until_rpe is not None else None,
        reps=reps or 0.0,
        possible=None if reps is None or isinstance(slot.scheme, AscendingSets) else reps + 10 - (rpe or USUAL_RPE),
    )


def _ground(slot: Slot, ctx: Context, bounds: Bounds) -> tuple[Grounds, float | None]:
    """Grounds, also for a body that was not weighed: then nothing has a known mass."""
    try:
        g = ground(slot, ctx, bounds=bounds)
    except NotComputable as unknown:
        if unknown.code != "no_body_weight":
            raise
        return replace(
            ground(slot, replace(ctx, body_weight_kg=0.0), bounds=bounds), massless=True, able=None, ability=None
        ), None
    return g, g.body_kg


def _planned(
    index: int, one: PrescribedSet | Draft, expected: Number | None, g: Grounds, *, masses: bool
) -> Planned:  # fmt: skip
    shown = one.load
    kg = g.effective(shown) if masses and shown is not None and shown.unit != "step" else None
    # an open set goes on past the repetitions that its load is for
    through = middle(one.reps, None if one.role == "open_set" else one.reps_to)
    rpe = None if expected is None else float(expected)
    return Planned(index, one.role, one.reps, one.reps_to, shown, one.loading, kg, g.body_kg, rpe, through)
