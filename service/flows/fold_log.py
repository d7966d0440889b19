"""An athlete's log from its first set on: the model, the moving averages, the days' maxes, and what is to be asked."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass, field, replace
from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from service.core.estimate.rolling import day_estimate, effective_kg, fold, top_set_estimate
from service.core.model.kin import Key
from service.core.model.levels import Ranged
from service.core.model.memory import Known, LiftMemory, Memory
from service.core.records import MODEL, DoneSet, Lift, Settings
from service.core.units import MassUnit
from service.flows import doubts
from service.flows.hear import Learned, day_of, hears, learn_set, turned
from service.flows.lift_log import Weights
from service.store import athletes, log
from service.store import lifts as lift_store
from service.store.lines import Lifter
from service.store.log import Earlier, Maxes, Recent
from service.store.memories import Before, Place, Whole
from service.store.session import Tx
from service.store.set_columns import doubt_json
from service.store.set_records import Doubt
from service.store.states import DaySource, Estimates, LiftState

UNPINNED = "default"
"""The curve of the moving average where the model is in force: the average is there at once when one is pinned."""
EARLIER = 3
"""Earlier sets that a question names. [sets]"""


@dataclass(slots=True)
class Folded:
    """What a log shows."""

    settings: Settings
    """By which it was read."""
    whole: Whole
    estimates: dict[Key, Estimates]
    doubts: dict[UUID, str | None] = field(default_factory=dict)
    """Sets about which something else is to be asked than what is stored; None: nothing."""
    watched: tuple[Learned, Doubt | None, Ranged | None] | None = None


@dataclass(frozen=True, slots=True)
class Best:
    """The set that a day's max stands on so far."""

    kg: float
    set_id: UUID
    max_kg: float


def average_curve(lifter: Lifter, lift: str) -> str:
    """The curve by which a lift's moving average is kept."""
    pinned = lifter.settings.curve_of(lift)
    return UNPINNED if pinned == MODEL else pinned


def averaged(before: LiftState | None, place: Place, kg: float, top: float) -> LiftState:
    """The average with one more set, which is newer than all in it; raises ReplayNeeded where its day is older."""
    return LiftState(
        rolling=fold(None if before is None else before.rolling, place.date, kg, top), at=place.at, set_id=place.id
    )


def day_max_of(
    done: DoneSet, lift: Lift, learned: Learned | None, *, curve: str, on: date, body_kg: float | None
) -> tuple[float | None, Ranged | None]:
    """The day's max that a set shows, effective, with the model's range where it is the model's. [kg]

    By the model, unless the coach has pinned a curve, or the model has no business with the lift.
    """
    if curve != MODEL or lift.technique:
        return day_estimate(done, lift, UNPINNED if curve == MODEL else curve, body_kg), None
    ranged = None if learned is None else day_of(learned, done, on)
    return (None if ranged is None else ranged.kg), ranged


def fold_log(tx: Tx, lifter: Lifter, *, watch: UUID | None = None) -> Folded:
    """Go through an athlete's log; nothing is stored. `watch`: a set of which it is to be kept what it did."""
    rows = list(log.rows(tx, lifter.id))
    known = lift_store.get_many(tx, {row.lift for row in rows})
    weights = Weights(athletes.body_weights_kg(tx, lifter.id))
    going = _Going(lifter, known, log.maxes(tx, lifter.id), watch)
    for row in rows:
        going.take(row, weights.on(row.local_date) if known[row.lift].load_kind == "bodyweight" else None)
    return going.folded()


class _Going:
    """A log that is being folded; everything in it is changed in place."""

    def __init__(self, lifter: Lifter, lifts: dict[str, Lift], maxes: Maxes, watch: UUID | None) -> None:
        self.lifter, self.lifts, self.maxes, self.watch = lifter, lifts, maxes, watch
        self.known = Known(lifts, partial(maxes.given, percent=float(lifter.settings.training_max_percent)))
        self.memory = Memory()
        self.befores: dict[Key, Before] = {}
        self.last: Place | None = None
        self.averages: dict[Key, LiftState] = {}
        self.days: dict[Key, dict[date, Best]] = defaultdict(dict)
        self.recent = Recent()
        self.on: date | None = None
        self.earlier: dict[Key, list[Earlier]] = defaultdict(list)
        self.doubts: dict[UUID, str | None] = {}
        self.watched: tuple[Learned, Doubt | None, Ranged | None] | None = None
        self.curves: dict[str, tuple[str, str]] = {}

    def take(self, row: Any, body_kg: float | None) -> None:
        """One more set; for `bodyweight` lifts with the body weight of its day. [kg]"""
        done, lift, on = log.done(row), self.lifts[row.lift], row.local_date
        key = Key(row.lift, row.support_class, row.stack)
        kg = effective_kg(done, lift, body_kg)
        said = log.says(done)
        if said and on != self.on:
            self.recent.previous, self.recent.today, self.on = self.recent.today, [], on
        learned, asked = None, None
        if kg is not None and hears(done, lift, kg):
            learned = self._hear(row, key, done, kg)
            asked = self._asked(row, key, learned, done, lift, body_kg)
        self._told(row, asked)
        if said:
            self._remember(row, key, done, asked)
        if kg is not None:
            self._shows(row, key, done, lift, kg, learned, body_kg, asked)

    def _hear(self, row: Any, key: Key, done: DoneSet, kg: float) -> Learned | None:
        on, memory = row.local_date, self.memory
        if memory.day != on:
            memory = turned(memory, on, self.maxes.events_between(memory.day, on), self.known)
        learned = learn_set(memory, key, on, done, kg, known=self.known, before=self.befores.get(key))
        if learned is None:
            return None
        # One dictionary for all sets of a day: nobody else has this memory.
        lifts = memory.lifts if memory is self.memory else dict(memory.lifts)
        lifts[key] = learned.lift
        self.memory = Memory(learned.person, lifts, on, closed=False)
        self.befores[key] = learned.before
        self.last = Place(on, row.at, row.id)
        return learned

    def _asked(
        self, row: Any, key: Key, learned: Learned | None, done: DoneSet, lift: Lift, body_kg: float | None
    ) -> Doubt | None:
        if learned is None or learned.lesson.status != "refused":
            return None
        recent = replace(self.recent, earlier=self.earlier[key])
        unit: MassUnit = "lb" if self.lifter.unit == "lb" else "kg"
        return doubts.doubt(learned, done, lift, on=row.local_date, unit=unit, body_kg=body_kg, recent=recent)

    def _told(self, row: Any, asked: Doubt | None) -> None:
        """What is asked about a set, where it is not what is stored; an answered question stays."""
        if row.doubt_answer is not None:
            return
        now = None if asked is None else json.dumps(doubt_json(asked))
        if now != row.doubt:
            self.doubts[row.id] = now

    def _remember(self, row: Any, key: Key, done: DoneSet, asked: Doubt | None) -> None:
        """A set for the questions about later ones."""
        if row.doubt_answer is None:
            code = None if asked is None else asked.code
        else:
            code = json.loads(row.doubt)["code"] if row.doubt_answer == "excluded" else None
        self.recent.today.append(code)
        if code is None and done.load is not None:
            self.earlier[key] = [Earlier(row.local_date, done.load, row.reps), *self.earlier[key][: EARLIER - 1]]

    def _shows(
        self, row: Any, key: Key, done: DoneSet, lift: Lift, kg: float, learned: Learned | None,
        body_kg: float | None, asked: Doubt | None,
    ) -> None:  # fmt: skip
        curves = self.curves.get(row.lift)
        if curves is None:
            curves = self.lifter.settings.curve_of(row.lift), average_curve(self.lifter, row.lift)
            self.curves[row.lift] = curves
        top = top_set_estimate(done, lift, curves[1], body_kg)
        if top is not None:
            place = Place(row.local_date, row.at, row.id)
            self.averages[key] = averaged(self.averages.get(key), place, kg, top)
        shown, ranged = day_max_of(done, lift, learned, curve=curves[0], on=row.local_date, body_kg=body_kg)
        if shown is not None:
            best = self.days[key].get(row.local_date)
            if best is None or kg > best.kg:
                self.days[key][row.local_date] = Best(kg, row.id, shown)
        if learned is not None and row.id == self.watch:
            self.watched = learned, asked, ranged

    def folded(self) -> Folded:
        """All that was found."""
        found = {
            key: Estimates(
                state=self.averages.get(key),
                days=tuple(
                    DaySource(date=on, set_id=best.set_id, effective_kg=best.max_kg)
                    for on, best in self.days.get(key, {}).items()
                ),
            )
            for key in self.averages.keys() | self.days.keys()
        }
        return Folded(
            self.lifter.settings, Whole(self.memory, self.befores, self.last), found, self.doubts, self.watched
        )


def changed_lifts(before: Memory, after: Memory) -> dict[Key, LiftMemory]:
    """The lifts that are others in the second memory."""
    return {key: lift for key, lift in after.lifts.items() if before.lifts.get(key) is not lift}
