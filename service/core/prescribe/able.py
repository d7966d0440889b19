"""The max that a slot's efforts are read by, and what loads are computed from: the model or a pinned curve."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import lru_cache, partial
from math import exp

from service.core.ability.ability import Ability
from service.core.ability.by_curve import ByCurve
from service.core.ability.by_model import ByModel
from service.core.answers import Named, Step
from service.core.context import Context
from service.core.errors import NotComputable
from service.core.estimate.rolling import support_class
from service.core.model.kin import Key, facts_of
from service.core.model.levels import rolling_max
from service.core.model.memory import Known, LiftMemory, Memory, start
from service.core.model.passing import opened
from service.core.model.state import GIVEN_SD, TESTED_SD, Person, Row, new_person, new_row
from service.core.model.tested import TESTED_DAYS, Given
from service.core.prescribe.basis import LONGEST_CHAIN, Found, entered_max, find_max
from service.core.records import MODEL, CurveGroup, SupportClass
from service.core.slots import Slot
from service.core.words import in_unit, mass, number

BY_LOG = "the max by the log"


def able_of(slot: Slot, ctx: Context) -> tuple[Found | None, Ability]:
    """The max that efforts are read by, None where nothing is known; and what loads are computed from.

    Raises NotComputable (`unknown_support`).
    """
    support, curve = support_class(slot.support), ctx.settings.curve_of(slot.lift)
    if curve == MODEL:
        person = ctx.person or new_person()
        found, row = known_row(slot.lift, ctx, support, person)
        return found, ByModel(row, person)
    try:
        found = find_max(slot.lift, ctx, support=support)
    except NotComputable as missing:
        if missing.code != "no_max":
            raise
        return None, ByCurve(curve, None)
    return found, ByCurve(curve, found.kg, anchor=found.kg)


def known_row(lift: str, ctx: Context, support: SupportClass, person: Person) -> tuple[Found | None, Row]:
    """What the model knows of a lift on `ctx.on`, as before its next set, and its max; None where it knows nothing.

    From the log; else from a max that was entered; else from its kin: the lift that it is based on, or the same lift
    without support, by the ratio.
    """
    own = next((one.row for one in ctx.rows if one.lift == lift and one.support == support), None)
    if own is not None and own.reference is not None:
        row = opened(own, person, ctx.on)
        return _by_log(lift, ctx, own, row, person), row
    entered = entered_max(lift, ctx, support)
    if entered is not None and own is None:  # the usual case of a calculation with a bare max, without detours
        group, spread = ctx.lifts[lift].curve_group, _spread(entered)
        if ctx.person is None:
            return entered, _of_a_bare_max(group, entered.kg, spread, ctx.on)
        return entered, opened(new_row(group, entered.kg, spread=spread), person, ctx.on)
    memory = Memory(
        person, {Key(one.lift, one.support, ""): LiftMemory(one.row, ratio=one.ratio) for one in ctx.rows}, ctx.on
    )
    started = start(memory, Key(lift, support, ""), ctx.on, Known(ctx.lifts, partial(given, ctx)))
    if started is None or started.row.reference is None:
        return None, opened(own or new_row(ctx.lifts[lift].curve_group), person, ctx.on)
    return entered or _by_kin(lift, ctx, support, started.row, person), started.row


@lru_cache(maxsize=512)  # an app that keeps the maxes itself sends the same ones with each slot of a session
def _of_a_bare_max(group: CurveGroup, kg: float, spread: float, on: date) -> Row:
    """A lift of somebody of whom only a max is known. [kg], [log]"""
    return opened(new_row(group, kg, spread=spread), new_person(), on)


def given(ctx: Context, key: Key, on: date) -> Given | None:  # noqa: ARG001  (the context is of that day)
    """The max that was entered for a row, and how far it is believed to be off."""
    entered = entered_max(key.lift, ctx, key.support_class)
    return None if entered is None else Given(entered.kg, _spread(entered))


def _spread(entered: Found) -> float:
    return TESTED_SD if entered.tested and entered.age_days <= TESTED_DAYS else GIVEN_SD


def _by_log(lift: str, ctx: Context, own: Row, row: Row, person: Person) -> Found | None:
    known = rolling_max(row, person)
    if known is None:
        return None
    on = own.day or ctx.on
    low, high = mass(known.low, ctx.unit), mass(known.high, ctx.unit)
    text = f"The log says a max of {mass(known.kg, ctx.unit)}: in 8 of 10 such cases it is {low} to {high}."
    if row.at_least:
        text = (
            f"The log has easy sets only, so the max is at least {mass(known.kg, ctx.unit)}, perhaps far more: in 8 of "
            f"10 such cases it is {low} to {high}."
        )
    inputs = (_named("low", known.low, ctx), _named("high", known.high, ctx))
    level = (Named("level", 0.8, "chance"), Named("cases", 8, "cases"), Named("of", 10, "cases"))
    step = Step(text, "model_max", (*inputs, *level), _named("max", known.kg, ctx))
    age = max((ctx.on - on).days, 0)
    return Found(kg=known.kg, basis="rolling", on=on, lift=lift, phrase=BY_LOG, age_days=age, steps=(step,))


def _by_kin(lift: str, ctx: Context, support: SupportClass, row: Row, person: Person) -> Found | None:
    """In words, where a max comes from that a lift does not have itself."""
    known = rolling_max(row, person)
    if known is None:
        return None
    kg, name = known.kg, ctx.lifts[lift].name.lower()
    key, ratio = Key(lift, support, ""), 1.0
    for _ in range(LONGEST_CHAIN):
        facts = facts_of(ctx.lifts, key) if key.lift in ctx.lifts else None
        if facts is None or facts.kin is None:
            break
        key, ratio = facts.kin.parent, ratio * exp(facts.kin.log_ratio)
        found, _ = known_row(key.lift, ctx, key.support_class, person) if key.lift in ctx.lifts else (None, row)
        if found is not None:
            other = ctx.lifts[key.lift].name.lower()
            whose = f"{found.phrase} of the {other}" if key.lift != lift else f"{found.phrase} without support"
            text = (
                f"The {name} has no max of its own{'' if support == 'unsupported' else ' with this support'}: "
                f"{number(kg / found.kg, 3)} times {whose}, {mass(found.kg, ctx.unit)}, is {mass(kg, ctx.unit)}."
            )
            inputs = (_named("max", found.kg, ctx), Named("ratio", round(kg / found.kg, 3), "ratio"))
            step = Step(text, "ratio", inputs, _named("max_by_ratio", kg, ctx))
            return replace(
                found, kg=kg, lift=key.lift, ratio=kg / found.kg, phrase="this max", steps=(*found.steps, step)
            )  # fmt: skip
    text = f"The {name} has no max of its own: by the lifts that are based on it, it is about {mass(kg, ctx.unit)}."
    step = Step(text, "ratio", (), _named("max_by_ratio", kg, ctx))
    return Found(kg=kg, basis="rolling", on=ctx.on, lift=lift, phrase="this max", age_days=0, steps=(step,))


def _named(name: str, kg: float, ctx: Context) -> Named:
    return Named(name, in_unit(kg, ctx.unit), ctx.unit)
