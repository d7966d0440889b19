"""Loads in kilograms and pounds, exactly, against fractions and an independent units library."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.units import GRAINS_PER_KG, MassUnit, from_kg, grains, load, say, tidy, to_kg

POUND = Fraction(45_359_237, 100_000_000)  # kg, international yard and pound agreement 1959
thousandths = st.integers(-1_000_000, 2_000_000)
units = st.sampled_from(["kg", "lb"])
sampled = settings(max_examples=100, deadline=None)


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(non_int_type=Decimal)


@sampled
@given(thousandths, units)
def test_grains_are_the_exact_mass(value: int, unit: MassUnit) -> None:
    """A load with at most three decimals, as a float, comes out as the fraction that was meant."""
    exact = Fraction(value, 1000) * (POUND if unit == "lb" else 1)
    assert Fraction(grains(value / 1000, unit), GRAINS_PER_KG) == exact


@sampled
@given(value=thousandths)
def test_pounds_agree_with_an_independent_units_library_to_the_last_digit(
    registry: pint.UnitRegistry, value: int
) -> None:
    pounds = Decimal(value) / 1000
    there = registry.Quantity(pounds, "pound").to("kilogram").magnitude
    assert Decimal(grains(float(pounds), "lb")) / GRAINS_PER_KG == pytest.approx(there, rel=Decimal("1e-20"))
    assert to_kg(float(pounds), "lb") == pytest.approx(float(there), rel=1e-12, abs=1e-15)


@sampled
@given(value=thousandths)
def test_kilograms_shown_in_pounds_agree_with_an_independent_units_library(
    registry: pint.UnitRegistry, value: int
) -> None:
    there = registry.Quantity(Decimal(value) / 1000, "kilogram").to("pound").magnitude
    assert from_kg(value / 1000, "lb").value == pytest.approx(float(there), abs=0.00051)


@sampled
@given(thousandths, units)
def test_a_load_comes_back_as_it_was_entered(value: int, unit: MassUnit) -> None:
    entered = value / 1000
    made = load(entered, unit)
    assert (made.value, made.unit) == (entered, unit)
    assert made.kg is not None
    assert from_kg(made.kg, unit).value == pytest.approx(entered, abs=0.0021)  # kg is rounded to the gram
    assert from_kg(made.grains / GRAINS_PER_KG, unit).value == entered


@sampled
@given(thousandths, units)
def test_kilograms_are_rounded_to_the_gram(value: int, unit: MassUnit) -> None:
    made = load(value / 1000, unit)
    assert made.kg is not None
    assert abs(Fraction(made.grains, GRAINS_PER_KG) - Fraction(made.kg).limit_denominator(1000)) <= Fraction(1, 2000)


def test_masses_in_both_units_add_without_loss() -> None:
    """20 kg, two of 45 lb and two of 1.25 kg: 22.5 kg + 40.8233133 kg."""
    total = grains(20, "kg") + 2 * grains(45, "lb") + 2 * grains(1.25, "kg")
    assert total == 63_3233133 * 10**4


def test_225_lb_comes_back_as_225_lb() -> None:
    made = load(225, "lb")
    assert (made.value, made.kg) == (225, 102.058)  # 225 * 0.45359237 = 102.05828325
    assert say(made) == "225 lb"


def test_a_step_of_a_machine_has_no_mass() -> None:
    step = load(7, "step")
    assert step.kg is None
    assert say(step) == "step 7"
    with pytest.raises(ValueError, match="no mass"):
        _ = step.grains


def test_whole_numbers_are_written_without_a_decimal_point() -> None:
    assert repr(tidy(100.0)) == "100"
    assert repr(tidy(-0.0)) == "0"
    assert repr(tidy(2.5)) == "2.5"
    assert say(load(127.5, "kg")) == "127.5 kg"
