"""What becomes of running blocks that are moved to another version, and how it is told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from uuid import UUID

from service.core.changes.follow import Follows, Key, What
from service.core.layout.wishes import Layout, Unmet
from service.core.records import Lift
from service.core.slots import SessionPlan, WeekPlan
from service.core.templates import Fault, lifts_named
from service.core.words import day, listing, plural
from service.store.block_sessions import SessionOfBlock
from service.store.running import RunningBlock
from service.store.templates import TemplateVersion

Day = date  # a record's own field may be called date
FROM_WEEK = "#/from_week"
NAMED = 3
"""So many athletes are named in one refusal. Ours."""


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
    told: tuple[str, ...]
    """What becomes of work that sessions had taken over from others that were left out."""
    unmet: tuple[Unmet, ...]
    """Wishes that the block was laid out by and its sessions do not meet any more, by day; `wish` says which."""
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
    told: tuple[str, ...] = ()
    unmet: tuple[Unmet, ...] = ()
    made: dict[Key, UUID] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """An order that was checked, before anything is stored."""

    version: TemplateVersion
    ways: tuple[Way, ...]
    lifts: Mapping[str, Lift]
    """The lifts that are named before and afterwards, by word."""

    @property
    def faults(self) -> list[Fault]:
        """What is wrong with some of the blocks; a week that is too late for several is told once, with whose."""
        late: dict[Fault, list[str]] = {}
        found: list[Fault] = []
        for way in self.ways:
            if way.fault is not None and way.fault.pointer == FROM_WEEK and way.at is not None:
                late.setdefault(way.fault, []).append(way.at.athlete_name)
            elif way.fault is not None:
                found.append(way.fault)
        return [*(replace(fault, text=f"{fault.text}: {_some(names)}") for fault, names in late.items()), *found]

    @property
    def fine(self) -> list[Way]:
        """The blocks that can be moved."""
        return [way for way in self.ways if way.fault is None]


def _some(names: Sequence[str]) -> str:
    """Names, of many the first.

    >>> _some(["Aldis"]), _some(["Aldis", "Corin", "Kaia", "Ylva", "Zita"])
    ('Aldis', 'Aldis, Corin, Kaia and 2 more')
    """
    shown = [*names[:NAMED], *([f"{len(names) - NAMED} more"] if len(names) > NAMED else [])]
    return listing(tuple(shown))


def results(checked: Plan, *, dry_run: bool) -> VersionMoves:
    """What came, or in a dry run would come, of each block."""
    said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]] = {}
    return VersionMoves(
        dry_run=dry_run,
        template=checked.version.template,
        version=checked.version.number,
        items=tuple(_result(way, checked, said) for way in checked.ways),
    )


def lifts_changed(ways: Sequence[Way]) -> frozenset[str]:
    """Words of the lifts in sessions as they stood before they are changed."""
    before = {one.before for way in ways for one in way.found if one.what == "changed" and one.before is not None}
    return lifts_named((WeekPlan(sessions=tuple(before)),))


def _result(
    way: Way, checked: Plan, said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]]
) -> BlockMove:
    at = way.at
    moved = tuple(_session(way, one, checked.lifts, said) for one in way.found) if way.fault is None else ()
    problem = None if way.fault is None else NotMoved(way.fault.pointer, way.fault.code, way.fault.text)
    return BlockMove(
        block=way.name,
        athlete=None if at is None else at.block.athlete,
        athlete_name=None if at is None else at.athlete_name,
        from_version=None if at is None else at.block.template_version,
        from_week=way.from_week or None,
        changed=moved,
        text=_text(way, checked.version.number, moved) if way.fault is None else _why_not(way, way.fault),
        told=way.told,
        unmet=way.unmet,
        problem=problem,
    )


def _why_not(way: Way, fault: Fault) -> str:
    """Why a block is not moved, in a sentence."""
    if way.at is None:
        return "There is no such block in this gym."
    if fault.pointer == FROM_WEEK:
        return f"{way.at.athlete_name}: the first week {fault.text}."
    return f"This block {fault.text}."


def _session(
    way: Way,
    one: Follows,
    lifts: Mapping[str, Lift],
    said: dict[tuple[int, int, SessionPlan, SessionPlan], tuple[str, ...]],
) -> MovedSession:
    changes: tuple[str, ...] = ()
    if one.what == "changed" and one.before is not None and one.after is not None:
        same = (one.week, one.number, one.before, one.after)  # forty athletes, and one sentence for all of them
        if same not in said:
            said[same] = tuple(change.told(lifts) for change in one.changes())
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
