"""What the log shows does not depend on the order in which sets arrived, only on when they were done."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from service.core.units import load
from service.flows import correct_set, log_set, open_session, sync_sets
from service.flows.replay import replay
from service.flows.set_entry import SetEntry
from service.flows.sync_sets import Queued
from service.store import athletes, memories, states
from service.store.session import Caller, Database, Tx
from service.store.tables import day_estimates, lift_states, sets
from tests.conftest import GymAtHand
from tests.lifting import TOP_SET, Session, add_session

START = datetime(2026, 3, 2, 12, tzinfo=UTC)
HARD = [6, 6.5, 7, 8, 9.5, 10]


@dataclass(frozen=True)
class Done:
    """A set that was done: so many half days after the start, in the session's slot or outside."""

    half_days: int
    kg: float
    reps: int
    rpe: float | None = None
    felt: Any = None
    made: bool = True
    ended_by: Any = None
    in_slot: bool = False
    role: Any = "free"

    def entry(self, session: Session) -> SetEntry:
        """As the use case takes it."""
        return SetEntry(
            slot=session.slots[0] if self.in_slot else None, lift=None if self.in_slot else "squat", role=self.role,
            load=load(self.kg, "kg"), reps=self.reps, rpe=self.rpe, felt=self.felt, made=self.made,
            ended_by=self.ended_by, at=START + timedelta(hours=12 * self.half_days),
        )  # fmt: skip


@st.composite
def one_set(draw: st.DrawFn, *, words: bool) -> Done:
    """Any set of a squat."""
    felt = draw(st.sampled_from([None, "lighter", "as_expected", "heavier"])) if words else None
    made = draw(st.booleans() if felt is None else st.just(value=True))
    return Done(
        half_days=draw(st.integers(0, 3)),
        kg=draw(st.sampled_from([100, 110, 110, 120.5, 127.5])),
        reps=draw(st.sampled_from([1, 2, 3, 3, 5, 14])),
        rpe=draw(st.sampled_from([None, *HARD])) if felt is None and made else None,
        felt=felt,
        made=made,
        ended_by=None if not made else draw(st.sampled_from([None, "grip", "technique"])),
        in_slot=felt is not None or draw(st.booleans()),
        role=draw(st.sampled_from(["top_set", "top_set", "back_off", "build_up"])),
    )


class Lifter:
    """An athlete with a session, whose sets arrive in some order."""

    def __init__(self, database: Database, gym: GymAtHand, **values: Any) -> None:
        self.database, self.caller = database, Caller(gym.id, "k", "tests", "coach", None)
        with self.tx() as tx:
            self.id = athletes.add(tx, values={"name": "Mira"} | values).id
            athletes.put_body_weight(tx, str(self.id), on=date(2026, 1, 1), weight=load(80, "kg"))
        self.session = add_session(database, gym.id, str(self.id), TOP_SET)
        with self.tx() as tx:  # what was expected stands on what was prescribed, so that is made before all sets
            open_session.ensure_open(tx, UUID(self.session.id), START.date())
        self.prefix = f"{uuid4()}"[:8]

    def tx(self) -> Any:
        """A transaction of the gym."""
        return self.database.transaction(self.caller, START + timedelta(days=30))

    def set_id(self, number: int) -> str:
        """Ids that are in the same order for each athlete: they decide between sets of the same moment."""
        return f"{self.prefix}-0000-4000-8000-{number:012x}"

    def log(self, number: int, done: Done) -> None:
        """One call for one set."""
        with self.tx() as tx:
            entry = done.entry(self.session)
            if done.in_slot:
                log_set.log_in_session(tx, self.session.id, entry, identity=self.set_id(number))
            else:
                log_set.log_free(tx, str(self.id), entry, identity=self.set_id(number))

    def sync(self, arrived: list[tuple[int, Done]]) -> None:
        """One call for all."""
        queue = [
            Queued(
                id=self.set_id(number),
                session=self.session.id if done.in_slot else None,
                athlete=None if done.in_slot else str(self.id),
                entry=done.entry(self.session),
            )
            for number, done in arrived
        ]
        with self.tx() as tx:
            results, _ = sync_sets.sync(tx, queue)
        assert {result.state for result in results if result is not None} <= {"stored"}

    def shown(self) -> dict[str, Any]:
        """What is stored of the athlete's lifts; sets by their number."""
        with self.tx() as tx:
            return {
                "rolling": self._rolling(tx),
                "model": self._model(tx),
                "days": [
                    (row.lift, row.support_class, row.date, _number(row.set_id), float(row.effective_kg))
                    for row in tx.execute(
                        select(day_estimates)
                        .where(day_estimates.c.gym_id == tx.gym, day_estimates.c.athlete_id == self.id)
                        .order_by(day_estimates.c.date)
                    )
                ],
                "expected": {
                    _number(row.id): (row.expected_rpe, row.doubt)
                    for row in tx.execute(
                        select(sets.c.id, sets.c.expected_rpe, sets.c.doubt).where(
                            sets.c.gym_id == tx.gym, sets.c.athlete_id == self.id, sets.c.deleted_at.is_(None)
                        )
                    )
                },
            }

    def _rolling(self, tx: Tx) -> list[Any]:
        rows = tx.execute(
            select(lift_states.c.lift, lift_states.c.body).where(
                lift_states.c.gym_id == tx.gym, lift_states.c.athlete_id == self.id
            )
        )
        found = [(row.lift, states.read_state(row.body)) for row in rows if row.body is not None]
        return [(lift, state.rolling, state.at, _number(state.set_id)) for lift, state in found]

    def _model(self, tx: Tx) -> Any:
        """To the last bit, with the moment and number of the newest set."""
        whole = memories.read(tx, self.id)
        assert whole is not None
        last = whole.last
        return whole.memory, whole.befores, last and (last.date, last.at, _number(last.id))


def _number(identity: UUID) -> int:
    return identity.int & 0xFFFFFFFFFFFF


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_the_order_of_arrival_does_not_matter(database: Database, gym: GymAtHand, data: st.DataObject) -> None:
    done = data.draw(st.lists(one_set(words=True), min_size=1, max_size=8))
    numbered = list(enumerate(done))
    in_order = sorted(numbered, key=lambda pair: (pair[1].half_days, pair[0]))
    one, other, third = (Lifter(database, gym) for _ in range(3))
    for number, each in in_order:
        one.log(number, each)
    for number, each in data.draw(st.permutations(numbered)):
        other.log(number, each)
    third.sync(data.draw(st.permutations(numbered)))
    assert other.shown() == one.shown()
    assert third.shown() == one.shown()


def independent(done: list[Done]) -> tuple[float | None, dict[date, float]]:
    """The average and the days' maxes by the sentences of the handbook, day by day, without the product's code."""

    def max_of(one: Done, most: int, least: float) -> float | None:
        """Load divided by the default curve's share, (1 + 0.116 (n - 1))^-0.4, for sets heavy enough to tell."""
        if one.role == "build_up" or one.ended_by is not None or one.reps > most:
            return None
        if not one.made:
            n = one.reps + 0.3
        elif one.rpe is None or one.rpe < least:
            return None
        else:
            n = one.reps + 10 - one.rpe
        return one.kg * (1 + 0.116 * (n - 1)) ** 0.4

    average, days = None, {}
    for on in sorted({_day(one) for one in done}):
        telling = [one for one in done if _day(one) == on and max_of(one, 12, 6.5) is not None]
        if telling:
            heaviest = max(one.kg for one in telling)
            first = next(one for one in telling if one.kg == heaviest)
            estimate = max_of(first, 12, 6.5)
            average = estimate if average is None else average + 0.3 * (estimate - average)
        heavy = [one for one in done if _day(one) == on and max_of(one, 3, 7) is not None]
        if heavy:
            heaviest = max(one.kg for one in heavy)
            days[on] = max_of(next(one for one in heavy if one.kg == heaviest), 3, 7)
    return average, days


def _day(one: Done) -> date:
    """In Oslo, an hour ahead of the start's clock: noon and midnight are 13 and 1 o'clock."""
    return (START + timedelta(hours=12 * one.half_days + 1)).date()


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_averages_and_days_agree_with_an_independent_count(
    database: Database, gym: GymAtHand, data: st.DataObject
) -> None:
    done = [replace(one, in_slot=False) for one in data.draw(st.lists(one_set(words=False), min_size=1, max_size=10))]
    done.sort(key=lambda one: one.half_days)
    lifter = Lifter(database, gym, settings={"curve": "default"})
    for number, each in data.draw(st.permutations(list(enumerate(done)))):
        lifter.log(number, each)
    average, days = independent(done)
    shown = lifter.shown()
    assert [one[1].value for one in shown["rolling"]] == ([] if average is None else [pytest.approx(average)])
    assert {one[2]: one[4] for one in shown["days"]} == {on: pytest.approx(kg) for on, kg in days.items()}


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_corrected_and_deleted_sets_leave_what_the_corrected_log_shows(
    database: Database, gym: GymAtHand, data: st.DataObject
) -> None:
    first = data.draw(st.lists(one_set(words=True), min_size=2, max_size=6))
    mended = [replace(one, kg=data.draw(st.sampled_from([105.0, 120.5]))) for one in first]
    one, other = Lifter(database, gym), Lifter(database, gym)
    for number, each in enumerate(first):
        one.log(number, each)
    for number in data.draw(st.permutations(range(len(first)))):
        with one.tx() as tx:
            sent = {"load": load(mended[number].kg, "kg")}
            correct_set.change(tx, one.set_id(number), expected=None, sent=sent)
    with one.tx() as tx:
        correct_set.remove(tx, one.set_id(0), expected=None)
    for number, each in list(enumerate(mended))[1:]:
        other.log(number, each)
    assert one.shown() == other.shown()


def test_a_replay_of_everything_changes_nothing(database: Database, gym: GymAtHand) -> None:
    lifter = Lifter(database, gym)
    for number, (kg, rpe) in enumerate(((100, 8), (110, 9), (105, 8.5))):
        lifter.log(number, Done(number, kg, 3, rpe, role="top_set", in_slot=number == 1))
    before = lifter.shown()
    with lifter.tx() as tx:
        assert replay(tx, lifter.id) == set()
    assert lifter.shown() == before
    assert before["days"]


def test_a_replay_mends_what_is_not_what_the_log_says(database: Database, gym: GymAtHand) -> None:
    lifter = Lifter(database, gym)
    lifter.log(0, Done(0, 100, 3, 8, role="top_set"))
    before = lifter.shown()
    with lifter.tx() as tx:
        tx.execute(day_estimates.update().where(day_estimates.c.athlete_id == lifter.id).values(effective_kg=1))
        tx.execute(lift_states.delete().where(lift_states.c.athlete_id == lifter.id))
    with lifter.tx() as tx:
        assert replay(tx, lifter.id) == {"squat"}
    assert lifter.shown() == before
