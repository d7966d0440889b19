"""A running block after missed sessions: ways to go on, and one of them carried out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from service.core.calendar import WEEKDAYS
from service.core.errors import DomainError
from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import Holiday, Layout, Planned
from service.core.plan.sizes import heavy_lifts, is_occasion, session_is_heavy
from service.core.records import Lift
from service.core.replan.propose import first_day, looking_ahead, missed, proposals, propose
from service.core.replan.records import (
    BlockSession,
    Change,
    Coming,
    Extend,
    Further,
    Kind,
    Move,
    PlaceDays,
    Replan,
    Running,
    Skip,
)
from service.core.templates import named_by
from service.flows.replan_shape import (
    AwayAhead,
    GroupReplanned,
    GroupResult,
    Proposal,
    Proposals,
    Replanned,
    ReplannedSession,
)
from service.store import absences, block_sessions, blocks, groups, lifts, people, sessions, states
from service.store.block_sessions import SessionOfBlock
from service.store.blocks import Block
from service.store.errors import ChangedMeanwhile, NotFound
from service.store.ids import new_id
from service.store.people import Away, Conditions
from service.store.session import Tx
from service.store.sessions import NewSession

Day = date  # a record's own field may be called date
BLOCKS_AT_ONCE = 50
"""Blocks whose sessions one statement reads, far below its time limit. Ours. [blocks]"""


@dataclass(slots=True)
class _At:
    """A block at hand."""

    block: Block
    rows: dict[str, SessionOfBlock]
    today: Day
    """The athlete's day; `running` may stand on the first day of an absence that is still to come."""
    running: Running
    lifts: dict[str, Lift]
    layout: Layout
    """With the absences that are still to come as holidays."""

    @property
    def place(self) -> PlaceDays:
        """Gives sessions their days by the block's weekdays and wishes."""
        return lambda sequence, first: _days(sequence, first, self.layout, self.lifts)


def read(tx: Tx, block: str, *, on: date | None = None) -> Proposals:
    """The ways to go on with a block; `on`: as if it were that day. Raises NotFound."""
    at = _at(tx, blocks.get(tx, block), on)
    found = proposals(at.running, at.lifts, at.place)
    return Proposals(
        block=at.block.id,
        version=at.block.version,
        athlete=at.block.athlete,
        on=at.today,
        missed=len(missed(at.running)),
        ahead=_absence_ahead(at.running),
        items=tuple(_shown(one, at) for one in found),
    )


def apply(tx: Tx, block: str, kind: Kind, *, expected: int | None, on: date | None = None) -> Replanned:
    """Carry one way out, as it stands now.

    Raises NotFound, ChangedMeanwhile, CannotReplan, and CannotLayOut where no days can be found.
    """
    states.lock(tx, blocks.get(tx, block).athlete)
    found = blocks.get(tx, block)
    if expected not in (None, found.version):
        raise ChangedMeanwhile(found.version)
    return _carried_out(tx, _at(tx, found, on), kind)


def apply_to_group(tx: Tx, group: str, kind: Kind, *, on: date | None = None, dry_run: bool = False) -> GroupReplanned:
    """Carry one way out for all blocks of a group's members in which sessions were missed.

    A block that this way does not fit is told, and the others go on. Raises NotFound.
    """
    found = groups.get(tx, group)
    names = {one.athlete: one.name for one in groups.members(tx, found.id)}
    if not dry_run:
        states.lock_many(tx, sorted(names))
    late = block_sessions.late_blocks(tx, list(names), on=on)
    items = [
        _of_group(tx, at, names[at.block.athlete], kind, dry_run=dry_run)
        for at in _each_at(tx, blocks.many(tx, late), on)
        if missed(at.running) and not at.running.ahead  # on the athlete's own day
    ]
    told = tuple(sorted(items, key=lambda one: (one.name, str(one.block))))
    return GroupReplanned(group=found.id, kind=kind, dry_run=dry_run, items=told)


def _of_group(tx: Tx, at: _At, name: str, kind: Kind, *, dry_run: bool) -> GroupResult:
    """One block of a group in which something was missed."""
    block = at.block
    shown, version, problem = None, block.version, None
    try:
        if dry_run:
            shown = _shown(propose(kind, at.running, at.lifts, at.place), at)
        else:
            done = _carried_out(tx, at, kind)
            shown, version = done.replan, done.version
    except DomainError as unfit:
        problem = str(unfit)
    return GroupResult(athlete=block.athlete, name=name, block=block.id, version=version, replan=shown, problem=problem)


def _carried_out(tx: Tx, at: _At, kind: Kind) -> Replanned:
    chosen = propose(kind, at.running, at.lifts, at.place)
    made = _write(tx, at, chosen.changes)
    block_sessions.count_up(tx, at.block.id)
    return Replanned(
        block=at.block.id,
        athlete=at.block.athlete,
        version=at.block.version + 1,
        replan=_shown(chosen, at, made),
    )


def _at(tx: Tx, block: Block, on: date | None) -> _At:
    found = _each_at(tx, [block], on)
    if not found:
        raise NotFound("block")
    return found[0]


def _each_at(tx: Tx, found: Sequence[Block], on: date | None) -> list[_At]:
    """Blocks at hand, in a few statements for all of them; those without sessions are left out."""
    rows: dict[UUID, list[SessionOfBlock]] = {}
    for first in range(0, len(found), BLOCKS_AT_ONCE):
        rows |= block_sessions.of_blocks(tx, [one.id for one in found[first : first + BLOCKS_AT_ONCE]])
    days = people.todays(tx, {one.athlete for one in found})
    standing = [one for one in found if rows[one.id] and one.athlete in days]
    todays = [on or days[one.athlete] for one in standing]
    asked = [(one.athlete, today, None, today) for one, today in zip(standing, todays, strict=True)]
    named = {name for one in standing for row in rows[one.id] for slot in row.slots for name in named_by(slot)}
    known = lifts.get_many(tx, named)
    ways = people.conditions_and_absences_of_each(tx, asked)
    planned = absences.ahead(tx, {one.athlete for one in standing}, after=min(todays)) if todays else {}
    return [
        _as_it_stands(block, rows[block.id], today, way, known, planned.get(block.athlete, ()))
        for block, today, way in zip(standing, todays, ways, strict=True)
    ]


def _as_it_stands(
    block: Block,
    rows: Sequence[SessionOfBlock],
    today: date,
    way: tuple[Conditions, Away],
    known: dict[str, Lift],
    planned: Sequence[tuple[date, date]],
) -> _At:
    rule, away, layout = way[0].settings.return_rule, way[1], blocks.layout_of(block)
    running = Running(
        sessions=tuple(_session(one) for one in rows),
        today=today,
        away_until=max(
            (one.until for one in away.absences if one.until is not None and one.since <= today <= one.until),
            default=None,
        ),
        return_from_days=None if rule.off else rule.from_days,
        goal=_goal(layout, today, rows),
        wishes=layout.wishes,
    )
    if away.trained:
        running = replace(running, absent_days=(first_day(running) - max(away.trained)).days)
    running = looking_ahead(running, planned)
    return _At(block, {str(one.id): one for one in rows}, today, running, known, _around(layout, planned))


def _around(layout: Layout, planned: Sequence[tuple[date, date]]) -> Layout:
    """A layout in which nobody is to train in absences that are planned. First and last days."""
    holidays = tuple(Holiday(since=since, until=until) for since, until in planned)
    return replace(layout, wishes=replace(layout.wishes, holidays=(*layout.wishes.holidays, *holidays)))


def _absence_ahead(running: Running) -> AwayAhead | None:
    if not running.ahead or running.away_until is None:
        return None
    return AwayAhead(from_date=running.today, until=running.away_until)


def _session(one: SessionOfBlock) -> BlockSession:
    return BlockSession(
        id=str(one.id),
        week=one.week,
        number=one.number,
        date=one.date,
        planned=one.planned,
        done=one.trained,
        plan=one.plan,
    )


def _goal(layout: Layout, today: date, rows: Sequence[SessionOfBlock]) -> date | None:
    """The day that a block leads to: its end where it was laid out to one, else what nothing heavy comes before.

    A day before the block's last week is one on the way.
    """
    last = max(one.week for one in rows)
    since = max(today, min(one.date for one in rows if one.week == last))
    ahead = [one.date for one in layout.wishes.light_before if one.date >= since]
    return layout.end or min(ahead, default=None)


def _days(sequence: Sequence[Coming], first: date, layout: Layout, known: dict[str, Lift]) -> list[date]:
    """Days from a first one on; the weeks count from the sequence's first."""
    if not sequence:
        return []
    begin = sequence[0].week
    planned = [
        Planned(
            week=one.week - begin + 1,
            number=one.number,
            name=one.plan.name,
            heavy_in=heavy_lifts(one.plan, known),
            heavy=session_is_heavy(one.plan, known),
            occasion=is_occasion(one.plan),
        )
        for one in sequence
    ]
    laid = lay_out(planned, replace(layout, start=first, end=None, reorder=False, spread=False))
    return [one.date for one in laid.dated]


def _write(tx: Tx, at: _At, changes: Sequence[Change]) -> dict[int, UUID]:
    """Store changes; the ids of further sessions by their place among the changes."""
    moves = {UUID(one.session): one.to for one in changes if isinstance(one, Move)}
    block_sessions.move(tx, moves, places=_places(at, moves))
    block_sessions.skip(tx, [UUID(one.session) for one in changes if isinstance(one, Skip)])
    block_sessions.extend(tx, {UUID(one.session): (one.at, one.slots) for one in changes if isinstance(one, Extend)})
    made: dict[int, UUID] = {}
    new = []
    for number, one in enumerate(changes):
        if isinstance(one, Further):
            made[number] = new_id()
            new.append(_further(at, one, made[number]))
    sessions.add_many(tx, new)
    return made


def _places(at: _At, moves: dict[UUID, date]) -> dict[UUID, UUID | None]:
    """Where moved sessions are by their new weekday, in a block whose places go by weekdays."""
    if not at.layout.places:
        return {}
    return {session: at.layout.places.get(WEEKDAYS[to.weekday()]) for session, to in moves.items()}


def _further(at: _At, one: Further, identity: UUID) -> NewSession:
    like = next(row for row in at.rows.values() if (row.week, row.number) == (one.week, one.number))
    place = at.layout.places.get(WEEKDAYS[one.to.weekday()]) if at.layout.places else like.place
    return NewSession(
        id=identity,
        athlete=at.block.athlete,
        block=at.block.id,
        week=one.week,
        number=one.number,
        kind=like.kind,
        date=one.to,
        name=one.plan.name,
        place=place,
        plan_note=one.plan.note,
        slots=[sessions.slot_row(slot) for slot in one.plan.slots],
    )


def _shown(one: Replan, at: _At, made: dict[int, UUID] | None = None) -> Proposal:
    ids = made or {}
    return Proposal(
        kind=one.kind,
        text=one.text,
        effect=one.effect,
        changes=tuple(_change(change, at, ids.get(number)) for number, change in enumerate(one.changes)),
        cautions=one.cautions,
    )


def _change(change: Change, at: _At, identity: UUID | None) -> ReplannedSession:
    if isinstance(change, Further):
        return ReplannedSession(
            what="further", session=identity, name=change.plan.name, week=change.week, number=change.number, was=None,
            date=change.to, slots=(),
        )  # fmt: skip
    row = at.rows[change.session]
    what, to, taken = "skipped", None, ()  # type: tuple[str, Day | None, tuple[str, ...]]
    if isinstance(change, Move):
        what, to = "moved", change.to
    elif isinstance(change, Extend):
        what, to, taken = "extended", change.date, tuple(slot.lift for slot in change.slots)
    return ReplannedSession(
        what=what, session=row.id, name=row.name, week=row.week, number=row.number, was=row.date, date=to, slots=taken,
    )  # fmt: skip
