"""What a coach wishes of the days of a block, and what is laid out by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal
from uuid import UUID

from service.core.calendar import Weekday
from service.core.errors import DomainError

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class Holiday:
    """Days without training; both are included."""

    since: Day
    until: Day


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """Free days between two kinds of session.

    The kinds are sessions of these names, or sessions in which these lifts are heavy. A session may be of several
    kinds. Of one kind alone, its sessions are kept apart from each other.
    """

    by: Literal["sessions", "lifts"]
    kinds: tuple[str, ...]
    days: int
    """Free days between them. [days]"""
    must: bool = False
    """True: never broken, and the block gets longer where it has to; else a wish among the days of a week."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LightBefore:
    """Nothing heavy in the days before a date, and on the date nothing heavy but what it is about: a test or a meet."""

    date: Day
    days: int
    """How many days before it. [days]"""
    must: bool = False
    """As with `Apart`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """All wishes of a layout. Those of weekdays, holidays and sessions a week are never broken."""

    never_on: tuple[Weekday, ...] = ()
    holidays: tuple[Holiday, ...] = ()
    apart: tuple[Apart, ...] = ()
    light_before: tuple[LightBefore, ...] = ()
    most_a_week: int | None = None
    """Sessions from a Monday to the Sunday after it, at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """How a block is to be laid out: forwards from `start`, or backwards from `end` where there is no start.

    With both it goes forwards from the start and has to end by the end.
    """

    weekdays: tuple[Weekday, ...]
    start: Day | None = None
    end: Day | None = None
    wishes: Wishes = field(default_factory=Wishes)
    places: Mapping[Weekday, UUID] = field(default_factory=dict)
    """Where sessions on these weekdays are; left out: where the block says."""
    reorder: bool = False
    """True: the sessions of a week may change their order, where more wishes are met by it."""
    spread: bool = False
    """True: weeks with fewer sessions than days spread them evenly; else they use their first days."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """A session that needs a day; weeks and numbers count from 1."""

    week: int
    number: int
    name: str
    heavy_in: tuple[str, ...] = ()
    """Words of the lifts that it is heavy in."""
    heavy: bool = False
    """Whether it is heavy at all."""
    occasion: bool = False
    """Whether it is a test or a meet, which a date may be kept free for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unmet:
    """A wish that could not be met for a session, and why."""

    wish: str
    """Which: a JSON Pointer into what was asked."""
    week: int
    """Week of the session that comes too close."""
    number: int
    """Its number in that week."""
    date: Day
    """Its day."""
    text: str
    """What is the matter, and why."""


class CannotLayOut(DomainError):
    """No days fit: `pointer` is the member that would have to be another, the message goes on after its name."""

    code = "cannot_lay_out"

    def __init__(self, pointer: str, rule: str) -> None:
        super().__init__(rule)
        self.pointer = pointer
