"""The written-out arithmetic of one observation against matrices, and a bound against the truncated normal."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import truncnorm

from service.core.model.state import Covariance, Person, Row
from service.core.model.update import bound, move, project
from tests.core.model.rows import histories, whole

MANY = settings(max_examples=100, deadline=None)
factors = st.tuples(st.floats(-1, 1), st.floats(0, 10), st.floats(-0.02, 0.07), st.floats(0, 0.05))


def as_matrix(p: Covariance) -> np.ndarray:
    matrix = np.zeros((7, 7))
    matrix[np.triu_indices(7)] = p
    return matrix + np.triu(matrix, 1).T


@MANY
@given(histories, factors, st.floats(-0.3, 0.3), st.floats(1e-4, 0.1))
def test_an_observation_equals_the_matrix_formula(
    history: tuple[Person, Row, Row], how: tuple[float, float, float, float], surprise: float, noise: float
) -> None:
    """m + P c e / S and P - P c c' P / S: J. Durbin and S. J. Koopman, Time Series Analysis (2012), sec. 4.3."""
    _, row, _ = history
    u, fatigue, shape, worth = how
    c = np.array([1, -u, 1, -fatigue, -shape, -worth, 0])
    p = whole(row)
    towards, known = project(row.p, *how)
    assert towards == pytest.approx(p @ c, rel=1e-9, abs=1e-12)
    assert known == pytest.approx(c @ p @ c, rel=1e-9)
    m, q = move(row.m, row.p, towards, surprise / (known + noise), 1 / (known + noise))
    s = c @ p @ c + noise
    assert m == pytest.approx(np.array(row.m) + p @ c * surprise / s, rel=1e-9, abs=1e-12)
    assert as_matrix(q) == pytest.approx(p - np.outer(p @ c, p @ c) / s, rel=1e-7, abs=1e-12)


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("surprise", [-0.3, -0.1, 0.0, 0.05, 0.2, 0.5])
def test_a_bound_leaves_the_moments_of_the_truncated_normal(sign: int, surprise: float) -> None:
    """By scipy: what was expected, a standard normal, given that it lies above (below) the report."""
    spread = 0.1
    at = surprise / spread
    cut_off = truncnorm(at, np.inf) if sign > 0 else truncnorm(-np.inf, at)
    k, cut = bound(sign, surprise, spread)
    assert sign * k == pytest.approx(cut_off.mean(), rel=1e-9)
    assert 1 - cut == pytest.approx(cut_off.var(), rel=1e-6, abs=1e-9)


def test_a_bound_beyond_six_spreads_moves_no_farther() -> None:
    assert bound(1, 9.0, 1.0) == bound(1, 6.0, 1.0)


def test_a_bound_that_was_sure_anyway_says_nothing() -> None:
    """The density seven spreads away is 9e-12."""
    assert bound(1, -0.7, 0.1) == bound(-1, 0.7, 0.1) == (0.0, 0.0)
