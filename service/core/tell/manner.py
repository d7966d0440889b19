"""What is peculiar to an athlete: how many repetitions go at a percentage, and how efforts are reported. Kindly."""

from __future__ import annotations

from dataclasses import dataclass
from math import log, sqrt

from service.core.answers import Named, Step
from service.core.model.expect import solved
from service.core.model.shape import repetitions
from service.core.model.state import BIAS, BIAS_SD, CURVE_GROUP, FACTOR_LIFT_SD, FACTOR_PERSON_SD, Person, Row
from service.core.units import Number, tidy
from service.core.words import number

AT_PERCENT = 80
"""Repetitions are compared at so many percent of the max. Ours. [%]"""
SAME_FACTOR, SAME_BIAS = 0.04, 0.35
"""Differences under these are none. Ours. [1], [reps]"""
UNSURE = 0.85
"""While the spread is more than this part of that between people, nothing is claimed. Ours. [1]"""
FAR_REPS = 99
"""So that no repetition is taken to be left: what is possible in truth is asked, not what is reported. [reps]"""


@dataclass(frozen=True, slots=True)
class Manner:
    """What is peculiar to an athlete in a lift."""

    repetitions: Number | None
    """Repetitions to failure at 80 % of the max; null while it is not known."""
    usual: Number
    """The same for most lifters in this lift."""
    curve: str
    """In words."""
    reports: str
    """How efforts are reported, in words."""
    why: tuple[Step, ...]
    """Where the repetitions come from."""


def manner(row: Row, person: Person) -> Manner:
    """What is peculiar to an athlete in a lift.

    Parameters
    ----------
    row : Row
        The lift, opened; empty too.
    person : Person
        The athlete.

    Returns
    -------
    Manner
        With nothing claimed while as little is known as of anybody.
    """
    group = 1 + CURVE_GROUP[row.group]
    usual = _at(group, 0.0)
    own = _at(row.m[1], row.m[4])
    known = sqrt(row.p[7]) < UNSURE * sqrt(FACTOR_LIFT_SD**2 + FACTOR_PERSON_SD**2)
    step = Step(
        f"At {AT_PERCENT} % of the max about {number(own)} repetitions are possible; most get {number(usual)}.",
        "own_curve",
        (Named("percent", AT_PERCENT, "percent"), Named("usual", tidy(usual, 1), "reps")),
        Named("possible", tidy(own, 1), "reps"),
    )
    why = (step,) if known else ()
    return Manner(tidy(own, 1) if known else None, tidy(usual, 1), _curve(own, usual, row.m[1] - group, known=known),
                  reports(person), why)  # fmt: skip


def _at(factor: float, bend: float) -> float:
    """Repetitions to failure at `AT_PERCENT` of the max, in truth. [1], [1] -> [reps]

    >>> round(_at(1.0, 0.0), 2)  # 1 + (0.8 ^ -2.5 - 1) / 0.116
    7.44
    """
    base = -factor * log(AT_PERCENT / 100)
    return solved(base, bend, 0.0, FAR_REPS) if bend else repetitions(base)


def _curve(own: float, usual: float, apart: float, *, known: bool) -> str:
    if not known:
        return "How many repetitions you get at a percentage is not known yet: sets of different lengths will tell."
    ours = f"about {number(round(own), 0)} at {AT_PERCENT} % of your max"
    if abs(apart) < SAME_FACTOR or round(own) == round(usual):
        return f"You get about as many repetitions at a percentage as most do in this lift: {ours}."
    more = "more" if own > usual else "fewer"
    return f"You get {more} repetitions than most at a percentage: {ours}, where most get {number(round(usual), 0)}."


def reports(person: Person) -> str:
    """How an athlete reports efforts, in kind words.

    >>> from service.core.model.state import new_person
    >>> reports(new_person())
    'How your reports compare with what is really left is not known yet.'
    """
    if sqrt(person.v_bias) > UNSURE * BIAS_SD:
        return "How your reports compare with what is really left is not known yet."
    apart = person.bias - BIAS
    if abs(apart) < SAME_BIAS:
        return "What you report fits what happens: you can trust your own count."
    by = "about half a repetition" if abs(apart) < 0.75 else "about one repetition"
    if abs(apart) >= 1.25:
        by = "more than one repetition"
    if apart > 0:
        return f"You tend to have {by} more left than you say. That is common, and the loads take it into account."
    return (
        f"Some sets ended earlier than your reports let expect, by {by}. Many lifters find the last repetitions "
        "hard to count; the loads leave a little room for it."
    )
