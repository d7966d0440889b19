"""How sure the model is of a lift, and what one more thing would make it how much surer."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log, sqrt
from typing import Literal

from service.core.model.evidence import NOISE_GROWTH, REPORT_NOISE, WOBBLE
from service.core.model.levels import LEAST_FACTOR, WIDER, Ranged, around, rolling_max, widening
from service.core.model.load import shape_at, unlimited_load
from service.core.model.shape import g, slope
from service.core.model.spread import Z80, level_variance
from service.core.model.state import RATE_LIMIT, Covariance, Person, Row
from service.core.model.tested import TESTED_NOISE
from service.core.model.update import project

Code = Literal["first_rated_set", "few_hard_repetitions", "some_hard_repetitions", "tested_single", "log_effort"]
FEW, SOME, HARD = (1, 3, 2), (4, 8, 6), 8.0
"""Repetitions of a set that would help (from, to, and what is calculated with), and the least RPE of it. Ours."""
WORTH_SAYING = 0.1
"""Part of the range that has to go for a need to be named. Ours. [1]"""


@dataclass(slots=True)
class Need:
    """One thing that would make the model surer."""

    code: Code
    """"first_rated_set": nothing is known yet. "few_hard_repetitions", "some_hard_repetitions": one set of `fewest` to
    `most` at `rpe` or harder. "tested_single": the max itself. "log_effort": an effort with the sets, as now hardly any
    has one."""
    fewest: int | None = None
    most: int | None = None
    rpe: float | None = None
    kg: float | None = None
    """About the load of it, today. [kg]"""
    after: Ranged | None = None
    """Rolling max with the range that it would have then, if all came as expected. [kg]"""


@dataclass(slots=True)
class Sureness:
    """How sure the rolling max is now."""

    now: Ranged | None
    """Rolling max with its 80 % range; None: nothing is known. [kg]"""
    part: float | None
    """Half of that range against the max. [1]"""
    needs: tuple[Need, ...]
    """What would help, what helps most first; empty where nothing would help much."""


def needs(row: Row, person: Person) -> Sureness:
    """How sure the rolling max is, and what would narrow its range by a tenth or more.

    It says what would tell most, not what is wise today: a heavy single or a hard set is the coach's decision.

    Parameters
    ----------
    row : Row
        The lift, opened.
    person : Person
        The athlete: whether sets have efforts.

    Returns
    -------
    Sureness
        The ranges follow from the covariance alone, as if each set came out exactly as expected.

    Examples
    --------
    >>> from service.core.model.state import new_person, new_row
    >>> [need.code for need in needs(new_row("squat_like", 150), new_person()).needs]
    ['tested_single', 'few_hard_repetitions', 'some_hard_repetitions']
    >>> [need.code for need in needs(new_row("squat_like"), new_person()).needs]
    ['first_rated_set']
    """
    now = rolling_max(row, person)
    if now is None or row.reference is None:
        return Sureness(None, None, (Need("first_rated_set", rpe=HARD),))
    if row.at_least:
        return Sureness(now, (now.high - now.low) / (2 * now.kg), (Need("first_rated_set", rpe=HARD),))
    width = log(now.high / now.low)
    found = [*_sets(row, person), *_single(row, person)]
    if person.rate < RATE_LIMIT:
        found.append(Need("log_effort", after=_known(row, row.p, WIDER)))
    worth = [(log(n.after.high / n.after.low), n) for n in found if n.after is not None]
    worth.sort(key=lambda pair: pair[0])
    named = tuple(need for after, need in worth if after <= (1 - WORTH_SAYING) * width)
    return Sureness(now, (now.high - now.low) / (2 * now.kg), named)


def _sets(row: Row, person: Person) -> list[Need]:
    """A set of few and one of some repetitions, as hard as asked for."""
    found = []
    codes: tuple[tuple[Code, tuple[int, int, int]], ...] = (
        ("few_hard_repetitions", FEW),
        ("some_hard_repetitions", SOME),
    )
    for code, (fewest, most, reps) in codes:
        kg = unlimited_load(row, reps, HARD)
        if kg is None or row.reference is None:
            continue
        left = 10 - HARD
        n = reps + left
        noise = (slope(n) * (REPORT_NOISE + NOISE_GROWTH * left)) ** 2 + WOBBLE
        p = _after(row.p, log(kg) - row.reference, row.fatigue, shape_at(n, g(n)), slope(n), noise)
        found.append(Need(code, fewest, most, HARD, kg, _known(row, p, widening(person))))
    return found


def _single(row: Row, person: Person) -> list[Need]:
    """A single that is as heavy as can be, fresh."""
    if row.reference is None:
        return []
    u = (row.m[0] + row.m[2]) / max(LEAST_FACTOR, row.m[1])
    p = _after(row.p, u, 0.0, 0.0, 0.0, TESTED_NOISE**2)
    return [Need("tested_single", 1, 1, 10.0, exp(row.reference + u), _known(row, p, widening(person)))]


def _after(p: Covariance, u: float, fatigue: float, bend: float, bias: float, noise: float) -> Covariance:
    """The covariance after one observation, which does not depend on how it comes out."""
    towards, variance = project(p, u, fatigue, bend, bias)
    cut = 1 / (variance + noise)
    numbers = iter(p)
    return tuple(  # type: ignore[return-value]
        next(numbers) - cut * towards[i] * towards[j] for i in range(7) for j in range(i, 7)
    )


def _known(row: Row, p: Covariance, wider: float) -> Ranged:
    """The rolling max of the row with another covariance."""
    factor = max(LEAST_FACTOR, row.m[1])
    t = row.m[0] / factor
    return around((row.reference or 0.0) + t, Z80 * wider * sqrt(level_variance(p, t)) / factor)
