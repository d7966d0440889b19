"""/v1/expectations: what a load will feel like, or which load an effort asks for, with the chances; stores nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

import fastapi
from fastapi import Query, Response
from pydantic import model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.kits import PlaceIn
from service.api.prescriptions import Computation, computed
from service.api.routing import operation, resource
from service.api.schemes import SetsAtTargetBody
from service.api.slots import SupportWords
from service.api.targets import FreeTargetBody, LoadTargetBody, TargetBody, faults, without
from service.api.who import OWN, CalculationQuery, CurveWord, WhoBody, check_curve, context_of
from service.api.wire import Body, Day, LiftId, LoadIn, Mass, Reps, Rir, Rpe, Scale, ThingName, UnitWord
from service.core.records import SessionKind
from service.core.tell.answers import Expectation as Told
from service.core.tell.expectation import Asked, expectation
from service.store.unfit import fit_load, unfit

router = resource("/expectations", "calculations")


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation(Told):
    """What a set should be like before it is lifted, or the load that an effort asks for with the same."""

    computed: Computation
    """When and how."""


ANSWER: Shape[Expectation] = Shape(Expectation)

EXAMPLES: dict[str, Any] = {
    "a load": {
        "summary": "What 5 with 115 kg should be like, with a max of 150 kg",
        "value": {
            "lift": "squat",
            "max": {"value": 150, "unit": "kg"},
            "load": {"value": 115, "unit": "kg"},
            "reps": 5,
        },
    },
    "an effort": {
        "summary": "The load for 3 at RPE 8 in pounds, with the chance that it is too much",
        "value": {"lift": "bench-press", "max": {"value": 230, "unit": "lb"}, "reps": 3, "rpe": 8},
    },
    "body weight": {
        "summary": "Pull-ups with 10 kg added to the body",
        "value": {
            "lift": "pull-up",
            "max": {"value": 40, "unit": "kg"},
            "body_weight": {"value": 82, "unit": "kg"},
            "load": {"value": 10, "unit": "kg"},
            "reps": 5,
        },
    },
    "a pinned curve": {
        "summary": "By a published curve: one effort, no chances",
        "value": {
            "lift": "squat",
            "max": {"value": 150, "unit": "kg"},
            "curve": "epley",
            "load": {"value": 120, "unit": "kg"},
            "reps": 5,
        },
    },
}


class ExpectationBody(Body):
    """A set before it is lifted: repetitions, with exactly one of `load`, `rpe` and `rir`; and whom it is for."""

    lift: LiftId
    """The lift's word."""
    reps: Reps
    """Repetitions."""
    load: LoadIn | None = None
    """What the lifter has in mind, in the sense of the lift's load kind: its effort and chances are told."""
    rpe: Annotated[Rpe, without("load")] | None = None
    """In place of a load: the effort that it shall have. The load that can be loaded for it is told. [RPE]"""
    rir: Annotated[Rir, without("load"), without("rpe")] | None = None
    """The same as repetitions left."""
    support: SupportWords | None = None
    """What is worn that changes a max; maxes are compared like with like."""
    athlete: ThingName | None = None
    """Our id, or `ref:` and the gym's own reference. What the log has taught, maxes, settings, place and unit are
    theirs then."""
    max: LoadIn | None = None
    """Without an athlete: a max of the lift, worn as in `support`."""
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
    """What efforts are read by: `model`, or one of `/v1/curves`, which knows no chances. Left out: the athlete's, else
    `model`."""
    round: Literal["nearest", "down", "up"] | None = None
    """Without an athlete: to which load that can be hung. Left out: `nearest`."""
    effort_limit: Annotated[float, Scale(6, 10, 0.5)] | None = None
    """Without an athlete: the effort that a set shall hardly pass. Left out: 9.5. [RPE]"""

    @model_validator(mode="after")
    def _one_question(self) -> ExpectationBody:
        if self.load is None and self.rpe is None and self.rir is None:
            raise PydanticCustomError("one_of", "must have exactly one of load, rpe, rir")
        if self.athlete is not None:
            sent = [name for name in OWN if getattr(self, name, None) is not None]
            if sent:
                raise faults([((name,), "one_of", "is the athlete's own: send it without athlete") for name in sent])
        check_curve(self.curve)
        return self

    def who(self) -> WhoBody:
        """The same conditions as for a slot; its target says no more than the unit."""
        target: TargetBody = FreeTargetBody.model_construct(kind="free", reps=self.reps, reps_to=None)
        if self.load is not None:
            target = LoadTargetBody.model_construct(kind="load", reps=self.reps, reps_to=None, load=self.load)
        sent = {name: getattr(self, name) for name in ExpectationBody.model_fields if name in WhoBody.model_fields}
        scheme = SetsAtTargetBody.model_construct(kind="sets_at_target", sets=1)
        return WhoBody.model_construct(**sent, scheme=scheme, target=target)

    def asked(self) -> Asked:
        """The question as the calculation takes it."""
        rpe = 10 - self.rir if self.rir is not None else self.rpe
        return Asked(lift=self.lift, reps=self.reps, load=self.load, rpe=rpe, support=self.support or ())


@router.post("", **operation("expectations_calculate", "read", Expectation, own=True, refusals=(404,), body=True))
async def calculate_expectation(
    call: Called,
    query: Annotated[CalculationQuery, Query()],
    body: Annotated[ExpectationBody, fastapi.Body(openapi_examples=EXAMPLES)],
) -> Response:
    """Say what a set with a load should be like: effort with its range, chance to make it, chance to be too hard.

    With an effort in place of the load: the load for it, kept from being too hard, and the same of that. Nothing is
    stored. For an athlete it stands on all that is logged, today's sets included.
    """
    who = body.who()
    slot = who.record()
    loadless = FreeTargetBody.model_construct(kind="free", reps=body.reps, reps_to=None).record()
    ctx = await context_of(call, who, replace(slot, target=loadless), query, so_far=False, eased=False)
    if body.load is not None:
        fit_load(body.load, ctx.lifts[body.lift])
        if body.load.unit == "step":
            raise unfit("must be kg or lb: nothing is expected of a step without a mass", "#/load/unit")
    found = expectation(body.asked(), ctx, why=query.why)
    members = {name: getattr(found, name) for name in Told.__dataclass_fields__}
    return call.answer(ANSWER, Expectation(**members, computed=computed(ctx, call.now)), stored=True)
