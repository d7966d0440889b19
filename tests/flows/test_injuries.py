"""An injury makes the model less sure from the day of the return on, whenever it is told."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.core.ability.hearing import heard
from service.core.catalogue import BUILT_IN
from service.core.model.kin import Key
from service.core.model.memory import Known, Memory
from service.core.model.passing import DOUBT_SD
from service.core.model.replay import Event, InjuryEvent, SetEvent
from service.core.model.replay import replay as fold_events
from service.core.records import DoneSet
from service.flows import absences
from service.flows.context import Asked, gather
from service.store.session import Database
from tests.conftest import GymAtHand
from tests.flows.lifters import START, Done, Lifter

FIRST = START.date()
NORMAL = {"max_examples": 20, "deadline": None, "suppress_health_check": [HealthCheck.function_scoped_fixture]}


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def hurt(lifter: Lifter, first: int, last: int | None) -> str:
    values = {"kind": "injury", "from_date": day(first), "until": None if last is None else day(last)}
    with lifter.tx() as tx:
        return str(absences.add(tx, str(lifter.id), values=values).id)


def by_core(done: list[Done], back: list[int]) -> Memory:
    """The memory as the model's own fold of events has it, without any database."""
    events: list[Event] = []
    for number, one in enumerate(done):
        told = DoneSet(lift=one.lift, role=one.role, load=one.load, reps=one.reps, rpe=one.rpe)
        event = SetEvent(one.at.date(), Key(one.lift, "unsupported", ""), heard(told, one.kg), one.at, f"{number:03}")
        events.append(event)
    last = max(one.at.date() for one in done)
    events += [InjuryEvent(day(number), f"{number:03}") for number in back if day(number) <= last]
    return fold_events(events, Known(BUILT_IN))


sets = st.builds(
    Done,
    lift=st.sampled_from(["squat", "pause-squat", "bench-press"]),
    kg=st.sampled_from([90.0, 100.0, 105.0]),
    rpe=st.sampled_from([None, 7, 8, 9]),
    day=st.sampled_from([0, 2, 9, 10, 11, 20, 30]),
    minute=st.integers(0, 5),
)
injuries = st.sampled_from([[(3, 9)], [(3, None)], [(3, 8), (12, 19)], [(-5, -1)], [(25, 60)], [(3, 3), (12, None)]])


@settings(**NORMAL)
@given(st.lists(sets, min_size=1, max_size=10), injuries, st.data())
def test_what_is_stored_is_the_log_with_its_injuries_whatever_was_told_when(
    database: Database, gym: GymAtHand, done: list[Done], told: list[tuple[int, int | None]], data: Any
) -> None:
    before, after, between = (Lifter(database, gym) for _ in range(3))
    in_order = sorted(enumerate(done), key=lambda pair: (pair[1].at, pair[0]))
    for first, last in told:
        hurt(before, first, last)
    for number, one in in_order:
        before.log(number, one)
    for number, one in data.draw(st.permutations(in_order)):
        after.log(number, one)
    cut = data.draw(st.integers(0, len(done)))
    for at, (number, one) in enumerate(in_order):
        if at == cut:
            for first, last in told:
                hurt(between, first, last)
        between.log(number, one)
    for first, last in told:
        hurt(after, first, last)
        if cut == len(done):
            hurt(between, first, last)
    shown = before.shown()
    assert after.shown() == shown
    assert between.shown() == shown
    assert shown["memory"] == by_core(done, [(first if last is None else last) + 1 for first, last in told])


WORK = [Done(kg=120, day=number, minute=minute, rpe=8) for number in range(0, 30, 3) for minute in range(4)]


def spread(lifter: Lifter, on: int) -> float:
    with lifter.tx() as tx:
        (row,) = gather(tx, Asked(athlete=lifter.id, on=day(on), lifts=["squat"], place=None)).rows
    return float(row.row.p[0])


@pytest.mark.parametrize("kind", ["injury", "illness"])
def test_a_plan_after_an_injury_knows_the_level_less_well(database: Database, gym: GymAtHand, kind: str) -> None:
    lifter = Lifter(database, gym)
    lifter.sync(list(enumerate(WORK)))
    sure = spread(lifter, 30)
    assert sure < DOUBT_SD**2
    values = {"kind": kind, "from_date": day(29), "until": day(35)}
    with lifter.tx() as tx:
        made = absences.add(tx, str(lifter.id), values=values)
    assert spread(lifter, 35) == pytest.approx(sure)
    widened = spread(lifter, 36)
    assert (widened >= DOUBT_SD**2) == (kind == "injury")
    lifter.log(999, Done(kg=100, day=36, rpe=8))
    with lifter.tx() as tx:
        absences.remove(tx, str(made.id), expected=None)
    plain = Lifter(database, gym)
    plain.sync(list(enumerate(WORK)))
    plain.log(999, Done(kg=100, day=36, rpe=8))
    assert lifter.shown() == plain.shown()
