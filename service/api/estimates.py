"""/v1/estimated-maxes: from one set to the max."""

from __future__ import annotations

from typing import Annotated, Any

import fastapi
from fastapi import Response
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.routing import operation, resource
from service.api.wire import Body, LiftId, LoadIn, Mass, Reps, Rir, Rpe, UnitWord
from service.core import catalogue
from service.core.answers import Estimate
from service.core.curves.curves import CURVES
from service.core.estimate.estimate import estimated_max
from service.core.records import Lift
from service.core.units import GRAINS_PER_KG
from service.store import lifts
from service.store.errors import UnknownReference
from service.store.session import Tx

router = resource("/estimated-maxes", "calculations")

CurveName = Annotated[str, Field(json_schema_extra={"enum": [*sorted(CURVES)]})]
ESTIMATE: Shape[Estimate] = Shape(Estimate)
OPEN_FROM = 5
"""Repetitions left that may be logged as so many "or more"."""

EXAMPLES: dict[str, Any] = {
    "by RPE": {
        "summary": "Five repetitions with two left",
        "value": {"lift": "squat", "load": {"value": 140, "unit": "kg"}, "reps": 5, "rpe": 8},
    },
    "to failure": {
        "summary": "To failure, by a published curve, in pounds",
        "value": {
            "lift": "bench-press",
            "load": {"value": 225, "unit": "lb"},
            "reps": 6,
            "to_failure": True,
            "curve": "brzycki",
        },
    },
    "body weight": {
        "summary": "Pull-ups with 20 kg on the belt",
        "value": {
            "lift": "pull-up",
            "load": {"value": 20, "unit": "kg"},
            "reps": 4,
            "rir": 1,
            "body_weight": {"value": 82, "unit": "kg"},
        },
    },
}


class EstimateBody(Body):
    """One set, with exactly one of `rpe`, `rir`, `to_failure`."""

    lift: LiftId
    """Its load kind says what the load means."""
    load: LoadIn
    """As lifted: the whole bar, one hand, added to body weight (negative: assistance), a machine's step."""
    reps: Reps
    """Good repetitions."""
    rpe: Rpe | None = None
    """Effort on the scale of repetitions in reserve."""
    rir: Rir | None = None
    """Repetitions left."""
    or_more: bool | None = Field(None, strict=True)
    """With `rir` from 5 on: so many or more were left; counted as five."""
    to_failure: bool | None = Field(None, strict=True)
    """True: no further repetition was possible."""
    curve: CurveName | None = None
    """A name of `/v1/curves`; left out: `default`."""
    unit: UnitWord | None = None
    """The unit of the answer; left out: as the load."""
    body_weight: Mass | None = None
    """Needed where the body is part of the load."""

    @model_validator(mode="after")
    def _one_effort(self) -> EstimateBody:
        if [self.rpe is not None, self.rir is not None, bool(self.to_failure)].count(True) != 1:
            raise PydanticCustomError("one_of", "must have exactly one of rpe, rir, to_failure")
        if self.or_more and (self.rir is None or self.rir < OPEN_FROM):
            raise PydanticCustomError(
                "out_of_range",
                "is allowed with rir from 5 on",
                {"member": "or_more", "allowed": {"values": [False]}},
            )
        if self.curve is not None and self.curve not in CURVES:
            raise PydanticCustomError(
                "unknown_curve",
                "must be a curve of /v1/curves",
                {"member": "curve", "allowed": {"values": sorted(CURVES)}},
            )
        return self


@router.post("", **operation("estimated_maxes_calculate", "read", Estimate, own=True, body=True))
async def calculate_estimated_max(
    call: Called, body: Annotated[EstimateBody, fastapi.Body(openapi_examples=EXAMPLES)]
) -> Response:
    """Estimate the max from one set, with its range and the reason. Stores nothing."""
    lift = catalogue.BUILT_IN.get(body.lift)
    if lift is None:
        lift = await call.database.read(call.caller, call.now, _own, body.lift)
    weight = None if body.body_weight is None else body.body_weight.grains / GRAINS_PER_KG
    found = estimated_max(
        lift=lift,
        load=body.load,
        reps=body.reps,
        rpe=body.rpe,
        rir=body.rir,
        or_more=bool(body.or_more),
        to_failure=bool(body.to_failure),
        curve=body.curve or "default",
        unit=body.unit or ("lb" if body.load.unit == "lb" else "kg"),
        body_weight_kg=weight,
    )
    return call.answer(ESTIMATE, found, stored=True)


def _own(tx: Tx, lift: str) -> Lift:
    found = lifts.get_many(tx, [lift]).get(lift)
    if found is None:
        raise UnknownReference("lift", "#/lift")
    return found
