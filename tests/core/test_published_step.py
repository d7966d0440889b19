"""The published fixed step, against Helms et al. 2018, Frontiers in Physiology 9:247, table 3."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.adjust.published_step import around, published_step
from service.core.errors import OutOfRange

HALVES = st.integers(2, 20).map(lambda half: half / 2)


@pytest.mark.parametrize(("actual", "factor"), [(8.5, 0.98), (5, 1.04)])
def test_the_two_printed_examples_for_a_range_of_6_to_8(actual: float, factor: float) -> None:
    assert published_step(6, 8, actual) == pytest.approx(factor, abs=1e-12)


@pytest.mark.parametrize("actual", [6, 6.5, 7, 7.5, 8])
def test_inside_of_the_range_the_load_stays(actual: float) -> None:
    assert published_step(6, 8, actual) == 1


@given(HALVES, HALVES, HALVES, HALVES)
def test_a_harder_report_never_gives_a_larger_factor(a: float, b: float, c: float, d: float) -> None:
    low, high = sorted((a, b))
    easier, harder = sorted((c, d))
    assert published_step(low, high, harder) <= published_step(low, high, easier)


def test_a_single_target_stands_for_half_a_point_to_each_side_within_the_scale() -> None:
    assert around(7.5) == (7, 8)
    assert around(10) == (9.5, 10)


@pytest.mark.parametrize(
    ("low", "high", "actual"), [(0.5, 8, 7), (6, 11, 7), (8, 6, 7), (6, 8, 10.5), (6, 8, float("nan"))]
)
def test_numbers_off_the_scale_are_refused(low: float, high: float, actual: float) -> None:
    with pytest.raises(OutOfRange):
        published_step(low, high, actual)
