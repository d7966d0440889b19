"""What is read from a row, against the slow version with matrices, on rows of every kind; and far out."""

from __future__ import annotations

from math import inf, isfinite, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from service.core.model.fatigue import fatigue_unit
from service.core.model.load import allowed
from service.core.model.outlook import (
    chance_of_single,
    chance_to_make,
    chances,
    day_max,
    expected_effort,
    following,
    highest_load_under,
    limit_for,
    load_for,
    load_list,
    max_ahead,
    needs,
    planned_load,
    rolling_max,
)
from service.core.model.spread import Z80, Z85, normal_chance, normal_edge, set_variance
from service.core.model.state import Person, Row, new_person, new_row
from tests.core.model import plain, plain_outputs

SPREADS = np.array([0.05, 0.13, 0.025, 0.004, 0.5, 0.5, 0.11])


@st.composite
def rows(draw: st.DrawFn) -> Row:
    """A row as training might leave it: any correlations, the factor where it may be."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    mixed = random.normal(size=(7, 7)) + 1.5 * np.eye(7)
    correlation = mixed @ mixed.T
    scale = SPREADS * random.uniform(0.3, 1.5, 7) / np.sqrt(np.diag(correlation))
    p = correlation * np.outer(scale, scale)
    m = random.normal([0, 1, 0, 0.006, 0, 0.2, 0], [0.15, 0.15, 0.02, 0.003, 0.4, 0.5, 0.1])
    m[1] = np.clip(m[1], 0.5, 2)
    return Row(
        float(np.log(random.uniform(30, 300))),
        "other",
        tuple(map(float, m)),
        tuple(map(float, p[np.triu_indices(7)])),
        fatigue=float(random.choice([0, random.uniform(0, 12)])),
    )


def slow(row: Row) -> plain.Lift:
    """The same row in the slow version."""
    cov = np.zeros((7, 7))
    cov[np.triu_indices(7)] = row.p
    cov = cov + cov.T - np.diag(np.diag(cov))
    return plain.Lift(np.array(row.m), cov, yref=row.reference, fatigue=row.fatigue)


persons = st.builds(Person, rate=st.floats(0, 1), erratic=st.floats(0.3, 3))
reps = st.integers(1, 20)
rpes = st.integers(2, 20).map(lambda doubled: doubled / 2)
shares = st.floats(0.3, 1.2)


@given(rows(), persons, st.integers(0, 300))
def test_maxes_agree(row: Row, person: Person, days: int) -> None:
    for ours, theirs in (
        (rolling_max(row, person), plain_outputs.estimated_max(slow(row), person.rate)),
        (rolling_max(row, person, 0.95), plain_outputs.estimated_max(slow(row), person.rate, plain_outputs.Z95)),
        (day_max(row), plain_outputs.day_capacity(slow(row))),
        (max_ahead(row, person, days), plain_outputs.forecast(slow(row), person.rate, days)),
    ):
        assert (ours.kg, ours.low, ours.high) == pytest.approx(theirs, rel=1e-9)


@given(rows(), reps, rpes, st.sampled_from([7, 8.5, 9.5, 10]))
def test_loads_and_limits_agree(row: Row, count: int, rpe: float, limit: float) -> None:
    load = load_for(row, count, rpe, effort_limit=limit)
    theirs = plain_outputs.load(slow(row), count, rpe, limit)
    assert (load.unlimited_kg, load.true_kg, load.report_kg) == pytest.approx(theirs, rel=1e-9)
    assert load.kg == min(load.unlimited_kg, load.true_kg, load.report_kg)
    assert load.kg == {None: load.unlimited_kg, "true": load.true_kg, "report": load.report_kg}[load.limit]
    lifted = load_for(row, count, rpe, effort_limit=None)
    assert (lifted.kg, lifted.true_kg, lifted.limit) == (load.unlimited_kg, None, None)
    under = highest_load_under(row, count, limit_for(rpe, limit))
    assert under == min(load.true_kg, load.report_kg)


@given(rows(), persons, reps, rpes, shares)
def test_efforts_and_chances_agree(row: Row, person: Person, count: int, rpe: float, share: float) -> None:
    kg = share * day_max(row).kg
    effort = expected_effort(row, person, kg, count)
    assert (effort.rpe, effort.low, effort.high) == pytest.approx(
        plain_outputs.expected_rpe(slow(row), kg, count, person.erratic), rel=1e-9, abs=1e-9
    )
    assert effort.rpe == pytest.approx(10 - (effort.possible - count))
    # The slow version's distribution is another library's.
    assert chances(row, kg, count, rpe) == pytest.approx(
        plain_outputs.chance_to_pass(slow(row), kg, count, rpe), rel=1e-9, abs=1e-12
    )
    assert chance_of_single(row, kg) == pytest.approx(plain_outputs.chance_of_single(slow(row), kg), rel=1e-9)
    assert chance_to_make(row, kg, count) == pytest.approx(1 - chances(row, kg, count, 10)[1])


@given(rows(), persons, st.integers(1, 8), rpes.filter(lambda rpe: 6 <= rpe <= 9), shares)
def test_follow_up_sets_agree(row: Row, person: Person, count: int, rpe: float, share: float) -> None:
    kg = share * day_max(row).kg
    for asked in ({"kg": kg}, {"rpe": rpe}):
        ours = following(row, person, 3, count, **asked)
        chances = plain_outputs.allowed(person.rate)
        theirs = plain_outputs.follow_ups(slow(row), count, 3, chances=chances, **asked)
        for one, (load, felt) in zip(ours, theirs, strict=True):
            assert (one.kg, one.rpe) == pytest.approx((load, felt), rel=1e-9, abs=1e-9)
    assert [one.held for one in following(row, person, 3, count, kg=0.2 * kg)] == [False] * 3


@given(rows(), reps, st.integers(0, 5))
def test_load_lists_agree_and_do_not_depend_on_the_day(row: Row, count: int, left: int) -> None:
    (listed,) = load_list(row, [count], [left])
    assert listed.kg == pytest.approx(plain_outputs.listed_load(slow(row), count, left), rel=1e-9)
    assert listed.weak == (count + left > 12)


@given(rows(), st.floats(-1.5, 0.5), st.floats(0, 20), st.floats(-0.02, 0.1), st.floats(0, 0.05))
def test_the_written_out_variance_is_the_product_of_matrices(
    row: Row, u: float, fatigue: float, bend: float, bias: float
) -> None:
    c = np.array([1, -u, 1, -fatigue, -bend, -bias, 0])
    assert set_variance(row.p, u, fatigue, bend, bias) == pytest.approx(c @ slow(row).cov @ c, rel=1e-9)


@given(st.floats(1e-6, 0.5))
def test_the_edge_of_a_chance_is_the_quantile_of_another_library(chance: float) -> None:
    assert normal_edge(chance) == pytest.approx(norm.isf(chance), abs=1e-9)
    assert normal_chance(-normal_edge(chance)) == pytest.approx(chance, rel=1e-9)


def test_the_quantiles_are_those_of_another_library() -> None:
    assert pytest.approx(norm.isf(0.10), abs=1e-10) == Z80
    assert pytest.approx(norm.isf(0.15), abs=1e-10) == Z85


def test_who_hardly_says_an_effort_is_loaded_with_more_care() -> None:
    # A share of 0.25 is where sets without an effort begin to count.
    assert (allowed(Person(rate=0.25)), allowed(Person(rate=0.24))) == ((0.20, 0.20), (0.15, 0.10))
    row = new_row("other", 100)
    told, silent = (following(row, Person(rate=rate), 1, 5, rpe=8)[0].kg for rate in (0.9, 0.1))
    assert told == load_for(row, 5, 8).kg
    assert silent == load_for(row, 5, 8, chance_true=0.15, chance_report=0.10).kg < told


@given(rows(), reps, rpes, st.floats(0.001, 0.5), st.floats(0.001, 0.5))
def test_allowing_less_never_gives_a_higher_load(row: Row, count: int, rpe: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    for kind in ("chance_true", "chance_report"):
        strict = highest_load_under(row, count, rpe, **{kind: low})
        assert strict <= highest_load_under(row, count, rpe, **{kind: high}) * (1 + 1e-12)


def test_half_a_chance_each_is_where_truth_and_report_are_expected() -> None:
    """By hand, new lift of 100 kg, 5 at RPE 8: g(7) = 0.4 log 1.696, the bias is 0.2 + 0.1 x 1 of 0.0464 / 1.696."""
    row = new_row("other", 100)
    true = 100 * 1.696**-0.4
    report = true * np.exp(-0.3 * 0.0464 / 1.696)
    both = highest_load_under(row, 5, 8, chance_true=0.5, chance_report=0.5)
    assert both == pytest.approx(report, rel=1e-12)
    assert chances(row, report, 5, 8)[0] == pytest.approx(0.5)
    assert chances(row, true, 5, 8)[1] == pytest.approx(0.5)


def test_more_fatigue_means_less_load_and_more_effort() -> None:
    row, person = new_row("other", 100), new_person()
    # 0.006 a unit, in logs, at a curve factor of one
    assert load_for(row, 5, 8, fatigue=2).unlimited_kg == pytest.approx(
        load_for(row, 5, 8).unlimited_kg * np.exp(-0.012)
    )
    assert expected_effort(row, person, 80, 5, fatigue=3).rpe > expected_effort(row, person, 80, 5).rpe
    assert chance_of_single(row, 100, fatigue=3) < 0.5
    tired = Row(row.reference, row.group, row.m, row.p, fatigue=2)
    assert load_for(row, 5, 8, fatigue=2) == load_for(tired, 5, 8)


def test_the_plan_has_the_range_of_the_days_max_times_its_share() -> None:
    row = new_row("squat_like", 150)
    plan, day = planned_load(row, 5, 8), day_max(row)
    share = plan.kg / day.kg
    assert (plan.low, plan.high) == pytest.approx((day.low * share, day.high * share))


def test_without_efforts_ranges_are_a_third_wider_today_and_ahead() -> None:
    row = new_row("other", 100)
    rated, unrated = Person(rate=0.25), Person(rate=0.2499)
    for ask in (rolling_max, lambda r, p: max_ahead(r, p, 0)):
        assert log(ask(row, unrated).high / 100) == pytest.approx(1.3 * log(ask(row, rated).high / 100))
    assert max_ahead(row, unrated, 0) == rolling_max(row, unrated)


def test_an_empty_row_says_nothing() -> None:
    row, person = new_row("other"), new_person()
    assert rolling_max(row, person) is day_max(row) is max_ahead(row, person, 7) is None
    assert load_for(row, 5, 8) is planned_load(row, 5, 8) is highest_load_under(row, 5, 9.5) is None
    assert expected_effort(row, person, 80, 5) is chances(row, 80, 5, 9) is chance_of_single(row, 80) is None
    assert following(row, person, 3, 5, kg=80) == load_list(row, [5], [2]) == ()
    assert needs(row, person).now is None


@given(
    rows(),
    st.floats(1e-6, 1e6),
    st.integers(1, 100),
    rpes,
    st.floats(0, 1e4),
    st.sampled_from([0.01, 0.5, 2]),
)
def test_absurd_numbers_get_an_answer(
    row: Row, kg: float, count: int, rpe: float, fatigue: float, factor: float
) -> None:
    person = Person(rate=0, erratic=9)
    m = (row.m[0], factor, *row.m[2:])
    row = Row(row.reference, row.group, m, row.p, fatigue=fatigue)
    effort = expected_effort(row, person, kg, count)
    assert 0.3 <= effort.possible <= 40.000001
    assert effort.low <= effort.rpe <= effort.high
    assert all(0 <= chance <= 1 for chance in (*chances(row, kg, count, rpe), chance_of_single(row, kg)))
    load = load_for(row, count, rpe)
    assert 0 <= load.kg <= load.unlimited_kg < inf
    for found in (rolling_max(row, person), day_max(row), max_ahead(row, person, 1e5), planned_load(row, count, rpe)):
        assert 0 <= found.low <= found.kg <= found.high
    assert all(isfinite(one.rpe) and one.rpe <= 10 for one in following(row, person, 2, count, kg=kg))


def test_follow_up_sets_take_what_hangs_on_the_bar() -> None:
    row, person = new_row("other", 100), new_person()

    def hang(wanted: float, most: float) -> float:
        assert wanted <= most
        return 2.5 * (wanted // 2.5)

    sets = following(row, person, 3, 5, kg=84, hang=hang)
    loads = following(row, person, 3, 5, kg=84)
    assert sets[0].kg == 2.5 * (loads[0].kg // 2.5)
    assert sets[0].rpe < loads[0].rpe
    assert [one.fatigue for one in sets] == sorted(one.fatigue for one in sets)


def test_follow_up_sets_without_an_effort_limit_are_held_by_nothing() -> None:
    row, person = new_row("other", 100), new_person()
    free = following(row, person, 2, 5, kg=100, effort_limit=None)
    assert [(one.kg, one.rpe, one.held) for one in free] == [(100, 10, False)] * 2
    assert all(one.held and one.kg < 90 for one in following(row, person, 2, 5, kg=100))


def test_follow_up_sets_need_one_load_or_one_effort() -> None:
    row, person = new_row("other", 100), new_person()
    for asked in ({}, {"kg": 80, "rpe": 8}):
        with pytest.raises(ValueError, match="not both"):
            following(row, person, 1, 5, **asked)


def test_what_is_needed_names_what_narrows_the_range() -> None:
    person = new_person()
    for row in (new_row("squat_like", 150), new_row("other", 60)):
        sure = needs(row, person)
        assert sure.now == rolling_max(row, person)
        assert sure.part == pytest.approx((sure.now.high - sure.now.low) / 2 / sure.now.kg)
        after = [need.after.high / need.after.low for need in sure.needs]
        assert after == sorted(after)
        assert all(width < sure.now.high / sure.now.low for width in after)
        assert all(need.after.kg == pytest.approx(sure.now.kg) for need in sure.needs)


def test_the_range_after_a_tested_single_by_hand() -> None:
    """New lift of 100 kg: level 0.1, day 0.025, single 0.03: 0.01 - 0.01 ** 2 / (0.01 + 0.000625 + 0.0009) is left."""
    sure = needs(new_row("other", 100), new_person())
    single = next(need for need in sure.needs if need.code == "tested_single")
    left = 0.01 - 0.01**2 / 0.011525
    assert log(single.after.high / 100) == pytest.approx(1.2815515655 * 1.07 * left**0.5)
    assert single.kg == pytest.approx(100)


@given(rows(), persons)
def test_the_range_after_a_hard_set_follows_from_the_covariance(row: Row, person: Person) -> None:
    """With the matrices of the slow version, at RPE 8 where the report is expected to be that."""
    lift = slow(row)
    for need in needs(row, person).needs:
        if need.code not in ("few_hard_repetitions", "some_hard_repetitions"):
            continue
        reps = (need.fewest + need.most) // 2
        assert need.kg == pytest.approx(plain_outputs.load(lift, reps, 8)[0], rel=1e-9)
        c = plain.reported_row(lift, plain.log_load(lift, need.kg), reps + 2)
        towards = lift.cov @ c
        after = slow(row)
        after.cov = lift.cov - np.outer(towards, towards) / (c @ towards + plain.report_noise(reps + 2, 2))
        ours = (need.after.kg, need.after.low, need.after.high)
        assert ours == pytest.approx(plain_outputs.estimated_max(after, person.rate), rel=1e-7)


def test_who_logs_no_effort_is_told_so() -> None:
    needed = needs(new_row("other", 100), Person(rate=0.1)).needs
    logged = next(need for need in needed if need.code == "log_effort")
    assert logged.after == rolling_max(new_row("other", 100), new_person())
    assert "log_effort" not in {need.code for need in needs(new_row("other", 100), Person(rate=0.3)).needs}


def test_a_lift_that_is_well_known_needs_nothing() -> None:
    row = new_row("other", 100)
    sure = Row(row.reference, row.group, row.m, tuple(1e-4 * x for x in row.p))
    assert needs(sure, new_person()).needs == ()


@given(rows(), st.integers(1, 15), rpes.filter(lambda rpe: rpe < 10), st.sampled_from([7, 8.5, 9.5, 10, None]))
def test_a_harder_target_or_fewer_repetitions_never_mean_a_lighter_load(
    row: Row, count: int, rpe: float, limit: float | None
) -> None:
    load = load_for(row, count, rpe, effort_limit=limit).kg
    assert load_for(row, count, rpe + 0.5, effort_limit=limit).kg >= load * (1 - 1e-12)
    assert load_for(row, count + 1, rpe, effort_limit=limit).kg <= load * (1 + 1e-12)


@given(rows(), st.integers(1, 12), rpes.filter(lambda rpe: rpe >= 6), st.floats(0.6, 1.1), st.floats(1, 1.1))
def test_a_heavier_load_is_no_likelier_to_stay_under_an_effort(
    row: Row, count: int, rpe: float, share: float, more: float
) -> None:
    """Holds up to z standard deviations, where z times the spread of the curve factor is the factor itself.

    Beyond that, where chances are rare, the spread grows faster with the load than what is expected.
    """
    kg = share * day_max(row).kg
    rare = norm.cdf(-row.m[1] / row.p[7] ** 0.5)
    for light, heavy in zip(chances(row, kg, count, rpe), chances(row, more * kg, count, rpe), strict=True):
        if min(light, heavy) > rare and max(light, heavy) < 1 - rare:
            assert heavy >= light - 1e-12


def test_a_sets_fatigue_counts_none_to_eight_repetitions_left() -> None:
    """2 ** (2 / 1.5) = 2.5198 at failure, 2 ** (-6 / 1.5) = 1 / 16 with eight left or more."""
    assert fatigue_unit(-1) == fatigue_unit(0) == pytest.approx(2.519842, abs=1e-6)
    assert fatigue_unit(8) == fatigue_unit(30) == 1 / 16
