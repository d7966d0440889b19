"""Days that pass between the sessions of a lift, and what is adopted of the athlete."""

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.model.passing import adopt, begin, opened, returned_from_injury
from service.core.model.state import Person, Row, new_person, new_row
from tests.core.model.rows import START, histories, shared, whole

LEVEL, FACTOR, DAY, LOSS, BEND, BIAS, PERSON = range(7)
FEW = settings(max_examples=60, deadline=None)


def after(row: Row, days: int) -> Row:
    return begin(row, START + timedelta(days=days))


@pytest.fixture
def row() -> Row:
    """A row in which everything is told apart: no mean is zero, all covariances differ, positive definite."""
    root = np.tril(np.arange(1.0, 50).reshape(7, 7)) * 0.002
    p = (root @ root.T + 0.02 * np.eye(7))[np.triu_indices(7)]
    return Row(
        reference=4.5, group="other", m=(0.03, 1.1, 0.02, 0.005, 0.2, 0.3, 0.04), p=tuple(map(float, p)),
        day=START, fatigue=4.0, used_in_session=3, used_ever=9, seen=2,
    )  # fmt: skip


def test_the_first_session_has_no_time_step() -> None:
    row = new_row("other", 100)
    assert begin(row, START) == replace(row, day=START)


def test_a_second_session_of_the_date_goes_on(row: Row) -> None:
    assert begin(row, START) is row


def test_days_move_the_level_and_make_it_less_sure(row: Row) -> None:
    later = after(row, 5)
    assert later.m[LEVEL] == pytest.approx(0.03 + 5 * 0.0002)
    before, now = whole(row), whole(later)
    assert now[LEVEL, LEVEL] == pytest.approx(before[LEVEL, LEVEL] + 5 * 0.005**2)
    others = [FACTOR, LOSS, BEND, BIAS, PERSON]
    assert (now[np.ix_(others, others)] == before[np.ix_(others, others)]).all()
    assert (now[LEVEL, others] == before[LEVEL, others]).all()
    assert (later.m[1], *later.m[3:]) == (row.m[1], *row.m[3:])


def test_the_drift_stops_after_two_weeks_and_the_doubt_does_not(row: Row) -> None:
    later = after(row, 60)
    assert later.m[LEVEL] == pytest.approx(0.03 + 14 * 0.0002)
    assert later.p[0] == pytest.approx(row.p[0] + 60 * 0.005**2)


def test_a_new_day_is_drawn_anew_and_rested(row: Row) -> None:
    later = after(row, 1)
    assert later.m[DAY] == 0
    assert whole(later)[DAY].tolist() == [0, 0, 0.025**2, 0, 0, 0, 0]
    assert (later.fatigue, later.used_in_session, later.refused) == (0, 0, ())
    assert (later.used_ever, later.seen, later.day) == (9, 2, START + timedelta(days=1))


@pytest.mark.parametrize(
    ("used", "refused", "flag"),
    [
        (0, (-0.4, -0.5), -0.45),  # (-0.4 - 0.5) / 2
        (0, (-0.4,), None),  # one alone says nothing
        (1, (-0.4, -0.5), None),  # the session used something
        (0, (), None),
    ],
)
def test_a_session_that_used_nothing_and_refused_two_is_remembered(
    row: Row, used: int, refused: tuple[float, ...], flag: float | None
) -> None:
    closed = after(replace(row, used_in_session=used, refused=refused, flag=0.3), 3)
    assert closed.flag == (flag if flag is None else pytest.approx(flag))


def test_a_date_that_goes_back_by_travel_is_a_session_a_day_later(row: Row) -> None:
    back = begin(row, START - timedelta(days=1))
    assert replace(back, day=START + timedelta(days=1)) == after(row, 1)


def test_after_a_long_absence_or_an_injury_the_level_is_believed_no_better_than_a_given_max() -> None:
    sure = replace(new_row("other", 100, spread=0.02), day=START)
    assert after(sure, 119).p[0] == pytest.approx(0.02**2 + 119 * 0.005**2)  # 0.058²
    assert after(sure, 120).p[0] == pytest.approx(0.1**2)
    assert after(sure, 500).p[0] == pytest.approx(0.02**2 + 500 * 0.005**2)  # 0.114²: already less sure
    assert returned_from_injury(sure) == replace(sure, p=(0.1**2, *sure.p[1:]))
    unsure = new_row("other")
    assert returned_from_injury(unsure) == unsure


def test_time_passes_for_an_empty_row_too() -> None:
    later = after(replace(new_row("other"), day=START, fatigue=2.0), 3)
    assert later.reference is None
    assert (later.m[LEVEL], later.p[0], later.fatigue) == pytest.approx((0.0006, 0.2**2 + 3 * 0.005**2, 0.0))


def test_a_new_lift_adopts_what_the_first_has_taught() -> None:
    """By hand: the factor is 1 + person + the lift's own part, which no other lift tells of."""
    known = Person(bias=-0.3, factor=0.06, v_bias=0.1, v_both=0.002, v_factor=0.004, version=7)
    row = adopt(new_row("squat_like", 150), known)
    assert (row.m[FACTOR], row.m[BIAS], row.m[PERSON]) == pytest.approx((1.14, -0.3, 0.06))
    p = whole(row)
    assert p[FACTOR, FACTOR] == pytest.approx(0.09**2 + 0.004)
    assert (p[FACTOR, PERSON], p[FACTOR, BIAS], p[BIAS, PERSON]) == pytest.approx((0.004, 0.002, 0.002))
    assert row.seen == 7


def test_an_athlete_that_the_row_has_seen_is_not_adopted_again(row: Row) -> None:
    assert adopt(row, Person(bias=5.0, version=2)) is row


def test_adopting_equals_the_matrix_formula(row: Row) -> None:
    """m + G (x - m_s), P + G (X - P_ss) G' with G = P_.s P_ss^-1, by numpy."""
    person = Person(bias=0.1, factor=-0.02, v_bias=0.15, v_both=0.01, v_factor=0.008, version=3)
    now = adopt(row, person)
    p = whole(row)
    gain = p[:, 5:] @ np.linalg.inv(p[5:, 5:])
    assert now.m == pytest.approx(np.array(row.m) + gain @ (np.array([0.1, -0.02]) - row.m[5:]), rel=1e-12)
    assert whole(now) == pytest.approx(p + gain @ (shared(person) - p[5:, 5:]) @ gain.T, rel=1e-11)


@FEW
@given(histories, st.floats(0.2, 1.5), st.floats(-0.9, 0.9), st.floats(-1, 1), st.floats(-0.2, 0.2))
def test_what_was_adopted_is_the_athletes_own_and_leaves_covariances_sound(
    history: tuple[Person, Row, Row], size: float, together: float, bias: float, factor: float
) -> None:
    """The marginal of what is shared is the athlete's; what the row knows given it is as before."""
    _, row, _ = history
    a, b = 0.3 * size, 0.08 * size
    person = Person(bias=bias, factor=factor, v_bias=a * a, v_both=together * a * b, v_factor=b * b, version=-7)
    now = adopt(row, person)
    assert (now.m[5], now.m[6], *now.p[25:]) == (bias, factor, a * a, together * a * b, b * b)
    p, q = whole(row), whole(now)
    assert np.linalg.eigvalsh(q).min() > 0
    before, later = (x[:5, :5] - x[:5, 5:] @ np.linalg.inv(x[5:, 5:]) @ x[5:, :5] for x in (p, q))
    assert before == pytest.approx(later, rel=1e-6, abs=1e-9)


def test_opening_is_time_and_then_adopting(row: Row) -> None:
    person = replace(new_person(), bias=0.0, version=5)
    on = date(2026, 2, 1)
    assert opened(row, person, on) == adopt(begin(row, on), person)
