"""How sure a max is, what is peculiar to an athlete, and what is not known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp, log, sqrt

import pytest

from service.core.catalogue import BUILT_IN
from service.core.model.needs import needs
from service.core.model.state import BIAS_SD, Person, Row, new_person, new_row
from service.core.tell.manner import manner, reports
from service.core.tell.measure import Measure
from service.core.tell.sure import how_sure, sure
from service.core.tell.unknown import unknown

ON = date(2026, 3, 2)
SQUAT = Measure(BUILT_IN["squat"], "kg")


def trained(sets: int, spread: float = 0.03) -> Row:
    row = new_row("squat_like", 150, spread=spread)
    return replace(row, used_ever=sets, day=ON)


def test_how_sure_is_half_of_the_range_against_the_max() -> None:
    found = how_sure(trained(20), new_person(), SQUAT, ON)
    # Level 0: 1.2816 x 1.07 x 0.03 / 1.08 = 0.03809, so 150 x (e^0.03809 - e^-0.03809) / 2 / 150 = 3.8 %, shown as 4.
    assert found.percent == 4
    assert found.text == "Sure to about 4 %: it stands on 20 sets."
    low, high = 150 * exp(-0.03809), 150 * exp(0.03809)
    assert found.why[0].text == (
        f"In 8 of 10 such cases the max is {low:.1f} to {high:.1f} kg: about 4 % to each side of 150 kg."
    )


def test_a_newcomer_is_told_that_training_will_make_it_surer() -> None:
    assert "it stands on what was entered, not on training" in how_sure(trained(0), new_person(), SQUAT, ON).text
    few = how_sure(trained(1), new_person(), SQUAT, ON).text
    assert few == "Sure to about 4 %: it stands on 1 set so far. After three more hard sets this will be surer."
    assert "three more" not in how_sure(trained(6), new_person(), SQUAT, ON).text


def test_without_efforts_it_says_what_that_costs() -> None:
    silent = replace(new_person(), rate=0.1)
    found = how_sure(trained(20), silent, SQUAT, ON)
    assert "hardly a set says how hard it was" in found.text
    assert "log_effort" in [one.code for one in found.surer]


def test_a_long_time_away_is_named() -> None:
    row, person = trained(20), new_person()
    found = sure(needs(row, person), row, person, SQUAT, last=date(2026, 1, 10), on=ON)
    assert found.text.endswith("The last session was on 10 January 2026, so it is less sure than it was then.")
    lately = sure(needs(row, person), row, person, SQUAT, last=date(2026, 2, 20), on=ON)
    assert "10 January" not in lately.text
    assert "last session" not in lately.text


def test_what_would_help_defers_to_the_coach_and_names_no_load() -> None:
    found = how_sure(trained(2, 0.08), new_person(), SQUAT, ON)
    assert found.surer
    for one in found.surer:
        assert "coach" in one.text or "your plan" in one.text
        assert "kg" not in one.text
        assert one.percent is not None
        assert found.percent is not None
        assert one.percent <= found.percent


def test_where_nothing_is_known_it_says_what_to_do() -> None:
    found = how_sure(new_row("squat_like"), new_person(), SQUAT, ON)
    assert (found.percent, found.why) == (None, ())
    assert [(one.code, one.percent) for one in found.surer] == [("first_rated_set", None)]
    assert "Enter a max, or log one hard set" in found.surer[0].text


def known_curve(factor: float, bend: float = 0.0) -> Row:
    """A squat of which the curve is known well."""
    row = new_row("squat_like", 150)
    m = (row.m[0], factor, *row.m[2:4], bend, *row.m[5:])
    return replace(row, m=m, p=(*row.p[:7], 0.001, *row.p[8:]))


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (
            1.08,
            "You get about as many repetitions at a percentage as most do in this lift: about 8 at 80 % of your max.",
        ),
        (1.35, "You get more repetitions than most at a percentage: about 11 at 80 % of your max, where most get 8."),
        (0.85, "You get fewer repetitions than most at a percentage: about 6 at 80 % of your max, where most get 8."),
    ],
)
def test_repetitions_at_a_percentage_are_held_against_those_of_most(factor: float, words: str) -> None:
    found = manner(known_curve(factor), new_person())
    # share(n) = 0.8 where (1 + 0.116 (n - 1))^(-0.4 / factor) = 0.8
    possible = 1 + (0.8 ** (-factor / 0.4) - 1) / 0.116
    assert found.repetitions == pytest.approx(possible, abs=0.05)
    assert found.usual == pytest.approx(1 + (0.8 ** (-1.08 / 0.4) - 1) / 0.116, abs=0.05)
    assert found.curve == words
    assert [step.formula for step in found.why] == ["own_curve"]


def test_a_bent_curve_is_followed() -> None:
    found = manner(known_curve(1.08, bend=0.5), new_person())
    assert found.repetitions is not None
    # Where g(n) + 0.5 h(n) = -1.08 ln 0.8: put in, it holds.
    big = 0.4 * log(1 + 0.116 * (found.repetitions - 1))
    assert big + 0.5 * big * (big - 0.25) == pytest.approx(-1.08 * log(0.8), abs=0.003)


def test_nothing_is_claimed_of_a_newcomer() -> None:
    found = manner(new_row("squat_like", 150), new_person())
    assert (found.repetitions, found.why) == (None, ())
    assert "not known yet" in found.curve
    assert "not known yet" in found.reports


@pytest.mark.parametrize(
    ("bias", "words"),
    [
        (0.2, "fits what happens"),
        (0.5, "fits what happens"),
        (0.8, "about half a repetition more left than you say"),
        (1.2, "about one repetition more left than you say"),
        (1.6, "more than one repetition more left than you say"),
        (-0.4, "ended earlier than your reports let expect, by about half a repetition"),
    ],
)
def test_reports_are_told_kindly(bias: float, words: str) -> None:
    assert words in reports(Person(bias=bias, v_bias=(0.5 * BIAS_SD) ** 2))
    assert sqrt(new_person().v_bias) == BIAS_SD


@pytest.mark.parametrize(
    ("lift", "missing", "words"),
    [
        ("snatch", "technique_lift", "heaviest made singles"),
        ("plank", "no_load", "without a load"),
        ("leg-press", "no_mass", "same step"),
        ("pull-up", "no_body_weight", "Enter a body weight"),
        ("squat", "no_effort", "Say how many repetitions were left"),
        ("squat", "no_max", "Enter a max, or log one hard set"),
    ],
)
def test_what_is_not_known_is_said_with_what_to_do(lift: str, missing: str, words: str) -> None:
    text = unknown(BUILT_IN[lift], missing)  # type: ignore[arg-type]
    assert words in text
    assert BUILT_IN[lift].name.lower() in text
