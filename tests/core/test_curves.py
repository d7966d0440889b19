"""Properties that every repetition curve has, and what is refused."""

from __future__ import annotations

from itertools import pairwise
from math import inf, log, nan

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from service.core.curves.curves import CURVES, Curve, max_from_five, repetitions, share, slope
from service.core.errors import NotComputable, OutOfRange

names = st.sampled_from(sorted(CURVES))
parts = st.floats(0, 1)
sampled = settings(max_examples=100, deadline=None)


def at(curve: Curve, part: float) -> float:
    """A number of repetitions that lies this part of the way through the curve's range."""
    return min(curve.fewest + part * (curve.most - curve.fewest), curve.most)


def corners(curve: Curve) -> list[float]:
    """Where the slope jumps: after the straight line from one, and at the rows of the table."""
    if curve.name == "textbook_table":
        return [*range(1, 13), 15]
    return [2] if curve.jumps_at_one else []


def test_the_curves_are_those_that_are_documented() -> None:
    assert list(CURVES) == [
        "default", "epley", "brzycki", "lander", "lombardi", "mayhew", "oconner", "wathen", "kemmler", "adams",
        "reynolds", "textbook_table",
    ]  # fmt: skip
    for name, curve in CURVES.items():
        assert curve.name == name
        assert curve.fewest <= curve.published_fewest < curve.published_most <= curve.most
        assert all((curve.title, curve.source, curve.formula))


@sampled
@given(names, parts, parts)
def test_more_repetitions_mean_a_strictly_smaller_share(name: str, one: float, other: float) -> None:
    few, many = sorted((at(CURVES[name], one), at(CURVES[name], other)))
    assume(many - few > 1e-9)
    assert share(name, many) < share(name, few)


@sampled
@given(names, parts)
def test_repetitions_undoes_share(name: str, part: float) -> None:
    reps = at(CURVES[name], part)
    assert repetitions(name, share(name, reps)) == pytest.approx(reps, abs=1e-9)


@sampled
@given(names, parts)
def test_share_undoes_repetitions(name: str, part: float) -> None:
    curve = CURVES[name]
    low, high = share(name, curve.most), share(name, curve.fewest)
    wanted = min(low + part * (high - low), high)
    assert share(name, repetitions(name, wanted)) == pytest.approx(wanted, abs=1e-12)


@sampled
@given(names, parts)
def test_the_inverse_of_share_is_what_halving_the_interval_finds(name: str, part: float) -> None:
    """An independent method: it knows nothing of the closed forms but that share falls."""
    curve = CURVES[name]
    wanted = share(name, at(curve, part))
    low, high = curve.fewest, curve.most
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if share(name, middle) > wanted else (low, middle)
    assert repetitions(name, wanted) == pytest.approx(low, abs=1e-8)


@sampled
@given(names, parts)
def test_slope_is_the_numeric_derivative_of_log_share(name: str, part: float) -> None:
    curve = CURVES[name]
    step = 1e-5
    reps = min(max(at(curve, part), curve.fewest + step), curve.most - step)
    assume(all(abs(reps - corner) > 2 * step for corner in corners(curve)))
    numeric = -(log(share(name, reps + step)) - log(share(name, reps - step))) / (2 * step)
    assert slope(name, reps) == pytest.approx(numeric, rel=1e-5)


@pytest.mark.parametrize("name", CURVES)
def test_at_a_corner_slope_is_that_of_the_side_with_more_repetitions(name: str) -> None:
    curve = CURVES[name]
    for corner in corners(curve):
        if corner < curve.most:
            numeric = -(log(share(name, corner + 1e-6)) - log(share(name, corner))) / 1e-6
            assert slope(name, corner) == pytest.approx(numeric, rel=1e-4)


def test_at_the_last_row_of_the_table_slope_is_that_of_the_side_with_fewer() -> None:
    """From 12 (67 %) to 15 (65 %): 0.02 / 3 a repetition, divided by 0.65."""
    assert slope("textbook_table", 15) == pytest.approx(0.02 / 3 / 0.65)


@pytest.mark.parametrize("name", CURVES)
def test_share_has_no_jumps(name: str) -> None:
    curve = CURVES[name]
    count = 4000
    shares = [share(name, at(curve, i / count)) for i in range(count + 1)]
    step = (curve.most - curve.fewest) / count
    steepest = 0.12  # more than any curve loses in one repetition
    assert max(a - b for a, b in pairwise(shares)) < steepest * step


@pytest.mark.parametrize("name", [name for name, curve in CURVES.items() if curve.jumps_at_one])
def test_curves_that_jump_go_straight_from_100_percent_to_their_formula_at_two(name: str) -> None:
    second = CURVES[name].form.share(2)
    assert share(name, 1) == 1
    assert share(name, 2) == second
    assert share(name, 1.5) == pytest.approx((1 + second) / 2)
    assert CURVES[name].form.share(1) != 1


@pytest.mark.parametrize("name", [name for name, curve in CURVES.items() if not curve.jumps_at_one])
def test_curves_that_do_not_jump_give_100_percent_at_one_by_themselves(name: str) -> None:
    assert CURVES[name].form.share(1) == 1


def test_the_default_curve_holds_below_one_repetition() -> None:
    """(1 - 0.116 * 0.7)^-0.4 = 0.9188^-0.4 = exp(0.4 * 0.084687) = 1.03446: above the max, a third of a repetition.

    Back from 1.0344: 1 + (1.0344^-2.5 - 1) / 0.116 = 1 + (0.918922 - 1) / 0.116 = 0.30105.
    """
    assert share("default", 0.3) == pytest.approx(1.03446, abs=5e-6)
    assert repetitions("default", 1.0344) == pytest.approx(0.30105, abs=5e-5)


def test_the_table_is_straight_between_its_rows() -> None:
    """Half way from 2 (95 %) to 3 (93 %), and a third of the way from 12 (67 %) to 15 (65 %)."""
    assert share("textbook_table", 2.5) == pytest.approx(0.94)
    assert share("textbook_table", 13) == pytest.approx(0.67 - 0.02 / 3)


def test_one_repetition_is_worth_what_the_default_curves_derivative_says() -> None:
    """0.4 * 0.116 / (1 + 0.116 (n - 1)): 0.0464 at 1, 0.0464 / 1.464 at 5, 0.0464 / 2.044 at 10."""
    assert slope("default", 1) == pytest.approx(0.0464)
    assert slope("default", 5) == pytest.approx(0.0464 / 1.464)
    assert slope("default", 10) == pytest.approx(0.0464 / 2.044)


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("reps", [nan, inf, -inf, 0, -1, 1e308])
def test_repetitions_outside_of_the_curve_are_refused(name: str, reps: float) -> None:
    for function in (share, slope):
        with pytest.raises(OutOfRange):
            function(name, reps)


@pytest.mark.parametrize("name", CURVES)
def test_just_past_the_ends_is_refused_and_the_ends_are_not(name: str) -> None:
    curve = CURVES[name]
    assert 0 < share(name, curve.most) < share(name, curve.fewest)
    for reps in (curve.fewest - 1e-9, curve.most + 1e-9):
        with pytest.raises(OutOfRange) as refused:
            share(name, reps)
        assert (refused.value.low, refused.value.high) == (curve.fewest, curve.most)


@pytest.mark.parametrize("name", CURVES)
@pytest.mark.parametrize("part", [nan, inf, 0, -0.5, 1.1])
def test_a_share_that_the_curve_does_not_reach_is_refused(name: str, part: float) -> None:
    with pytest.raises(OutOfRange):
        repetitions(name, part)


def test_no_curve_is_answered_near_its_pole_or_turning_point() -> None:
    """Poles: Brzycki 37, Lander 101.3 / 2.67123 = 37.92, Adams 50. Kemmler's cubic turns at 24.2."""
    for name, pole in (("brzycki", 37), ("lander", 37.92), ("adams", 50), ("kemmler", 24.2)):
        assert CURVES[name].most < pole - 4


def test_an_unknown_curve_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(NotComputable, match="textbook_table") as refused:
        share("nobody", 5)
    assert refused.value.code == "unknown_curve"


def test_the_line_from_five_repetitions_is_for_two_exercises_and_possible_loads() -> None:
    with pytest.raises(NotComputable):
        max_from_five(100, "squat")
    for kg in (0, -1, nan, inf):
        with pytest.raises(OutOfRange):
            max_from_five(kg, "bench_press")
