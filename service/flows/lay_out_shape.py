"""What laying a block out answers: for each athlete a block with its dated sessions, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.layout.wishes import Unmet

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidSession:
    """A session of the block that was laid out."""

    id: UUID | None
    """Null in a dry run."""
    week: int
    number: int
    date: Day
    name: str
    place: UUID | None
    """Null: where the athlete trains by default."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidBlock:
    """A block that was laid out, with its sessions."""

    id: UUID | None
    """Our id; null in a dry run."""
    athlete: UUID
    """Who runs it."""
    template: UUID
    """The template that it is made from."""
    template_version: int
    """The version of that."""
    name: str
    """What it is called."""
    sessions: tuple[LaidSession, ...]
    """In the order of their days."""
    shared_days: tuple[Day, ...]
    """Days on which the athlete has a session outside of this block too; those stay as they are."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an athlete got no block."""

    pointer: str
    code: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What came of one athlete: a block, or why not."""

    athlete: str
    """As it was sent; of a group: our id."""
    block: LaidBlock | None
    """Null where there is a problem."""
    problem: Refusal | None
    """Null where there is a block."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Results:
    """One result for each athlete, in the order in which they were sent."""

    dry_run: bool
    """True: nothing was stored."""
    starts_on: Day
    """The first session's day."""
    ends_on: Day
    """The last session's day."""
    unmet: tuple[Unmet, ...]
    """Wishes that could not be met, by day; the same for all athletes."""
    told: tuple[str, ...]
    """What else the days have come to: weeks that run over their own seven days, wishes that change nothing, sessions
    that lie before today, how many athletes have another block meanwhile or two sessions on one day."""
    items: tuple[Result, ...]
    """In the order in which they were sent."""
