"""The sessions of a day, or of up to seven, in one answer for a phone's screen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from pydantic import TypeAdapter

from service.core import words
from service.core.calendar import WEEKDAYS
from service.core.units import MassUnit
from service.flows.session_shape import Computed, SessionView, Together
from service.flows.session_view import Seen, Written, mark_of, see_each
from service.store import people, prescribed
from service.store.errors import NotFound
from service.store.prescribed import MODEL
from service.store.session import Tx

Day = date  # a record's own field may be called date


@dataclass(frozen=True, kw_only=True)
class TodayHead:
    """The days that are shown."""

    date: Day
    """The first day, as the athlete's time zone has it."""
    to: Day
    """The last day; it is included."""
    athlete: UUID
    """Whose days."""


@dataclass(frozen=True, kw_only=True)
class _WithSessions:
    sessions: tuple[SessionView, ...]
    """In the order of their days."""
    computed: Computed
    """When this was put together."""


@dataclass(frozen=True, kw_only=True)
class Today(Together, _WithSessions, TodayHead):
    """The sessions of a day, or of several, with everything that a screen needs."""


HEAD: TypeAdapter[TodayHead] = TypeAdapter(TodayHead)
COMPUTED: TypeAdapter[Computed] = TypeAdapter(Computed)


def read(
    tx: Tx,
    athlete: str,
    *,
    on: date | None,
    days: int,
    has: Callable[[str], bool],
    plain: bool = False,
    why: bool = True,
    unit: MassUnit | None = None,
) -> Written:
    """The sessions from `on` (else today, where the athlete is) for some days, as JSON or as boards.

    `unit`: with loads in this unit; None: as they were kept and entered.

    Raises NotFound for an athlete that this caller does not have.
    """
    person = people.find(tx, athlete)
    if person is None:
        raise NotFound("athlete")
    first = on or person.today
    head = TodayHead(date=first, to=first + timedelta(days=days - 1), athlete=person.id)
    seen = see_each(tx, prescribed.days(tx, person.id, since=head.date, until=head.to), unit)
    tag = f'"{mark_of(seen, head, plain, why, unit)}"'
    if has(tag):
        return Written(None, tag)
    if plain:
        return Written(_boards(head, seen).encode(), tag)
    sessions = b",".join(one.json(why=why) for one in seen)
    computed = COMPUTED.dump_json(Computed(tx.now, MODEL))
    body = HEAD.dump_json(head)[:-1] + b',"sessions":[' + sessions + b'],"computed":' + computed + b"}\n"
    return Written(body, tag)


def _boards(head: TodayHead, seen: list[Seen]) -> str:
    if seen:
        return "\n\n".join(one.board() for one in seen)
    first = f"{WEEKDAYS[head.date.weekday()].capitalize()} {words.day(head.date)}"
    return f"No session on {first}.\n" if head.to == head.date else f"No session from {first} on.\n"
