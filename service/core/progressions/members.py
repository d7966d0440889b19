"""A slot's numbers moved, its sets scaled, the whole of it made lighter.

`moved`, `scaled_sets`, `shifted_effort`, `shifted_percent` and `lightened` refuse (OutOfLimits) what a written slot
may not hold; `scaled` and `eased` do not look, for steps on the way to numbers that `checked` looks at in the end.
"""

from __future__ import annotations

from dataclasses import replace

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
    MOST_UNTIL,
    BackOff,
    Cluster,
    EffortTarget,
    Ladder,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SetsAtTarget,
    Slot,
    TopSet,
)
from service.core.units import Number, tidy

__all__ = [
    "Member",
    "NoSuchMember",
    "OutOfLimits",
    "eased",
    "lightened",
    "moved",
    "scaled",
    "scaled_sets",
    "shifted_effort",
    "shifted_percent",
]


def scaled(slot: Slot, percent: Number) -> Slot:
    """The slot with so much of its sets, as `scaled_sets`, without a look at the limits."""
    scheme = slot.scheme
    if isinstance(scheme, SetsAtTarget | Cluster):
        return with_value(slot, "sets", _part(scheme.sets, percent))
    if isinstance(scheme, OpenLastSet):
        return with_value(slot, "sets", _part(scheme.sets_before, percent))
    if not isinstance(scheme, TopSet):
        return slot
    if scheme.same_load is not None:
        return with_value(slot, "same_load_sets", _part(scheme.same_load.sets, percent))
    if scheme.back_off is None:
        return slot
    fewer = _scaled_back_off(scheme.back_off, percent)
    return slot if fewer == scheme.back_off else replace(slot, scheme=replace(scheme, back_off=fewer))


def eased(
    slot: Slot,
    *,
    sets_percent: Number | None = None,
    percent_points: Number | None = None,
    rpe_points: Number | None = None,
) -> Slot:
    """The slot as `lightened` gives it, without a look at the limits."""
    if isinstance(slot.scheme, Ladder | MaxTest):
        return slot
    if percent_points and isinstance(slot.target, PercentTarget):
        moved_to = thousandths(slot.target.percent) + thousandths(percent_points)
        slot = with_value(slot, "percent", tidy(moved_to / 1000))
    if rpe_points:
        slot = _harder(slot, rpe_points)
    return slot if sets_percent is None else scaled(slot, sets_percent)


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

    As `scaled_sets`, `shifted_percent` and `shifted_effort` in one; what is None stays. Fixed loads stay, and tests and
    ladders as a whole.

    Raises
    ------
    OutOfLimits
        As those.
    """
    return checked(eased(slot, sets_percent=sets_percent, percent_points=percent_points, rpe_points=rpe_points))


def _part(count: int, percent: Number) -> int:
    """So much of a count, at least 1 where there were any."""
    part = int(nearest("sets", count * thousandths(percent), 100))
    return max(part, min(count, 1))


def _scaled_back_off(off: BackOff, percent: Number) -> BackOff:
    if off.sets is not None:
        return replace(off, sets=_part(off.sets, percent))
    most = _part(off.most or MOST_UNTIL, percent)
    fewest = None if off.fewest is None else min(_part(off.fewest, percent), most)
    return replace(off, most=off.most if most == (off.most or MOST_UNTIL) else most, fewest=fewest)


def _harder(slot: Slot, points: Number) -> Slot:
    """All stated efforts moved; in halves, since the scale has no finer ones."""
    by = thousandths(points)

    def rpe(value: Number) -> Number:
        return nearest("rpe", thousandths(value) + by)

    target, scheme = slot.target, slot.scheme
    if isinstance(target, EffortTarget):
        if target.rpe is not None:
            target = replace(target, rpe=rpe(target.rpe))
        else:
            target = replace(target, rir=tidy(10 - rpe(10 - (target.rir or 0))))
    if isinstance(scheme, OpenLastSet) and scheme.stop_rpe is not None:
        scheme = replace(scheme, stop_rpe=rpe(scheme.stop_rpe))
    if isinstance(scheme, TopSet):
        off, up = scheme.back_off, scheme.build_up
        if off is not None and off.until_rpe is not None:
            scheme = replace(scheme, back_off=replace(off, until_rpe=rpe(off.until_rpe)))
        if up is not None and up.rpes is not None:
            scheme = replace(scheme, build_up=replace(up, rpes=tuple(rpe(one) for one in up.rpes)))
    if target is slot.target and scheme is slot.scheme:
        return slot
    return replace(slot, target=target, scheme=scheme)
