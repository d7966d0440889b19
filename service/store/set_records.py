"""A logged set as the wire shows it, and what the service keeps beside it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from service.core.records import DoneSet, EndedBy, Felt, Pain, Role, SupportClass
from service.core.units import Load, Number
from service.store.states import Key

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True)
class Shown:
    """What the phone had on its screen; kept for the record."""

    load: Load | None
    reps: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedSet:
    """One set, as it was logged."""

    id: UUID
    """Ours, or made by the phone."""
    version: int
    """What `If-Match` takes; each correction counts it up."""
    athlete: UUID
    """Who did it."""
    session: UUID | None
    """The training day; null for a set outside of one."""
    slot: UUID | None
    """The line of the session that it belongs to."""
    lift: str
    """The lift that was done."""
    role: Role
    """How it was meant."""
    load: Load | None
    """As entered; null where nothing was lifted but the body or time."""
    reps: int
    """Good repetitions."""
    seconds: int | None
    """For timed sets. [s]"""
    rpe: Number | None
    """Effort as entered. [RPE]"""
    rir: Number | None
    """Repetitions left, as entered."""
    or_more: bool
    """`rir` or more were left."""
    felt: Felt | None
    """In words, against what was expected."""
    made: bool
    """False: the last repetition was missed."""
    ended_by: EndedBy
    """What ended it; only `choice` with an effort and `strength` teach."""
    pain: Pain
    """Whether it hurt."""
    support: tuple[str, ...]
    """What was worn."""
    note: str | None
    """The lifter's words."""
    shown: Shown | None
    """What the phone had on its screen."""
    at: datetime
    """The moment, with its offset as given."""
    date: Day
    """The athlete's day at that moment; it never changes by itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredSet:
    """A set with what the service keeps beside it."""

    set: LoggedSet
    prescription: UUID | None
    """The revision that it answered."""
    support_class: SupportClass
    stack: str
    """The machine, for `stack` lifts; else empty."""
    expected_rpe: float | None
    """What words about its effort are read against. [RPE]"""
    deleted: bool = False

    @property
    def key(self) -> Key:
        """What its max belongs to."""
        return Key(self.set.lift, self.support_class, self.stack)

    @property
    def order(self) -> tuple[date, datetime, UUID]:
        """Sets are taken in by day, moment, id, however they arrived."""
        return (self.set.date, self.set.at, self.set.id)

    def done(self) -> DoneSet:
        """What the calculation is told of it."""
        s = self.set
        return DoneSet(
            lift=s.lift, role=s.role, load=s.load, reps=s.reps, rpe=s.rpe, rir=s.rir, or_more=s.or_more, felt=s.felt,
            made=s.made, ended_by=s.ended_by, pain=s.pain, seconds=s.seconds, expected_rpe=self.expected_rpe,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Entry:
    """One version of a set, and who entered it."""

    version: int
    set: LoggedSet
    made_by: str
    created_at: datetime
