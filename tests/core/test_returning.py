"""Coming back after an absence. The numbers are a rule of ours, so that they are worked out by hand here."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.records import ReturnRule
from service.core.returning import NOTHING_EASED, eased, eased_on

BACK = date(2026, 3, 2)
RULE = ReturnRule(fewer_sets_percent=100 / 3)
"""As it stands, but for the sets: a third is easier to follow by hand than 33 %."""


def on(days: int) -> date:
    return BACK + timedelta(days=days)


@pytest.mark.parametrize(
    ("absent", "off"),
    [
        (14, 0.015),  # one week after the first
        (21, 0.030),
        (28, 0.045),
        (49, 0.090),
        (56, 0.100),  # seven weeks after the first would be 10.5 %
        (300, 0.100),
    ],
)
def test_the_first_day_back_is_lighter_by_the_weeks_of_absence(absent: int, off: float) -> None:
    day = eased(RULE, absent, BACK, BACK)
    assert day.load == pytest.approx(1 - off)
    assert day.sets == pytest.approx(2 / 3)
    assert day.absent_days == absent


def test_less_than_two_weeks_is_no_absence() -> None:
    assert eased(RULE, 13, BACK, BACK) is NOTHING_EASED


@pytest.mark.parametrize(("absent", "length"), [(14, 7), (20, 10), (28, 14), (42, 21), (200, 21)])
def test_loads_and_sets_come_back_evenly_over_half_the_absence(absent: int, length: int) -> None:
    first = eased(RULE, absent, BACK, BACK)
    assert first.until == on(length)
    for days in range(length):
        left = 1 - days / length
        day = eased(RULE, absent, BACK, on(days))
        assert day.load == pytest.approx(1 - (1 - first.load) * left)
        assert day.sets == pytest.approx(1 - left / 3)
    assert eased(RULE, absent, BACK, on(length)) is NOTHING_EASED


def test_a_half_day_counts_until_the_next_morning() -> None:
    # Fifteen days of absence take seven and a half.
    day = eased(RULE, 15, BACK, on(7))
    assert day.load == pytest.approx(1 - 0.015 * (15 / 7 - 1) * (1 - 7 / 7.5))
    assert day.until == on(8)
    assert eased(RULE, 15, BACK, on(8)) is NOTHING_EASED


def test_the_coach_can_change_every_number() -> None:
    rule = ReturnRule(
        from_days=10, less_percent_a_week=2, most_percent=5, fewer_sets_percent=50, back_percent=100, fewest_days=3,
        most_days=30,
    )  # fmt: skip
    day = eased(rule, 21, BACK, BACK)
    assert day.load == pytest.approx(0.96)
    assert (day.sets, day.until) == (0.5, on(21))
    assert eased(rule, 70, BACK, BACK).load == pytest.approx(0.95)
    assert eased(rule, 9, BACK, BACK) is NOTHING_EASED


def test_a_coach_may_ease_the_sets_alone() -> None:
    rule = ReturnRule(less_percent_a_week=0, fewer_sets_percent=100 / 3)
    day = eased_on(rule, [on(-28)], BACK)
    assert (day.load, day.sets) == (1.0, pytest.approx(2 / 3))


def test_switched_off_nothing_is_eased() -> None:
    assert eased_on(None, [on(-100)], BACK) is NOTHING_EASED


def test_an_absence_is_read_from_the_dates_of_sessions() -> None:
    sessions = [on(-30), on(-28), on(0), on(2), on(4)]
    assert eased_on(RULE, sessions[:2], BACK) == eased(RULE, 28, BACK, BACK)
    assert eased_on(RULE, sessions[::-1], on(4)) == eased(RULE, 28, BACK, on(4))
    assert eased_on(RULE, sessions, on(14)) is NOTHING_EASED


def test_later_sessions_and_the_first_ever_are_no_absence() -> None:
    assert eased_on(RULE, [on(40)], BACK) is NOTHING_EASED
    assert eased_on(RULE, [], BACK) is NOTHING_EASED


def test_of_two_absences_the_one_that_eases_more_counts() -> None:
    # Ten weeks away, back for one session, then another fifteen days: 10 % x (1 - 15/21) is more than 1.7 %.
    sessions = [on(-85), on(-15)]
    assert eased_on(RULE, sessions, BACK) == eased(RULE, 70, on(-15), BACK)
    # Fifteen days, then two weeks and a day: the newer one.
    sessions = [on(-30), on(-15)]
    assert eased_on(RULE, sessions, BACK) == eased(RULE, 15, BACK, BACK)


@given(st.integers(0, 500), st.integers(0, 60))
def test_a_longer_absence_is_never_eased_less_and_a_later_day_never_more(absent: int, days: int) -> None:
    day = eased(RULE, absent, BACK, on(days))
    assert 0.9 - 1e-12 <= day.load <= 1
    assert 2 / 3 - 1e-12 <= day.sets <= 1
    assert eased(RULE, absent + 1, BACK, on(days)).load <= day.load + 1e-12
    assert eased(RULE, absent, BACK, on(days + 1)).load >= day.load - 1e-12
