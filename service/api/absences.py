"""/v1/absences: when somebody did not train, and the way back."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Body as JsonBody
from fastapi import Path, Query, Response
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationInfo
from pydantic_core import PydanticCustomError

from service.api.athletes import AthletePath
from service.api.call import Call, Called, Shape
from service.api.maxes import sent
from service.api.paging import Paged
from service.api.problems import Problem
from service.api.routing import operation, resource
from service.api.settings import ReturnRuleBody, stored_rule
from service.api.wire import Body, Day, Page, ThingId, UnitWord
from service.core.records import AbsenceKind
from service.flows import absences as flows
from service.flows.way_back import WayBack, way_back
from service.store import absences
from service.store.absences import Absence

of_athlete = resource("/athletes/{athlete}/absences", "athletes")
router = resource("/absences", "athletes")

ABSENCE: Shape[Absence] = Shape(Absence)
ABSENCES: Shape[Page[Absence]] = Shape(Page[Absence])
WAY_BACK: Shape[WayBack] = Shape(WayBack)

AbsencePath = Annotated[ThingId, Path(description="Our id of the absence.")]
COACHES = ("agreed", "rule")
"""Members that only a coach sends."""


def _ordered(value: Any, info: ValidationInfo) -> Any:
    first = info.data.get("from_")
    if first is not None and value is not None and value < first:
        raise PydanticCustomError("below_other", "must not be before from", {"allowed": {"min": str(first)}})
    return value


class AbsenceBody(Body):
    """A time without training. There is no text: what it was is nobody's business here, a diagnosis least of all."""

    kind: AbsenceKind
    """`holiday`, `illness`, `injury` or `other`."""
    from_: Day = Field(alias="from")
    """The first day."""
    until: Annotated[Day | None, AfterValidator(_ordered)] = None
    """The last day; it is included. Null or left out: not back yet."""
    agreed: bool | None = Field(None, strict=True)
    """A coach's key only. True: the coach agrees that the way back from an injury begins."""
    rule: ReturnRuleBody | None = None
    """A coach's key only. What differs from `return_rule` of the settings on the way back from this absence."""


class AbsencePatch(Body):
    """What is to change; null clears the last day, the coach's word and the rule."""

    kind: AbsenceKind | None = None
    """`holiday`, `illness`, `injury` or `other`. Only a coach's key makes an injury something else."""
    from_: Day | None = Field(None, alias="from")
    """The first day."""
    until: Day | None = None
    """The last day; it is included. Null: not back yet."""
    agreed: bool | None = Field(None, strict=True)
    """A coach's key only. True: the coach agrees today that the way back from an injury begins. False or null: not."""
    rule: ReturnRuleBody | None = None
    """A coach's key only. Takes the place of the rule that was sent before."""


class AbsenceQuery(Paged):
    """Which absences."""

    since: Day | None = Field(None, alias="from")
    """Only those that last until this day or longer."""
    to: Day | None = None
    """Only those that begin on this day or before."""


class WayBackQuery(BaseModel):
    """As of which day, and how to show it."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    on: Day | None = None
    """As if it were this day of the athlete; left out: today."""
    unit: UnitWord | None = None
    """Shows loads in this unit; what is stored stays as it is."""


NEW: dict[str, Any] = {
    "holiday": {
        "summary": "Four weeks, told before",
        "value": {"kind": "holiday", "from": "2027-02-01", "until": "2027-02-28"},
    },
    "illness": {"summary": "Not back yet", "value": {"kind": "illness", "from": "2027-03-15"}},
    "injury": {
        "summary": "The coach agrees to the way back, and takes more off",
        "value": {
            "kind": "injury",
            "from": "2026-09-07",
            "until": "2026-10-04",
            "agreed": True,
            "rule": {"less_percent_a_week": 3, "back_percent": 75},
        },
    },
}
CHANGED: dict[str, Any] = {
    "back": {"summary": "Back sooner", "value": {"until": "2027-02-21"}},
    "longer": {"summary": "Three weeks to come back", "value": {"rule": {"fewest_days": 21}}},
}


def _values(call: Call, body: AbsenceBody | AbsencePatch) -> dict[str, Any]:
    """The members that were sent; those of a coach need a coach's key."""
    values = sent(body, kept=("kind", "from_"))
    refused = [name for name in COACHES if name in values] if call.caller.right not in flows.COACHES else []
    if refused:
        told = [{"pointer": f"#/{name}", "code": "missing_right", "detail": "is for a coach's key"} for name in refused]
        right = 'Bearer realm="loadwright", error="insufficient_scope", scope="coach"'
        raise Problem(
            "missing-right",
            f"Sending {' and '.join(refused)} needs the right 'coach'; this key has {call.caller.right!r}.",
            errors=told,
            headers={"WWW-Authenticate": right},
        )
    if "from_" in values:
        values["from_date"] = values.pop("from_")
    if "rule" in values:
        values["rule"] = stored_rule(values["rule"])
    return values


@of_athlete.get("", **operation("absences_list", "read", Page[Absence], own=True, refusals=(404,)))
async def list_absences(call: Called, athlete: AthletePath, query: Annotated[AbsenceQuery, Query()]) -> Response:
    """List absences, the newest first."""
    filters = {"since": query.since, "to": query.to}
    return await call.page(ABSENCES, query, absences.place_of, absences.page, athlete, **filters)


@of_athlete.post("", **operation("absences_add", "log", Absence, own=True, status=201, refusals=(404, 409), body=True))
async def add_absence(
    call: Called, athlete: AthletePath, body: Annotated[AbsenceBody, JsonBody(openapi_examples=NEW)]
) -> Response:
    """Enter an absence, before it, during it or afterwards. Two of one athlete cannot have a day in common.

    After 14 days or more the loads and sets of the way back are eased, as `return_rule` of the settings says. A gap in
    training counts without being entered; what is entered is known ahead. After an injury the way back begins only
    when a coach agrees.
    """
    values = _values(call, body)
    return await call.add(ABSENCE, lambda made: f"/v1/absences/{made.id}", flows.add, athlete, values=values)


@router.get("/{absence}", **operation("absences_get", "read", Absence, own=True, refusals=(404,)))
async def get_absence(call: Called, absence: AbsencePath) -> Response:
    """Read one absence."""
    return await call.read(ABSENCE, absences.get, absence)


@router.patch(
    "/{absence}", **operation("absences_change", "log", Absence, own=True, refusals=(404, 409, 412, 428), body=True)
)
async def change_absence(
    call: Called, absence: AbsencePath, body: Annotated[AbsencePatch, JsonBody(openapi_examples=CHANGED)]
) -> Response:
    """Change an absence; open sessions follow as far as they were not begun."""
    values = _values(call, body)
    return await call.write(ABSENCE, flows.change, absence, expected=call.expected(), values=values)


@router.delete("/{absence}", **operation("absences_remove", "log", own=True, status=204, refusals=(404, 409, 412, 428)))
async def remove_absence(call: Called, absence: AbsencePath) -> Response:
    """Take back an absence that was entered by mistake; an injury is the coach's to take back."""
    return await call.remove(flows.remove, absence, expected=call.expected())


@router.get("/{absence}/return", **operation("absences_return", "read", WayBack, own=True, refusals=(404,)))
async def read_way_back(call: Called, absence: AbsencePath, query: Annotated[WayBackQuery, Query()]) -> Response:
    """Look at the way back: what comes off day by day, and what it does to the sessions that are planned on it.

    Where nobody is back yet, it begins on the first day after the absence, or today. `rule` of the absence changes it.
    """
    return await call.read(WAY_BACK, way_back, absence, unit=query.unit, on=query.on)
