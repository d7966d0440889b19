"""A template version laid out for one or many athletes: their blocks, with sessions on dates."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import chain, islice
from typing import Any
from uuid import UUID

from service.core.calendar import WEEKDAYS, DatedSession, Weekday
from service.core.layout.lay_out import Laid, lay_out
from service.core.layout.told import beside, in_the_past
from service.core.layout.wishes import CannotLayOut, Layout, Planned, Wishes
from service.core.plan.sizes import heavy_lifts, is_occasion, session_is_heavy
from service.core.progressions.members import held_weeks
from service.core.records import Lift
from service.core.slots import SessionPlan, WeekPlan
from service.core.templates import Fault, lifts_named
from service.flows.change_session import place_id
from service.flows.lay_out_shape import LaidBlock, LaidSession, Refusal, Result, Results
from service.store import blocks, groups, gyms, lifts, session_plans, sessions, templates
from service.store.errors import NotFound, UnfitReference, UnknownReference
from service.store.ids import new_ids
from service.store.session import Tx
from service.store.session_plans import NewSlot
from service.store.sessions import AlikeSession, Standing
from service.store.templates import LATEST, TemplateVersion
from service.store.unfit import local_day

Day = date  # a record's own field may be called date
MOST_SLOTS = 250_000
"""Slots that one request may ask for, counted for each athlete: some seconds of work. Ours. [slots]"""
SESSIONS_AT_ONCE = 2_000
"""Sessions that are stored before the next athletes' turn: how often a stream tells of progress. Ours. [sessions]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is asked for."""

    template: str
    version: int | None
    athletes: tuple[str, ...] | None
    """Or `group`."""
    group: str | None
    weekdays: tuple[Weekday, ...]
    start: Day | None
    end: Day | None
    wishes: Wishes
    places: Mapping[Weekday, str]
    reorder: bool
    spread: bool
    name: str | None
    place: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """An order that was checked, before anything is stored."""

    order: Order
    version: TemplateVersion
    weeks: tuple[WeekPlan, ...]
    layout: Layout
    laid: Laid
    place: UUID | None
    names: tuple[str, ...]
    """All athletes that were asked for, as they were sent."""
    athletes: dict[str, UUID]
    """By the name that was sent; those with a fault are absent."""
    faults: dict[str, Fault]
    """By the name that was sent."""
    shared: Mapping[UUID, tuple[Day, ...]] = field(default_factory=dict)
    """Days on which athletes have other sessions."""

    def session(self, one: DatedSession) -> SessionPlan:
        """What the template has for a dated session."""
        return self.weeks[one.week - 1].sessions[one.number - 1]

    def place_of(self, one: DatedSession) -> UUID | None:
        """Where a dated session is."""
        return self.layout.places.get(WEEKDAYS[one.date.weekday()], self.place)

    @property
    def name(self) -> str:
        """What the blocks are called."""
        return self.order.name or self.version.name


def plan(tx: Tx, order: Order) -> Plan:
    """Check an order. What is wrong with an athlete stands in `faults`; what is wrong with all of it is raised.

    Raises UnknownReference for the template, its version, the group or a place; UnfitReference where no days fit the
    weekdays and wishes, or where the gym no longer has a lift.
    """
    version = _version(tx, order)
    weeks = held_weeks(templates.weeks_of(version))
    named = lifts_named(weeks)
    known = lifts.get_many(tx, named | _lifts_wished(order.wishes))
    gone = sorted(named - known.keys())
    if gone:
        raise UnfitReference("template", "#/template", f"must not name lifts that are gone: {', '.join(gone)}")
    _wishes_fit(order, weeks, known)
    layout = Layout(
        weekdays=order.weekdays,
        start=order.start,
        end=order.end,
        wishes=order.wishes,
        places={day: _place(tx, place, f"#/places/{day}") for day, place in order.places.items()},
        reorder=order.reorder,
        spread=order.spread,
    )
    try:
        laid = lay_out(planned(weeks, known, order.wishes), layout)
    except CannotLayOut as none:
        raise UnfitReference("layout", none.pointer, str(none)) from none
    names, athletes, faults = _athletes(tx, order)
    there = sessions.standing(tx, list(athletes.values()), [one.date for one in laid.dated])
    slots = sum(len(session.slots) for week in weeks for session in week.sessions)
    if slots * len(names) > MOST_SLOTS:
        rule = f"must be at most {MOST_SLOTS // slots} at once for a template of {slots} slots"
        raise UnfitReference("athletes", "#/athletes" if order.group is None else "#/group", rule)
    return Plan(
        order=order,
        version=version,
        weeks=weeks,
        layout=layout,
        laid=replace(laid, told=_told(tx, laid, len(athletes), there)),
        place=place_id(tx, order.place),
        names=names,
        athletes=athletes,
        faults=faults,
        shared={athlete: one.days for athlete, one in there.items()},
    )


def _told(tx: Tx, laid: Laid, athletes: int, there: Mapping[UUID, Standing]) -> tuple[str, ...]:
    """What the days have come to, as they are and for these athletes."""
    past = in_the_past(laid.dated, local_day(tx.now, gyms.get(tx).time_zone))
    in_blocks = sum(one.in_block for one in there.values())
    shared = [one.days for one in there.values() if one.days]
    return (*laid.told, *past, *beside(laid.dated, athletes, in_blocks, shared))


def planned(weeks: Sequence[WeekPlan], known: Mapping[str, Lift], wishes: Wishes) -> list[Planned]:
    """The sessions of weeks as the layout takes them; what is heavy is told only where a wish asks for it."""
    by_lift = any(wish.by == "lifts" for wish in wishes.apart)
    return [
        Planned(
            week=week,
            number=number,
            name=session.name,
            heavy_in=heavy_lifts(session, known) if by_lift else (),
            heavy=bool(wishes.light_before) and session_is_heavy(session, known),
            occasion=is_occasion(session),
        )
        for week, one in enumerate(weeks, 1)
        for number, session in enumerate(one.sessions, 1)
    ]


def _lifts_wished(wishes: Wishes) -> set[str]:
    return {lift for wish in wishes.apart if wish.by == "lifts" for lift in wish.kinds}


def _wishes_fit(order: Order, weeks: Sequence[WeekPlan], known: Mapping[str, Lift]) -> None:
    """Refuse wishes about sessions that the template does not have, and about lifts that the gym does not have."""
    called = {session.name for week in weeks for session in week.sessions}
    for at, wish in enumerate(order.wishes.apart):
        for number, kind in enumerate(wish.kinds):
            pointer = f"#/wishes/apart/{at}/{wish.by}/{number}"
            if wish.by == "sessions" and kind not in called:
                raise UnfitReference("session", pointer, "must be the name of a session of the template")
            if wish.by == "lifts" and kind not in known:
                raise UnknownReference("lift", pointer)


def _place(tx: Tx, name: str, pointer: str) -> UUID:
    try:
        found = place_id(tx, name)
    except UnknownReference:
        found = None
    if found is None:
        raise UnknownReference("place", pointer)
    return found


def _version(tx: Tx, order: Order) -> TemplateVersion:
    try:
        found = templates.get(tx, order.template)
    except NotFound:
        raise UnknownReference("template", "#/template") from None
    try:
        return templates.get_version(tx, str(found.id), LATEST if order.version is None else str(order.version))
    except NotFound:
        raise UnknownReference("version of this template", "#/version") from None


def _athletes(tx: Tx, order: Order) -> tuple[tuple[str, ...], dict[str, UUID], dict[str, Fault]]:
    """All names, who they are, and what is wrong with some."""
    if order.athletes is None:
        members = _members(tx, order.group or "")
        return tuple(members), members, {}
    known = blocks.athletes_named(tx, order.athletes)
    fine: dict[str, UUID] = {}
    faults: dict[str, Fault] = {}
    taken: set[UUID] = set()
    for at, name in enumerate(order.athletes):
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
    return order.athletes, fine, faults


def _members(tx: Tx, group: str) -> dict[str, UUID]:
    """Who is in a group and not archived, by id as text."""
    try:
        found = groups.get(tx, group)
    except NotFound:
        raise UnknownReference("group", "#/group") from None
    if found.archived:
        raise UnfitReference("group", "#/group", "is archived: bring the group back first")
    members = {str(one.athlete): one.athlete for one in groups.members(tx, found.id)}
    if not members:
        raise UnfitReference("group", "#/group", "has no members")
    return members


Tell = Callable[[Result], object]
"""Hears of each athlete as soon as the rows are there, or of the fault, in the order in which they were sent."""


class Names:
    """The ids of what is made: a transaction that is run once more makes the same ones."""

    def __init__(self) -> None:
        self._made: dict[str, list[UUID]] = {}

    def of(self, athlete: str, sessions: int) -> tuple[UUID, list[UUID]]:
        """The id of an athlete's block, and those of its sessions in the order of the days."""
        found = self._made.get(athlete)
        if found is None:
            found = self._made[athlete] = new_ids(1 + sessions)
        return found[0], found[1:]


def store(tx: Tx, checked: Plan, names: Names, tell: Tell | None = None) -> Results:
    """Store the blocks of a plan with all sessions and slots, some athletes at a time, and tell of each."""
    dated = checked.laid.dated
    days = _days(tx, checked) if checked.athletes else []
    facts = _facts(checked)
    items: list[Result] = []
    for some in _some(checked.names, max(1, SESSIONS_AT_ONCE // len(dated))):
        made = {name: names.of(name, len(dated)) for name in some if name in checked.athletes}
        if made:
            by_athlete = {checked.athletes[name]: identity for name, (identity, _) in made.items()}
            blocks.add_alike(tx, by_athlete, _columns(checked), checked.layout)
            ids = chain.from_iterable(own for _, own in made.values())
            sessions.add_alike(tx, days, list(by_athlete), list(by_athlete.values()), ids)
        for name in some:
            block, own = made.get(name, (None, None))
            items.append(_result(checked, name, block, own, facts))
            if tell is not None:
                tell(items[-1])
    return _results(checked, items, dry_run=False)


def _some(names: Sequence[str], most: int) -> Iterator[list[str]]:
    left = iter(names)
    while found := list(islice(left, most)):
        yield found


def _days(tx: Tx, checked: Plan) -> list[AlikeSession]:
    """What each athlete gets on each of the days; the plans are stored, once for all."""
    slots = sessions.slot_rows(checked.weeks)
    dated = checked.laid.dated
    plans = session_plans.add(tx, [[NewSlot(row) for row in slots[one.week, one.number]] for one in dated])
    return [
        AlikeSession(
            week=one.week,
            number=one.number,
            kind=checked.session(one).kind,
            date=one.date,
            name=checked.session(one).name,
            place=checked.place_of(one),
            plan=plan,
            plan_note=checked.session(one).note,
        )
        for one, plan in zip(dated, plans, strict=True)
    ]


def tried(checked: Plan) -> Results:
    """What would come of each athlete: no ids, nothing stored."""
    facts = _facts(checked)
    return _results(checked, [_result(checked, name, None, None, facts) for name in checked.names], dry_run=True)


def _results(checked: Plan, items: Sequence[Result], *, dry_run: bool) -> Results:
    laid = checked.laid
    return Results(
        dry_run=dry_run,
        starts_on=laid.starts_on,
        ends_on=laid.ends_on,
        unmet=laid.unmet,
        told=laid.told,
        items=tuple(items),
    )


Facts = tuple[int, int, date, str, UUID | None]
"""Week, number, day, name and place of a session."""


def _facts(checked: Plan) -> list[Facts]:
    """What is told of each of the days, the same for all athletes."""
    return [
        (one.week, one.number, one.date, checked.session(one).name, checked.place_of(one)) for one in checked.laid.dated
    ]


def _result(
    checked: Plan, name: str, identity: UUID | None, made: Sequence[UUID] | None, facts: Sequence[Facts]
) -> Result:
    """What came, or without ids would come, of one athlete."""
    fault = checked.faults.get(name)
    if fault is not None:
        return Result(athlete=name, block=None, problem=Refusal(fault.pointer, fault.code, fault.text))
    own: Sequence[UUID | None] = [None] * len(facts) if made is None else made
    block = LaidBlock(
        id=identity,
        athlete=checked.athletes[name],
        template=checked.version.template,
        template_version=checked.version.number,
        name=checked.name,
        sessions=tuple(
            LaidSession(id=session, week=week, number=number, date=on, name=called, place=place)
            for session, (week, number, on, called, place) in zip(own, facts, strict=True)
        ),
        shared_days=checked.shared.get(checked.athletes[name], ()),
    )
    return Result(athlete=name, block=block, problem=None)


def _columns(checked: Plan) -> dict[str, Any]:
    return {
        "template_id": checked.version.template,
        "template_version": checked.version.number,
        "name": checked.name,
        "start_date": checked.order.start or checked.laid.starts_on,
        "weekdays": list(checked.order.weekdays),
    }
