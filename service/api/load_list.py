"""/v1/athletes/{athlete}/load-list: for one lift the loads that can be loaded, and how many repetitions leave some."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import Query, Response

from service.api.accept import chosen
from service.api.athlete_lifts import OfLiftQuery, content_tag
from service.api.call import PRIVATE, Called, Shape
from service.api.routing import operation, resource
from service.api.sessions import FORMATS, AthletePath, in_formats
from service.api.wire import LiftId
from service.core.tell.answers import LoadList
from service.export import load_list
from service.flows.lift_reports import load_list_of

router = resource("/athletes/{athlete}/load-list", "athletes")

LIST: Shape[LoadList] = Shape(LoadList)


class LoadListQuery(OfLiftQuery):
    """Of which lift, and how to show it."""

    lift: LiftId
    """The lift's word."""
    why: bool = True
    """False: without reasons."""
    format: Literal["json", "text"] | None = None
    """`text`: to print; in place of `Accept`."""


@router.get("", **in_formats(operation("load_list_get", "read", LoadList, own=True, refusals=(404, 406))))
async def get_load_list(call: Called, athlete: AthletePath, query: Annotated[LoadListQuery, Query()]) -> Response:
    """Read the load list of a lift: each load of the place, and how many repetitions leave one, two and three.

    It is for a typical day, fresh, as the athlete reports. Where nothing is known it is empty, and `text`
    says why. Plain text is for the wall.
    """
    name = chosen(call.request, FORMATS)
    found = await call.database.read(
        call.caller, call.now, load_list_of, athlete, query.lift, support=query.support, unit=query.unit, why=query.why
    )
    body = LIST.json(found) if name == "json" else load_list.text(found).encode()
    tag = content_tag(body, "" if name == "json" else ".txt")
    headers = PRIVATE | {"ETag": tag}
    if call.has(tag):
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type=FORMATS[name])
