"""What is different between two versions of a template, one change at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from service.core.changes import align, telling
from service.core.changes.align import Pairs
from service.core.records import Lift
from service.core.slots import SessionPlan, Slot, WeekPlan
from service.core.words import NO_LIFTS

What = Literal["week", "session", "slot"]
Kind = Literal["added", "removed", "moved", "changed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that is different: a week, a session of a week that stays, or a slot of a session that stays.

    Numbers count from 1 and are those afterwards; the ones before stand beside them. What was added has none before,
    what was removed none afterwards. A week or a session that was added or removed is one change with all that it
    holds; one that was changed has another name, kind or note, and its slots are changes of their own.
    """

    what: What
    kind: Kind
    week: int | None
    week_before: int | None
    session: str | None = None
    """Its name afterwards; of one that was removed, before."""
    session_number: int | None = None
    session_number_before: int | None = None
    slot: int | None = None
    slot_before: int | None = None
    before: WeekPlan | SessionPlan | Slot | None = None
    after: WeekPlan | SessionPlan | Slot | None = None

    def told(self, lifts: Mapping[str, Lift] = NO_LIFTS) -> str:
        """The change as a sentence, with lifts by their names; most of a long list is only counted."""
        place = telling.place(self.week, self.week_before, self.session)
        numbers = (self.session_number, self.session_number_before)
        if self.what == "week":
            return telling.of_week(self.kind, place, self.week, self.before, self.after)
        if self.what == "session":
            return telling.of_session(self.kind, place, numbers, self.before, self.after, lifts)
        return telling.of_slot(self.kind, place, (self.slot, self.slot_before), self.before, self.after, lifts)


def difference(before: Sequence[WeekPlan], after: Sequence[WeekPlan], origins: Pairs | None = None) -> Iterator[Change]:
    """Every change from one version to another: those of the weeks in order, then what was removed.

    Parameters
    ----------
    before, after : sequence of WeekPlan
        Two versions.
    origins : tuple of int or None, optional
        For each week afterwards the place that it stood at before, where that is known; else they are aligned.
    """
    pairs = align.weeks(before, after) if origins is None else align.same_left(before, after, origins)
    moved = align.moved(pairs)
    for place, (week, pair) in enumerate(zip(after, pairs, strict=True)):
        if pair is None:
            yield Change(what="week", kind="added", week=place + 1, week_before=None, after=week)
            continue
        old = before[pair]
        if place in moved:
            yield Change(what="week", kind="moved", week=place + 1, week_before=pair + 1, before=old, after=week)
        if week is not old and week != old:
            yield from _of_week(old, week, pair + 1, place + 1)
    paired = set(pairs)
    for place, old in enumerate(before):
        if place not in paired:
            yield Change(what="week", kind="removed", week=None, week_before=place + 1, before=old)


def _of_week(before: WeekPlan, after: WeekPlan, number_before: int, number: int) -> Iterator[Change]:
    if telling.facts_of_week(before) != telling.facts_of_week(after):
        yield Change(what="week", kind="changed", week=number, week_before=number_before, before=before, after=after)
    yield from of_sessions(before.sessions, after.sessions, number_before, number)


def of_sessions(
    before: Sequence[SessionPlan], after: Sequence[SessionPlan], week_before: int, week: int
) -> Iterator[Change]:
    """Every change between the sessions of one week."""
    pairs = align.sessions(before, after)
    moved = align.moved(pairs)
    for place, (session, pair) in enumerate(zip(after, pairs, strict=True)):
        if pair is None:
            yield Change(
                what="session",
                kind="added",
                week=week,
                week_before=week_before,
                session=session.name,
                session_number=place + 1,
                after=session,
            )
            continue
        yield from _of_pair(before[pair], session, (week_before, week), (pair + 1, place + 1), moved=place in moved)
    paired = set(pairs)
    for place, old in enumerate(before):
        if place not in paired:
            yield Change(
                what="session",
                kind="removed",
                week=week,
                week_before=week_before,
                session=old.name,
                session_number_before=place + 1,
                before=old,
            )


def of_session(before: SessionPlan, after: SessionPlan, week: int, number: int) -> Iterator[Change]:
    """Every change between two plans of one session."""
    return _of_pair(before, after, (week, week), (number, number), moved=False)


def _of_pair(
    before: SessionPlan, after: SessionPlan, weeks: tuple[int, int], numbers: tuple[int, int], *, moved: bool
) -> Iterator[Change]:
    """Changes of a session that stays, and of its slots."""
    there = _There(after.name, weeks, numbers)
    if moved:
        yield there.change("session", "moved", before=before, after=after)
    if telling.facts_of_session(before) != telling.facts_of_session(after):
        yield there.change("session", "changed", before=before, after=after)
    if before.slots == after.slots:
        return
    pairs = align.slots(before.slots, after.slots)
    order = align.moved(pairs)
    for place, (slot, pair) in enumerate(zip(after.slots, pairs, strict=True)):
        if pair is None:
            yield there.change("slot", "added", slot=place + 1, after=slot)
            continue
        old = before.slots[pair]
        if old != slot or place in order:
            kind: Kind = "changed" if old != slot else "moved"
            yield there.change("slot", kind, slot=place + 1, slot_before=pair + 1, before=old, after=slot)
    paired = set(pairs)
    for place, old in enumerate(before.slots):
        if place not in paired:
            yield there.change("slot", "removed", slot_before=place + 1, before=old)


@dataclass(frozen=True, slots=True)
class _There:
    """The session that a change is in: its name afterwards, its week and its number, each before and afterwards."""

    name: str
    weeks: tuple[int, int]
    numbers: tuple[int, int]

    def change(
        self,
        what: What,
        kind: Kind,
        *,
        before: SessionPlan | Slot | None = None,
        after: SessionPlan | Slot | None = None,
        slot: int | None = None,
        slot_before: int | None = None,
    ) -> Change:
        return Change(
            what=what,
            kind=kind,
            week=self.weeks[1],
            week_before=self.weeks[0],
            session=self.name,
            session_number=self.numbers[1],
            session_number_before=self.numbers[0],
            slot=slot,
            slot_before=slot_before,
            before=before,
            after=after,
        )
