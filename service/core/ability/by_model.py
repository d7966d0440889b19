"""The athlete's model of a lift: what stands unless a coach has pinned a curve."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp
from typing import Literal

from service.core.ability.ability import Bounded
from service.core.model.expect import expected_repetitions
from service.core.model.levels import LEAST_FACTOR, day_max
from service.core.model.load import Suggested, allowed, load_for, unlimited_load
from service.core.model.state import Person, Row
from service.core.records import MODEL


@dataclass(slots=True)
class ByModel:
    """One lift of an athlete as the log has taught it, on its day. Not frozen for speed: functions give new ones."""

    row: Row
    person: Person

    @property
    def known(self) -> bool:
        """Whether a set or a max has told the level."""
        return self.row.reference is not None

    @property
    def kg(self) -> float:
        """Today's max: level and day. [kg]"""
        row = self.row
        return exp(_of(row.reference) + (row.m[0] + row.m[2]) / max(LEAST_FACTOR, row.m[1]))

    @property
    def name(self) -> str:
        """Always `model`."""
        return MODEL

    def load(self, reps: float, rpe: float, fatigue: float = 0.0) -> float:
        """As `Ability.load`, without the limits: what a plan shows."""
        return _of(unlimited_load(self.row, reps, rpe, self.row.fatigue + fatigue))

    def within(self, reps: float, rpe: float) -> float:
        """As `Ability.within`: the model has no ends."""
        return self.load(reps, rpe)

    def bounded(self, reps: float, rpe: float, limit: float | None) -> Bounded:
        """As `Ability.bounded`: the chances to pass the limit, in truth and in the report, stay small (`allowed`)."""
        found = self._limited(reps, rpe, limit)
        if found is None:
            raise ValueError("nothing is known of the lift")
        most = None if found.true_kg is None or found.report_kg is None else min(found.true_kg, found.report_kg)
        return Bounded(found.kg, found.unlimited_kg, most, found.limit)

    def most(self, reps: float, rpe: float) -> float:
        """As `Ability.most`: the load for the effort, and under both limits a point above it. [kg]"""
        found = self._limited(reps, rpe, rpe)  # so that the limit is a point above
        return _of(None if found is None else found.kg)

    def chance(self, bound: Literal["true", "report"]) -> float:
        """How likely the limit may be passed. [1]"""
        true, report = allowed(self.person)
        return true if bound == "true" else report

    def _limited(self, reps: float, rpe: float, limit: float | None) -> Suggested | None:
        true, report = allowed(self.person)
        return load_for(self.row, reps, rpe, effort_limit=limit, chance_true=true, chance_report=report)

    def span(self, kg: float, possible: float) -> tuple[float, float]:  # noqa: ARG002  (the model is as sure of any)
        """As `Ability.span`: the range of today's max, times the load's share of it."""
        day = day_max(self.row)
        if day is None:
            raise ValueError("nothing is known of the lift")
        return kg * day.low / day.kg, kg * day.high / day.kg

    def possible(self, kg: float, reps: float) -> float:
        """Repetitions to failure that the report of the session's next set is expected to amount to. [kg], [reps]"""
        return expected_repetitions(self.row, kg, reps)

    def expected(self, kg: float, reps: float, fatigue: float = 0.0) -> float:
        """As `Ability.expected`."""
        return 10 + reps - expected_repetitions(self.row, kg, reps, self.row.fatigue + fatigue)


def _of(number: float | None) -> float:
    if number is None:
        raise ValueError("nothing is known of the lift")
    return number
