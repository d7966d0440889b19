"""/v1/maxes: tested maxes and training maxes of an athlete."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import fastapi
from fastapi import Path, Query, Response
from pydantic import AfterValidator, ValidationInfo, model_validator
from pydantic_core import PydanticCustomError

from service.api.athletes import AthletePath
from service.api.call import Called, Shape
from service.api.routing import operation, resource
from service.api.slots import SupportWords
from service.api.targets import without
from service.api.units import LoadsPaged, UnitQuery, listed_in, read_in
from service.api.wire import Body, Day, LiftId, LoadIn, Name, Note, Page, Scale, ThingId
from service.core.records import SupportClass
from service.flows import decisions
from service.store import maxes
from service.store.maxes import Max

of_athlete = resource("/athletes/{athlete}/maxes", "athletes")
router = resource("/maxes", "athletes")

MAX: Shape[Max] = Shape(Max)
MAXES: Shape[Page[Max]] = Shape(Page[Max])

MaxPath = Annotated[ThingId, Path(description="Our id of the max.")]

EXAMPLES: dict[str, Any] = {
    "tested": {
        "summary": "Done on a platform, with a belt",
        "value": {
            "lift": "squat",
            "kind": "tested",
            "load": {"value": 150, "unit": "kg"},
            "date": "2026-11-01",
            "source": "Autumn meet",
            "support": ["belt", "sleeves"],
        },
    },
    "training": {
        "summary": "The coach's working figure, in pounds",
        "value": {
            "lift": "bench-press",
            "kind": "training",
            "load": {"value": 225, "unit": "lb"},
            "date": "2026-11-01",
        },
    },
}

CHANGES: dict[str, Any] = {
    "load": {"summary": "A slip corrected", "value": {"load": {"value": 152.5, "unit": "kg"}}},
}


def _of_tested(value: float, info: ValidationInfo) -> float:
    if info.data.get("kind") == "tested":
        raise PydanticCustomError("not_here", "belongs to a training max only: it is of the tested one")
    return value


class MaxBody(Body):
    """A max: a load, or for a training max a percentage of the tested max."""

    lift: LiftId
    """The lift's word."""
    kind: Literal["tested", "training"]
    """`tested`: done on a platform or in a test; `training`: the working figure for percentages."""
    load: LoadIn | None = None
    """In the sense of the lift's load kind; for `bodyweight` what was added (negative: assistance)."""
    percent: (
        Annotated[float, Scale(80, 100, 0.001, unit="percent"), without("load"), AfterValidator(_of_tested)] | None
    ) = None
    """In place of a load: of the tested max in force on the date. It is worked out once; `source` says so."""
    date: Day
    """Since when it is in force."""
    source: Name | None = None
    """Where it comes from, in words."""
    support: SupportWords | None = None
    """What was worn; maxes and sets are compared like with like."""
    note: Note | None = None
    """The coach's."""

    @model_validator(mode="after")
    def _one_figure(self) -> MaxBody:
        if self.load is None and self.percent is None:
            raise PydanticCustomError("one_of", "must be sent, or percent in its place", {"member": "load"})
        return self


class MaxPatch(Body):
    """What is to change; null clears source, note and support."""

    load: LoadIn | None = None
    """In the sense of the lift's load kind."""
    date: Day | None = None
    """Since when it is in force."""
    source: Name | None = None
    """Where it comes from, in words."""
    support: SupportWords | None = None
    """What was worn."""
    note: Note | None = None
    """The coach's."""


class MaxQuery(LoadsPaged):
    """Which maxes."""

    on: Day | None = None
    """Only those in force on this day: the newest of each lift, kind and support class."""
    lift: LiftId | None = None
    """Only those of this lift."""
    support: SupportClass | None = None
    """Only those of this class of support."""


def sent(body: Body, *, kept: tuple[str, ...] = ()) -> dict[str, Any]:
    """The members that were sent, as they are; those in `kept` have no "none": null is "as it is"."""
    values = {name: getattr(body, name) for name in body.model_fields_set}
    return {name: value for name, value in values.items() if value is not None or name not in kept}


@of_athlete.get("", **operation("maxes_list", "read", Page[Max], own=True, refusals=(404,)))
async def list_maxes(call: Called, athlete: AthletePath, query: Annotated[MaxQuery, Query()]) -> Response:
    """List maxes, the newest first; `on` gives those in force on a day."""
    filters = {"on": query.on, "lift": query.lift, "support": query.support}
    listed = listed_in(query.unit, maxes.page)
    return await call.page(MAXES, query, lambda one: (str(one.date), str(one.id)), listed, athlete, **filters)


@of_athlete.post("", **operation("maxes_add", "coach", Max, status=201, refusals=(404, 409), body=True))
async def add_max(
    call: Called, athlete: AthletePath, body: Annotated[MaxBody, fastapi.Body(openapi_examples=EXAMPLES)]
) -> Response:
    """Enter a max. One entered later for the same day goes before."""
    return await call.add(MAX, lambda made: f"/v1/maxes/{made.id}", decisions.add_max, athlete, values=sent(body))


@router.get("/{max}", **operation("maxes_get", "read", Max, own=True, refusals=(404,)))
async def get_max(call: Called, max: MaxPath, unit: UnitQuery = None) -> Response:  # noqa: A002 - the path's own word
    """Read one max."""
    return await read_in(call, unit, MAX, maxes.get, max)


@router.patch("/{max}", **operation("maxes_change", "coach", Max, refusals=(404, 409, 412, 428), body=True))
async def change_max(
    call: Called,
    max: MaxPath,  # noqa: A002 - the path's own word
    body: Annotated[MaxPatch, fastapi.Body(openapi_examples=CHANGES)],
) -> Response:
    """Correct a max; null clears."""
    values = sent(body, kept=("load", "date"))
    return await call.write(MAX, decisions.change_max, max, expected=call.expected(), values=values)


@router.delete("/{max}", **operation("maxes_remove", "coach", status=204, refusals=(404, 409, 412, 428)))
async def remove_max(call: Called, max: MaxPath) -> Response:  # noqa: A002 - the path's own word
    """Remove a max that was entered by mistake; what was already prescribed stays as it was."""
    return await call.remove(decisions.remove_max, max, expected=call.expected())
