"""/v1/blocks/{block}/replans: ways to go on after missed sessions, and the choice of one."""

from __future__ import annotations

from hashlib import sha256
from typing import Annotated, Any, Literal

from fastapi import Body as Sent
from fastapi import Query, Response
from pydantic import BaseModel, ConfigDict

from service.api.blocks import BlockPath
from service.api.call import PRIVATE, Called, Shape
from service.api.groups import GroupPath
from service.api.routing import operation, resource, tried
from service.api.wire import Body, Day
from service.flows import replan
from service.flows.replan_shape import GroupReplanned, Proposals, Replanned
from service.flows.session_view import LETTERS

router = resource("/blocks/{block}/replans", "blocks")
of_group = resource("/groups/{group}/replans", "groups")

PROPOSALS: Shape[Proposals] = Shape(Proposals)
REPLANNED: Shape[Replanned] = Shape(Replanned)
OF_GROUP: Shape[GroupReplanned] = Shape(GroupReplanned)

EXAMPLES: dict[str, Any] = {
    "shift": {"summary": "Go on with what was missed, and let all else follow", "value": {"kind": "shift"}},
}


class ReplanBody(Body):
    """Which way to go on."""

    kind: Literal["shift", "drop", "merge", "repeat", "return"]
    """One of those that are proposed, or one that comes to the same changes: of two such only the first is proposed.
    What does not fit the block is refused, with the reason."""


class OnQuery(BaseModel):
    """As of which day."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    on: Day | None = None
    """As if it were this day of the athlete; left out: today."""


class GroupReplanQuery(OnQuery):
    """As of which day, and whether to store."""

    dry_run: bool = False
    """True: told for everybody, and nothing is stored."""


@router.get("", **operation("replans_list", "read", Proposals, own=True, refusals=(404,)))
async def list_replans(call: Called, block: BlockPath, query: Annotated[OnQuery, Query()]) -> Response:
    """Read the ways to go on with a block after missed sessions, with what each of them changes.

    A session is missed when its day has passed and it is still planned. Where none was, sessions that lie in a planned
    absence ahead count as missed by then: a block can be dated anew before it. Nothing is changed by reading.
    """
    found = await call.database.read(call.caller, call.now, replan.read, block, on=query.on)
    body = PROPOSALS.json(found)
    # the version is what If-Match takes; the rest tells that the same block has other ways to go on tomorrow
    mark = sha256(body).hexdigest()[:24].translate(LETTERS)
    tag = f'"{found.version}.{mark}"'
    headers = PRIVATE | {"ETag": tag}
    if call.has(tag):
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type="application/json")


@router.post("", **operation("replans_add", "coach", Replanned, status=201, refusals=(404, 409, 412, 428), body=True))
async def apply_replan(
    call: Called,
    block: BlockPath,
    query: Annotated[OnQuery, Query()],
    body: Annotated[ReplanBody, Sent(openapi_examples=EXAMPLES)],
) -> Response:
    """Choose one way: it is worked out as things stand now, and carried out.

    What was trained, opened or skipped is never touched, and nothing is dated into a planned absence. `If-Match` takes
    the block's version, which the ways are read with.
    """
    return await call.add(
        REPLANNED,
        lambda made: f"/v1/blocks/{made.block}",
        replan.apply,
        block,
        body.kind,
        expected=call.expected(),
        on=query.on,
    )


@of_group.post(
    "",
    **tried(
        operation("group_replans_add", "coach", GroupReplanned, status=201, refusals=(404,), body=True), GroupReplanned
    ),
)
async def apply_to_group(
    call: Called,
    group: GroupPath,
    query: Annotated[GroupReplanQuery, Query()],
    body: Annotated[ReplanBody, Sent(openapi_examples=EXAMPLES)],
) -> Response:
    """Choose one way for everybody of a group who missed sessions; each is told. A dry run answers 200.

    A planned absence ahead is for each block by itself.

    Where this way does not fit somebody's block, it is told why, and the block stays as it is.
    """
    if query.dry_run:
        found = await call.database.read(
            call.caller, call.now, replan.apply_to_group, group, body.kind, on=query.on, dry_run=True
        )
        return call.answer(OF_GROUP, found)
    return await call.add(OF_GROUP, lambda _: None, replan.apply_to_group, group, body.kind, on=query.on)
