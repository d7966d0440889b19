"""In which plain way numbers move through weeks, which slots that is about, and how a lighter week differs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from service.core.progressions.chosen import Spot, chosen
from service.core.progressions.expand import Mover, value_at
from service.core.progressions.members import lighter, with_lighter_load
from service.core.progressions.numbers import LIMITS, Member, load_unit, thousandths, value_of
from service.core.progressions.records import Count, EachWeek, FromTo, LighterWeeks, Where
from service.core.slots import (
    Cluster,
    EffortTarget,
    Ladder,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SetsAtTarget,
    Slot,
    TopSet,
    WeekPlan,
)
from service.core.units import Unit, load, tidy

MOST_LOAD = LIMITS["load"]
PLAIN_POINTS = (10_000, 5_000, 2_500, 1_000, 500)
"""Of percentages that give the same rounded loads the first one that is a multiple of these. [thousandths of %]"""


def fitted(member: Member, steps: Sequence[int], series: Sequence[int], unit: Unit | None) -> Mover | None:
    """How a number moves that is not the same in all weeks: evenly, or from the first to the last; None: otherwise.

    Parameters
    ----------
    member : Member
        Which number.
    steps : sequence of int
        How far the progressions have come in each of the weeks; rises from 0.
    series : sequence of int, as long as `steps`
        The number in each of them. [thousandths]
    unit : Unit or None
        Of a load.
    """
    rise, run = series[1] - series[0], steps[1] - steps[0]
    by = rise // run
    whole = rise % run == 0 and by % thousandths(LIMITS[member].step) == 0
    if whole and all(value == series[0] + by * step for step, value in zip(steps, series, strict=True)):
        amount = tidy(by / 1000)
        if unit is None:
            return EachWeek(change=member, by=amount)
        return EachWeek(change=member, by_load=load(amount, unit)) if MOST_LOAD.low <= amount else None
    end = tidy(series[-1] / 1000)
    mover = FromTo(change=member, to=end) if unit is None else FromTo(change=member, to_load=load(end, unit))
    first, count = tidy(series[0] / 1000), Count(tuple(steps), steps[-1])
    reached = (thousandths(value_at(mover, first, step, count)) for step in steps)
    return mover if all(value == shown for value, shown in zip(reached, series, strict=True)) else None


def where_is(week: WeekPlan, change: Member, spots: frozenset[Spot]) -> list[Where]:
    """The broadest words for these slots: all, a lift, sessions, a lift in sessions, single slots."""

    def meant(where: Where) -> frozenset[Spot]:
        return frozenset(
            chosen(
                week,
                EachWeek(
                    change=change,
                    by=1,
                    lift=where.lift,
                    sessions=where.sessions,
                    session_numbers=where.session_numbers,
                    slots=where.slots,
                ),
            )
        )

    sessions = week.sessions
    lifts = list(dict.fromkeys(sessions[s].slots[i].lift for s, i in sorted(spots)))
    names = tuple(dict.fromkeys(sessions[s].name for s, _ in sorted(spots)))
    for where in (Where(), *([Where(lift=lifts[0])] if len(lifts) == 1 else []), Where(sessions=names)):
        if meant(where) == spots:
            return [where]
    told: list[Where] = []
    left = set(spots)

    def tell(where: Where) -> None:
        these = meant(where)
        if these and these <= left:
            told.append(where)
            left.difference_update(these)

    for lift in lifts:
        tell(Where(lift=lift))
        here = tuple(dict.fromkeys(sessions[s].name for s, i in sorted(left) if sessions[s].slots[i].lift == lift))
        tell(Where(lift=lift, sessions=here))
    for s in sorted({s for s, _ in left}):
        slots = tuple(sorted(i + 1 for at, i in left if at == s))
        tell(Where(sessions=(sessions[s].name,), slots=slots))
        tell(Where(session_numbers=(s + 1,), slots=slots))
    return told


def lighter_weeks(pairs: Sequence[tuple[Slot, Slot]], *, name: str | None, pause: bool) -> LighterWeeks | None:
    """How a lighter week differs from what would stand there, slot by slot; None where it is not lighter in one way.

    The weeks that it is about are not named in the answer.
    """
    points = next((_percent_points(*pair) for pair in pairs if isinstance(pair[0].target, PercentTarget)), None)
    if points is None:
        points = _load_points(pairs) or _growth_points(pairs)
    rpe = next((found for pair in pairs if (found := _rpe_points(*pair)) is not None), 0)
    counts = {(_count(before), _count(after)) for before, after in pairs}
    part = None
    if any(before != after for before, after in counts):
        part = _sets_percent(counts)
        if part is None:
            return None
    if points > 0 or rpe > 0:
        return None
    for off in dict.fromkeys((points, 0)):  # what takes something off a load that grows may be the effort alone
        if (off, rpe, part) == (0, 0, None):
            continue
        way = LighterWeeks(
            sets_percent=part,
            percent_points=tidy(off / 1000) if off else None,
            rpe_points=tidy(rpe / 1000) if rpe else None,
            pause=pause,
            name=name,
        )
        if all(_made_by(way, *pair) for pair in pairs):
            return way
    return None


def _made_by(way: LighterWeeks, before: Slot, after: Slot) -> bool:
    points, rpe = way.percent_points, way.rpe_points
    return lighter(before, sets_percent=way.sets_percent, percent_points=points, rpe_points=rpe) == after


def _growth_points(pairs: Sequence[tuple[Slot, Slot]]) -> int:
    """By how many percent loads that grow are held lower; 0 where none is. [thousandths]"""
    off = (after.scheme.add_load.lighter_percent for _, after in pairs
           if isinstance(after.scheme, SetsAtTarget) and after.scheme.add_load is not None)  # fmt: skip
    return -thousandths(next((one for one in off if one), 0))


def _percent_points(before: Slot, after: Slot) -> int:
    if not isinstance(before.target, PercentTarget) or not isinstance(after.target, PercentTarget):
        return 0
    return thousandths(after.target.percent) - thousandths(before.target.percent)


def _load_points(pairs: Sequence[tuple[Slot, Slot]]) -> int:
    """By how many percent fixed loads went down, the plainest that fits them all; 0 where none does. [thousandths]"""
    loads = [(one, other) for one, other in pairs if None not in (load_unit(one), load_unit(other))]
    changed = next(((one, other) for one, other in loads if one.target != other.target), None)
    if changed is None:
        return 0
    first, then = (value_of(slot, "load") or 0 for slot in changed)
    if not first:
        return 0
    near = -abs(thousandths(then) - thousandths(first)) * 100_000 / abs(thousandths(first))
    for step in PLAIN_POINTS:
        fit = [
            points
            for points in ((round(near / step) + more) * step for more in (0, -1, 1))
            if -100_000 <= points < 0
            and all(with_lighter_load(one, points / 1000).target == other.target for one, other in loads)
        ]
        if fit:
            return min(fit, key=lambda points: abs(points - near))
    return 0


def _rpe_points(before: Slot, after: Slot) -> int | None:
    """How much harder the slot's first stated effort is; None where it states none. [thousandths of RPE]"""
    efforts = zip(_efforts(before), _efforts(after), strict=False)
    return next((new - old for old, new in efforts), None)


def _efforts(slot: Slot) -> Iterable[int]:
    target, scheme = slot.target, slot.scheme
    if isinstance(scheme, Ladder | MaxTest):
        return
    if isinstance(target, EffortTarget):
        yield thousandths(target.rpe) if target.rpe is not None else -thousandths(target.rir or 0)
    if isinstance(scheme, OpenLastSet) and scheme.stop_rpe is not None:
        yield thousandths(scheme.stop_rpe)
    if isinstance(scheme, TopSet):
        off, up = scheme.back_off, scheme.build_up
        if off is not None and off.until_rpe is not None:
            yield thousandths(off.until_rpe)
        if up is not None and up.rpes:
            yield thousandths(up.rpes[0])


def _count(slot: Slot) -> int:
    """The sets that a lighter week has fewer of; 0 where there are none. [sets]"""
    scheme = slot.scheme
    if isinstance(scheme, SetsAtTarget | Cluster):
        return scheme.sets
    if isinstance(scheme, OpenLastSet):
        return scheme.sets_before
    if isinstance(scheme, TopSet) and scheme.same_load is not None:
        return scheme.same_load.sets
    return scheme.back_off.most_sets if isinstance(scheme, TopSet) and scheme.back_off is not None else 0


def _sets_percent(counts: Iterable[tuple[int, int]]) -> int | None:
    """The plainest percentage that makes these counts of those: of tens the nearest, else of fives, else of all."""
    pairs = sorted(counts)
    for step in (10, 5, 1):
        fit = [
            percent
            for percent in range(100 - step, 0, -step)
            if all(after == max((before * percent + 50) // 100, min(before, 1)) for before, after in pairs)
        ]
        if fit:
            return min(fit, key=lambda percent: sum(abs(before * percent - 100 * after) for before, after in pairs))
    return None
