"""Sentences about what to expect of a set."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from service.core.catalogue import BUILT_IN
from service.core.context import Context, KnownRow
from service.core.errors import NotComputable
from service.core.loading.kits import default_kit
from service.core.model.state import Person, new_row
from service.core.records import KnownMax, Settings
from service.core.tell.expectation import Asked, expectation
from service.core.tell.expectation_words import often
from service.core.units import load
from tests.core.model import plain, plain_outputs

ON = date(2026, 11, 28)


def conditions(*, kg: float | None = 150, lift: str = "squat", **more: Any) -> Context:
    known = () if kg is None else (KnownMax(lift=lift, basis="tested", kg=kg, on=ON, source="given"),)
    return Context(on=ON, unit=more.pop("unit", "kg"), kit=default_kit("kg"), lifts=dict(BUILT_IN), maxes=known, **more)


def squat(**members: Any) -> Asked:
    return Asked(lift="squat", **{"reps": 5, **members})


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "hardly ever"),
        (0.0074, "hardly ever"),
        (0.01, "in about 1 of 100 such sets"),
        (0.02, "in about 1 of 50 such sets"),
        (0.05, "in about 1 of 20 such sets"),
        (0.08, "in about 1 of 10 such sets"),
        (0.5, "in about 5 of 10 such sets"),
        (0.949, "in about 9 of 10 such sets"),
        (0.95, "nearly always"),
        (1.0, "nearly always"),
    ],
)
def test_a_chance_is_told_as_how_often(chance: float, words: str) -> None:
    assert often(chance) == words


def test_a_load_that_was_sent_is_told_with_how_often_it_is_too_hard() -> None:
    found = expectation(squat(load=load(125, "kg")), conditions())
    # The chances of the specification's example: past 9.5 in the report about 0.42, made with 0.66.
    assert found.text == (
        "5 with 125 kg: this should leave one or two repetitions. It goes past RPE 9.5 in about 4 of 10 such sets. "
        "All 5 repetitions go up in about 7 of 10 such sets."
    )
    assert [step.formula for step in found.why] == [
        "part_of_max", "expected_effort", "effort_range", "chance", "chance", "chance",
    ]  # fmt: skip
    # 125 of 150 kg
    assert found.why[0].text == "125 kg is 83.3 % of the given max of 150 kg."


def test_a_load_that_is_kept_lighter_says_what_the_effort_alone_would_mean() -> None:
    found = expectation(squat(rpe=8), conditions())
    # Worked example A of the specification: 122.41 kg without any limit; under one in five by the slow model.
    in_truth, in_report = plain_outputs.load(plain.new_lift(150, group=0.08), 5, 8)[1:]
    assert in_report < in_truth < 122.41
    assert "RPE 8 alone would mean 122.4 kg; it is lighter so that RPE 9.5 is hardly passed." in found.text
    held = next(step for step in found.why if step.formula == "chance_limit")
    assert held.text == (
        "With 122.4 kg the chance that it will be felt as more than RPE 9.5 is over 20 %: "
        f"{in_report:.1f} kg keeps it there."
    )


def test_a_set_that_is_too_heavy_says_so_without_numbers_that_mean_nothing() -> None:
    found = expectation(squat(reps=1, load=load(170, "kg")), conditions())
    assert found.text.startswith("1 with 170 kg: this is likely to be missed.")
    assert found.expected_rpe == 10
    assert "a set of 1 is likely to be missed" in found.why[1].text


def test_assistance_is_taken_off_the_body() -> None:
    asked = Asked(lift="pull-up", reps=5, load=load(-20, "kg"))
    found = expectation(asked, conditions(kg=90, lift="pull-up", body_weight_kg=82))
    assert found.why[0].text == "The body of 82 kg less 20 kg of assistance are 62 kg."
    # 62 of 90 kg
    assert found.why[1].text == "62 kg is 68.9 % of the given max of 90 kg."


def test_what_the_log_has_taught_goes_before_a_max_that_was_entered() -> None:
    row = new_row("squat_like", 180, spread=0.02)
    ctx = conditions(rows=(KnownRow(lift="squat", support="unsupported", row=row),), person=Person())
    by_log, by_max = (expectation(squat(load=load(125, "kg")), c) for c in (ctx, conditions()))
    assert by_log.expected_rpe < by_max.expected_rpe
    assert by_log.why[0].formula == "model_max"


def test_fatigue_of_todays_sets_makes_the_same_load_harder() -> None:
    row = new_row("squat_like", 150, spread=0.02)
    row.day = ON
    tired = new_row("squat_like", 150, spread=0.02)
    tired.day, tired.fatigue = ON, 6.0
    fresh, later = (
        expectation(
            squat(load=load(125, "kg")),
            conditions(rows=(KnownRow(lift="squat", support="unsupported", row=one),), person=Person()),
        )
        for one in (row, tired)
    )
    assert later.expected_rpe > fresh.expected_rpe


def test_without_a_max_it_says_what_is_missing() -> None:
    with pytest.raises(NotComputable) as refused:
        expectation(squat(rpe=8), conditions(kg=None))
    assert refused.value.code == "no_max"


def test_a_pinned_curve_is_named() -> None:
    found = expectation(squat(load=load(120, "kg")), conditions(settings=Settings(curve="epley")))
    effort = next(step for step in found.why if step.formula == "expected_effort")
    # 120 of 150 kg: 30 / 0.8 - 30 = 7.5 (Epley 1985)
    assert effort.text == (
        "With 120 kg about 7.5 repetitions are possible by the curve “Epley 1985”, so a set of 5 is RPE 7.5."
    )


@pytest.mark.parametrize("members", [{}, {"load": load(100, "kg"), "rpe": 8}])
def test_it_takes_a_load_or_an_effort(members: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="a load or an effort"):
        expectation(squat(**members), conditions())


def test_where_nothing_is_light_enough_it_does_not_claim_to_be_lighter() -> None:
    # A new press of 22 kg: 5 at RPE 8 are about 18 kg, and the bar alone is 20.
    press = Asked(lift="overhead-press", reps=5, rpe=8)
    found = expectation(press, conditions(kg=22, lift="overhead-press"))
    assert found.load.value == 20
    assert "lighter" not in found.text
    assert "empty_bar_heavier" in {one.code for one in found.cautions}
