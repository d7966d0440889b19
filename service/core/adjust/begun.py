"""The plan that a slot was begun with, in numbers; a calculation is asked for it again after each set."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache

from service.core.adjust.facts import Facts, facts_of
from service.core.answers import ResolvedSlot
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.loading.kits import Place
from service.core.prescribe.prescribe import Sketch, prescribe, sketch
from service.core.prescribe.without_loads import without_loads
from service.core.records import WORK_ROLES, DoneSet, KnownMax, Lift, Role, SessionKind, Settings
from service.core.slots import Slot
from service.core.units import MassUnit

Begun = tuple[Sketch, Facts] | ResolvedSlot
"""A plan in numbers with what stands while it is done; in words where a coach's decision is in force."""

_WITHOUT_LOADS = frozenset({"no_max", "no_body_weight"})
"""What keeps loads from being planned, while sets that are done still tell how to go on."""


def begun(slot: Slot, ctx: Context, done: Sequence[DoneSet]) -> Begun:
    """The plan of a slot, as far as its further sets need it. Raises as `prescribe`."""
    reached = _reached(slot.lift, done)
    eased = ctx.eased is not None or ctx.day_maxes_since is not None
    if ctx.overrides or ctx.rows or ctx.person is not None or eased or ctx.progress or ctx.telling:
        return _begun(slot, ctx, reached)
    return _remembered(
        slot, ctx.on, ctx.unit, Place(ctx.kit), tuple(ctx.lifts.values()), ctx.maxes, ctx.settings, ctx.session_kind,
        ctx.body_weight_kg, ctx.age_years, reached,
    )  # fmt: skip


# An app sends the same slot and maxes after each set of it. Nobody changes what is remembered.
@lru_cache(maxsize=512)
def _remembered(  # noqa: PLR0917  (a memo's key)
    slot: Slot, on: date, unit: MassUnit, place: Place, lifts: tuple[Lift, ...], maxes: tuple[KnownMax, ...],
    settings: Settings, session_kind: SessionKind, body_weight_kg: float | None, age_years: int | None,
    reached: Role | None,
) -> Begun:  # fmt: skip
    ctx = Context(
        on=on, unit=unit, kit=place.kit, lifts={one.id: one for one in lifts}, maxes=maxes, settings=settings,
        session_kind=session_kind, body_weight_kg=body_weight_kg, age_years=age_years,
    )  # fmt: skip
    return _begun(slot, ctx, reached)


def _begun(slot: Slot, ctx: Context, reached: Role | None) -> Begun:
    try:
        drawn = sketch(slot, ctx, reached=reached)
        if drawn is not None:
            return drawn, facts_of(drawn.g, drawn.in_force, drawn.drafts)
        return prescribe(slot, ctx)
    except NotComputable as refusal:
        if refusal.code not in _WITHOUT_LOADS:
            raise
        return without_loads(slot, ctx, refusal)


def _reached(lift: str, done: Sequence[DoneSet]) -> Role | None:
    """The role that a slot was begun with; None where nobody can tell it from the outside.

    That is where only the load can tell which set it was, and has no mass, and where other lifts were done in its
    place.
    """
    if any(one.lift != lift for one in done):
        return None
    if not done or (done[0].role not in WORK_ROLES and (done[0].load is None or done[0].load.unit == "step")):
        return None
    return done[0].role
