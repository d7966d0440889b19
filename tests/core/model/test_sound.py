"""Rows that cannot be, and what is left of them when they are mended."""

from dataclasses import replace
from math import inf, nan

import numpy as np
import pytest
from hypothesis import given, settings

from service.core.model.sound import repaired, repaired_person, sound, sound_person
from service.core.model.state import Person, Row, new_person, new_row
from tests.core.model.rows import histories, whole


def with_p(row: Row, changes: dict[int, float]) -> Row:
    return replace(row, p=tuple(changes.get(place, value) for place, value in enumerate(row.p)))  # type: ignore[arg-type]


@given(histories)
@settings(max_examples=60, deadline=None)
def test_rows_of_any_history_are_sound_and_left_alone(history: tuple[Person, Row, Row]) -> None:
    person, row, other = history
    assert sound(row)
    assert sound(other)
    assert sound_person(person)
    assert repaired(row) is row
    assert repaired_person(person) is person


def tied() -> Row:
    """A row in which everything hangs together: 0.3 between any two, in standard deviations."""
    row = new_row("squat_like", 100)
    sd = np.sqrt(np.diag(whole(row)))
    p = np.outer(sd, sd) * (0.7 * np.eye(7) + 0.3)
    return replace(row, m=(0.1, 1.2, 0.01, 0.004, 0.3, -0.4, 0.05), p=tuple(p[np.triu_indices(7)].tolist()))


@pytest.mark.parametrize("element", range(7))
@pytest.mark.parametrize("value", [0.0, -1e-6, 1e-13, nan, inf])
def test_a_variance_that_is_none_starts_anew_and_takes_its_ties_with_it(element: int, value: float) -> None:
    places = [0, 7, 13, 18, 22, 25, 27]
    row = with_p(tied(), {places[element]: value})
    assert not sound(row)
    mended = repaired(row)
    assert sound(mended)
    assert mended.seen == -1
    found, wanted = whole(mended), whole(tied())
    start = new_row("squat_like")
    wanted[element, :] = wanted[:, element] = 0
    wanted[element, element] = whole(start)[element, element]
    assert (found == wanted).all()
    kept = [i for i in range(7) if i != element]
    assert [mended.m[i] for i in kept] == [row.m[i] for i in kept]
    assert mended.m[element] == start.m[element]
    assert np.linalg.eigvalsh(found).min() > 0


def test_report_and_curve_tied_beyond_one_start_anew_both() -> None:
    row = tied()
    row = with_p(row, {26: 1.01 * (row.p[25] * row.p[27]) ** 0.5})
    assert not sound(row)
    mended = repaired(row)
    assert sound(mended)
    assert mended.p[25:] == (0.5**2, 0.0, 0.11**2)
    assert mended.m[5:] == (0.2, 0.0)
    assert mended.m[:5] == row.m[:5]


def test_a_covariance_that_is_no_number_takes_both_sides_with_it() -> None:
    mended = repaired(with_p(tied(), {1: nan}))  # level and curve factor
    assert sound(mended)
    assert mended.m[:2] == (0.0, 1.08)
    assert mended.m[2:] == tied().m[2:]


def test_a_mean_that_is_no_number_starts_anew() -> None:
    row = replace(tied(), m=(0.1, nan, *tied().m[2:]), fatigue=nan)
    mended = repaired(row)
    assert sound(mended)
    assert (mended.m[0], mended.m[1], mended.fatigue) == (0.1, 1.08, 0.0)


def test_a_row_whose_reference_is_no_number_is_empty() -> None:
    assert repaired(replace(tied(), reference=nan)).reference is None


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ({"v_bias": 0.0}, {"bias": 0.2, "v_bias": 0.25, "factor": 0.05, "v_factor": 0.01}),
        ({"v_factor": nan}, {"bias": 0.4, "v_bias": 0.2, "factor": 0.0, "v_factor": 0.11**2}),
        ({"v_both": 1.0}, {"bias": 0.2, "v_bias": 0.25, "factor": 0.0, "v_factor": 0.11**2}),
        ({"v_both": nan}, {"bias": 0.4, "v_bias": 0.2, "factor": 0.05, "v_factor": 0.01}),
        ({"bias": inf}, {"bias": 0.2, "v_bias": 0.25, "factor": 0.05, "v_factor": 0.01}),
    ],
)
def test_an_athlete_that_cannot_be_is_mended(changes: dict[str, float], wanted: dict[str, float]) -> None:
    person = Person(bias=0.4, factor=0.05, v_bias=0.2, v_both=0.01, v_factor=0.01, rate=0.7, judged=4, version=9)
    broken = replace(person, **changes)
    assert not sound_person(broken)
    mended = repaired_person(broken)
    assert sound_person(mended)
    assert mended == replace(person, **wanted, v_both=0.0, version=10)


def test_rates_that_are_no_numbers_start_anew() -> None:
    mended = repaired_person(Person(rate=nan, erratic=inf))
    assert (mended.rate, mended.erratic) == (new_person().rate, new_person().erratic)
