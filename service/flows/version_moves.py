"""Running blocks follow another version of their template from a week on; what is done is never touched."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.calendar import WEEKDAYS
from service.core.changes.align import slots as align_slots
from service.core.changes.follow import Follows, Key, NoDay, current_week, follow, plans
from service.core.changes.unmet import newly_unmet
from service.core.progressions.members import held_weeks
from service.core.records import Lift
from service.core.replan.records import BlockSession
from service.core.replan.taken import Kept, any_taken, kept
from service.core.slots import SessionPlan
from service.core.templates import Fault, lifts_named, named_by
from service.flows.block_moves import FROM_WEEK, Plan, VersionMoves, Way, lifts_changed, results
from service.store import block_sessions, blocks, groups, lifts, running, session_plans, sessions, states, templates
from service.store.block_sessions import SessionOfBlock
from service.store.blocks import Block
from service.store.errors import NotFound, UnfitReference, UnknownReference
from service.store.ids import new_id
from service.store.naming import as_id
from service.store.running import RunningBlock
from service.store.session import Tx
from service.store.sessions import NewSession
from service.store.templates import LATEST, TemplateVersion

Day = date  # a record's own field may be called date
MOST_SLOTS = 250_000
"""Slots that one request may look through: about half a minute of work. Ours. [slots]"""
BLOCKS_AT_ONCE = 50
"""Blocks whose sessions one statement reads, far below its time limit. Ours. [blocks]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is asked for: exactly one of `blocks`, `group` and `everyone` says whose blocks."""

    template: str
    version: int | None
    from_week: int | None
    """None: for each athlete the week after the one that they are in."""
    blocks: tuple[str, ...] | None
    group: str | None
    everyone: bool
    on: Day | None = None
    """As if it were this day of each athlete; None: today."""


def plan(tx: Tx, order: Order) -> Plan:
    """Check an order, under the locks of all athletes that it concerns.

    What is wrong with one block stands in `faults`. Raises UnknownReference for the template, its version or the
    group; UnfitReference where the gym no longer has a lift, or where it is too much for one request.
    """
    version = _version(tx, order)
    weeks = held_weeks(templates.weeks_of(version))
    named = lifts_named(weeks)
    known = lifts.get_many(tx, named)
    gone = sorted(named - known.keys())
    if gone:
        raise UnfitReference("version", "#/version", f"must not name lifts that are gone: {', '.join(gone)}")
    ways = _ways(tx, order, version)
    if not tx.reads_only:
        states.lock_many(tx, sorted({way.at.block.athlete for way in ways if way.at is not None}))
        ways = _ways(tx, order, version)  # as they stand under the locks
    slots = sum(len(session.slots) for week in weeks for session in week.sessions)
    if slots * len(ways) > MOST_SLOTS:
        rule = f"must be at most {MOST_SLOTS // slots} blocks at once for a template of {slots} slots"
        raise UnfitReference("blocks", _whose(order), rule)
    _follow(tx, order, ways, plans(weeks), known)
    before = lifts_changed(ways) - named
    return Plan(version=version, ways=tuple(ways), lifts=known | lifts.get_many(tx, before) if before else known)


def _version(tx: Tx, order: Order) -> TemplateVersion:
    try:
        found = templates.get(tx, order.template)
    except NotFound:
        raise UnknownReference("template", "#/template") from None
    try:
        return templates.get_version(tx, str(found.id), LATEST if order.version is None else str(order.version))
    except NotFound:
        raise UnknownReference("version of this template", "#/version") from None


def _whose(order: Order) -> str:
    return "#/blocks" if order.blocks is not None else "#/group" if order.group is not None else "#/all"


def _ways(tx: Tx, order: Order, version: TemplateVersion) -> list[Way]:
    """The blocks that are meant, each with what is wrong with it."""
    if order.blocks is None:
        athletes = None if order.group is None else _members(tx, order.group)
        found = running.of_template(tx, version.template, athletes, on=order.on)
        return [Way(name=str(one.block.id), at=one) for one in found]
    ids = {identity for name in order.blocks if (identity := as_id(name)) is not None}
    known = {str(one.block.id): one for one in running.named(tx, sorted(ids), on=order.on)}
    ways = []
    for place, name in enumerate(order.blocks):
        way = Way(name=name, at=known.get(name))
        pointer = f"#/blocks/{place}"
        if way.at is None:
            way.fault = Fault(pointer, "unknown", "names no block of this gym")
        elif way.at.block.template != version.template:
            way.fault = Fault(pointer, "another_template", "was made from another template")
        elif way.at.archived:
            way.fault = Fault(pointer, "archived", "is of an archived athlete: bring the athlete back first")
        ways.append(way)
    return ways


def _members(tx: Tx, group: str) -> list[UUID]:
    try:
        found = groups.get(tx, group)
    except NotFound:
        raise UnknownReference("group", "#/group") from None
    if found.archived:
        raise UnfitReference("group", "#/group", "is archived: bring the group back first")
    return [one.athlete for one in groups.members(tx, found.id)]


def _follow(
    tx: Tx, order: Order, ways: Sequence[Way], version: Mapping[Key, SessionPlan], known: Mapping[str, Lift]
) -> None:
    """Find out what becomes of each block's sessions."""
    fine = [(place, way, way.at) for place, way in enumerate(ways) if way.fault is None and way.at is not None]
    followed: dict[int, Mapping[Key, SessionPlan]] = {}
    for some in _some(fine):
        rows = block_sessions.of_blocks(tx, [at.block.id for _, _, at in some])
        known = _with_lifts_of(tx, rows.values(), known)
        for place, way, at in some:
            own = rows[at.block.id]
            way.rows = {str(one.id): one for one in own}
            way.layout = blocks.layout_of(at.block)
            standing = [_standing(one) for one in own]
            week = current_week([(one.date, one.week) for one in own], at.today) if own else 0
            way.from_week = week + 1 if order.from_week is None else order.from_week
            last = max(week for week, _ in (*version, *((one.week, one.number) for one in own)))
            if order.from_week is not None and order.from_week > last + 1:
                rule = f"must be from 1 to {last + 1}, the week after the last one of the block and of this version"
                way.fault = Fault(FROM_WEEK, "out_of_range", rule)
                continue
            stays = Kept()
            if any_taken(standing):
                before = _followed(tx, at.block, followed)
                stays = kept(standing, version, before, way.from_week, known)
            try:
                way.found = tuple(follow(standing, version, way.from_week, way.layout, known, stays.plans))
            except NoDay as none:
                pointer = f"#/blocks/{place}" if order.blocks is not None else _whose(order)
                way.fault = Fault(pointer, none.code, f"cannot all be moved: {at.athlete_name}. {none}")
                continue
            way.told = tuple(stays.told)
            way.unmet = tuple(newly_unmet(standing, way.found, way.layout.wishes, known))


def _with_lifts_of(tx: Tx, each: Iterable[Sequence[SessionOfBlock]], known: Mapping[str, Lift]) -> Mapping[str, Lift]:
    """The lifts that are known, with those that sessions name as they stand."""
    slots = {id(slot): slot for rows in each for row in rows for slot in row.slots}  # many are one and the same
    missing = {name for slot in slots.values() for name in named_by(slot)} - known.keys()
    return {**known, **lifts.get_many(tx, missing)} if missing else known


def _followed(tx: Tx, block: Block, read: dict[int, Mapping[Key, SessionPlan]]) -> Mapping[Key, SessionPlan]:
    """The version that a block follows so far; each is read once."""
    number = block.template_version
    if number not in read:
        version = templates.get_version(tx, str(block.template), str(number))
        read[number] = plans(held_weeks(templates.weeks_of(version)))
    return read[number]


def _some(ways: Sequence[tuple[int, Way, RunningBlock]]) -> Iterator[Sequence[tuple[int, Way, RunningBlock]]]:
    for first in range(0, len(ways), BLOCKS_AT_ONCE):
        yield ways[first : first + BLOCKS_AT_ONCE]


def _standing(one: SessionOfBlock) -> BlockSession:
    return BlockSession(
        id=str(one.id),
        week=one.week,
        number=one.number,
        date=one.date,
        planned=one.planned,
        done=one.trained,
        plan=one.plan,
    )


def store(tx: Tx, checked: Plan) -> VersionMoves:
    """Carry a plan out; a few statements for all blocks together. The caller's transaction holds the locks."""
    changed = {
        UUID(one.session): (one.before, one.after)
        for way in checked.fine
        for one in way.found
        if one.what == "changed" and one.session is not None and one.before is not None and one.after is not None
    }
    others = [session for session, (before, after) in changed.items() if before.slots != after.slots]
    standing = session_plans.of_sessions(tx, others) if others else {}
    slots: dict[UUID, Sequence[UUID | None]] = {}
    for session in others:
        before, after = changed[session]
        pairs = align_slots(before.slots, after.slots)
        slots[session] = [None if pair is None else standing[session][pair].id for pair in pairs]
    running.change(tx, {session: after for session, (_, after) in changed.items()}, slots)
    running.remove(
        tx, [UUID(one.session) for way in checked.fine for one in way.found if one.what == "removed" and one.session]
    )
    sessions.add_many(tx, [_new(way, one) for way in checked.fine for one in way.found if one.what == "added"])
    others_now = [
        way.at.block.id
        for way in checked.fine
        if way.at is not None
        and (way.at.block.template_version != checked.version.number or any(one.what != "stays" for one in way.found))
    ]
    running.point(tx, others_now, checked.version.number)
    return results(checked, dry_run=False)


def _new(way: Way, one: Follows) -> NewSession:
    if way.at is None or one.after is None:
        raise AssertionError("only what stands in the version is added to a block that is there")
    way.made[one.week, one.number] = identity = new_id()
    return NewSession(
        id=identity,
        athlete=way.at.block.athlete,
        block=way.at.block.id,
        week=one.week,
        number=one.number,
        kind=one.after.kind,
        date=one.date,
        name=one.after.name,
        place=_place(way, one.date),
        plan_note=one.after.note,
        slots=[sessions.slot_row(slot) for slot in one.after.slots],
    )


def _place(way: Way, on: date) -> UUID | None:
    """Where a new session is: by its weekday where the block's places go by that, else as the one before it."""
    if way.layout is not None and way.layout.places:
        return way.layout.places.get(WEEKDAYS[on.weekday()])
    before = max((one for one in way.rows.values() if one.date <= on), key=lambda one: one.date, default=None)
    return None if before is None else before.place
