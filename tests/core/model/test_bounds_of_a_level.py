"""Easy sets of a lift of which nothing else is known: they bound its level from below, and say nothing of the curve."""

from __future__ import annotations

from datetime import date, timedelta
from math import exp, log

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.core.model.expect import expected_repetitions
from service.core.model.heard import Heard, Lesson
from service.core.model.kin import level_of
from service.core.model.learn import learn
from service.core.model.levels import day_max, rolling_max
from service.core.model.load import unlimited_load
from service.core.model.needs import needs
from service.core.model.passing import opened
from service.core.model.state import Person, Row, new_person, new_row
from service.core.model.stored import row_from, row_values
from service.core.model.tested import after_test
from tests.core.model import plain_outputs
from tests.core.model.both import as_lift

DAY = date(2026, 1, 5)
EASY = st.builds(Heard, st.integers(15, 60).map(float), st.integers(3, 15), st.sampled_from([4, 5, 5.5, 6]))


def after(*sets: Heard, group: str = "other") -> tuple[Person, Row, Lesson]:
    """A lift without a max after sets of one day."""
    person, lesson = new_person(), Lesson("unrated")
    row = opened(new_row(group), person, DAY)  # type: ignore[arg-type]
    for one in sets:
        person, row, lesson = learn(person, row, one)
    return person, row, lesson


def max_of(row: Row) -> float:
    """The max that a row stands for. [kg]"""
    assert row.reference is not None
    return exp(row.reference + row.m[0] / row.m[1])


def test_the_first_easy_set_is_a_bound_by_hand() -> None:
    # 15 repetitions and five left: n = 20; g(20) = 0.4 ln(1 + 0.116 * 19) = 0.4 ln 3.204 = 0.465760
    # a report hides 0.2 + 0.1 * (5 - 1) = 0.6 repetitions, each worth 0.0464 / 3.204 = 0.014482: 0.008689
    _, row, lesson = after(Heard(15, 15, 5))
    assert row.at_least
    assert lesson.status == "used"
    assert max_of(row) == pytest.approx(15 * exp(0.465760 + 0.008689), rel=1e-5)
    start = new_row("other")
    assert row.m[1:] == start.m[1:]
    assert row.p[1:] == start.p[1:]


def test_a_curve_for_more_repetitions_at_a_load_bounds_the_max_nearer_to_the_load() -> None:
    # of the squat's curve factor 1.08: (0.465760 + 0.008689) / 1.08
    assert max_of(after(Heard(15, 15, 5), group="squat_like")[1]) == pytest.approx(15 * exp(0.474449 / 1.08), rel=1e-5)


@given(st.lists(EASY, min_size=1, max_size=12))
def test_easy_sets_move_the_bound_and_nothing_else(sets: list[Heard]) -> None:
    _, row, _ = after(*sets)
    start = new_row("other")
    assert row.at_least
    assert row.m[1:] == start.m[1:]
    assert row.p[1:] == start.p[1:]


@given(st.lists(EASY, min_size=1, max_size=8), EASY)
def test_an_easy_set_never_lowers_the_bound_and_is_no_easier_than_that_afterwards(
    sets: list[Heard], last: Heard
) -> None:
    person, row, _ = after(*sets)
    was, tired = max_of(row), row.fatigue
    _, row, lesson = learn(person, row, last)
    assert max_of(row) >= was * (1 - 1e-9)
    if lesson.status == "used":
        possible = expected_repetitions(row, last.kg, last.reps, tired)
        assert possible >= last.reps + 10 - (last.rpe or 0) - 0.01


@given(
    st.lists(EASY, min_size=1, max_size=8),
    st.integers(30, 90).map(float),
    st.integers(1, 10),
    st.sampled_from([6.5, 7, 8, 9, 10]),
)
def test_the_first_set_that_tells_is_believed_whatever_the_bound_was(
    sets: list[Heard], kg: float, reps: int, rpe: float
) -> None:
    person, row, _ = after(*sets)
    tired = row.fatigue
    _, row, lesson = learn(person, row, Heard(kg, reps, rpe))
    assume(lesson.status == "used")
    assert not row.at_least
    assert row.used_ever == 1
    assert abs(expected_repetitions(row, kg, reps, tired) - (reps + 10 - rpe)) < 0.1


@given(st.lists(EASY, min_size=1, max_size=8), st.integers(20, 120).map(float), st.sampled_from([5, 6, 7, 8, 10, None]))
def test_the_max_never_goes_against_what_a_set_showed(sets: list[Heard], kg: float, rpe: float | None) -> None:
    person, row, _ = after(*sets)
    was = max_of(row)
    _, row, lesson = learn(person, row, Heard(kg, 5, rpe, failed=rpe is None))
    if lesson.status == "used" and lesson.surprise:
        assert (max_of(row) - was) * lesson.surprise >= -1e-9


def test_a_single_that_failed_above_the_bound_says_nothing_and_one_below_it_does() -> None:
    easy = Heard(40, 8, 6)  # 12 possible at least: about 56 kg
    _, bound, _ = after(easy)
    _, above, _ = after(easy, Heard(70, 0, failed=True))
    _, below, _ = after(easy, Heard(50, 0, failed=True))
    assert max_of(above) == max_of(bound)
    assert above.at_least
    assert max_of(below) < 51
    assert not below.at_least


def test_words_say_nothing_beside_a_bound() -> None:
    person, bound, _ = after(Heard(40, 8, 6))
    for felt in ("lighter", "as_expected", "heavier"):
        _, row, lesson = learn(person, bound, Heard(60, 8, felt=felt))
        assert (max_of(row), lesson.status) == (max_of(bound), "unrated")


def test_a_slip_far_above_is_not_believed_and_two_that_agree_are() -> None:
    sets = [Heard(20, 10, 5), Heard(25, 10, 5), Heard(250, 10, 5)]
    _, once, lesson = after(*sets)
    assert (lesson.status, max_of(once)) == ("refused", max_of(after(*sets[:2])[1]))
    _, twice, lesson = after(*sets, Heard(260, 8, 8))
    assert lesson.status == "re_anchored"
    assert max_of(twice) > 250


def test_the_range_of_a_bound_is_open_upwards_and_a_hard_set_is_what_helps() -> None:
    person, row, _ = after(Heard(40, 8, 6))
    found = rolling_max(row, person)
    assert found is not None
    assert found.kg / found.low == pytest.approx(exp(1.28155 * 1.07 * 0.05), rel=0.02)
    assert found.high / found.kg == pytest.approx(exp(1.28155 * 0.5), rel=1e-4)
    assert [need.code for need in needs(row, person).needs] == ["first_rated_set"]
    _, told, _ = learn(person, row, Heard(50, 5, 8))
    known = rolling_max(told, person)
    assert known is not None
    assert log(known.high / known.low) < 0.5 * log(found.high / found.low)


@given(st.lists(EASY, min_size=1, max_size=6), st.integers(1, 8), st.sampled_from([6.0, 7, 8, 9]))
def test_what_is_told_of_a_bound_is_what_the_plain_model_tells(sets: list[Heard], reps: int, rpe: float) -> None:
    person, row, _ = after(*sets)
    lift = as_lift(row)
    found, today = rolling_max(row, person), day_max(row)
    assert found is not None
    assert today is not None
    assert (found.kg, found.low, found.high) == pytest.approx(plain_outputs.estimated_max(lift, person.rate))
    assert (today.kg, today.low, today.high) == pytest.approx(plain_outputs.day_capacity(lift))
    assert unlimited_load(row, reps, rpe) == pytest.approx(
        float(np.exp(lift.yref + plain_outputs.report_u(lift, reps + 10 - rpe, reps)))
    )


def test_kin_is_told_nothing_by_a_bound_and_a_test_settles_it() -> None:
    person, row, _ = after(Heard(40, 8, 6))
    assert level_of(row) is None
    _, tested = after_test(person, row, 90)
    assert max_of(tested) == pytest.approx(90)
    assert not tested.at_least


def test_a_bound_is_stored_and_comes_through_days_without_training() -> None:
    person, row, _ = after(Heard(40, 8, 6))
    assert row_from(row_values(row)) == row
    later = opened(row, person, DAY + timedelta(days=9))
    assert later.at_least
