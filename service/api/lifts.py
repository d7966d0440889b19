"""/v1/lifts: the built-in lifts, and the gym's own."""

from __future__ import annotations

from typing import Annotated, Any

import fastapi
from fastapi import Path, Query, Response
from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.paging import Paged
from service.api.routing import operation, resource
from service.api.wire import Body, LiftId, Name, Page, Scale
from service.core.records import CurveGroup, LoadKind
from service.store import lifts
from service.store.lifts import Lift

router = resource("/lifts", "lifts")

LIFT: Shape[Lift] = Shape(Lift)
LIFTS: Shape[Page[Lift]] = Shape(Page[Lift])

Ratio = Annotated[float, Scale(0.2, 2, 0.001)]
LiftPath = Annotated[LiftId, Path(description="The lift's word, such as `pause-squat`.")]

EXAMPLES: dict[str, Any] = {
    "a variation": {
        "summary": "A squat of this gym's own, with its ratio",
        "value": {"name": "Belt squat to a box", "load_kind": "total", "based_on": "squat", "ratio": 0.85},
    },
    "a machine": {"summary": "A machine", "value": {"name": "Pullover machine", "load_kind": "stack"}},
}


class LiftBody(Body):
    """One of the gym's own lifts."""

    name: Name
    """As lists and sentences show it."""
    load_kind: LoadKind
    """What a load means: `total` the whole bar, `per_hand` one of a pair, `bodyweight` added to the body (negative:
    assistance), `stack` a machine's step, `none`."""
    curve_group: CurveGroup | None = None
    """How many repetitions a percentage allows, roughly; left out: as the lift it is based on, else `other`."""
    technique: bool | None = Field(None, strict=True)
    """Technique ends a set, not strength; left out: as the lift it is based on, else false."""
    based_on: LiftId | None = None
    """The lift that this one is a variation of; then `ratio` is needed."""
    ratio: Ratio | None = None
    """Its max divided by that of the lift it is based on, 0.2 to 2."""
    ratio_source: Name | None = None
    """Where the ratio comes from; it stands in the reasons. Left out: the gym's own."""

    @model_validator(mode="after")
    def _variation(self) -> LiftBody:
        for member, other in (("ratio", "based_on"), ("based_on", "ratio"), ("based_on", "ratio_source")):
            if getattr(self, member) is None and getattr(self, other) is not None:
                raise PydanticCustomError("needed_with", "is needed with {other}", {"member": member, "other": other})
        if self.based_on is not None and self.load_kind in ("stack", "none"):
            raise PydanticCustomError(
                "not_comparable",
                "must be left out: loads of a machine, or no loads, compare with no other lift",
                {"member": "based_on"},
            )
        return self


@router.get("", **operation("lifts_list", "read", Page[Lift], own=True))
async def list_lifts(call: Called, query: Annotated[Paged, Query()]) -> Response:
    """List the lifts, built-in and own, by name."""
    return await call.page(LIFTS, query, lambda lift: (lift.name, lift.id), lifts.page)


@router.get("/{lift}", **operation("lifts_get", "read", Lift, own=True, refusals=(404,)))
async def get_lift(call: Called, lift: LiftPath) -> Response:
    """Read one lift."""
    return await call.read(LIFT, lifts.get, lift)


@router.put("/{lift}", **operation("lifts_put", "coach", Lift, refusals=(404, 409, 412, 428), body=True))
async def put_lift(
    call: Called, lift: LiftPath, body: Annotated[LiftBody, fastapi.Body(openapi_examples=EXAMPLES)]
) -> Response:
    """Create one of the gym's own lifts under a word chosen once, or replace it (then with `If-Match`).

    A built-in lift, and a change of the load kind of a lift in use, is refused with 409.
    """
    return await call.put(
        LIFT,
        lifts.put,
        lift,
        expected=call.expected_if_sent(),
        only_new=call.only_new(),
        values=body.model_dump(),
    )


@router.delete("/{lift}", **operation("lifts_remove", "coach", status=204, refusals=(404, 409, 412, 428)))
async def remove_lift(call: Called, lift: LiftPath) -> Response:
    """Remove one of the gym's own lifts; 409 while anything uses it."""
    return await call.remove(lifts.remove, lift, expected=call.expected())
