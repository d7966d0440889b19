"""A template checked before anyone lifts it: a stored version, or weeks that nobody has stored."""

from __future__ import annotations

from collections.abc import Sequence

from service.core.check.check import TemplateChecked, check
from service.core.slots import WeekPlan
from service.core.templates import lifts_named
from service.core.units import MassUnit
from service.flows.context import Asked, gather
from service.store import lifts, people, templates
from service.store.errors import NotFound, UnknownReference
from service.store.session import Tx


def of_version(tx: Tx, template: str, version: str, *, athlete: str | None, unit: MassUnit | None) -> TemplateChecked:
    """Check a stored version; `latest` is the newest. Raises NotFound for a template, version or athlete."""
    weeks = templates.weeks_of(templates.get_version(tx, template, version))
    try:
        return of_weeks(tx, weeks, athlete=athlete, unit=unit)
    except UnknownReference as unknown:
        raise NotFound("athlete") from unknown


def of_weeks(
    tx: Tx, weeks: Sequence[WeekPlan], *, athlete: str | None = None, unit: MassUnit | None = None
) -> TemplateChecked:
    """Check weeks whose lifts the gym has.

    Parameters
    ----------
    tx : Tx
        The transaction.
    weeks : sequence of WeekPlan
        Faultless by `core.templates.faults`.
    athlete : str or None
        Our id or `ref:`: against this athlete's maxes, place and settings on their today. None: against a lifter of
        whom nothing is known.
    unit : "kg", "lb" or None
        Of tonnage; None: the athlete's.

    Raises
    ------
    UnknownReference
        If the gym has no such athlete.
    """
    named = lifts_named(weeks)
    if athlete is None:
        return check(weeks, lifts.get_many(tx, named), unit=unit or "kg")
    person = people.find(tx, athlete)
    if person is None:
        raise UnknownReference("athlete", "#/athlete")
    ctx = gather(tx, Asked(athlete=person.id, on=person.today, lifts=named, place=None, unit=unit))
    return check(weeks, ctx.lifts, ctx=ctx, unit=ctx.unit)
