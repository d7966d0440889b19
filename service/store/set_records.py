"""A logged set as the wire shows it, and what the service keeps beside it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from service.core.model.kin import Key
from service.core.model.slips import Code as SlipCode
from service.core.records import DoneSet, EndedBy, Felt, Method, Pain, Role, SupportClass
from service.core.units import Load, Number
from service.store.memories import Place

DoubtCode = SlipCode | Literal["unlikely"]
DoubtAnswer = Literal["confirmed", "excluded"]
Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True)
class Shown:
    """What the phone had on its screen; kept for the record."""

    load: Load | None
    reps: int | None


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question about a set that does not fit what the log says: until it is answered, the set teaches nothing."""

    code: DoubtCode
    """What it probably was: a load in the other unit, a digit too many or too few; `unlikely`: nothing explains it."""
    text: str
    """The question, for the lifter."""
    proposal: Load | None
    """The load that was probably meant, as it would be entered."""
    answer: DoubtAnswer | None
    """`confirmed`: the set is right; `excluded`: it is to be left out; null: not answered."""


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
    metres: Number | None = None
    """For carries and drags: how far. [m]"""
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
    method: Method = "straight"
    """How it was done; from all but straight ones no max is read."""
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
    doubt: Doubt | None = None
    """Null where the set was believed."""


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
    by_ladder: bool = False
    """A ladder asked for its load."""
    deleted: bool = False

    @property
    def key(self) -> Key:
        """What its max belongs to."""
        return Key(self.set.lift, self.support_class, self.stack)

    @property
    def order(self) -> Place:
        """Sets are taken in by day, moment, id, however they arrived."""
        return Place(self.set.date, self.set.at, self.set.id)

    def done(self) -> DoneSet:
        """What the calculation is told of it."""
        s = self.set
        return DoneSet(
            lift=s.lift, role=s.role, load=s.load, reps=s.reps, rpe=s.rpe, rir=s.rir, or_more=s.or_more, felt=s.felt,
            made=s.made, ended_by=s.ended_by, pain=s.pain, seconds=s.seconds, metres=s.metres,
            expected_rpe=self.expected_rpe,
            answer=None if s.doubt is None else s.doubt.answer, method=s.method, by_ladder=self.by_ladder,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Entry:
    """One version of a set, and who entered it."""

    version: int
    set: LoggedSet
    made_by: str
    created_at: datetime
