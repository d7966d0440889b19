"""What is known of a lift, as lists and load lists tell it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp
from typing import Any

import pytest

from service.core.catalogue import BUILT_IN
from service.core.context import Context, KnownRow
from service.core.errors import NotComputable
from service.core.loading.kits import default_kit
from service.core.model.state import Person, new_row
from service.core.records import Kit, KnownMax, Settings, Stack
from service.core.tell.estimates import estimate, stand
from service.core.tell.load_list import load_list
from service.core.units import load

ON = date(2026, 11, 28)


def entered(lift: str, kg: float, **more: Any) -> KnownMax:
    return KnownMax(lift=lift, basis="tested", kg=kg, on=date(2026, 11, 1), source="test", **more)


def conditions(*maxes: KnownMax, **more: Any) -> Context:
    return Context(on=ON, unit="kg", kit=more.pop("kit", default_kit("kg")), lifts=dict(BUILT_IN), maxes=maxes, **more)


def known(lift: str, ctx: Context, **more: Any) -> Any:
    return estimate(stand(BUILT_IN[lift], "unsupported", ctx, logged=False), ctx, **more)


def test_a_max_that_was_entered_is_where_it_starts() -> None:
    found = known("squat", conditions(entered("squat", 150)))
    # Tested within 56 days: 1.2816 x 1.07 x 0.05 / 1.08 = 0.06349 to each side in the log.
    assert found.text == (
        f"Squat: a max of about 150 kg; in 8 of 10 such cases it is {150 * exp(-0.06349):.1f} to "
        f"{150 * exp(0.06349):.1f} kg."
    )
    assert found.why[0].text == "No set has told anything yet: the tested max of 150 kg is where it starts."
    assert (found.basis, found.sets, found.sure_percent) == ("tested", 0, 6)


def test_a_variation_without_an_own_max_names_the_ratio() -> None:
    found = known("pause-squat", conditions(entered("squat", 150)))
    # 0.9 of 150 kg
    assert found.max.value == pytest.approx(135)
    assert found.why[-1].formula == "ratio"


def test_days_ahead_are_told_with_the_days() -> None:
    found = known("squat", conditions(entered("squat", 150)), days_ahead=100)
    # 0.0002 a day: 150 x e^0.02
    assert found.max.value == pytest.approx(150 * exp(0.02), abs=0.001)
    assert "in 100 days, if training goes on as usual" in found.text
    assert [step.formula for step in found.why] == ["entered_max", "max_ahead"]


def test_a_pinned_curve_and_a_long_time_away_are_cautions() -> None:
    ctx = conditions(entered("squat", 150), settings=Settings(curve="epley"))
    found = known("squat", ctx, last=date(2026, 10, 1))
    assert [one.code for one in found.cautions] == ["long_ago", "pinned_curve"]
    assert known("squat", conditions(entered("squat", 150)), last=date(2026, 11, 20)).cautions == ()


def test_steps_without_a_mass_have_no_max() -> None:
    steps = Stack(name="press", lifts=("leg-press",), steps=tuple(load(at, "step") for at in range(1, 9)))
    ctx = conditions(kit=replace(default_kit("kg"), stacks=(steps,)))
    assert "have no mass" in known("leg-press", ctx).text


def test_the_heaviest_single_of_a_technique_lift_is_named_where_it_is_newer() -> None:
    day = KnownMax(lift="snatch", basis="day", kg=82, on=date(2026, 11, 20), source="the day's heavy set")
    found = known("snatch", conditions(entered("snatch", 80), day))
    assert found.text.endswith("The last heaviest single of the day: 82 kg on 20 November 2026.")
    assert (found.max.value, found.range, found.basis) == (82, None, "day")


def test_the_list_is_for_a_typical_day_and_fresh() -> None:
    row = new_row("squat_like", 150, spread=0.03)
    good = replace(row, m=(row.m[0], row.m[1], 0.05, *row.m[3:]), day=ON, fatigue=5.0, used_ever=20, seen=0)
    lists = []
    for one in (row, good):
        ctx = conditions(rows=(KnownRow(lift="squat", support="unsupported", row=one),), person=Person())
        lists.append(load_list(stand(BUILT_IN["squat"], "unsupported", ctx, logged=True), ctx))
    assert lists[0].loads == lists[1].loads
    assert "by what the log says" in lists[1].text


def test_where_nothing_is_light_enough_the_list_says_so() -> None:
    ctx = conditions(entered("squat", 15))
    found = load_list(stand(BUILT_IN["squat"], "unsupported", ctx, logged=False), ctx)
    assert found.loads == ()
    assert found.text.endswith("Nothing light enough for it can be loaded here.")


def test_a_place_without_a_bar_has_no_list() -> None:
    ctx = conditions(entered("squat", 150), kit=Kit(bars=(), collars=load(0, "kg"), plates=()))
    with pytest.raises(NotComputable):
        load_list(stand(BUILT_IN["squat"], "unsupported", ctx, logged=False), ctx)
    assert known("squat", ctx).max.value == 150
