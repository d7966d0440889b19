"""The whole product as a method: a slot is prescribed, and each next set is the one that the service would answer.

What `product` does with the model's outputs alone goes through everything here that stands between them and the bar:
the plan, plates, sets left out on the way up, other repetitions where steps are coarse, what follows a miss or a set
in doubt. Warm-ups are passed over, as a lifter who logs work only does.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from functools import cache
from typing import Any

from service.core.ability.by_model import ByModel
from service.core.adjust.adjust import next_set
from service.core.answers import NextSet, ResolvedSlot
from service.core.context import Context, KnownRow
from service.core.loading.kits import default_kit
from service.core.model.closing import as_of
from service.core.prescribe.prescribe import resolve_session
from service.core.records import DoneSet, Kit, KnownMax, Plate
from service.core.slots import BackOff, EffortTarget, SameLoad, SetsAtTarget, Slot, TopSet
from service.core.units import GRAINS_PER_KG, Load, MassUnit, load
from tests.simulation.lifters import Asked, Lifter
from tests.simulation.lifting import POUND, Body, Set
from tests.simulation.methods import Coming
from tests.simulation.product import START, Product

BUILD_UPS = 2
"""Sets on the way up that a lifter does by own choice where nothing is known."""


@cache
def place(step: float) -> tuple[Kit, MassUnit]:
    """A bar with plates whose smallest pair makes a step. [kg]"""
    if abs(step - 5 * POUND) < 0.01:
        return default_kit("lb"), "lb"
    usual = default_kit("kg")
    plates = tuple(one for one in usual.plates if 2 * (one.load.kg or 0) >= step)
    if step < 2.5:
        small = (1.25, 1.0, 0.5)
        plates = (*plates[:-1], *(Plate(load=load(kg, "kg"), count=4) for kg in small))
    return replace(usual, plates=plates), "kg"


def slot_of(lift: str, asked: Asked) -> Slot:
    """What the plan asks for, as a line of a template."""
    target = EffortTarget(reps=asked.reps, rpe=asked.rpe)
    if asked.follow == "at_target":
        return Slot(lift=lift, scheme=SetsAtTarget(sets=1 + asked.sets), target=target)
    if asked.follow == "same_load":
        return Slot(lift=lift, scheme=TopSet(same_load=SameLoad(sets=asked.sets)), target=target)
    less = round(100 * asked.less)
    return Slot(lift=lift, scheme=TopSet(back_off=BackOff(sets=asked.sets, less_percent=less)), target=target)


@dataclass
class Whole(Product):
    """The athlete's model with all that the service does around it."""

    who: Lifter | None = None
    slot: Slot | None = None
    ctx: Context | None = None
    plan: ResolvedSlot | None = None
    done: list[DoneSet] = field(default_factory=list)
    next: NextSet | None = None

    @classmethod
    def of(cls, who: Lifter, **how: Any) -> Whole:
        """As `Product.of`."""
        found = Product.of.__func__(cls, who, **how)
        found.who = who
        return found

    def open(self, lift: int, day: int, body: Body) -> None:
        """The day's slot is prescribed."""
        super().open(lift, day, body)
        self.done, self.next = [], None
        if self.who is None or body.session.test:
            return
        kit, unit = place(self.who.step)
        memory = as_of(self.memory, self.on)
        self.slot = slot_of(self.keys[lift].lift, body.session.asked)
        self.ctx = Context(
            on=self.on,
            unit=unit,
            kit=kit,
            lifts=dict(self.known.lifts),
            maxes=self._maxes(self.who),
            person=memory.person,
            rows=tuple(
                KnownRow(lift=key.lift, support=key.support_class, row=one.row, ratio=one.ratio)
                for key, one in sorted(memory.lifts.items())
            ),
        )
        plan = resolve_session((self.slot,), self.ctx)[0]
        self.plan = replace(plan, sets=tuple(one for one in plan.sets if one.role != "warm_up"))

    def _maxes(self, who: Lifter) -> tuple[KnownMax, ...]:
        return tuple(
            KnownMax(
                lift=key.lift, basis="tested", kg=kg, on=START - timedelta(days=10 if lately else 100), source="entered"
            )
            for key, kg, lately in zip(self.keys, who.given, who.tested, strict=True)
            if kg is not None
        )  # fmt: skip

    def coming(self) -> Coming | None:
        """The set that is answered next; None where the lift is over."""
        if self.slot is None or self.ctx is None or self.plan is None:
            return None
        reps = self.slot.target.reps or 1
        if all(one.load is None for one in self.plan.sets) and len(self.done) < BUILD_UPS:
            self.next = None
            return Coming("build_up", None, reps)
        now = ByModel(self.row, self.person) if self.done and self.row is not None else None
        found = next_set(self.slot, self.ctx, self.done, plan=self.plan, why=False, ahead=False, now=now)
        if not isinstance(found, NextSet):
            return None
        self.next = found
        first = not any(one.role not in ("build_up", "warm_up") for one in self.done)
        role = "build_up" if found.role == "build_up" else "top" if first else "follow_up"
        return Coming(role, None if found.load is None else found.load.grains / GRAINS_PER_KG, found.reps or reps)

    def hear(self, lift: int, heard: Set, role: str, true: Set) -> None:
        """Log it, and keep it for the slot."""
        super().hear(lift, heard, role, true)
        logged = self.log[-1].heard  # type: ignore[union-attr]  # as it stands after an answer
        self.done.append(
            DoneSet(
                lift=self.keys[lift].lift,
                role="build_up" if self.next is None else self.next.role,
                load=self._load(logged.kg),
                reps=logged.reps,
                rpe=logged.rpe,
                made=not logged.failed,
                ended_by="strength" if logged.failed else "choice",
            )
        )

    def _load(self, kg: float) -> Load:
        """As answered, if that was lifted and typed in; else as typed in."""
        shown = None if self.next is None else self.next.load
        if shown is not None and abs(shown.grains / GRAINS_PER_KG - kg) < 1e-6:
            return shown
        if self.ctx is not None and self.ctx.unit == "lb":
            return load(round(kg / POUND, 3), "lb")
        return load(round(kg, 3), "kg")
