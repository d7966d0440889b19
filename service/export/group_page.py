"""A group's day to print: who lifts what, who shares a bar with whom, and what to change between them."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from service.core import words
from service.core.answers import PlateCount, PrescribedSet, ResolvedSlot
from service.core.calendar import WEEKDAYS
from service.core.records import WORK_ROLES
from service.core.sharing.records import Shared, SharedBar, Turn, Wave
from service.core.units import say
from service.export.board import PLAIN, ROLES, WIDTH, coach

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class PageAthlete:
    """Somebody with a session."""

    name: str
    session: str
    state: str
    slots: Sequence[ResolvedSlot]


@dataclass(frozen=True, slots=True, kw_only=True)
class PageOfPlace:
    """What goes on at one place."""

    name: str | None
    athletes: Sequence[PageAthlete]
    rounds: Sequence[Shared]


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupPage:
    """A group's day."""

    group: str
    date: Day
    notes: Sequence[tuple[Day, str, str]]
    """Day, who wrote it, text."""
    places: Sequence[PageOfPlace]
    without: Sequence[str]
    away: Sequence[tuple[str, str, Day, Day | None]]
    """Name, kind of the absence, its first day and its last one."""
    lifts: Mapping[str, str]
    """Names of lifts by word."""


def text(page: GroupPage) -> str:
    """The page, ending in a line break; a form feed before each further place, so that each is a page by itself."""
    day = f"{WEEKDAYS[page.date.weekday()].capitalize()} {words.day(page.date)}"
    head = [f"{page.group} - {day}"]
    for on, by, said in page.notes:
        head += _wrapped(f"Note of {words.day(on)} by {by}: {said}", "")
    if not page.places:
        head.append("Nobody has a session.")
    parts = ["\n".join(_place(one, page.lifts)) for one in page.places]
    body = "\n\f\n".join(parts)
    end = list(_wrapped(f"Without a session: {', '.join(page.without)}.", "")) if page.without else []
    if page.away:
        end += _wrapped(f"Away: {'; '.join(map(_away, page.away))}.", "")
    return "\n".join([*head, "", *([body] if body else []), *(["", *end] if end else [])]).rstrip() + "\n"


def _away(one: tuple[str, str, Day, Day | None]) -> str:
    name, kind, since, until = one
    last = "" if until is None else f" until {words.day(until)}"
    return f"{name} ({kind}) since {words.day(since)}{last}"


def _place(one: PageOfPlace, names: Mapping[str, str]) -> Iterator[str]:
    yield one.name or "No place named: the usual equipment"
    for athlete in one.athletes:
        yield ""
        yield from _wrapped(f"{athlete.name}: {athlete.session} ({athlete.state})", "")
        for slot in athlete.slots:
            yield from _wrapped(f"{_named(slot.lift, names)}: {_work(slot)}", "  ")
            yield from (line for decided in coach(slot) for line in _wrapped(decided, "    "))
            yield from (line for caution in slot.cautions for line in _wrapped(f"Take care: {caution.text}", "    "))
    for number, shared in enumerate(one.rounds, 1):
        if not (shared.advice or shared.waves or shared.in_turn):
            continue  # planks share nothing
        yield ""
        yield from _round(number, shared, names)


def _work(slot: ResolvedSlot) -> str:
    """The work sets of a slot in one line."""
    if slot.left_out:
        return slot.text
    work = [one for one in slot.sets if one.role in WORK_ROLES]
    told = [_alike(list(some)) for _, some in groupby(work, key=lambda one: (one.load, one.reps, one.reps_to))]
    return ", then ".join(told) or slot.text


def _alike(some: Sequence[PrescribedSet]) -> str:
    one = some[0]
    times = f"{len(some)} times " if len(some) > 1 else ""
    if one.seconds is not None:
        much = words.plural(one.seconds, "second")
    elif one.metres is not None:
        much = words.plural(one.metres, "metre")
    else:
        much = "as many as chosen" if one.reps is None else words.reps(one.reps, one.reps_to)
    efforts = [each.expected_rpe for each in some if each.expected_rpe is not None]
    hard = f" (about RPE {words.number(max(efforts))})" if efforts else ""
    return f"{times}{much}{'' if one.load is None else f' with {say(one.load)}'}{hard}"


def _round(number: int, shared: Shared, names: Mapping[str, str]) -> Iterator[str]:
    yield f"Round {number}"
    for advice in shared.advice:
        yield from _wrapped(advice, "  ")
    for at, wave in enumerate(shared.waves, 1):
        if len(shared.waves) > 1:
            yield f"  Part {at}"
        yield from _wave(wave, names)
    for one in shared.in_turn:
        yield from _wrapped(f"{one.what}: {', '.join(one.names)} take turns", "  ")


def _wave(wave: Wave, names: Mapping[str, str]) -> Iterator[str]:
    for bar in wave.bars:
        yield from _wrapped(f"{_named(bar.lift, names)}, bar of {say(bar.bar)}: {', '.join(bar.names)}", "  ")
        yield from _turns(bar)
    if wave.plates:
        needs = ", ".join(f"{one.needed} of {say(one.plate)}" for one in wave.plates)
        yield from _wrapped(f"Plates at once: {needs}", "  ")


def _turns(bar: SharedBar) -> Iterator[str]:
    """One line a turn; a bar that one lifter has alone needs no order."""
    if len(bar.names) < 2:
        return
    wide = max(map(len, bar.names))
    for turn in bar.turns:
        line = f"    {turn.name:<{wide}}  {ROLES[turn.role]:<9} {say(turn.load):<9} {_reps(turn):<8}"
        yield from _wrapped(f"{line} {_change(turn)}".rstrip(), "", "      ")


def _reps(turn: Turn) -> str:
    return "" if turn.reps is None else f"x {words.reps(turn.reps, turn.reps_to)}"


def _change(turn: Turn) -> str:
    """What to do on each side; nothing where the bar stays as it is."""
    parts = [f"off {_plates(turn.take_off)}"] if turn.take_off else []
    parts += [f"on {_plates(turn.put_on)}"] if turn.put_on else []
    return "; ".join(parts)


def _plates(plates: Iterable[PlateCount]) -> str:
    return " ".join(f"{one.plate.value:g}" for one in plates for _ in range(one.count))


def _named(lift: str, names: Mapping[str, str]) -> str:
    return names.get(lift, lift.replace("-", " ").capitalize())


def _wrapped(sentence: str, indent: str, further: str | None = None) -> list[str]:
    lines = textwrap.wrap(
        sentence.translate(PLAIN),
        WIDTH,
        initial_indent=indent,
        subsequent_indent=indent + "  " if further is None else further,
        break_on_hyphens=False,
    )
    return [line.rstrip() for line in lines]
