"""The athlete's model is the log folded in its order, whatever arrived when and however it was written."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date, timedelta
from math import exp
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import update
from starlette.testclient import TestClient

from service.core.ability.hearing import heard
from service.core.catalogue import BUILT_IN
from service.core.estimate.rolling import support_class
from service.core.model.kin import Key
from service.core.model.memory import Known, Memory
from service.core.model.passing import opened
from service.core.model.replay import Event, MaxEvent, SetEvent
from service.core.model.replay import replay as fold_events
from service.core.model.tested import in_force
from service.core.records import DoneSet
from service.core.units import load
from service.flows import decisions, remember
from service.flows.context import Asked, gather
from service.flows.replay import put_body_weight, remove_body_weight, replay
from service.store import athletes, gyms, memories
from service.store.memories import lift_json, person_json, read_lift, read_person
from service.store.prescribed import CONTEXT
from service.store.session import Database
from service.store.tables import athlete_states
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.flows.lifters import START, Done, Lifter

FIRST = START.date()
LIFTS = {"squat": 140.0, "pause-squat": 125.0, "front-squat": 115.0, "bench-press": 100.0, "pull-up": 20.0}
NORMAL = {"max_examples": 25, "deadline": None, "suppress_health_check": [HealthCheck.function_scoped_fixture]}


@st.composite
def one_set(draw: st.DrawFn) -> Done:
    """Any set of a few lifts that inform each other, now and then with a slip."""
    lift = draw(st.sampled_from(sorted(LIFTS)))
    made = draw(st.sampled_from([True, True, True, False]))
    share = draw(st.sampled_from([0.7, 0.75, 0.8, 0.8, 0.85, 0.9]))
    slip = draw(st.sampled_from([1, 1, 1, 1, 1, 2.2046]))
    return Done(
        lift=lift,
        kg=round(LIFTS[lift] * share * slip, 1),
        reps=draw(st.sampled_from([1, 2, 3, 5, 5, 8])),
        rpe=draw(st.sampled_from([None, 6, 7, 8, 8, 8.5, 9, 10])) if made else None,
        day=draw(st.sampled_from([0, 0, 2, 4, 30, 160])),
        minute=draw(st.integers(0, 5)),
        made=made,
        ended_by=None if made else draw(st.sampled_from([None, "grip", "pain"])),
        support=draw(st.sampled_from([(), (), ("belt",), ("wraps",)])),
        role=draw(st.sampled_from(["top_set", "free", "warm_up"])),
    )


maxes = st.lists(
    st.tuples(st.sampled_from(sorted(LIFTS)), st.sampled_from([100.0, 140.0]), st.sampled_from([-10, 0, 3, 4, 40])),
    max_size=3,
    unique_by=lambda one: (one[0], one[2]),
)


def numbered(done: list[Done]) -> list[tuple[int, Done]]:
    """Sets with their numbers, in the order in which they were done."""
    return sorted(enumerate(done), key=lambda pair: (pair[1].at, pair[0]))


def prepared(database: Database, gym: GymAtHand) -> Lifter:
    """An athlete of 80 kg."""
    lifter = Lifter(database, gym)
    with lifter.tx() as tx:
        put_body_weight(tx, str(lifter.id), on=date(2026, 1, 1), weight=load(80, "kg"))
    return lifter


def by_core(done: list[Done], entered: list[tuple[str, float, int]]) -> Memory:
    """The memory as the model's own fold of events has it, without any database: another way through the same log."""
    body = {"pull-up": 80.0}
    tested: dict[str, list[tuple[date, float]]] = {}
    events: list[Event] = []
    for number, (lift, kg, day) in enumerate(entered):
        on = FIRST + timedelta(days=day)
        tested.setdefault(lift, []).append((on, kg + body.get(lift, 0)))
        key = Key(lift, "unsupported", "")
        events.append(MaxEvent(on, key, kg + body.get(lift, 0), f"{number:03}"))
    for number, one in enumerate(done):
        word = "choice" if one.made else one.ended_by or "strength"
        told = DoneSet(
            lift=one.lift, role=one.role, load=one.load, reps=one.reps, rpe=one.rpe, made=one.made, ended_by=word
        )  # fmt: skip
        key = Key(one.lift, support_class(one.support), "")
        kg = one.kg + body.get(one.lift, 0)
        events.append(SetEvent(one.at.date(), key, heard(told, kg), one.at, f"{number:03}"))
    last = max(one.at.date() for one in done)
    events = [event for event in events if event.on <= last]  # what comes later is heard when it is asked for

    def given_max(key: Key, on: date) -> Any:
        return in_force(tested.get(key.lift, []) if key.support_class == "unsupported" else [], [], on)

    return fold_events(events, Known(BUILT_IN, given_max))


@settings(**NORMAL)
@given(st.lists(one_set(), min_size=1, max_size=12), maxes, st.data())
def test_what_is_stored_is_the_log_folded_whatever_arrived_when(
    database: Database, gym: GymAtHand, done: list[Done], entered: list[tuple[str, float, int]], data: st.DataObject
) -> None:
    in_order, shuffled, synced = (prepared(database, gym) for _ in range(3))
    for lift, kg, day in entered:
        in_order.enter_max(lift, kg, FIRST + timedelta(days=day))
    for number, each in numbered(done):
        in_order.log(number, each)
    for number, each in data.draw(st.permutations(list(enumerate(done)))):
        shuffled.log(number, each)
    synced.sync(data.draw(st.permutations(list(enumerate(done)))))
    for lift, kg, day in entered:  # entered after the sets
        shuffled.enter_max(lift, kg, FIRST + timedelta(days=day))
        synced.enter_max(lift, kg, FIRST + timedelta(days=day))
    shown = in_order.shown()
    assert shuffled.shown() == shown
    assert synced.shown() == shown
    assert shown["memory"] == by_core(done, entered)


@settings(**NORMAL)
@given(st.lists(one_set(), min_size=2, max_size=8), st.data())
def test_after_corrections_the_model_is_that_of_the_corrected_log(
    database: Database, gym: GymAtHand, done: list[Done], data: st.DataObject
) -> None:
    mended = [replace(one, kg=one.kg + data.draw(st.sampled_from([0, 5.0])), day=one.day) for one in done]
    corrected, fresh = prepared(database, gym), prepared(database, gym)
    for number, each in enumerate(done):
        corrected.log(number, each)
    for number in data.draw(st.permutations(range(len(done)))):
        corrected.change(number, load=mended[number].load)
    later = data.draw(st.integers(0, 3))
    moved = START + timedelta(days=later, minutes=30)
    corrected.change(1, at=moved)
    corrected.remove(0)
    mended[1] = replace(mended[1], day=later, minute=30)
    for number, each in list(enumerate(mended))[1:]:
        fresh.log(number, each)
    assert corrected.shown() == fresh.shown()


def test_a_replay_changes_nothing_and_makes_what_was_lost_anew(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.enter_max("squat", 150, FIRST)
    lifter.log_all(Done(), Done(kg=105, minute=5), Done("pause-squat", 95, day=3), Done(kg=110, day=5))
    before = lifter.shown()
    with lifter.tx() as tx:
        assert replay(tx, lifter.id) == set()
    assert lifter.shown() == before
    with lifter.tx() as tx:  # as after an update of the service with another version of the model
        tx.execute(update(athlete_states).where(athlete_states.c.athlete_id == lifter.id).values(person=None))
        assert memories.read(tx, lifter.id) is None
    lifter.log(9, Done(kg=112.5, day=7))
    again = prepared(database, gym)
    again.enter_max("squat", 150, FIRST)
    again.log_all(Done(), Done(kg=105, minute=5), Done("pause-squat", 95, day=3), Done(kg=110, day=5))
    again.log(9, Done(kg=112.5, day=7))
    assert lifter.shown() == again.shown()


def test_a_new_day_tells_a_variation_that_rests_of_its_lift(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.enter_max("squat", 150, FIRST)
    squats = Done(kg=120, day=30), Done(kg=122.5, rpe=8.5, day=30, minute=5)
    lifter.log_all(Done("pause-squat", 105, 5, 8), *squats)  # the paused squat has rested for a month
    before = lifter.row("pause-squat")
    lifter.log(8, Done("bench-press", 80, day=32))  # closes the day of the squats
    told = lifter.row("pause-squat")
    assert told.day == FIRST + timedelta(days=30)
    assert told.p[0] < opened(before, lifter.memory().person, told.day).p[0]  # surer than by the days alone


def test_a_tested_max_is_heard_on_its_day_and_waits_for_it(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done(kg=120, rpe=8), Done(kg=122.5, rpe=8.5, minute=5))
    before = lifter.memory()
    identity = lifter.enter_max("squat", 150, FIRST + timedelta(days=10))
    assert lifter.memory() == before  # nothing happened since the last set

    def known(day: int) -> tuple[float, float]:
        with lifter.tx() as tx:
            context = gather(tx, Asked(athlete=lifter.id, on=FIRST + timedelta(days=day), lifts=["squat"], place=None))
        (row,) = [one.row for one in context.rows if one.lift == "squat"]
        return row.used_ever, next(one.kg for one in context.maxes if one.basis == "rolling")

    assert known(9)[0] == 2
    assert known(10)[0] == 3
    assert abs(known(10)[1] - 150) < abs(known(9)[1] - 150)
    lifter.log(5, Done(kg=120, day=12))
    assert lifter.row("squat").used_ever == 4  # two sets, the test, a set
    with lifter.tx() as tx:
        decisions.remove_max(tx, identity, expected=None)
    assert lifter.row("squat").used_ever == 3


def test_a_body_weight_corrected_later_changes_what_pull_ups_taught(database: Database, gym: GymAtHand) -> None:
    one, other = Lifter(database, gym), Lifter(database, gym)
    for lifter, kg in ((one, 80), (other, 84)):
        with lifter.tx() as tx:
            put_body_weight(tx, str(lifter.id), on=FIRST, weight=load(kg, "kg"))
        lifter.log_all(Done("pull-up", 20, 5, 8), Done("pull-up", 22.5, 5, 8.5, day=2))
    assert one.shown() != other.shown()
    with one.tx() as tx:
        put_body_weight(tx, str(one.id), on=FIRST, weight=load(84, "kg"))
    assert one.shown() == other.shown()
    with one.tx() as tx:
        remove_body_weight(tx, str(one.id), on=FIRST)
    assert one.memory().lifts == {}  # a body of unknown weight is no load


def test_settings_of_the_gym_let_the_log_be_read_anew(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.enter_max("squat", 135, FIRST, kind="training")
    lifter.log_all(Done(kg=112.5), Done(kg=115, minute=5))
    with lifter.tx() as tx:
        gyms.change(tx, expected=None, values={"settings": {"training_max_percent": 90, "curve": "epley"}})
    with lifter.tx() as tx:
        assert memories.read(tx, lifter.id) is None
        read_anew = gather(tx, Asked(athlete=lifter.id, on=FIRST + timedelta(days=1), lifts=["squat"], place=None))
    with lifter.tx() as tx:
        replay(tx, lifter.id)
        stored = gather(tx, Asked(athlete=lifter.id, on=FIRST + timedelta(days=1), lifts=["squat"], place=None))
    assert read_anew == stored
    kilograms = {one.basis: one.kg for one in stored.maxes}
    # Epley 1985: 5 at RPE 8 are 7 to failure; 112.5 x (1 + 7 / 30) = 138.75, then the heavier set of the day: 141.83
    assert kilograms["rolling"] == pytest.approx(115 * (1 + 7 / 30))
    # the row began at 135 / 0.9 = 150 kg, as the new percentage has it
    assert stored.rows[0].row.reference == pytest.approx(5.0106353)  # ln 150


def test_what_the_gym_let_go_is_folded_at_the_first_read_and_kept(
    coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    lifter, fresh = prepared(database, gym), prepared(database, gym)
    for one in (lifter, fresh):
        one.enter_max("squat", 135, FIRST, kind="training")
    done = Done(kg=112.5), Done(kg=115, minute=5), Done("pause-squat", 95, day=3)
    lifter.log_all(*done)
    with lifter.tx() as tx:
        gyms.change(tx, expected=None, values={"settings": {"training_max_percent": 80, "curve": "epley"}})
        assert memories.read(tx, lifter.id) is None
    path = f"/v1/athletes/{lifter.id}/lifts"
    first = coach.get(path)
    assert first.status_code == 200
    with lifter.tx() as tx:
        assert memories.read(tx, lifter.id) is not None
    fresh.log_all(*done)  # by the new settings from the start
    assert lifter.shown() == fresh.shown()
    assert first.json()["items"] == coach.get(path).json()["items"]
    with lifter.tx() as tx:
        gyms.change(tx, expected=None, values={"settings": {"training_max_percent": None, "curve": None}})
    assert coach.get(f"{path}/squat").status_code == 200


def test_of_several_reads_at_once_one_folds_the_log(
    database: Database, gym: GymAtHand, monkeypatch: pytest.MonkeyPatch
) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done(kg=112.5), Done(kg=115, minute=5))
    with lifter.tx() as tx:
        memories.forget_all(tx)
    folded = []
    fold_log = remember.fold_log
    monkeypatch.setattr(remember, "fold_log", lambda *args, **kw: folded.append(1) or fold_log(*args, **kw))

    def kept(_: int) -> None:
        with lifter.tx() as tx:
            remember.keep(tx, lifter.id)

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(kept, range(4)))
    assert len(folded) == 1


def test_one_lift_may_be_read_by_a_curve_while_others_are_not(coach: TestClient, database: Database, gym: GymAtHand):
    lifter = Lifter(database, gym, settings={"lift_curves": [{"lift": "squat", "curve": "epley"}]})
    lifter.log_all(Done(kg=120, reps=3, rpe=9), Done("bench-press", 80, 3, 9, minute=5))
    with lifter.tx() as tx:
        context = gather(tx, Asked(athlete=lifter.id, on=FIRST, lifts=["squat", "bench-press"], place=None))
    kilograms = {(one.lift, one.basis): one.kg for one in context.maxes}
    assert kilograms["squat", "rolling"] == pytest.approx(136)  # Epley 1985: 120 x (1 + 4 / 30)
    assert kilograms["squat", "day"] == pytest.approx(136)
    assert kilograms["bench-press", "day"] != pytest.approx(80 * (1 + 4 / 30))
    unknown = coach.patch(
        f"/v1/athletes/{lifter.id}",
        json={"settings": {"lift_curves": [{"lift": "no-such-lift", "curve": "epley"}]}},
        headers={"If-Match": "*"},
    )
    assert unknown.status_code == 422
    assert unknown.json()["errors"][0]["pointer"] == "#/settings/lift_curves/0/lift"


def test_a_context_before_the_days_sets_knows_nothing_of_them(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.enter_max("squat", 150, FIRST)
    lifter.log_all(Done(kg=120), Done(kg=125, minute=5))
    later = FIRST + timedelta(days=3)

    def context(**more: Any) -> Any:
        with lifter.tx() as tx:
            return gather(tx, Asked(athlete=lifter.id, on=later, lifts=["squat"], place=None, **more))

    before = context()
    assert CONTEXT.validate_json(CONTEXT.dump_json(before)) == before
    lifter.log(7, Done(kg=135, reps=3, rpe=9, day=3))
    after = context()
    assert context(before_today="squat").rows[0].row == before.rows[0].row
    assert context(before_today="squat").person == before.person
    assert after.rows[0].row != before.rows[0].row
    assert {one.kg for one in context(before_today="squat").maxes} == {one.kg for one in before.maxes}


def test_rows_are_written_and_read_to_the_last_bit(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done(kg=120), Done("pause-squat", 100, minute=1), Done(kg=300, minute=5), Done(kg=1, day=4))
    memory = lifter.memory()
    assert read_person(person_json(memory.person)) == memory.person
    assert {key: read_lift(lift_json(lift)) for key, lift in memory.lifts.items()} == memory.lifts


def test_what_technique_ends_what_has_a_time_and_what_has_no_mass_teach_nothing(coach, database, gym) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done("snatch", 60, 2, 8), Done("pull-up", -80, 5, 8, minute=1))
    with lifter.tx() as tx:
        athlete = str(athletes.get(tx, str(lifter.id)).id)
    timed = {"lift": "pull-up", "load": {"value": 10, "unit": "kg"}, "seconds": 30, "rpe": 8}
    assert coach.post(f"/v1/athletes/{athlete}/sets", json=timed).status_code == 201
    assert lifter.memory() == Memory()


def test_phones_that_log_at_once_lose_and_double_nothing(database: Database, gym: GymAtHand) -> None:
    done = [Done("pause-squat" if at % 3 else "squat", 110 + at, minute=at % 7, day=at % 2) for at in range(16)]
    one, other = prepared(database, gym), prepared(database, gym)
    for number, each in numbered(done):
        one.log(number, each)
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda pair: other.log(*pair), list(enumerate(done)) * 2))
    assert other.shown() == one.shown()


@pytest.mark.parametrize(
    ("case", "most"),
    [
        # the person, the lock, the set's id, the lift, what is known of it, the set; for the day's max: lock, sessions
        ("same day", 8),
        # and all lifts, maxes, the lifts that it is based on, the lifts that heard of the day before
        ("next day", 12),
    ],
)
def test_a_new_set_takes_few_statements_however_long_the_log(
    database: Database, gym: GymAtHand, case: str, most: int
) -> None:
    lifter = prepared(database, gym)
    for day in range(0, 12, 2):
        lifter.log(day, Done(kg=120, day=day))
        lifter.log(day + 1, Done("pause-squat", 100, day=day, minute=5))
    new = Done(kg=125, day=10, minute=9) if case == "same day" else Done(kg=125, day=12)
    with statements(database) as seen:
        lifter.log(100, new)
    assert len(seen) <= most, seen


def test_the_days_max_is_told_with_its_range(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.enter_max("squat", 150, FIRST)
    told = lifter.log(0, Done(kg=127.5, reps=3, rpe=8.5)).day_estimate
    assert told is not None
    assert told.range is not None
    assert told.range.low.value < told.max.value < told.range.high.value
    (step,) = told.why
    assert step.formula == "max_today"
    assert step.text.startswith("After 3 with 127.5 kg at RPE 8.5 today's max is ")
    assert step.text.endswith(" in 8 of 10 such cases).")
    row = lifter.row("squat")
    assert told.max.value == pytest.approx(exp(row.reference + (row.m[0] + row.m[2]) / row.m[1]), abs=0.0006)
    assert lifter.log(1, Done(kg=120, reps=3, rpe=8, minute=5)).day_estimate is None  # lighter
    assert lifter.log(2, Done(kg=130, reps=3, rpe=6, minute=9)).day_estimate is None  # too easy to tell


def test_a_day_that_is_over_is_asked_about_as_it_was_known_then(database: Database, gym: GymAtHand) -> None:
    lifter = prepared(database, gym)
    lifter.log_all(Done(kg=120), Done(kg=122.5, minute=5))

    def rolling(day: int) -> list[float]:
        with lifter.tx() as tx:
            context = gather(tx, Asked(athlete=lifter.id, on=FIRST + timedelta(days=day), lifts=["squat"], place=None))
        return [one.kg for one in context.maxes if one.basis == "rolling"]

    then = rolling(2)
    lifter.log(2, Done(kg=140, reps=3, rpe=8, day=5))
    assert rolling(2) == then  # what came on the sixth day is not known on the third
    assert rolling(-1) == []
    assert rolling(5) != then


def test_a_question_that_comes_or_goes_is_another_version_of_the_set(coach, database, gym) -> None:
    lifter = Lifter(database, gym)
    lifter.log(0, Done("bench-press", 176.37, 5, 8))
    assert lifter.log(1, Done("bench-press", 80, 5, 8, day=2)).set.version == 1
    path = f"/v1/sets/{lifter.set_id(1)}"
    before = coach.get(path)
    assert (before.headers["etag"], before.json()["doubt"] is None) == ('"1"', False)
    lifter.change(0, load=load(80, "kg"))
    after = coach.get(path, headers={"If-None-Match": '"1"'})
    assert (after.headers["etag"], after.json()["doubt"]) == ('"2"', None)
    late = lifter.log(2, Done("bench-press", 300, 5, 8, day=1))  # folded anew, and asked about at once
    assert (late.set.version, late.set.doubt is None) == (1, False)
    assert coach.get(f"/v1/sets/{lifter.set_id(2)}").json()["version"] == 1
