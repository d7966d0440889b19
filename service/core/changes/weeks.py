"""Operations on whole weeks: added, repeated, dropped, in another order."""

from __future__ import annotations

from service.core.changes.operations import (
    MOST_WEEKS,
    AddWeek,
    Changed,
    DropWeeks,
    ReorderWeeks,
    RepeatWeek,
    known_week,
    refused,
)
from service.core.slots import WeekPlan
from service.core.words import listing, plural

Weeks = tuple[WeekPlan, ...]


def add(weeks: Weeks, operation: AddWeek) -> Changed:
    """A week of one's own after another."""
    known_week(operation.after, len(weeks), "/after", lowest=0)
    return put(weeks, operation.after, (operation.week,), "/week", f"A new week {operation.after + 1}")


def repeat(weeks: Weeks, operation: RepeatWeek) -> Changed:
    """A week again, so many times."""
    known_week(operation.week, len(weeks), "/week")
    after = operation.week if operation.after is None else operation.after
    known_week(after, len(weeks), "/after", lowest=0)
    copies = (weeks[operation.week - 1],) * operation.times
    where = _span(after + 1, operation.times)
    return put(weeks, after, copies, "/times", f"Week {operation.week} again as {where}")


def drop(weeks: Weeks, operation: DropWeeks) -> Changed:
    """Weeks taken out; one stays."""
    for at, number in enumerate(operation.weeks):
        known_week(number, len(weeks), f"/weeks/{at}")
    gone = frozenset(operation.weeks)
    kept = tuple(place for place in range(len(weeks)) if place + 1 not in gone)
    if not kept:
        raise refused("/weeks", "nothing_left", "must leave a week: a template has at least one")
    return Changed(weeks=tuple(weeks[place] for place in kept), origins=kept, text=f"Without {numbered(sorted(gone))}")


def reorder(weeks: Weeks, operation: ReorderWeeks) -> Changed:
    """All weeks in another order."""
    if sorted(operation.order) != list(range(1, len(weeks) + 1)):
        raise refused("/order", "not_all", f"must name each of the {plural(len(weeks), 'week')} once, from 1")
    places = tuple(number - 1 for number in operation.order)
    order = listing(tuple(str(number) for number in operation.order))
    return Changed(
        weeks=tuple(weeks[place] for place in places), origins=places, text=f"The weeks in the order {order}"
    )


def numbered(numbers: list[int]) -> str:
    """Weeks by their numbers.

    >>> numbered([3]), numbered([1, 2, 5])
    ('week 3', 'weeks 1, 2 and 5')
    """
    shown = listing(tuple(str(number) for number in numbers))
    return f"week {shown}" if len(numbers) == 1 else f"weeks {shown}"


def _span(first: int, count: int) -> str:
    return f"week {first}" if count == 1 else f"weeks {first} to {first + count - 1}"


def put(weeks: Weeks, after: int, new: Weeks, pointer: str, text: str) -> Changed:
    """New weeks after a week; refused where there would be too many."""
    if len(weeks) + len(new) > MOST_WEEKS:
        room = MOST_WEEKS - len(weeks)
        rule = f"must leave {MOST_WEEKS} weeks at most: there is room for {plural(room, 'week')} here"
        raise refused(pointer, "too_many_weeks", rule)
    return Changed(
        weeks=(*weeks[:after], *new, *weeks[after:]),
        origins=(*range(after), *(None for _ in new), *range(after, len(weeks))),
        text=text,
    )
