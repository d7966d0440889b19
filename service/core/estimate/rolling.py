"""What logged sets say about a max where a coach has pinned a curve: the day's estimate and the rolling average."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from service.core import effort
from service.core.curves import curves
from service.core.errors import NotComputable, OutOfRange
from service.core.records import WORK_ROLES, DoneSet, Lift, SupportClass

WEIGHT = 0.3
"""Weight of the newest day in the moving average. Ours. [1]"""
HEAVY_REPS, HEAVY_RPE = 3, 7.0
"""A heavy set tells the day's max: at most so many repetitions (common practice, no source), at least so hard, because
repetitions left are told worse the more there are (Zourdos et al. 2021, JSCR 35(2S):S158-S165)."""
TOP_REPS, TOP_RPE = 12, 6.5
"""The rolling average takes more: it smooths what a longer or lighter set tells badly. Ours."""
MISSED_PART = 0.3
"""How much of the repetition that failed counts. Ours. [reps]"""

_CLASSES: dict[str, SupportClass] = {
    "none": "unsupported", "belt": "unsupported", "sleeves": "unsupported",
    "wraps": "wraps", "suit": "suit", "shirt": "suit",
}  # fmt: skip


class ReplayNeeded(Exception):
    """A set is older than the day that the average stands on: fold all days again, in order."""


@dataclass(frozen=True, slots=True)
class RollingState:
    """The moving average after one local date, with what is needed to change that date's part again."""

    value_before: float | None
    """The average before this date; None on the first date. [kg]"""
    day: date
    best_kg: float
    """Effective load of the heaviest eligible set of the date. [kg]"""
    best_estimate: float
    """The max which that set implies. [kg]"""
    value: float
    """The average. [kg]"""


def fold(state: RollingState | None, on: date, kg: float, estimate: float) -> RollingState:
    """Take one eligible set into the average: each local date counts once, by its heaviest set, of equals the first.

    Parameters
    ----------
    state : RollingState or None
        The average so far; None before the first set.
    on : date
        Local date of the set; not before `state.day`.
    kg, estimate : float
        Its effective load and the max it implies, > 0. [kg]

    Returns
    -------
    RollingState
        With the set taken in; `state` itself where the date has one that is as heavy: of straight sets the first
        is the freshest, and the later ones are told by the fatigue of those before (ours).

    Raises
    ------
    ReplayNeeded
        If the set is older than `state.day`.

    Examples
    --------
    >>> first = fold(None, date(2026, 3, 2), 140, 160)
    >>> fold(first, date(2026, 3, 5), 145, 170).value
    163.0
    """
    if state is None:
        return RollingState(None, on, kg, estimate, estimate)
    if on < state.day:
        raise ReplayNeeded(f"{on} is before {state.day}")
    if on > state.day:
        return RollingState(state.value, on, kg, estimate, _moved(state.value, estimate))
    if kg <= state.best_kg:
        return state
    return RollingState(state.value_before, on, kg, estimate, _moved(state.value_before, estimate))


def replay(sets: Iterable[tuple[date, float, float]]) -> RollingState | None:
    """Fold eligible sets (date, effective kg, estimate), in the order of moment and id; None without any. [kg]"""
    state = None
    for on, kg, estimate in sets:
        state = fold(state, on, kg, estimate)
    return state


def day_estimate(done: DoneSet, lift: Lift, curve: str, body_weight_kg: float | None) -> float | None:
    """The day's max by one heavy work set: its load divided by the share for repetitions done and left.

    Parameters
    ----------
    done : DoneSet
        A work set of up to three repetitions at RPE 7 or harder, or missed by strength after one or more (then
        a part of the missed repetition counts). Words are read against what was expected of the set.
    lift : Lift
        Of a technique lift, a made single is the estimate itself.
    curve : str
        A name in `curves.CURVES`.
    body_weight_kg : float or None
        For `bodyweight` lifts. [kg]

    Returns
    -------
    float or None
        Effective max (with body weight; of one hand). None where the set tells nothing: not heavy, no effort, ended
        by anything but choice or strength, stopped for pain, done by a method that breaks the curve, no mass. [kg]

    Raises
    ------
    NotComputable
        If there is no such curve, or the set has two efforts.

    Notes
    -----
    A heavy set of up to three gives the day's max: common practice, no source.
    """
    kg = effective_kg(done, lift, body_weight_kg)
    if kg is None or not _tells(done):
        return None
    if lift.technique:
        return kg if done.made and done.reps == 1 else None
    return _estimate(done, kg, curve, most_reps=HEAVY_REPS, least_rpe=HEAVY_RPE)


def top_set_estimate(done: DoneSet, lift: Lift, curve: str, body_weight_kg: float | None) -> float | None:
    """As `day_estimate`, from up to twelve repetitions at RPE 6.5 or harder, for the rolling average. [kg]

    Of technique lifts there is none: technique ends their sets, not strength.
    """
    kg = effective_kg(done, lift, body_weight_kg)
    if kg is None or lift.technique or not _tells(done):
        return None
    return _estimate(done, kg, curve, most_reps=TOP_REPS, least_rpe=TOP_RPE)


def effective_kg(done: DoneSet, lift: Lift, body_weight_kg: float | None) -> float | None:
    """What was moved: with body weight for `bodyweight`, one hand for `per_hand`; None without a mass. [kg]"""
    if done.load is None or done.load.kg is None or lift.load_kind == "none":
        return None
    kg = float(done.load.kg)
    if lift.load_kind == "bodyweight":
        if body_weight_kg is None:
            return None
        kg += body_weight_kg
    return kg if kg > 0 else None


def possible_reps(done: DoneSet) -> float | None:
    """Repetitions to failure that a set shows: done and left, or a part of the missed one; None: unknown. [reps]"""
    if not done.made and done.ended_by == "strength":
        return done.reps + MISSED_PART if done.reps >= 1 else None
    rpe = reported_rpe(done)
    if rpe is None or done.reps < 1:
        return None
    return done.reps + 10 - rpe


def reported_rpe(done: DoneSet, expected_rpe: float | None = None) -> float | None:
    """How hard the set was; to failure without an effort is 10; None where nobody said. [RPE]

    `expected_rpe` is what words are read against where the set does not carry it.
    """
    expected = done.expected_rpe if done.expected_rpe is not None else expected_rpe
    said = effort.to_rpe(rpe=done.rpe, rir=done.rir, or_more=done.or_more, felt=done.felt, expected_rpe=expected)
    return 10.0 if said is None and done.ended_by == "strength" else said


def support_class(words: tuple[str, ...]) -> SupportClass:
    """The class that maxes are compared within: a suit or shirt outranks wraps, and those belt and sleeves.

    Raises NotComputable (`unknown_support`) for any other word.

    >>> support_class(("belt", "sleeves")), support_class(("belt", "wraps")), support_class(())
    ('unsupported', 'wraps', 'unsupported')
    """
    found: set[SupportClass] = set()
    for word in words:
        if word not in _CLASSES:
            raise NotComputable("unknown_support", f"Support is one of {', '.join(_CLASSES)}, got {word!r}.")
        found.add(_CLASSES[word])
    return "suit" if "suit" in found else "wraps" if "wraps" in found else "unsupported"


def _moved(before: float | None, estimate: float) -> float:
    return estimate if before is None else before + WEIGHT * (estimate - before)


def _tells(done: DoneSet) -> bool:
    straight = done.method == "straight" and done.seconds is None
    return straight and done.role in WORK_ROLES and done.ended_by in ("choice", "strength") and done.pain != "stop"


def _estimate(done: DoneSet, kg: float, curve: str, *, most_reps: int, least_rpe: float) -> float | None:
    missed = not done.made and done.ended_by == "strength"
    rpe = 10.0 if missed else reported_rpe(done)
    possible = possible_reps(done)
    if possible is None or rpe is None or rpe < least_rpe or done.reps > most_reps:
        return None
    try:
        return kg / curves.share(curve, possible)
    except OutOfRange:  # a published curve that does not reach so far
        return None
