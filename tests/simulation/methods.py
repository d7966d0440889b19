"""What is compared: the protocol that a method keeps, four usual methods, and one that knows what cannot be known.

The usual ones read each set by the product's default curve, the same for everybody and without fatigue, and refuse what
lies more than a fifth off what they know. A method whose gate has refused two sessions in a row that agree with each
other starts anew from the later one: without that a wrong start would never be mended, which no coach would let happen.
"""

# ruff: noqa: ARG002 -- a method takes what the protocol gives, and each uses a part of it

from __future__ import annotations

from dataclasses import dataclass, field
from math import exp
from typing import Protocol, runtime_checkable

from service.core.curves.curves import curve_named
from tests.simulation.lifters import Lifter
from tests.simulation.lifting import Body, Set, rounded

SHARE = curve_named("default").form.share
GATE = 0.20
AGREE = 0.10
"""How near each other two refused sessions must be for a new start. [1]"""
WEIGHT = 0.3
FAILED = 0.3
"""A missed repetition counts as this part of one, as in the product. [reps]"""


@dataclass(frozen=True, slots=True)
class Said:
    """A max as a method tells it, with an 80 % range if it has one. [kg]"""

    kg: float
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Coming:
    """A set that a method which leads the whole session asks for."""

    role: str
    """build_up, top or follow_up."""
    kg: float | None
    """None: by the lifter's own choice. [kg]"""
    reps: int


class Method(Protocol):
    """A way to choose loads and to learn from the log. One object for each lifter."""

    def open(self, lift: int, day: int, body: Body) -> None:
        """A lift's session begins; `body` is the truth, which only a method that knows too much may read."""

    def says(self, lift: int) -> Said | None:
        """The max on a typical day, before the session."""

    def forecast(self, lift: int, days: int) -> float | None:
        """The max so many days ahead. [kg]"""

    def load(self, lift: int, reps: int, rpe: float, *, ahead: int | None, step: float) -> float | None:
        """The load to hang on the bar for a target; `ahead`: build-up sets that are still to come, None: a work set."""

    def sets(self, asked: int) -> int:
        """How many sets follow the top set, of so many that the plan asks for."""

    def follow(self, lift: int, kind: str, top: float, *, reps: int, rpe: float, less: float, step: float) -> float:
        """The load of a set after the top set."""

    def expects(self, lift: int, kg: float, reps: int) -> float | None:
        """The effort that will be reported."""

    def hear(self, lift: int, heard: Set, role: str, true: Set) -> None:
        """A set was logged; `true` is it without a slip, for lifters who answer a question."""

    def tested(self, lift: int, kg: float) -> None:
        """A max was tested today."""

    def close(self, lift: int) -> None:
        """The session ends."""


@runtime_checkable
class Leads(Protocol):
    """A method that says which set is next, not only its load."""

    def coming(self) -> Coming | None:
        """The next set of the session that is open; None: it is over."""


def reading(heard: Set) -> float | None:
    """The max that a set stands for by the default curve. [kg]"""
    if heard.failed:
        return heard.kg / SHARE(heard.reps + FAILED)
    return None if heard.rpe is None else heard.kg / SHARE(min(30.0, heard.reps + 10 - heard.rpe))


@dataclass(slots=True)
class Usual:
    """What the usual methods share: a max, a gate, the default curve."""

    maxes: list[float | None]
    refused: list[float | None] = field(default_factory=lambda: [None, None, None])
    provisional: list[bool] = field(default_factory=lambda: [False, False, False])
    day: int = 0
    told: float | None = None

    def open(self, lift: int, day: int, body: Body) -> None:
        """Only the day matters."""
        self.day = day
        self.told = None

    def says(self, lift: int) -> Said | None:
        """The max, without a range."""
        known = self.maxes[lift]
        return None if known is None else Said(known)

    def forecast(self, lift: int, days: int) -> float | None:
        """As today."""
        return self.maxes[lift]

    def load(self, lift: int, reps: int, rpe: float, *, ahead: int | None, step: float) -> float | None:
        """The max times the curve."""
        known = self.maxes[lift]
        return None if known is None else rounded(known * SHARE(reps + 10 - rpe), step)

    def sets(self, asked: int) -> int:
        """All of them."""
        return asked

    def follow(self, lift: int, kind: str, top: float, *, reps: int, rpe: float, less: float, step: float) -> float:
        """As planned: the top set's load, part of it, or by the target again."""
        if kind == "same_load":
            return top
        if kind == "back_off":
            return rounded(top * (1 - less), step)
        return self.load(lift, reps, rpe, ahead=None, step=step) or top

    def expects(self, lift: int, kg: float, reps: int) -> float | None:
        """By the curve."""
        known = self.maxes[lift]
        if known is None:
            return None
        possible = min(30.0, max(0.3, curve_named("default").form.repetitions(max(0.35, min(1.03, kg / known)))))
        return min(10.0, max(4.0, 10 - (possible - reps)))

    def hear(self, lift: int, heard: Set, role: str, true: Set) -> None:
        """Top sets move the max; before there is any, whatever is rated finds it."""
        found = reading(heard)
        if found is None:
            return
        if self.maxes[lift] is None or (self.provisional[lift] and role == "build_up"):
            self.maxes[lift], self.provisional[lift] = found, True
        elif self.counts(role):
            self.take(lift, found)

    def tested(self, lift: int, kg: float) -> None:
        """As a top set to failure."""
        self.take(lift, kg)

    def close(self, lift: int) -> None:
        """Nothing."""

    def counts(self, role: str) -> bool:
        """Whether a set of this role is taken in."""
        return role == "top"

    def take(self, lift: int, found: float) -> None:
        """The gate, the new start, and then the method's own way."""
        known = self.maxes[lift]
        first = self.provisional[lift] or known is None
        self.provisional[lift] = False
        if first:
            self.fresh(lift, found)
        elif known is not None and abs(found / known - 1) > GATE:
            before = self.refused[lift]
            self.refused[lift] = found
            if before is not None and abs(found / before - 1) < AGREE:
                self.fresh(lift, found)
        else:
            self.refused[lift] = None
            self.move(lift, found)

    def fresh(self, lift: int, found: float) -> None:
        """A start."""
        self.refused[lift] = None
        self.maxes[lift] = found

    def move(self, lift: int, found: float) -> None:
        """The last top set is the max."""
        self.maxes[lift] = found


class LastTopSet(Usual):
    """What the last top set stands for."""


class MovingAverage(Usual):
    """An average of what top sets stand for, each with weight 0.3."""

    def move(self, lift: int, found: float) -> None:
        """Three tenths of the way."""
        known = self.maxes[lift]
        self.maxes[lift] = found if known is None else known + WEIGHT * (found - known)


class MovingAverageAll(MovingAverage):
    """The same, with the build-up sets taken in as well."""

    def counts(self, role: str) -> bool:
        """Build-up sets too."""
        return role in ("top", "build_up")


class BestOfFourWeeks(Usual):
    """The best that top sets of the last four weeks stand for."""

    def __init__(self, maxes: list[float | None]) -> None:
        super().__init__(maxes)
        self.seen: list[list[tuple[int, float]]] = [[(0, kg)] if kg else [] for kg in maxes]

    def open(self, lift: int, day: int, body: Body) -> None:
        """What is older than four weeks is forgotten, but for the last."""
        super().open(lift, day, body)
        seen = self.seen[lift]
        if seen:
            self.seen[lift] = [one for one in seen if one[0] > day - 28] or seen[-1:]
            self.maxes[lift] = max(kg for _, kg in self.seen[lift])

    def fresh(self, lift: int, found: float) -> None:
        """All before is forgotten."""
        super().fresh(lift, found)
        self.seen[lift] = [(self.day, found)]

    def move(self, lift: int, found: float) -> None:
        """One more."""
        self.seen[lift].append((self.day, found))
        self.maxes[lift] = max(kg for _, kg in self.seen[lift])


class Related(MovingAverage):
    """The moving average; the third lift starts from the first one's, times nine tenths (a pause squat)."""

    def open(self, lift: int, day: int, body: Body) -> None:
        """Where nothing is known of the third lift, its parent says something."""
        super().open(lift, day, body)
        if lift == 2 and self.maxes[2] is None and self.maxes[0] is not None:
            self.maxes[2], self.provisional[2] = 0.90 * self.maxes[0], False


@dataclass(slots=True)
class KnowsTheLifter:
    """Knows the true max, the curve and the fatigue of the lifter, but not the day: what no method can beat by much."""

    who: Lifter
    body: Body | None = None

    def open(self, lift: int, day: int, body: Body) -> None:
        """Looks."""
        self.body = body

    def says(self, lift: int) -> Said | None:
        """Does not say: it knows."""
        return None

    def forecast(self, lift: int, days: int) -> float | None:
        """As `says`."""
        return None

    def load(self, lift: int, reps: int, rpe: float, *, ahead: int | None, step: float) -> float | None:
        """What would be the target in truth on a typical day."""
        if self.body is None:
            return None
        known = exp(self.body.session.level - self.body.lost)
        return rounded(known * self.who.curves[lift].share(reps + 10 - rpe), step)

    def sets(self, asked: int) -> int:
        """All of them."""
        return asked

    def follow(self, lift: int, kind: str, top: float, *, reps: int, rpe: float, less: float, step: float) -> float:
        """As planned, but never above 9."""
        kg = top if kind == "same_load" else rounded(top * (1 - less), step)
        most = self.load(lift, reps, 9.0, ahead=None, step=step)
        own = self.load(lift, reps, rpe, ahead=None, step=step)
        if most is None or own is None:
            return kg
        return own if kind == "at_target" else min(kg, most)

    def expects(self, lift: int, kg: float, reps: int) -> float | None:
        """Nothing."""
        return None

    def hear(self, lift: int, heard: Set, role: str, true: Set) -> None:
        """Needs no log."""

    def tested(self, lift: int, kg: float) -> None:
        """Needs no test."""

    def close(self, lift: int) -> None:
        """Nothing."""


USUAL = {
    "last top set": LastTopSet,
    "best of four weeks": BestOfFourWeeks,
    "moving average": MovingAverage,
    "moving average with build-up sets": MovingAverageAll,
}
