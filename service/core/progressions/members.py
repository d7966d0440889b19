"""A slot's numbers moved, its sets scaled, the whole of it made lighter.

`moved`, `scaled_sets`, `shifted_effort`, `shifted_percent` and `lightened` refuse (OutOfLimits) what a written slot
may not hold; `scaled`, `eased` and `lighter` do not look, for steps on the way to numbers that `checked` looks at in
the end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import exp

from service.core.model.shape import g as log_share
from service.core.progressions.numbers import (
    Member,
    NoSuchMember,
    OutOfLimits,
    checked,
    nearest,
    thousandths,
    value_of,
    with_value,
)
from service.core.slots import (
    BackOff,
    Cluster,
    DistanceTarget,
    EffortTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    Scheme,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.units import Number, Unit, load, tidy

__all__ = [
    "Member",
    "NoSuchMember",
    "OutOfLimits",
    "eased",
    "growth_off",
    "held_back",
    "held_weeks",
    "lightened",
    "lighter",
    "moved",
    "scaled",
    "scaled_sets",
    "shifted_effort",
    "shifted_percent",
    "with_lighter_load",
]

STEP_OF_ENTRY: dict[Unit, Number] = {"kg": 0.5, "lb": 1, "step": 1}
"""To what a fixed load is rounded that is made lighter. Ours. [the load's unit]"""


def scaled(slot: Slot, percent: Number) -> Slot:
    """The slot with so much of its sets, as `scaled_sets`, without a look at the limits."""
    return eased(slot, sets_percent=percent)


def eased(
    slot: Slot,
    *,
    sets_percent: Number | None = None,
    percent_points: Number | None = None,
    rpe_points: Number | None = None,
) -> Slot:
    """The slot as `lightened` gives it but with its fixed load, and without a look at the limits."""
    if isinstance(slot.scheme, Ladder | MaxTest):
        return slot
    target = _eased_target(slot.target, percent_points or 0, rpe_points or 0)
    scheme = _eased_scheme(slot.scheme, 100 if sets_percent is None else sets_percent, rpe_points or 0)
    if (target, scheme) == (slot.target, slot.scheme):
        return slot
    return replace(slot, target=target, scheme=scheme)


def lighter(
    slot: Slot,
    *,
    sets_percent: Number | None = None,
    percent_points: Number | None = None,
    rpe_points: Number | None = None,
) -> Slot:
    """The slot as `lightened` gives it, without a look at the limits."""
    made = eased(slot, sets_percent=sets_percent, percent_points=percent_points, rpe_points=rpe_points)
    if (sets_percent, percent_points, rpe_points) != (None, None, None):
        made = held_back(made, growth_off(slot, percent_points or 0, rpe_points or 0))
    return with_lighter_load(made, percent_points) if percent_points else made


MOST_OFF = 90
"""No more than this comes off a load that grows. [%]"""


def held_back(slot: Slot, percent: Number = 0) -> Slot:
    """The slot with a load that grows by rule as a lighter week has it: so much less than the last one. [%]

    Nothing is added there, and nothing is learned from it. Slots without such a rule stay; what takes off more stays.
    """
    scheme = slot.scheme
    if not isinstance(scheme, SetsAtTarget) or scheme.add_load is None:
        return slot
    before = scheme.add_load.lighter_percent
    if before is not None and before >= percent:
        return slot
    return replace(slot, scheme=replace(scheme, add_load=replace(scheme.add_load, lighter_percent=tidy(percent))))


def held_weeks(weeks: Sequence[WeekPlan]) -> tuple[WeekPlan, ...]:
    """Weeks as they are done: in those that are marked lighter, no load grows, however they were written."""
    return tuple(_held_week(week) if week.lighter else week for week in weeks)


def _held_week(week: WeekPlan) -> WeekPlan:
    sessions = tuple(replace(one, slots=tuple(held_back(slot) for slot in one.slots)) for one in week.sessions)
    return week if sessions == week.sessions else replace(week, sessions=sessions)


def growth_off(slot: Slot, percent_points: Number, rpe_points: Number) -> Number:
    """What a lighter week takes off a load that grows: so many percent, or what an easier effort is worth. [%]

    An effort is as many repetitions easier as points lower: as much less by the usual curve, in halves.

    >>> from service.core.slots import AddLoad
    >>> grows = SetsAtTarget(sets=3, add_load=AddLoad(when="all_sets_complete", step=load(2.5, "kg")))
    >>> slot = Slot(lift="squat", scheme=grows, target=EffortTarget(reps=5, rpe=7))
    >>> growth_off(slot, -10, -1), growth_off(slot, 0, -1), growth_off(slot, 0, 0)  # 8 and 9 to failure: 2.45 %
    (10, 2.5, 0)
    """
    off, target = -float(percent_points), slot.target
    if isinstance(target, EffortTarget) and rpe_points:
        possible = max((target.reps_to or target.reps) + 10 - target.asked_rpe, 1.0)
        off = max(off, 100 * (1 - exp(log_share(possible) - log_share(possible - float(rpe_points)))))
    return tidy(min(round(2 * off) / 2, MOST_OFF))


def with_lighter_load(slot: Slot, points: Number) -> Slot:
    """The slot with its fixed load lower by so many percent of itself; one that grows by rule stays (`held_back`). [%]

    What is lifted is to be so much lighter, so assistance rises by as much. Rounded to the steps in which loads are
    written, halves of a kilogram or whole pounds and steps of a machine; a step at least is left, and none is heavier
    than it was.

    >>> from service.core.slots import LoadTarget
    >>> slot = Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=LoadTarget(reps=5, load=load(62.5, "kg")))
    >>> with_lighter_load(slot, -10).target.load.value  # 56.25
    56.5
    """
    if isinstance(slot.scheme, SetsAtTarget) and slot.scheme.add_load is not None:
        return slot
    target = _lighter_target(slot.target, points)
    return slot if target == slot.target else replace(slot, target=target)


@lru_cache(maxsize=1024)  # blocks ask for few different ones, and the same one is compared at once
def _lighter_target(target: Target, points: Number) -> Target:
    if not isinstance(target, LoadTarget | TimeTarget | DistanceTarget) or target.load is None:
        return target
    written, step = thousandths(target.load.value), thousandths(STEP_OF_ENTRY[target.load.unit])
    share = 100_000 + (thousandths(points) if written > 0 else -thousandths(points))
    left = (2 * written * share + step * 100_000) // (2 * step * 100_000) * step
    value = min(written, max(left, step) if written > 0 else left)
    return target if value == written else replace(target, load=load(tidy(value / 1000), target.load.unit))


def moved(slot: Slot, member: Member, by: Number) -> Slot:
    """The slot with a number moved by so much, rounded to what the member may have (halves go up).

    Parameters
    ----------
    slot : Slot
        As written.
    member : Member
        Which number; `percent` moves both ends of a band, `reps` both ends of a range.
    by : number
        In the member's own unit; of `load` in the unit in which the load is written.

    Raises
    ------
    NoSuchMember
        If the slot has no such number.
    OutOfLimits
        If it, or its upper end, would leave what a written slot may hold.

    Examples
    --------
    >>> slot = Slot(lift="squat", scheme=SetsAtTarget(sets=4), target=EffortTarget(reps=6, reps_to=8, rpe=8))
    >>> moved(slot, "reps", -2).target
    EffortTarget(kind='effort', reps=4, reps_to=6, rpe=8, rir=None)
    """
    before = value_of(slot, member)
    if before is None:
        raise NoSuchMember(member)
    return checked(with_value(slot, member, nearest(member, thousandths(before) + thousandths(by))))


def scaled_sets(slot: Slot, percent: Number) -> Slot:
    """The slot with so much of its sets, rounded half up, at least one where there were any.

    Counted are sets at target, clusters, sets before an open last set, back-off sets (until an effort: the most and
    the fewest of them) and same-load sets. The top set, the open set, ascending sets, tests and ladders stay as they
    are. [%]

    Raises
    ------
    OutOfLimits
        If there would be more than 20 of a kind.

    Examples
    --------
    >>> slot = Slot(lift="squat", scheme=SetsAtTarget(sets=5), target=EffortTarget(reps=5, rpe=8))
    >>> scaled_sets(slot, 60).scheme.sets, scaled_sets(slot, 10).scheme.sets
    (3, 1)
    """
    return checked(scaled(slot, percent))


def shifted_effort(slot: Slot, rpe_points: Number) -> Slot:
    """The slot with every effort it states moved by so much, in halves; repetitions left move the other way. [RPE]

    Stated efforts are the target's, where back-off sets or an open set stop, and those of stated build-up sets. A slot
    without any, a test and a ladder stay as they are.

    Raises
    ------
    OutOfLimits
        If one would leave RPE 1 to 10, or 0 to 9 repetitions left.
    """
    return checked(eased(slot, rpe_points=rpe_points))


def shifted_percent(slot: Slot, percent_points: Number) -> Slot:
    """The slot with its percentage of a max, or both ends of the band, moved by so many points; others stay. [%]

    Raises
    ------
    OutOfLimits
        If one would leave 10 to 130 %.
    """
    return checked(eased(slot, percent_points=percent_points))


def lightened(
    slot: Slot,
    *,
    sets_percent: Number | None = None,
    percent_points: Number | None = None,
    rpe_points: Number | None = None,
) -> Slot:
    """The slot as a lighter week has it: so much of its sets, its percentage and its efforts lower by so many points.

    As `scaled_sets`, `shifted_percent` and `shifted_effort` in one; what is None stays. A fixed load goes down by as
    many percent of itself as a percentage does by points; a load that grows is held, and lower by as much
    (`growth_off`); tests and ladders stay as a whole.

    Raises
    ------
    OutOfLimits
        As those.
    """
    return checked(lighter(slot, sets_percent=sets_percent, percent_points=percent_points, rpe_points=rpe_points))


def _part(count: int, percent: Number) -> int:
    """So much of a count, at least 1 where there were any."""
    part = int(nearest("sets", count * thousandths(percent), 100))
    return max(part, min(count, 1))


@lru_cache(maxsize=4096)  # blocks ask for few different ones, and the same one is compared at once
def _eased_target(target: Target, percent_points: Number, rpe_points: Number) -> Target:
    if isinstance(target, PercentTarget) and percent_points:
        by = thousandths(percent_points)
        upper = None if target.percent_to is None else tidy((thousandths(target.percent_to) + by) / 1000)
        return replace(target, percent=tidy((thousandths(target.percent) + by) / 1000), percent_to=upper)
    if isinstance(target, EffortTarget) and rpe_points:
        if target.rpe is not None:
            return replace(target, rpe=_harder(target.rpe, rpe_points))
        return replace(target, rir=tidy(10 - _harder(10 - (target.rir or 0), rpe_points)))
    return target


@lru_cache(maxsize=1024)  # as above
def _eased_scheme(scheme: Scheme, sets_percent: Number, rpe_points: Number) -> Scheme:
    """The scheme with so much of its sets; where it stops by an effort, by another one."""
    if isinstance(scheme, SetsAtTarget | Cluster):
        sets = _part(scheme.sets, sets_percent)
        return scheme if sets == scheme.sets else replace(scheme, sets=sets)
    if isinstance(scheme, OpenLastSet):
        stop = None if scheme.stop_rpe is None else _harder(scheme.stop_rpe, rpe_points)
        before = _part(scheme.sets_before, sets_percent)
        unchanged = (before, stop) == (scheme.sets_before, scheme.stop_rpe)
        return scheme if unchanged else replace(scheme, sets_before=before, stop_rpe=stop)
    if not isinstance(scheme, TopSet):
        return scheme
    off, same, up = scheme.back_off, scheme.same_load, scheme.build_up
    if off is not None:
        off = _eased_back_off(off, sets_percent, rpe_points)
    if same is not None:
        same = replace(same, sets=_part(same.sets, sets_percent))
    if up is not None and up.rpes is not None:
        up = replace(up, rpes=tuple(_harder(one, rpe_points) for one in up.rpes))
    changed = TopSet(back_off=off, same_load=same, build_up=up)
    return scheme if changed == scheme else changed


def _eased_back_off(off: BackOff, sets_percent: Number, rpe_points: Number) -> BackOff:
    if off.until_rpe is None:
        return replace(off, sets=_part(off.most_sets, sets_percent))
    most = _part(off.most_sets, sets_percent)
    fewest = None if off.fewest is None else min(_part(off.fewest, sets_percent), most)
    stated = off.most if most == off.most_sets else most
    return replace(off, most=stated, fewest=fewest, until_rpe=_harder(off.until_rpe, rpe_points))


def _harder(rpe: Number, points: Number) -> Number:
    """An effort moved; in halves, since the scale has no finer ones."""
    return nearest("rpe", thousandths(rpe) + thousandths(points))
