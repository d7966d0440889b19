"""A template made longer or shorter, to a number of weeks or to end by a day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

from service.core.calendar import WEEKDAYS
from service.core.changes.operations import MOST_WEEKS, Changed, Stretch, refused
from service.core.changes.weeks import numbered
from service.core.slots import WeekPlan
from service.core.words import day, plural

LONGER = (
    "Ordinary weeks are repeated, those in the middle first, each right after itself; lighter weeks and the last week"
    " stay as they are"
)
SHORTER = (
    "Weeks that only repeat the one before them go first, then weeks from the start, because the end is what the block"
    " is for; a lighter week goes rather than stand first, and the last week stays"
)
# Both rules are ours, without a source.
_TIMES = {1: "once", 2: "twice"}


def stretch(weeks: tuple[WeekPlan, ...], operation: Stretch) -> Changed:
    """Weeks repeated or left out until there are so many.

    The last week, the one that a block is for, always stays the last. Lengthening repeats ordinary weeks, those in the
    middle first and each right after itself, every one once before any twice. Shortening takes out repeats, the
    earliest first, then weeks from the start: a lifter who comes late to a block enters it later. A lighter week stays
    while an ordinary one stands before it. What was lengthened and is shortened again is as it was, unless it held
    repeats itself.
    """
    wanted = _wanted(weeks, operation)
    if wanted >= len(weeks):
        return _longer(weeks, wanted, operation)
    return _shorter(weeks, wanted, operation)


def _wanted(weeks: tuple[WeekPlan, ...], operation: Stretch) -> int:
    """How many weeks there shall be."""
    if operation.weeks is not None:
        return operation.weeks
    if operation.end is None or operation.start is None:
        raise refused("/weeks", "required", "is required, or end with start and weekdays in its place")
    named = {WEEKDAYS.index(one) for one in operation.weekdays}
    last = len(weeks[-1].sessions)
    most = max(len(week.sessions) for week in weeks)
    if len(named) < most:
        rule = f"must name at least {plural(most, 'day')}: so many sessions a week has"
        raise refused("/weekdays", "wrong_count", rule)
    first_days = [one for ahead in range(7) if (one := operation.start + timedelta(days=ahead)).weekday() in named]
    count = (operation.end - first_days[last - 1]).days // 7 + 1
    if count < 1:
        rule = f"must be {day(first_days[last - 1])} or later: on that day one week from this start ends"
        raise refused("/end", "out_of_range", rule)
    if count > MOST_WEEKS:
        rule = f"must be {MOST_WEEKS} weeks after the start at most: a template has no more"
        raise refused("/end", "out_of_range", rule)
    return count


def _longer(weeks: tuple[WeekPlan, ...], wanted: int, operation: Stretch) -> Changed:
    more = wanted - len(weeks)
    ordinary = [place for place, week in enumerate(weeks[:-1]) if not week.lighter]
    if more and not ordinary:
        pointer = "/weeks" if operation.weeks is not None else "/end"
        rule = "cannot be reached: there is no ordinary week before the last one to do twice; repeat a week by itself"
        raise refused(pointer, "nothing_matched", rule)
    middle = (len(ordinary) - 1) / 2
    by_turn = sorted(range(len(ordinary)), key=lambda turn: (abs(turn - middle), turn))
    copies = dict.fromkeys(range(len(weeks)), 0)
    for count in range(more):
        copies[ordinary[by_turn[count % len(ordinary)]]] += 1
    result: list[WeekPlan] = []
    origins: list[int | None] = []
    for place, week in enumerate(weeks):
        result += [week] * (1 + copies[place])
        origins += [place, *[None] * copies[place]]
    text = _said(weeks, wanted, operation)
    if more:
        text += f": {_again(copies)}. {LONGER}"
    return Changed(weeks=tuple(result), origins=tuple(origins), text=text)


def _again(copies: Mapping[int, int]) -> str:
    """Which weeks come how often once more, by place from 0."""
    if max(copies.values()) == 1:
        return f"{numbered([place + 1 for place, count in copies.items() if count])} again"
    often = sorted({count for count in copies.values() if count})
    alike = (numbered([place + 1 for place, count in copies.items() if count == times]) for times in often)
    return " and ".join(
        f"{named} {_TIMES.get(times, f'{times} times')} more" for named, times in zip(alike, often, strict=True)
    )


def _shorter(weeks: tuple[WeekPlan, ...], wanted: int, operation: Stretch) -> Changed:
    left = list(range(len(weeks)))
    while len(left) > wanted:
        left.remove(_next_to_go(weeks, left))
    gone = [place + 1 for place in range(len(weeks)) if place not in left]
    text = f"{_said(weeks, wanted, operation)}: {numbered(gone)} {'go' if len(gone) > 1 else 'goes'}. {SHORTER}"
    return Changed(weeks=tuple(weeks[place] for place in left), origins=tuple(left), text=text)


def _next_to_go(weeks: tuple[WeekPlan, ...], left: list[int]) -> int:
    """The week that is missed least: the later one of the earliest two alike, else the first that is not to stay."""
    before_last = left[:-1]
    for one, other in zip(left, before_last[1:], strict=False):
        if weeks[one] == weeks[other]:
            return other
    # A lighter week is to have something to be light after: it goes before the last ordinary week in front of it.
    if len(before_last) > 1 and not weeks[before_last[0]].lighter and weeks[before_last[1]].lighter:
        return before_last[1]
    return before_last[0]


def _said(weeks: tuple[WeekPlan, ...], wanted: int, operation: Stretch) -> str:
    text = (
        f"{plural(len(weeks), 'week')} become {wanted}"
        if len(weeks) != wanted
        else f"It has {plural(wanted, 'week')} already"
    )
    if operation.end is not None and operation.start is not None:
        text += f", to end by {day(operation.end)} from a start on {day(operation.start)}"
    return text
