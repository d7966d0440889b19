"""/v1/overrides: a coach's decisions about an athlete that outrank the calculation until a date."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import fastapi
from fastapi import Path, Query, Response
from pydantic import AfterValidator, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from service.api.athletes import AthletePath
from service.api.call import Called, Shape
from service.api.maxes import sent
from service.api.routing import operation, resource
from service.api.units import LoadsPaged, UnitQuery, listed_in, read_in
from service.api.wire import Body, Day, LiftId, LoadIn, Page, ThingId, Words
from service.flows import decisions
from service.store import overrides
from service.store.overrides import Override

of_athlete = resource("/athletes/{athlete}/overrides", "overrides")
router = resource("/overrides", "overrides")

OVERRIDE: Shape[Override] = Shape(Override)
OVERRIDES: Shape[Page[Override]] = Shape(Page[Override])

OverridePath = Annotated[ThingId, Path(description="Our id of the override.")]
Reason = Annotated[str, Words(500)]


def _ordered(value: Any, info: ValidationInfo) -> Any:
    first = info.data.get("from_")
    if first is not None and value < first:
        raise PydanticCustomError("below_other", "must not be before from", {"allowed": {"min": str(first)}})
    return value


class _Decision(Body):
    """What every decision has."""

    lift: LiftId
    """The lift's word."""
    reason: Reason
    """Why; the lifter reads it."""
    from_: Day | None = Field(None, alias="from")
    """The first day; left out: the athlete's today."""
    until: Annotated[Day, AfterValidator(_ordered)]
    """The last day; it is included."""


class LoadOverrideBody(_Decision):
    """A load that stands, whatever the calculation says."""

    kind: Literal["load"]
    """`load`."""
    load: LoadIn
    """In the sense of the lift's load kind."""


class CapOverrideBody(_Decision):
    """No more than this load; of several caps the strictest counts."""

    kind: Literal["cap"]
    """`cap`."""
    load: LoadIn
    """In the sense of the lift's load kind."""


class ExchangeOverrideBody(_Decision):
    """Another lift in its place."""

    kind: Literal["exchange"]
    """`exchange`."""
    to_lift: LiftId
    """The lift that is done in its place."""


class LeaveOutOverrideBody(_Decision):
    """The lift is not done."""

    kind: Literal["leave_out"]
    """`leave_out`."""


OverrideBody = LoadOverrideBody | CapOverrideBody | ExchangeOverrideBody | LeaveOutOverrideBody

EXAMPLES: dict[str, Any] = {
    "cap": {
        "summary": "No more than 100 kg until a date",
        "value": {
            "kind": "cap",
            "lift": "squat",
            "load": {"value": 100, "unit": "kg"},
            "reason": "First weeks back after the knee",
            "from": "2026-11-20",
            "until": "2026-12-06",
        },
    },
    "exchange": {
        "summary": "Another lift in its place",
        "value": {
            "kind": "exchange",
            "lift": "squat",
            "to_lift": "box-squat",
            "reason": "Depth hurts",
            "until": "2026-12-31",
        },
    },
}


class OverridePatch(Body):
    """What is to change."""

    load: LoadIn | None = None
    """Of the kinds `load` and `cap`."""
    to_lift: LiftId | None = None
    """Of the kind `exchange`."""
    reason: Reason | None = None
    """Why; the lifter reads it."""
    until: Day | None = None
    """The last day; it is included."""


class OverrideQuery(LoadsPaged):
    """Which overrides."""

    on: Day | None = None
    """Only those in force on this day."""


@of_athlete.get("", **operation("overrides_list", "read", Page[Override], own=True, refusals=(404,)))
async def list_overrides(call: Called, athlete: AthletePath, query: Annotated[OverrideQuery, Query()]) -> Response:
    """List the coach's decisions, those that last longest first, with the ended ones; `on` gives those in force."""
    listed = listed_in(query.unit, overrides.page)
    return await call.page(OVERRIDES, query, overrides.place_of, listed, athlete, on=query.on)


@of_athlete.post("", **operation("overrides_add", "coach", Override, status=201, refusals=(404, 409), body=True))
async def add_override(
    call: Called,
    athlete: AthletePath,
    body: Annotated[OverrideBody, fastapi.Body(discriminator="kind", openapi_examples=EXAMPLES)],
) -> Response:
    """Set a decision that every answer obeys from its first day to its last.

    Exchanged or left out first, then a fixed load, then caps.
    """
    values = sent(body)
    values["from_date"] = values.pop("from_", None)
    return await call.add(
        OVERRIDE, lambda made: f"/v1/overrides/{made.id}", decisions.add_override, athlete, values=values
    )


@router.get("/{override}", **operation("overrides_get", "read", Override, own=True, refusals=(404,)))
async def get_override(call: Called, override: OverridePath, unit: UnitQuery = None) -> Response:
    """Read one decision."""
    return await read_in(call, unit, OVERRIDE, overrides.get, override)


@router.patch(
    "/{override}", **operation("overrides_change", "coach", Override, refusals=(404, 409, 412, 428), body=True)
)
async def change_override(
    call: Called,
    override: OverridePath,
    body: Annotated[
        OverridePatch,
        fastapi.Body(openapi_examples={"longer": {"summary": "A later last day", "value": {"until": "2026-12-20"}}}),
    ],
) -> Response:
    """Change the load, the lift in exchange, the reason or the last day; one that was ended is refused with 409."""
    values = sent(body, kept=tuple(OverridePatch.model_fields))
    return await call.write(OVERRIDE, decisions.change_override, override, expected=call.expected(), values=values)


@router.delete("/{override}", **operation("overrides_remove", "coach", status=204, refusals=(404, 409, 412, 428)))
async def end_override(call: Called, override: OverridePath) -> Response:
    """End a decision from the athlete's today on; it stays in the list with the moment of its end."""
    return await call.remove(decisions.end_override, override, expected=call.expected())
