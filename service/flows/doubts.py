"""What is asked about a set that the athlete's model cannot believe; training is never held up by it."""

from __future__ import annotations

from datetime import date

from service.core.model.heard import Heard
from service.core.model.load import unlimited_load
from service.core.model.passing import opened
from service.core.model.slips import FACTORS, NEAR, NEAR_LEAST, Code, misfit
from service.core.model.state import Row
from service.core.records import DoneSet, Lift
from service.core.units import Load, MassUnit, load, say
from service.core.words import FELT, both, day, in_unit, listing, number
from service.flows.hear import Learned
from service.store.log import Recent
from service.store.set_records import Doubt

FEW_SETS = 10
"""While no more sets of a lift were used, an earlier one may be the slip, and is named too. Ours. [sets]"""
UNIT_SLIPS: dict[Code, str] = {
    "pounds_as_kilograms": "pounds entered as kilograms",
    "kilograms_as_pounds": "kilograms entered as pounds",
}


def doubt(
    learned: Learned, done: DoneSet, lift: Lift, *, on: date, unit: MassUnit, body_kg: float | None, recent: Recent
) -> Doubt | None:
    """The question about a refused set, told in the lifter's unit; None where a ladder asked for its load.

    Parameters
    ----------
    learned : Learned
        What the set did.
    done : DoneSet
        The set; it has a load with a mass.
    lift : Lift
        What was done.
    on : date
        Its local date.
    unit : "kg" or "lb"
        The lifter's.
    body_kg : float or None
        For `bodyweight` lifts. [kg]
    recent : Recent
        Sets before it.
    """
    if done.by_ladder:
        return None
    assert done.load is not None  # noqa: S101  (for the type checker: without a load nothing is refused)
    body = body_kg if body_kg is not None and lift.load_kind == "bodyweight" else 0.0
    row = opened(learned.from_row, learned.from_person, on)
    code = _slip(row, learned.said, body)
    if code is None:
        text = f"{_said(done)} does not fit what the log says. Please check load and repetitions."
        return Doubt("unlikely", text + _earlier(row, recent), None, None)
    meant = _meant(done.load, code)
    if code in UNIT_SLIPS and (code in recent.previous or (recent.today and set(recent.today) == {code})):
        return Doubt(code, _of_unit(code, unit, before=code in recent.previous), meant, None)
    side = "above" if FACTORS[code] > 1 else "below"
    text = f"{_said(done)} is far {side} what the log says{_about(row, done, learned.said, unit, body)}."
    text += f" Did you mean {both(meant, unit)}?"
    return Doubt(code, text + _earlier(row, recent), meant, None)


def _slip(row: Row, said: Heard, body_kg: float) -> Code | None:
    """As `slips.explain`; of a load that is added to the body only what was added can be a slip of the pen."""
    best: tuple[float, Code] | None = None
    for code, factor in FACTORS.items():
        meant = body_kg + (said.kg - body_kg) / factor
        if meant <= 0:
            continue
        surprise, size = misfit(row, said, said.kg / meant)
        if size < NEAR and abs(surprise) < NEAR_LEAST and (best is None or size < best[0]):
            best = size, code
    return None if best is None else best[1]


def _meant(entered: Load, code: Code) -> Load:
    """The load as it would have been entered."""
    if code == "pounds_as_kilograms":
        return load(entered.value, "lb")
    if code == "kilograms_as_pounds":
        return load(entered.value, "kg")
    return load(entered.value / FACTORS[code], entered.unit)


def _said(done: DoneSet) -> str:
    """The set in words: `176.4 kg for 5 at RPE 8`."""
    assert done.load is not None  # noqa: S101  (as above)
    text = f"{say(done.load)} for {done.reps}"
    if not done.made:
        return f"{text} and a miss" if done.reps else f"{say(done.load)}, missed,"
    if done.felt is not None:
        return f"{text}, {FELT[done.felt]},"
    if done.rir is not None:
        return f"{text} with {number(float(done.rir))}{' or more' if done.or_more else ''} left"
    return text if done.rpe is None else f"{text} at RPE {number(float(done.rpe))}"


def _about(row: Row, done: DoneSet, said: Heard, unit: MassUnit, body_kg: float) -> str:
    """What the log would have expected on the bar for these repetitions and this effort."""
    rpe = 10.0 if said.failed else said.rpe if said.felt is None else None
    if rpe is None or done.reps < 1:
        return ""
    kg = unlimited_load(row, done.reps, rpe)
    if kg is None or kg <= body_kg:
        return ""
    return f" (about {in_unit(kg - body_kg, unit, 0):g} {unit})"  # a hint, so whole kilograms or pounds


def _of_unit(code: Code, unit: MassUnit, *, before: bool) -> str:
    """In place of a question about each set."""
    which = "This set and some of the session before" if before else "All sets of this session"
    entered = "kilograms" if unit == "kg" else "pounds"
    return (
        f"{which} look like {UNIT_SLIPS[code]}. Your loads are taken as {entered} unless you say otherwise: "
        "please check the unit that you enter them in."
    )


def _earlier(row: Row, recent: Recent) -> str:
    """While little is known, the sets that all of it stands on."""
    if row.used_ever > FEW_SETS or not recent.earlier:
        return ""
    told = listing(tuple(f"{say(one.load)} for {one.reps} on {day(one.on)}" for one in reversed(recent.earlier)))
    sets = "this earlier set is" if len(recent.earlier) == 1 else "these earlier sets are"
    return f" If it is right, please check whether {sets} too: {told}."
