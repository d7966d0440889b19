"""What a slot of a session asks for: a target and a scheme. Words are those of the trade."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.units import Load, Number

Basis = Literal["tested", "training", "day", "rolling"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EffortTarget:
    """Repetitions at an effort: exactly one of `rpe`, `rir`."""

    kind: Literal["effort"] = "effort"
    reps: int
    reps_to: int | None = None
    rpe: Number | None = None
    rir: Number | None = None

    @property
    def asked_rpe(self) -> float:
        """The effort asked, on the RPE scale; the arithmetic reads a half as half a repetition. [RPE]"""
        return float(self.rpe if self.rpe is not None else 10 - (self.rir or 0))


@dataclass(frozen=True, slots=True, kw_only=True)
class PercentTarget:
    """A percentage, or a band of it, of a basis."""

    kind: Literal["percent"] = "percent"
    reps: int
    reps_to: int | None = None
    percent: Number
    percent_to: Number | None = None
    basis: Basis
    valid_days: int | None = None
    of: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadTarget:
    """A fixed load."""

    kind: Literal["load"] = "load"
    reps: int
    reps_to: int | None = None
    load: Load


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeTarget:
    """Seconds under a hold or a carry, with or without a load."""

    kind: Literal["time"] = "time"
    seconds: int
    load: Load | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DistanceTarget:
    """Metres of a carry or a drag, with or without a load."""

    kind: Literal["distance"] = "distance"
    metres: Number
    load: Load | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FreeTarget:
    """The lifter chooses."""

    kind: Literal["free"] = "free"
    reps: int | None = None
    reps_to: int | None = None


Target = EffortTarget | PercentTarget | LoadTarget | TimeTarget | DistanceTarget | FreeTarget


@dataclass(frozen=True, slots=True, kw_only=True)
class BackOff:
    """Sets after the top set with a stated part of its load taken off."""

    sets: int
    less_percent: Number


@dataclass(frozen=True, slots=True, kw_only=True)
class SameLoad:
    """Further sets with the top set's load and repetitions."""

    sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildUp:
    """Sets on the way to the top set: by effort (`rpes`) or by percentages of the planned load (`percents`)."""

    rpes: tuple[Number, ...] | None = None
    percents: tuple[Number, ...] | None = None
    reps: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SetsAtTarget:
    """A number of sets, each chosen to land on the target."""

    kind: Literal["sets_at_target"] = "sets_at_target"
    sets: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TopSet:
    """The heaviest set of the day, with back-off sets, same-load sets, or alone."""

    kind: Literal["top_set"] = "top_set"
    back_off: BackOff | None = None
    same_load: SameLoad | None = None
    build_up: BuildUp | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLastSet:
    """Sets at the target, then as many good repetitions as possible, to a stated limit."""

    kind: Literal["open_last_set"] = "open_last_set"
    sets_before: int
    most_reps: int | None = None
    stop_rpe: Number | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AscendingSets:
    """One set at each percentage of the target's load, the last one 100."""

    kind: Literal["ascending_sets"] = "ascending_sets"
    percents: tuple[Number, ...]


Scheme = SetsAtTarget | TopSet | OpenLastSet | AscendingSets


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """One line of a session: a lift, a scheme, a target."""

    lift: str
    scheme: Scheme
    target: Target
    tempo: str | None = None
    rest_seconds: int | None = None
    note: str | None = None
    accessory: bool = False
    optional: bool = False
    with_next: bool = False
    support: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionPlan:
    """One session of a template's week."""

    name: str
    slots: tuple[Slot, ...]
    kind: Literal["block", "test", "meet"] = "block"
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekPlan:
    """One week of a template; weeks count from 1, as coaches do."""

    sessions: tuple[SessionPlan, ...]
    name: str | None = None
    note: str | None = None
