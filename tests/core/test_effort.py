"""Effort: numbers, words, and what is refused."""

from __future__ import annotations

from math import inf, nan
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.effort import nearest_half, published_left, repetitions_left, to_rpe, words_left
from service.core.errors import NotComputable, OutOfRange
from service.core.records import Felt

halves = st.integers(2, 20).map(lambda doubled: doubled / 2)
WORDS = ("no", "one", "two", "three", "four", "five", "six")


@settings(max_examples=100)
@given(st.floats(1, 10))
def test_repetitions_left_and_rpe_add_up_to_ten(rpe: float) -> None:
    assert repetitions_left(rpe) + rpe == pytest.approx(10)


@pytest.mark.parametrize("rpe", [nan, inf, -inf, 0.5, 0, -8, 10.5, 11, 500])
def test_an_rpe_off_the_scale_is_refused_with_its_range(rpe: float) -> None:
    for function in (repetitions_left, published_left, lambda value: to_rpe(rpe=value)):
        with pytest.raises(OutOfRange) as refused:
            function(rpe)
        assert (refused.value.name, refused.value.low, refused.value.high) == ("rpe", 1, 10)


def test_an_entered_effort_has_halves_only() -> None:
    for call in (lambda: to_rpe(rpe=8.3), lambda: to_rpe(rir=1.25), lambda: published_left(9.9)):
        with pytest.raises(NotComputable) as refused:
            call()
        assert refused.value.code == "not_a_half"


@pytest.mark.parametrize("rpe", [1, 2.5, 4.5, 6.5])
def test_the_publication_names_no_repetitions_below_5_and_at_6_and_a_half(rpe: float) -> None:
    with pytest.raises(NotComputable) as refused:
        published_left(rpe)
    assert refused.value.code == "not_published"


@given(halves)
def test_an_rpe_stays_as_it_was_given(rpe: float) -> None:
    assert to_rpe(rpe=rpe) == rpe


@given(halves.filter(lambda left: left <= 9))
def test_repetitions_left_become_ten_minus_them(left: float) -> None:
    assert to_rpe(rir=left) == 10 - left


def test_five_or_more_left_count_as_five() -> None:
    assert to_rpe(rir=5, or_more=True) == 5
    assert to_rpe(rir=7, or_more=True) == 5
    assert to_rpe(rir=7) == 3


@pytest.mark.parametrize(
    ("felt", "expected", "rpe"),
    [
        ("as_expected", 8, 8),
        ("as_expected", 7.7, 7.5),  # 7.7 is nearer to 7.5 than to 8
        ("lighter", 7.7, 6.5),
        ("heavier", 7.7, 8.5),
        ("lighter", 2.9, 3),  # limited to 4 first
        ("as_expected", 11.2, 10),  # limited to 10
        ("heavier", 9.8, 10),  # 10 + 1 would be off the scale
        ("heavier", 8.75, 10),  # a quarter rounds to the harder half, 9
    ],
)
def test_words_are_one_point_around_the_expected_effort(felt: Felt, expected: float, rpe: float) -> None:
    assert to_rpe(felt=felt, expected_rpe=expected) == rpe


def test_words_without_an_expectation_and_no_effort_at_all_are_no_rpe() -> None:
    assert to_rpe(felt="heavier") is None
    assert to_rpe() is None
    assert to_rpe(expected_rpe=8) is None


def test_an_expectation_does_not_change_a_number() -> None:
    assert to_rpe(rpe=9, expected_rpe=6) == 9


@pytest.mark.parametrize(
    "given_efforts", [{"rpe": 8, "rir": 2}, {"rpe": 8, "felt": "lighter"}, {"rir": 2, "felt": "lighter"}]
)
def test_two_efforts_at_once_are_refused(given_efforts: dict[str, Any]) -> None:
    with pytest.raises(NotComputable) as refused:
        to_rpe(**given_efforts)
    assert refused.value.code == "two_efforts"


@pytest.mark.parametrize("given_efforts", [{"rir": 4}, {}, {"rpe": 5}])
def test_or_more_needs_five_repetitions_left(given_efforts: dict[str, Any]) -> None:
    with pytest.raises(NotComputable) as refused:
        to_rpe(or_more=True, **given_efforts)
    assert refused.value.code == "or_more"


@pytest.mark.parametrize("left", [nan, inf, -0.5, 9.5, 500])
def test_repetitions_left_off_the_scale_are_refused(left: float) -> None:
    with pytest.raises(OutOfRange) as refused:
        to_rpe(rir=left)
    assert (refused.value.name, refused.value.low, refused.value.high) == ("rir", 0, 9)


@settings(max_examples=100)
@given(st.floats(5.3, 9.2))
def test_the_number_in_words_is_within_a_quarter_of_what_is_expected_to_be_left(rpe: float) -> None:
    numbers = [WORDS.index(word) for word in words_left(rpe).split() if word in WORDS]
    assert sum(numbers) / len(numbers) == pytest.approx(10 - rpe, abs=0.2501)


def test_words_at_both_ends_of_the_scale() -> None:
    assert words_left(10) == words_left(10.6) == words_left(9.8) == "leaves nothing"
    assert words_left(9.5) == "leaves no further repetition, perhaps a little more load"
    assert words_left(9) == "leaves about one repetition"
    assert words_left(5.5) == "leaves four or five repetitions"
    assert words_left(5) == words_left(1) == "leaves five or more repetitions"


@given(st.floats(-20, 20))
def test_nearest_half_is_a_half_within_a_quarter(value: float) -> None:
    rounded = nearest_half(value)
    assert (2 * rounded).is_integer()
    assert abs(rounded - value) <= 0.25
