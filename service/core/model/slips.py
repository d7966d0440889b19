"""What a refused set probably was: a load in the other unit, or with a digit too many or too few."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Literal

from service.core.model.evidence import compare, reported
from service.core.model.expect import expected_repetitions
from service.core.model.heard import Heard
from service.core.model.passing import adopt
from service.core.model.state import Person, Row

Code = Literal["pounds_as_kilograms", "kilograms_as_pounds", "digit_too_many", "digit_too_few"]

POUNDS = 2.2046226
"""Pounds in a kilogram."""
FACTORS: dict[Code, float] = {
    "pounds_as_kilograms": POUNDS,
    "kilograms_as_pounds": 1 / POUNDS,
    "digit_too_many": 10.0,
    "digit_too_few": 0.1,
}
"""By what an entry is too large: the usual slips. Common practice, no source. [1]"""
NEAR, NEAR_LEAST = 2.0, 0.15
"""How near to what is expected a corrected set must lie: in standard deviations, and in log. Simulation. [1], [log]"""


@dataclass(slots=True)
class Slip:
    """A proposal for a refused set; the lifter decides."""

    code: Code
    factor: float
    """By what the entry is too large. [1]"""
    kg: float
    """Effective load that was probably meant. [kg]"""


def explain(row: Row, person: Person, heard: Heard) -> Slip | None:
    """The slip that makes a refused set believable.

    Parameters
    ----------
    row : Row
        The lift as it was before the set, opened on its date; not empty (an empty lift refuses nothing).
    person : Person
        The athlete at that time.
    heard : Heard
        The refused set.

    Returns
    -------
    Slip or None
        The most believable of those that lie near what is expected; None: nothing explains it.

    Examples
    --------
    >>> from service.core.model.state import new_person, new_row
    >>> slip = explain(new_row("other", 100), new_person(), Heard(176.37, 5, 8))
    >>> slip.code, round(slip.kg, 2)
    ('pounds_as_kilograms', 80.0)
    """
    row = adopt(row, person)
    best: tuple[float, Code] | None = None
    for code, factor in FACTORS.items():
        surprise, size = misfit(row, heard, factor)
        if size < NEAR and abs(surprise) < NEAR_LEAST and (best is None or size < best[0]):
            best = size, code
    if best is None:
        return None
    factor = FACTORS[best[1]]
    return Slip(best[1], factor, heard.kg / factor)


def misfit(row: Row, heard: Heard, factor: float = 1.0) -> tuple[float, float]:
    """Surprise of a set whose entry is too large by `factor`, and its size in standard deviations. [log], [1].

    The curve is linearised at the report, not at what is expected: far from it the expectation says nothing.
    """
    report = reported(heard, expected_repetitions(row, heard.kg, heard.reps))
    corrected = reported(replace(heard, kg=heard.kg / factor, rpe=report.rpe), None)
    corrected.noise = report.noise
    evidence = compare(row, corrected, corrected.possible)
    return evidence.surprise, abs(evidence.surprise) / sqrt(evidence.known + evidence.noise)
