"""What a newcomer's ladder teaches is the log folded, whatever arrived when; and nobody is asked about it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from starlette.testclient import TestClient

from service.flows.replay import replay
from service.store import memories
from service.store.session import Caller, Database
from tests.conftest import GymAtHand
from tests.lifting import add_athlete, kg

EASY = {"reps": 10, "rir": 5, "or_more": True}
CLIMBED: list[tuple[float, dict[str, Any]]] = [
    (1.0, {"rir": 5, "or_more": True}), *((float(load), EASY) for load in range(1, 6)), (6.0, {"rir": 3}),
]  # fmt: skip
"""From the lightest dumbbells up by the smallest steps: the first are twice and half as much again as the last."""


def climb(coach: TestClient, order: list[int]) -> str:
    athlete = add_athlete(coach, name="Odd Lie")
    made = coach.post(f"/v1/athletes/{athlete}/sessions", json={"kind": "first", "lifts": ["dumbbell-bench-press"]})
    session = made.json()
    start = datetime.now(UTC).replace(microsecond=0) - timedelta(minutes=40)
    for number in order:
        load, said = CLIMBED[number]
        body = {"slot": session["slots"][0]["id"], "load": kg(load), "reps": 5, **said}
        body["at"] = (start + timedelta(minutes=4 * number)).isoformat()
        answer = coach.post(f"/v1/sessions/{session['id']}/sets", json=body)
        assert answer.status_code == 201, answer.text
    return athlete


def known(database: Database, gym: GymAtHand, athlete: str, *, again: bool = False) -> Any:
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        if again:
            replay(tx, UUID(athlete))
        whole = memories.read(tx, UUID(athlete))
        assert whole is not None
        return whole.memory


def doubts(coach: TestClient, athlete: str) -> list[Any]:
    found: list[Any] = coach.get(f"/v1/athletes/{athlete}/sets", params={"doubtful": True}).json()["items"]
    return found


def test_a_ladder_taught_step_by_step_is_the_log_folded_and_nothing_is_asked(
    coach: TestClient, gym: GymAtHand, database: Database
) -> None:
    athlete = climb(coach, list(range(len(CLIMBED))))
    taught = known(database, gym, athlete)
    assert doubts(coach, athlete) == []
    assert known(database, gym, athlete, again=True) == taught
    assert doubts(coach, athlete) == []
    assert all(one.row.used_ever and not one.row.at_least for one in taught.lifts.values())


def test_a_ladder_whose_first_sets_arrive_last_teaches_the_same(
    coach: TestClient, gym: GymAtHand, database: Database
) -> None:
    """Till then its steps were none that anybody had asked for."""
    in_order = climb(coach, list(range(len(CLIMBED))))
    late = climb(coach, [*range(2, len(CLIMBED)), 0, 1])
    assert doubts(coach, late) == []
    assert known(database, gym, late).lifts == known(database, gym, in_order).lifts


def test_a_corrected_answer_leaves_the_steps_that_were_asked_for_asked_for(
    coach: TestClient, gym: GymAtHand, database: Database
) -> None:
    athlete = climb(coach, list(range(len(CLIMBED))))
    newest_first = coach.get(f"/v1/athletes/{athlete}/sets").json()["items"]
    third = newest_first[-3]
    path = f"/v1/sets/{third['id']}"
    assert coach.patch(path, json={"rir": 4, "or_more": False}, headers={"If-Match": "*"}).status_code == 200
    assert doubts(coach, athlete) == []
    assert known(database, gym, athlete, again=True) == known(database, gym, athlete)
