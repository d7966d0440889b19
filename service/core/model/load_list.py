"""The load list of a lift: for a typical day, fresh, the load beside repetitions and repetitions left."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.core.model.load import unlimited_load
from service.core.model.state import Row

WEAK_FROM = 12
"""Beyond so many repetitions possible a load is only weakly known. Ours. [reps]"""


@dataclass(slots=True)
class Listed:
    """One entry of the load list."""

    reps: int
    left: float
    """Repetitions left, as this athlete reports them. [reps]"""
    kg: float
    weak: bool
    """More than twelve repetitions are possible: only weakly known."""


def load_list(row: Row, reps: Iterable[int], left: Sequence[float]) -> tuple[Listed, ...]:
    """Loads for each number of repetitions and each number left, on a typical day, fresh, without limits.

    It is in the lifter's own way of reporting: where the reports are biased, the single with nothing left is not the
    estimated max.

    Parameters
    ----------
    row : Row
        The lift, opened.
    reps : iterable of int
        Repetitions of the entries, each >= 1. Not checked. [reps]
    left : sequence of float
        Repetitions left, each 0 to 9. Not checked. [reps]

    Returns
    -------
    tuple of Listed
        By repetitions, then by repetitions left, in the order given; empty for an empty row.

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> single, = load_list(new_row("other", 100), [1], [2])  # two said to be left mean 2.3: g(3) + 0.3 g'(3) = 0.0948
    >>> round(single.kg, 2), single.weak
    (90.96, False)
    """
    if row.reference is None:
        return ()
    level, factor, _, loss, bend, bias, person = row.m
    # no day, no fatigue
    typical = Row(row.reference, row.group, (level, factor, 0.0, loss, bend, bias, person), row.p)
    return tuple(
        Listed(count, spare, load, count + spare > WEAK_FROM)
        for count in reps
        for spare in left
        if (load := unlimited_load(typical, count, 10 - spare)) is not None
    )
