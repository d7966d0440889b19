"""/v1/athletes/{athlete}/lifts: what is known of each lift's max, how it came about, and how sure it is."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from hashlib import sha256
from typing import Annotated, Any, TypeVar

from fastapi import Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field

from service.api.call import PRIVATE, Call, Called, Shape
from service.api.paging import Paged
from service.api.problems import Problem
from service.api.routing import operation, resource
from service.api.sessions import AthletePath
from service.api.wire import Day, LiftId, Page, UnitWord
from service.core.records import SupportClass
from service.core.tell.answers import LiftDetail, LiftEstimate
from service.core.tell.estimates import sort_values
from service.flows import lift_reports
from service.flows.lift_reports import History

T = TypeVar("T")

router = resource("/athletes/{athlete}/lifts", "athletes")

ESTIMATES: Shape[Page[LiftEstimate]] = Shape(Page[LiftEstimate])
DETAIL: Shape[LiftDetail] = Shape(LiftDetail)
HISTORY: Shape[History] = Shape(History)
FARTHEST_DAYS = 366
"""A max is not told further ahead. Ours. [days]"""

LiftPath = Annotated[LiftId, Path(description="The lift's word, such as `pause-squat`.")]


class EstimatesQuery(Paged):
    """How to show the list."""

    unit: UnitWord | None = None
    """Shows loads in this unit; left out: the athlete's."""
    why: bool = True
    """False: without reasons."""


class OfLiftQuery(BaseModel):
    """Which max of the lift, and how to show it."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    support: SupportClass = "unsupported"
    """What it is done in: `unsupported` (nothing, a belt, sleeves), `wraps`, `suit` (a suit or shirt)."""
    unit: UnitWord | None = None
    """Shows loads in this unit; left out: the athlete's."""


class DetailQuery(OfLiftQuery):
    """Which max of the lift on which day, and how to show it."""

    on: Day | None = None
    """A day before: as it was then, by what had been logged. A day ahead, up to a year: what usual training leads to.
    Left out: today, where the athlete is."""
    why: bool = True
    """False: without reasons."""


class HistoryQuery(OfLiftQuery):
    """Which sessions of the lift."""

    since: Day | None = Field(None, alias="from")
    """From this day on."""
    to: Day | None = None
    """Up to this day; it is included."""


@router.get("", **operation("estimates_list", "read", Page[LiftEstimate], own=True, refusals=(404,)))
async def list_estimates(call: Called, athlete: AthletePath, query: Annotated[EstimatesQuery, Query()]) -> Response:
    """List an athlete's lifts that were trained or have a max, by name: the max with its range, and how sure it is."""
    return await call.page(ESTIMATES, query, sort_values, lift_reports.listed, athlete, unit=query.unit, why=query.why)


@router.get("/{lift}", **operation("estimates_get", "read", LiftDetail, own=True, refusals=(404,)))
async def get_estimate(
    call: Called, athlete: AthletePath, lift: LiftPath, query: Annotated[DetailQuery, Query()]
) -> Response:
    """Read one lift's max today, on a day before or ahead: what the last sets taught, how sure it is, what would help.

    Where nothing is known of the lift, `text` says why, and what to do.
    """
    if query.on is not None:
        last = call.now.date() + timedelta(days=FARTHEST_DAYS)
        if query.on > last:
            raise _too_far(f"must be at most a year ahead, up to {last}")
    return await hashed(
        call,
        DETAIL,
        lift_reports.detail,
        athlete,
        lift,
        on=query.on,
        support=query.support,
        unit=query.unit,
        why=query.why,
    )


@router.get("/{lift}/history", **operation("estimates_history", "read", History, own=True, refusals=(404,)))
async def get_history(
    call: Called, athlete: AthletePath, lift: LiftPath, query: Annotated[HistoryQuery, Query()]
) -> Response:
    """Read one lift's max session by session, for a chart: as it looks today, and as it was believed then.

    It is computed from the whole log at each reading. Where the level turned out to be another one, the line starts
    anew.
    """
    return await hashed(
        call,
        HISTORY,
        lift_reports.history,
        athlete,
        lift,
        support=query.support,
        since=query.since,
        until=query.to,
        unit=query.unit,
    )


async def hashed(call: Call, shape: Shape[T], f: Callable[..., T], *args: Any, **more: Any) -> Response:
    """Answer what `f(tx, ...)` computes, with a tag of its content; 304 where the reader has it already."""
    body = shape.json(await call.database.read(call.caller, call.now, f, *args, **more))
    tag = content_tag(body)
    headers = PRIVATE | {"ETag": tag}
    if call.has(tag):
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type="application/json")


def content_tag(body: bytes, mark: str = "") -> str:
    """The strong entity tag of a computed answer; `mark` tells formats apart."""
    return f'"{sha256(body).hexdigest()[:32]}{mark}"'


def _too_far(rule: str) -> Problem:
    errors = [{"parameter": "on", "code": "out_of_range", "detail": rule}]
    return Problem("invalid-fields", f"1 field is not valid: on {rule}.", errors=errors)
