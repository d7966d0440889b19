"""/v1/overrides: what a coach decides until a date, and what of it counts on a day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from starlette.testclient import TestClient

from service.store import overrides
from service.store.session import Caller

OSLO = ZoneInfo("Europe/Oslo")  # the time zone of the gyms under test


def athlete(coach: TestClient, **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": "Runa Fell", **more})
    assert made.status_code == 201, made.text
    return made.json()["id"]


def body(**more: Any) -> dict[str, Any]:
    usual = {"kind": "leave_out", "lift": "squat", "reason": "Knee", "from": "2026-11-20", "until": "2026-12-06"}
    return {name: value for name, value in (usual | more).items() if value is not None}


def kilograms(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


def pointers(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    return {one["pointer"]: one["code"] for one in answer.json()["errors"]}


def today() -> date:
    return datetime.now(OSLO).date()


def test_a_decision_is_set_read_and_changed_with_who_and_why(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    made = coach.post(path, json=body(kind="cap", load=kilograms(100)))
    assert made.status_code == 201
    one = made.json()
    assert made.headers["location"] == f"/v1/overrides/{one['id']}"
    assert (one["from"], one["until"], one["reason"]) == ("2026-11-20", "2026-12-06", "Knee")
    assert one["set_by"] == "coach key"  # the name of the key
    assert (one["load"]["kg"], one["to_lift"], one["ended_at"]) == (100, None, None)
    assert coach.get(f"/v1/overrides/{one['id']}").json() == one

    changes = {"load": {"value": 225, "unit": "lb"}, "until": "2026-12-20", "reason": "Knee, still"}
    changed = coach.patch(f"/v1/overrides/{one['id']}", json=changes, headers={"If-Match": '"1"'}).json()
    # 225 lb x 0.45359237 kg = 102.05828325 kg
    assert (changed["load"]["kg"], changed["until"], changed["reason"]) == (102.058, "2026-12-20", "Knee, still")
    stale = coach.patch(f"/v1/overrides/{one['id']}", json=changes, headers={"If-Match": '"1"'})
    assert stale.status_code == 412


def test_without_a_first_day_it_counts_from_the_athletes_today(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach, time_zone='Pacific/Kiritimati')}/overrides"
    before = datetime.now(ZoneInfo("Pacific/Kiritimati")).date()
    until = str(before + timedelta(days=9))
    first_day = coach.post(path, json=body(**{"from": None}, until=until)).json()["from"]
    assert first_day in {str(before), str(datetime.now(ZoneInfo("Pacific/Kiritimati")).date())}
    yesterday = str(before - timedelta(days=1))
    assert pointers(coach.post(path, json=body(**{"from": None}, until=yesterday))) == {"#/until": "unfit"}


def test_the_last_day_is_included_and_the_day_after_is_not(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    coach.post(path, json=body(**{"from": "2026-11-20"}, until="2026-11-25"))

    def counts(day: str) -> bool:
        return bool(coach.get(path, params={"on": day}).json()["items"])

    assert [counts(f"2026-11-{day}") for day in (19, 20, 25, 26)] == [False, True, True, False]


def test_an_ended_decision_stays_in_the_list_and_counts_no_more_from_that_day(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    start, last = today() - timedelta(days=5), today() + timedelta(days=5)
    one = coach.post(path, json=body(**{"from": str(start)}, until=str(last))).json()
    here = f"/v1/overrides/{one['id']}"
    assert coach.delete(here).status_code == 428
    assert coach.delete(here, headers={"If-Match": '"1"'}).status_code == 204
    assert coach.delete(here, headers={"If-Match": '"1"'}).status_code == 204  # a retry changes nothing
    ended = coach.get(here).json()
    assert (ended["until"], ended["version"]) == (str(last), 2)
    assert ended["ended_at"] is not None
    assert [item["id"] for item in coach.get(path).json()["items"]] == [one["id"]]
    assert coach.get(path, params={"on": str(today())}).json()["items"] == []
    assert len(coach.get(path, params={"on": str(today() - timedelta(days=1))}).json()["items"]) == 1
    refused = coach.patch(here, json={"until": str(last)}, headers={"If-Match": "*"})
    assert refused.status_code == 409


def test_decisions_are_listed_page_by_page_those_that_last_longest_first(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    for day in (3, 1, 5, 2, 4):
        coach.post(path, json=body(until=f"2026-12-0{day}"))
    for query in ({}, {"on": "2026-11-25"}):
        seen, after = [], {}
        for _ in range(3):
            page = coach.get(path, params={"limit": 2, **query, **after}).json()
            seen += [one["until"] for one in page["items"]]
            after = {"after": page["next_page"]}
        assert seen == [f"2026-12-0{day}" for day in (5, 4, 3, 2, 1)]


def test_the_calculation_gets_what_counts_oldest_first(coach, gym, database) -> None:
    person = athlete(coach)
    path = f"/v1/athletes/{person}/overrides"
    coach.post(path, json=body(kind="exchange", to_lift="box-squat"))
    coach.post(path, json=body(kind="load", lift="box-squat", load=kilograms(90), reason="Ease in"))
    coach.post(path, json=body(until="2026-11-24"))
    caller = Caller(gym.id, "tests", "tests", "coach", None)
    with database.transaction(caller, datetime.now(UTC)) as tx:
        exchange, load = overrides.in_force(tx, person, date(2026, 11, 25))
    assert (exchange.kind, exchange.lift, exchange.to_lift, exchange.load) == ("exchange", "squat", "box-squat", None)
    assert (load.kind, load.reason, load.set_by, load.until) == ("load", "Ease in", "coach key", date(2026, 12, 6))
    assert load.load is not None
    assert load.load.value == 90


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"kind": "cap"}, {"#/load": "one_of"}),
        ({"kind": "load", "load": kilograms(-10)}, {"#/load/value": "unfit"}),
        ({"kind": "cap", "load": {"value": 3, "unit": "step"}}, {"#/load/unit": "unfit"}),
        ({"kind": "cap", "lift": "plank", "load": kilograms(10)}, {"#/load": "unfit"}),
        ({"kind": "exchange"}, {"#/to_lift": "required"}),
        ({"kind": "exchange", "to_lift": "squat"}, {"#/to_lift": "unfit"}),
        ({"kind": "exchange", "to_lift": "no-such-lift"}, {"#/to_lift": "unknown"}),
        ({"kind": "exchange", "to_lift": "plank"}, {"#/to_lift": "unfit"}),
        ({"lift": "no-such-lift"}, {"#/lift": "unknown"}),
        ({"load": kilograms(100)}, {"#/load": "unknown_member"}),
        ({"until": "2026-11-19"}, {"#/until": "below_other"}),
        ({"until": None, "reason": ""}, {"#/until": "required", "#/reason": "wrong_length"}),
        ({"from": "1492-11-20"}, {"#/from": "out_of_range"}),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_stored(coach: TestClient, more: Any, wrong: Any) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    assert pointers(coach.post(path, json=body(**more))) == wrong
    assert coach.get(path).json()["items"] == []


def test_an_unknown_kind_is_refused_with_the_kinds_there_are(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    answer = coach.post(path, json=body(kind="forbid"))
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["allowed"]["values"] == [
        "load",
        "cap",
        "exchange",
        "leave_out",
        "no_singles",
        "needs_approval",
        "approval",
    ]


@pytest.mark.parametrize(
    ("kind", "changes", "wrong"),
    [
        ("leave_out", {"load": kilograms(100)}, {"#/load": "unfit"}),
        ("leave_out", {"to_lift": "box-squat"}, {"#/to_lift": "unfit"}),
        ("exchange", {"to_lift": "squat"}, {"#/to_lift": "unfit"}),
        ("leave_out", {"until": "2026-11-19"}, {"#/until": "unfit"}),
        ("leave_out", {"kind": "cap"}, {"#/kind": "unknown_member"}),
        ("leave_out", {"until": None}, {"#/until": "required"}),
        ("leave_out", {"reason": None, "load": None}, {"#/reason": "required", "#/load": "required"}),
        ("exchange", {"to_lift": None}, {"#/to_lift": "required"}),
        ("exchange", {"to_lift": "plank"}, {"#/to_lift": "unfit"}),
    ],
)
def test_a_change_must_fit_the_kind(coach: TestClient, kind: str, changes: Any, wrong: Any) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    to_lift = "box-squat" if kind == "exchange" else None
    one = coach.post(path, json=body(kind=kind, to_lift=to_lift)).json()
    answer = coach.patch(f"/v1/overrides/{one['id']}", json=changes, headers={"If-Match": '"1"'})
    assert pointers(answer) == wrong
    assert coach.get(f"/v1/overrides/{one['id']}").json() == one


def test_a_lift_with_a_load_is_not_exchanged_for_one_without_which_the_answer_says(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    answer = coach.post(path, json=body(kind="exchange", to_lift="plank"))
    (wrong,) = answer.json()["errors"]
    assert wrong["detail"] == (
        "must be a lift with a load: the plank is done without one, so what is planned for the squat says nothing for "
        "it; leave the squat out, and plan the plank by itself"
    )


def test_a_repeat_with_the_same_key_stores_once(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/overrides"
    sent: dict[str, Any] = {"json": body(), "headers": {"Idempotency-Key": "one-action"}}
    first, again = coach.post(path, **sent), coach.post(path, **sent)
    assert first.content == again.content
    assert len(coach.get(path).json()["items"]) == 1


def test_another_gym_and_a_bound_key_of_another_athlete_find_nothing(coach, gym, other_gym) -> None:
    mine, hers = athlete(coach), athlete(coach)
    made = coach.post(f"/v1/athletes/{hers}/overrides", json=body()).json()
    stranger = other_gym.client("owner")
    for path in (f"/v1/overrides/{made['id']}", f"/v1/athletes/{hers}/overrides"):
        assert stranger.get(path).status_code == 404
    assert stranger.delete(f"/v1/overrides/{made['id']}", headers={"If-Match": "*"}).status_code == 404
    key = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": mine}).json()["key"]
    bound = TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})
    assert bound.get(f"/v1/overrides/{made['id']}").status_code == 404
    assert bound.get(f"/v1/athletes/{hers}/overrides").status_code == 404
    assert bound.get(f"/v1/athletes/{mine}/overrides").json()["items"] == []
    assert bound.post(f"/v1/athletes/{mine}/overrides", json=body()).status_code == 403
