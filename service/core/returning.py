"""Coming back after an absence: lighter and less at first, then evenly back. Prudence, not learned from anything.

An absence was announced, or is read from the days of training. `records.ReturnRule` holds the numbers; they are ours,
without a source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import pairwise

from service.core.records import Absence, AbsenceKind, ReturnRule

OLDEST_DAY_MAX = 14
"""The max of a day serves for at most so many days, its own included. [days]"""
USUAL_DAYS = 7
"""A gap in training that is longer than the absence in it by no more than this is that absence: somebody who said three
weeks was away for three weeks, also where the last session was some days before. Ours. [days]"""
_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class During:
    """An absence that a day lies in."""

    kind: AbsenceKind
    since: date
    until: date | None
    """The last day; None: not known."""


@dataclass(frozen=True, slots=True)
class Eased:
    """What a day's session is multiplied by."""

    load: float
    """Loads, on every basis. [1]"""
    sets: float
    """Number of sets, before rounding. [1]"""
    absent_days: int
    """The absence that it is for; 0: none. [days]"""
    until: date | None
    """First day on which nothing is eased any more; None where nothing is, or where the way back has not begun."""
    kind: AbsenceKind | None = None
    """What was announced; None: it was read from the days of training."""
    days_left: int = 0
    """From the day to `until`. [days]"""
    waits: bool = False
    """After an injury: the way back begins only when the coach agrees."""
    inside: During | None = None
    """The absence that the day lies in: whoever trains all the same is told so, and not stopped."""
    since: date | None = field(default=None, compare=False)
    """The absence's first day; not compared, as nothing is multiplied by it."""


NOTHING_EASED = Eased(1.0, 1.0, 0, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """A time without training, as it looks on one day."""

    days: int
    """Its length. [days]"""
    back: date
    """Where the way back begins."""
    rule: ReturnRule
    since: date
    """Its first day."""
    kind: AbsenceKind | None = None
    waits: bool = False
    """For the coach's word after an injury."""
    voids: bool = False
    """No max of a day from before it counts, however short it was."""


def eased(rule: ReturnRule, absent_days: int, back: date, on: date) -> Eased:
    """What a session is multiplied by on the way back from one absence.

    Parameters
    ----------
    rule : ReturnRule
        The coach's, or as it stands.
    absent_days : int
        Length of the absence. [days]
    back : date
        Date of the first session after it: there the loads are lightest.
    on : date
        Date of the session in question, not before `back`.

    Returns
    -------
    Eased
        `NOTHING_EASED` after a shorter absence than the rule's, or when the way back is over.

    Examples
    --------
    >>> day = eased(ReturnRule(), 28, date(2026, 3, 1), date(2026, 3, 1))
    >>> round(day.load, 3), round(day.sets, 3), day.until  # three weeks after the first: 4.5 % off
    (0.955, 0.67, datetime.date(2026, 3, 15))
    """
    if rule.off or absent_days < rule.from_days:
        return NOTHING_EASED
    length = min(max(float(rule.back_percent) / 100 * absent_days, rule.fewest_days), rule.most_days)
    gone = (on - back).days
    if gone >= length:
        return NOTHING_EASED
    left = 1 - gone / length
    until = back + timedelta(days=int(-(-length // 1)))
    return Eased(
        1 - _off(rule, absent_days) * left, 1 - _fewer(rule) * left, absent_days, until, days_left=(until - on).days
    )


def _off(rule: ReturnRule, absent_days: int) -> float:
    """Part off the loads at first. [days] -> [1]"""
    by_weeks = float(rule.less_percent_a_week) / 100 * max(absent_days / 7 - 1, 0.0)
    return min(by_weeks, float(rule.most_percent) / 100)


def _fewer(rule: ReturnRule) -> float:
    """Part of the sets that is left out at first. [1]"""
    return float(rule.fewer_sets_percent) / 100


def gaps(
    rule: ReturnRule | None,
    trained: Iterable[date],
    on: date,
    *,
    absences: Iterable[Absence] = (),
    today: date | None = None,
) -> list[Gap]:
    """All absences before a day, announced or not, as they look on it.

    Parameters
    ----------
    rule : ReturnRule or None
        The settings'; None: the coach has switched it off.
    trained : iterable of date
        Days with training of any lift, in any order; those from `on` on are left out. All since the first of them
        have to be there.
    on : date
        Date of the session in question.
    absences : iterable of Absence
        Those announced, in any order. One that lasts while somebody trains counts as ended the day before.
    today : date or None
        The athlete's day, where `on` may lie ahead: what happens between is not known, so that nobody counts as away
        then who has not said so. None: as `on`.

    Returns
    -------
    list of Gap
        In no order. An absence of less than a day is none.
    """
    usual = ReturnRule(off=True) if rule is None else rule
    days = sorted({day for day in trained if day < on})
    known_to = on if today is None else min(on, today)
    entered = tuple(absences)
    announced = [gap for one in entered for gap in _announced(one, one.rule or usual, days, on, known_to)]
    known_to = _earliest(entered, days, known_to, on)
    ends = [*days, known_to] if days and known_to > days[-1] else days
    read = [
        Gap(days=(back - before).days, back=back, rule=usual, since=before + _DAY) for before, back in pairwise(ends)
    ]
    return [*(_held(gap, announced) for gap in read if not _said(gap, announced)), *announced]


def _earliest(absences: Sequence[Absence], days: Sequence[date], known_to: date, on: date) -> date:
    """The first day from `known_to` on that lies in no absence, `on` at the latest: nobody is back before."""
    for one in sorted(absences, key=lambda one: one.since):
        if lasts_on(one, days, known_to):
            known_to = on if one.until is None else min(on, one.until + _DAY)
    return known_to


def lasts_on(one: Absence, trained: Iterable[date], on: date) -> bool:
    """Whether a day lies in an absence. Without a last day it ends with the first training after its first day.

    An injury ends where the coach agrees to the way back. `trained`: days with training; those from `on` on do not
    count.
    """
    if one.agreed_on is not None and one.agreed_on <= on:
        return False
    if one.until is not None:
        return one.since <= on <= one.until
    return one.since <= on and not any(one.since < day < on for day in trained)


def during(absences: Iterable[Absence], trained: Iterable[date], on: date) -> During | None:
    """The absence that a day lies in, as `lasts_on` has it; None: in none."""
    days = tuple(trained)
    one = next((one for one in absences if lasts_on(one, days, on)), None)
    return None if one is None else During(kind=one.kind, since=one.since, until=one.until)


def _said(read: Gap, announced: Iterable[Gap]) -> bool:
    """Whether a gap in training is what was announced: no more than the usual days between sessions around it."""
    return any(one.days >= one.rule.from_days and read.days - one.days <= USUAL_DAYS for one in _in(read, announced))


def _in(read: Gap, announced: Iterable[Gap]) -> Iterator[Gap]:
    """The announced absences that lie in a gap in training, as a whole."""
    return (one for one in announced if read.since <= one.since and one.since + one.days * _DAY <= read.back)


def _held(read: Gap, announced: Iterable[Gap]) -> Gap:
    """A gap in training; with an injury in it that waits for the coach's word it waits too."""
    return replace(read, waits=True, voids=True) if any(one.waits for one in _in(read, announced)) else read


def _announced(one: Absence, rule: ReturnRule, days: Sequence[date], on: date, known_to: date) -> Iterator[Gap]:
    if one.since > on:
        return
    last = one.until if one.until is not None and one.until < on else on - _DAY
    if one.kind == "injury":
        if one.agreed_on is None or one.agreed_on > on:
            first = next((day for day in days if day > one.since), on)
            if one.until is None:
                last = min(last, first - _DAY)
            length = max((last - one.since).days + 1, 0)
            yield Gap(days=length, back=first, rule=rule, since=one.since, kind=one.kind, waits=True, voids=True)
            return
        agreed = one.agreed_on
        days = [day for day in days if day >= agreed]
        known_to = max(known_to, agreed)
        if one.until is None:
            last = min(last, max(agreed - _DAY, one.since))
    start, voids = one.since, one.kind == "injury"
    for day in (*(day for day in days if day > one.since), min(on, max(last + _DAY, known_to))):
        length = (min(day - _DAY, last) - start).days + 1
        if length > 0:
            yield Gap(days=length, back=day, rule=rule, since=start, kind=one.kind, voids=voids)
        if day > last:
            return
        start, voids = day + _DAY, False


def strongest(found: Iterable[Gap], on: date) -> Eased:
    """What a day is multiplied by: that of the absence which eases the loads most.

    While the coach has not agreed to the way back from an injury, whatever its length, it stays as on the first day,
    and no more sets are done than then, whatever else eases the loads.
    """
    most, waits, sets = NOTHING_EASED, False, 1.0
    for gap in found:
        if gap.waits:
            waits = True
            day = _waiting(gap)
            sets = min(sets, day.sets)
        else:
            day = eased(gap.rule, gap.days, gap.back, on)
            if day is not NOTHING_EASED:
                day = replace(day, kind=gap.kind, since=gap.since)
        if day.load < most.load or (day.load == most.load and day.sets < most.sets) or most is NOTHING_EASED:
            most = day
    return replace(most, sets=min(most.sets, sets), waits=True, until=None, days_left=0) if waits else most


def _waiting(gap: Gap) -> Eased:
    if gap.rule.off:
        return Eased(1.0, 1.0, gap.days, None, gap.kind, since=gap.since)
    return Eased(1 - _off(gap.rule, gap.days), 1 - _fewer(gap.rule), gap.days, None, gap.kind, since=gap.since)


def eased_on(
    rule: ReturnRule | None,
    trained: Iterable[date],
    on: date,
    *,
    absences: Iterable[Absence] = (),
    today: date | None = None,
) -> Eased:
    """What a session is multiplied by; arguments as for `gaps`.

    Examples
    --------
    >>> eased_on(ReturnRule(), [date(2026, 1, 1), date(2026, 1, 3)], date(2026, 1, 10)) is NOTHING_EASED
    True
    """
    return strongest(gaps(rule, trained, on, absences=absences, today=today), on)


def void_before(found: Iterable[Gap], on: date) -> date | None:
    """The day before which no max of a day counts: the return from the newest absence that the rule acts after.

    From before an injury none counts, however short it was. None: all count that are new enough.
    """
    acting = [gap.back for gap in found if gap.voids or (not gap.rule.off and gap.days >= gap.rule.from_days)]
    newest = max(acting, default=None)
    return None if newest is None or (on - newest).days >= OLDEST_DAY_MAX else newest


def work_sets_left(count: int, factor: float) -> int:
    """How many of a slot's work sets are done: the nearest whole number, at least one. [sets], [1]

    Examples
    --------
    >>> work_sets_left(4, 0.67), work_sets_left(1, 0.5), work_sets_left(5, 1.0)
    (3, 1, 5)
    """
    return max(1, min(count, int(count * factor + 0.5)))


def of_absence(rule: ReturnRule, one: Absence, trained: Iterable[date], today: date) -> Gap | None:
    """One announced absence as it looks on the day of the return: that day if somebody is back, else the expected one.

    Without a last day: today, or the first day that there could be a return. None: it has lasted no day.
    """
    on = today if one.until is None or one.until < today else one.until + _DAY
    on = max(on, one.since + _DAY)
    found = list(_announced(one, one.rule or rule, sorted({day for day in trained if day < on}), on, min(on, today)))
    return max(found, key=lambda gap: gap.days, default=None)
