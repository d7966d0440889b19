"""A group on one day at one place: everybody's loads, and how they share the bars and plates there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from service.core.answers import PrescribedSet, ResolvedSlot
from service.core.loading.kits import default_kit
from service.core.prescribe.cautions import HEAVIEST_TOO_LIGHT, LIGHTEST_TOO_HEAVY
from service.core.records import Kit, Lift
from service.core.sharing.records import Lifter, SetToDo, Shared
from service.core.sharing.share import share
from service.core.units import MassUnit
from service.flows.away import AwayThen, away_on, shown
from service.flows.open_session import answer_to, inputs_of_each
from service.flows.session_shape import PlaceShown
from service.store import groups, gyms, lifts, places, prescribed
from service.store.groups import GroupNote
from service.store.prescribed import ONE_SLOT, Page
from service.store.session import Tx
from service.store.sessions import State
from service.store.unfit import local_day

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupLine:
    """One athlete's session."""

    athlete: UUID
    """Our id."""
    name: str
    """The athlete's name."""
    session: UUID
    """Our id of the session."""
    session_name: str
    """What it is called."""
    state: State
    """`planned`, `open` or `finished`."""
    place: PlaceShown | None
    """Where; null: nowhere in particular."""
    slots: tuple[ResolvedSlot, ...]
    """Its lines with their sets, in order; the reasons stand with the session."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundOfGroup:
    """What the group does at the same time: everybody's first lift, everybody's second, and so on."""

    number: int
    """From 1."""
    lifts: tuple[str, ...]
    """Words of the lifts that are done now."""
    shared: Shared
    """Who shares what, in which order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupAtPlace:
    """Everybody of the group who trains at one place on the day."""

    place: PlaceShown | None
    """Where; null: nowhere in particular, with the usual equipment."""
    sessions: tuple[GroupLine, ...]
    """By name."""
    rounds: tuple[RoundOfGroup, ...]
    """One after the other; sessions that are finished take no part."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberAway:
    """A member who is entered as away."""

    athlete: UUID
    """Our id."""
    name: str
    """The athlete's name."""
    absence: AwayThen
    """Since when, and until when."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupDay:
    """A group's day on one page."""

    group: UUID
    """Our id of the group."""
    name: str
    """What the group is called."""
    date: Day
    """The day."""
    note: GroupNote | None
    """What a coach noted about this day."""
    last_note: GroupNote | None
    """The newest note of a day before, for whoever takes over; null where there is none."""
    places: tuple[GroupAtPlace, ...]
    """By the number of those who train there."""
    without_session: tuple[str, ...]
    """Names of members who have no session to do on this day there, but for those who are away."""
    away: tuple[MemberAway, ...]
    """Members who are entered as away on this day, by name: their planned sessions take no part. Who trains all the
    same stands with the others once a session is open."""


def group_day(
    tx: Tx, group: str, *, on: date | None = None, place: str | None = None, unit: MassUnit | None = None
) -> GroupDay:
    """A group's day: of all places, or of one. Without `on` it is the gym's today.

    Sessions that are open or finished show what was kept for them; planned ones are computed. Skipped ones are left
    out, and so are planned ones of those who are away. Raises NotFound for a group that is not there, or a place that
    nobody has.
    """
    found = groups.get(tx, group)
    members = groups.members(tx, found.id)
    gym = gyms.get(tx)
    day = on or local_day(tx.now, gym.time_zone)
    there = None if place is None else places.get(tx, place).id
    names = {one.athlete: one.name for one in members}
    pages = [page for page in prescribed.days_of(tx, list(names), on=day) if page.state != "skipped"]
    inside = away_on(tx, list(names), day)
    begun = {page.athlete for page in pages if page.state != "planned"}
    away = {athlete: one for athlete, one in inside.items() if athlete not in begun}
    pages = [page for page in pages if page.athlete not in away and (there is None or page.place_id == there)]
    by_place: dict[UUID | None, list[GroupLine]] = defaultdict(list)
    for page, slots in zip(pages, _slots(tx, pages, unit), strict=True):
        by_place[page.place_id].append(_line(page, names[page.athlete], slots))
    kits = places.kits(tx, [one for one in by_place if one is not None])
    usual = default_kit(unit or gym.unit)
    known = lifts.get_many(tx, {slot.lift for lines in by_place.values() for one in lines for slot in one.slots})
    busy = {page.athlete for page in pages}
    return GroupDay(
        group=found.id,
        name=found.name,
        date=day,
        note=groups.note_on(tx, found.id, day),
        last_note=groups.last_note(tx, found.id, before=day),
        places=tuple(
            _at(lines, usual if where is None else kits[where], known)
            for where, lines in sorted(by_place.items(), key=lambda item: -len(item[1]))
        ),
        without_session=tuple(one.name for one in members if one.athlete not in busy and one.athlete not in away),
        away=tuple(
            MemberAway(athlete=one.athlete, name=one.name, absence=shown(away[one.athlete]))
            for one in members
            if one.athlete in away
        ),
    )


def _slots(tx: Tx, pages: Sequence[Page], unit: MassUnit | None) -> list[tuple[ResolvedSlot, ...]]:
    """Each session's lines; what is not kept yet is computed, from what a few statements read for all of them."""
    planned = inputs_of_each(tx, [page for page in pages if page.answers is None], unit)
    computed = iter(answer_to(one) for one in planned)
    return [
        next(computed) if page.answers is None else tuple(ONE_SLOT.validate_json(one) for one in page.answers)
        for page in pages
    ]


def _line(page: Page, name: str, slots: Iterable[ResolvedSlot]) -> GroupLine:
    shown = None if page.place_id is None or page.place_name is None else PlaceShown(page.place_id, page.place_name)
    return GroupLine(
        athlete=page.athlete,
        name=name,
        session=page.id,
        session_name=page.name,
        state=page.state,
        place=shown,
        slots=tuple(_without_why(slot) for slot in slots),
    )


def _without_why(slot: ResolvedSlot) -> ResolvedSlot:
    for one in slot.sets:
        one.why = ()
    return slot


def _at(lines: Sequence[GroupLine], kit: Kit, known: dict[str, Lift]) -> GroupAtPlace:
    return GroupAtPlace(
        place=lines[0].place,
        sessions=tuple(sorted(lines, key=lambda one: (one.name, str(one.session)))),
        rounds=tuple(_rounds([one for one in lines if one.state != "finished"], kit, known)),
    )


def _rounds(lines: Sequence[GroupLine], kit: Kit, known: dict[str, Lift]) -> Iterable[RoundOfGroup]:
    """Everybody's first lift at once, then everybody's second; what is left out makes nobody wait.

    Who has two sessions does one after the other.
    """
    own: dict[UUID, list[GroupLine]] = defaultdict(list)
    for one in lines:
        own[one.athlete].append(one)
    todo = [(some[0], [slot for one in some for slot in one.slots if not slot.left_out]) for some in own.values()]
    for at in range(max((len(slots) for _, slots in todo), default=0)):
        now = [(one, slots[at]) for one, slots in todo if at < len(slots)]
        lifters = [_lifter(one, slot) for one, slot in now]
        words = tuple(dict.fromkeys(slot.lift for _, slot in now))
        yield RoundOfGroup(number=at + 1, lifts=words, shared=share(lifters, kit, known))


def _lifter(line: GroupLine, slot: ResolvedSlot) -> Lifter:
    return Lifter(
        athlete=str(line.athlete),
        name=line.name,
        lift=slot.lift,
        sets=tuple(
            SetToDo(
                role=one.role,
                number=one.number,
                reps=one.reps,
                reps_to=one.reps_to,
                load=one.load,
                loading=one.loading,
                at_end=_at_end(one),
            )
            for one in slot.sets
            if one.load is not None and one.loading is not None and one.load.unit != "step"
        ),
    )


def _at_end(one: PrescribedSet) -> Literal["heaviest", "lightest"] | None:
    """Whether what can be loaded there ends with this set's load, and something else was meant."""
    codes = {caution.code for caution in one.cautions}
    return "heaviest" if HEAVIEST_TOO_LIGHT in codes else "lightest" if LIGHTEST_TOO_HEAVY in codes else None
