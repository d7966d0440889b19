"""Whom a calculation is for: a stored athlete, or nobody in particular with the numbers sent along."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Call
from service.api.kits import KitBody, PlaceIn, kit_of
from service.api.problems import Problem
from service.api.slots import SlotBody
from service.api.targets import DistanceTargetBody, LoadTargetBody, TimeTargetBody, count, faults
from service.api.wire import Body, Day, LiftId, LoadIn, Mass, Scale, ThingName, UnitWord
from service.core import catalogue
from service.core.context import Context
from service.core.curves.curves import CURVES
from service.core.estimate.rolling import support_class
from service.core.loading.kits import default_kit
from service.core.prescribe.add_load import rule_of
from service.core.records import MODEL, Kit, KnownMax, Lift, SessionKind, Settings
from service.core.slots import Basis, PercentTarget, Slot
from service.core.templates import named_by, slot_faults
from service.core.units import GRAINS_PER_KG, Load, MassUnit
from service.flows.context import gather_named, look_up
from service.store.unfit import fit_load, unfit

OWN = (
    "max",
    "maxes",
    "body_weight",
    "age_years",
    "round",
    "effort_limit",
    "training_max_percent",
    "adjustment",
)
"""What a stored athlete has already."""

USUAL = Settings()
_maxes, _maxes_doc = count(1, 20)


CurveWord = Annotated[str, Field(json_schema_extra={"enum": [MODEL, *sorted(CURVES)]})]
"""What loads are read by."""


def check_curve(curve: str | None) -> None:
    """Refuse a word that is neither the model nor a curve."""
    if curve is not None and curve != MODEL and curve not in CURVES:
        raise PydanticCustomError(
            "not_one_of",
            "must be model or a curve of /v1/curves",
            {"member": "curve", "allowed": {"values": [MODEL, *sorted(CURVES)]}},
        )


class KnownMaxBody(Body):
    """A max that is known."""

    basis: Basis
    """`tested`, `training`, `day` (of today's heavy set) or `rolling` (what the log says)."""
    load: LoadIn
    """In the sense of the lift's load kind; for `bodyweight` what is added."""
    lift: LiftId | None = None
    """Left out: the lift whose max the slot asks for."""


class WhoBody(SlotBody):
    """A slot, and whom it is for: `athlete`, or bare numbers."""

    athlete: ThingName | None = None
    """Our id, or `ref:` and the gym's own reference. Maxes, settings, overrides, place and unit are theirs then."""
    max: LoadIn | None = None
    """Without an athlete: a max of the lift (of the target's `of`, where it names one), worn as in `support`. It is
    believed less than one that was tested: send that in `maxes`."""
    maxes: Annotated[tuple[KnownMaxBody, ...], _maxes, _maxes_doc] | None = None
    """Without an athlete: maxes that were tested on the day, and those of other bases."""
    place: PlaceIn | None = None
    """An id or `ref:`, or what can be loaded. Left out: the athlete's place, else the usual bar and plates."""
    unit: UnitWord | None = None
    """Unit of the answer. Left out: the athlete's, else that of the loads sent, else kg."""
    on: Day | None = None
    """The day. Left out: the athlete's today, else today (UTC)."""
    session_kind: SessionKind | None = None
    """`test` and `meet` lift the effort limit. Left out: `block`."""
    body_weight: Mass | None = None
    """Without an athlete: needed where the body is part of the load."""
    age_years: Annotated[int, Scale(5, 110, 1, unit="years")] | None = None
    """Without an athlete: under 18, heavy sets carry a caution."""
    curve: CurveWord | None = None
    """What loads are read by: `model`, or one of `/v1/curves`. Left out: the athlete's, else `model`."""
    round: Literal["nearest", "down", "up"] | None = None
    """Without an athlete: to which load that can be hung. Left out: `nearest`."""
    effort_limit: Annotated[float, Scale(6, 10, 0.5)] | None = None
    """Without an athlete: work sets stay below it. Left out: 9.5. [RPE]"""
    training_max_percent: Annotated[float, Scale(80, 100, 0.001, unit="percent")] | None = None
    """Without an athlete: a training max that is not sent is this part of the tested max. Left out: 95."""
    adjustment: Literal["calculation", "published_step"] | None = None
    """Without an athlete: how far a load moves in the session. Left out: `calculation`."""

    @model_validator(mode="after")
    def _theirs(self) -> WhoBody:
        if self.athlete is not None:
            sent = [name for name in OWN if getattr(self, name) is not None]
            if sent:
                raise faults([((name,), "one_of", "is the athlete's own: send it without athlete") for name in sent])
        check_curve(self.curve)
        return self


class CalculationQuery(BaseModel):
    """How a calculation is answered."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    why: bool = True
    """False: `why` is empty; cautions are never left out."""
    unit: UnitWord | None = None
    """Shows loads in this unit, whatever can be loaded; goes before the body's."""


async def context_of(
    call: Call, body: WhoBody, slot: Slot, query: CalculationQuery, *, so_far: bool, eased: bool = True
) -> Context:
    """Everything that the slot's loads depend on; bare numbers of built-in lifts need no database.

    `so_far`: sets of today are counted by the caller, so the lift's max is taken as before the first of them.
    `eased`: for sets that are to be done: on an athlete's way back from an absence they are lighter and fewer.
    """
    if body.athlete is not None:
        ctx = await call.database.read(
            call.caller,
            call.now,
            gather_named,
            body.athlete,
            on=body.on,
            lifts=named_by(slot),
            place=body.place if isinstance(body.place, str) else None,
            kit=kit_of(body.place, query.unit or body.unit or "kg") if isinstance(body.place, KitBody) else None,
            session_kind=body.session_kind or "block",
            unit=query.unit or body.unit,
            before_today=slot.lift if so_far else None,
            eased=eased,
            growing=() if rule_of(slot) is None else (slot.lift,),
        )
        _fitting(slot, ctx.lifts)
        if body.curve is None:
            return ctx
        return replace(ctx, settings=replace(ctx.settings, curve=body.curve, lift_curves=()))
    unit = body.unit or _unit_sent(body)
    words = (*named_by(slot), *(one.lift for one in body.maxes or () if one.lift is not None))
    built_in = _built_in(words)
    kit = kit_of(body.place, unit) if isinstance(body.place, KitBody) else default_kit(unit)
    if built_in is None or isinstance(body.place, str):
        place = body.place if isinstance(body.place, str) else None
        lifts, there = await call.database.read(call.caller, call.now, look_up, words, place)
        kit = there or kit
    else:
        lifts = built_in
    _fitting(slot, lifts)
    return _bare(body, slot, lifts, kit, query.unit or unit, body.on or call.now.date())


def _built_in(words: tuple[str, ...]) -> dict[str, Lift] | None:
    """The lifts with those they are based on; None where one of them is not built in."""
    found: dict[str, Lift] = {}
    for word in words:
        one = catalogue.with_parents(word)
        if one is None:
            return None
        found |= one
    return found


def _unit_sent(body: WhoBody) -> MassUnit:
    first = body.max
    if first is None and body.maxes:
        first = body.maxes[0].load
    elif first is None and isinstance(body.target, LoadTargetBody | TimeTargetBody | DistanceTargetBody):
        first = body.target.load
    return "lb" if first is not None and first.unit == "lb" else "kg"


def _fitting(slot: Slot, lifts: dict[str, Lift]) -> None:
    """Refuse lifts that the gym does not have, and loads that say nothing for them, all at once.

    An effort in a technique lift is left to the calculation, which says why it has no answer.
    """
    found = [one for one in slot_faults((slot,), lifts, "#") if one.code != "technique_lift"]
    if not found:
        return
    errors: list[dict[str, Any]] = [
        {"pointer": one.pointer.replace("#/0", "#", 1), "code": one.code, "detail": one.text} for one in found
    ]
    counted = "1 field is" if len(errors) == 1 else f"{len(errors)} fields are"
    first = errors[0]
    raise Problem("invalid-fields", f"{counted} not valid: {first['pointer']} {first['detail']}.", errors=errors)


def _bare(body: WhoBody, slot: Slot, lifts: dict[str, Lift], kit: Kit, unit: MassUnit, on: date) -> Context:
    body_kg = None if body.body_weight is None else body.body_weight.grains / GRAINS_PER_KG
    return Context(
        on=on,
        unit=unit,
        kit=kit,
        lifts=lifts,
        maxes=_known(body, slot, lifts, on, body_kg),
        settings=_settings(body),
        session_kind=body.session_kind or "block",
        body_weight_kg=body_kg,
        age_years=body.age_years,
    )


def _settings(body: WhoBody) -> Settings:
    sent = {
        "curve": body.curve,
        "rounding": body.round,
        "effort_limit": body.effort_limit,
        "training_max_percent": body.training_max_percent,
        "adjustment": body.adjustment,
    }
    said: dict[str, Any] = {name: value for name, value in sent.items() if value is not None}
    return Settings(**said) if said else USUAL


def _known(body: WhoBody, slot: Slot, lifts: dict[str, Lift], on: date, body_kg: float | None) -> tuple[KnownMax, ...]:
    """The maxes sent, effective; those of `bodyweight` lifts only with a body weight."""
    of = slot.target.of if isinstance(slot.target, PercentTarget) else None
    whose, found = of or slot.lift, []
    sent: list[tuple[str, Basis, Load, str, str]] = []
    if body.max is not None:
        sent.append((whose, "tested", body.max, "given", "#/max"))
    if body.maxes is not None:
        sent += [
            (one.lift or whose, one.basis, one.load, one.basis, f"#/maxes/{at}/load")
            for at, one in enumerate(body.maxes)
        ]
    for word, basis, shown, source, pointer in sent:
        lift = lifts.get(word)
        if lift is None:
            raise unfit("names no lift of this gym", pointer.removesuffix("load") + "lift")
        fit_load(shown, lift, pointer)
        if shown.unit == "step":
            raise unfit("must be kg or lb: a machine's step without a mass has no max", f"{pointer}/unit")
        part = body_kg if lift.load_kind == "bodyweight" else 0.0
        if part is not None:
            kg = shown.grains / GRAINS_PER_KG + part
            worn = support_class(slot.support)
            found.append(KnownMax(lift=word, basis=basis, kg=kg, on=on, source=source, support=worn))
    return tuple(found)
