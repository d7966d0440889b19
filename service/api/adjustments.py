"""/v1/adjustments: from what was done so far today to the next set, for an athlete or for bare numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

import fastapi
from fastapi import Query, Response
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, ShapeByKind
from service.api.prescriptions import Computation, computed
from service.api.routing import operation, resource
from service.api.schemes import Flag
from service.api.targets import count, without
from service.api.who import CalculationQuery, WhoBody, context_of
from service.api.wire import Body, LiftId, LoadIn, RepsDone, Rir, Rpe
from service.core.adjust.adjust import next_set
from service.core.answers import Next, NextSet
from service.core.context import Context
from service.core.methods import method_of
from service.core.prescribe.obey import orders
from service.core.records import DoneSet, EndedBy, Felt, Method, Pain, Role
from service.core.units import MassUnit
from service.store.unfit import fit_load, unfit

router = resource("/adjustments", "calculations")

LEAST_OR_MORE = 5
_done, _done_doc = count(0, 40)


class DoneBody(Body):
    """A set that was done today; at most one of `rpe`, `rir`, `felt`."""

    role: Role
    """How it was meant."""
    reps: RepsDone
    """Good repetitions; 0 only with `made: false`. 1 for a timed set or a carry."""
    load: LoadIn | None = None
    """In the sense of the lift's load kind; left out where there was none."""
    lift: LiftId | None = None
    """Left out: the lift that is to be done."""
    rpe: Rpe | None = None
    """Effort, in halves. To failure is 10. [RPE]"""
    rir: Annotated[Rir, without("rpe")] | None = None
    """Repetitions left, in halves."""
    or_more: Flag | None = None
    """`rir` or more were left; from 5 on."""
    felt: Annotated[Felt, without("rpe"), without("rir")] | None = None
    """In words, against what was expected of the set."""
    made: Flag | None = None
    """Left out: true. False: the last repetition was missed."""
    ended_by: EndedBy | None = None
    """What ended it; left out: `choice`, or `strength` when not made."""
    pain: Pain | None = None
    """Left out: `none`."""
    method: Method | None = None
    """How it was done; left out: as the slot says, else `straight`. From all others no max is read."""

    @model_validator(mode="after")
    def _agrees(self) -> DoneBody:
        if self.or_more and (self.rir is None or self.rir < LEAST_OR_MORE):
            raise PydanticCustomError("not_here", "belongs to rir of 5 and more only", {"member": "or_more"})
        if self.made is False and self.ended_by == "choice":
            rule = "must not be choice where a repetition was missed: stopping early on purpose is made: true"
            raise PydanticCustomError("contradicts", "{rule}", {"member": "ended_by", "rule": rule})
        if self.reps == 0 and self.made is not False:
            raise PydanticCustomError("out_of_range", "must be 1 or more unless made is false", {"member": "reps"})
        return self

    def record(self, lift: str, method: Method) -> DoneSet:
        """The set as the calculation takes it; `method`: how the slot's sets are done."""
        made = self.made is not False
        return DoneSet(
            lift=self.lift or lift,
            role=self.role,
            load=self.load,
            reps=self.reps,
            rpe=self.rpe,
            rir=self.rir,
            or_more=bool(self.or_more),
            felt=self.felt,
            made=made,
            ended_by=self.ended_by or ("choice" if made else "strength"),
            pain=self.pain or "none",
            method=self.method or method,
        )


class AdjustmentBody(WhoBody):
    """A slot, whom it is for, and what was done of it so far."""

    done: Annotated[tuple[DoneBody, ...], _done, _done_doc] = Field(...)
    """The sets of this slot so far today, in the order in which they were done."""


@dataclass(slots=True, kw_only=True)
class Adjustment:
    """What comes next."""

    unit: MassUnit
    """Unit that loads are worked out in; what is whole only in the other unit is shown in that."""
    next: Annotated[Next, Field(discriminator="kind")]
    """A set with what would follow it, a choice after pain, or the end of the lift."""
    computed: Computation
    """When and how."""


def _held(answer: Adjustment) -> frozenset[type]:
    coming = answer.next
    return frozenset((type(coming), type(coming.loading)) if isinstance(coming, NextSet) else (type(coming),))


ANSWER = ShapeByKind(Adjustment, _held)

_SLOT: dict[str, Any] = {
    "lift": "squat",
    "max": {"value": 150, "unit": "kg"},
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
}
EXAMPLES: dict[str, Any] = {
    "back-off": {
        "summary": "The top set was a point harder than asked",
        "value": {
            **_SLOT,
            "done": [{"role": "top_set", "load": {"value": 127.5, "unit": "kg"}, "reps": 3, "rpe": 8.5}],
        },
    },
    "build-up": {
        "summary": "A build-up set felt lighter than expected",
        "value": {
            **_SLOT,
            "done": [{"role": "build_up", "load": {"value": 117.5, "unit": "kg"}, "reps": 3, "felt": "lighter"}],
        },
    },
}


class AdjustmentQuery(CalculationQuery):
    """What the answer holds."""

    next_if: bool = False
    """True: with what would follow each outcome of the coming set, for an app that may lose its reception."""


@router.post("", **operation("adjustments_calculate", "read", Adjustment, own=True, refusals=(404,), body=True))
async def calculate_adjustment(
    call: Called,
    query: Annotated[AdjustmentQuery, Query()],
    body: Annotated[AdjustmentBody, fastapi.Body(openapi_examples=EXAMPLES)],
) -> Response:
    """Say what comes next after the sets done so far: the next set with its reason, or to stop here. Stores nothing.

    For an athlete everything is theirs, as in `/v1/prescriptions`; what is stored of today is not counted twice.
    """
    slot = body.record()
    ctx = await context_of(call, body, slot, query, so_far=True)
    to_do = orders(slot.lift, ctx).lift  # after a coach's exchanges
    lift = ctx.lifts.get(to_do)
    method: Method = "straight" if lift is None else method_of(slot, lift)
    done = [one.record(to_do, method) for one in body.done]
    for at, one in enumerate(done):
        _fits(one, ctx, at)
    coming = next_set(slot, ctx, done, why=query.why, ahead=query.next_if)
    return call.answer(ANSWER, Adjustment(unit=ctx.unit, next=coming, computed=computed(ctx, call.now)), stored=True)


def _fits(done: DoneSet, ctx: Context, at: int) -> None:
    """Refuse a set of a lift that has no place in this slot, and a load that says nothing for its lift."""
    lift = ctx.lifts.get(done.lift)
    if lift is None:
        raise unfit("must be the slot's lift, or one that it is based on or exchanged for", f"#/done/{at}/lift")
    if done.load is not None:
        fit_load(done.load, lift, f"#/done/{at}/load")
