"""A lighter week, made from another one and put in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from service.core.changes.operations import Changed, InsertLighterWeek, known_week, refused
from service.core.changes.telling import changed_slot, slot_words
from service.core.changes.turns import without
from service.core.changes.weeks import put
from service.core.progressions.members import eased, growth_off, held_back, lightened, scaled, with_lighter_load
from service.core.progressions.numbers import OutOfLimits
from service.core.records import Lift
from service.core.slots import MaxTest, PercentTarget, SessionPlan, Slot, WeekPlan
from service.core.words import lift_words, listing, number

Pair = tuple[Slot, Slot]
"""A slot of the week that a lighter one is made from, and of that one."""


def insert(weeks: tuple[WeekPlan, ...], operation: InsertLighterWeek, lifts: Mapping[str, Lift]) -> Changed:
    """A copy with fewer sets, lower percentages, fixed loads and efforts; its name and note are the other one's and go.

    Sessions of the kind test or meet, and slots with the scheme test, are left out: done a second time they would be
    no lighter. Refused where nothing else is there, or where nothing would be lighter.
    """
    known_week(operation.after, len(weeks), "/after")
    of = operation.after if operation.of is None else operation.of
    known_week(of, len(weeks), "/of")
    pairs: list[Pair] = []
    sessions: list[SessionPlan] = []
    lines: list[str] = []
    gone: list[str] = []
    for session in weeks[of - 1].sessions:
        if session.kind != "block":
            gone.append(f"the {session.kind} {session.name}")
            lines.append(f"{session.name}: left out, because it is a {session.kind}.")
            continue
        tests = frozenset(place for place, slot in enumerate(session.slots) if isinstance(slot.scheme, MaxTest))
        gone += [f"the test of the {lift_words(session.slots[place].lift, lifts)}" for place in sorted(tests)]
        made = [(slot, _lighter(slot, operation, session.name, lifts)) for slot in session.slots]
        lines += [f"{session.name}, {_told(pair, lifts)}." for pair in made]
        pairs += [pair for place, pair in enumerate(made) if place not in tests]
        slots = without(tuple(slot for _, slot in made), tests)
        sessions += [replace(session, slots=slots)] if slots else []
    if not sessions:
        rule = f"must be made from another week: week {of} has nothing but tests and meets"
        raise refused("/after" if operation.of is None else "/of", "nothing_left", rule)
    how = tuple(_how(operation, pairs))
    if not how:
        rule = f"must make something lighter, or one of the others: with these numbers all of week {of} stays as it is"
        raise refused("/sets_percent", "nothing_lighter", rule)
    text = f"A lighter week {operation.after + 1}, made from week {of}: {', '.join(how)}"
    if gone:
        text += f"; without {listing(tuple(dict.fromkeys(gone)))}"
    put_in = put(weeks, operation.after, (WeekPlan(sessions=tuple(sessions), lighter=True),), "/after", text)
    return replace(put_in, slots=tuple(lines))


def _lighter(slot: Slot, operation: InsertLighterWeek, session: str, lifts: Mapping[str, Lift]) -> Slot:
    try:
        return lightened(
            slot,
            sets_percent=operation.sets_percent,
            percent_points=operation.percent_points,
            rpe_points=operation.rpe_points,
        )
    except OutOfLimits as out:
        member = {"percent": "/percent_points", "load": "/percent_points", "rpe": "/rpe_points", "rir": "/rpe_points"}
        rule = f"cannot be done: in {session}, {lift_words(slot.lift, lifts)}, {out}"
        raise refused(member.get(out.member, "/sets_percent"), "out_of_range", rule) from out


def _told(pair: Pair, lifts: Mapping[str, Lift]) -> str:
    before, after = pair
    if isinstance(before.scheme, MaxTest):
        return f"{slot_words(before, lifts)}: left out, because it is a test"
    return changed_slot(before, after, lifts) if before != after else f"{slot_words(before, lifts)}: stays as it is"


def _how(operation: InsertLighterWeek, pairs: Sequence[Pair]) -> Iterator[str]:
    """What of the operation's numbers acts, in words; nothing where all stays as it is."""
    before = [slot for slot, _ in pairs]
    percent, points, rpe = operation.sets_percent, operation.percent_points, operation.rpe_points
    if any(scaled(slot, percent) != slot for slot in before):
        yield f"{number(percent, 3)} % of the sets"
    if points and any(isinstance(slot.target, PercentTarget) for slot in before):
        yield f"percentages {number(-points, 3)} {'point' if points == -1 else 'points'} less"
    if points and any(with_lighter_load(slot, points) != slot for slot in before):
        yield f"fixed loads {number(-points, 3)} % less"
    if rpe and any(eased(slot, rpe_points=rpe) != slot for slot in before):
        yield f"efforts {number(-rpe)} RPE less"
    if any(held_back(slot, growth_off(slot, points, rpe)) != slot for slot in before):
        yield "nothing added to loads that grow"
