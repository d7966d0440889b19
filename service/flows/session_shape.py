"""The shape of a session in answers. Its parts are written one by one, so that what was kept goes out as it is."""

from __future__ import annotations

from dataclasses import dataclass, is_dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from pydantic import GetJsonSchemaHandler, TypeAdapter
from pydantic_core import CoreSchema

from service.core.answers import ResolvedSlot
from service.core.records import SessionKind
from service.core.units import Number
from service.store.prescribed import LastTime
from service.store.sessions import State
from service.store.set_records import LoggedSet

Day = date  # a record's own field may be called date


class Together:
    """What is put together from parts: the API document describes its members as the parts do."""

    __slots__ = ()

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        shown = handler(schema)
        members = handler.resolve_ref_schema(shown)["properties"]
        for part in cls.__mro__[1:]:
            if is_dataclass(part):
                described = TypeAdapter(part).json_schema()["properties"]
                for name, member in described.items():
                    if "description" in member:
                        members[name].setdefault("description", member["description"])
        return shown


@dataclass(kw_only=True)
class SlotHead:
    """A line of the session: how it is to be done."""

    id: UUID
    """What a logged set names."""
    lift_name: str
    """The lift to be done, as lists show it."""
    with_next: bool
    """Done in turn with the slot that follows."""
    tempo: str | None
    """Seconds down, pause, up, pause."""
    rest_seconds: int | None
    """Rest after each set."""
    note: str | None
    """The coach's words."""
    optional: bool
    """May be left out by the lifter."""
    accessory: bool
    """Supporting work."""


@dataclass(kw_only=True)
class SlotTail:
    """What was done in a slot."""

    logged: tuple[LoggedSet, ...]
    """In the order in which they were done."""
    last_time: LastTime | None
    """The last day before on which the lift was done."""


@dataclass(kw_only=True)
class SlotView(Together, SlotTail, ResolvedSlot, SlotHead):
    """A line of the session with its sets; what was prescribed is as it was kept."""


@dataclass(frozen=True, slots=True)
class PlaceShown:
    """Where it happens."""

    id: UUID
    name: str


@dataclass(frozen=True, slots=True)
class Computed:
    """When the loads were computed, and by which model."""

    at: datetime
    model: str


@dataclass(frozen=True, kw_only=True)
class SessionHead:
    """A training day."""

    id: UUID
    """Our id."""
    version: int
    """What `If-Match` takes."""
    athlete: UUID
    """Whose it is."""
    block: UUID | None
    """The block that it is part of."""
    kind: SessionKind
    """`block`, `free`, `first`, `test` or `meet`."""
    state: State
    """`planned`, `open`, `finished` or `skipped`."""
    name: str
    """What it is called."""
    date: Day
    """The athlete's day."""
    week: int | None
    """Week of the block, from 1."""
    number: int | None
    """Number in its week, from 1."""
    place: PlaceShown | None
    """Where; null: the usual plates of the athlete's unit."""
    plan_note: str | None
    """The coach's words."""


@dataclass(frozen=True, kw_only=True)
class SessionTail:
    """What came of a training day."""

    logged: tuple[LoggedSet, ...]
    """Sets that belong to none of the slots."""
    minutes_available: int | None
    """The time that there is; the session is shortened to it by the coach's priorities. Null: as planned."""
    session_rpe: Number | None
    """How hard the whole session was. [RPE]"""
    minutes: int | None
    """How long it took."""
    note: str | None
    """The lifter's words."""
    computed: Computed
    """While planned: now; once opened, when the loads were kept."""
    told: tuple[str, ...]
    """In the answer to an addition or a change: what else it has come to, such as two sessions on one day."""


@dataclass(frozen=True, kw_only=True)
class _WithSlots:
    slots: tuple[SlotView, ...]
    """Its lines, in order."""


@dataclass(frozen=True, kw_only=True)
class SessionView(Together, SessionTail, _WithSlots, SessionHead):
    """A training day with its slots."""
