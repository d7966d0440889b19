"""A running block follows another version of its template: what becomes of each of its sessions, and on which day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from typing import Literal

from service.core.calendar import WEEKDAYS
from service.core.changes.difference import Change, of_session
from service.core.errors import DomainError
from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import CannotLayOut, Layout, Planned
from service.core.plan.sizes import heavy_lifts, is_occasion, session_is_heavy
from service.core.records import Lift
from service.core.replan.records import BlockSession
from service.core.slots import SessionPlan, WeekPlan
from service.core.words import day

Key = tuple[int, int]
"""A session's week and its number in it, from 1."""
What = Literal["changed", "added", "removed", "stays"]
Day = date  # a record's own field may be called date


class NoDay(DomainError):
    """A session that a version adds has no day of its own between those around it."""

    code = "no_day"


@dataclass(frozen=True, slots=True, kw_only=True)
class Follows:
    """What becomes of one session. `stays`: the version has it otherwise, but it is begun, done or left out already."""

    what: What
    week: int
    number: int
    session: str | None
    """Its id; None for one that is added."""
    date: Day
    """Its day; one that stands already keeps it."""
    before: SessionPlan | None
    after: SessionPlan | None

    def changes(self) -> list[Change]:
        """What is different in a session that is changed."""
        if self.what != "changed" or self.before is None or self.after is None:
            return []
        return list(of_session(self.before, self.after, self.week, self.number))


def plans(weeks: Sequence[WeekPlan]) -> dict[Key, SessionPlan]:
    """The sessions of a version by week and number."""
    return {
        (week, number): session for week, one in enumerate(weeks, 1) for number, session in enumerate(one.sessions, 1)
    }


def current_week(days: Sequence[tuple[date, int]], today: date) -> int:
    """The week that an athlete is in: that of the next session, today's included; after the last one the last.

    `days` are the sessions' days with their weeks, by day.
    """
    return next((week for on, week in days if on >= today), max(week for _, week in days))


def follow(
    sessions: Sequence[BlockSession],
    version: Mapping[Key, SessionPlan],
    from_week: int,
    layout: Layout,
    lifts: Mapping[str, Lift],
    own: Mapping[str, SessionPlan] | None = None,
) -> list[Follows]:
    """What becomes of the sessions of a block from a week on, in the template's order; what stays the same is left out.

    Sessions are matched by week and number. A planned one gets the version's plan and keeps its day and place, also one
    that was moved by hand. One that is open, finished or left out, or in which a set was ever logged, is never
    touched. What the version does not have goes; what it has besides is added, on the days that `layout` gives: in the
    midst of the block between the sessions around it, else after the last one. `lifts` are those that it names; `own`
    says by id what sessions become that are not to be just as the version has them.

    Raises
    ------
    NoDay
        Where there is no day for a session that is added.
    """
    found: list[Follows] = []
    left: list[BlockSession] = []
    for one in sessions:
        plan = (own or {}).get(one.id, version.get((one.week, one.number)))
        left.append(one)
        if one.week < from_week or plan == one.plan:
            continue
        if one.planned and plan is None:
            left.pop()
        what: What = "stays" if not one.planned else "removed" if plan is None else "changed"
        found.append(
            Follows(
                what=what,
                week=one.week,
                number=one.number,
                session=one.id,
                date=one.date,
                before=one.plan,
                after=plan,
            )
        )
    standing = {(one.week, one.number) for one in sessions}
    new = [key for key in sorted(version) if key not in standing and key[0] >= from_week]
    for key, on in _days(left, new, version, layout, lifts).items():
        week, number = key
        found.append(
            Follows(what="added", week=week, number=number, session=None, date=on, before=None, after=version[key])
        )
    return sorted(found, key=lambda one: (one.week, one.number, one.date))


def _days(
    standing: Sequence[BlockSession],
    new: Sequence[Key],
    version: Mapping[Key, SessionPlan],
    layout: Layout,
    lifts: Mapping[str, Lift],
) -> dict[Key, date]:
    """Days of added sessions, in the template's order: between those around them, or after the last one."""
    days: dict[Key, date] = {}
    for before, run in groupby(new, key=lambda key: _next_day(standing, key)):
        if before is not None:
            days |= _between(standing, list(run), before, layout)
    last = max((one.date for one in standing), default=None)
    for week, run in groupby([key for key in new if key not in days], key=lambda key: key[0]):
        keys = list(run)
        first = _window(standing, week, layout)
        if last is not None:
            first = max(first, last + timedelta(days=1))
        days |= dict(zip(keys, _laid({key: version[key] for key in keys}, first, layout, lifts), strict=True))
        last = days[keys[-1]]
    return days


def _next_day(standing: Sequence[BlockSession], key: Key) -> date | None:
    """The first day of what comes after a session in the template's order; None where nothing does."""
    return min((one.date for one in standing if (one.week, one.number) > key), default=None)


def _between(standing: Sequence[BlockSession], keys: Sequence[Key], before: date, layout: Layout) -> dict[Key, date]:
    """Days for sessions in the midst of a block: training days where there are enough of them, else any."""
    first = _window(standing, keys[0][0], layout)
    earlier = [one.date for one in standing if (one.week, one.number) < keys[0]]
    if earlier:
        first = max(first, max(earlier) + timedelta(days=1))
    wishes = layout.wishes
    open_days = [
        on
        for on in (first + timedelta(days=ahead) for ahead in range((before - first).days))
        if WEEKDAYS[on.weekday()] not in wishes.never_on
        and not any(one.since <= on <= one.until for one in wishes.holidays)
    ]
    training = [on for on in open_days if WEEKDAYS[on.weekday()] in layout.weekdays]
    chosen = training if len(training) >= len(keys) else open_days
    if len(chosen) < len(keys):
        week, number = keys[len(chosen)]
        raise NoDay(
            f"Session {number} of week {week} is new and has no day before {day(before)}: move what follows, or move"
            " over from a later week."
        )
    return dict(zip(keys, chosen, strict=False))


def _laid(new: Mapping[Key, SessionPlan], first: date, layout: Layout, lifts: Mapping[str, Lift]) -> list[date]:
    """Days of the last sessions of one week, by the weekdays and wishes of the block."""
    planned = [
        Planned(
            week=1,
            number=number,
            name=plan.name,
            heavy_in=heavy_lifts(plan, lifts),
            heavy=session_is_heavy(plan, lifts),
            occasion=is_occasion(plan),
        )
        for (_, number), plan in new.items()
    ]
    try:
        laid = lay_out(planned, replace(layout, start=first, end=None, reorder=False, spread=False))
    except CannotLayOut as none:
        raise NoDay(f"Week {min(new)[0]} is new and has no days: {none}.") from none
    return [one.date for one in laid.dated]


def _window(standing: Sequence[BlockSession], week: int, layout: Layout) -> date:
    """The first of the seven days of a week, as far as the block has been moved by whole weeks until then."""
    days = layout.weekdays or WEEKDAYS
    begun = layout.start or min((one.date for one in standing), default=None)
    if begun is None:
        raise NoDay("This block has neither sessions nor a start: lay it out anew.")
    first = next(one for ahead in range(7) if WEEKDAYS[(one := begun + timedelta(days=ahead)).weekday()] in days)
    weeks_moved = 0
    earlier = [one for one in standing if one.week <= week]
    if earlier:
        # Of a week that is done again its last time counts: what follows it has moved with it.
        nearest = max(earlier, key=lambda one: (one.week, -one.number, one.date))
        weeks_moved = ((nearest.date - first).days - 7 * (nearest.week - 1) + 3) // 7
    return first + timedelta(weeks=week - 1 + weeks_moved)
