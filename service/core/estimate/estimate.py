"""An estimated max from one set: load, repetitions and effort, by a named curve."""

from __future__ import annotations

from service.core.answers import Estimate, LoadRange
from service.core.curves import curves
from service.core.effort import HIGHEST_RPE, repetitions_left, to_rpe
from service.core.errors import NotComputable, OutOfRange
from service.core.estimate import spread
from service.core.estimate import why as estimate_why
from service.core.estimate.why import CheckedSet
from service.core.records import Lift
from service.core.units import GRAINS_PER_KG, Load, MassUnit, from_kg

_MOST_REPS = 100
_MOST_KG = 2000.0
_BODY_WEIGHTS_KG = (10.0, 500.0)


def implied_max_kg(curve: str, kg: float, reps: int, rpe: float) -> float:
    """Max that a set implies: load divided by the share at repetitions done plus repetitions left.

    Parameters
    ----------
    curve : str
        A name in `curves.CURVES`.
    kg : float
        Load, effective (with body weight for `bodyweight`, one hand for `per_hand`). [kg]
    reps : int
        Repetitions done, >= 1. [reps]
    rpe : float
        Effort, 1 to 10; a half is half a repetition. [RPE]

    Returns
    -------
    float
        Max, in the sense of `kg`. [kg]

    Raises
    ------
    OutOfRange, NotComputable
        If the effort or the repetitions to failure are out of range; if there is no such curve.

    Examples
    --------
    >>> implied_max_kg("brzycki", 100, 5, 10)
    112.5
    """
    return kg / curves.share(curve, reps + repetitions_left(rpe))


def estimated_max(
    *,
    lift: Lift,
    load: Load,
    reps: int,
    rpe: float | None = None,
    rir: float | None = None,
    or_more: bool = False,
    to_failure: bool = False,
    curve: str = "default",
    unit: MassUnit = "kg",
    body_weight_kg: float | None = None,
    said: str | None = None,
) -> Estimate:
    """Estimate the max from one set.

    Parameters
    ----------
    lift : Lift
        What was lifted; its load kind says what the load means.
    load : Load
        As entered: the whole bar, one hand, added to body weight (negative: assistance), or a machine's step.
    reps : int
        Good repetitions, 1 to 100. [reps]
    rpe, rir, to_failure
        Exactly one: RPE 1 to 10 or repetitions left 0 to 9, in halves, or that no further repetition was possible.
    or_more : bool
        `rir` or more were left, for five and up; counted as five.
    curve : str
        A name in `curves.CURVES`.
    unit : MassUnit
        Unit of the answer.
    body_weight_kg : float or None
        Needed for `bodyweight`, 10 to 500; otherwise not used. [kg]
    said : str or None
        How the effort was said, where that was in words: the reason quotes it.

    Returns
    -------
    Estimate
        Max (for `bodyweight` the added load, for `per_hand` one hand), its 80 % range, the reason. A single with
        nothing left is the max itself: its range is null. The range never begins below the load that went up.

    Raises
    ------
    OutOfRange
        For a number outside of its range, or repetitions to failure that the curve does not reach.
    NotComputable
        `technique_lift`, `no_load`, `step_without_mass`, `no_body_weight`, `nothing_lifted`, `no_effort`,
        `two_efforts`, `or_more`, `not_a_half`, `unknown_curve`.
    """
    chosen = curves.curve_named(curve)
    effort = _rpe_of(rpe, rir, or_more=or_more, to_failure=to_failure)
    _refuse_what_has_no_max(lift, load, reps, to_failure=to_failure)
    body_kg = _body_weight(lift, body_weight_kg)
    done = CheckedSet(
        lift=lift,
        load=load,
        reps=reps,
        rpe=effort,
        effort_words=estimate_why.effort_words(rpe, rir, or_more=or_more, said=said),
        or_more=or_more,
        unit=unit,
        body_weight_kg=body_kg,
        total_kg=_total(lift, load, body_kg),
    )
    part = curves.share(curve, done.reps_to_failure)
    max_kg = done.total_kg / part
    bounds = _range(done, max_kg)
    return Estimate(
        max=from_kg(max_kg - body_kg, unit),
        curve=curve,
        range=bounds,
        text=estimate_why.text(done, chosen, max_kg),
        why=estimate_why.steps(done, chosen, part, max_kg, bounds),
        cautions=estimate_why.cautions(done, chosen),
    )


def _rpe_of(rpe: float | None, rir: float | None, *, or_more: bool, to_failure: bool) -> float:
    """The set's effort; to failure is RPE 10 [RPE]."""
    if to_failure:
        if rpe is not None or rir is not None or or_more:
            raise NotComputable("two_efforts", "A set to failure leaves nothing: give no RPE or repetitions left.")
        return HIGHEST_RPE
    found = to_rpe(rpe=rpe, rir=rir, or_more=or_more)
    if found is None:
        raise NotComputable(
            "no_effort", "Without an effort there is no estimate: give RPE, repetitions left or failure."
        )
    return found


def _refuse_what_has_no_max(lift: Lift, load: Load, reps: int, *, to_failure: bool) -> None:
    if not 1 <= reps <= _MOST_REPS:
        raise OutOfRange("reps", reps, 1, _MOST_REPS, "reps")
    if lift.load_kind == "none":
        raise NotComputable("no_load", f"{lift.name} has no load, so it has no max.")
    if load.unit == "step":
        raise NotComputable("step_without_mass", "A machine's step without a mass gives no max; compare repetitions.")
    if lift.technique and not (to_failure and reps == 1):
        raise NotComputable(
            "technique_lift",
            f"In the {lift.name.lower()} technique ends the set, not strength: repetitions and effort say nothing "
            "about the max. Only the heaviest single does: give one repetition to failure.",
        )


def _body_weight(lift: Lift, body_weight_kg: float | None) -> float:
    """Body weight that counts: 0 but for `bodyweight` [kg]."""
    if lift.load_kind != "bodyweight":
        return 0.0
    if body_weight_kg is None:
        raise NotComputable("no_body_weight", f"In {lift.name.lower()} the body is part of the load: enter its weight.")
    low, high = _BODY_WEIGHTS_KG
    if not low <= body_weight_kg <= high:
        raise OutOfRange("body_weight_kg", body_weight_kg, low, high, "kg")
    return body_weight_kg


def _total(lift: Lift, load: Load, body_kg: float) -> float:
    """Load and body weight together [kg]."""
    kg = load.grains / GRAINS_PER_KG
    if lift.load_kind == "bodyweight" and body_kg + kg <= 0:
        raise NotComputable("nothing_lifted", "The assistance is as much as the body weight: nothing was lifted.")
    if not -body_kg < kg <= _MOST_KG:
        raise OutOfRange("load", kg, 0, _MOST_KG, "kg")
    return body_kg + kg


def _range(done: CheckedSet, max_kg: float) -> LoadRange | None:
    """80 % range of the max, as the lift's load is meant; None for a single with nothing left [kg]."""
    if done.is_max:
        return None
    half = spread.half_percent(done.reps_to_failure) / 100
    low = max(max_kg * (1 - half), done.total_kg)
    high = max_kg * (1 + half)
    return LoadRange(low=done.as_load(low), high=done.as_load(high), level=spread.LEVEL)
