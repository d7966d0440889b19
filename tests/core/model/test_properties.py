"""What holds for every set on every row that training can lead to."""

import copy
from dataclasses import fields, replace
from math import exp, log

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from service.core.model.evidence import Evidence, compare, reported
from service.core.model.expect import expected_repetitions
from service.core.model.heard import Heard
from service.core.model.learn import learn
from service.core.model.passing import adopt
from service.core.model.shape import h
from service.core.model.state import Person, Row
from tests.core.model.rows import HALVES, gaps, histories, sets, starts, trained, whole

LB = 0.45359237
MANY = settings(max_examples=150, deadline=None)
History = tuple[Person, Row, Row]


def against(row: Row, heard: Heard) -> tuple[Evidence, NDArray[np.float64]]:
    """What the set says against the row, and its factors c."""
    assert row.reference is not None
    expected = expected_repetitions(row, heard.kg, heard.reps)
    found = compare(row, reported(heard, expected), expected)
    through = 0.0 if found.report.rpe is None else found.worth
    return found, np.array([1, row.reference - log(heard.kg), 1, -row.fatigue, -h(found.at), -through, 0])


def moved(before: Row, after: Row) -> NDArray[np.float64]:
    return np.array(after.m) - np.array(before.m)


def beliefs(row: Row) -> tuple[object, ...]:
    """All of a row but what a refused or unrated set may change."""
    return tuple(getattr(row, f.name) for f in fields(row) if f.name not in ("fatigue", "refused"))


@MANY
@given(histories, sets)
def test_no_set_makes_anything_less_sure(history: History, heard: Heard) -> None:
    """c P c of any c never grows: the loss of covariance is positive semidefinite."""
    person, row, _ = history
    assume(row.reference is not None and not row.at_least)  # a bound of a level is narrow, but not two-sided
    _, after, lesson = learn(person, row, heard)
    assume(not lesson.widened and lesson.status != "re_anchored")
    scale = 1 / np.sqrt(np.diag(whole(row)))
    lost = (whole(row) - whole(after)) * np.outer(scale, scale)
    assert np.linalg.eigvalsh(lost).min() > -1e-9


@MANY
@given(histories)
def test_covariances_stay_positive_definite(history: History) -> None:
    person, row, other = history
    for each in (row, adopt(other, person)):
        p = whole(each)
        scale = 1 / np.sqrt(np.diag(p))
        assert np.linalg.eigvalsh(p * np.outer(scale, scale)).min() > 1e-6


@MANY
@given(starts, starts, st.lists(st.tuples(st.booleans(), gaps, sets), max_size=20))
def test_pounds_give_the_same_as_kilograms(first: Row, second: Row, log_of: list[tuple[bool, int, Heard]]) -> None:
    def in_pounds(row: Row) -> Row:
        return row if row.reference is None else replace(row, reference=row.reference - log(LB))

    person, row, _ = trained(first, second, log_of)
    pounds = [(which, gap, replace(heard, kg=heard.kg / LB)) for which, gap, heard in log_of]
    same, lb_row, _ = trained(in_pounds(first), in_pounds(second), pounds)
    assert lb_row.m == pytest.approx(row.m, rel=1e-7, abs=1e-9)
    assert lb_row.p == pytest.approx(row.p, rel=1e-6, abs=1e-9)
    assert (same.bias, same.erratic) == pytest.approx((person.bias, person.erratic), rel=1e-7, abs=1e-9)
    assert (row.reference is None) == (lb_row.reference is None)
    if row.reference is not None and lb_row.reference is not None:
        assert lb_row.reference + log(LB) == pytest.approx(row.reference, abs=1e-12)


@MANY
@given(histories, sets)
def test_a_set_can_be_imagined_without_a_trace_and_gives_the_same_bits_again(history: History, heard: Heard) -> None:
    kept = copy.deepcopy((history[0], history[1], heard))
    once = learn(history[0], history[1], heard)
    assert (history[0], history[1], heard) == kept
    assert learn(*kept) == once  # floats compared bit by bit


@MANY
@given(histories, sets, st.sampled_from([0.1, 0.5]))
def test_a_used_set_moves_the_expectation_for_itself_towards_its_report(
    history: History, heard: Heard, rate: float
) -> None:
    person, row, _ = history
    assume(row.reference is not None)
    person = replace(person, rate=rate)
    _, after, lesson = learn(person, row, heard)
    assume(lesson.status == "used")
    assume(not row.at_least)  # a level that is only a bound is found anew, see test_bounds_of_a_level
    found, c = against(row, heard)
    step = float(c @ moved(row, after))
    rpe = found.report.rpe
    if heard.failed and heard.reps == 0:
        assert step <= 1e-12  # at most: down, whatever was expected
    elif rpe is None and not heard.failed:
        assert step >= -1e-12  # at least: up
    elif rpe is not None and rpe <= 7 and found.surprise > 0:
        assert -1e-12 <= step <= found.surprise + 1.5 * found.worth + 1e-12  # up, but not far beyond the report
    elif rpe is not None and rpe <= 6:
        assert step == 0
    else:
        assert -1e-12 <= step * np.sign(found.surprise) <= abs(found.surprise) + 1e-12


@MANY
@given(histories, st.integers(40, 115), st.integers(1, 12), st.sampled_from([4, 5, 5.5, 6]))
def test_a_low_effort_that_was_not_easier_than_expected_only_tires(
    history: History, kg: int, reps: int, rpe: float
) -> None:
    person, row, _ = history
    assume(row.reference is not None)
    heard = Heard(float(kg), reps, rpe)
    assume(against(row, heard)[0].surprise <= 0)
    after = learn(person, row, heard)[1]
    assert (after.m, after.p) == (row.m, row.p)
    assert after.fatigue > row.fatigue


@MANY
@given(histories, st.floats(1.3, 12), st.integers(1, 12), st.sampled_from([*HALVES, None]))
def test_a_refused_set_only_tires(history: History, times: float, reps: int, rpe: float | None) -> None:
    person, row, _ = history
    assume(row.reference is not None)
    heard = Heard(exp(row.reference) * times, reps, rpe)
    athlete, after, lesson = learn(person, row, heard)
    assume(lesson.status == "refused")
    assert beliefs(after) == beliefs(row)
    assert after.fatigue > row.fatigue
    assert replace(athlete, rate=0) == replace(person, rate=0)
