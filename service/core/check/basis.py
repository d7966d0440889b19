"""What a slot's efforts and percentages are read by: a lifter of whom nothing is known, or an athlete."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.core.ability.ability import Ability
from service.core.ability.by_model import ByModel
from service.core.context import Context
from service.core.errors import DomainError, NotComputable
from service.core.estimate.rolling import support_class
from service.core.loading.kits import stack_for
from service.core.loading.loadable import without_masses
from service.core.model.state import new_person, new_row
from service.core.plan.sizes import percent_of_max
from service.core.prescribe.able import able_of
from service.core.prescribe.basis import find_max
from service.core.records import Lift, Settings
from service.core.slots import LoadTarget, PercentTarget, Slot
from service.core.units import GRAINS_PER_KG

BARE_KG = 100.0
"""The max of a lifter of whom nothing is known: loads are then percentages of it. [kg]"""


@dataclass(slots=True)
class By:
    """What one slot is read by. Kilograms are effective."""

    ability: Ability | None
    """None where no repetition curve holds (technique lifts), where there is no mass, and where no max is known."""
    max_kg: float | None
    """Today's max of the lift; None where none is known. [kg]"""
    planned_kg: float | None
    """The load of a percentage or of a stated load; None for other targets, and where the basis is missing. [kg]"""
    missing: str | None = None
    """Why the basis is missing for the athlete: a sentence."""
    body_kg: float = 0.0
    """Body weight, where it is a part of the load. [kg]"""


@dataclass(slots=True)
class Reader:
    """Finds what slots are read by; slots of one lift share it."""

    lifts: Mapping[str, Lift]
    ctx: Context | None = None
    """The athlete's; None: a lifter of whom nothing is known."""
    _bare: dict[str, Ability] = field(default_factory=dict, repr=False)
    _own: dict[tuple[str, tuple[str, ...]], By] = field(default_factory=dict, repr=False)

    @property
    def settings(self) -> Settings:
        """The athlete's, or the usual ones."""
        return USUAL if self.ctx is None else self.ctx.settings

    def by(self, slot: Slot) -> By:
        """What a slot is read by; never refuses."""
        lift = self.lifts.get(slot.lift)
        if lift is None:
            return By(None, None, None)
        return self._without_athlete(slot, lift) if self.ctx is None else self._of_athlete(slot, lift, self.ctx)

    def _without_athlete(self, slot: Slot, lift: Lift) -> By:
        percent = percent_of_max(slot, self.lifts, float(USUAL.training_max_percent))
        planned = None if percent is None else BARE_KG * percent / 100
        if lift.load_kind == "none":
            return By(None, None, None)
        return By(None if lift.technique else self._bare_ability(lift), BARE_KG, planned)

    def _bare_ability(self, lift: Lift) -> Ability:
        """The model's prior for lifts of its kind."""
        group = lift.curve_group
        found = self._bare.get(group)
        if found is None:
            found = self._bare[group] = ByModel(new_row(group, BARE_KG), new_person())
        return found

    def _of_athlete(self, slot: Slot, lift: Lift, ctx: Context) -> By:
        key = (slot.lift, slot.support)
        own = self._own.get(key)
        if own is None:
            own = self._own[key] = self._known(slot, lift, ctx)
        target = slot.target
        if lift.load_kind == "none":
            return own
        if isinstance(target, PercentTarget):
            if _steps_only(lift, ctx):
                text = f"The {lift.name.lower()} machine lists steps without a mass: a percentage says nothing there."
                return By(None, None, None, text)
            return self._of_basis(slot, target, own, ctx)
        if isinstance(target, LoadTarget) and target.load.unit != "step":
            kg = target.load.grains / GRAINS_PER_KG + own.body_kg
            return By(own.ability, own.max_kg, kg, None, own.body_kg)
        return own

    def _of_basis(self, slot: Slot, target: PercentTarget, own: By, ctx: Context) -> By:
        try:
            found = find_max(
                target.of or slot.lift,
                ctx,
                basis=target.basis,
                support=support_class(slot.support),
                valid_days=target.valid_days,
            )
        except DomainError as refusal:
            percent = percent_of_max(slot, self.lifts, float(ctx.settings.training_max_percent))
            planned = None if percent is None or own.max_kg is None else own.max_kg * percent / 100
            return By(own.ability, own.max_kg, planned, str(refusal), own.body_kg)
        high = target.percent if target.percent_to is None else target.percent_to
        kg = found.kg * (target.percent + high) / 200
        return By(own.ability, own.max_kg, kg, None, own.body_kg)

    def _known(self, slot: Slot, lift: Lift, ctx: Context) -> By:
        """What is known of a lift, whatever the slot asks of it."""
        body = ctx.body_weight_kg if lift.load_kind == "bodyweight" else 0.0
        if lift.load_kind == "none":
            return By(None, None, None)
        if body is None:
            return By(
                None, None, None, f"In the {lift.name.lower()} the body is part of the load: enter a body weight."
            )
        try:
            if _steps_only(lift, ctx):
                return By(None, None, None)
            if lift.technique:
                found = find_max(slot.lift, ctx, support=support_class(slot.support))
                return By(None, found.kg, None, None, body)
            able, ability = able_of(slot, ctx)
            if able is None:
                find_max(slot.lift, ctx, support=support_class(slot.support))  # refuses with its own sentence
                return By(None, None, None, None, body)
            return By(ability, able.kg, None, None, body)
        except DomainError as refusal:
            return By(None, None, None, str(refusal), body)


def _steps_only(lift: Lift, ctx: Context) -> bool:
    """Whether the place's machine for a lift lists steps without a mass."""
    if lift.load_kind != "stack":
        return False
    try:
        return without_masses(stack_for(ctx.kit, lift.id))
    except NotComputable:  # no machine at the place
        return False


USUAL = Settings()
"""How a gym has it that has changed nothing."""
