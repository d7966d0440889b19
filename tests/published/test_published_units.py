"""Kilograms and pounds against the agreement that defines them."""

from __future__ import annotations

import pytest

from service.core.units import GRAINS_PER_KG, from_kg, grains, to_kg

# International yard and pound agreement 1959; NIST Special Publication 811: 1 lb = 0.45359237 kg exactly.
POUNDS = {1: 0.45359237, 35: 15.87573295, 45: 20.41165665}
KILOGRAMS = {100: 220.462262, 2.5: 5.511557}  # in pounds, to six decimals


@pytest.mark.parametrize("pounds", POUNDS)
def test_pounds_in_kilograms(pounds: int) -> None:
    assert to_kg(pounds, "lb") == pytest.approx(POUNDS[pounds], rel=1e-9)
    assert grains(pounds, "lb") == round(POUNDS[pounds] * GRAINS_PER_KG)


@pytest.mark.parametrize("kg", KILOGRAMS)
def test_kilograms_in_pounds(kg: float) -> None:
    assert kg / to_kg(1, "lb") == pytest.approx(KILOGRAMS[kg], abs=5e-7)
    assert from_kg(kg, "lb").value == pytest.approx(KILOGRAMS[kg], abs=0.0005)  # shown to three decimals
