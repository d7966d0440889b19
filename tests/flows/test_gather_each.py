"""What many athletes' loads depend on, read for all at once, is what is read for each of them alone."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from starlette.testclient import TestClient

from service.core.context import Context
from service.flows.context import Asked, gather, gather_each, with_parents
from service.store import lifts
from service.store.session import Caller, Database
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.lifting import add_athlete, add_max, add_session, done, kg

TODAY = datetime.now(UTC).date()
GROWING: dict[str, Any] = {
    "lift": "bench-press",
    "scheme": {
        "kind": "sets_at_target",
        "sets": 2,
        "add_load": {"when": "all_sets_complete", "step": kg(2.5), "after_failures": 2, "less_percent": 10},
    },
    "target": {"kind": "load", "reps": 5, "load": kg(60)},
}


def good(answer: Any) -> Any:
    """An answer that must be one."""
    assert answer.status_code in (200, 201), answer.text
    return answer.json()


def world(coach: TestClient, gym: GymAtHand, database: Database) -> list[Asked]:
    """Athletes who differ in all that is read of them; what is asked of some of them twice, on other days."""
    hall = {
        "name": "Hall",
        "bars": [{"load": kg(15)}],
        "plates": [{"load": kg(10), "count": 4}],
        "stacks": [{"name": "press", "lifts": ["leg-press"], "steps": [kg(50), kg(60)]}],
    }
    place = good(coach.post("/v1/places", json=hall))["id"]
    group = good(coach.post("/v1/groups", json={"name": "Juniors"}))["id"]
    asked = []
    for at in range(6):
        own = {"settings": {"rounding": "down"}} if at % 2 else {}
        athlete = add_athlete(coach, name=f"L{at}", unit="lb" if at == 1 else "kg", birth_year=1990 + at, **own)
        if at % 2:
            good(coach.put(f"/v1/groups/{group}/athletes/{athlete}"))
            weighed = {"load": kg(70 + at)}
            good(coach.put(f"/v1/athletes/{athlete}/body-weights/{TODAY - timedelta(days=30)}", json=weighed))
        if at != 2:
            add_max(coach, athlete, value=100 + at, date=f"{TODAY - timedelta(days=20)}")
            add_max(coach, athlete, lift="dip", value=20 + at, date=f"{TODAY - timedelta(days=20)}")
        if at in (0, 3):
            for back in (6, 3):
                train(coach, gym, database, athlete, TODAY - timedelta(days=back))
            add_max(coach, athlete, value=130 + at, date=f"{TODAY - timedelta(days=1)}")  # after the last set
        if at == 4:
            away = {"kind": "illness", "from": f"{TODAY - timedelta(days=40)}", "until": f"{TODAY - timedelta(days=5)}"}
            good(coach.post(f"/v1/athletes/{athlete}/absences", json=away))
        for on, where in ((TODAY, None), (TODAY + timedelta(days=at), UUID(place))):
            asked.append(
                Asked(
                    athlete=UUID(athlete),
                    on=on,
                    lifts=("pause-squat", "leg-press") if at == 5 else ("squat", "bench-press", "dip", "nonsense"),
                    place=where,
                    session_kind="test" if at == 3 else "block",
                    unit="lb" if at == 4 else None,
                    eased=where is not None,
                    done_on=TODAY if at == 2 else None,
                    growing=() if at % 3 else ("bench-press",),
                    before_today="squat" if at == 3 and where is None else None,
                )
            )
    decided = {"until": f"{TODAY + timedelta(days=2)}", "reason": "As agreed."}
    more = {"kind": "exchange", "lift": "squat", "to_lift": "front-squat", "from": f"{TODAY}"}
    good(coach.post(f"/v1/groups/{group}/overrides", json=decided | more))
    good(coach.post(f"/v1/athletes/{asked[0].athlete}/overrides", json=decided | {"kind": "no_singles"}))
    return asked


def train(coach: TestClient, gym: GymAtHand, database: Database, athlete: str, on: date) -> None:
    """A session in which the load is to grow, with both its sets, and a squat."""
    session = add_session(database, gym.id, athlete, GROWING, on=on)
    at = {"at": f"{on}T12:00:00+00:00"}
    for _ in range(2):
        good(coach.post(session.sets, json=done(session.slots[0], load=kg(60), reps=5, rpe=8, role="target_set") | at))
    good(coach.post(session.sets, json=done(lift="squat", load=kg(100), rpe=8, role="free") | at))


def test_all_at_once_get_what_each_gets_alone(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    asked = world(coach, gym, database)
    with database.transaction(Caller(gym.id, "", "tests", "coach", None), datetime.now(UTC)) as tx:
        alone = [gather(tx, one) for one in asked]
        with statements(database) as few:
            together = gather_each(tx, asked)
        with statements(database) as fewer:
            gather_each(tx, asked[:3])
    assert together == alone
    assert len({repr(one) for one in alone}) == len(alone)  # they do differ
    # conditions with and without absences, decisions, lifts, the log, maxes, those since, what grew, what tells, and
    # what was done before an absence, which the first three do not come back from
    assert (len(few), len(fewer)) == (10, 9)
    told(alone)


def told(found: list[Context]) -> None:
    """What the world is for is in it."""
    assert any(one.eased is not None for one in found)
    assert any(one.progress for one in found)
    assert any(one.overrides for one in found)
    assert any("front-squat" in one.lifts for one in found)
    assert {one.unit for one in found} == {"kg", "lb"}


def test_of_the_lifts_that_are_known_those_asked_for_and_all_above_them_are_taken(
    gym: GymAtHand, database: Database
) -> None:
    with database.transaction(Caller(gym.id, "", "tests", "coach", None), datetime.now(UTC)) as tx:
        known = lifts.get_many(tx, ["pause-squat", "bench-press", "nonsense"])
        for words in (["pause-squat"], ["bench-press", "nonsense"], ["squat", "pause-squat"], []):
            assert with_parents(words, known) == lifts.get_many(tx, words)
