"""The loads of the first hour are right: worked out here by hand, apart from the program."""

from __future__ import annotations

import re
from pathlib import Path

GUIDES = Path(__file__).parents[2] / "service/guides"
FIRST_HOUR = " ".join((GUIDES / "first-hour.md").read_text("utf-8").split())


def share(reps: float) -> float:
    """The default curve as the guide to formulas prints it."""
    return (1 + 0.116 * (reps - 1)) ** -0.4


def test_the_loads_of_the_first_hour_are_worked_out_as_told() -> None:
    # Back-off sets: 102.5 x 0.92 = 94.3, nearest of 2.5 is 95; 105 x 0.92 = 96.6, nearest 97.5.
    assert "105 kg divided by that is 118.3 kg" in FIRST_HOUR
    assert f"{100 * share(4):.2f}" == "88.74"
    assert round(105 * 0.92, 1) == 96.6
    assert "planned at 95 kg" in FIRST_HOUR
    assert "8 % less than 105 kg is 96.6 kg, and the nearest that can be hung is 97.5 kg" in FIRST_HOUR
    # Thursday: a single at RPE 8 is 3 to failure, 0.91993 x 118.32 = 108.85; between 107.5 and 110 the nearer is 110.
    assert f"{share(3) * 105 / share(4):.1f}" == "108.8"
    assert "92 % of it is 108.8 kg, and the nearest that can be hung is 110 kg" in FIRST_HOUR
    # Pause squats at 70 % of the day: 0.7 x 118.32 = 82.83, nearest 82.5.
    assert re.search(r"set 82\.5 kg x 3", FIRST_HOUR)
