"""What a set has shown, as it is answered: the day's estimate with its reason, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import log

from service.core.answers import Caution, LoadRange, Named, Step
from service.core.curves import curves
from service.core.errors import OutOfRange
from service.core.estimate.estimate import estimated_max
from service.core.estimate.rolling import MISSED_PART, possible_reps, reported_rpe
from service.core.model.levels import Ranged
from service.core.model.slips import NEAR_LEAST, POUNDS
from service.core.records import DoneSet, Lift
from service.core.units import Load, MassUnit, from_kg, say, tidy
from service.core.words import FELT, in_unit, number
from service.flows.hear import Learned

Day = date  # a record's own field may be called date
NO_BODY_WEIGHT = Caution(
    "no_body_weight",
    "The set is stored. The body is part of this load, and no body weight is known for the day, so nothing was "
    "estimated: enter one.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEstimate:
    """The max of a lift on one day, by its heaviest telling set."""

    lift: str
    """The lift's word."""
    date: Day
    """The athlete's day."""
    max: Load
    """The max; as the lift's load is meant (for `bodyweight` the added load)."""
    range: LoadRange | None
    """Null for a single with nothing left: that is the max."""
    why: tuple[Step, ...]
    """How it came about."""


def day_estimate(
    done: DoneSet, lift: Lift, *, on: date, max_kg: float, curve: str, body_kg: float | None
) -> DayEstimate:
    """The day's estimate as it is answered. `max_kg` is effective. [kg]"""
    unit: MassUnit = "lb" if done.load is not None and done.load.unit == "lb" else "kg"
    shown = from_kg(max_kg - (body_kg or 0.0), unit)
    load = done.load or shown
    if not done.made:
        return DayEstimate(
            lift=lift.id, date=on, max=shown, range=None, why=(_missed(done, load, shown, curve, body_kg),)
        )
    rpe = reported_rpe(done)
    failed = lift.technique or rpe is None or (done.rpe is None and done.rir is None and done.felt is None)
    try:
        found = estimated_max(
            lift=lift, load=load, reps=done.reps, rpe=None if failed or done.rir is not None else rpe,
            rir=None if failed or done.rir is None else float(done.rir), or_more=done.or_more and not failed,
            to_failure=failed, curve=curve, unit=unit, body_weight_kg=body_kg,
            said=None if done.felt is None else FELT[done.felt],
        )  # fmt: skip
    except OutOfRange:  # a load that nobody lifts: stored as it was sent, and not explained
        return DayEstimate(lift=lift.id, date=on, max=shown, range=None, why=())
    return DayEstimate(lift=lift.id, date=on, max=found.max, range=found.range, why=found.why)


def day_by_model(
    done: DoneSet, lift: Lift, *, on: date, day: Ranged, learned: Learned, body_kg: float | None
) -> DayEstimate:
    """The day's max as the athlete's model has it after a set. `day` is effective. [kg]"""
    unit: MassUnit = "lb" if done.load is not None and done.load.unit == "lb" else "kg"
    body = body_kg if body_kg is not None and lift.load_kind == "bodyweight" else 0.0
    most, low, high = (from_kg(kg - body, unit) for kg in (day.kg, day.low, day.high))
    set_text = f"{done.reps}" if done.load is None else f"{done.reps} with {say(done.load)}"
    rpe = learned.said.rpe if done.felt is None else reported_rpe(done)
    inputs = [Named("repetitions", done.reps, "reps")]
    if done.load is not None:
        inputs.append(Named("load", done.load.value, done.load.unit))
    if learned.said.failed:
        effort = " and one more tried"
    else:
        effort = "" if rpe is None else f" at RPE {number(rpe)}"
        inputs += [] if rpe is None else [Named("rpe", tidy(rpe), "RPE")]
    ends = f"{number(in_unit(day.low - body, unit))} to {number(in_unit(day.high - body, unit))} in 8 of 10 such cases"
    if learned.lesson.status == "re_anchored":
        text = (
            f"{set_text}{effort} does not fit what the log said before, as other sets did not either: we now believe "
            f"about {number(in_unit(day.kg - body, unit))} {unit} ({ends}).{_of_unit(learned)}"
        )
    else:
        text = f"After {set_text}{effort} today's max is {number(in_unit(day.kg - body, unit))} {unit} ({ends})."
    step = Step(text=text, formula="max_today", inputs=tuple(inputs), result=Named("max", most.value, unit))
    return DayEstimate(lift=lift.id, date=on, max=most, range=LoadRange(low, high, 0.8), why=(step,))


def _of_unit(learned: Learned) -> str:
    """What is asked where a level has changed by the ratio of the units, or near it."""
    off = abs(learned.lesson.off or 0.0) / learned.from_row.m[1]
    if abs(off - log(POUNDS)) >= NEAR_LEAST:
        return ""
    return " That is about the ratio of kilograms to pounds: please check the unit that loads are entered in."


def _missed(done: DoneSet, load: Load, shown: Load, curve: str, body_kg: float | None) -> Step:
    """One repetition more was not there: a part of it counts."""
    possible = possible_reps(done) or 1.0
    share = tidy(100 * curves.share(curve, possible), 2)
    inputs = [
        Named("repetitions", tidy(possible), "reps"),
        Named("load", load.value, load.unit),
        Named("share", share, "percent"),
    ]
    text = (
        f"{say(load)} for {possible:g} repetitions, the missed one counted as {MISSED_PART:g}: {share:g} % of the max"
    )
    if body_kg is None:
        text += f", so the max is {number(shown.value)} {shown.unit}."
    else:
        inputs.append(Named("body_weight", tidy(body_kg), "kg"))
        text += f" with the body of {number(body_kg)} kg, so {number(shown.value)} {shown.unit} can be added once."
    return Step(text=text, formula="max_today", inputs=tuple(inputs), result=Named("max", shown.value, shown.unit))
