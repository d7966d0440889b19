"""A running block, ways to go on with it, and what each of them changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from service.core.layout.wishes import Wishes
from service.core.slots import SessionPlan, Slot

Kind = Literal["shift", "drop", "merge", "repeat", "return"]
KINDS: tuple[Kind, ...] = ("shift", "drop", "merge", "repeat", "return")
Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockSession:
    """A session of a block as it stands; weeks and numbers count from 1."""

    id: str
    week: int
    number: int
    date: Day
    planned: bool
    """False: open, finished, skipped, or with sets: it is never touched."""
    done: bool
    """Something was trained in it."""
    plan: SessionPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """A session on its way to a date: one that stands already, or a further one of the same plan."""

    week: int
    number: int
    plan: SessionPlan
    id: str | None = None
    """None: a further one."""


PlaceDays = Callable[[Sequence[Coming], date], Sequence[date]]
"""Gives sessions their days, in order, from a first day on, by the block's weekdays and wishes; raises where none can
be found."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A block on a day of its athlete."""

    sessions: tuple[BlockSession, ...]
    """All of them, by date."""
    today: Day
    away_until: Day | None = None
    """The last day of an absence that is going on; training is planned from the day after."""
    absent_days: int = 0
    """Days from the last training before today, or before the absence, to the first day after it. [days]"""
    return_from_days: int | None = 14
    """Shortest absence that a return is proposed after; None: never. [days]"""
    ahead: bool = False
    """The absence is still to come: what is told as missed will be."""
    goal: Day | None = None
    """The day that the block was laid out towards; None: none."""
    wishes: Wishes = field(default_factory=Wishes)
    """What was wished of its days: what was missed is not put where it would break that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A planned session gets another day."""

    session: str
    was: Day
    to: Day


@dataclass(frozen=True, slots=True, kw_only=True)
class Skip:
    """A planned session will not be done."""

    session: str
    was: Day


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """A session is done once more, as it was planned."""

    week: int
    number: int
    to: Day
    plan: SessionPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class Extend:
    """A planned session takes over slots of one that was missed; they stand behind its own main work."""

    session: str
    date: Day
    at: int
    """They are put in before this place, from 0."""
    slots: tuple[Slot, ...]
    name: str
    """The missed session's."""


Change = Move | Skip | Further | Extend


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftSets:
    """Work sets of a lift that are still to come, before and after."""

    lift: str
    before: int
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """What a way to go on comes to, in numbers."""

    ends_on: Day
    """The last session's day."""
    ended_on: Day
    """As it stands."""
    moved: int
    """Sessions with another day."""
    left_out: int
    """Sessions that will not be done."""
    further: int
    """Sessions that are done once more."""
    longest_minutes: int
    """The longest session that is changed, an estimate; 0: none is. [min]"""
    lifts: tuple[LiftSets, ...]
    """Work sets to come of each lift, where they change; the missed sessions count as still to come before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Replan:
    """One way to go on."""

    kind: Kind
    text: str
    changes: tuple[Change, ...]
    effect: Effect
    cautions: tuple[str, ...] = ()
