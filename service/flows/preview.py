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
from service.flows.context import easing, gather
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
    ahead = _Ahead(tx, found.athlete, today, unit)
    shown = []
    for one in block_sessions.of_blocks(tx, [found.id])[found.id]:
        if not one.planned or (until is not None and one.date > until):
            continue
        wanted = since is None or one.date >= since
        if wanted or any(rule_of(slot) is not None for slot in one.slots):  # what comes before lets loads grow
            session = ahead.session(one)
            shown += [session] if wanted else []
    return Preview(
        block=found.id,
        athlete=found.athlete,
        unit=ahead.unit,
        on=today,
        sessions=tuple(shown),
    )


class _Ahead:
    """What is known today, by place; read once for all sessions there."""

    def __init__(self, tx: Tx, athlete: UUID, today: date, unit: MassUnit | None) -> None:
        self.tx, self.athlete, self.today, self.asked = tx, athlete, today, unit
        self._known: dict[tuple[UUID | None, frozenset[str]], Context] = {}
        self._grown: list[PastWork] = []
        """Sessions so far, as if they were done as asked."""

    @property
    def unit(self) -> MassUnit:
        """The unit that was asked for, else the athlete's."""
        if self.asked is not None:
            return self.asked
        known = next(iter(self._known.values()), None)
        if known is not None:
            return known.unit
        return people.conditions(self.tx, self.athlete, on=self.today, place_id=None).unit

    def session(self, one: SessionOfBlock) -> ProjectedSession:
        """A session as it would be."""
        context = self._on(one)
        resolved = resolve_session(one.slots, context)
        self._imagine(one, resolved, context.on)
        cautions = {caution.code: caution for slot in resolved for caution in slot.cautions}
        return ProjectedSession(
            id=one.id,
            week=one.week,
            number=one.number,
            date=one.date,
            name=one.name,
            slots=tuple(_slot(slot, context) for slot in resolved),
            cautions=tuple(cautions.values()),
        )

    def _imagine(self, one: SessionOfBlock, resolved: Sequence[ResolvedSlot], on: date) -> None:
        for slot, planned in zip(one.slots, resolved, strict=True):
            load = next((each.load for each in planned.sets if each.role in WORK_ROLES), None)
            if rule_of(slot) is not None and load is not None:
                done = as_asked(slot, planned.lift, on, load)
                self._grown += [] if done is None else [done]

    def _on(self, one: SessionOfBlock) -> Context:
        """What the loads of a session stand on: today's knowledge, and what is decided for its day."""
        lifts = frozenset(name for slot in one.slots for name in named_by(slot))
        known = self._known.get((one.place, lifts))
        if known is None:
            known = gather(
                self.tx,
                self.athlete,
                on=self.today,
                lifts=lifts,
                place_id=one.place,
                unit=self.asked,
                growing={slot.lift for slot in one.slots if rule_of(slot) is not None},
            )
            self._known[one.place, lifts] = known
        on = max(one.date, self.today)
        person, away = people.conditions_and_absences(self.tx, self.athlete, on=on, place_id=one.place, done_on=on)
        eased, since = easing(person.settings, replace(away, today=min(away.today, self.today)))
        return replace(
            known,
            on=on,
            session_kind=one.kind,
            overrides=tuple(override_store.in_force(self.tx, self.athlete, on)),
            eased=eased,
            day_maxes_since=since,
            progress=(*known.progress, *self._grown),
        )


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
