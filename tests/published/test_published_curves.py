"""Repetition curves against what was printed, and where the default is known to miss what was measured."""

from __future__ import annotations

import pytest

from service.core.curves.curves import CURVES, max_from_five, repetitions, share
from service.core.estimate.estimate import estimated_max
from service.core.records import Lift
from service.core.units import load
from tests.published.curve_values import (
    DEFAULT_PERCENTS,
    LOAD_CHART,
    LOAD_CHART_AT_12,
    MULTIPLIER_CURVES,
    MULTIPLIERS,
    NUZZO_BENCH,
    NUZZO_LEG_PRESS,
    NUZZO_MAIN,
    TEXTBOOK_BEYOND_10,
)

BENCH = Lift(id="bench-press", name="Bench press", load_kind="total")


def max_of(kg: float, reps: int, curve: str) -> float:
    """The answer of the calculation, in kilograms, for a set to failure."""
    return float(estimated_max(lift=BENCH, load=load(kg, "kg"), reps=reps, to_failure=True, curve=curve).max.value)


@pytest.mark.parametrize("curve", MULTIPLIER_CURVES)
@pytest.mark.parametrize("reps", [r for r in MULTIPLIERS if r > 1])
def test_multipliers_of_the_printed_equations(curve: str, reps: int) -> None:
    """Each equation as printed by its authors, two decimals: tolerance half the last digit."""
    printed = MULTIPLIERS[reps][MULTIPLIER_CURVES.index(curve)]
    assert 100 / share(curve, reps) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize("curve", MULTIPLIER_CURVES)
def test_the_bare_formula_at_one_repetition_gives_the_printed_value_and_the_curve_says_whether_it_jumps(
    curve: str,
) -> None:
    printed = MULTIPLIERS[1][MULTIPLIER_CURVES.index(curve)]
    assert 100 / CURVES[curve].form.share(1) == pytest.approx(printed, abs=0.005)
    assert CURVES[curve].jumps_at_one == (printed != 100)


def test_adams_by_hand() -> None:
    """Adams, as given by Mayhew et al. 2008, JSCR 22(5):1570-1577: load / (1 - 0.02 reps)."""
    assert 1 / share("adams", 5) == pytest.approx(1 / 0.9)
    assert 1 / share("adams", 10) == pytest.approx(1.25)
    assert CURVES["adams"].form.share(1) == pytest.approx(0.98)  # 102.04 % of the load at one repetition
    assert CURVES["adams"].jumps_at_one


@pytest.mark.parametrize(
    ("curve", "expected"),
    [
        ("epley", 116.667),
        ("brzycki", 112.5),
        ("lander", 113.71),
        ("lombardi", 117.46),
        ("mayhew", 119.01),
        ("wathen", 116.58),
        ("oconner", 112.5),
    ],
)
def test_five_repetitions_with_100_kg(curve: str, expected: float) -> None:
    """From the printed equations, as in `MULTIPLIERS`."""
    assert max_of(100, 5, curve) == pytest.approx(expected, abs=0.01)


def test_epley_and_brzycki_agree_at_ten_repetitions() -> None:
    """36 / (37 - 10) = 36 / 27 = 4 / 3 = 1 + 10 / 30."""
    assert max_of(100, 10, "epley") == pytest.approx(133.333, abs=0.001)
    assert max_of(100, 10, "brzycki") == pytest.approx(133.333, abs=0.001)


def test_kemmlers_own_example() -> None:
    """Kemmler et al. 2006, JSCR 20(4):838-842, example of the authors' group: 9 repetitions with 80 kg, 95.43 kg."""
    assert max_of(80, 9, "kemmler") == pytest.approx(95.43, abs=0.01)


def test_reynolds_lines_from_five_repetitions() -> None:
    """Reynolds et al. 2006, JSCR 20(3):584-592, abstract: 1.1307 w + 0.6999 and 1.0970 w + 14.2546."""
    assert max_from_five(100, "bench_press") == pytest.approx(113.77, abs=0.01)
    assert max_from_five(200, "leg_press") == pytest.approx(233.65, abs=0.01)


@pytest.mark.parametrize("curve", CURVES)
def test_a_true_single_to_failure_is_the_max_by_every_curve(curve: str) -> None:
    assert share(curve, 1) == 1
    assert max_of(100, 1, curve) == 100


@pytest.mark.parametrize("most", LOAD_CHART)
def test_loads_by_the_textbook_table_match_the_load_chart(most: int) -> None:
    """Load chart of the National Strength and Conditioning Association, one to ten repetitions."""
    loads = [most * share("textbook_table", reps) for reps in range(1, 11)]
    assert loads == pytest.approx(LOAD_CHART[most], abs=0.01)


def test_the_table_follows_the_textbook_at_12_where_the_load_chart_disagrees() -> None:
    """Textbook 67 %, chart 70 %. The book is implemented, the curve's source says that the chart differs."""
    for reps, percent in TEXTBOOK_BEYOND_10.items():
        assert 100 * share("textbook_table", reps) == pytest.approx(percent)
    assert {LOAD_CHART_AT_12[most] / most for most in LOAD_CHART_AT_12} == {0.7}
    assert "70 %" in CURVES["textbook_table"].source
    assert "67 %" in CURVES["textbook_table"].source


def test_eight_repetitions_with_120_kg_by_the_table_mean_150_kg() -> None:
    """120 / 0.80 = 150, example of a page that quotes the load chart."""
    assert max_of(120, 8, "textbook_table") == pytest.approx(150, abs=0.01)


def test_five_repetitions_with_two_or_one_left_by_the_table() -> None:
    """5 at RPE 8 are 7 to failure, 83 %; 5 at RPE 9 are 6, 85 % (textbook table)."""
    for rpe, expected in ((8, 100 / 0.83), (9, 100 / 0.85)):
        found = estimated_max(lift=BENCH, load=load(100, "kg"), reps=5, rpe=rpe, curve="textbook_table")
        assert found.max.value == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize("reps", DEFAULT_PERCENTS)
def test_the_default_curve_to_four_decimals(reps: int) -> None:
    """Ours, not published: the table printed with the curve's definition."""
    assert 100 * share("default", reps) == pytest.approx(DEFAULT_PERCENTS[reps], abs=0.00005)


def test_a_single_with_two_left_is_about_92_percent_by_the_default_curve() -> None:
    """Common practice, no source: 91 to 94 % is accepted."""
    assert 0.91 <= share("default", 3) <= 0.94
    assert share("default", 3) == pytest.approx(0.92, abs=0.005)


def test_the_default_curve_meets_the_textbooks_repetitions_within_a_repetition() -> None:
    """Textbook table: 4 repetitions at 90 %, 8 at 80 %, 11 at 70 %; the default gives 3.6, 7.4 and, too many, 13.4."""
    assert repetitions("default", 0.9) == pytest.approx(4, abs=1)
    assert repetitions("default", 0.8) == pytest.approx(8, abs=1)
    assert repetitions("default", 0.7) - 11 == pytest.approx(2.4, abs=0.05)


def test_the_default_curve_meets_the_measured_bench_press_at_70_percent() -> None:
    """Nuzzo et al. 2024, bench press at 70 %: 14.08 repetitions [12.4, 16.1]."""
    _, low, high = NUZZO_BENCH[70]
    assert low <= repetitions("default", 0.7) <= high


@pytest.mark.parametrize(
    ("published", "percent", "gap"),
    [
        # 1 + (0.8^-2.5 - 1) / 0.116 = 1 + (1.746928 - 1) / 0.116 = 7.4390 and 1 + (2.439218 - 1) / 0.116 = 13.4071
        (NUZZO_MAIN[80], 80, -2.31),
        (NUZZO_MAIN[70], 70, -1.59),
        (NUZZO_BENCH[80][0], 80, -1.36),
        (NUZZO_LEG_PRESS[80][0], 80, -5.66),
        (NUZZO_LEG_PRESS[70][0], 70, -5.55),
    ],
)
def test_the_default_curve_misses_measured_repetitions_by_a_stated_gap(
    published: float, percent: int, gap: float
) -> None:
    """Known and kept (Nuzzo et al. 2024): it expects fewer repetitions at a percentage than people did on average.

    So a load chosen for repetitions errs to the light side, and a max estimated from many repetitions to the heavy
    side. A gap that grows or shrinks means that the curve was changed.
    """
    assert repetitions("default", percent / 100) - published == pytest.approx(gap, abs=0.01)


def test_the_default_curve_is_below_the_measured_intervals_at_80_percent() -> None:
    """The same gaps, as the publication's 95 % intervals: missed in the bench press by 0.3, the leg press by 2.4."""
    found = repetitions("default", 0.8)
    assert NUZZO_BENCH[80][1] - found == pytest.approx(0.26, abs=0.01)
    assert NUZZO_LEG_PRESS[80][1] - found == pytest.approx(2.36, abs=0.01)


@pytest.mark.parametrize(
    ("curve", "bench_80", "bench_70", "leg_press_80"),
    [
        ("epley", 103.5, 102.9, 114.9),
        ("brzycki", 102.1, 109.9, 120.5),
        ("wathen", 104.4, 103.7, 116.0),
        ("mayhew", 102.5, 97.9, 110.2),
        ("lombardi", 99.4, 91.2, 103.5),
        ("oconner", 97.6, 94.6, 106.2),
    ],
)
def test_published_equations_on_measured_repetitions(
    curve: str, bench_80: float, bench_70: float, leg_press_80: float
) -> None:
    """Estimates where 100 is right, from the mean repetitions of Nuzzo et al. 2024, to one decimal.

    The bench press at 70 % was worked out for 14.08 repetitions, at 80 % for 8.8; the leg press at 80 % for 13.1.
    """
    assert 80 / share(curve, 8.8) == pytest.approx(bench_80, abs=0.051)
    assert 70 / share(curve, 14.08) == pytest.approx(bench_70, abs=0.051)
    assert 80 / share(curve, 13.1) == pytest.approx(leg_press_80, abs=0.051)
