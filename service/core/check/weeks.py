"""What is found between sessions and weeks: hard days without a day between, jumps, long sessions."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from service.core.check.analysis import Read, WeekChange
from service.core.check.finding import OURS, PRACTICE, Finding, Level, session_at
from service.core.check.jumps import heavier, part
from service.core.check.total import Total
from service.core.plan.families import first_of_line, ratio_to
from service.core.slots import Ladder, MaxTest
from service.core.words import listing, number, plural

MOST_MINUTES = 120
"""Longer sessions are noted. Ours. [min]"""
MOST_JUMP, GREAT_JUMP = 10, 30
"""How much more a week may ask for before it is noted (common practice, no source), and doubted (ours). [%]"""
FEWEST_SETS = 2
"""Less hard sets more are no jump, however few the week before had. Ours. [sets]"""
FEW_REPS, FEW_LIGHT_REPS = 1, 4
"""So many repetitions more are no jump where they are no heavier, and so many below 70 % if they are not double. Ours.
[reps]"""
JUMP = f"{PRACTICE}; what is too little to be one, and the border between note and doubt, {GREAT_JUMP} %: ours"
HEAVIER = 1.02
"""From here a week is told to be heavier on average. Ours. [1]"""
FAMILY = f"{PRACTICE}; ratios as the gym has them"
ROOM = 3
"""So many sessions a week leave a day between each and the next. [sessions]"""


def spacing(found: Read) -> Iterator[Finding]:
    """Two sessions after one another, over the end of a week too, that are heavy in the same lift or family of lifts.

    Of technique lifts it is a note, and of their families nothing: weightlifters do them on most days. Sessions that
    are alone in their weeks are seven days apart.
    """
    before: tuple[tuple[str, ...], str] | None = None
    alone = False
    for week, (plan, heavy) in enumerate(zip(found.weeks, found.heavy, strict=True)):
        if alone and len(heavy) == 1:
            before = None
        alone = len(heavy) == 1
        for session, lifts in enumerate(heavy):
            name = plan.sessions[session].name
            if before is not None:
                names, pointer = (before[1], name), session_at(week, session)
                both = tuple(one for one in lifts if one in before[0])
                if both:
                    yield _close(found, both, names, pointer, len(heavy))
                for one, other in _of_families(found, before[0], lifts, both):
                    yield _close_kin(found, (one, other), names, pointer, len(heavy))
            before = lifts, name


def _close(found: Read, both: tuple[str, ...], names: tuple[str, str], pointer: str, a_week: int) -> Finding:
    what = listing(tuple(_name(found, one) for one in both))
    text = f"“{names[1]}” comes right after “{names[0]}”, and both are heavy in the {what}."
    technique = all(one in found.lifts and found.lifts[one].technique for one in both)
    level: Level = "note" if a_week <= ROOM or technique else "doubt"
    return Finding(level, "heavy_without_a_day", text + _advice(a_week), PRACTICE, pointer, both[0])


def _of_families(
    found: Read, before: Sequence[str], now: Sequence[str], both: Sequence[str]
) -> Iterator[tuple[str, str]]:
    """Lifts of one family, no technique lifts, that are heavy one after the other: of each family the first two."""
    told = {first_of_line(one, found.lifts) for one in both}
    for other in now:
        family = first_of_line(other, found.lifts)
        if family in told or other not in found.lifts or found.lifts[other].technique:
            continue
        one = next((one for one in before if first_of_line(one, found.lifts) == family), None)
        if one is not None:
            told.add(family)
            yield one, other


def _close_kin(found: Read, pair: tuple[str, str], names: tuple[str, str], pointer: str, a_week: int) -> Finding:
    one, other = (_name(found, lift) for lift in pair)
    ratio = ratio_to(pair[1], pair[0], found.lifts)
    tied = "" if ratio is None else f" (the max of the {other} is {number(100 * ratio, 0)} % of that of the {one})"
    text = (
        f"“{names[1]}” comes right after “{names[0]}”: that is heavy in the {one}, this in the {other}, and they are "
        f"of one family{tied}."
    )
    return Finding("note", "heavy_without_a_day", text + _advice(a_week), FAMILY, pointer, pair[1])


def _advice(a_week: int) -> str:
    if a_week <= ROOM:
        return f" With {plural(a_week, 'session')} a week there is room for a day between: lay them out so."
    return " Reorder them, or wish days between them when the block is laid out."


def _name(found: Read, lift: str) -> str:
    return found.lifts[lift].name.lower() if lift in found.lifts else lift


def jumps(found: Read, changes: Sequence[Mapping[str, WeekChange]]) -> Iterator[Finding]:
    """Weeks that ask for much more of a lift than the last week that was not lighter."""
    main = {one.seen.slot.lift for week in found.slots for part in week for one in part if not one.seen.slot.accessory}
    for week, of_week in enumerate(changes):
        for lift, change in of_week.items():
            if lift not in main or lift not in found.lifts:
                continue
            now, then = found.totals[week][lift], found.totals[change.than_week - 1][lift]
            told = [] if now.tested or then.tested else _told(now, then, change)
            if not told:
                continue
            most = max(percent for percent, _ in told)
            text = (
                f"Week {week + 1} asks for more of the {found.lifts[lift].name.lower()} than week {change.than_week}: "
                f"{listing(tuple(words for _, words in told))}. Usual are steps of at most {MOST_JUMP} % a week."
            )
            level: Level = "doubt" if most > GREAT_JUMP and not _is_one_set_more(now, then) else "note"
            yield Finding(level, "jump", text, JUMP, f"#/weeks/{week}", lift)


def not_lighter(found: Read, changes: Sequence[Mapping[str, WeekChange]]) -> Iterator[Finding]:
    """Weeks that are marked lighter and ask for no less than the last one that was not."""
    for week, (plan, of_week) in enumerate(zip(found.weeks, changes, strict=True)):
        if not plan.lighter:
            continue
        for lift, change in of_week.items():
            if change.volume_percent is not None and change.volume_percent >= 0 and lift in found.lifts:
                if not _trained_main(found, week, lift):
                    continue
                text = (
                    f"Week {week + 1} is marked lighter, but asks for no less of the {found.lifts[lift].name.lower()} "
                    f"than week {change.than_week}."
                )
                yield Finding("doubt", "lighter_week_is_not", text, OURS, f"#/weeks/{week}/lighter", lift)


def _trained_main(found: Read, week: int, lift: str) -> bool:
    """Whether a week has the lift as main work; a ladder or a test is what it is, in a lighter week too."""
    slots = (one.seen.slot for part in found.slots[week] for one in part)
    return any(one.lift == lift and not one.accessory and not isinstance(one.scheme, Ladder | MaxTest) for one in slots)


def _told(now: Total, then: Total, change: WeekChange) -> list[tuple[float, str]]:
    """What has jumped, with its words. [%]

    Hard sets against those that were hard or nearly: one that climbs over the border by little is none more.
    """
    told: list[tuple[float, str]] = []
    volume, hard = change.volume_percent, part(now.hard, then.nearly_hard) if then.hard else None
    if volume is not None and volume > MOST_JUMP and not _is_little(now, then):
        told.append((float(volume), f"{number(volume, 0)} % more repetitions by intensity{_by_how_heavy(now, then)}"))
    if hard is not None and hard > MOST_JUMP and now.hard - then.nearly_hard >= FEWEST_SETS:
        told.append((float(hard), f"{now.hard} hard sets instead of {then.hard}"))
    return told


def _is_little(now: Total, then: Total) -> bool:
    """Whether what is more is but a repetition, or a few light ones: no jump, however much of a small week it is.

    Where the average intensity alone has jumped, or repetitions were made heavier, it never is.
    """
    more = now.reps - then.reps
    if more <= 0 or 100 * (heavier(now, then) - 1) > MOST_JUMP:
        return False
    light = now.zones.get("below_70", 0.0) - then.zones.get("below_70", 0.0)
    if max(more, more - light) <= FEW_REPS:
        return True
    return more - light <= FEW_REPS and more <= FEW_LIGHT_REPS and now.reps < 2 * then.reps


def _is_one_set_more(now: Total, then: Total) -> bool:
    """Whether a week has one set more than a usual one, no longer and no heavier than those were, and is not double."""
    if now.sets != then.sets + 1 or not 0 < now.reps < 2 * then.reps:
        return False
    return now.reps / now.sets <= then.reps / then.sets + 1e-9 and 100 * (heavier(now, then) - 1) <= MOST_JUMP


def _by_how_heavy(now: Total, then: Total) -> str:
    """What follows a growth of volume where the sets are heavier on average: how heavy they are and were."""
    if heavier(now, then) <= HEAVIER:
        return ""
    return f" ({_average(now)} % on average instead of {_average(then)})"


def _average(total: Total) -> str:
    return number(100 * total.volume / total.known_reps)


def lengths(found: Read) -> Iterator[Finding]:
    """Sessions that take long."""
    for week, of_week in enumerate(found.minutes):
        for session, minutes in enumerate(of_week):
            if minutes > MOST_MINUTES:
                name = found.weeks[week].sessions[session].name
                text = f"“{name}” takes about {number(minutes, 0)} minutes."
                yield Finding("note", "long_session", text, OURS, session_at(week, session))
