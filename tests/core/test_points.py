"""Properties of the points tables."""

from __future__ import annotations

from itertools import pairwise
from math import inf, nan
from typing import Literal

import pytest

from service.core.errors import OutOfRange
from service.core.points import gl_points, wilks

Sex = Literal["female", "male"]
SEXES: tuple[Sex, ...] = ("female", "male")
HEAVIEST = {"female": 150, "male": 200}


@pytest.mark.parametrize("sex", SEXES)
def test_the_same_total_is_worth_less_the_heavier_the_lifter(sex: Sex) -> None:
    """Inside of the stated body weights; the Wilks polynomial turns beyond them."""
    weights = [40 + i / 4 for i in range(4 * (HEAVIEST[sex] - 40) + 1)]
    assert all(a > b > 0 for a, b in pairwise(wilks(500, sex=sex, body_weight_kg=w) for w in weights))
    for equipped in (False, True):
        for bench_only in (False, True):
            points = [
                gl_points(500, sex=sex, body_weight_kg=w, equipped=equipped, bench_only=bench_only)
                for w in range(40, 251)
            ]
            assert all(a > b > 0 for a, b in pairwise(points))


@pytest.mark.parametrize("sex", SEXES)
def test_points_are_proportional_to_the_total(sex: Sex) -> None:
    assert wilks(600, sex=sex, body_weight_kg=80) == pytest.approx(2 * wilks(300, sex=sex, body_weight_kg=80))
    assert gl_points(600, sex=sex, body_weight_kg=80) == pytest.approx(2 * gl_points(300, sex=sex, body_weight_kg=80))
    assert wilks(0, sex=sex, body_weight_kg=80) == 0


@pytest.mark.parametrize("value", [nan, inf, -1, 1e308])
def test_impossible_masses_are_refused(value: float) -> None:
    for kg, body_weight_kg in ((value, 80), (500, value)):
        with pytest.raises(OutOfRange):
            wilks(kg, sex="male", body_weight_kg=body_weight_kg)
        with pytest.raises(OutOfRange):
            gl_points(kg, sex="male", body_weight_kg=body_weight_kg)


def test_a_body_weight_that_the_polynomial_does_not_cover_is_refused() -> None:
    for sex in SEXES:
        with pytest.raises(OutOfRange):
            wilks(500, sex=sex, body_weight_kg=HEAVIEST[sex] + 1)
