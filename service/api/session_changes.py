"""/v1/groups/{group}/session-changes: the day's sessions of a group go to another day or place."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import Body as JsonBody
from fastapi import Response
from pydantic import model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.groups import GroupPath
from service.api.routing import operation, resource
from service.api.wire import Body, Day, ThingName
from service.flows import change_group_sessions as flow
from service.flows.change_group_sessions import GroupSessionChanges, Order

router = resource("/groups/{group}/session-changes", "groups")

CHANGES: Shape[GroupSessionChanges] = Shape(GroupSessionChanges)

EXAMPLES: dict[str, Any] = {
    "another day": {
        "summary": "The hall is closed: a day later",
        "value": {"date": "2026-11-26", "to_date": "2026-11-27"},
    },
    "another place": {
        "summary": "The same day elsewhere, whoever has begun stays or comes along",
        "value": {"date": "2026-11-26", "place": "ref:quarry", "on_fault": "skip"},
    },
}


class SessionChangesBody(Body):
    """What is to change in all sessions of a day: the day, the place, or both."""

    date: Day
    """The day whose sessions are meant."""
    to_date: Day | None = None
    """The day that the planned ones go to: at most 60 days from theirs, and not back into the past."""
    place: ThingName | None = None
    """Where planned and open ones happen; null: where each athlete trains by default."""
    on_fault: Literal["stop", "skip"] | None = None
    """Where an open session would have to move: `stop` (as when left out) refuses all, `skip` tells it and goes on."""

    @model_validator(mode="after")
    def _something(self) -> SessionChangesBody:
        if self.to_date is None and "place" not in self.model_fields_set:
            raise PydanticCustomError("one_of", "must be sent, or place, or both", {"member": "to_date"})
        return self


@router.post(
    "", **operation("session_changes_add", "coach", GroupSessionChanges, status=201, refusals=(404, 409), body=True)
)
async def add_session_changes(
    call: Called, group: GroupPath, body: Annotated[SessionChangesBody, JsonBody(openapi_examples=EXAMPLES)]
) -> Response:
    """Move the day's planned sessions of all who belong to a group, or change their place, those of open ones too.

    What is finished or skipped stays. The answer lists every athlete, with what changed or why not.
    """
    order = Order(
        date=body.date,
        to_date=body.to_date,
        placed="place" in body.model_fields_set,
        place=body.place,
        skip=body.on_fault == "skip",
    )
    return await call.add(CHANGES, lambda _: None, flow.change, group, order)
