"""Who lifts what, and how a group shares what there is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from service.core.answers import Loading, PlateCount
from service.core.records import Role
from service.core.units import Load


@dataclass(frozen=True, slots=True, kw_only=True)
class SetToDo:
    """A set with what hangs."""

    role: Role
    number: int
    reps: int | None
    reps_to: int | None
    load: Load
    loading: Loading
    at_end: Literal["heaviest", "lightest"] | None = None
    """The heaviest here, and more was meant; or the lightest, and less was. None: it is what was meant, or near it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifter:
    """Somebody with a lift to do."""

    athlete: str
    """Our id."""
    name: str
    lift: str
    sets: tuple[SetToDo, ...]
    """Warm-ups too, in order; only those with a load that hangs."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """Whose turn it is at a shared bar, and what is changed before."""

    athlete: str
    """Our id."""
    name: str
    """The athlete's name."""
    role: Role
    """How the set is meant."""
    number: int
    """Counts within its role, from 1."""
    reps: int | None
    """Repetitions to do; null where they are open."""
    reps_to: int | None
    """The end of a range of repetitions."""
    load: Load
    """What hangs then."""
    per_side: tuple[PlateCount, ...]
    """Plates of one side, heaviest first, as the lifter's session has them."""
    take_off: tuple[PlateCount, ...]
    """On each side, outermost first."""
    put_on: tuple[PlateCount, ...]
    """On each side, innermost first."""
    text: str
    """The change in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedBar:
    """One bar with those who lift on it, the lightest first."""

    lift: str
    """The lift's word."""
    bar: Load
    """What the bar weighs."""
    athletes: tuple[str, ...]
    """Our ids, in the order of their turns."""
    names: tuple[str, ...]
    """Their names."""
    turns: tuple[Turn, ...]
    """Set after set: in each round everybody once, as long as they have sets left."""
    plates_handled: int
    """Plates taken off and put on in all, both sides together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateNeed:
    """Plates of one kind that may be on bars at the same time."""

    plate: Load
    """What one weighs."""
    needed: int
    """At most so many at once, both sides of all bars together."""
    available: int
    """So many there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wave:
    """What goes on at the same time."""

    bars: tuple[SharedBar, ...]
    """Bars in use at once."""
    plates: tuple[PlateNeed, ...]
    """Plates that these need at once, heaviest first; never more than there are."""


@dataclass(frozen=True, slots=True, kw_only=True)
class InTurn:
    """Equipment without plates that several need at once: they take turns."""

    what: str
    """Which dumbbells, or which machine."""
    names: tuple[str, ...]
    """Those who take turns."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shared:
    """How a group does the lifts that it does at the same time."""

    waves: tuple[Wave, ...]
    """One after the other; one where everything goes at once."""
    in_turn: tuple[InTurn, ...]
    """Dumbbells and machines that are shared."""
    advice: tuple[str, ...]
    """What is short, and what to do about it; empty where nothing is."""
