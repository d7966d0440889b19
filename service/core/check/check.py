"""A template checked: findings first, then week by week what it asks for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from service.core.check.analysis import WeekChecked, read, shown
from service.core.check.basis import Reader
from service.core.check.finding import Finding
from service.core.check.findings import findings
from service.core.check.jumps import changes
from service.core.context import Context
from service.core.records import Lift
from service.core.slots import WeekPlan
from service.core.units import MassUnit


@dataclass(slots=True)
class FindingCounts:
    """How many findings there are of each level, equal ones once."""

    errors: int
    """What cannot come as it is written."""
    doubts: int
    """What is most likely not meant."""
    notes: int
    """What is worth knowing."""


@dataclass(slots=True)
class TemplateChecked:
    """What a template asks for, and what looks wrong in it."""

    counts: FindingCounts
    """How many findings."""
    findings: list[Finding]
    """Errors first, then doubts, then notes, each level in the template's order. Nothing is refused for them."""
    weeks: list[WeekChecked]
    """What each week asks for."""


def check(
    weeks: Sequence[WeekPlan], lifts: Mapping[str, Lift], *, ctx: Context | None = None, unit: MassUnit = "kg"
) -> TemplateChecked:
    """Check a template before anyone lifts it. Never refuses one whose lifts the gym has.

    Parameters
    ----------
    weeks : sequence of WeekPlan
        The template's.
    lifts : mapping
        The gym's lifts by word: those named and the ones that they are based on. Slots of others are counted only.
    ctx : Context or None
        An athlete's, on their today; None: a lifter of whom nothing is known.
    unit : "kg" or "lb"
        Of tonnage.

    Returns
    -------
    TemplateChecked
        Efforts are expected by the model; intensities are percentages of each lift's own max.
    """
    found = read(weeks, Reader(lifts, ctx))
    grown = changes([week.lighter for week in weeks], found.totals)
    told = findings(found, grown)
    count = {level: sum(1 for one in told if one.level == level) for level in ("error", "doubt", "note")}
    counts = FindingCounts(errors=count["error"], doubts=count["doubt"], notes=count["note"])
    return TemplateChecked(counts, told, shown(found, grown, unit))
