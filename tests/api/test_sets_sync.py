"""A phone's queue, emptied in one call: each set by itself, sent again without doubling."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store.ids import new_id
from service.store.session import Database
from tests.conftest import GymAtHand
from tests.lifting import TOP_SET, Session, add_athlete, add_max, add_session, kg

PLAN = (("build_up", 117.5, 5), ("build_up", 122.5, 6.5), ("top_set", 127.5, 8.5), ("back_off", 117.5, 7))


@pytest.fixture
def athlete(coach: TestClient) -> str:
    """An athlete with a tested squat of 150 kg."""
    identity = add_athlete(coach, ref="mira-7")
    add_max(coach, identity)
    return identity


@pytest.fixture
def session(gym: GymAtHand, database: Database, athlete: str) -> Session:
    """A session with the slot of the worked example."""
    return add_session(database, gym.id, athlete, TOP_SET)


def queue(session: Session) -> list[dict[str, Any]]:
    """The sets of the plan, as a phone keeps them."""
    return [
        {
            "id": str(new_id()), "session": session.id, "slot": session.slots[0], "role": role, "load": kg(load),
            "reps": 3, "rpe": rpe, "at": f"2026-03-02T18:{5 * index:02}:00+01:00",
        }
        for index, (role, load, rpe) in enumerate(PLAN)
    ]  # fmt: skip


def sync(client: TestClient, sets: list[dict[str, Any]]) -> dict[str, Any]:
    """Send the queue; the answer."""
    answer = client.post("/v1/sets", json={"sets": sets})
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


def test_a_queue_is_stored_and_answered_with_the_next_set_of_each_session(coach: TestClient, session: Session) -> None:
    sent = queue(session)
    answer = sync(coach, sent)
    assert [(one["id"], one["result"], one["version"]) for one in answer["results"]] == [
        (one["id"], "stored", 1) for one in sent
    ]
    assert [one["session"] for one in answer["next"]] == [session.id]
    following = answer["next"][0]["next"]
    assert (following["role"], following["load"]["value"], following["number"]) == ("back_off", 117.5, 2)
    assert coach.get(session.next).json() == following


def test_a_queue_sent_again_doubles_nothing(coach: TestClient, session: Session) -> None:
    sent = queue(session)
    first, again = sync(coach, sent[:2]), sync(coach, sent)
    assert [one["result"] for one in again["results"]] == ["unchanged", "unchanged", "stored", "stored"]
    assert [one["set"] for one in again["results"][:2]] == [one["set"] for one in first["results"]]
    third = sync(coach, sent)
    assert [one["result"] for one in third["results"]] == ["unchanged"] * 4
    assert third["next"] == again["next"]
    assert len(coach.get(session.sets).json()["items"]) == 4


def test_sets_arrive_in_any_order_and_give_the_same_next_set(
    coach: TestClient, gym: GymAtHand, database: Database, athlete: str, session: Session
) -> None:
    in_order = sync(coach, queue(session))["next"][0]["next"]
    other = add_session(database, gym.id, add_athlete(coach, name="Odd"), TOP_SET)
    add_max(coach, coach.get(f"/v1/sessions/{other.id}").json()["athlete"])
    backwards = sync(coach, list(reversed(queue(other))))
    same = backwards["next"][0]["next"]
    assert {**same, "slot": None} == {**in_order, "slot": None}
    times = [one["at"] for one in coach.get(other.sets).json()["items"]]
    assert times == sorted(times)


def test_one_bad_set_does_not_block_the_queue(coach: TestClient, session: Session, athlete: str) -> None:
    good = queue(session)
    free = {"id": str(new_id()), "athlete": "ref:mira-7", "lift": "squat", "reps": 5, "load": kg(100)}
    free["at"] = "2026-03-03T18:00:00+01:00"
    nobody = {**good[0], "id": str(new_id()), "session": str(new_id())}
    sent = [
        good[0],
        {**good[1], "rpe": 11, "load": {"value": 1}},  # two wrong members
        {**good[2], "load": kg(-5)},  # no assistance in a squat
        nobody,
        free,
        {"reps": 3},
        good[3],
    ]
    answer = sync(coach, sent)
    results = answer["results"]
    assert [one["result"] for one in results] == ["stored"] + ["problem"] * 3 + ["stored", "problem", "stored"]
    assert [one["id"] for one in results] == [one.get("id") for one in sent]
    problems = [one["problem"] for one in results if one["problem"]]
    assert {problem["status"] for problem in problems} == {422}
    assert {problem["type"] for problem in problems} == {"/problems/invalid-fields"}
    pointers = [{error["pointer"] for error in problem["errors"]} for problem in problems]
    assert pointers[0] == {"#/sets/1/rpe", "#/sets/1/load/unit"}
    assert pointers[1] == {"#/sets/2/load/value"}
    assert pointers[2] == {"#/sets/3/session"}
    assert {"#/sets/5/id", "#/sets/5/at"} <= pointers[3]
    rpe = next(error for error in problems[0]["errors"] if error["pointer"].endswith("rpe"))
    assert rpe["allowed"] == {"min": 1, "max": 10, "step": 0.5}
    assert len(coach.get(session.sets).json()["items"]) == 2
    assert len(coach.get(f"/v1/athletes/{athlete}/sets").json()["items"]) == 3
    mended = sync(coach, [good[1], good[2]])
    assert [one["result"] for one in mended["results"]] == ["stored", "stored"]


def test_other_content_under_a_stored_id_and_a_deleted_id_are_told_apart(coach: TestClient, session: Session) -> None:
    first, second = queue(session)[:2]
    sync(coach, [first, second])
    coach.delete(f"/v1/sets/{second['id']}", headers={"If-Match": '"1"'})
    results = sync(coach, [{**first, "reps": 2}, second])["results"]
    assert [one["problem"]["status"] for one in results] == [428, 409]
    assert coach.get(f"/v1/sets/{first['id']}").json()["reps"] == 3


def test_a_bad_first_set_of_a_planned_session_leaves_it_planned(coach: TestClient, session: Session) -> None:
    answer = sync(coach, [{**queue(session)[0], "load": kg(-5)}])
    assert answer["results"][0]["result"] == "problem"
    assert coach.get(f"/v1/sessions/{session.id}").json()["state"] == "planned"
    assert answer["next"] == []


@pytest.mark.parametrize("count", [0, 201])
def test_a_queue_has_1_to_200_sets(coach: TestClient, session: Session, count: int) -> None:
    answer = coach.post("/v1/sets", json={"sets": [queue(session)[0]] * count})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "#/sets"
    assert answer.json()["errors"][0]["allowed"] == {"min": 1, "max": 200}


def test_two_hundred_sets_go_in_at_once(coach: TestClient, athlete: str) -> None:
    sent = [
        {
            "id": str(new_id()), "athlete": athlete, "lift": "squat", "load": kg(100 + index % 40), "reps": 3, "rpe": 8,
            "at": f"2026-{1 + index % 9:02}-{1 + index // 9:02}T18:00:00+01:00",
        }
        for index in range(200)
    ]  # fmt: skip
    assert {one["result"] for one in sync(coach, sent)["results"]} == {"stored"}
    assert {one["result"] for one in sync(coach, sent)["results"]} == {"unchanged"}


def test_another_gyms_session_and_athlete_are_unknown(
    coach: TestClient, other_gym: GymAtHand, session: Session, athlete: str
) -> None:
    mine = queue(session)[0]
    results = sync(other_gym.client("owner"), [mine, {**mine, "id": str(new_id()), "session": None, "slot": None,
                                                      "athlete": athlete, "lift": "squat"}])["results"]  # fmt: skip
    assert [one["problem"]["errors"][0]["code"] for one in results] == ["unknown", "unknown"]
    assert coach.get(session.sets).json()["items"] == []
