"""What becomes of running blocks that are moved to another version, and how it is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from service.core.changes.follow import Follows, Key, What
from service.core.layout.wishes import Layout
from service.core.slots import SessionPlan
from service.core.templates import Fault
from service.core.words import day, listing, plural
from service.store.block_sessions import SessionOfBlock
from service.store.running import RunningBlock
from service.store.templates import TemplateVersion

Day = date  # a record's own field may be called date


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
class Way:
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
    ways: tuple[Way, ...]

    @property
    def faults(self) -> list[Fault]:
        """What is wrong with some of the blocks."""
        return [way.fault for way in self.ways if way.fault is not None]

    @property
    def fine(self) -> list[Way]:
        """The blocks that can be moved."""
        return [way for way in self.ways if way.fault is None]


def results(checked: Plan, *, dry_run: bool) -> VersionMoves:
    """What came, or in a dry run would come, of each block."""
    said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]] = {}
    return VersionMoves(
        dry_run=dry_run,
        template=checked.version.template,
        version=checked.version.number,
        items=tuple(_result(way, checked.version.number, said) for way in checked.ways),
    )


def _result(way: Way, number: int, said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]]) -> BlockMove:
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
    way: Way, one: Follows, said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]]
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


def _text(way: Way, number: int, moved: Sequence[MovedSession]) -> str:
    counts = {what: sum(one.what == what for one in moved) for what in ("changed", "added", "removed", "stays")}
    told = [
        f"{plural(count, 'session')} {words[0] if count == 1 else words[1]}{_days(moved) if what == 'added' else ''}"
        for what, words in _SAID.items()
        if (count := counts[what])
    ]
    name = "" if way.at is None else f"{way.at.athlete_name}: "
    if not told:
        return f"{name}version {number} from week {way.from_week} on; nothing that is planned changes."
    return f"{name}version {number} from week {way.from_week} on; {listing(tuple(told))}."


def _days(moved: Sequence[MovedSession]) -> str:
    """Where the new sessions are."""
    new = [one.date for one in moved if one.what == "added"]
    first, last = min(new), max(new)
    return f" (on {day(first)})" if first == last else f" (from {day(first)} to {day(last)})"


_SAID: dict[What, tuple[str, str]] = {
    "changed": ("changes", "change"),
    "added": ("is new", "are new"),
    "removed": ("goes", "go"),
    "stays": (
        "stays as it was, because it is begun, done or left out",
        "stay as they were, because they are begun, done or left out",
    ),
}
