"""Everything that loads depend on besides the slot: the day, the place, the maxes, what the log has taught."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from service.core.model.kin import Ratio
from service.core.model.state import Person, Row
from service.core.records import (
    Kit,
    KnownMax,
    Lift,
    Override,
    PastWork,
    SessionKind,
    Settings,
    SupportClass,
)
from service.core.returning import Eased
from service.core.units import Load, MassUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownRow:
    """What the log has taught of a lift, in one class of support, on the place's machine."""

    lift: str
    support: SupportClass
    row: Row
    ratio: Ratio | None = None
    """What the log has taught of its ratio to the lift that it is based on."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """Sets of a lift in the last 120 days that tell how strong somebody is: believed, straight, hard enough."""

    lift: str
    support: SupportClass
    sets: int
    days: int
    """Different ones on which they were done."""
    last: date | None = None
    """The newest of these; None: nobody says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneBefore:
    """The heaviest set of a lift with so many repetitions in the weeks before an absence, or since."""

    lift: str
    support: SupportClass
    load: Load
    reps: int
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """A session of a block that comes weeks after what was done last, and nobody has said how to go on."""

    week: int
    """The session's."""
    last_week: int | None
    """Of what was done last; None: nothing of the block was."""
    last_on: date | None
    """Its day."""


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
    eased: Eased | None = None
    """What the day is eased by, on the way back from an absence; None: nothing."""
    day_maxes_since: date | None = None
    """No max of a day before this one counts: there was an absence between. None: all that are new enough do."""
    progress: tuple[PastWork, ...] = ()
    """Earlier days of lifts whose load grows from session to session, oldest first; ladders of these lifts too."""
    telling: tuple[Telling, ...] = ()
    """Of these lifts: how many sets tell what is known of them."""
    done_before: tuple[DoneBefore, ...] = ()
    """On the way back from an absence: what was lifted in the weeks before it and since."""
    behind: Behind | None = None
    """The session comes later than the one that would be next; None: it does not."""
    minutes_available: int | None = None
    """The session is shortened to fit; None: as planned. [min]"""
