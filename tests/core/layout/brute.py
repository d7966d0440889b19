"""Every way to put a few sessions on days, by the words of the rules and nothing of the service's own search."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import combinations, permutations, product

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


def training_days(layout, weeks):
    """The days that may be used from the start on."""
    wishes = layout.wishes
    days = (layout.start + timedelta(days=n) for n in range(7 * weeks))
    return [
        day
        for day in days
        if WEEKDAYS[day.weekday()] in layout.weekdays
        and WEEKDAYS[day.weekday()] not in wishes.never_on
        and not any(one.since <= day <= one.until for one in wishes.holidays)
    ]


def kinds(session, wish):
    """The kinds of a wish that a session is of."""
    return {
        kind for kind in wish.kinds if (kind == session.name if wish.by == "sessions" else kind in session.heavy_in)
    }


def pairs(way, wish):
    """Pairs of sessions of two kinds (of the only one) with fewer free days between them than the wish says."""
    found = 0
    for (one, on), (other, then) in combinations(way, 2):
        matched = {(a, b) for a in kinds(one, wish) for b in kinds(other, wish) if a != b or len(set(wish.kinds)) == 1}
        found += bool(matched) and abs((then - on).days) - 1 < wish.days
    return found


def heavy_before(way, wish):
    """Heavy sessions in the days before a date, and those on it that it is not about."""
    count = 0
    for session, on in way:
        if session.heavy and on < wish.date <= on + timedelta(days=wish.days):
            count += 1
        if session.heavy and on == wish.date and not session.occasion:
            count += 1
    return count


def allowed(way, layout):
    """Whether all that must be is kept."""
    wishes = layout.wishes
    for session, on in way:
        if on < layout.start + timedelta(weeks=session.week - 1):
            return False
    if any(wish.must and pairs(way, wish) for wish in wishes.apart):
        return False
    if any(wish.must and heavy_before(way, wish) for wish in wishes.light_before):
        return False
    mondays = [on - timedelta(days=on.weekday()) for _, on in way]
    return wishes.most_a_week is None or all(mondays.count(one) <= wishes.most_a_week for one in mondays)


def unmet(way, layout):
    """How many wishes are not met."""
    wishes = layout.wishes
    return sum(pairs(way, wish) for wish in wishes.apart if not wish.must) + sum(
        heavy_before(way, wish) for wish in wishes.light_before if not wish.must
    )


def over(way, layout):
    """Days that each week runs over its own seven."""
    weeks: dict[int, date] = {}
    for session, on in way:
        weeks[session.week] = max(on, weeks.get(session.week, on))
    return {week: max(0, (on - layout.start).days - 7 * week + 1) for week, on in weeks.items()}


def orders(sessions, *, reorder):
    """The orders in which sessions may stand."""
    if not reorder:
        return [list(sessions)]
    by_week: dict[int, list] = {}
    for session in sessions:
        by_week.setdefault(session.week, []).append(session)
    return [
        [one for week in chosen for one in week]
        for chosen in product(*(list(permutations(week)) for week in by_week.values()))
    ]


def ways(sessions, layout, weeks, *, reorder):
    """Every way that is allowed."""
    for order in orders(sessions, reorder=reorder):
        for days in combinations(training_days(layout, weeks), len(order)):
            way = list(zip(order, days, strict=True))
            if allowed(way, layout):
                yield way


def fewest_unmet(sessions, layout, weeks, *, reorder=False):
    """The fewest wishes unmet in the ways in which no week runs on longer than it must in the template's order."""
    plain = [over(way, layout) for way in ways(sessions, layout, weeks, reorder=False)]
    least = {week: min(one[week] for one in plain) for week in plain[0]}
    fitting = [
        (sum(over(way, layout).values()), unmet(way, layout))
        for way in ways(sessions, layout, weeks, reorder=reorder)
        if all(over(way, layout)[week] <= most for week, most in least.items())
    ]
    return min(fitting)
