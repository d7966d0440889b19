"""The built-in lifts hold together. Their ratios are common practice, no source: only their order is held."""

from __future__ import annotations

import re
from itertools import pairwise

from service.core.catalogue import BUILT_IN, with_parents
from service.core.prescribe.basis import LONGEST_CHAIN


def test_words_have_the_form_of_a_lift_and_names_stand_once() -> None:
    assert all(re.fullmatch("[a-z0-9][a-z0-9-]{0,62}", word) for word in BUILT_IN)
    assert all(word == lift.id for word, lift in BUILT_IN.items())
    assert len({lift.name for lift in BUILT_IN.values()}) == len(BUILT_IN)


def test_a_variation_stands_after_its_parent_with_a_ratio_and_its_origin() -> None:
    seen: set[str] = set()
    for lift in BUILT_IN.values():
        assert (lift.based_on is None) == (lift.ratio is None) == (lift.ratio_source is None)
        if lift.based_on is not None:
            parent = BUILT_IN[lift.based_on]
            assert parent.id in seen
            assert (lift.load_kind, lift.curve_group) == (parent.load_kind, parent.curve_group)
            assert 0.2 <= (lift.ratio or 0) <= 2
            assert "no source" in (lift.ratio_source or "")
        seen.add(lift.id)


def test_no_chain_is_longer_than_a_ratio_is_followed() -> None:
    assert all(len(with_parents(word) or ()) <= LONGEST_CHAIN + 1 for word in BUILT_IN)


def test_every_load_kind_and_curve_group_is_there() -> None:
    assert {lift.load_kind for lift in BUILT_IN.values()} == {"total", "per_hand", "bodyweight", "stack", "none"}
    assert {lift.curve_group for lift in BUILT_IN.values()} == {"squat_like", "deadlift_like", "other"}


def test_the_lifts_of_the_platform_and_their_pulls_are_technique_lifts() -> None:
    technique = {lift.id for lift in BUILT_IN.values() if lift.technique}
    assert {"snatch", "clean-and-jerk", "clean", "jerk", "power-snatch", "power-clean"} <= technique
    assert {"snatch-pull", "clean-pull"} <= technique
    assert not technique & {"squat", "bench-press", "deadlift", "overhead-press", "push-press"}


def test_bars_weigh_in_the_order_that_coaches_expect() -> None:
    """Common practice, no source: a front squat is less than a squat, less still with a pause; a push press is more
    than a press; from blocks more than from the floor, from a deficit less."""

    def of(word: str) -> float:
        share = 1.0
        for lift in (with_parents(word) or {}).values():
            share *= lift.ratio or 1
        return share

    orders = (
        ("pause-front-squat", "front-squat", "pause-squat", "squat"),
        ("incline-bench-press", "close-grip-bench-press", "bench-press", "touch-and-go-bench-press"),
        ("seated-overhead-press", "overhead-press", "push-press"),
        ("romanian-deadlift", "deficit-deadlift", "deadlift", "block-pull"),
        ("power-snatch", "hang-snatch", "snatch"),
        ("power-clean", "clean-and-jerk", "clean"),
    )
    for order in orders:
        assert all(of(lighter) < of(heavier) for lighter, heavier in pairwise(order)), order


def test_a_word_that_is_not_built_in_has_no_parents() -> None:
    assert with_parents("no-such-lift") is None
