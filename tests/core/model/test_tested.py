"""Maxes that were given: which one a row starts from, and what a tested one says to a row that exists."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from math import exp, log

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.model.closing import close_day
from service.core.model.heard import Heard
from service.core.model.kin import Key, level_of
from service.core.model.memory import Known, Memory
from service.core.model.passing import opened
from service.core.model.replay import Event, MaxEvent, SetEvent, replay
from service.core.model.state import Person, Row, new_person, new_row
from service.core.model.tested import Given, after_test, in_force
from tests.core.model.rows import histories, shared, whole

START = date(2026, 1, 5)
SQUAT = Key("squat", "unsupported", "")
PAUSE = Key("pause-squat", "unsupported", "")


def day(number: int) -> date:
    return START + timedelta(days=number)


# Which one is in force.


@pytest.mark.parametrize(
    ("on", "wanted"),
    [
        (0, None),
        (1, Given(140, 0.10)),  # a training max alone
        (5, Given(150, 0.05)),  # tested that day
        (61, Given(150, 0.05)),  # 56 days later
        (62, Given(150, 0.10)),  # 57
        (90, Given(155, 0.05)),  # tested anew; a later training max does not go before
    ],
)
def test_a_row_starts_from_the_last_tested_max_and_else_from_a_training_max(on: int, wanted: Given | None) -> None:
    tested = [(day(5), 150.0), (day(80), 155.0)]
    training = [(day(1), 140.0), (day(70), 145.0)]
    assert in_force(tested, training, day(on)) == wanted
    assert in_force(tested[::-1], training[::-1], day(on)) == wanted


def test_of_one_date_the_last_counts() -> None:
    assert in_force([(day(0), 150.0), (day(0), 155.0)], [], day(0)) == Given(155.0, 0.05)


# What it says.


def by_matrices(row: Row, kg: float) -> tuple[np.ndarray, np.ndarray, float]:
    """A single without a report, 1.5 % below what was possible on average, known to 3 %: by the information form."""
    assert row.reference is not None
    mean, cov = np.array(row.m), whole(row)
    u = log(kg) - row.reference
    c = np.array([1, -u, 1, 0, 0, 0, 0])
    # What was seen: c (mean) = 0.015, as a single to the limit has g(1) = 0.
    after = np.linalg.inv(np.linalg.inv(cov) + np.outer(c, c) / 0.03**2)
    moved = after @ (np.linalg.inv(cov) @ mean + c * 0.015 / 0.03**2)
    return moved, after, abs(0.015 - c @ mean) / np.sqrt(c @ cov @ c + 0.03**2)


@given(histories, st.floats(-0.25, 0.25))
@settings(max_examples=150, deadline=None)
def test_a_tested_max_is_a_single_without_a_report(history: tuple[Person, Row, Row], off: float) -> None:
    person, row, _ = history
    level = level_of(row)
    if level is None or row.day is None:
        return
    row = opened(row, person, row.day + timedelta(days=3))
    kg = exp(level.at + off)
    wanted, cov, z = by_matrices(row, kg)
    after_person, after = after_test(person, row, kg)
    if z > 3.5 or not 0.5 <= wanted[1] <= 2:
        assert after.reference == log(kg)
        return
    sd = np.sqrt(np.diag(cov))
    assert (np.array(after.m) - wanted) / sd == pytest.approx(np.zeros(7), abs=1e-7)
    assert (whole(after) - cov) / np.outer(sd, sd) == pytest.approx(np.zeros((7, 7)), abs=1e-7)
    # Given back to the athlete, so that it need not be adopted.
    assert (after_person.bias, after_person.factor) == after.m[5:]
    assert shared(after_person) == pytest.approx(whole(after)[5:, 5:])
    assert after.seen == after_person.version == person.version + 1
    assert after.used_ever == row.used_ever + 1


@pytest.mark.parametrize("kg", [60, 150])
def test_a_test_that_cannot_be_believed_beside_the_sets_is_a_new_start(kg: float) -> None:
    row = opened(new_row("squat_like", 100, spread=0.03), new_person(), START)
    row = replace(row, refused=(0.4,), flag=0.4, used_ever=9)
    person, after = after_test(new_person(), row, kg)
    level = level_of(after)
    assert level is not None
    assert exp(level.at) == pytest.approx(kg)
    assert level.variance == pytest.approx(0.05**2)
    assert person == new_person()
    assert (after.refused, after.flag, after.used_ever) == ((), None, 10)
    assert after.m[1:] == row.m[1:]


def test_a_test_that_only_an_impossible_curve_could_explain_is_a_new_start() -> None:
    # A curve factor of 1.9 that is hardly known (variance 0.05), 25 % under the reference, 0.11 easier than expected:
    # 0.05 x 0.25 / (0.05 x 0.25² + 0.025² + 0.03² + 0.0001) x 0.11 = 0.29 would make it 2.19.
    row = opened(new_row("other", 100, spread=0.01), new_person(), START)
    p = tuple(0.05 if place == 7 else 0.0 if place == 12 else value for place, value in enumerate(row.p))
    row = replace(row, m=(-0.57, 1.9, *row.m[2:]), p=p)  # type: ignore[arg-type] # 28 of them
    kg = 100 * exp(-0.25)
    moved, _, z = by_matrices(row, kg)
    assert z < 3.5
    assert moved[1] == pytest.approx(2.19, abs=0.01)
    person, after = after_test(new_person(), row, kg)
    level = level_of(after)
    assert level is not None
    assert (exp(level.at), level.variance) == (pytest.approx(kg), pytest.approx(0.05**2))
    assert after.m[1] == 1.9
    assert person == new_person()


def test_an_empty_row_starts_from_a_test() -> None:
    row = opened(new_row("squat_like"), new_person(), START)
    person, after = after_test(new_person(), row, 150)
    started = opened(new_row("squat_like", 150, spread=0.05), person, START)
    assert (after.reference, after.m, after.p) == (started.reference, started.m, started.p)


# In a log.


def known(*maxes: tuple[int, float]) -> Known:
    tested = [(day(number), kg) for number, kg in maxes]
    return Known(BUILT_IN, lambda key, on: in_force(tested, [], on) if key == SQUAT else None)


def a_set(number: int, kg: float, rpe: float = 8, key: Key = SQUAT) -> SetEvent:
    return SetEvent(day(number), key, Heard(kg, 5, rpe), datetime(2026, 1, 5, tzinfo=UTC), f"{key.lift}-{number}-{kg}")


def test_a_test_before_the_first_set_is_where_the_row_starts_and_no_observation() -> None:
    test = MaxEvent(day(0), SQUAT, 150, "one")
    log: list[Event] = [a_set(0, 120), a_set(3, 122.5)]
    assert replay([test, *log], known((0, 150))) == replay(log, known((0, 150)))
    assert replay([test], known((0, 150))) == Memory()


def test_a_test_comes_before_the_sets_of_its_date_and_opens_their_session() -> None:
    log: list[Event] = [a_set(0, 120), MaxEvent(day(4), SQUAT, 160, "two"), a_set(4, 125)]
    before = close_day(replay(log[:1], known((0, 150))))
    row = opened(before.lifts[SQUAT].row, before.person, day(4))
    wanted = after_test(before.person, row, 160)
    memory = replay(log[:2], known((0, 150)))
    assert (memory.person, memory.lifts[SQUAT].row) == wanted
    assert memory.lifts[SQUAT].row.day == memory.lifts[SQUAT].told == day(4)
    later = replay(log, known((0, 150))).lifts[SQUAT].row
    assert later.used_in_session == 2


def test_a_later_training_max_teaches_nothing() -> None:
    log: list[Event] = [a_set(0, 120), a_set(7, 120)]

    def maxes(training: list[tuple[date, float]]) -> Known:
        return Known(BUILT_IN, lambda _, on: in_force([], training, on))

    assert replay(log, maxes([(day(0), 150)])) == replay(log, maxes([(day(0), 150), (day(5), 180)]))


def test_kin_that_rest_hear_of_a_test_at_the_days_end() -> None:
    log: list[Event] = [a_set(0, 120), a_set(0, 108, key=PAUSE)]
    memory = replay(log, known((0, 150)))

    def pause_after(kg: float, on: int) -> float:
        tested = close_day(replay([MaxEvent(day(on), SQUAT, kg, "up")], known((0, 150)), memory))
        level = level_of(tested.lifts[PAUSE].row)
        assert level is not None
        return level.at

    assert pause_after(158, 30) > pause_after(150, 30)
    assert pause_after(158, 1) == pause_after(150, 1)  # trained the day before: it speaks for itself


def test_a_new_start_says_nothing_to_kin() -> None:
    log: list[Event] = [a_set(0, 120), a_set(0, 108, key=PAUSE)]
    memory = close_day(replay(log, known((0, 150))))
    after = replay([MaxEvent(day(30), SQUAT, 95, "hurt")], known((0, 150)), memory)
    assert after.lifts[SQUAT].before == level_of(after.lifts[SQUAT].row)
    assert close_day(after).lifts[PAUSE].row == memory.lifts[PAUSE].row


def test_a_test_of_an_empty_row_starts_it() -> None:
    empty = replay([replace(a_set(0, 100), heard=Heard(100, 5))], known())
    assert empty.lifts[SQUAT].row.reference is None
    memory = replay([MaxEvent(day(2), SQUAT, 150, "first")], known((2, 150)), empty)
    assert memory.lifts[SQUAT].row.reference == log(150)
