"""How much more a week asks for than the weeks before it, lift by lift."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from service.core.check.analysis import WeekChange
from service.core.check.total import Total
from service.core.units import tidy

CLEARLY_LESS = 0.8
"""A week of at most this part of the week before it counts as lighter, marked or not. Ours. [1]"""


def changes(lighter: Sequence[bool], totals: Sequence[Mapping[str, Total]]) -> list[dict[str, WeekChange]]:
    """Each week's lifts against the last week that has them and was not lighter.

    After a lighter week (marked so, or unmarked a single one of at most four fifths of the volume before it) a week is
    compared with the one before that, so that going back to where a lifter was is no jump. A lighter week itself is
    compared like any other. A week that tests a lift, or takes it to a meet,
    counts only until there is another.

    Parameters
    ----------
    lighter : sequence of bool
        Which weeks are lighter on purpose.
    totals : sequence of mapping
        Sums by week and lift.

    Returns
    -------
    list of dict
        By week; without the lifts that no earlier week has.
    """
    found: list[dict[str, WeekChange]] = []
    last: dict[str, tuple[int, Total]] = {}
    for week, of_week in enumerate(totals):
        found.append({})
        for lift, total in of_week.items():
            before = last.get(lift)
            if before is not None:
                found[-1][lift] = _change(before[0], before[1], total)
            if (
                before is None
                or before[1].tested
                or not (lighter[week] or total.tested or _dips(total, before[1], weeks=week - before[0]))
            ):
                last[lift] = (week, total)
    return found


def _dips(total: Total, before: Total, *, weeks: int) -> bool:
    """Whether a week is lighter unmarked: clearly less than the week right before it; less for longer is no dip."""
    return weeks == 1 and _volume(total, before) <= CLEARLY_LESS


def part(now: float, before: float) -> float | None:
    """How much more, as a percentage; None where there was nothing. [%]"""
    return None if before <= 0 else 100 * (now - before) / before


def heavier(now: Total, before: Total) -> float:
    """Average intensity as a part of an earlier week's; 1 where it is not known of all repetitions. [1]"""
    if not now.volume or not before.reps:
        return 1.0
    return _volume(now, before) * before.reps / now.reps


def _volume(total: Total, before: Total) -> float:
    """Volume as a part of an earlier week's: by intensity where it is known of all repetitions in both. [1]"""
    if _all_known(total) and _all_known(before):
        return total.volume / before.volume if before.volume else 1.0
    return total.reps / before.reps if before.reps else 1.0


def _all_known(total: Total) -> bool:
    return 0 < total.reps <= total.known_reps + 1e-9


def _change(week: int, before: Total, total: Total) -> WeekChange:
    volume = 100 * (_volume(total, before) - 1) if before.reps else None
    hard = part(total.hard, before.hard)
    return WeekChange(
        than_week=week + 1,
        volume_percent=None if volume is None else tidy(volume, 1),
        hard_sets_percent=None if hard is None else tidy(hard, 1),
    )
