"""Rows and persons for the model's tests: any that training could lead to, and their covariances as whole matrices."""

from datetime import date, timedelta

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from service.core.model.heard import Heard
from service.core.model.learn import learn
from service.core.model.passing import opened
from service.core.model.state import TESTED_SD, Person, Row, new_person, new_row

START = date(2026, 1, 5)
HALVES = [half / 2 for half in range(8, 21)]


def whole(row: Row) -> NDArray[np.float64]:
    """The 7 × 7 covariance."""
    matrix = np.zeros((7, 7))
    matrix[np.triu_indices(7)] = row.p
    return matrix + np.triu(matrix, 1).T


def shared(person: Person) -> NDArray[np.float64]:
    return np.array([[person.v_bias, person.v_both], [person.v_both, person.v_factor]])


# Loads are drawn against the max that was given, wide enough for sets that are refused.
sets = st.builds(
    Heard,
    kg=st.integers(40, 115).map(float),
    reps=st.integers(1, 12),
    rpe=st.one_of(st.none(), st.sampled_from(HALVES)),
) | st.builds(Heard, kg=st.integers(70, 115).map(float), reps=st.integers(0, 6), failed=st.just(True))
starts = st.builds(
    new_row,
    st.sampled_from(["squat_like", "deadlift_like", "other"]),
    st.sampled_from([None, 100.0, 120.0]),
    spread=st.sampled_from([None, TESTED_SD]),
)
gaps = st.sampled_from([0, 0, 0, 2, 4, 7, 30, 150])


def trained(first: Row, second: Row, log: list[tuple[bool, int, Heard]]) -> tuple[Person, Row, Row]:
    """Two lifts of an athlete after a log of (is it the second, days since the last set, set); the first is opened."""
    person, rows, on = new_person(), [first, second], START
    for which, gap, heard in log:
        on += timedelta(days=gap)
        person, rows[which], _ = learn(person, opened(rows[which], person, on), heard)
    return person, opened(rows[0], person, on), rows[1]


histories = st.builds(trained, starts, starts, st.lists(st.tuples(st.booleans(), gaps, sets), max_size=20))
