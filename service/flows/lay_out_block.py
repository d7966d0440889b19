"""A template version laid out for one or many athletes: their blocks, with sessions on dates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from service.core.calendar import DatedSession, TooFewWeekdays, Weekday, lay_out
from service.core.slots import SessionPlan, WeekPlan
from service.core.templates import Fault, lifts_named
from service.flows.change_session import place_id
from service.store import blocks, lifts, sessions, templates
from service.store.errors import NotFound, UnfitReference, UnknownReference
from service.store.ids import new_id
from service.store.session import Tx
from service.store.sessions import NewSession
from service.store.templates import LATEST, TemplateVersion

Day = date  # a record's own field may be called date
MOST_SLOTS = 250_000
"""Slots that one request may make: about half a minute of work. Ours. [slots]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is asked for."""

    template: str
    version: int | None
    athletes: tuple[str, ...]
    start: Day
    weekdays: tuple[Weekday, ...]
    name: str | None
    place: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidSession:
    """A session of the block that was laid out."""

    id: UUID | None
    """Null in a dry run."""
    week: int
    number: int
    date: Day
    name: str


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
    """As it was sent."""
    block: LaidBlock | None
    """Null where there is a problem."""
    problem: Refusal | None
    """Null where there is a block."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Results:
    """One result for each athlete, in the order in which they were sent."""

    dry_run: bool
    """True: nothing was stored."""
    items: tuple[Result, ...]
    """In the order in which they were sent."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """An order that was checked, before anything is stored."""

    order: Order
    version: TemplateVersion
    weeks: tuple[WeekPlan, ...]
    dated: tuple[DatedSession, ...]
    place: UUID | None
    athletes: dict[str, UUID]
    """By the name that was sent; those with a fault are absent."""
    faults: dict[str, Fault]
    """By the name that was sent."""

    def session(self, one: DatedSession) -> SessionPlan:
        """What the template has for a dated session."""
        return self.weeks[one.week - 1].sessions[one.number - 1]


def plan(tx: Tx, order: Order) -> Plan:
    """Check an order. What is wrong with an athlete stands in `faults`; what is wrong with all of it is raised.

    Raises UnknownReference for the template, its version or the place; UnfitReference where a week has more sessions
    than there are weekdays, or where the gym no longer has a lift.
    """
    version = _version(tx, order)
    weeks = templates.weeks_of(version)
    try:
        dated = lay_out([len(week.sessions) for week in weeks], order.start, order.weekdays)
    except TooFewWeekdays as few:
        rule = f"must name at least {few.sessions} days: week {few.week} has {few.sessions} sessions"
        raise UnfitReference("weekdays", "#/weekdays", rule) from few
    named = lifts_named(weeks)
    gone = sorted(named - lifts.get_many(tx, named).keys())
    if gone:
        raise UnfitReference("template", "#/template", f"must not name lifts that are gone: {', '.join(gone)}")
    slots = sum(len(session.slots) for week in weeks for session in week.sessions)
    if slots * len(order.athletes) > MOST_SLOTS:
        rule = f"must be at most {MOST_SLOTS // slots} at once for a template of {slots} slots"
        raise UnfitReference("athletes", "#/athletes", rule)
    athletes, faults = _athletes(tx, order.athletes)
    return Plan(
        order=order,
        version=version,
        weeks=weeks,
        dated=dated,
        place=place_id(tx, order.place),
        athletes=athletes,
        faults=faults,
    )


def _version(tx: Tx, order: Order) -> TemplateVersion:
    try:
        found = templates.get(tx, order.template)
    except NotFound:
        raise UnknownReference("template", "#/template") from None
    try:
        return templates.get_version(tx, str(found.id), LATEST if order.version is None else str(order.version))
    except NotFound:
        raise UnknownReference("version of this template", "#/version") from None


def _athletes(tx: Tx, names: Sequence[str]) -> tuple[dict[str, UUID], dict[str, Fault]]:
    known = blocks.athletes_named(tx, names)
    fine: dict[str, UUID] = {}
    faults: dict[str, Fault] = {}
    taken: set[UUID] = set()
    for at, name in enumerate(names):
        one, pointer = known.get(name), f"#/athletes/{at}"
        if one is None:
            faults[name] = Fault(pointer, "unknown", "names no athlete of this gym")
        elif one.archived:
            faults[name] = Fault(pointer, "archived", "is archived: bring the athlete back first")
        elif one.id in taken:
            faults[name] = Fault(pointer, "repeated", "names an athlete who stands in the list already")
        else:
            fine[name] = one.id
            taken.add(one.id)
    return fine, faults


def store(tx: Tx, checked: Plan) -> Results:
    """Store the blocks of a plan with all sessions and slots."""
    ids = {name: new_id() for name in checked.athletes}
    blocks.add_many(tx, [_columns(checked, ids[name], athlete) for name, athlete in checked.athletes.items()])
    slots = {
        (one.week, one.number): [sessions.slot_row(slot) for slot in checked.session(one).slots]
        for one in checked.dated
    }
    made: dict[str, list[UUID]] = {}
    new: list[NewSession] = []
    for name, athlete in checked.athletes.items():
        made[name] = [new_id() for _ in checked.dated]
        for identity, one in zip(made[name], checked.dated, strict=True):
            session = checked.session(one)
            new.append(
                NewSession(
                    id=identity,
                    athlete=athlete,
                    block=ids[name],
                    week=one.week,
                    number=one.number,
                    kind=session.kind,
                    date=one.date,
                    name=session.name,
                    place=checked.place,
                    plan_note=session.note,
                    slots=slots[one.week, one.number],
                )
            )
    sessions.add_many(tx, new)
    return results(checked, ids, made)


def results(checked: Plan, ids: dict[str, UUID] | None = None, made: dict[str, list[UUID]] | None = None) -> Results:
    """What came, or in a dry run (without ids) would come, of each athlete."""
    items = []
    for name in checked.order.athletes:
        fault = checked.faults.get(name)
        if fault is not None:
            items.append(Result(athlete=name, block=None, problem=Refusal(fault.pointer, fault.code, fault.text)))
            continue
        own: Sequence[UUID | None] = [None] * len(checked.dated) if made is None else made[name]
        block = LaidBlock(
            id=None if ids is None else ids[name],
            athlete=checked.athletes[name],
            template=checked.version.template,
            template_version=checked.version.number,
            name=checked.order.name or checked.version.name,
            sessions=tuple(
                LaidSession(
                    id=identity, week=one.week, number=one.number, date=one.date, name=checked.session(one).name
                )
                for identity, one in zip(own, checked.dated, strict=True)
            ),
        )
        items.append(Result(athlete=name, block=block, problem=None))
    return Results(dry_run=ids is None, items=tuple(items))


def _columns(checked: Plan, identity: UUID, athlete: UUID) -> dict[str, Any]:
    return {
        "id": identity,
        "athlete_id": athlete,
        "template_id": checked.version.template,
        "template_version": checked.version.number,
        "name": checked.order.name or checked.version.name,
        "start_date": checked.order.start,
        "weekdays": list(checked.order.weekdays),
    }
