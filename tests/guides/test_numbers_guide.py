"""The numbers in the guide to numbers are right: by hand, by the model's worked examples, or read from constants."""

from __future__ import annotations

from math import exp, log
from pathlib import Path

import pytest

from service.core import catalogue, effort
from service.core.estimate import rolling, spread
from service.core.model import load, state
from service.core.records import Settings

GUIDE = Path(__file__).parents[2] / "service/guides/numbers.md"
NUMBERS = " ".join(GUIDE.read_text("utf-8").split())
Z80 = 1.2815515655


def share(reps: float) -> float:
    """The default curve as the guide to formulas prints it."""
    return (1 + 0.116 * (reps - 1)) ** -0.4


def rows(header: str) -> list[list[str]]:
    """The cells of the table that begins with this header."""
    text = GUIDE.read_text("utf-8").partition(f"{header}\n")[2].split("\n\n")[0]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in text.splitlines()[1:]]


def test_the_load_of_an_effort_is_worked_out_as_told() -> None:
    # 3 at RPE 7.5: 5.5 to failure, (1 + 0.116 x 4.5)^-0.4 = 1.522^-0.4 = 0.8453. A repetition is worth 0.0464 / 1.522 =
    # 0.0305 there; 0.2 + 0.1 x 1.5 = 0.35 more are left than said, two build-up sets cost 0.25 units of 0.006 each:
    # 0.8453 x exp(-0.0305 x 0.35 - 0.003) = 0.8339; x 120 = 100.06.
    part = share(5.5) * exp(-0.0464 / 1.522 * 0.35 - 0.003)
    assert (f"{100 * share(5.5):.2f}", f"{100 * part:.1f}", f"{120 * part:.1f}") == ("84.53", "83.4", "100.1")
    assert "84.53 %; a little is taken off" in NUMBERS
    assert "83.4 %. With a max of 120 kg in the bench press that is 100.1 kg" in NUMBERS


def test_ranges_of_the_model_are_as_told() -> None:
    # A given max is believed to 0.10, a tested one to 0.05, in units of the curve: the squat's factor is 1.08, and the
    # rolling range is widened by 1.07. 150 x exp(-+ 1.28155 x 1.07 x 0.10 / 1.08) = 132 to 170 kg.
    for sd, low, high in ((0.10, 132, 170), (0.05, 141, 160)):
        half = Z80 * 1.07 * sd / 1.08
        assert (round(150 * exp(-half)), round(150 * exp(half))) == (low, high)
    assert (state.GIVEN_SD, state.TESTED_SD) == (0.10, 0.05)
    assert "The range is 132 to 170 kg" in NUMBERS
    assert "A tested max starts at 141 to 160" in NUMBERS
    # Worked example A of the specification: 142.441 to 159.340 kg after these three sets, 150.654 in the middle.
    assert "it is 142 to 159 kg" in NUMBERS
    assert "150.654 kg is not better known than 151" in NUMBERS


def test_what_is_learned_begins_as_told() -> None:
    # A set costs 2^(-(left - 2) / 1.5) units of 0.6 %: two left 1 unit; none left 2^(2 / 1.5) = 2.52 units, 1.5 %.
    assert f"{0.6 * 2 ** (2 / 1.5):.1f}" == "1.5"
    assert "0.6 % for a set at RPE 8, 1.5 % for one to failure" in NUMBERS
    assert (state.FATIGUE, state.BIAS) == (0.006, 0.2)
    assert "0.2 more than said" in NUMBERS
    assert state.CURVE_GROUP["squat_like"] > 0 > state.CURVE_GROUP["deadlift_like"]


def test_the_limits_are_as_told() -> None:
    assert (load.CHANCE_TRUE, load.CHANCE_REPORT, load.EFFORT_LIMIT) == (0.20, 0.20, 9.5)
    assert (load.CAREFUL_TRUE, load.CAREFUL_REPORT, state.RATE_LIMIT) == (0.15, 0.10, 0.25)
    assert "is at most 20 %, in truth and in what the lifter will say" in NUMBERS
    assert "fewer than a quarter of the sets with an effort it is 15 and 10 %" in NUMBERS


def test_the_days_max_of_a_pinned_curve_is_worked_out_as_told() -> None:
    # Three with one left: n = 4, 1.348^-0.4 = 0.88741; 105 / 0.88741 = 118.32.
    assert f"{105 / share(4):.1f}" == "118.3"
    assert "105 / 0.8874, or 118.3 kg" in NUMBERS
    assert (rolling.HEAVY_REPS, rolling.HEAVY_RPE) == (3, 7)
    assert "one to three repetitions at RPE 7 or harder" in NUMBERS


def test_the_average_of_a_pinned_curve_moves_as_the_table_shows() -> None:
    assert (rolling.WEIGHT, rolling.TOP_REPS, rolling.TOP_RPE) == (0.3, 12, 6.5)
    assert "up to twelve repetitions at RPE 6.5 or harder" in NUMBERS
    said = None
    for _, shows, then in rows("| day | shows | the log then says |"):
        day = float(shows.removesuffix(" kg"))
        said = day if said is None else said + 0.3 * (day - said)
        assert float(then.removesuffix(" kg")) == pytest.approx(said, abs=0.05)


def test_ranges_of_a_pinned_curve_are_as_wide_as_the_table_shows() -> None:
    # Straight lines through 4 at one, 8 at five, 9 at ten, then a point for each further one: 6 at 3, 14 at 15.
    table = {int(reps): width for reps, width in rows("| repetitions to failure | range, either way |")}
    assert table == {1: "4 %", 3: "6 %", 5: "8 %", 10: "9 %", 15: "14 %"}
    assert {reps: f"{spread.half_percent(reps):g} %" for reps in table} == table
    assert spread.LEVEL == 0.8
    assert "in 8 of 10 such cases" in NUMBERS


def test_what_the_guide_says_of_settings_is_what_they_are_when_nobody_sets_them() -> None:
    usual = Settings()
    assert (usual.training_max_percent, usual.effort_limit, usual.curve) == (95, 9.5, "model")
    assert (usual.adjustment, usual.rounding) == ("calculation", "nearest")
    assert catalogue.BUILT_IN["pause-squat"].ratio == 0.9
    assert effort.OR_MORE_RPE == 5


def test_the_proposal_for_the_slip_is_as_told() -> None:
    # 80 kg are 176.37 lb.
    assert f"{80 / 0.45359237:.1f}" == "176.4"
    assert log(2.2046226) == pytest.approx(-log(0.45359237), abs=1e-7)
