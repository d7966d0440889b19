"""The loads of a whole block as they would be by what is known today, with ranges, before any of it is lifted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import groupby
from uuid import UUID

from service.core.answers import Caution, LoadRange, PrescribedSet, ResolvedSlot
from service.core.context import Context
from service.core.prescribe.add_load import as_asked, rule_of
from service.core.prescribe.prescribe import resolve_session
from service.core.records import WORK_ROLES, PastWork, Role
from service.core.templates import named_by
from service.core.units import Load, MassUnit, Number
from service.flows.away import AwayThen, away_then
from service.flows.context import Asked, easing, gather_each, with_done_before
from service.flows.in_unit import load_in
from service.store import block_sessions, blocks, people
from service.store import overrides as override_store
from service.store.block_sessions import SessionOfBlock
from service.store.session import Tx

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class ProjectedSets:
    """Sets of one kind, as they would be."""

    role: Role
    """How they are meant."""
    sets: int
    """How many are alike."""
    reps: int | None
    """Repetitions of each; null where they are open, or seconds or metres count."""
    reps_to: int | None
    """The end of a range of repetitions."""
    seconds: int | None
    """How long. [s]"""
    load: Load | None
    """In the preview's unit, whatever the plates are in; null where the lifter chooses, or nothing is known yet."""
    range: LoadRange | None
    """Where it is likely to lie on that day; wider the further ahead it is."""
    expected_rpe: Number | None
    """How hard it should be. [RPE]"""
    provisional: bool
    """It waits for another day's max, and stands on what is known by now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProjectedSlot:
    """A line of a session to come."""

    lift: str
    """The lift to be done, after the coach's decisions."""
    lift_name: str
    """As lists show it."""
    text: str
    """What the plan asks for."""
    work: tuple[ProjectedSets, ...]
    """Work sets, in order; alike ones together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProjectedSession:
    """A session to come."""

    id: UUID
    """Our id."""
    week: int
    """Week of the block, from 1."""
    number: int
    """Number in its week, from 1."""
    date: Day
    """The athlete's day."""
    name: str
    """What it is called."""
    slots: tuple[ProjectedSlot, ...]
    """Its lines, in order."""
    cautions: tuple[Caution, ...]
    """Those of its sets, each once."""
    away: AwayThen | None
    """The absence that its day lies in; null: in none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A block's sessions to come, as its loads would be."""

    block: UUID
    """The block's id."""
    athlete: UUID
    """Who runs it."""
    unit: MassUnit
    """The unit that loads are told in."""
    on: Day
    """The athlete's day that it stands on."""
    sessions: tuple[ProjectedSession, ...]
    """Planned sessions, by date."""


def preview(
    tx: Tx,
    block: str,
    *,
    unit: MassUnit | None = None,
    since: date | None = None,
    until: date | None = None,
    on: date | None = None,
) -> Preview:
    """The planned sessions of a block with the loads that today's knowledge gives; days included. Raises NotFound.

    Nothing of what training will teach is foreseen: the max stays as the log has it, ranges widen with the days. Loads
    that grow from session to session do so as if all sets were complete. `on`: as if it were that day.
    """
    found = blocks.get(tx, block)
    person = people.find(tx, str(found.athlete))
    today = on or (tx.now.date() if person is None else person.today)
    asked = [
        one
        for one in block_sessions.of_blocks(tx, [found.id])[found.id]
        if one.planned
        and (until is None or one.date <= until)
        # what comes before lets loads grow
        and (since is None or one.date >= since or any(rule_of(slot) is not None for slot in one.slots))
    ]
    ahead = _Ahead(tx, found.athlete, today, unit, asked)
    shown = []
    for one, context in zip(asked, ahead.contexts, strict=True):
        session = ahead.session(one, context)
        shown += [session] if since is None or one.date >= since else []
    return Preview(
        block=found.id,
        athlete=found.athlete,
        unit=ahead.unit,
        on=today,
        sessions=tuple(shown),
    )


class _Ahead:
    """What the loads of sessions to come stand on: today's knowledge, and what is decided for their days.

    Read for all of them at once.
    """

    def __init__(
        self, tx: Tx, athlete: UUID, today: date, unit: MassUnit | None, sessions: Sequence[SessionOfBlock]
    ) -> None:
        days = [max(one.date, today) for one in sessions]
        known = _known(tx, athlete, today, unit, sessions)
        decided = override_store.in_force_of_each(tx, [(athlete, on) for on in days])
        where = [(athlete, on, one.place, on) for one, on in zip(sessions, days, strict=True)]
        ways = people.conditions_and_absences_of_each(tx, where)
        self.contexts: list[Context] = []
        """One for each session, before any of them is imagined as done."""
        for one, on, context, overrides, (person, away) in zip(sessions, days, known, decided, ways, strict=True):
            eased, since = easing(person.settings, replace(away, today=min(away.today, today)))
            self.contexts.append(
                replace(
                    context,
                    on=on,
                    session_kind=one.kind,
                    overrides=tuple(overrides),
                    eased=eased,
                    day_maxes_since=since,
                )
            )
        self.contexts = with_done_before(tx, [athlete] * len(self.contexts), self.contexts)
        self.unit: MassUnit = unit or (
            known[0].unit if known else people.conditions(tx, athlete, on=today, place_id=None).unit
        )
        """The unit that was asked for, else the athlete's."""
        self._grown: list[PastWork] = []
        """Sessions so far, as if they were done as asked."""

    def session(self, one: SessionOfBlock, context: Context) -> ProjectedSession:
        """A session as it would be, after those before it."""
        context = replace(context, progress=(*context.progress, *self._grown))
        resolved = resolve_session(one.slots, context)
        self._imagine(one, resolved, context.on)
        cautions = {(one.code, one.text): one for slot in resolved for one in slot.cautions}
        return ProjectedSession(
            id=one.id,
            week=one.week,
            number=one.number,
            date=one.date,
            name=one.name,
            slots=tuple(_slot(slot, context) for slot in resolved),
            cautions=tuple(cautions.values()),
            away=away_then(context.eased),
        )

    def _imagine(self, one: SessionOfBlock, resolved: Sequence[ResolvedSlot], on: date) -> None:
        for slot, planned in zip(one.slots, resolved, strict=True):
            load = next((each.load for each in planned.sets if each.role in WORK_ROLES), None)
            if rule_of(slot) is not None and load is not None:
                done = as_asked(slot, planned.lift, on, load)
                self._grown += [] if done is None else [done]


def _known(
    tx: Tx, athlete: UUID, today: date, unit: MassUnit | None, sessions: Sequence[SessionOfBlock]
) -> list[Context]:
    """What is known today for each session; the same for those at one place with the same lifts."""
    lifts = [frozenset(name for slot in one.slots for name in named_by(slot)) for one in sessions]
    growing: dict[tuple[UUID | None, frozenset[str]], set[str]] = {}
    for one, own in zip(sessions, lifts, strict=True):
        grow = growing.setdefault((one.place, own), set())
        grow |= {slot.lift for slot in one.slots if rule_of(slot) is not None}
    asked = [
        Asked(athlete=athlete, on=today, lifts=own, place=place, unit=unit, growing=grow)
        for (place, own), grow in growing.items()
    ]
    found = dict(zip(growing, gather_each(tx, asked), strict=True))
    return [found[one.place, own] for one, own in zip(sessions, lifts, strict=True)]


def _slot(slot: ResolvedSlot, context: Context) -> ProjectedSlot:
    lift = context.lifts.get(slot.lift)
    work = [one for one in slot.sets if one.role in WORK_ROLES]
    return ProjectedSlot(
        lift=slot.lift,
        lift_name=slot.lift if lift is None else lift.name,
        text=slot.text,
        work=tuple(_alike(list(some), context.unit) for _, some in groupby(work, key=_what)),
    )


def _what(one: PrescribedSet) -> tuple[object, ...]:
    return one.role, one.reps, one.reps_to, one.seconds, one.load, one.provisional


def _alike(some: list[PrescribedSet], unit: MassUnit) -> ProjectedSets:
    """Sets with the same load, told in a unit with its range; the hardest says how hard they get."""
    first = some[0]
    efforts = [one.expected_rpe for one in some if one.expected_rpe is not None]
    likely = first.range
    return ProjectedSets(
        role=first.role,
        sets=len(some),
        reps=first.reps,
        reps_to=first.reps_to,
        seconds=first.seconds,
        load=None if first.load is None else load_in(first.load, unit),
        range=None
        if likely is None
        else replace(likely, low=load_in(likely.low, unit), high=load_in(likely.high, unit)),
        expected_rpe=max(efforts, default=None),
        provisional=first.provisional,
    )
