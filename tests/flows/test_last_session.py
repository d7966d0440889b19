"""What the last session of a lift taught is the same from its day's sets as from the whole log."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.model.kin import Key
from service.core.tell.parts import Session
from service.core.tell.past import sessions
from service.core.units import load
from service.flows.last_session import Last, last_session
from service.flows.lift_log import read_log
from service.flows.lift_reports import detail
from service.flows.replay import put_body_weight
from service.store import athletes, memories
from service.store.session import Database
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.flows.lifters import START, Done, Lifter
from tests.flows.test_model_memory import FIRST, NORMAL, maxes, numbered, one_set, prepared

SQUAT, PAUSE = (Key(lift, "unsupported", "") for lift in ("squat", "pause-squat"))
TODAY = date(2026, 9, 18)
"""That of the lifters' transactions: 200 days after their start."""


def by_log(lifter: Lifter, key: Key) -> list[Session]:
    """All sessions of a lift, from the whole log."""
    with lifter.tx() as tx:
        whole = read_log(tx, lifter.id, athletes.get(tx, str(lifter.id)).settings)
        return sessions(whole.until(TODAY), whole.known, key)[0]


def by_day(lifter: Lifter, key: Key) -> Last:
    """The last one, from its day."""
    with lifter.tx() as tx:
        found = last_session(tx, lifter.id, key, TODAY)
    assert found is not None
    return found


@settings(**NORMAL)
@given(st.lists(one_set(), min_size=1, max_size=14), maxes)
def test_the_last_session_is_that_of_the_whole_log(
    database: Database, gym: GymAtHand, done: list[Done], entered: list[tuple[str, float, int]]
) -> None:
    lifter = prepared(database, gym)
    for lift, kg, day in entered:
        lifter.enter_max(lift, kg, FIRST + timedelta(days=day))
    for number, each in numbered(done):
        lifter.log(number, each)
    with lifter.tx() as tx:
        whole = memories.read(tx, lifter.id)
    assert whole is not None
    for key, before in whole.befores.items():
        found, told = by_day(lifter, key).session, by_log(lifter, key)[-1]
        assert found is not None
        if before.on == whole.memory.day:  # nothing of that day has been trained since
            assert found == told
        else:  # what others said of the athlete in between may be missing
            assert (found.on, found.before, found.before_person) == (told.on, told.before, told.before_person)
            assert [heard for heard, _ in found.sets] == [heard for heard, _ in told.sets]


def test_sets_in_turn_with_a_lift_that_was_trained_since_hardly_differ(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    pairs = [(Done(kg=110 + 5 * n, minute=10 * n), Done("bench-press", 80 + n, minute=10 * n + 5)) for n in range(4)]
    lifter.log_all(*(one for pair in pairs for one in pair), Done("bench-press", 85, day=3))
    found, told = by_day(lifter, SQUAT).session, by_log(lifter, SQUAT)[-1]
    assert found is not None
    assert [lesson.status for _, lesson in found.sets] == [lesson.status for _, lesson in told.sets]
    for (_, ours), (_, theirs) in zip(found.sets, told.sets, strict=True):
        assert ours.surprise / theirs.worth == pytest.approx(theirs.surprise / theirs.worth, abs=0.1)  # points of RPE
    assert found.after.m[0] == pytest.approx(told.after.m[0], abs=0.0025)  # a max that moves by less is said to stay


def test_a_lift_that_began_from_its_kin_is_told_from_there(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done(kg=120), Done("pause-squat", 105, day=2), Done("pause-squat", 107.5, day=2, minute=5))
    lifter.log(7, Done(kg=125, day=5))
    found = by_day(lifter, PAUSE).session
    assert found == by_log(lifter, PAUSE)[-1]
    assert found is not None
    assert found.before is not None
    assert found.before.reference is not None


def test_without_a_set_that_was_heard_there_is_no_session(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done("snatch", 60, 2, 8))
    assert by_day(lifter, Key("snatch", "unsupported", "")) == Last(None, None)


def test_the_body_weight_of_the_day_is_told_with_it(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    with lifter.tx() as tx:
        put_body_weight(tx, str(lifter.id), on=FIRST + timedelta(days=10), weight=load(90, "kg"))
    lifter.log_all(Done("pull-up", 20, 5, 8), Done("pull-up", 22.5, 5, 8.5, minute=5))
    assert by_day(lifter, Key("pull-up", "unsupported", "")).body_kg == 80


@pytest.mark.parametrize("days", [6, 40])
def test_to_read_one_lift_takes_as_few_statements_and_sets_however_long_the_log(
    database: Database, gym: GymAtHand, monkeypatch: pytest.MonkeyPatch, days: int
) -> None:
    lifter = prepared(database, gym)
    for day in range(days):
        lifter.log(day, Done(kg=120, day=day))

    def refuse(*_: Any) -> Any:
        raise AssertionError("the log was read")

    monkeypatch.setattr("service.flows.lift_reports.read_log", refuse)
    with statements(database) as seen, lifter.tx() as tx:
        told = detail(tx, str(lifter.id), "squat").taught
    assert told is not None
    assert told.date == (START + timedelta(days=days - 1)).date()
    assert len(seen) <= 12, seen
