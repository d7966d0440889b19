"""The scale of effort against the words of its publication."""

from __future__ import annotations

import pytest

from service.core.effort import published_left, repetitions_left

# Zourdos et al. 2016, JSCR 30(1):267-275, doi 10.1519/JSC.0000000000001049; Helms, Cronin, Storey and Zourdos 2016,
# Strength Cond J 38(4):42-49, doi 10.1519/SSC.0000000000000218: repetitions remaining, fewest and most.
SCALE = {10: (0, 0), 9.5: (0, 0), 9: (1, 1), 8.5: (1, 2), 8: (2, 2), 7.5: (2, 3), 7: (3, 3), 6: (4, 6), 5: (4, 6)}


@pytest.mark.parametrize("rpe", SCALE)
def test_repetitions_left_by_the_words_of_the_scale(rpe: float) -> None:
    assert published_left(rpe) == SCALE[rpe]


def test_the_arithmetic_agrees_with_the_words_where_they_name_one_number() -> None:
    """10 minus RPE is exact at 7, 8, 9 and 10, and inside the stated pair at 8.5, 7.5, 6 and 5."""
    for rpe in (7, 8, 9, 10):
        assert (repetitions_left(rpe), repetitions_left(rpe)) == SCALE[rpe]
    for rpe in (8.5, 7.5, 6, 5):
        low, high = SCALE[rpe]
        assert low <= repetitions_left(rpe) <= high


def test_at_nine_and_a_half_the_words_leave_no_repetition_and_the_arithmetic_counts_half_of_one() -> None:
    """No further repetition but a little more load (the scale); a half is half a repetition (ours, not published)."""
    assert published_left(9.5) == (0, 0)
    assert repetitions_left(9.5) == 0.5
