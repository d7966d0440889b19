"""Sessions get their days: the one way into this package."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.core.calendar import DatedSession
from service.core.layout.days import Days, Rules, rules
from service.core.layout.solve import Chosen, best_days, first_days
from service.core.layout.told import Placed, idle, outside, runs_over, too_late, unmet, weeks_of
from service.core.layout.wishes import CannotLayOut, Layout, Planned, Unmet
from service.core.words import plural


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """Sessions with their days."""

    dated: tuple[DatedSession, ...]
    """In the order of their days."""
    unmet: tuple[Unmet, ...]
    """Wishes that could not be met, by day."""
    told: tuple[str, ...]
    """Sentences: which weeks run over their seven days, what a wish does not change, what another order would bring."""

    @property
    def starts_on(self) -> date:
        """The first session's day."""
        return self.dated[0].date

    @property
    def ends_on(self) -> date:
        """The last session's day."""
        return self.dated[-1].date


def lay_out(sessions: Sequence[Planned], layout: Layout) -> Laid:
    """Give each session its day.

    Each week of the block has seven days for itself, counted from the start (backwards: from the end back), and uses
    the stated weekdays in them, less holidays and days never to train on; one session a day. A week with more sessions
    than days, or whose days are taken, runs on into the following days; the weeks after it begin when it is done, and
    on their own seven days where those are later. A week with fewer sessions than days takes the days that meet most
    wishes; where they do not decide it takes its first days (backwards: its last), or spreads evenly where that is
    asked for. A wish never makes a week longer; what must be may.

    Parameters
    ----------
    sessions : sequence of Planned, length 1 or more
        In the order of the template.
    layout : Layout
        Days are local dates: neither time zones nor daylight saving move them.

    Returns
    -------
    Laid
        Every session once, dates strictly rising, in the template's order unless `reorder` lets those of a week
        change it. Nothing that must be is broken; of all layouts that are no longer the fewest wishes are unmet.

    Raises
    ------
    CannotLayOut
        Where no weekday is left, where the block does not fit between its start and its end, or where it would take
        more than three years.
    """
    days = Days(layout)
    ordered = sessions if days.sign > 0 else list(reversed(sessions))
    chosen = _solved(ordered, layout, days)
    placed: list[Placed] = [(ordered[place], day) for place, day in chosen]
    weeks = weeks_of(placed, days)
    missed = unmet(placed, layout, days, {week.number: week for week in weeks})
    told = [*runs_over(weeks, layout, days), *idle(sessions, layout), *outside(weeks, layout, days)]
    if missed and not layout.reorder:
        told.extend(_by_another_order(ordered, layout, days, len(missed)))
    dated = [DatedSession(week=one.week, number=one.number, date=days.date(day)) for one, day in placed]
    return Laid(dated=tuple(dated[:: days.sign]), unmet=tuple(missed), told=tuple(told))


def _solved(sessions: Sequence[Planned], layout: Layout, days: Days) -> Chosen:
    said = rules(sessions, layout, days)
    first = first_days(sessions, layout, days, said)
    if len(first) < len(sessions):
        raise CannotLayOut("#/wishes", "must leave days enough: the block would take more than three years")
    late = next((at for at, day in enumerate(first) if days.last is not None and day > days.last), None)
    if late is not None and not layout.reorder:
        raise CannotLayOut("#/end", too_late(sessions[late], days.date(first[late]), layout))
    if not _to_choose(said, layout):
        return list(enumerate(first))
    best = best_days(sessions, layout, days, said, first)
    if best is None:  # only where weeks may change their order, and no order fits before the end
        at = len(first) - 1 if late is None else late
        raise CannotLayOut("#/end", too_late(sessions[at], days.date(first[at]), layout))
    return best


def _to_choose(said: Rules, layout: Layout) -> bool:
    return layout.spread or layout.reorder or said.any_wished


def _by_another_order(sessions: Sequence[Planned], layout: Layout, days: Days, missed: int) -> list[str]:
    """What another order within the weeks would bring."""
    other = replace(layout, reorder=True)
    placed: list[Placed] = [(sessions[place], day) for place, day in _solved(sessions, other, days)]
    weeks = {week.number: week for week in weeks_of(placed, days)}
    left = len(unmet(placed, other, days, weeks))
    if left >= missed:
        return []
    what = "all wishes would be met" if left == 0 else f"only {plural(left, 'wish', 'wishes')} would be unmet"
    return [f"With the sessions of each week in another order {what}: ask for it with reorder."]
