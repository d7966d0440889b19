"""What the loads of one slot stand on: the lift, the max that efforts are read by, the limits."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.answers import BarLoading, Loading, Named
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.loading.kits import bars_for, stack_for
from service.core.loading.loadable import Options, options, without_masses
from service.core.loading.loading import Hung, hung_among, lightest, step_down, step_up
from service.core.model.load import BUILD_UP_UNITS
from service.core.prescribe.able import able_of
from service.core.prescribe.basis import Found
from service.core.prescribe.bounds import EPSILON, FREE, NEAR, Bounds
from service.core.prescribe.parts import on_a_curve
from service.core.prescribe.percent_cap import percent_cap, strictest
from service.core.records import Kit, Lift, Rounding
from service.core.returning import Eased
from service.core.slots import EffortTarget, LoadTarget, Slot
from service.core.units import GRAINS_PER_KG, KG_PER, Load, MassUnit, tidy
from service.core.units import load as make_load
from service.core.words import in_unit

MARGIN = 0.5
"""Planned work sets after the first stay this far under the effort limit: the scale's smallest step. [RPE]."""


@dataclass(slots=True, kw_only=True)
class Grounds:
    """One slot on one day, with everything its sets share. Kilograms here are effective (see `KnownMax`)."""

    slot: Slot
    ctx: Context
    unit: MassUnit
    """Unit of the answer."""
    lift: Lift
    body_kg: float
    """What an effective mass holds beyond the load of the wire: 0 but for `bodyweight`. [kg]."""
    able: Found | None
    """The max that efforts are read by; None where it is unknown or says nothing (technique lifts)."""
    ability: Ability | None
    """What loads are computed from: the same max by a pinned curve, or the athlete's model; None without a mass, for
    technique lifts, and where no curve holds (`on_a_curve`)."""
    massless: bool
    """No load, or steps of a machine without a mass."""
    limit: float | None
    """Work sets stay below this; None where it is lifted (tests, meets, maximal targets). [RPE]."""
    written: int | None = None
    """Repetitions of an effort as they were asked; `slot` has those that are done. [reps]"""
    own_limit: float | None = None
    """The same without a coach's cap of the effort, and without a missing approval. [RPE]"""
    lightest: Loading | None = None
    """The lightest implement for the lift at the place."""
    light_bar: str | None = None
    """A bar lighter than the one usually taken for the lift, for loads that are too light for that."""
    cap: Load | None = None
    """A coach's cap, as on the wire; that of a percentage too."""
    cap_of: Named | None = None
    """The max that a cap of a percentage is of, where that is the stricter one."""
    bounds: Bounds = FREE
    """What a coach's decisions, and a missing approval, allow at most."""
    plain: bool = True
    """Sets in one go, of one lift: not of clusters and complexes."""
    part: Ability | None = None
    """Of a cluster by load or percentage: what one of its parts is read by, fresh and alone; None for others."""
    ahead: float = 0.0
    """Fatigue of the build-up sets that come before the work, where the model counts it. [units]"""
    _options: list[tuple[Kit, str | None, Options]] = field(default_factory=list, init=False, repr=False)
    """What was looked up: a slot hangs a dozen loads, of one or two kits."""

    @property
    def eased(self) -> Eased | None:
        """What loads and sets are eased by on the way back from an absence; None: nothing. Tests and meets are not."""
        return None if self.ctx.session_kind in ("test", "meet") else self.ctx.eased

    @property
    def most_rpe(self) -> float | None:
        """Highest effort that a planned following set may be expected to reach. [RPE]."""
        return None if self.limit is None else self.limit - MARGIN

    @property
    def rpe_cap(self) -> float | None:
        """No work set is harder, whatever it asks for; None: the limit alone counts. [RPE]"""
        return self.bounds.rpe

    def most_kg(self, reps: float, rpe: float, fatigue: float = 0.0) -> float | None:
        """Effective load that just does not pass an effort, as it is shown; else as `load_for`. -> [kg]"""
        return self.load_for(reps, min(rpe + self.near, max(rpe, 10.0)), fatigue)

    @property
    def near(self) -> float:
        """What may be over `most_rpe`: where that is a cap, what showing the effort hides; our own margin is exact."""
        return EPSILON if self.bounds.rpe is None else NEAR

    @property
    def fewest(self) -> int:
        """No set has fewer repetitions. [reps]"""
        return self.bounds.fewest

    def options(self, kit: Kit, bar: str | None = None) -> Options:
        """What can be loaded of a kit for the lift, with the bar of this name; raises as `loadable.options`."""
        for known, name, found in self._options:
            if known is kit and name == bar:
                return found
        possible = options(self.lift, kit, self.unit, bar)
        self._options.append((kit, bar, possible))
        return possible

    def effective(self, shown: Load) -> float:
        """Effective mass of a load of the wire. [kg]."""
        return shown.grains / GRAINS_PER_KG + self.body_kg

    def wire(self, kg: float, decimals: int = 3) -> Load:
        """An effective mass as a load of the wire, in the unit of the answer. [kg]."""
        return make_load(in_unit(kg - self.body_kg, self.unit, decimals), self.unit)

    def named(self, name: str, kg: float) -> Named:
        """An effective mass as a named number in the unit of the answer. [kg]."""
        unit = self.unit
        return Named(name, tidy(kg / KG_PER[unit]), unit)  # as `in_unit`

    def expected(self, kg: float, reps: float, fatigue: float = 0.0) -> float | None:
        """RPE that a set should be, not limited; None where nothing is known. [kg], [reps], [units] -> [RPE]."""
        return (
            self.ability.expected(kg, reps, fatigue + self.ahead)
            if self.able is not None and self.ability is not None
            else None
        )

    def load_for(self, reps: float, rpe: float, fatigue: float = 0.0) -> float | None:
        """Effective load for an effort; None where nothing is known. [reps], [RPE], [units] -> [kg]."""
        return (
            self.ability.load(reps, rpe, fatigue + self.ahead)
            if self.able is not None and self.ability is not None
            else None
        )


def unweighed(lift: Lift) -> NotComputable:
    """That a body weight is missing where it is part of the load."""
    text = f"In the {lift.name.lower()} the body is part of the load: enter a body weight."
    return NotComputable("no_body_weight", text)


def _adds_to_the_body(slot: Slot) -> bool:
    """Whether a slot states what hangs on the body, which nobody need have weighed for that."""
    target = slot.target
    return isinstance(target, LoadTarget) and target.load.unit != "step" and target.load.value >= 0


def ground(slot: Slot, ctx: Context, *, cap: Load | None = None, bounds: Bounds = FREE, build_ups: int = 0) -> Grounds:
    """What a slot stands on; its lift is what is to be done, after exchanges. `build_ups`: sets before its work.

    `cap`: a bound of the load beside those of `bounds`.

    Raises NotComputable: `unknown_lift`; `no_body_weight` where the body is part of the load and not weighed, unless
    what is added to it is stated.
    """
    lift = ctx.lifts.get(slot.lift)
    if lift is None:
        raise NotComputable("unknown_lift", f"There is no lift named {slot.lift!r}.")
    body, weighed = 0.0, lift.load_kind != "bodyweight" or ctx.body_weight_kg is not None
    if not weighed and not _adds_to_the_body(slot):
        raise unweighed(lift)
    if lift.load_kind == "bodyweight":
        body = ctx.body_weight_kg or 0.0
    massless = lift.load_kind == "none" or _steps_only(lift, ctx)
    maximal = isinstance(slot.target, EffortTarget) and slot.target.asked_rpe >= 10
    lifted = maximal or ctx.session_kind in ("test", "meet")
    own_limit = None if lifted else float(ctx.settings.effort_limit)
    able, ability = (None, None) if massless or lift.technique or not weighed else able_of(slot, ctx)
    plain = not slot.complex and slot.scheme.kind != "cluster"
    part_ability = None
    if not plain and not on_a_curve(slot):
        part_ability, ability = (None if able is None or slot.complex else ability), None
    cap, cap_of = strictest(cap, bounds.load), None
    part = None if massless else percent_cap(slot, ctx, lift, bounds, None if able is None else able.kg, body)
    if part is not None and strictest(cap, part[0]) is part[0]:
        cap, cap_of = part
    return Grounds(
        slot=slot,
        ctx=ctx,
        unit=ctx.unit,
        lift=lift,
        body_kg=body,
        able=able,
        ability=ability,
        massless=massless,
        limit=_limit(own_limit, bounds),
        written=slot.target.reps if isinstance(slot.target, EffortTarget) else None,
        own_limit=own_limit,
        lightest=None if massless else lightest(lift, ctx.kit, ctx.unit),
        light_bar=_light_bar(lift, ctx.kit),
        cap=cap,
        plain=plain,
        cap_of=cap_of,
        bounds=bounds,
        part=part_ability,
        ahead=BUILD_UP_UNITS * build_ups if isinstance(ability, ByModel) else 0.0,
    )


def _limit(own: float | None, bounds: Bounds) -> float | None:
    """What work sets stay below: with a coach's cap of the effort the next half above that. [RPE]"""
    if bounds.rpe is None:
        return own
    return min(bounds.rpe + MARGIN, own) if own is not None else bounds.rpe + MARGIN


def _steps_only(lift: Lift, ctx: Context) -> bool:
    if lift.load_kind != "stack":
        return False
    try:
        return without_masses(stack_for(ctx.kit, lift.id))
    except NotComputable:  # no machine here: hanging a load says so
        return False


def _light_bar(lift: Lift, kit: Kit) -> str | None:
    if lift.load_kind != "total" or len(kit.bars) < 2:
        return None
    bars = bars_for(kit, lift.id)
    if not bars:
        return None
    lightest_bar = min(bars, key=lambda bar: bar.load.grains)
    return lightest_bar.name if lightest_bar.load.grains < bars[0].load.grains else None


def hang_under(
    g: Grounds,
    kg: float,
    *,
    rounding: Rounding | None = None,
    at_most: Load | None = None,
    below: Load | None = None,
    kit: Kit | None = None,
) -> Hung:
    """The loadable load nearest to an effective mass, by the settings' rounding, under the coach's cap. [kg].

    `at_most`: a further load of the wire that is not exceeded; `below`: one that is not reached, as far as anything
    lighter can be loaded (the caller looks). `kit`: with less than the place has. Where the usual bar alone is too
    heavy, a lighter one of the place is taken. Raises NotComputable
    `cap_too_light` where nothing here is as light as the cap allows, and as `loading.hang`.
    """
    limit = at_most
    if g.cap is not None and g.cap.unit != "step" and (limit is None or g.cap.grains < limit.grains):
        limit = g.cap
    way = rounding or g.ctx.settings.rounding
    place = kit or g.ctx.kit
    exact = kg - g.body_kg
    found = hung_among(g.options(place), exact, way, at_most=limit, below=below)
    if g.light_bar is not None and _too_heavy_alone(found.loading):
        other = hung_among(g.options(place, g.light_bar), exact, way, at_most=limit, below=below)
        if heavier(found.load, other.load):
            found = other
    if g.cap is not None and heavier(found.load, g.cap):
        raise NotComputable(
            "cap_too_light", "The lightest that can be loaded here is more than the coach allows: ask the coach."
        )
    return found


def _too_heavy_alone(found: Loading) -> bool:
    return isinstance(found, BarLoading) and not found.per_side and found.difference.value > 0


def heavier(one: Load, other: Load) -> bool:
    """Whether a load is clearly heavier than another: by more than the half thousandth that showing it may hide."""
    if one.unit == other.unit != "lb":  # steps, and kilograms: theirs show everything
        return one.value > other.value
    if one.unit == "step" or other.unit == "step":
        return False
    return one.grains > other.grains + 50_000_000


def heavier_step(g: Grounds, current: Load) -> Loading | None:
    """The next heavier load at the place, or None."""
    return step_up(current, g.lift, g.ctx.kit, unit=g.unit)


def lighter_step(g: Grounds, current: Load) -> Loading | None:
    """The next lighter load at the place, or None."""
    return step_down(current, g.lift, g.ctx.kit, unit=g.unit)
