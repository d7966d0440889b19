"""Two repetitions where a single was planned and a coach wants none, with a load that is no harder."""

from __future__ import annotations

from service.core import words
from service.core.answers import Named, Step
from service.core.errors import OutOfRange
from service.core.prescribe.bounds import LESS_FOR_TWO
from service.core.prescribe.grounds import Grounds
from service.core.units import tidy


def no_harder(g: Grounds, kg: float) -> tuple[float, Step]:
    """The load for the repetitions that are done, as hard as the planned load was for fewer. Effective. [kg]

    By what is known of efforts; where nothing is (technique lifts among them), `LESS_FOR_TWO` of it.
    """
    reps, single = words.middle_reps(g.slot.target) or 2.0, g.bounds.single or 1.0
    lighter = None
    rpe = g.expected(kg, single)
    if rpe is not None:
        try:
            lighter = g.load_for(reps, rpe)
        except OutOfRange:  # a published curve that does not reach so far
            lighter = None
    found = kg * LESS_FOR_TWO if lighter is None else min(lighter, kg)
    part = 100 * found / kg if kg else 100.0
    text = (
        f"No singles: for {words.number(reps)} repetitions instead of {words.number(single)} the load is "
        f"{words.number(part, 2)} % of {words.mass(kg, g.unit)}, {words.mass(found, g.unit)}, which is no harder."
    )
    inputs = (
        g.named("planned", kg),
        Named("reps", tidy(reps, 1), "reps"),
        Named("planned_reps", tidy(single, 1), "reps"),
        Named("share", tidy(part, 2), "percent"),
    )
    return found, Step(text, "no_singles", inputs, g.named("exact", found))
