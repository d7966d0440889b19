"""Running blocks follow another version of their template from a week on; what is done is never touched."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from service.core.calendar import WEEKDAYS
from service.core.changes.align import slots as align_slots
from service.core.changes.follow import Follows, Key, NoDay, What, current_week, follow, plans
from service.core.layout.wishes import Layout
from service.core.records import Lift
from service.core.replan.records import BlockSession
from service.core.slots import SessionPlan
from service.core.templates import Fault, lifts_named
from service.core.words import listing, plural
from service.store import block_sessions, blocks, groups, lifts, running, sessions, states, templates
from service.store.block_sessions import SessionOfBlock
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


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedSession:
    """What became of one session."""

    what: What
    """`changed`: it is planned otherwise; `added`; `removed`; `stays`: the version has it otherwise, but it is begun,
    done or left out already."""
    session: UUID | None
    """Our id; null for one that a dry run would add."""
    week: int
    """Week of the block, from 1."""
    number: int
    """Number in its week, from 1."""
    date: Day
    """Its day; sessions that were there keep theirs."""
    name: str
    """What it is called, or was."""
    changes: tuple[str, ...]
    """What is different in one that is changed, slot by slot."""


@dataclass(frozen=True, slots=True)
class NotMoved:
    """Why a block was not moved."""

    pointer: str
    code: str
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockMove:
    """What came of one block."""

    block: str
    """Our id, as it was sent where blocks were."""
    athlete: UUID | None
    """Who runs it; null where there is no such block."""
    athlete_name: str | None
    """The athlete's name."""
    from_version: int | None
    """The version that it was on."""
    from_week: int | None
    """The first week that follows the new one."""
    changed: tuple[MovedSession, ...]
    """The sessions that are not as they were, and those that stay though the version has them otherwise; by week."""
    text: str
    """The same in a sentence."""
    problem: NotMoved | None
    """Null where the block was moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionMoves:
    """One result for each block."""

    dry_run: bool
    """True: nothing was stored."""
    template: UUID
    """The template's id."""
    version: int
    """The version that the blocks follow now."""
    items: tuple[BlockMove, ...]
    """In the order in which blocks were sent; of a group, or of all, by the athletes' names."""


@dataclass(slots=True, kw_only=True)
class _Way:
    """A block, and what is to become of it."""

    name: str
    at: RunningBlock | None
    fault: Fault | None = None
    from_week: int = 0
    rows: dict[str, SessionOfBlock] = field(default_factory=dict)
    layout: Layout | None = None
    found: tuple[Follows, ...] = ()
    made: dict[Key, UUID] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """An order that was checked, before anything is stored."""

    version: TemplateVersion
    ways: tuple[_Way, ...]

    @property
    def faults(self) -> list[Fault]:
        """What is wrong with some of the blocks."""
        return [way.fault for way in self.ways if way.fault is not None]

    @property
    def fine(self) -> list[_Way]:
        """The blocks that can be moved."""
        return [way for way in self.ways if way.fault is None]


def plan(tx: Tx, order: Order) -> Plan:
    """Check an order, under the locks of all athletes that it concerns.

    What is wrong with one block stands in `faults`. Raises UnknownReference for the template, its version or the
    group; UnfitReference where the gym no longer has a lift, or where it is too much for one request.
    """
    version = _version(tx, order)
    weeks = templates.weeks_of(version)
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
    return Plan(version=version, ways=tuple(ways))


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


def _ways(tx: Tx, order: Order, version: TemplateVersion) -> list[_Way]:
    """The blocks that are meant, each with what is wrong with it."""
    if order.blocks is None:
        athletes = None if order.group is None else _members(tx, order.group)
        found = running.of_template(tx, version.template, athletes, on=order.on)
        return [_Way(name=str(one.block.id), at=one) for one in found]
    ids = {identity for name in order.blocks if (identity := as_id(name)) is not None}
    known = {str(one.block.id): one for one in running.named(tx, sorted(ids), on=order.on)}
    ways = []
    for place, name in enumerate(order.blocks):
        way = _Way(name=name, at=known.get(name))
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
    return [one.athlete for one in groups.members(tx, found.id)]


def _follow(
    tx: Tx, order: Order, ways: Sequence[_Way], version: Mapping[Key, SessionPlan], known: Mapping[str, Lift]
) -> None:
    """Find out what becomes of each block's sessions."""
    fine = [(place, way, way.at) for place, way in enumerate(ways) if way.fault is None and way.at is not None]
    for some in _some(fine):
        rows = block_sessions.of_blocks(tx, [at.block.id for _, _, at in some])
        for place, way, at in some:
            own = rows[at.block.id]
            way.rows = {str(one.id): one for one in own}
            way.layout = blocks.layout_of(at.block)
            standing = [_standing(one) for one in own]
            week = current_week([(one.date, one.week) for one in own], at.today) if own else 0
            way.from_week = week + 1 if order.from_week is None else order.from_week
            try:
                way.found = tuple(follow(standing, version, way.from_week, way.layout, known))
            except NoDay as none:
                pointer = f"#/blocks/{place}" if order.blocks is not None else _whose(order)
                way.fault = Fault(pointer, none.code, f"cannot all be moved: {at.athlete_name}. {none}")


def _some(ways: Sequence[tuple[int, _Way, RunningBlock]]) -> Iterator[Sequence[tuple[int, _Way, RunningBlock]]]:
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
    ids = running.slot_ids(tx, others) if others else {}
    kept: dict[UUID, Sequence[UUID | None]] = {}
    for session in others:
        before, after = changed[session]
        pairs = align_slots(before.slots, after.slots)
        kept[session] = [None if pair is None else ids[session][pair] for pair in pairs]
    running.change(tx, {session: after for session, (_, after) in changed.items()}, kept)
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


def _new(way: _Way, one: Follows) -> NewSession:
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


def _place(way: _Way, on: date) -> UUID | None:
    """Where a new session is: by its weekday where the block's places go by that, else as the one before it."""
    if way.layout is not None and way.layout.places:
        return way.layout.places.get(WEEKDAYS[on.weekday()])
    before = max((one for one in way.rows.values() if one.date <= on), key=lambda one: one.date, default=None)
    return None if before is None else before.place


def results(checked: Plan, *, dry_run: bool) -> VersionMoves:
    """What came, or in a dry run would come, of each block."""
    said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]] = {}
    return VersionMoves(
        dry_run=dry_run,
        template=checked.version.template,
        version=checked.version.number,
        items=tuple(_result(way, checked.version.number, said) for way in checked.ways),
    )


def _result(
    way: _Way, number: int, said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]]
) -> BlockMove:
    at = way.at
    moved = tuple(_session(way, one, said) for one in way.found) if way.fault is None else ()
    problem = None if way.fault is None else NotMoved(way.fault.pointer, way.fault.code, way.fault.text)
    return BlockMove(
        block=way.name,
        athlete=None if at is None else at.block.athlete,
        athlete_name=None if at is None else at.athlete_name,
        from_version=None if at is None else at.block.template_version,
        from_week=way.from_week or None,
        changed=moved,
        text=f"This block {way.fault.text}." if way.fault is not None else _text(way, number, moved),
        problem=problem,
    )


def _session(
    way: _Way, one: Follows, said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]]
) -> MovedSession:
    changes: tuple[str, ...] = ()
    if one.what == "changed" and one.before is not None and one.after is not None:
        same = (one.week, one.number, one.before, one.after)  # forty athletes, and one sentence for all of them
        if same not in said:
            said[same] = tuple(change.text for change in one.changes())
        changes = said[same]
    plan_now = one.after if one.what != "stays" and one.after is not None else one.before or one.after
    return MovedSession(
        what=one.what,
        session=way.made.get((one.week, one.number)) if one.session is None else UUID(one.session),
        week=one.week,
        number=one.number,
        date=one.date,
        name=plan_now.name if plan_now is not None else "",
        changes=changes,
    )


def _text(way: _Way, number: int, moved: Sequence[MovedSession]) -> str:
    counts = {what: sum(one.what == what for one in moved) for what in ("changed", "added", "removed", "stays")}
    told = [
        f"{plural(count, 'session')} {words[0] if count == 1 else words[1]}"
        for what, words in _SAID.items()
        if (count := counts[what])
    ]
    name = "" if way.at is None else f"{way.at.athlete_name}: "
    if not told:
        return f"{name}version {number} from week {way.from_week} on; nothing that is planned changes."
    return f"{name}version {number} from week {way.from_week} on; {listing(tuple(told))}."


_SAID: dict[What, tuple[str, str]] = {
    "changed": ("changes", "change"),
    "added": ("is new", "are new"),
    "removed": ("goes", "go"),
    "stays": (
        "stays as it was, because it is begun, done or left out",
        "stay as they were, because they are begun, done or left out",
    ),
}
