"""What a layout does that the coach did not ask for, in sentences: wishes not met, weeks that run over."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from service.core.calendar import WEEKDAYS, DatedSession
from service.core.layout.days import Days, kinds_of, opposed, too_near
from service.core.layout.wishes import Apart, Layout, LightBefore, Planned, Unmet
from service.core.words import day as day_words
from service.core.words import listing, plural

Placed = tuple[Planned, int]
"""A session with its day."""


@dataclass(frozen=True, slots=True)
class Week:
    """A week of the block as it was laid out."""

    number: int
    """From 1."""
    sessions: int
    days: int
    """How many days it had to choose from. [days]"""
    over: int
    """How far it runs over the seven days of its own. [days]"""
    last: int
    """Its last day, in the direction of the layout."""
    window: tuple[int, int]


def weeks_of(placed: Sequence[Placed], days: Days) -> list[Week]:
    """The weeks in the direction of the layout; `placed` in the order of the days in that direction."""
    numbers = list(dict.fromkeys(one.week for one, _ in placed))
    highest = max(numbers, default=0)
    found: list[Week] = []
    for number in numbers:
        own = [day for one, day in placed if one.week == number]
        window = days.window(number - 1 if days.sign > 0 else highest - number)
        start = max(window[0], found[-1].last + 1) if found else window[0]
        last = max(own)
        free = days.between(start, max(window[1], last))
        found.append(Week(number, len(own), len(free), max(0, last - window[1]), last, window))
    return found


def unmet(placed: Sequence[Placed], layout: Layout, days: Days, weeks: Mapping[int, Week]) -> list[Unmet]:
    """Each wish that is not met, once for each session, or pair of sessions, that it is not met for."""
    found: list[Unmet] = []
    in_time = sorted(placed, key=lambda one: days.date(one[1]))
    dated = [(session, days.date(day)) for session, day in in_time]
    for number, wish in enumerate(layout.wishes.apart):
        if not wish.must:
            found.extend(_too_close(dated, wish, f"#/wishes/apart/{number}", weeks))
    for number, before in enumerate(layout.wishes.light_before):
        for session, on in dated:
            if not before.must and too_near(session, on, before):
                text = (
                    f"Week {session.week}: {session.name} on {_day(on)} is heavy, {_wanted_light(before, on)}. "
                    f"{_why(weeks, session.week)}"
                )
                pointer = f"#/wishes/light_before/{number}"
                found.append(Unmet(wish=pointer, week=session.week, number=session.number, date=on, text=text))
    return sorted(found, key=lambda one: (one.date, one.wish))


def _too_close(
    dated: Sequence[tuple[Planned, date]], wish: Apart, pointer: str, weeks: Mapping[int, Week]
) -> list[Unmet]:
    kinds = [kinds_of(session, wish) for session, _ in dated]
    found = []
    for at, (session, on) in enumerate(dated):
        for before in range(at - 1, -1, -1):
            other, since = dated[before]
            free = (on - since).days - 1
            if free >= wish.days:
                break
            if opposed(wish, kinds[before], kinds[at]):
                text = (
                    f"Week {session.week}: {session.name} on {_day(on)} comes after {other.name} on {_day(since)} with "
                    f"{_free(free)} between them; {wish.days} wished. {_why(weeks, other.week, session.week)}"
                )
                found.append(Unmet(wish=pointer, week=session.week, number=session.number, date=on, text=text))
    return found


def _free(days: int) -> str:
    return "no free day" if days == 0 else plural(days, "free day")


def _wanted_light(wish: LightBefore, on: date) -> str:
    before = "the day before" if wish.days == 1 else f"the {wish.days} days before"
    if on == wish.date:
        return f"on the day itself; that day and {before} were to be light, but for a test or a meet"
    ahead = plural((wish.date - on).days, "day")
    return f"{ahead} before {_day(wish.date)}; {before} {'was' if wish.days == 1 else 'were'} to be light"


def _why(weeks: Mapping[int, Week], *numbers: int) -> str:
    """Why a wish is not met: its weeks have no other days, or those would not help."""
    concerned = [weeks[number] for number in dict.fromkeys(numbers)]
    if all(week.sessions >= week.days for week in concerned):
        one = concerned[0]
        if len(concerned) == 1:
            return f"Week {one.number} has {plural(one.days, 'day')} for {plural(one.sessions, 'session')}."
        return f"Weeks {listing(tuple(str(week.number) for week in concerned))} have no other days."
    return "Other days would leave as many wishes unmet, or more."


def runs_over(weeks: Sequence[Week], layout: Layout, days: Days) -> list[str]:
    """Which weeks run over the seven days of their own, each with what it is for."""
    found = []
    before = 0
    for at, week in enumerate(weeks, 1):
        if week.over > before:
            on = _day(days.date(week.last))
            where = f"it runs on until {on}" if days.sign > 0 else f"it begins on {on}"
            others = _others(len(weeks) - at, days)
            found.append(f"Week {week.number} {_for_what(week, layout, days)}: {where}{others}.")
        before = week.over
    return found


def _others(more: int, days: Days) -> str:
    """What a week that runs over does to those that come after it in the direction of the layout."""
    if not more:
        return ""
    if days.sign > 0:
        return f", and the {'week' if more == 1 else 'weeks'} after it {'follows' if more == 1 else 'follow'}"
    return f", and the {'week' if more == 1 else 'weeks'} before it {'comes' if more == 1 else 'come'} earlier"


def _for_what(week: Week, layout: Layout, days: Days) -> str:
    """What makes a week run over."""
    named = set(layout.weekdays) - set(layout.wishes.never_on)
    dates = [days.date(at) for at in range(week.window[0], week.window[1] + 1)]
    usual = [on for on in dates if WEEKDAYS[on.weekday()] in named]
    off = sorted(on for on in usual if any(one.since <= on <= one.until for one in layout.wishes.holidays))
    if week.sessions > len(usual):
        return f"has {plural(week.sessions, 'session')} for {plural(len(usual), 'day')}"
    if week.sessions > len(usual) - len(off):
        lost = f"{_day(off[0])}" if len(off) == 1 else f"{len(off)} days from {_day(off[0])} on"
        return f"loses {lost} to a holiday"
    most = layout.wishes.most_a_week
    if most is not None and week.sessions > most:
        return f"has {plural(week.sessions, 'session')}, and at most {most} may be in a week"
    return "needs more days for what must be kept free"


def _day(on: date) -> str:
    """A day for reading, with its weekday."""
    return f"{WEEKDAYS[on.weekday()].capitalize()} {day_words(on)}"


def too_late(session: Planned, on: date, layout: Layout) -> str:
    """Why a block does not fit between its start and its end; it goes on after the member's name."""
    taken = ""
    if layout.wishes.holidays:
        taken = "; holidays take days before it"
    elif layout.wishes.most_a_week is not None:
        taken = f"; at most {layout.wishes.most_a_week} sessions may be in a week"
    elif any(a.must for a in layout.wishes.apart) or any(b.must for b in layout.wishes.light_before):
        taken = "; what must be kept free takes days before it"
    which = f"session {session.number} of week {session.week}, {session.name}"
    return f"must be later: {which}, would come on {_day(on)}{taken}"


def idle(sessions: Sequence[Planned], layout: Layout) -> list[str]:
    """Wishes about lifts in which no session is heavy: they change nothing."""
    heavy = {lift for one in sessions for lift in one.heavy_in}
    named = dict.fromkeys(lift for wish in layout.wishes.apart if wish.by == "lifts" for lift in wish.kinds)
    return [f"No session is heavy in {lift}: a wish about it changes nothing." for lift in named if lift not in heavy]


def outside(weeks: Sequence[Week], layout: Layout, days: Days) -> list[str]:
    """Dates to be kept free that are not in the block's weeks, with no day before them that is."""
    ends = [days.date(at) for week in weeks for at in (*week.window, week.last)]
    first, last = min(ends), max(ends)
    return [
        f"{_light_days(wish)} not in the block's weeks, nor is the day itself: the wish about it changes nothing."
        for wish in layout.wishes.light_before
        if wish.date < first or wish.date - timedelta(days=wish.days) > last
    ]


def _light_days(wish: LightBefore) -> str:
    days = "day before" if wish.days == 1 else f"{wish.days} days before"
    return f"The {days} {_day(wish.date)} {'is' if wish.days == 1 else 'are'}"


def beside(dated: Sequence[DatedSession], athletes: int, in_blocks: int, shared: Sequence[Sequence[date]]) -> list[str]:
    """That some of the athletes have sessions of another block meanwhile, or two on one day.

    `dated`: in the order of their days; `in_blocks`: how many have another block; `shared`: for each of those who have
    any, the days on which there are two.
    """
    found = []
    if in_blocks:
        between = f"{day_words(dated[0].date)} and {day_words(dated[-1].date)}"
        found.append(f"{_some(in_blocks, athletes)} another block with sessions between {between}: it goes on.")
    if shared:
        count = len({one for days in shared for one in days})
        where = (
            f"on {plural(count, 'day')} of this block" if athletes == 1 else f"on days of this block, {_in_all(count)}"
        )
        found.append(f"{_some(len(shared), athletes)} another session {where}: there are two sessions then.")
    return found


def _some(count: int, of: int) -> str:
    if of == 1:
        return "The athlete has"
    return f"{count} of {of} athletes {'has' if count == 1 else 'have'}"


def _in_all(count: int) -> str:
    return f"{plural(count, 'day')} in all"


def in_the_past(dated: Sequence[DatedSession], today: date) -> list[str]:
    """That sessions lie before today, which nobody may have meant; `dated`: in the order of their days."""
    past = sum(one.date < today for one in dated)
    if not past:
        return []
    of = "it lies" if len(dated) == 1 else f"{past} of {len(dated)} sessions {'lies' if past == 1 else 'lie'}"
    return [f"The first session is on {_day(dated[0].date)}, before today: {of} in the past."]
