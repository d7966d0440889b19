"""How sure the max is, in words, and what would make it surer."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from service.core.answers import Named, Step
from service.core.model.levels import Ranged
from service.core.model.needs import Need, Sureness, needs
from service.core.model.state import RATE_LIMIT, Person, Row
from service.core.tell.measure import Measure
from service.core.units import Number
from service.core.words import day, number

FEW_SETS = 6
"""With fewer sets believed so far, more of them are what helps. Ours. [sets]"""
AWAY_DAYS = 28
"""After so many days without the lift it is said that it is less sure. Ours. [days]"""


@dataclass(frozen=True, slots=True)
class Surer:
    """One thing that would make the max surer. It says what would tell most: whether it is wise, the coach decides."""

    code: str
    """Stable name: `first_rated_set`, `few_hard_repetitions`, `some_hard_repetitions`, `tested_single`,
    `log_effort`."""
    text: str
    """What it is, in one sentence."""
    percent: Number | None
    """To about how many percent the max would be sure then; null where nothing is known yet."""


@dataclass(frozen=True, slots=True)
class Sure:
    """How sure a max is."""

    percent: Number | None
    """Half of its 80 % range against it; null where nothing is known."""
    text: str
    """The same in words."""
    surer: tuple[Surer, ...]
    """What would help, what helps most first; empty where nothing by itself would help much."""
    why: tuple[Step, ...]
    """Where the number comes from."""


def how_sure(row: Row, person: Person, shown: Measure, on: date) -> Sure:
    """How sure the max of a lift is.

    Parameters
    ----------
    row : Row
        The lift, opened on the day.
    person : Person
        The athlete.
    shown : Measure
        How maxes of the lift are shown.
    on : date
        The day of the question; a row that is opened carries the same.

    Returns
    -------
    Sure
        For an empty row without a number.
    """
    known = needs(row, person)
    return sure(known, row, person, shown, last=None, on=on)


def sure(known: Sureness, row: Row, person: Person, shown: Measure, *, last: date | None, on: date) -> Sure:
    """As `how_sure`, from what `needs` says. `last`: date of the last session of the lift; None: none is known of."""
    surer = tuple(Surer(need.code, _need(need), _percent(need.after)) for need in known.needs)
    if known.now is None or known.part is None:
        return Sure(None, "Nothing is known of this max yet.", surer, ())
    now, percent = known.now, _percent(known.now)
    text = f"Sure to about {number(percent or 0, 0)} %: {_newness(row, person)}"
    if last is not None and (on - last).days >= AWAY_DAYS:
        text += f" The last session was on {day(last)}, so it is less sure than it was then."
    text = text.strip().removesuffix(":") + ("" if text.strip().endswith(".") else ".")
    inputs = (shown.named("low", now.low), shown.named("high", now.high), shown.named("max", now.kg))
    said = (
        f"In 8 of 10 such cases the max is {shown.span(now)}: about {number(percent or 0, 0)} % to each side of "
        f"{shown.say(now.kg)}."
    )
    cases = (Named("cases", 8, "cases"), Named("of", 10, "cases"))
    step = Step(said, "sureness", (*inputs, *cases), Named("sure", percent or 0, "percent"))
    return Sure(percent, text, surer, (step,))


def _percent(known: Ranged | None) -> int | None:
    """Half of a range against its middle, in whole percent, at least one."""
    return None if known is None else max(round(50 * (known.high - known.low) / known.kg), 1)


def _newness(row: Row, person: Person) -> str:
    """What the number stands on."""
    if row.used_ever == 0:
        return "it stands on what was entered, not on training. After three hard sets this will be surer."
    if row.at_least:
        return "only easy sets are known, so that it may be far more. One that leaves three or fewer will tell."
    if person.rate < RATE_LIMIT:
        return "hardly a set says how hard it was, so that only what went up and what did not is known."
    if row.used_ever < FEW_SETS:
        done = "1 set" if row.used_ever == 1 else f"{row.used_ever} sets"
        return f"it stands on {done} so far. After three more hard sets this will be surer."
    return f"it stands on {row.used_ever} sets."


def _need(need: Need) -> str:
    """What would help, in one sentence."""
    then = "" if need.after is None else f" would make it sure to about {number(_percent(need.after) or 0, 0)} %"
    if need.code == "first_rated_set":
        return "Enter a max, or log one hard set and say how many repetitions were left."
    if need.code == "tested_single":
        return f"A tested single{then}; whether and when one is tested, your coach decides."
    if need.code == "log_effort":
        return f"Saying with each set how many repetitions were left{then}."
    hard = "" if need.rpe is None else f" at RPE {number(need.rpe)} or harder"
    return f"One set of {need.fewest} to {need.most} repetitions{hard}{then}, where your plan has such a set."
