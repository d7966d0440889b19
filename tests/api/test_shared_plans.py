"""Athletes who are laid out in one call share what their sessions plan, and notice nothing of each other."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from time import sleep
from typing import Any

import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from service.store import blocks
from service.store.session import Caller, Database
from tests.api.plans_at_hand import LEGS, PUSH, athlete, log_top_set
from tests.conftest import GymAtHand

WEEKS = [{"sessions": [LEGS, PUSH]}] * 2
PLANS, SLOTS = 4, 8  # two weeks of two sessions with three slots and one
ANY = {"If-Match": "*"}


def rows(database: Database, gym: GymAtHand) -> tuple[int, int]:
    """How many plans and slots the gym has."""
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        one = tx.execute(text("SELECT (SELECT count(*) FROM session_plans), (SELECT count(*) FROM slots)")).one()
    return int(one[0]), int(one[1])


def laid_out(coach: TestClient, people: list[str], template: str | None = None) -> list[dict[str, Any]]:
    """Blocks of some athletes, in one call."""
    if template is None:
        template = coach.post("/v1/templates", json={"name": "Spring", "weeks": WEEKS}).json()["id"]
    order = {"template": template, "athletes": people, "start": "2026-11-25", "weekdays": ["wednesday", "saturday"]}
    made = coach.post("/v1/blocks", json=order)
    assert made.status_code == 201, made.text
    return [one["block"] for one in made.json()["items"]]


def first(coach: TestClient, block: dict[str, Any], at: int = 0) -> dict[str, Any]:
    """A session of a block as it is read."""
    found: dict[str, Any] = coach.get(f"/v1/sessions/{block['sessions'][at]['id']}").json()
    return found


def without_moment(page: dict[str, Any]) -> dict[str, Any]:
    """A session without when it was read."""
    return {name: value for name, value in page.items() if name != "computed"}


@pytest.fixture
def three(coach: TestClient) -> list[dict[str, Any]]:
    """Three athletes' blocks from one call."""
    return laid_out(coach, [athlete(coach, f"Athlete {number}") for number in range(3)])


def test_what_a_call_lays_out_is_stored_once(
    three: list[dict[str, Any]], coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    assert len(three) == 3
    assert rows(database, gym) == (PLANS, SLOTS)
    laid_out(coach, [one["athlete"] for one in three], three[0]["template"])
    assert rows(database, gym) == (2 * PLANS, 2 * SLOTS), "another call has its own"


def test_a_set_of_one_is_not_seen_in_the_sessions_of_the_others(coach: TestClient, three: list[dict[str, Any]]) -> None:
    mine, theirs = three[:2]
    before = first(coach, theirs)
    told = coach.get(f"/v1/sessions/{before['id']}/next").json()
    log_top_set(coach, first(coach, mine))
    assert [len(one["logged"]) for one in first(coach, mine)["slots"]] == [1, 0, 0]
    assert without_moment(first(coach, theirs)) == without_moment(before)
    assert coach.get(f"/v1/sessions/{before['id']}/next").json() == told
    log_top_set(coach, before)
    assert [len(one["logged"]) for one in first(coach, theirs)["slots"]] == [1, 0, 0]


def test_what_one_lifted_grows_only_the_own_loads(coach: TestClient) -> None:
    grows = {
        "lift": "bench-press",
        "scheme": {
            "kind": "sets_at_target",
            "sets": 2,
            "add_load": {"step": {"value": 5, "unit": "kg"}, "when": "all_sets_complete"},
        },
        "target": {"kind": "load", "reps": 5, "load": {"value": 60, "unit": "kg"}},
    }
    weeks = [{"sessions": [{"name": "Press", "slots": [grows]}]}] * 2
    template = coach.post("/v1/templates", json={"name": "Growing", "weeks": weeks})
    assert template.status_code == 201, template.text
    people = [athlete(coach, f"Athlete {number}") for number in range(2)]
    mine, theirs = laid_out(coach, people, template.json()["id"])
    page = first(coach, mine)
    for minute in (0, 5):
        body = {
            "slot": page["slots"][0]["id"], "role": "target_set", "load": {"value": 60, "unit": "kg"}, "reps": 5,
            "rpe": 7, "at": f"2026-11-25T10:0{minute}:00+01:00",
        }  # fmt: skip
        assert coach.post(f"/v1/sessions/{page['id']}/sets", json=body).status_code == 201
    # 60 kg for all sets as asked, so one step of 5 kg more; the other has lifted nothing yet
    for block, kilograms in ((mine, 65), (theirs, 60)):
        planned = first(coach, block, 1)["slots"][0]["sets"]
        assert {one["load"]["value"] for one in planned if one["role"] == "target_set"} == {kilograms}


def test_one_who_is_changed_alone_leaves_the_others_as_they_are(
    coach: TestClient, three: list[dict[str, Any]], database: Database, gym: GymAtHand
) -> None:
    of = three[0]["template"]
    harder = {"operations": [{"kind": "shift_effort", "rpe_points": 0.5}]}
    assert coach.post(f"/v1/templates/{of}/changes", json=harder, headers=ANY).status_code == 201
    before = [without_moment(first(coach, one, at)) for one in three[1:] for at in range(4)]
    order = {"template": of, "from_week": 1, "blocks": [three[0]["id"]]}
    assert coach.post("/v1/version-moves", json=order).status_code == 201
    assert first(coach, three[0])["slots"][0]["text"].startswith("Top set of 3 at RPE 8")
    assert [without_moment(first(coach, one, at)) for one in three[1:] for at in range(4)] == before
    assert rows(database, gym) == (PLANS + 2, SLOTS + 6), "the two sessions with an effort have plans of their own"


def test_those_who_are_changed_together_share_again_and_nothing_is_left_behind(
    coach: TestClient, three: list[dict[str, Any]], database: Database, gym: GymAtHand
) -> None:
    of = three[0]["template"]
    harder = {"operations": [{"kind": "shift_effort", "rpe_points": 0.5}]}
    assert coach.post(f"/v1/templates/{of}/changes", json=harder, headers=ANY).status_code == 201
    moved = coach.post("/v1/version-moves", json={"template": of, "from_week": 1, "blocks": [b["id"] for b in three]})
    assert moved.status_code == 201
    for one in three:
        assert first(coach, one)["slots"][0]["text"].startswith("Top set of 3 at RPE 8")
    assert rows(database, gym) == (PLANS, SLOTS)


def test_plans_go_with_the_last_session_that_has_them(
    coach: TestClient, three: list[dict[str, Any]], database: Database, gym: GymAtHand
) -> None:
    for left, one in ((PLANS, three[0]), (PLANS, three[1]), (0, three[2])):
        assert coach.delete(f"/v1/blocks/{one['id']}", headers=ANY).status_code == 204
        assert rows(database, gym) == (left, 2 * left)


def test_of_two_blocks_that_are_removed_at_once_nothing_is_left(
    coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    one, other = laid_out(coach, [athlete(coach, f"Athlete {number}") for number in range(2)])
    with ThreadPoolExecutor(1) as pool:
        with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
            blocks.remove(tx, one["id"], expected=None)
            second = pool.submit(coach.delete, f"/v1/blocks/{other['id']}", headers=ANY)
            sleep(0.3)
            assert not second.done(), "it waits for the first"
        assert second.result().status_code == 204
    assert rows(database, gym) == (0, 0)


def test_an_erased_athlete_leaves_no_plan_of_the_own_behind(
    coach: TestClient, three: list[dict[str, Any]], database: Database, gym: GymAtHand
) -> None:
    person = three[0]["athlete"]
    note = "Mind the left knee"
    slot = {**LEGS["slots"][0], "note": note}
    free = coach.post(f"/v1/athletes/{person}/sessions", json={"kind": "free", "date": "2026-11-24", "slots": [slot]})
    assert free.status_code == 201, free.text
    log_top_set(coach, free.json())
    log_top_set(coach, first(coach, three[0]))
    assert rows(database, gym) == (PLANS + 1, SLOTS + 1)
    path = f"/v1/athletes/{person}"
    assert coach.patch(path, json={"archived": True}, headers=ANY).status_code == 200
    assert gym.client("owner").delete(path, headers=ANY).status_code == 204
    assert rows(database, gym) == (PLANS, SLOTS)
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        left = tx.execute(text("SELECT count(*) FROM slots WHERE CAST(body AS text) LIKE :note"), {"note": f"%{note}%"})
        assert left.scalar_one() == 0
    log_top_set(coach, first(coach, three[1]))


def test_a_session_that_is_removed_takes_its_plan_with_it(
    coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    person = athlete(coach)
    body = {"kind": "free", "date": "2026-11-24", "slots": LEGS["slots"]}
    made = coach.post(f"/v1/athletes/{person}/sessions", json=body)
    assert made.status_code == 201, made.text
    assert rows(database, gym) == (1, 3)
    assert coach.delete(f"/v1/sessions/{made.json()['id']}", headers=ANY).status_code == 204
    assert rows(database, gym) == (0, 0)


def test_a_slot_of_another_session_is_none_of_this_one(coach: TestClient, three: list[dict[str, Any]]) -> None:
    legs, push = first(coach, three[0]), first(coach, three[0], 1)
    body = {"slot": push["slots"][0]["id"], "load": {"value": 60, "unit": "kg"}, "reps": 5}
    refused = coach.post(f"/v1/sessions/{legs['id']}/sets", json=body)
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/slot")
