"""/v1/prescriptions: from a slot to its sets, for an athlete or for bare numbers.

The records of answers are not frozen, for speed; nobody changes them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Any

import fastapi
from fastapi import Query, Response

from service.api.call import Called, ShapeByKind
from service.api.routing import operation, resource
from service.api.schemes import Flag
from service.api.who import CalculationQuery, WhoBody, context_of
from service.core.answers import Caution, ObeyedOverride, PrescribedSet
from service.core.context import Context
from service.core.model.stored import MODEL_VERSION
from service.core.prescribe.prescribe import prescribe
from service.core.records import SessionKind, Settings, SupportClass
from service.core.slots import Basis
from service.core.units import Load, MassUnit, from_kg

router = resource("/prescriptions", "calculations")

Day = date  # a record's own field may be called date


@dataclass(slots=True)
class MaxUsed:
    """A max that was known to the calculation."""

    lift: str
    """Whose max."""
    basis: Basis
    """Of which kind."""
    load: Load
    """Effective: with body weight for `bodyweight`, of one hand for `per_hand`."""
    on: Day
    """Since when."""
    source: str
    """Where it comes from, in words."""
    support: SupportClass
    """What it was done in."""


@dataclass(slots=True, kw_only=True)
class Inputs:
    """What the calculation stood on besides the slot."""

    on: Day
    """The day."""
    session_kind: SessionKind
    """Of the session."""
    maxes: tuple[MaxUsed, ...]
    """Of the lifts concerned, those they are based on, and those in exchange."""
    body_weight: Load | None
    """The latest on or before the day."""
    settings: Settings
    """The values used."""


@dataclass(slots=True, kw_only=True)
class Computation:
    """When and how an answer was worked out."""

    at: datetime
    """When."""
    model: str
    """Name and version of the way of calculating."""
    curve: str
    """The repetition curve."""
    inputs: Inputs
    """What it stood on."""


@dataclass(slots=True, kw_only=True)
class Prescription:
    """The sets of a slot."""

    text: str
    """The slot in words."""
    unit: MassUnit
    """Unit that loads are worked out in; what is whole only in the other unit is shown in that."""
    lift: str
    """What is to be done, after a coach's overrides."""
    left_out: bool
    """True: a coach left the lift out; there are no sets."""
    sets: tuple[PrescribedSet, ...]
    """In the order in which they are done."""
    cautions: tuple[Caution, ...]
    """Those of all sets, each once."""
    overrides: tuple[ObeyedOverride, ...]
    """The coach's decisions that this obeys."""
    computed: Computation
    """When and how."""


class PrescriptionBody(WhoBody):
    """A slot, and whom it is for."""

    warm_ups: Flag | None = None
    """False: the lift was already worked today. Left out: true."""


def _held(answer: Prescription) -> frozenset[type]:
    return frozenset([type(one.loading) for one in answer.sets])


ANSWER = ShapeByKind(Prescription, _held)

EXAMPLES: dict[str, Any] = {
    "bare": {
        "summary": "A top set of 3 at RPE 7.5 with two lighter sets, from a max of 150 kg",
        "value": {
            "lift": "squat",
            "max": {"value": 150, "unit": "kg"},
            "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
            "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
        },
    },
    "pounds": {
        "summary": "Ascending sets up to 85 % of a training max, in pounds, rounded down",
        "value": {
            "lift": "bench-press",
            "maxes": [{"basis": "training", "load": {"value": 230, "unit": "lb"}}],
            "round": "down",
            "scheme": {"kind": "ascending_sets", "percents": [80, 90, 100]},
            "target": {"kind": "percent", "reps": 3, "percent": 85, "basis": "training"},
        },
    },
    "body weight": {
        "summary": "Pull-ups with what is added to the body",
        "value": {
            "lift": "pull-up",
            "max": {"value": 40, "unit": "kg"},
            "body_weight": {"value": 82, "unit": "kg"},
            "scheme": {"kind": "sets_at_target", "sets": 3},
            "target": {"kind": "effort", "reps": 5, "rir": 2},
        },
    },
}


@router.post("", **operation("prescriptions_calculate", "read", Prescription, own=True, refusals=(404,), body=True))
async def calculate_prescription(
    call: Called,
    query: Annotated[CalculationQuery, Query()],
    body: Annotated[PrescriptionBody, fastapi.Body(openapi_examples=EXAMPLES)],
) -> Response:
    """Resolve a slot to its sets, with what to hang on the bar and the reason of each number. Stores nothing.

    For an athlete everything is theirs: maxes, settings, overrides, place, unit. Bare: send a max.
    """
    slot = body.record()
    ctx = await context_of(call, body, slot, query, so_far=False)
    found = prescribe(slot, ctx, warm=body.warm_ups is not False, why=query.why)
    answer = Prescription(
        text=found.text,
        unit=ctx.unit,
        lift=found.lift,
        left_out=found.left_out,
        sets=found.sets,
        cautions=found.cautions,
        overrides=found.overrides,
        computed=computed(ctx, call.now),
    )
    return call.answer(ANSWER, answer, stored=True)


def computed(ctx: Context, at: datetime) -> Computation:
    """When and how an answer was worked out, and what it stood on."""
    maxes = tuple([
        MaxUsed(one.lift, one.basis, from_kg(one.kg, ctx.unit), one.on, one.source, one.support)
        for one in ctx.maxes
        if one.lift in ctx.lifts
    ])  # fmt: skip
    weight = None if ctx.body_weight_kg is None else from_kg(ctx.body_weight_kg, ctx.unit)
    inputs = Inputs(on=ctx.on, session_kind=ctx.session_kind, maxes=maxes, body_weight=weight, settings=ctx.settings)
    return Computation(at=at, model=MODEL_VERSION, curve=ctx.settings.curve, inputs=inputs)
