"""/v1/version-moves: running blocks follow another version of their template."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import Body as Sent
from fastapi import Query, Response
from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.changes import RunningQuery
from service.api.operations import WeekNumber
from service.api.routing import operation, resource, tried
from service.api.schemes import Flag
from service.api.targets import count, without
from service.api.wire import Body, Scale, ThingId, ThingName
from service.api.written import refuse
from service.flows import version_moves
from service.flows.block_moves import Plan, VersionMoves, results
from service.flows.version_moves import Order
from service.store.session import Tx

router = resource("/version-moves", "blocks")

MOVES: Shape[VersionMoves] = Shape(VersionMoves)

_blocks, _blocks_doc = count(1, 500)


def _once(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(set(value)) != len(value):
        raise PydanticCustomError("repeated", "must name each one once")
    return value


def _true(value: bool) -> bool:  # noqa: FBT001  (a validator takes the value)
    if not value:
        raise PydanticCustomError("one_of", "must be true, or left out")
    return value


EXAMPLES: dict[str, Any] = {
    "all": {
        "summary": "All who are running it, each from the week after the one that they are in",
        "value": {"template": "ref:two-days", "all": True},
    },
    "one": {
        "summary": "One block, from its second week on",
        "value": {
            "template": "ref:two-days",
            "version": 1,
            "from_week": 2,
            "blocks": ["019a5c19-02d4-7e0b-8a55-0c9be7712d10"],
            "on_fault": "skip",
        },
    },
    "a group": {
        "summary": "The members of a group",
        "value": {"template": "ref:two-days", "from_week": 2, "group": "ref:juniors"},
    },
}


class VersionMoveBody(Body):
    """Which blocks follow which version from when on."""

    template: ThingName
    """The template: our id, or `ref:` and the gym's own reference."""
    version: Annotated[int, Scale(1, 999_999, 1)] | None = None
    """The version to follow; left out: the newest."""
    from_week: WeekNumber | None = None
    """The first week that follows it; left out: for each athlete the week after the one that they are in."""
    blocks: Annotated[tuple[ThingId, ...], _blocks, _blocks_doc, AfterValidator(_once)] | None = None
    """These blocks; or `group`, or `all`."""
    group: Annotated[ThingName, without("blocks")] | None = None
    """The running blocks of the members of a group."""
    all_: Annotated[Flag, without("blocks"), without("group"), AfterValidator(_true)] | None = Field(None, alias="all")
    """True: all running blocks of the template."""
    on_fault: Literal["stop", "skip"] | None = None
    """Where a block cannot be moved: `stop` (as when left out) refuses all, `skip` tells it and goes on."""

    @model_validator(mode="after")
    def _whose(self) -> VersionMoveBody:
        if self.blocks is None and self.group is None and self.all_ is None:
            rule = "is required, or group or all in its place"
            raise PydanticCustomError("required", "{rule}", {"rule": rule, "member": "blocks"})
        return self


@router.post("", **tried(operation("version_moves_add", "coach", VersionMoves, status=201, body=True), VersionMoves))
async def add_version_moves(
    call: Called,
    query: Annotated[RunningQuery, Query()],
    body: Annotated[VersionMoveBody, Sent(openapi_examples=EXAMPLES)],
) -> Response:
    """Move running blocks over to another version of their template, from a week on.

    Planned sessions are matched by week and number and keep their day and place; sessions that the version has besides
    are added on the block's weekdays, those that it does not have go. What is open, finished or left out, or has any
    set, is never touched, and told where the version has it otherwise. A dry run answers 200.
    """
    if query.dry_run:
        answer = await call.database.read(call.caller, call.now, _tried, body, query)
        return call.answer(MOVES, answer, stored=True)
    return await call.add(MOVES, lambda _: None, _moved, body, query)


def _checked(tx: Tx, body: VersionMoveBody, query: RunningQuery) -> Plan:
    """The checked order; refused for its blocks, unless those with a fault are skipped and one is left."""
    order = Order(
        template=body.template,
        version=body.version,
        from_week=body.from_week,
        blocks=body.blocks,
        group=body.group,
        everyone=body.all_ or False,
        on=query.on,
    )
    checked = version_moves.plan(tx, order)
    if body.on_fault != "skip" or not checked.fine:
        refuse(checked.faults)
    return checked


def _tried(tx: Tx, body: VersionMoveBody, query: RunningQuery) -> VersionMoves:
    return results(_checked(tx, body, query), dry_run=True)


def _moved(tx: Tx, body: VersionMoveBody, query: RunningQuery) -> VersionMoves:
    return version_moves.store(tx, _checked(tx, body, query))
