"""What holds for every expectation, whatever is known of the lifter."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.context import Context, KnownRow
from service.core.loading.kits import default_kit
from service.core.model.state import Person, Row, new_row
from service.core.records import Settings
from service.core.tell.estimates import stand
from service.core.tell.expectation import Asked, expectation
from service.core.tell.load_list import load_list
from service.core.units import load

ON = date(2026, 11, 28)


@st.composite
def lifters(draw: Any) -> Context:
    """A squat of which something is known, on a day with some fatigue."""
    kg = draw(st.floats(30, 300))
    row: Row = new_row("squat_like", kg, spread=draw(st.floats(0.01, 0.2)))
    m = (draw(st.floats(-0.1, 0.1)), draw(st.floats(0.7, 1.6)), draw(st.floats(-0.05, 0.05)), 0.006,
         draw(st.floats(-0.8, 0.8)), draw(st.floats(-0.8, 1.0)), 0.0)  # fmt: skip
    row = replace(row, m=m, day=ON, fatigue=draw(st.floats(0, 8)), seen=0)
    return Context(
        on=ON,
        unit=draw(st.sampled_from(["kg", "lb"])),
        kit=default_kit("kg"),
        lifts=dict(BUILT_IN),
        settings=Settings(effort_limit=draw(st.sampled_from([8, 9, 9.5, 10]))),
        person=Person(bias=m[5], erratic=draw(st.floats(0.3, 3))),
        rows=(KnownRow(lift="squat", support="unsupported", row=row),),
    )


@settings(max_examples=100, deadline=None)
@given(lifters(), st.integers(1, 12), st.floats(20, 350))
def test_a_heavier_load_is_never_expected_to_be_easier(ctx: Context, reps: int, kg: float) -> None:
    light, heavy = (
        expectation(Asked(lift="squat", reps=reps, load=load(round(value, 3), "kg")), ctx, why=False)
        for value in (kg, kg * 1.05)
    )
    assert heavy.expected_rpe >= light.expected_rpe
    assert light.chance_to_make is not None
    assert heavy.chance_to_make is not None
    assert heavy.chance_to_make <= light.chance_to_make
    for one in (light, heavy):
        nine, more = one.passes
        for chance in (nine.chance_reported, nine.chance_true, more.chance_reported, more.chance_true):
            assert chance is not None
            assert 0 <= chance <= 1
        assert (nine.chance_true or 0) >= (more.chance_true or 0)
        # To make all is to leave none too few: less likely than to stay at 9.5 or under, all but rounding.
        assert one.chance_to_make is not None
        assert one.chance_to_make >= 1 - (more.chance_true or 0) - 0.0011
        assert one.range is not None
        assert 4 <= one.range.low <= one.range.high <= 10


@settings(max_examples=100, deadline=None)
@given(lifters(), st.integers(1, 12), st.sampled_from([6, 7, 7.5, 8, 8.5, 9]))
def test_a_chosen_load_is_not_above_what_the_chances_allow(ctx: Context, reps: int, rpe: float) -> None:
    found = expectation(Asked(lift="squat", reps=reps, rpe=rpe), ctx)
    chosen = found.chosen
    assert chosen is not None
    assert chosen.most is not None
    assert chosen.overshoot is not None
    assert found.load.kg is not None
    assert chosen.most.kg is not None
    lightest = found.load.kg <= 20  # nothing lighter can be loaded than the bar
    if not lightest:
        assert found.load.kg <= chosen.most.kg + 0.002
        # The limits take their spread at another load, so the chances are near the stated ones, not equal.
        assert (chosen.overshoot.chance_true or 0) <= 0.25
        assert (chosen.overshoot.chance_reported or 0) <= 0.25
    assert all(step.text and step.formula for step in found.why)


@settings(max_examples=60, deadline=None)
@given(lifters())
def test_a_load_list_falls_with_the_load(ctx: Context) -> None:
    listed = load_list(stand(BUILT_IN["squat"], "unsupported", ctx, logged=True), ctx)
    kilograms = [float(one.load.kg or 0) for one in listed.loads]
    assert kilograms == sorted(set(kilograms), reverse=True)
    before = [0, 0, 0]
    for one in listed.loads:
        counts = [count.reps or 0 for count in one.counts]
        assert counts != before
        assert all(now >= then for now, then in zip(counts, before, strict=True))
        assert counts == sorted(counts, reverse=True)
        before = counts
