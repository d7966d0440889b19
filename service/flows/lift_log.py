"""An athlete's log as the events that the model folds: for reading what it believed, session by session."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any
from uuid import UUID

from service.core.ability.hearing import heard
from service.core.estimate.rolling import effective_kg
from service.core.model.kin import Key
from service.core.model.memory import Known
from service.core.model.replay import Event, SetEvent
from service.core.records import Lift, Settings
from service.flows.hear import hears
from service.store import athletes, log
from service.store import lifts as lift_store
from service.store.session import Tx


class Weights:
    """Body weights by day: the latest on or before one counts."""

    def __init__(self, weights: Iterable[tuple[date, float]]) -> None:
        found = sorted(weights)
        self._days, self._kg = [on for on, _ in found], [kg for _, kg in found]

    def on(self, day: date) -> float | None:
        """The body weight on a day. [kg]"""
        index = bisect_right(self._days, day)
        return self._kg[index - 1] if index else None


@dataclass(slots=True)
class Log:
    """All that an athlete's model is folded from."""

    events: list[Event]
    known: Known
    weights: Weights

    def until(self, day: date) -> list[Event]:
        """The events up to a day; it is included."""
        return [one for one in self.events if one.on <= day]


def read_log(tx: Tx, athlete: UUID, settings: Settings, more_lifts: Iterable[str] = ()) -> Log:
    """An athlete's log, in four statements; `more_lifts`: lifts that are asked about, in it or not."""
    rows = list(log.rows(tx, athlete))
    lifts = lift_store.get_many(tx, {*(row.lift for row in rows), *more_lifts})
    weights = Weights(athletes.body_weights_kg(tx, athlete))
    maxes = log.maxes(tx, athlete)
    events: list[Event] = [*maxes.events, *set_events(rows, lifts, weights.on)]
    given = partial(maxes.given, percent=float(settings.training_max_percent))
    return Log(events, Known(lifts, given), weights)


def set_events(
    rows: Iterable[Any], lifts: Mapping[str, Lift], body_kg: Callable[[date], float | None]
) -> list[SetEvent]:
    """Rows of the log that the model hears; `body_kg` is the body weight of a day. [kg]"""
    events = []
    for row in rows:
        done, lift = log.done(row), lifts[row.lift]
        kg = effective_kg(done, lift, body_kg(row.local_date) if lift.load_kind == "bodyweight" else None)
        if kg is None or not hears(done, lift, kg):
            continue
        said = heard(done, kg)
        key = Key(row.lift, row.support_class, row.stack)
        events.append(SetEvent(row.local_date, key, said, row.at, str(row.id)))
    return events
