"""The newest version of a template changed by operations, and what differs between two versions."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import islice
from typing import Any
from uuid import UUID

from service.core.changes import difference as core
from service.core.changes.apply import Outcome, apply, lifts_asked
from service.core.changes.follow import Key, current_week, plans
from service.core.changes.operations import Operation, refused
from service.core.records import Lift
from service.core.slots import SessionPlan, Slot, WeekPlan
from service.core.templates import lifts_named
from service.core.words import plural
from service.store import lifts, running, templates
from service.store.errors import ChangedMeanwhile
from service.store.plans import session_json, slot_json, week_json
from service.store.running import BriefSession, RunningBlock
from service.store.session import Tx
from service.store.templates import LATEST, Template, TemplateVersion

Day = date  # a record's own field may be called date
MOST_TOLD = 5000
"""Changes that one answer lists; the rest is counted. Ours. [changes]"""
MOST_RUNNING = 500
"""Running blocks that one answer lists. Ours. [blocks]"""
NOT_SENT = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChange:
    """One thing that is different; numbers count from 1."""

    what: core.What
    """`week`, `session` or `slot`."""
    kind: core.Kind
    """`added`, `removed`, `moved` or `changed`. What is added or removed is one change with all that it holds."""
    week: int | None
    """Number of the week afterwards; null where the week is gone."""
    week_before: int | None
    """Its number before; null where it is new."""
    session: str | None
    """Name of the session, of one that is gone as it was; null where the week as a whole is meant."""
    session_number: int | None
    """Number of the session in its week afterwards."""
    session_number_before: int | None
    """Its number before."""
    slot: int | None
    """Position of the slot in its session afterwards."""
    slot_before: int | None
    """Its position before."""
    text: str
    """The change in words and numbers."""
    before: dict[str, Any] | None
    """What was there, as a body has it; of a week or session that was only changed or moved without what it holds."""
    after: dict[str, Any] | None
    """What is there now."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What is different between two versions."""

    text: str
    """How much, in a sentence."""
    count: int
    """How many changes there are; a very long list has only the first of them."""
    changes: tuple[PlanChange, ...]
    """One by one: by week, then what is gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationDone:
    """What one operation did to what the one before had made."""

    operation: int
    """Which, from 1."""
    kind: str
    """Its kind."""
    text: str
    """What was done, by which rule, and how much is different."""
    count: int
    """How many changes there are."""
    changes: tuple[PlanChange, ...]
    """One by one, as far as the answer has room."""
    slots: tuple[str, ...]
    """Of `insert_lighter_week`: what each slot was in the week that it is made from, and what came of it; of others
    empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningLine:
    """What it would mean for a block that is being run, if it were moved over from the week after this one on."""

    block: UUID
    """Our id."""
    name: str
    """What the block is called."""
    athlete: UUID
    """Who runs it."""
    athlete_name: str
    """The athlete's name."""
    template_version: int
    """The version that the block follows."""
    week: int
    """The week that the athlete is in by their own day: that of their next session."""
    last_week: int
    """The block's last week, as it stands."""
    weeks_left: int
    """Weeks after this one."""
    sessions_to_change: int
    """Planned sessions of those weeks that would be changed, added or removed."""
    text: str
    """The same in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateChange:
    """What operations made of the newest version of a template."""

    template: UUID
    """The template's id."""
    from_version: int
    """The version that they were done on."""
    version: int | None
    """Number of the version that they made; null in a dry run."""
    name: str
    """What the template is called then."""
    weeks: list[dict[str, Any]]
    """The weeks as they are then, as a body takes them."""
    operations: tuple[OperationDone, ...]
    """What each of them did."""
    difference: Difference
    """What all of them did together."""
    running_count: int
    """How many blocks are being run by an older version; of very many only the first are listed."""
    running: tuple[RunningLine, ...]
    """These blocks, by the athletes' names; they stay on their version until they are moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionDifference:
    """What is different between two versions of a template."""

    template: UUID
    """The template's id."""
    from_version: int
    """The version that is compared with."""
    to_version: int
    """The version that is asked for."""
    text: str
    """How much, in a sentence."""
    count: int
    """How many changes there are; a very long list has only the first of them."""
    changes: tuple[PlanChange, ...]
    """One by one: by week, then what is gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What is asked for; `expected` is a version of the template, None, or `NOT_SENT` in a dry run.

    `on`: blocks are running as if it were that day; None: today.
    """

    operations: tuple[Operation, ...]
    name: str | None
    note: str | None
    expected: int | None
    on: Day | None = None


def change(tx: Tx, template: str, order: Order, *, most_bytes: int, dry_run: bool) -> TemplateChange:
    """Do operations on the newest version and store what they make as the next one, unless it is only tried.

    Raises NotFound, ChangedMeanwhile, and Refused at the first operation that cannot be done.
    """
    found = templates.get(tx, template)
    if order.expected not in (None, NOT_SENT, found.version):
        raise ChangedMeanwhile(found.version)
    newest = templates.get_version(tx, str(found.id), LATEST)
    weeks = templates.weeks_of(newest)
    known = lifts.get_many(tx, lifts_asked(weeks, order.operations))
    outcome = apply(weeks, order.operations, known)
    _small_enough(outcome.weeks, most_bytes)
    made = None if dry_run else _stored(tx, found, order, outcome.weeks)
    number = None if made is None else made.number
    older = [one for one in running.of_template(tx, found.id, on=order.on) if one.block.template_version != number]
    return TemplateChange(
        template=found.id,
        from_version=newest.number,
        version=number,
        name=order.name or found.name,
        weeks=[week_json(week) for week in outcome.weeks],
        operations=_steps(outcome, known),
        difference=_difference(outcome.changes(), known),
        running_count=len(older),
        running=_running(tx, older[:MOST_RUNNING], outcome.weeks),
    )


def _stored(tx: Tx, found: Template, order: Order, weeks: Sequence[WeekPlan]) -> TemplateVersion:
    # Also where anything is overwritten on purpose: what was changed here is what was read here.
    return templates.add_version(
        tx, str(found.id), expected=found.version, name=order.name, weeks=weeks, note=order.note
    )


def _small_enough(weeks: Sequence[WeekPlan], most_bytes: int) -> None:
    sizes: dict[int, int] = {}
    for week in weeks:
        if id(week) not in sizes:
            sizes[id(week)] = len(json.dumps(week_json(week), ensure_ascii=False, separators=(",", ":")).encode())
    if sum(sizes[id(week)] for week in weeks) > most_bytes:
        rule = f"must make a template of at most {most_bytes // 1024**2} MiB"
        raise refused("#/operations", "too_large", rule)


def between(tx: Tx, template: str, version: str, since: int | None) -> VersionDifference:
    """What is different in a version from version `since`; left out: from the one before it. Raises NotFound."""
    newer = templates.get_version(tx, template, version)
    older = templates.get_version(tx, str(newer.template), str(since or max(1, newer.number - 1)))
    before, after = templates.weeks_of(older), templates.weeks_of(newer)
    known = lifts.get_many(tx, lifts_named((*before, *after)))
    told = _difference(core.difference(before, after), known)
    return VersionDifference(
        template=newer.template,
        from_version=older.number,
        to_version=newer.number,
        text=told.text,
        count=told.count,
        changes=told.changes,
    )


def _difference(found: Iterable[core.Change], known: Mapping[str, Lift]) -> Difference:
    changes = list(found)
    return Difference(
        text=f"{_counted(changes)}.",
        count=len(changes),
        changes=tuple(_change(one, known) for one in changes[:MOST_TOLD]),
    )


def _steps(outcome: Outcome, known: Mapping[str, Lift]) -> tuple[OperationDone, ...]:
    room = MOST_TOLD
    steps = []
    for number, step in enumerate(outcome.steps, 1):
        changes = list(step.changes())
        told = tuple(_change(one, known) for one in islice(changes, room))
        room -= len(told)
        steps.append(
            OperationDone(
                operation=number,
                kind=step.operation.kind,
                text=f"{step.text}. {_counted(changes)}.",
                count=len(changes),
                changes=told,
                slots=step.slots,
            )
        )
    return tuple(steps)


def _counted(changes: Sequence[core.Change]) -> str:
    """How much is different, in words."""
    if not changes:
        return "Nothing is different"
    counts: dict[tuple[core.What, core.Kind], int] = {}
    for one in changes:
        counts[one.what, one.kind] = counts.get((one.what, one.kind), 0) + 1
    words = {"added": "new", "removed": "gone", "moved": "at another place", "changed": "changed"}
    told = [f"{plural(count, what)} {words[kind]}" for (what, kind), count in counts.items()]
    weeks = len({one.week for one in changes if one.what != "week"})
    return ", ".join(told).capitalize() + (f", in {plural(weeks, 'week')}" if weeks else "")


def _change(one: core.Change, known: Mapping[str, Lift]) -> PlanChange:
    return PlanChange(
        what=one.what,
        kind=one.kind,
        week=one.week,
        week_before=one.week_before,
        session=one.session,
        session_number=one.session_number,
        session_number_before=one.session_number_before,
        slot=one.slot,
        slot_before=one.slot_before,
        text=one.told(known),
        before=_json(one.before, whole=one.kind == "removed"),
        after=_json(one.after, whole=one.kind == "added"),
    )


def _json(thing: WeekPlan | SessionPlan | Slot | None, *, whole: bool) -> dict[str, Any] | None:
    if thing is None:
        return None
    if isinstance(thing, Slot):
        return slot_json(thing)
    if isinstance(thing, WeekPlan):
        shown = week_json(thing) if whole else {"name": thing.name, "note": thing.note, "lighter": thing.lighter}
    else:
        shown = session_json(thing) if whole else {"name": thing.name, "kind": thing.kind, "note": thing.note}
    return {name: value for name, value in shown.items() if value is not None}


def _running(tx: Tx, found: Sequence[RunningBlock], weeks: Sequence[WeekPlan]) -> tuple[RunningLine, ...]:
    """What a version means for blocks that are being run by older ones; one statement for all of them."""
    if not found:
        return ()
    marks = {key: running.mark(session) for key, session in plans(weeks).items()}
    rows = running.brief(tx, [one.block.id for one in found])
    return tuple(_line(one, rows[one.block.id], marks) for one in found)


def _line(one: RunningBlock, rows: Sequence[BriefSession], marks: Mapping[Key, str]) -> RunningLine:
    week = current_week([(row.date, row.week) for row in rows], one.today)
    last = max(row.week for row in rows)
    ahead = [row for row in rows if row.week > week]
    there = {(row.week, row.number) for row in rows}
    others = sum(row.planned and marks.get((row.week, row.number)) != row.mark for row in ahead)
    others += sum(key[0] > week and key not in there for key in marks)
    would = "nothing that is planned would change" if not others else f"{plural(others, 'session')} would change"
    return RunningLine(
        block=one.block.id,
        name=one.block.name,
        athlete=one.block.athlete,
        athlete_name=one.athlete_name,
        template_version=one.block.template_version,
        week=week,
        last_week=last,
        weeks_left=last - week,
        sessions_to_change=others,
        text=(
            f"{one.athlete_name} is in week {week} of {last} on version {one.block.template_version}: "
            f"{would} from week {week + 1} on."
        ),
    )
