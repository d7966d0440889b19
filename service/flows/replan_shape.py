"""The shape of ways to go on with a block in answers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any, ClassVar
from uuid import UUID

from pydantic import Field

from service.core.replan.records import Effect, Kind

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplannedSession:
    """What becomes of one session."""

    what: str
    """`moved`, `skipped`, `further` or `extended`."""
    session: UUID | None
    """Our id; null for a further one that is not stored."""
    name: str
    """What it is called."""
    week: int
    """Week of the block, from 1."""
    number: int
    """Number in its week, from 1."""
    was: Day | None
    """Its day before; null for a further one."""
    date: Day | None
    """Its day then; null where it is skipped."""
    slots: tuple[str, ...]
    """Words of the lifts that it takes over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One way to go on."""

    kind: Kind
    """`drop`: leave them out; `merge`: their main work goes into the next sessions; `shift`: all follow in order;
    `repeat`: the week is done again; `return`: an earlier week is done again after an absence."""
    text: str
    """What it means, in words."""
    effect: Effect
    """What it comes to, in numbers."""
    changes: tuple[ReplannedSession, ...]
    """What becomes of each session; those that are not named stay as they are."""
    cautions: tuple[str, ...]
    """What to think of."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AwayAhead:
    """A planned absence in which sessions lie."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"serialize_by_alias": True}

    from_date: Annotated[Day, Field(alias="from")]
    """The first day."""
    until: Day
    """The last day; it is included."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposals:
    """Ways to go on with a block; none where nothing was missed, and nothing will be."""

    block: UUID
    """Our id."""
    version: int
    """What `If-Match` takes to choose one of them."""
    athlete: UUID
    """Who runs it."""
    on: Day
    """The athlete's day."""
    missed: int
    """Planned sessions whose day has passed, or lies in an absence that is going on; of an absence ahead those that
    will be missed."""
    ahead: AwayAhead | None
    """The planned absence ahead that the ways are about, where nothing was missed before it; else null."""
    items: tuple[Proposal, ...]
    """The least change first; of two kinds that come to the same changes only the first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replanned:
    """A way that was chosen and carried out."""

    block: UUID
    """Our id."""
    athlete: UUID
    """Who runs it."""
    version: int
    """The block's, by now."""
    replan: Proposal
    """What was done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupResult:
    """What came of one athlete's block."""

    athlete: UUID
    """Our id."""
    name: str
    """The athlete's name."""
    block: UUID
    """Our id of the block."""
    version: int
    """The block's, by now."""
    replan: Proposal | None
    """What was done, or would be; null where this way does not fit."""
    problem: str | None
    """Why it does not fit; null where it does."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupReplanned:
    """A way carried out for everybody of a group who missed something."""

    group: UUID
    """Our id."""
    kind: Kind
    """The way."""
    dry_run: bool
    """True: nothing was stored."""
    items: tuple[GroupResult, ...]
    """Athletes whose block has missed sessions, by name; for the others nothing is changed."""
