"""The sets after the top set: their loads and what they will feel like as fatigue grows."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.core.model.expect_effort import expected_effort
from service.core.model.fatigue import fatigue_unit
from service.core.model.load import EFFORT_LIMIT, allowed, load_for
from service.core.model.state import Person, Row

CEILING_BELOW = 0.5
"""Follow-up sets stay that far under the effort limit. Common practice, no source. [RPE]"""


@dataclass(slots=True)
class Following:
    """A set that is still to come."""

    kg: float
    rpe: float
    """Effort that is expected to be reported, at most 10."""
    held: bool
    """The ceiling for follow-up sets made the load lower."""
    fatigue: float
    """Fatigue units before the set. [units]"""


def following(
    row: Row,
    person: Person,
    count: int,
    reps: int,
    *,
    kg: float | None = None,
    rpe: float | None = None,
    effort_limit: float | None = EFFORT_LIMIT,
    chances: tuple[float, float] | None = None,
    hang: Callable[[float, float], float] | None = None,
) -> tuple[Following, ...]:
    """Follow-up sets, each with the fatigue that those before it are expected to leave.

    Parameters
    ----------
    row : Row
        The lift after its top set.
    person : Person
        The athlete.
    count : int
        How many sets, >= 0.
    reps : int
        Repetitions of each, >= 1. Not checked. [reps]
    kg : float or None
        Load asked for: the top set's (same-load sets), or less a share (back-off sets). [kg]
    rpe : float or None
        Target of each set instead, 1 to 10. One of the two has to be given.
    effort_limit : float or None
        The athlete's setting: the loads stay under the load for half a point less. None: no ceiling and no limits.
    chances : tuple of float or None
        How likely the limit may be passed in truth, and in the report; None: as `allowed` says of the athlete. [1]
    hang : callable or None
        Gives what can be loaded: takes the load wanted and the highest allowed (infinity without a ceiling), both in
        kilograms. None: any load can. [kg]

    Returns
    -------
    tuple of Following, length `count`
        Empty for an empty row.

    Raises
    ------
    ValueError
        If neither or both of `kg` and `rpe` are given.
    """
    if (kg is None) == (rpe is None):
        raise ValueError("a load or a target effort is needed, and not both")
    sets: list[Following] = []
    fatigue = row.fatigue
    may = chances or allowed(person)
    for _ in range(0 if row.reference is None else count):
        wanted, most = _wanted(row, may, reps, kg, rpe, effort_limit, fatigue)
        load = min(wanted, most) if hang is None else hang(min(wanted, most), most)
        effort = expected_effort(row, person, load, reps, fatigue)
        if effort is None:
            break
        felt = min(effort.rpe, 10.0)
        sets.append(Following(load, felt, most < wanted, fatigue))
        fatigue += fatigue_unit(10 - felt)
    return tuple(sets)


def _wanted(
    row: Row, may: tuple[float, float], reps: int, kg: float | None, rpe: float | None, limit: float | None,
    fatigue: float,
) -> tuple[float, float]:  # fmt: skip
    """Load that is asked for, and the highest that a follow-up set may have."""

    def under(effort: float) -> float | None:
        found = load_for(
            row, reps, effort, effort_limit=limit, chance_true=may[0], chance_report=may[1], fatigue=fatigue
        )  # fmt: skip
        return None if found is None else found.kg

    ceiling = None if limit is None else under(limit - CEILING_BELOW)
    most = float("inf") if ceiling is None else ceiling
    if kg is not None:
        return kg, most
    target = None if rpe is None else under(rpe)
    return most if target is None else target, most
