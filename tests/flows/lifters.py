"""An athlete whose sets arrive in some order, through the use cases; and what is stored of the athlete then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

from sqlalchemy import select

from service.core.model.kin import Key
from service.core.model.memory import Memory
from service.core.units import Load, load
from service.flows import correct_set, decisions, log_set, sync_sets
from service.flows.set_entry import SetEntry
from service.flows.sync_sets import Queued
from service.store import athletes, memories, sets
from service.store.session import Caller, Database
from service.store.tables import day_estimates
from service.store.tables import sets as set_table
from tests.conftest import GymAtHand

START = datetime(2026, 3, 2, 17, tzinfo=UTC)


@dataclass(frozen=True)
class Done:
    """A set that was done outside of a session: so many days and minutes after the start."""

    lift: str = "squat"
    kg: float = 100
    reps: int = 5
    rpe: float | None = 8
    day: int = 0
    minute: int = 0
    made: bool = True
    ended_by: Any = None
    support: tuple[str, ...] = ()
    role: Any = "free"
    unit: Any = "kg"

    @property
    def load(self) -> Load:
        """As entered."""
        return load(self.kg, self.unit)

    @property
    def at(self) -> datetime:
        """When."""
        return START + timedelta(days=self.day, minutes=self.minute)

    def entry(self) -> SetEntry:
        """As the use case takes it."""
        return SetEntry(
            lift=self.lift, role=self.role, load=self.load, reps=self.reps, rpe=self.rpe, made=self.made,
            ended_by=self.ended_by, at=self.at, support=self.support,
        )  # fmt: skip


class Lifter:
    """An athlete of a gym."""

    def __init__(self, database: Database, gym: GymAtHand, **values: Any) -> None:
        self.database, self.caller = database, Caller(gym.id, "k", "tests", "coach", None)
        self.prefix = f"{uuid4()}"[:8]
        with self.tx() as tx:
            self.id = athletes.add(tx, values={"name": "Mira"} | values).id

    def tx(self) -> Any:
        """A transaction of the gym."""
        return self.database.transaction(self.caller, START + timedelta(days=200))

    def set_id(self, number: int) -> str:
        """Ids that are in the same order for each athlete: they decide between sets of the same moment."""
        return f"{self.prefix}-0000-4000-8000-{number:012x}"

    def log(self, number: int, done: Done) -> log_set.Logged:
        """One call for one set."""
        with self.tx() as tx:
            return log_set.log_free(tx, str(self.id), done.entry(), identity=self.set_id(number))

    def log_all(self, *done: Done) -> list[log_set.Logged]:
        """One call for each of several, in order."""
        return [self.log(number, each) for number, each in enumerate(done)]

    def sync(self, arrived: list[tuple[int, Done]]) -> None:
        """One call for all."""
        queue = [
            Queued(id=self.set_id(number), session=None, athlete=str(self.id), entry=done.entry())
            for number, done in arrived
        ]
        with self.tx() as tx:
            results, _ = sync_sets.sync(tx, queue)
        assert {result.state for result in results if result is not None} <= {"stored"}

    def change(self, number: int, **sent: Any) -> sets.LoggedSet:
        """Correct a set, or answer what is asked about it."""
        with self.tx() as tx:
            return correct_set.change(tx, self.set_id(number), expected=None, sent=sent)

    def remove(self, number: int) -> None:
        """Delete a set."""
        with self.tx() as tx:
            correct_set.remove(tx, self.set_id(number), expected=None)

    def enter_max(self, lift: str, kg: float, on: date, kind: str = "tested", support: tuple[str, ...] = ()) -> str:
        """Enter a max; its id."""
        values = {"lift": lift, "kind": kind, "load": load(kg, "kg"), "date": on, "support": support}
        with self.tx() as tx:
            return str(decisions.add_max(tx, str(self.id), values=values).id)

    def memory(self) -> Memory:
        """What is stored of the model."""
        with self.tx() as tx:
            whole = memories.read(tx, self.id)
        assert whole is not None
        return whole.memory

    def row(self, lift: str) -> Any:
        """The row of a lift without support."""
        return self.memory().lifts[Key(lift, "unsupported", "")].row

    def shown(self) -> dict[str, Any]:
        """All that is stored of the athlete's log, sets by their number."""
        with self.tx() as tx:
            whole = memories.read(tx, self.id)
            assert whole is not None
            mine = day_estimates.c.athlete_id == self.id
            days = select(day_estimates).where(day_estimates.c.gym_id == tx.gym, mine)
            asked = select(set_table.c.id, set_table.c.doubt, set_table.c.doubt_answer).where(
                set_table.c.gym_id == tx.gym, set_table.c.athlete_id == self.id, set_table.c.deleted_at.is_(None)
            )
            return {
                "memory": whole.memory,
                "befores": whole.befores,
                "last": whole.last and (whole.last.date, whole.last.at, _number(whole.last.id)),
                "days": {
                    (r.lift, r.support_class, r.date): (_number(r.set_id), r.effective_kg) for r in tx.execute(days)
                },
                "doubts": {_number(r.id): (r.doubt, r.doubt_answer) for r in tx.execute(asked)},
            }


def _number(identity: UUID) -> int:
    return identity.int & 0xFFFFFFFFFFFF
