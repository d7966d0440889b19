"""/v1/overrides: a coach's decisions about an athlete or a group that outrank the calculation until a date."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import fastapi
from fastapi import Path, Query, Response
from pydantic import AfterValidator, Field, ValidationInfo, field_validator, model_validator
from pydantic.json_schema import SkipJsonSchema
from pydantic_core import PydanticCustomError

from service.api.athletes import AthletePath
from service.api.call import Called, Shape
from service.api.groups import GroupPath
from service.api.maxes import sent
from service.api.paging import Paged
from service.api.routing import operation, resource
from service.api.targets import without
from service.api.units import LoadsPaged, UnitQuery, listed_in, read_in
from service.api.wire import Body, Day, LiftId, LoadIn, Page, Percent, Scale, ThingId, Words
from service.flows import decisions
from service.store import override_history, overrides
from service.store.override_history import OverrideEntry
from service.store.overrides import Override
from service.store.session import Tx

of_athlete = resource("/athletes/{athlete}/overrides", "overrides")
of_group = resource("/groups/{group}/overrides", "overrides")
router = resource("/overrides", "overrides")

OVERRIDE: Shape[Override] = Shape(Override)
OVERRIDES: Shape[Page[Override]] = Shape(Page[Override])
HISTORY: Shape[Page[OverrideEntry]] = Shape(Page[OverrideEntry])

OverridePath = Annotated[ThingId, Path(description="Our id of the override.")]
Reason = Annotated[str, Words(500)]
NotCleared = SkipJsonSchema[None]
"""Left out: as it is; null is refused."""
CapRpe = Annotated[float, Scale(4, 9.5, 0.5)]


def _ordered(value: Any, info: ValidationInfo) -> Any:
    first = info.data.get("from_")
    if first is not None and value < first:
        raise PydanticCustomError("below_other", "must not be before from", {"allowed": {"min": str(first)}})
    return value


class _Decision(Body):
    """What every decision has."""

    reason: Reason
    """What is to be done in the gym, and why, in the gym's own words; the lifter reads it. Never a diagnosis."""
    from_: Day | None = Field(None, alias="from")
    """The first day; left out: the athlete's today (of a group: the gym's)."""
    until: Annotated[Day, AfterValidator(_ordered)]
    """The last day; it is included."""


class _OfOneLift(_Decision):
    """A decision about one lift."""

    lift: LiftId
    """The lift's word."""


class _OfAnyLift(_Decision):
    """A decision about one lift or all of them."""

    lift: LiftId | None = None
    """The lift's word; left out: every lift."""


class LoadOverrideBody(_OfOneLift):
    """A load that stands, whatever the calculation says."""

    kind: Literal["load"]
    """`load`."""
    load: LoadIn
    """In the sense of the lift's load kind."""


class CapOverrideBody(_OfAnyLift):
    """No more than this: exactly one of `load`, `rpe` and `percent`. Of several caps the strictest counts."""

    kind: Literal["cap"]
    """`cap`."""
    load: LoadIn | None = None
    """No more than this load, in the sense of the lift's load kind; names its lift."""
    rpe: Annotated[CapRpe, without("load")] | None = None
    """No work set is planned to be harder. [RPE]"""
    percent: Annotated[Percent, without("rpe"), without("load")] | None = None
    """No more than this part of the max that the slot's loads are read by, of a percentage: of its basis. [%]"""

    @model_validator(mode="after")
    def _one_cap(self) -> CapOverrideBody:
        if self.load is None and self.rpe is None and self.percent is None:
            raise PydanticCustomError("one_of", "must be sent, or rpe or percent in its place", {"member": "load"})
        if self.load is not None and self.lift is None:
            raise PydanticCustomError("required", "must be sent with a load", {"member": "lift"})
        return self


class ExchangeOverrideBody(_OfOneLift):
    """Another lift in its place."""

    kind: Literal["exchange"]
    """`exchange`."""
    to_lift: LiftId
    """The lift that is done in its place: one with a load, where the lift has one."""


class LeaveOutOverrideBody(_OfOneLift):
    """The lift is not done."""

    kind: Literal["leave_out"]
    """`leave_out`."""


class NoSinglesOverrideBody(_OfAnyLift):
    """No work set of one repetition: two, with a load that is no harder than the one would have been."""

    kind: Literal["no_singles"]
    """`no_singles`."""


class NeedsApprovalOverrideBody(_OfAnyLift):
    """Maximal work waits for an approval; until then work sets stay at RPE 8.5, as a minor's do without being told."""

    kind: Literal["needs_approval"]
    """`needs_approval`."""


class ApprovalOverrideBody(_OfAnyLift):
    """Maximal work is approved on these days, 14 at most: nothing waits for one, and the session says whose it is."""

    kind: Literal["approval"]
    """`approval`."""


OverrideBody = (
    LoadOverrideBody
    | CapOverrideBody
    | ExchangeOverrideBody
    | LeaveOutOverrideBody
    | NoSinglesOverrideBody
    | NeedsApprovalOverrideBody
    | ApprovalOverrideBody
)

EXAMPLES: dict[str, Any] = {
    "cap": {
        "summary": "No more than 100 kg until a date",
        "value": {
            "kind": "cap",
            "lift": "squat",
            "load": {"value": 100, "unit": "kg"},
            "reason": "First weeks back under the bar",
            "from": "2026-11-20",
            "until": "2026-12-06",
        },
    },
    "no harder than an effort": {
        "summary": "No set harder than RPE 7, in every lift",
        "value": {"kind": "cap", "rpe": 7, "reason": "Exams: leave something in hand", "until": "2026-12-31"},
    },
    "no more than a percentage": {
        "summary": "No more than 80 % of the max",
        "value": {
            "kind": "cap",
            "lift": "squat",
            "percent": 80,
            "reason": "Until the depth is right",
            "until": "2026-12-31",
        },
    },
    "exchange": {
        "summary": "Another lift in its place",
        "value": {
            "kind": "exchange",
            "lift": "squat",
            "to_lift": "box-squat",
            "reason": "To a box until the depth is steady",
            "until": "2026-12-31",
        },
    },
    "no singles": {
        "summary": "At least two repetitions",
        "value": {"kind": "no_singles", "reason": "Doubles teach more for now", "until": "2026-12-31"},
    },
    "approval needed": {
        "summary": "Maximal work waits",
        "value": {
            "kind": "needs_approval",
            "lift": "deadlift",
            "reason": "Show me a clean heavy double first",
            "until": "2026-12-31",
        },
    },
    "approval": {
        "summary": "Maximal work on one day",
        "value": {
            "kind": "approval",
            "lift": "deadlift",
            "reason": "Test day, with two spotters and me beside the bar",
            "from": "2026-12-12",
            "until": "2026-12-12",
        },
    },
}
LONGER: dict[str, Any] = {
    "longer": {"summary": "A later last day", "value": {"until": "2026-12-20"}},
}


class OverridePatch(Body):
    """What is to change; nothing that a decision is made of can be cleared."""

    load: LoadIn | NotCleared = None
    """Of the kind `load`, and of a cap of a load."""
    rpe: CapRpe | NotCleared = None
    """Of a cap of an effort. [RPE]"""
    percent: Percent | NotCleared = None
    """Of a cap of a percentage. [%]"""
    to_lift: LiftId | NotCleared = None
    """Of the kind `exchange`."""
    reason: Reason | NotCleared = None
    """What is to be done in the gym, and why, in the gym's own words; the lifter reads it. Never a diagnosis."""
    until: Day | NotCleared = None
    """The last day; it is included."""

    @field_validator("*", mode="before")
    @classmethod
    def _sent(cls, value: object) -> object:
        if value is None:
            raise PydanticCustomError("required", "must not be null: a decision cannot be without it")
        return value


class OverrideQuery(LoadsPaged):
    """Which overrides."""

    on: Day | None = None
    """Only those in force on this day."""


@of_athlete.get("", **operation("overrides_list", "read", Page[Override], own=True, refusals=(404,)))
async def list_overrides(call: Called, athlete: AthletePath, query: Annotated[OverrideQuery, Query()]) -> Response:
    """List what a coach has decided for an athlete, alone or in a group, those that last longest first.

    The ended ones stand in the list too; `on` gives those in force.
    """
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
    return await call.add(OVERRIDE, _where, decisions.add_override, athlete, values=_values(body))


@of_group.get("", **operation("group_overrides_list", "read", Page[Override], own=True, refusals=(404,)))
async def list_group_overrides(call: Called, group: GroupPath, query: Annotated[OverrideQuery, Query()]) -> Response:
    """List what a coach has decided for a group, those that last longest first; `on` gives those in force."""
    listed = listed_in(query.unit, overrides.group_page)
    return await call.page(OVERRIDES, query, overrides.place_of, listed, group, on=query.on)


@of_group.post("", **operation("group_overrides_add", "coach", Override, status=201, refusals=(404, 409), body=True))
async def add_group_override(
    call: Called,
    group: GroupPath,
    body: Annotated[OverrideBody, fastapi.Body(discriminator="kind", openapi_examples=EXAMPLES)],
) -> Response:
    """Set a decision for all who belong to the group while it counts; it acts beside those about each of them."""
    return await call.add(OVERRIDE, _where, decisions.add_group_override, group, values=_values(body))


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
        fastapi.Body(openapi_examples=LONGER),
    ],
) -> Response:
    """Change the bound, the lift in exchange, the reason or the last day; one that was ended is refused with 409."""
    return await call.write(OVERRIDE, decisions.change_override, override, expected=call.expected(), values=sent(body))


@router.delete("/{override}", **operation("overrides_remove", "coach", status=204, refusals=(404, 409, 412, 428)))
async def end_override(call: Called, override: OverridePath) -> Response:
    """End a decision from today on; it stays in the list with the moment of its end, and so does its history."""
    return await call.remove(decisions.end_override, override, expected=call.expected())


@router.get(
    "/{override}/history", **operation("overrides_history", "read", Page[OverrideEntry], own=True, refusals=(404,))
)
async def list_history(call: Called, override: OverridePath, query: Annotated[Paged, Query()]) -> Response:
    """Read who decided what and when, the newest first: each version stays as it was."""
    return await call.page(HISTORY, query, override_history.place_of, _history, override)


def _history(tx: Tx, override: str, **page: Any) -> list[OverrideEntry]:
    return override_history.page(tx, overrides.get(tx, override).id, **page)


def _where(made: Override) -> str:
    return f"/v1/overrides/{made.id}"


def _values(body: _Decision) -> dict[str, Any]:
    values = sent(body)
    values["from_date"] = values.pop("from_", None)
    return values
