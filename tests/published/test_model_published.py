"""The athlete's model against what was published: what it meets, and by how much it misses the rest.

Numbers of the model are for a new athlete, from its constants by hand or through the functions that answer. A stated
gap is a test too: if it changes, the model was changed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from math import exp, log, sqrt
from statistics import fmean, pstdev

import pytest
from scipy.stats import norm

from service.core.model.evidence import NOISE_GROWTH, REPORT_NOISE
from service.core.model.expect import BIAS_GROWTH
from service.core.model.fatigue import fatigue_unit
from service.core.model.outlook import chance_to_make, chances, following, max_ahead, unlimited_load
from service.core.model.state import (
    BEND_SD,
    BIAS,
    BIAS_SD,
    DAY_SD,
    FACTOR_LIFT_SD,
    FACTOR_PERSON_SD,
    Row,
    new_person,
    new_row,
)
from tests.published.curve_values import NUZZO_BENCH, NUZZO_LEG_PRESS, NUZZO_MAIN, NUZZO_SD

BENCH, SQUAT, DEADLIFT = (new_row(group, 100) for group in ("other", "squat_like", "deadlift_like"))


def crossing(rises: Callable[[float], bool], low: float, high: float) -> float:
    """Where a yes turns into a no."""
    for _ in range(45):
        middle = (low + high) / 2
        low, high = (middle, high) if rises(middle) else (low, middle)
    return low


def possible(row: Row, percent: float, chance: float = 0.5) -> float:
    """Repetitions that go up with that chance at a percentage of 100 kg. [reps]."""
    return crossing(lambda n: chance_to_make(row, percent, n) > chance, 0.5, 120)


def lifted(row: Row, reps: float) -> float:
    """Percentage of 100 kg that so many repetitions, and no more, can be done with. [%]."""
    return crossing(lambda kg: chance_to_make(row, kg, reps) > 0.5, 20, 150)


@cache
def people(group: str, percent: float) -> tuple[float, ...]:
    """Repetitions at a percentage of people who differ in their curve as a new athlete may. [reps]."""
    row = new_row(group, 100)
    points = [norm.ppf((i + 0.5) / 40) for i in range(40)]
    spread = sqrt(FACTOR_LIFT_SD**2 + FACTOR_PERSON_SD**2)
    return tuple(
        possible(replace(row, m=(0, row.m[1] + spread * x, 0, 0, BEND_SD * y, 0, 0)), percent)
        for x in points
        for y in points
    )


def report_error(left: float) -> tuple[float, float]:
    """Mean and spread of repetitions left less those reported, over people and sets, with so many reported. [reps]."""
    return BIAS + BIAS_GROWTH * max(0, left - 1), sqrt((REPORT_NOISE + NOISE_GROWTH * left) ** 2 + BIAS_SD**2)


def mean_size(mean: float, spread: float) -> float:
    """Mean of the size, without sign, of a normal number."""
    z = mean / spread
    return spread * 2 * norm.pdf(z) + mean * (1 - 2 * norm.cdf(-z))


# Loads for repetitions.


@pytest.mark.parametrize(
    ("row", "percent"),
    # exp(-g(3) / factor), g(3) = 0.4 log 1.232 = 0.083456; factors 1, 1.08, 0.94
    [(BENCH, 91.99), (SQUAT, 92.56), (DEADLIFT, 91.50)],
)
def test_a_single_with_two_left_is_about_92_percent(row: Row, percent: float) -> None:
    """Common practice, no source: 91 to 94 %."""
    assert lifted(row, 3) == pytest.approx(percent, abs=0.005)
    assert 91 <= percent <= 94


@pytest.mark.parametrize(("percent", "textbook", "whole"), [(90, 4, 3.1), (80, 8, 7.0), (70, 11, 13.1)])
def test_whole_repetitions_of_people_against_the_textbook(percent: float, textbook: int, whole: float) -> None:
    """Haff and Triplett (eds.), Essentials of Strength Training and Conditioning, 4th ed., table 17.7.

    Means of the model as the specification states them, there from drawn people: one less at 90 and 80 %, two more at
    70 %.
    """
    found = fmean(int(n) for n in people("other", percent))
    assert found == pytest.approx(whole, abs=0.15)
    assert abs(found - textbook) < (1.1 if percent > 70 else 2.3)


def test_zourdos_squat_at_70_percent() -> None:
    """Zourdos et al. 2021, JSCR 35(2S):S158-S165: 16 (SD 4) repetitions, 25 men; mean met within one."""
    found = people("squat_like", 70)
    assert fmean(found) == pytest.approx(16, abs=1)
    # By hand 0.1421 x 0.3567 / g'(14.96) = 2.86 from the factor, 0.5 h(14.96) / g'(14.96) = 1.47 from the bend: 3.2
    assert pstdev(found) == pytest.approx(3.2, abs=0.1)


def test_squat_at_60_percent() -> None:
    """29.9 (SD 7.4) repetitions of trained lifters, as quoted by Cooke et al. 2019, JSCR 33(3):890-895.

    Met within half an SD: the model's mean curve gives 1 + (0.6 ** -2.7 - 1) / 0.116 = 26.6.
    """
    assert possible(SQUAT, 60) == pytest.approx(26.62, abs=0.01)
    assert 29.9 - possible(SQUAT, 60) < 7.4 / 2
    assert pstdev(people("squat_like", 60)) == pytest.approx(7.4, rel=0.2)


def test_missed_meta_regression_of_repetitions() -> None:
    """Nuzzo, Pinto, Nosaka and Steele 2024, Sports Med 54(2):303-321: the model expects fewer repetitions.

    Model: 1 + (share ** -(2.5 factor) - 1) / 0.116, so 7.44 and 13.41; squat-like, factor 1.08: 8.13 and 14.96.
    """
    assert possible(BENCH, 80) - NUZZO_MAIN[80] == pytest.approx(7.44 - 9.75, abs=0.01)
    assert possible(BENCH, 70) - NUZZO_MAIN[70] == pytest.approx(13.41 - 15, abs=0.01)
    assert NUZZO_BENCH[80][1] - possible(BENCH, 80) == pytest.approx(7.7 - 7.44, abs=0.01)
    assert NUZZO_LEG_PRESS[80][1] - possible(SQUAT, 80) == pytest.approx(9.8 - 8.13, abs=0.01)
    # Inside the intervals at 70 %.
    assert NUZZO_BENCH[70][1] <= possible(BENCH, 70) <= NUZZO_BENCH[70][2]
    assert NUZZO_LEG_PRESS[70][1] <= possible(SQUAT, 70) <= NUZZO_LEG_PRESS[70][2]


def test_spread_of_repetitions_between_people() -> None:
    """Nuzzo et al. 2024: SD 2.51 at 80 %, 4.36 at 60 %, on a straight line, so 3.4 at 70 %; falls with the load.

    The model has 2.9 at 70 % (as its specification states); half as much at 80 %, a third too much at 60 %. By hand at
    80 %: 0.1421 x 0.2231 / g'(7.44) = 1.19 from the factor, 0.11 from the bend; at 60 %: 5.6 and 2.0, 6.0 together.
    """
    sd = {percent: pstdev(people("other", percent)) for percent in (60, 70, 80, 90)}
    assert sd[60] > sd[70] > sd[80] > sd[90]
    assert sd[70] == pytest.approx(2.9, abs=0.1)
    assert sd[70] - (NUZZO_SD[80] + NUZZO_SD[60]) / 2 == pytest.approx(-0.5, abs=0.1)
    assert sd[80] / NUZZO_SD[80] == pytest.approx(1.20 / 2.51, rel=0.05)
    assert sd[60] / NUZZO_SD[60] == pytest.approx(6.0 / 4.36, rel=0.05)


def test_shimano_squat_before_bench_press() -> None:
    """Shimano et al. 2006, JSCR 20(4):819-823: more in the squat than in the bench press, less so at 80, 90 %."""
    more = {percent: possible(SQUAT, percent) - possible(BENCH, percent) for percent in (60, 80, 90)}
    assert more[60] > 3
    assert 0 < more[90] < more[80] < 1


def test_reynolds_five_repetition_maxes() -> None:
    """Reynolds et al. 2006, JSCR 20(3):584-592: 1.1307 w + 0.6999 (bench press, SEE 2.98 kg), 1.0970 w + 14.2546 (leg
    press, SEE 16.16 kg): met within the standard error of estimate.

    Model: 100 / 0.858586 = 116.47; squat-like 200 x exp(0.152474 / 1.08) = 230.33.
    """  # fmt: skip
    bench, press = 100 * 100 / lifted(BENCH, 5), 200 * 100 / lifted(SQUAT, 5)
    assert (bench, press) == pytest.approx((116.47, 230.33), abs=0.01)
    assert bench - (1.1307 * 100 + 0.6999) == pytest.approx(2.70, abs=0.01)
    assert bench - 113.77 < 2.98
    assert press - (1.0970 * 200 + 14.2546) == pytest.approx(-3.32, abs=0.01)


def test_half_a_point_of_effort_in_load() -> None:
    """Helms et al. 2018, Front Physiol 9:247, table 3: 2 % for half a point. The model: singles 2.1 %, fives 1.5 %.

    By hand g(n) + bias g'(n) from n = 3 to 2.5 and from 7 to 6.5, the bias 0.3 and 0.25: 0.083456 + 0.011299 - 0.064166
    - 0.009881 = 0.020708 and 0.211309 + 0.008208 - 0.197390 - 0.007082 = 0.015045.
    """
    for reps, part in ((1, 0.020708), (5, 0.015045)):
        assert log(unlimited_load(BENCH, reps, 8.5) / unlimited_load(BENCH, reps, 8)) == pytest.approx(part, abs=2e-6)
    assert 100 * (exp(0.020708) - 1) == pytest.approx(2, abs=0.15)


# Reports of effort.


@pytest.mark.parametrize(
    ("left", "error", "low", "high"),
    [
        # Master's thesis, Florida Atlantic University, 12 trained men: mean size of the error and its uncertainty,
        # 1 left 0.69 (0.12) in the bench press and 0.79 (0.26) in the squat; 4 left 1.00 (0.18) and 1.43 (0.31)
        (1, 0.73, 0.69 - 0.12, 0.79 + 0.26),
        (4, 1.32, 1.00 - 0.18, 1.43 + 0.31),
        # Hackett et al. 2017, JSCR 31(8):2162-2168: more than 2 with 7 to 10 left
        (8, 2.17, 2.0, 3.0),
    ],
)
def test_size_of_report_errors(left: float, error: float, low: float, high: float) -> None:
    """The model's as its specification states them: 0.73, 1.32 and 2.17 with 1, 4 and 8 left."""
    found = mean_size(*report_error(left))
    assert found == pytest.approx(error, abs=0.015)
    assert low <= found <= high


def test_hackett_about_one_repetition_with_up_to_five_left() -> None:
    """Hackett et al. 2017, JSCR 31(8):2162-2168: an error of about one with 0 to 5 left."""
    assert fmean(mean_size(*report_error(left)) for left in range(6)) == pytest.approx(1, abs=0.15)


@pytest.mark.parametrize(("left", "published", "between"), [(1, 0.40, 0.68), (3, 0.90, 0.81)])
def test_refalo_report_errors(left: float, published: float, between: float) -> None:
    """Refalo et al. 2024, JSCR, bench press at 75 %: size of the error at 1 and 3 left, met within one SD."""
    assert 0 < mean_size(*report_error(left)) - published < between


def test_people_have_more_left_than_they_say() -> None:
    """Halperin et al. 2022, Sports Med 52(2):377-390: 0.95 repetitions on average [0.17, 1.73].

    Model: 0.2 near failure to 0.9 with eight left, through the functions that answer: at a load where a report of so
    many left is expected, so many more are possible in truth.
    """
    for left, more in ((1, 0.2), (4, 0.5), (8, 0.9)):
        kg = unlimited_load(BENCH, 5, 10 - left)
        assert chances(BENCH, kg, 5, 10 - left)[0] == pytest.approx(0.5)
        found = possible(BENCH, kg) - 5 - left
        assert found == pytest.approx(more, abs=0.03)
        assert 0.17 <= found <= 1.73


@pytest.mark.parametrize(
    ("lift", "published", "half"),
    [
        # Zourdos et al. 2016, JSCR 30(1):267-275, and Ormsbee et al. 2019, JSCR 33(2):337-345, experienced lifters:
        # mean and half of its interval
        ("squat", 9.80, 0.18),
        ("bench press", 9.86, 0.14),
        # Helms et al. 2017, JSCR 31(2):292-297: standard deviation
        ("powerlifters' squat", 9.6, 0.5),
        ("powerlifters' bench press", 9.7, 0.4),
        ("powerlifters' deadlift", 9.6, 0.5),
    ],
)
def test_effort_reported_at_a_true_max(lift: str, published: float, half: float) -> None:
    """None is left in truth, so -0.2 would be reported, with a spread of 0.71, and nobody reports less than none.

    The mean of what is left of that normal number is 0.707 x 0.3833 - 0.2 x 0.3886 = 0.193: RPE 9.81.
    """
    mean, spread = report_error(0)
    rpe = 10 - (spread * norm.pdf(mean / spread) - mean * norm.cdf(-mean / spread))
    assert rpe == pytest.approx(9.81, abs=0.005)
    assert abs(rpe - published) <= half


def test_missed_effort_of_novices_at_a_true_max() -> None:
    """Zourdos et al. 2016: novices 8.96; Ormsbee et al. 2019: 9.35. The model knows no novices: 9.81 as above."""
    mean, spread = report_error(0)
    rpe = 10 - (spread * norm.pdf(mean / spread) - mean * norm.cdf(-mean / spread))
    assert (rpe - 8.96, rpe - 9.35) == pytest.approx((0.85, 0.46), abs=0.01)


@pytest.mark.parametrize(
    ("left", "mean", "spread", "model_mean", "model_spread"),
    # model: 0.2 + 0.1 (left - 1), and the root of (0.5 + 0.25 left) ** 2 + 0.5 ** 2
    [(1, 2.05, 1.73, 0.2, 0.90), (3, 3.65, 2.46, 0.4, 1.35), (5, 5.15, 2.92, 0.6, 1.82)],
)
def test_missed_reports_in_very_long_sets(
    left: float, mean: float, spread: float, model_mean: float, model_spread: float
) -> None:
    """Zourdos et al. 2021, JSCR 35(2S):S158-S165, sets of 16: 2 to 5 repetitions more left than said.

    The model has 0.2 to 0.6 in sets of any length. The growth of the spread, 0.3 by repetition left, is about met.
    """
    assert report_error(left) == pytest.approx((model_mean, model_spread), abs=0.01)
    assert mean - model_mean > 1.8
    assert 0.8 < spread - model_spread < 1.2
    assert pytest.approx(0.30, abs=0.06) == NOISE_GROWTH


def test_missed_lifters_who_choose_their_own_load() -> None:
    """Helms et al. 2017, JSCR 31(10):2938-2943: 0.33 points between report and target.

    The model takes a report with two left to be good to one repetition, 0.80 on average: 0.47 more.
    """
    assert mean_size(0, REPORT_NOISE + 2 * NOISE_GROWTH) - 0.33 == pytest.approx(0.47, abs=0.005)


# Days, weeks and sets.


def test_gain_of_the_first_competitive_year() -> None:
    """Latella et al. 2024, Sports Med 54:753-774: 7.5 to 12.5 %. Model: exp(365 x 0.0002) - 1 = 7.57 %."""
    gain = 100 * (max_ahead(BENCH, new_person(), 365).kg / 100 - 1)
    assert gain == pytest.approx(7.57, abs=0.005)
    assert 7.5 <= gain <= 12.5


def test_variation_of_a_max_from_day_to_day() -> None:
    """Grgic et al. 2020, Sports Med Open 6:31: median 4.2 %; Banyard et al. 2017, JSCR 31(7):1897-1904, trained: 2.1 %.

    Model: the root of 0.025 ** 2 + 0.01 ** 2, 2.7 %.
    """
    row = replace(BENCH, p=(*[0.0] * 13, DAY_SD**2, *[0.0] * 14))
    variation = crossing(lambda kg: chance_to_make(row, kg, 1) > norm.cdf(-1), 100, 120) - 100
    assert variation == pytest.approx(2.73, abs=0.01)  # 100 (exp 0.026926 - 1)
    assert 2.1 < variation < 4.2


@pytest.mark.parametrize(
    ("percent", "low", "high", "spread", "met"),
    # Model: 0.026926 / g'(3.60) = 0.026926 / 0.035645 and 0.026926 / g'(13.41) = 0.026926 / 0.019022
    [(90, 0.5, 0.9, 0.755, True), (70, 0.8, 1.4, 1.416, False)],
)
def test_repetitions_of_one_person_from_day_to_day(
    percent: float, low: float, high: float, spread: float, met: bool
) -> None:
    """PLOS ONE 2022 (PMC9070879), bench press, 24 trained: 0.7 [0.5, 0.9] at 90 %, 1.1 [0.8, 1.4] at 70 %.

    The model is the more cautious; missed by little at 70 %, with fractions of repetitions and nothing but the day.
    """
    row = replace(BENCH, p=(*[0.0] * 13, DAY_SD**2, *[0.0] * 14))
    up, down = possible(row, percent, norm.cdf(-1)), possible(row, percent, norm.cdf(1))
    assert (up - down) / 2 == pytest.approx(spread, rel=0.01)
    assert (low <= spread <= high) == met


def test_loss_of_a_set_at_failure_and_short_of_it() -> None:
    """Refalo et al. 2023, Sports Med Open, doi 10.1186/s40798-023-00554-y: velocity lost over six sets to failure, with
    one and with three left: 22, 9 and 6 %.

    Model: 2.52, 1.59 and 0.63 units. Failure against three left is met within 30 % (4.0, published 3.7); against one
    left it is missed (1.59, published 2.44): the model takes too little off for the last repetition.
    """  # fmt: skip
    failure, one, three = (fatigue_unit(left) for left in (0, 1, 3))
    assert failure > one > three
    assert (failure / three) / (22 / 6) == pytest.approx(1.09, abs=0.01)
    assert (failure / one) / (22 / 9) == pytest.approx(0.65, abs=0.01)


def test_sets_to_failure_after_one_another() -> None:
    """Willardson and Burkett 2005, JSCR 19(1):23-26, four sets with an 8RM, all repetitions after 1, 2 and 5 minutes:
    bench press 17.1, 21.6, 25.7; squat 22.5, 25.5, 28.8.

    Model, where rests are long: 8, 7.42, 6.86 and 6.33, as a set to failure costs 2.52 x 0.006 = 0.01512 and
    n = 1 + (1.812 exp(-0.01512 i / 0.4) - 1) / 0.116. The squat after 5 minutes is met, the bench press missed by 2.9
    and all short rests, which the model does not know, by more.
    """  # fmt: skip
    kg = lifted(BENCH, 8)
    sets = [crossing(lambda n, i=i: chance_to_make(BENCH, kg, n, i * fatigue_unit(0)) > 0.5, 0.5, 30) for i in range(4)]
    assert sets == pytest.approx([8, 7.42, 6.86, 6.33], abs=0.006)
    assert sum(sets) - 28.8 == pytest.approx(-0.2, abs=0.05)
    assert sum(sets) - 25.7 == pytest.approx(2.9, abs=0.05)
    assert [sum(sets) - total for total in (17.1, 21.6)] == pytest.approx([11.5, 7.0], abs=0.05)


def test_effort_climbs_over_sets_with_the_same_load() -> None:
    """Senna et al. 2011, JSCR 25(11):3157-3162: effort rises over five sets with a load. Direction alone is compared.

    By hand a set at RPE 8 costs 0.006, which is 0.006 / g'(7) = 0.22 repetitions.
    """
    kg = unlimited_load(BENCH, 5, 8)
    felt = [one.rpe for one in following(BENCH, new_person(), 5, 5, kg=kg, effort_limit=None)]
    assert felt == sorted(felt)
    assert felt[0] == pytest.approx(8, abs=0.001)
    assert felt[1] - felt[0] == pytest.approx(0.22, abs=0.02)


def test_the_effort_of_a_share_does_not_depend_on_the_max() -> None:
    """Ours, not published: kilograms, pounds and strong lifters share one curve."""
    assert lifted(BENCH, 5) == pytest.approx(100 * exp(-0.152474), abs=0.001)
    strong = new_row("other", 250)
    assert chance_to_make(strong, 2.5 * lifted(BENCH, 5), 5) == pytest.approx(0.5)
