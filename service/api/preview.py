"""/v1/blocks/{block}/preview: the loads of a whole block, by what is known today."""

from __future__ import annotations

from typing import Annotated

from fastapi import Query, Response
from pydantic import BaseModel, ConfigDict, Field

from service.api.athlete_lifts import content_tag
from service.api.blocks import BlockPath
from service.api.call import PRIVATE, Called, Shape
from service.api.layouts import not_before
from service.api.routing import operation, resource
from service.api.wire import Day, UnitWord
from service.flows.preview import Preview, preview

router = resource("/blocks/{block}/preview", "blocks")

PREVIEW: Shape[Preview] = Shape(Preview)


class PreviewQuery(BaseModel):
    """Which days, and in which unit."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    since: Day | None = Field(None, alias="from")
    """From this day on."""
    to: Annotated[Day, not_before("since")] | None = None
    """Up to this day; it is included."""
    on: Day | None = None
    """As if it were this day of the athlete; left out: today."""
    unit: UnitWord | None = None
    """Loads in this unit; left out: in the athlete's."""


@router.get("", **operation("blocks_preview", "read", Preview, own=True, refusals=(404,)))
async def get_preview(call: Called, block: BlockPath, query: Annotated[PreviewQuery, Query()]) -> Response:
    """Read the planned sessions of a block with their loads, as they would be by what is known today.

    What training will change is not foreseen: the max stays as the log has it, and ranges widen with the days.
    """
    found = await call.database.read(
        call.caller, call.now, preview, block, unit=query.unit, since=query.since, until=query.to, on=query.on
    )
    body = PREVIEW.json(found)
    tag = content_tag(body, "")
    headers = PRIVATE | {"ETag": tag}
    if call.has(tag):
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type="application/json")
