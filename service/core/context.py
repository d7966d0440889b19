"""Everything that loads depend on besides the slot: the day, the place, the maxes, what the log has taught."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from service.core.model.kin import Ratio
from service.core.model.state import Person, Row
from service.core.records import (
    Absence,
    Kit,
    KnownMax,
    Lift,
    Override,
    PastWork,
    SessionKind,
    Settings,
    SupportClass,
)
from service.core.units import MassUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownRow:
    """What the log has taught of a lift, in one class of support, on the place's machine."""

    lift: str
    support: SupportClass
    row: Row
    ratio: Ratio | None = None
    """What the log has taught of its ratio to the lift that it is based on."""


@dataclass(slots=True, kw_only=True)
class Context:
    """Everything that loads depend on besides the slot; kept with what was prescribed. Not frozen for speed."""

    on: date
    unit: MassUnit
    kit: Kit
    lifts: dict[str, Lift]
    maxes: tuple[KnownMax, ...] = ()
    settings: Settings = field(default_factory=Settings)
    overrides: tuple[Override, ...] = ()
    session_kind: SessionKind = "block"
    body_weight_kg: float | None = None
    age_years: int | None = None
    person: Person | None = None
    """What the log has taught of how the athlete reports; None: nothing yet."""
    rows: tuple[KnownRow, ...] = ()
    """What the log has taught of lifts, as it stood before the session; lifts without one start from a max."""
    absences: tuple[Absence, ...] = ()
    """Those that the day may still be eased by, the latest last."""
    trained: tuple[date, ...] = ()
    """Days with work sets before the day, the last ones, oldest first: what an unannounced absence is read from."""
    progress: tuple[PastWork, ...] = ()
    """Earlier days of lifts whose load grows from session to session, oldest first."""
    minutes_available: int | None = None
    """The session is shortened to fit; None: as planned. [min]"""
