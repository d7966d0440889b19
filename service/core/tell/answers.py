"""What is answered about what the model knows. These records are written to the wire as they are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.answers import Caution, Loading, LoadRange, ObeyedOverride, Step
from service.core.units import Load, MassUnit, Number


@dataclass(frozen=True, slots=True)
class NumberRange:
    """In `level` of such cases (0.8: 8 of 10) the true number lies inside."""

    low: Number
    """The lower end."""
    high: Number
    """The upper end."""
    level: Number
    """In which part of such cases it holds, 0 to 1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passing:
    """How likely a set passes an effort."""

    rpe: Number
    """The effort. [RPE]"""
    chance_reported: Number | None
    """That a harder one will be reported, 0 to 1; null where a curve is pinned, which knows no chances."""
    chance_true: Number | None
    """That fewer repetitions will really be left, whatever is reported, 0 to 1; null as above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """How a load was chosen for an effort."""

    rpe: Number
    """The effort aimed at, after the effort limit. [RPE]"""
    planned: Load
    """The load at which this effort is expected, before limits and rounding; as the lift's load is meant."""
    planned_range: LoadRange | None
    """Where that load is likely to lie."""
    most: Load | None
    """The heaviest that the chances to pass the limit allow; null where the limit is lifted or a curve is pinned."""
    limit: Literal["true", "report"] | None
    """The chance that made the load lower: to pass the limit in truth, or in the report; null: neither did."""
    overshoot: Passing | None
    """How likely the load passes what it shall hardly pass; null where the limit is lifted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """What a set should be like before it is lifted."""

    lift: str
    """The lift's word."""
    reps: int
    """Repetitions of the set."""
    load: Load
    """The load that all of this is about: the one sent, or for an effort the one that can be loaded."""
    text: str
    """What to expect, in one or two sentences."""
    expected_rpe: Number
    """The effort that is likely to be reported, 4 to 10; lighter ones are shown as 4. [RPE]"""
    range: NumberRange | None
    """Where that report is likely to lie, 4 to 10; null where a curve is pinned. [RPE]"""
    chance_to_make: Number | None
    """That all repetitions go up, 0 to 1; null where a curve is pinned."""
    passes: tuple[Passing, ...]
    """The chances to pass RPE 9 and 9.5."""
    chosen: Choice | None
    """How the load was chosen; null where it was sent."""
    why: tuple[Step, ...]
    """The reason, in order."""
    loading: Loading | None
    """What hangs where; null where the load was sent."""
    cautions: tuple[Caution, ...]
    """Only those that apply."""
    overrides: tuple[ObeyedOverride, ...]
    """A coach's decisions about this lift; a cap is obeyed where a load is chosen."""
    unit: MassUnit
    """Unit that loads are worked out in; what is whole only in the other unit is shown in that."""
