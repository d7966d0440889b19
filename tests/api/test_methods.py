"""Sets done by methods that break the repetition curve, over HTTP: stored, left out, and told."""

from __future__ import annotations

from typing import get_args

import pytest
from starlette.testclient import TestClient

from service.core.records import Method
from service.store.session import Database
from tests.conftest import GymAtHand
from tests.lifting import TOP_SET, Session, add_athlete, add_max, add_session, done, kg

CLUSTER = {
    "lift": "squat",
    "scheme": {"kind": "cluster", "sets": 3, "parts": 2, "rest_seconds": 20},
    "target": {"kind": "percent", "reps": 2, "percent": 80, "basis": "tested"},
}


@pytest.fixture
def session(coach: TestClient, gym: GymAtHand, database: Database) -> Session:
    """A top set and a cluster, for an athlete with a tested max of 150 kg."""
    athlete = add_athlete(coach)
    add_max(coach, athlete)
    return add_session(database, gym.id, athlete, TOP_SET, CLUSTER)


def max_now(coach: TestClient, session: Session) -> float:
    """What the log says of the squat."""
    athlete = coach.get(f"/v1/sessions/{session.id}").json()["athlete"]
    return float(coach.get(f"/v1/athletes/{athlete}/lifts/squat").json()["max"]["kg"])


def test_a_drop_set_is_stored_moves_no_max_and_the_answer_says_so(coach: TestClient, session: Session) -> None:
    top = {"role": "top_set", "reps": 3, "at": "2026-03-02T18:00:00+01:00"}
    coach.post(session.sets, json=done(session.slots[0], **top, load=kg(127.5), rpe=7.5))
    before = max_now(coach, session)
    drop = {"role": "back_off", "reps": 12, "rpe": 10, "at": "2026-03-02T18:04:00+01:00", "method": "drop_set"}
    answer = coach.post(session.sets, json=done(session.slots[0], **drop, load=kg(90)))
    assert answer.status_code == 201, answer.text
    assert answer.json()["set"]["method"] == "drop_set"
    assert [one["code"] for one in answer.json()["cautions"]] == ["left_out"]
    assert "No max is read from it" in answer.json()["cautions"][0]["text"]
    assert answer.json()["day_estimate"] is None
    assert max_now(coach, session) == before


def test_said_to_have_been_straight_it_counts_after_all(coach: TestClient, session: Session) -> None:
    # 12 repetitions with 120 kg and nothing left are far more than a max of 150 kg allows: 80 % of it
    body = {"role": "top_set", "reps": 9, "rpe": 10, "method": "rest_pause", "at": "2026-03-02T18:00:00+01:00"}
    made = coach.post(session.sets, json=done(session.slots[0], **body, load=kg(120))).json()["set"]
    unmoved = max_now(coach, session)
    fixed = coach.patch(f"/v1/sets/{made['id']}", json={"method": "straight"}, headers={"If-Match": '"1"'})
    assert fixed.status_code == 200, fixed.text
    assert fixed.json()["method"] == "straight"
    assert max_now(coach, session) != unmoved


def test_the_sets_of_a_cluster_are_left_out_without_being_told(coach: TestClient, session: Session) -> None:
    top = {"role": "top_set", "reps": 3, "at": "2026-03-02T17:50:00+01:00"}
    coach.post(session.sets, json=done(session.slots[0], **top, load=kg(127.5), rpe=7.5))
    before = max_now(coach, session)
    body = {"role": "target_set", "reps": 4, "rpe": 9.5, "at": "2026-03-02T18:00:00+01:00"}
    answer = coach.post(session.sets, json=done(session.slots[1], **body, load=kg(120))).json()
    assert answer["set"]["method"] == "cluster"
    assert answer["cautions"][0]["code"] == "left_out"
    assert max_now(coach, session) == before


def test_an_unknown_method_is_refused_with_those_that_there_are(coach: TestClient, session: Session) -> None:
    answer = coach.post(session.sets, json=done(session.slots[0], load=kg(100), reps=3, method="bouncing"))
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert error["pointer"] == "#/method"
    assert "drop_set" in error["allowed"]["values"]


@pytest.mark.parametrize("method", get_args(Method))
def test_each_method_can_be_told_and_is_stored(coach: TestClient, session: Session, method: str) -> None:
    body = {"role": "target_set", "reps": 4, "method": method, "at": "2026-03-02T18:00:00+01:00"}
    answer = coach.post(session.sets, json=done(session.slots[0], **body, load=kg(100)))
    assert answer.status_code == 201, answer.text
    assert answer.json()["set"]["method"] == method


def test_a_carry_is_logged_without_its_method_being_told(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    carry = {
        "lift": "farmers-carry",
        "scheme": {"kind": "sets_at_target", "sets": 2},
        "target": {"kind": "distance", "metres": 30, "load": kg(25)},
    }
    carried = add_session(database, gym.id, add_athlete(coach), carry)
    answer = coach.post(carried.sets, json=done(carried.slots[0], role="target_set", reps=1, load=kg(25)))
    assert answer.status_code == 201, answer.text
    assert answer.json()["set"]["method"] == "carry"


@pytest.mark.parametrize(("lift", "method"), [("pause-squat", "straight"), ("squat", "slow_tempo")])
def test_slow_work_counts_where_it_is_a_lift_of_its_own(
    coach: TestClient, gym: GymAtHand, database: Database, lift: str, method: str
) -> None:
    slow = {
        "lift": lift,
        "tempo": "3-2-x-0",
        "scheme": {"kind": "sets_at_target", "sets": 2},
        "target": {"kind": "effort", "reps": 3, "rpe": 8},
    }
    athlete = add_athlete(coach)
    add_max(coach, athlete)
    made = add_session(database, gym.id, athlete, slow)
    body = {"role": "target_set", "reps": 3, "rpe": 8, "at": "2026-03-02T18:00:00+01:00"}
    answer = coach.post(made.sets, json=done(made.slots[0], **body, load=kg(115))).json()
    assert answer["set"]["method"] == method
    assert ("left_out" in [one["code"] for one in answer["cautions"]]) == (method != "straight")


def test_a_warm_up_before_a_cluster_is_answered_without_words_about_clusters(
    coach: TestClient, session: Session
) -> None:
    body = {"role": "warm_up", "reps": 3, "at": "2026-03-02T17:40:00+01:00"}
    answer = coach.post(session.sets, json=done(session.slots[1], **body, load=kg(60)))
    assert answer.status_code == 201, answer.text
    assert answer.json()["cautions"] == []
