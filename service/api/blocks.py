"""/v1/blocks: templates laid out for athletes on real dates."""

from __future__ import annotations

from typing import Annotated, Any, Literal
from uuid import UUID

from fastapi import Body as Sent
from fastapi import Path, Query, Response
from pydantic import AfterValidator, BaseModel, ConfigDict, Field
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.paging import Paged
from service.api.plan_examples import BLOCKS, RENAME
from service.api.routing import operation, resource
from service.api.targets import count
from service.api.templates import refuse
from service.api.wire import Body, Day, Name, Page, Scale, ThingId, ThingName, Weekday
from service.flows import lay_out_block
from service.flows.lay_out_block import Order, Results
from service.store import blocks, sessions
from service.store.blocks import Block
from service.store.session import Tx
from service.store.sessions import Session

router = resource("/blocks", "blocks")

BLOCK: Shape[Block] = Shape(Block)
BLOCK_PAGE: Shape[Page[Block]] = Shape(Page[Block])
RESULTS: Shape[Results] = Shape(Results)
SESSION_PAGE: Shape[Page[Session]] = Shape(Page[Session])

BlockPath = Annotated[ThingId, Path(description="The block's id.")]


def _once(value: tuple[str, ...]) -> tuple[str, ...]:
    if len(set(value)) != len(value):
        raise PydanticCustomError("repeated", "must name each one once")
    return value


_athletes, _athletes_doc = count(1, 500)
_days, _days_doc = count(1, 7)
Athletes = Annotated[tuple[ThingName, ...], _athletes, _athletes_doc, AfterValidator(_once)]
Weekdays = Annotated[tuple[Weekday, ...], _days, _days_doc, AfterValidator(_once)]


class BlockBody(Body):
    """A template to be laid out."""

    template: ThingName
    """Our id, or `ref:` and the gym's own reference."""
    version: Annotated[int, Scale(1, 999_999, 1)] | None = None
    """Left out: the newest."""
    athletes: Athletes
    """Who gets a block of their own."""
    start: Day
    """The first day that may be used; weeks count from the first weekday on or after it."""
    weekdays: Weekdays
    """The days to train on. A week with fewer sessions uses its first days; one with more is refused."""
    name: Name | None = None
    """Left out: as the template."""
    place: ThingName | None = None
    """Where; left out: where each athlete trains by default."""
    on_fault: Literal["stop", "skip"] | None = None
    """Where an athlete gets no block: `stop` (as when left out) refuses all, `skip` tells it and goes on."""


class BlockPatch(Body):
    """What is to change."""

    name: Name | None = None
    """What the block is called."""


class BlockQuery(Paged):
    """Which blocks."""

    athlete: ThingName | None = None
    """Of one athlete."""


class DryRun(BaseModel):
    """Whether to store."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    dry_run: bool = Field(default=False)
    """True: checked and answered with its dates, and nothing is stored."""


@router.get("", **operation("blocks_list", "read", Page[Block], own=True, refusals=(404,)))
async def list_blocks(call: Called, query: Annotated[BlockQuery, Query()]) -> Response:
    """List blocks, the latest start first."""
    return await call.page(
        BLOCK_PAGE, query, lambda block: (str(block.start), str(block.id)), blocks.page, athlete=query.athlete
    )


@router.post("", **operation("blocks_add", "coach", Results, status=201, body=True))
async def add_blocks(
    call: Called, query: Annotated[DryRun, Query()], body: Annotated[BlockBody, Sent(openapi_examples=BLOCKS)]
) -> Response:
    """Lay a template out for one or many athletes: a block with dated sessions for each. A dry run answers 200."""
    if query.dry_run:
        answer = await call.database.read(call.caller, call.now, _tried, body)
        return call.answer(RESULTS, answer)
    return await call.add(RESULTS, _where, _laid_out, body)


@router.get("/{block}", **operation("blocks_get", "read", Block, own=True, refusals=(404,)))
async def get_block(call: Called, block: BlockPath) -> Response:
    """Read one block."""
    return await call.read(BLOCK, blocks.get, block)


@router.patch("/{block}", **operation("blocks_change", "coach", Block, refusals=(404, 412, 428), body=True))
async def change_block(
    call: Called, block: BlockPath, body: Annotated[BlockPatch, Sent(openapi_examples=RENAME)]
) -> Response:
    """Give a block another name."""
    return await call.write(BLOCK, blocks.rename, block, expected=call.expected(), name=body.name)


@router.delete("/{block}", **operation("blocks_remove", "coach", status=204, refusals=(404, 409, 412, 428)))
async def remove_block(call: Called, block: BlockPath) -> Response:
    """Remove a block with its sessions, as long as no set was logged in it."""
    return await call.remove(blocks.remove, block, expected=call.expected())


@router.get("/{block}/sessions", **operation("block_sessions_list", "read", Page[Session], own=True, refusals=(404,)))
async def list_block_sessions(call: Called, block: BlockPath, query: Annotated[Paged, Query()]) -> Response:
    """List the sessions of a block, by date."""
    return await call.page(SESSION_PAGE, query, lambda one: (str(one.date), str(one.id)), _sessions, block)


def _sessions(tx: Tx, block: str, **page: Any) -> list[Session]:
    return sessions.of_block(tx, blocks.get(tx, block).id, **page)


def _checked(tx: Tx, body: BlockBody) -> lay_out_block.Plan:
    """The checked order; refused for its athletes, unless those with a fault are skipped and somebody is left."""
    order = Order(
        template=body.template,
        version=body.version,
        athletes=body.athletes,
        start=body.start,
        weekdays=body.weekdays,
        name=body.name,
        place=body.place,
    )
    checked = lay_out_block.plan(tx, order)
    if body.on_fault != "skip" or not checked.athletes:
        refuse(list(checked.faults.values()))
    return checked


def _tried(tx: Tx, body: BlockBody) -> Results:
    return lay_out_block.results(_checked(tx, body))


def _laid_out(tx: Tx, body: BlockBody) -> Results:
    return lay_out_block.store(tx, _checked(tx, body))


def _where(made: Results) -> str | None:
    laid: list[UUID] = [one.block.id for one in made.items if one.block is not None and one.block.id is not None]
    return f"/v1/blocks/{laid[0]}" if len(laid) == 1 else None
