"""Loads as they are entered, and their mass exactly.

A load is entered in kilograms, pounds or steps of a machine, with at most three decimals. One pound is
0.45359237 kg exactly (international yard and pound agreement of 1959), so every load is a whole number
of 1e-11 kg: masses are compared and added as integers, and nothing is lost by rounding.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

Unit = Literal["kg", "lb", "step"]
MassUnit = Literal["kg", "lb"]
Number = int | float

GRAINS_PER_KG = 10**11
"""Grains (our word) in a kilogram: the largest unit in which every load is a whole number. [1e-11 kg]"""

_GRAINS_PER_THOUSANDTH = {"kg": 10**8, "lb": 45_359_237}
KG_PER: dict[MassUnit, float] = {"kg": 1.0, "lb": 0.45359237}
"""For arithmetic on estimates; exact masses use grains. [kg]"""


@dataclass(frozen=True, slots=True)
class Load:
    """A load as entered, with its mass."""

    value: Number
    """As entered, at most three decimals. What it means is the lift's load kind: the whole bar, one hand,
    added to body weight (negative: assistance), or the machine's step."""
    unit: Unit
    """`kg`, `lb`, or `step` where a machine lists steps without a mass."""
    kg: Number | None
    """Kilograms, rounded to the gram; null for `step`."""

    @property
    def grains(self) -> int:
        """Exact mass. [1e-11 kg]"""
        return _grains(self.value, self.unit)


def tidy(value: float, decimals: int = 3) -> Number:
    """Round, and give whole numbers as integers so that they are written without a decimal point.

    >>> tidy(127.50000001), tidy(100.0), tidy(-0.0)
    (127.5, 100, 0)
    """
    if type(value) is int:
        return value
    rounded = round(value, decimals)
    whole = int(rounded)
    return whole if whole == rounded else rounded


def grains(value: Number, unit: Unit) -> int:
    """Exact mass of a value with at most three decimals. [1e-11 kg]

    >>> grains(1, "lb")
    45359237000
    """
    return _grains(value, unit)


# The same few loads come again and again. 1 and 1.0 are one key here, which is right: both mean the same load.
@lru_cache(maxsize=8192)
def _grains(value: Number, unit: Unit) -> int:
    if unit == "step":
        raise ValueError("a step of a machine has no mass")
    return round(value * 1000) * _GRAINS_PER_THOUSANDTH[unit]


def load(value: Number, unit: Unit) -> Load:
    """Make a load from what was entered.

    >>> load(225, "lb")
    Load(value=225, unit='lb', kg=102.058)
    """
    return _load(value, unit)


@lru_cache(maxsize=8192)
def _load(value: Number, unit: Unit) -> Load:
    shown = tidy(value)
    if unit == "step":
        return Load(shown, unit, None)
    if unit == "kg":
        return Load(shown, unit, shown)
    return Load(shown, unit, tidy(grains(value, unit) / GRAINS_PER_KG))


def from_kg(kg: float, unit: MassUnit) -> Load:
    """A computed mass, shown in a unit to three decimals. [kg]

    >>> from_kg(102.05828325, "lb").value
    225
    """
    return load(tidy(kg / KG_PER[unit]), unit)


def to_kg(value: float, unit: MassUnit) -> float:
    """Kilograms as a float, for arithmetic on estimates; exact masses use `grains`. [kg]"""
    return value * KG_PER[unit]


def say(shown: Load) -> str:
    """The load in words: `127.5 kg`, `225 lb`, `step 7`.

    >>> say(load(127.5, "kg"))
    '127.5 kg'
    """
    if shown.unit == "step":
        return f"step {shown.value:g}"
    return f"{shown.value:g} {shown.unit}"
