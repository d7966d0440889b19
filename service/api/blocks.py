"""/v1/blocks: templates laid out for athletes on real dates."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, Literal
from uuid import UUID

from fastapi import Body as Sent
from fastapi import Path, Query, Response
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.layouts import Flag, LayoutShown, PlacesBody, Weekdays, WishesBody, not_before, once
from service.api.lines import Lines, dry_lines, in_lines, streamed, wants_lines
from service.api.paging import Paged
from service.api.plan_examples import BLOCKS, RENAME
from service.api.routing import operation, resource
from service.api.targets import count, fault, without
from service.api.wire import Body, Day, Name, Page, Scale, ThingId, ThingName
from service.api.written import refuse
from service.core.layout.wishes import Wishes
from service.flows import lay_out_block
from service.flows.lay_out_block import Names, Order
from service.flows.lay_out_shape import Result, Results
from service.store import blocks, sessions
from service.store.blocks import Block as Stored
from service.store.session import Tx
from service.store.sessions import Session

router = resource("/blocks", "blocks")

BLOCK: Shape[Stored] = Shape(Stored)
BLOCK_PAGE: Shape[Page[Stored]] = Shape(Page[Stored])
RESULTS: Shape[Results] = Shape(Results)
LINES: Lines[Results, Result] = Lines(Shape(Result), lambda all_: all_.items)
SESSION_PAGE: Shape[Page[Session]] = Shape(Page[Session])

BlockPath = Annotated[ThingId, Path(description="The block's id.")]


_athletes, _athletes_doc = count(1, 500)
Athletes = Annotated[tuple[ThingName, ...], _athletes, _athletes_doc, AfterValidator(once)]


class BlockBody(Body):
    """A template to be laid out."""

    template: ThingName
    """Our id, or `ref:` and the gym's own reference."""
    version: Annotated[int, Scale(1, 999_999, 1)] | None = None
    """Left out: the newest."""
    athletes: Athletes | None = None
    """Who gets a block of their own; or `group`."""
    group: Annotated[ThingName, without("athletes")] | None = None
    """In place of `athletes`: all who are in this group now get one."""
    start: Day | None = None
    """Forwards: the first day that may be used. Each week has seven days for itself, counted from it; or `end`."""
    end: Annotated[Day, not_before("start")] | None = None
    """Backwards: the last session is on this day or before it. Beside `start`: the block has to fit between the two."""
    weekdays: Weekdays
    """The days to train on, one session a day. A week with more sessions runs on into the days that follow, and the
    later weeks wait for it; one with fewer uses its first days (backwards: its last) where no wish says otherwise."""
    wishes: WishesBody | None = None
    """What else the days shall be like."""
    spread: Flag | None = None
    """True: a week with fewer sessions than days spreads them evenly."""
    reorder: Flag | None = None
    """True: the sessions of a week may change their order, where more wishes are met by it."""
    name: Name | None = None
    """Left out: as the template."""
    place: ThingName | None = None
    """Where; left out: where each athlete trains by default."""
    places: PlacesBody | None = None
    """Where on some weekdays, in place of `place`."""
    on_fault: Literal["stop", "skip"] | None = None
    """Where an athlete gets no block: `stop` (as when left out) refuses all, `skip` tells it and goes on."""

    @model_validator(mode="after")
    def _whom_and_when(self) -> BlockBody:
        if self.athletes is None and self.group is None:
            raise PydanticCustomError("required", "is required, or group in its place", {"member": "athletes"})
        if self.start is None and self.end is None:
            raise PydanticCustomError("required", "is required, or end in its place", {"member": "start"})
        return self

    @model_validator(mode="after")
    def _places_are_used(self) -> BlockBody:
        for day in () if self.places is None else self.places.by_day():
            if day not in self.weekdays:
                raise fault(("places", day), "does_not_fit", "must be one of the weekdays")
        return self

    def order(self) -> Order:
        """The body as the use case takes it."""
        return Order(
            template=self.template,
            version=self.version,
            athletes=self.athletes,
            group=self.group,
            weekdays=self.weekdays,
            start=self.start,
            end=self.end,
            wishes=Wishes() if self.wishes is None else self.wishes.record(),
            places={} if self.places is None else self.places.by_day(),
            reorder=self.reorder or False,
            spread=self.spread or False,
            name=self.name,
            place=self.place,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Block(Stored):
    """A template version laid out for one athlete."""

    layout: LayoutShown | None  # type: ignore[assignment]  # as the document shows what is kept as JSON
    """How its days were asked for, as a body asks; null where only the weekdays were kept."""


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


@router.post("", **in_lines(operation("blocks_add", "coach", Results, status=201, body=True), Results))
async def add_blocks(
    call: Called, query: Annotated[DryRun, Query()], body: Annotated[BlockBody, Sent(openapi_examples=BLOCKS)]
) -> Response:
    """Lay a template out for athletes or a group: a block with dated sessions for each. A dry run answers 200.

    With `Accept: application/x-ndjson` it answers 200 and one line for each athlete as soon as the rows are there, and
    at the end a line with `done`: only that says that all is stored.
    """
    if query.dry_run:
        answer = await call.database.read(call.caller, call.now, _tried, body)
        return dry_lines(answer, RESULTS) if wants_lines(call.request) else call.answer(RESULTS, answer)
    names = Names()
    if wants_lines(call.request):
        return await streamed(call, RESULTS, LINES, _where, lambda tx, tell: _laid_out(tx, body, names, tell))
    return await call.add(RESULTS, _where, _laid_out, body, names)


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
    checked = lay_out_block.plan(tx, body.order())
    if body.on_fault != "skip" or not checked.athletes:
        refuse(list(checked.faults.values()))
    return checked


def _tried(tx: Tx, body: BlockBody) -> Results:
    return lay_out_block.tried(_checked(tx, body))


def _laid_out(tx: Tx, body: BlockBody, names: Names, tell: Callable[[Result], object] | None = None) -> Results:
    return lay_out_block.store(tx, _checked(tx, body), names, tell)


def _where(made: Results) -> str | None:
    laid: list[UUID] = [one.block.id for one in made.items if one.block is not None and one.block.id is not None]
    return f"/v1/blocks/{laid[0]}" if len(laid) == 1 else None
