"""Rows that cannot be: rounding or a damaged store left a variance that is none. Replay first; repair what is left."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite

from service.core.model.state import BIAS_SD, FACTOR_PERSON_SD, Covariance, Means, Person, Row, new_row

LEAST_VARIANCE = 1e-12
"""A variance below it is none. Safety."""
DIAGONAL = (0, 7, 13, 18, 22, 25, 27)
"""Places of the variances in a row's `p`."""
_PLACES = [(i, j) for i in range(7) for j in range(i, 7)]


def sound(row: Row) -> bool:
    """Whether a row can be: finite numbers, variances above nothing, reports and curve not tied beyond one.

    >>> from service.core.model.state import new_row
    >>> sound(new_row("other", 100))
    True
    """
    p = row.p
    numbers = (*row.m, *p, row.fatigue, 0.0 if row.reference is None else row.reference)
    return (
        all(isfinite(number) for number in numbers)
        and all(p[place] > LEAST_VARIANCE for place in DIAGONAL)
        and p[25] * p[27] - p[26] * p[26] > 0
    )


def repaired(row: Row) -> Row:
    """A row with every element that cannot be at its start, tied to nothing; a sound row as it is.

    What was seen for the level is kept as far as its numbers are finite. A row whose reference is not becomes empty.
    The athlete is adopted anew at the next set.
    """
    if sound(row):
        return row
    start = new_row(row.group)
    p = row.p
    broken = {
        i
        for i in range(7)
        if not isfinite(row.m[i])
        or not p[DIAGONAL[i]] > LEAST_VARIANCE  # also where it is not a number
        or not isfinite(p[DIAGONAL[i]])
    }
    for place, (i, j) in enumerate(_PLACES):
        if not isfinite(p[place]):
            broken |= {i, j}
    if not broken & {5, 6} and not p[25] * p[27] - p[26] * p[26] > 0:
        broken |= {5, 6}
    m: Means = tuple(start.m[i] if i in broken else row.m[i] for i in range(7))  # type: ignore[assignment] # 7 of them
    mended: Covariance = tuple(  # type: ignore[assignment] # 28 of them
        p[place] if not {i, j} & broken else start.p[place] if i == j else 0.0 for place, (i, j) in enumerate(_PLACES)
    )
    reference = row.reference if row.reference is not None and isfinite(row.reference) else None
    fatigue = row.fatigue if isfinite(row.fatigue) else 0.0
    return replace(row, reference=reference, m=m, p=mended, fatigue=fatigue, seen=-1)


def sound_person(person: Person) -> bool:
    """Whether an athlete's row can be."""
    p = person
    return (
        all(isfinite(x) for x in (p.bias, p.factor, p.v_bias, p.v_both, p.v_factor, p.rate, p.erratic))
        and min(p.v_bias, p.v_factor) > LEAST_VARIANCE
        and p.v_bias * p.v_factor - p.v_both * p.v_both > 0
    )


def repaired_person(person: Person) -> Person:
    """An athlete whose report bias and curve are at their start where they cannot be; a sound one as it is.

    Its version is another, so that the lifts adopt it.
    """
    if sound_person(person):
        return person
    p, start = person, Person()
    bias = isfinite(p.bias) and isfinite(p.v_bias) and p.v_bias > LEAST_VARIANCE
    factor = isfinite(p.factor) and isfinite(p.v_factor) and p.v_factor > LEAST_VARIANCE
    tied = bias and factor and isfinite(p.v_both)
    if tied and not p.v_bias * p.v_factor - p.v_both * p.v_both > 0:
        tied = bias = factor = False
    return Person(
        bias=p.bias if bias else start.bias,
        factor=p.factor if factor else start.factor,
        v_bias=p.v_bias if bias else BIAS_SD**2,
        v_both=p.v_both if tied else 0.0,
        v_factor=p.v_factor if factor else FACTOR_PERSON_SD**2,
        rate=p.rate if isfinite(p.rate) else start.rate,
        erratic=p.erratic if isfinite(p.erratic) else start.erratic,
        judged=p.judged,
        version=p.version + 1,
    )
