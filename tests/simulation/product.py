"""The product as a method: it plans, listens and tells as the service does, by the same functions.

The whole memory of an athlete is folded set by set, with what a day's end teaches kin; after an answer to a question,
or a correction, the log is replayed.
"""

# ruff: noqa: ARG002 -- a method takes what the protocol gives, and each uses a part of it

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from math import floor

from service.core.catalogue import BUILT_IN
from service.core.model.closing import as_of
from service.core.model.heard import Heard, Lesson
from service.core.model.kin import Key
from service.core.model.load import allowed
from service.core.model.memory import Known, Memory, start
from service.core.model.outlook import (
    BUILD_UP_UNITS,
    Suggested,
    expected_effort,
    load_for,
    max_ahead,
    rolling_max,
    unlimited_load,
)
from service.core.model.passing import opened
from service.core.model.replay import Event, MaxEvent, SetEvent, fold, replay
from service.core.model.slips import Slip, explain
from service.core.model.state import GIVEN_SD, TESTED_SD, Person, Row
from service.core.model.tested import Given
from service.core.records import ReturnRule
from service.core.returning import NOTHING_EASED, Eased, eased_on
from tests.simulation.lifters import Lifter
from tests.simulation.lifting import Body, Set, rounded
from tests.simulation.methods import Said

START = date(2026, 1, 5)
NOON = datetime(2026, 1, 5, 12, tzinfo=UTC)
RULE = ReturnRule(fewer_sets_percent=100 / 3)
CEILING = 9.0
"""Follow-up sets stay below the load for this effort. [RPE]"""

Answer = Callable[[SetEvent, Slip | None, Set], Heard | None]
"""What a lifter answers to a question: the set as it is to be heard from now on, or None for no answer."""


def hung(kg: float, step: float, most: float | None) -> float:
    """What hangs on the bar: the nearest step, or the one below if the nearest passed a limit. [kg]"""
    nearest = rounded(kg, step)
    if most is not None and nearest > kg and nearest > most:
        return below(kg, step)
    return nearest


def below(kg: float, step: float) -> float:
    """The highest load that can hang on the bar and is not above. [kg]"""
    return max(step, floor(kg / step + 1e-9) * step)


def limit_of(load: Suggested) -> float | None:
    """The stricter limit of a suggestion. [kg]"""
    limits = [kg for kg in (load.true_kg, load.report_kg) if kg is not None]
    return min(limits) if limits else None


@dataclass(slots=True)
class Product:
    """The athlete's model in closed loop."""

    known: Known
    keys: list[Key]
    answer: Answer | None = None
    """Asked after each refused set; None: questions stay without an answer."""
    tests: bool = True
    """Tested maxes are taken in."""
    eased: bool = False
    """After a break loads start lower and sets are fewer, by the rule for a return as it stands."""
    memory: Memory = field(default_factory=Memory)
    row: Row | None = None
    """The lift of the session that is open."""
    on: date = START
    log: list[Event] = field(default_factory=list)
    truth: dict[str, Set] = field(default_factory=dict)
    lessons: list[Lesson] = field(default_factory=list)
    trained: list[date] = field(default_factory=list)
    ease: Eased = NOTHING_EASED

    @classmethod
    def of(
        cls, who: Lifter, *, answer: Answer | None = None, tests: bool = True, related: bool = True, eased: bool = False
    ) -> Product:
        """For a lifter, with the maxes that are given; `related`: a variation knows its parent."""
        keys = [Key(name, "unsupported", "") for name in who.names]
        given = {
            key: Given(kg, TESTED_SD if lately else GIVEN_SD)
            for key, kg, lately in zip(keys, who.given, who.tested, strict=True)
            if kg is not None
        }
        lifts = dict(BUILT_IN)
        if not related:
            lifts = {name: replace(lift, based_on=None, ratio=None) for name, lift in lifts.items()}
        return cls(Known(lifts, lambda key, _on: given.get(key)), keys, answer, tests, eased)

    @property
    def person(self) -> Person:
        """What the lifts share."""
        return self.memory.person

    def open(self, lift: int, day: int, body: Body) -> None:
        """Time passes, earlier days are closed."""
        self.on = START + timedelta(days=day)
        if self.eased:
            self.ease = eased_on(RULE, self.trained, self.on)
            self.trained.append(self.on)
        self._look(lift)

    def sets(self, asked: int) -> int:
        """Follow-up sets, of so many that the plan asks for."""
        return max(0, round((1 + asked) * self.ease.sets) - 1)

    def _look(self, lift: int) -> None:
        """The row as it is before the next set."""
        memory, key = as_of(self.memory, self.on), self.keys[lift]
        found = memory.lifts.get(key)
        if found is None or found.row.reference is None:
            found = start(memory, key, self.on, self.known)
        self.row = None if found is None else opened(found.row, memory.person, self.on)

    def says(self, lift: int) -> Said | None:
        """The max with its range."""
        found = None if self.row is None else rolling_max(self.row, self.person)
        return None if found is None else Said(found.kg, found.low, found.high)

    def forecast(self, lift: int, days: int) -> float | None:
        """The max so many days ahead."""
        found = None if self.row is None else max_ahead(self.row, self.person, days)
        return None if found is None else found.kg

    def load(self, lift: int, reps: int, rpe: float, *, ahead: int | None, step: float) -> float | None:
        """Build-up sets without limits and with the fatigue that will be there at the top set, work sets with both."""
        row = self.row
        if row is None:
            return None
        if ahead is not None:
            kg = unlimited_load(row, reps, rpe, row.fatigue + BUILD_UP_UNITS * (1 + ahead))
            return None if kg is None else rounded(kg * self.ease.load, step)
        found = self._limited(row, reps, rpe)
        return None if found is None else hung(found.kg * self.ease.load, step, limit_of(found))

    def _limited(self, row: Row, reps: int, rpe: float) -> Suggested | None:
        true, report = allowed(self.person)
        return load_for(row, reps, rpe, chance_true=true, chance_report=report)

    def follow(self, lift: int, kind: str, top: float, *, reps: int, rpe: float, less: float, step: float) -> float:
        """As planned, but never above the load for RPE 9."""
        ceiling = None if self.row is None else self._limited(self.row, reps, CEILING)
        if self.row is None or ceiling is None:
            return top
        most = ceiling.kg
        if kind == "at_target":
            found = self._limited(self.row, reps, rpe)
            kg = top if found is None else found.kg * self.ease.load
            limit = None if found is None else limit_of(found)
            most = most if limit is None else min(most, limit)
        else:
            kg = top if kind == "same_load" else top * (1 - less)
        return below(most, step) if kg > most else hung(kg, step, most)

    def expects(self, lift: int, kg: float, reps: int) -> float | None:
        """The effort that will be reported."""
        found = None if self.row is None else expected_effort(self.row, self.person, kg, reps)
        return None if found is None else min(10.0, max(4.0, found.rpe))

    def hear(self, lift: int, heard: Set, role: str, true: Set) -> None:
        """Learn; where a set is refused, ask."""
        number = len(self.log)
        event = SetEvent(
            on=self.on,
            key=self.keys[lift],
            heard=Heard(kg=heard.kg, reps=heard.reps, rpe=heard.rpe, failed=heard.failed),
            moment=NOON + timedelta(minutes=number),
            id=f"{number:05d}",
        )
        before = self.row
        self.memory, lesson = fold(self.memory, event, self.known)
        self.log.append(event)
        self.truth[event.id] = true
        if lesson is not None:
            self.lessons.append(lesson)
            if lesson.status == "refused" and self.answer is not None and before is not None:
                self._ask(event, explain(before, self.person, event.heard))
        self._look(lift)

    def _ask(self, event: SetEvent, slip: Slip | None) -> None:
        """The question, its answer, and the log anew."""
        if self.answer is None:
            return
        heard = self.answer(event, slip, self.truth[event.id])
        if heard is not None:
            self.log[-1] = replace(event, heard=heard)
            self.memory = replay(self.log, self.known)

    def tested(self, lift: int, kg: float) -> None:
        """A test comes before the day's sets of the lift."""
        if not self.tests:
            return
        event = MaxEvent(self.on, self.keys[lift], kg, f"{len(self.log):05d}")
        self.log.append(event)
        self.memory, _ = fold(self.memory, event, self.known)
        self._look(lift)

    def close(self, lift: int) -> None:
        """The day's end is taken in when the next day begins."""
