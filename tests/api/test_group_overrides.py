"""/v1/groups/{group}/overrides: what a coach decides for all who train together, and who decided what when."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from threading import Thread
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from starlette.testclient import TestClient

from service.flows import decisions
from service.store import overrides
from service.store.session import Caller

OSLO = ZoneInfo("Europe/Oslo")  # the time zone of the gyms under test


def athlete(coach: TestClient, name: str = "Runa Fell", **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": name, **more})
    assert made.status_code == 201, made.text
    return made.json()["id"]


def group(coach: TestClient, *members: str) -> str:
    made = coach.post("/v1/groups", json={"name": "Early"}).json()["id"]
    for one in members:
        assert coach.put(f"/v1/groups/{made}/athletes/{one}").status_code == 201
    return made


def kilograms(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "kg"}


def today() -> date:
    return datetime.now(OSLO).date()


def body(**more: Any) -> dict[str, Any]:
    usual = {
        "kind": "cap",
        "lift": "squat",
        "load": kilograms(100),
        "reason": "New belts",
        "from": str(today() - timedelta(days=3)),
        "until": str(today() + timedelta(days=10)),
    }
    return {name: value for name, value in (usual | more).items() if value is not None}


def pointers(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    return {one["pointer"]: one["code"] for one in answer.json()["errors"]}


def on(coach: TestClient, person: str, day: date | None = None) -> list[dict[str, Any]]:
    return coach.get(f"/v1/athletes/{person}/overrides", params={"on": str(day or today())}).json()["items"]


def test_a_groups_decision_counts_for_who_belongs_to_it_while_they_do(coach: TestClient) -> None:
    runa, odd = athlete(coach), athlete(coach, "Odd Hammer")
    early = group(coach, runa)
    made = coach.post(f"/v1/groups/{early}/overrides", json=body())
    assert made.status_code == 201, made.text
    one = made.json()
    assert (one["group"], one["athlete"], one["load"]["kg"]) == (early, None, 100)
    assert made.headers["location"] == f"/v1/overrides/{one['id']}"
    assert coach.get(f"/v1/overrides/{one['id']}").json() == one
    assert on(coach, runa) == [one]
    assert coach.get(f"/v1/athletes/{runa}/overrides").json()["items"] == [one]
    assert on(coach, odd) == []
    coach.put(f"/v1/groups/{early}/athletes/{odd}")
    assert on(coach, odd) == [one]
    coach.delete(f"/v1/groups/{early}/athletes/{runa}")
    assert on(coach, runa) == []
    assert coach.get(f"/v1/groups/{early}/overrides").json()["items"] == [one]


def test_what_is_about_the_athlete_and_about_the_group_is_told_apart(coach: TestClient, gym, database) -> None:
    runa = athlete(coach)
    early = group(coach, runa)
    coach.post(f"/v1/athletes/{runa}/overrides", json=body(load=kilograms(90)))
    coach.post(f"/v1/groups/{early}/overrides", json=body(lift=None, load=None, rpe=8))
    caller = Caller(gym.id, "tests", "tests", "coach", None)
    with database.transaction(caller, datetime.now(UTC)) as tx:
        own, of_group = overrides.in_force(tx, runa, today())
    assert (own.group, own.lift, own.load.value, own.rpe) == (None, "squat", 90, None)
    assert (of_group.group, of_group.lift, of_group.load, of_group.rpe) == ("Early", None, None, 8)


def test_a_decision_for_a_group_ends_for_all_and_its_days_are_the_gyms(coach: TestClient) -> None:
    early = group(coach, runa := athlete(coach))
    path = f"/v1/groups/{early}/overrides"
    one = coach.post(path, json=body(**{"from": None})).json()
    assert one["from"] == str(today())
    listed = lambda day: coach.get(path, params={"on": str(day)}).json()["items"]  # noqa: E731
    assert [len(listed(today() + timedelta(days=d))) for d in (-1, 0, 10, 11)] == [0, 1, 1, 0]
    assert coach.delete(f"/v1/overrides/{one['id']}", headers={"If-Match": '"1"'}).status_code == 204
    assert (listed(today()), on(coach, runa)) == ([], [])
    assert len(coach.get(path).json()["items"]) == 1


def test_a_bound_key_sees_its_athletes_and_their_groups_decisions_and_no_others(coach: TestClient, gym) -> None:
    runa, odd = athlete(coach), athlete(coach, "Odd Hammer")
    hers = coach.post(f"/v1/groups/{group(coach, runa)}/overrides", json=body()).json()["id"]
    his = coach.post(f"/v1/groups/{group(coach, odd)}/overrides", json=body()).json()["id"]
    key = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": runa}).json()["key"]
    bound = TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})
    assert bound.get(f"/v1/overrides/{hers}").status_code == 200
    assert bound.get(f"/v1/overrides/{hers}/history").status_code == 200
    assert bound.get(f"/v1/overrides/{his}").status_code == 404
    of_group = {one: coach.get(f"/v1/overrides/{one}").json()["group"] for one in (hers, his)}
    assert [one["id"] for one in bound.get(f"/v1/groups/{of_group[hers]}/overrides").json()["items"]] == [hers]
    assert bound.get(f"/v1/groups/{of_group[his]}/overrides").status_code == 404
    assert bound.post(f"/v1/groups/{of_group[hers]}/overrides", json=body()).status_code == 403
    assert bound.get(f"/v1/overrides/{his}/history").status_code == 404
    assert bound.delete(f"/v1/overrides/{hers}", headers={"If-Match": "*"}).status_code == 403


def test_who_decided_what_and_when_stays_readable(coach: TestClient, gym) -> None:
    runa = athlete(coach)
    one = coach.post(f"/v1/athletes/{runa}/overrides", json=body()).json()
    here, other = f"/v1/overrides/{one['id']}", gym.client("owner")
    later = str(today() + timedelta(days=20))
    other.patch(here, json={"load": kilograms(110), "until": later}, headers={"If-Match": '"1"'})
    coach.delete(here, headers={"If-Match": '"2"'})
    ended, changed, first = coach.get(f"{here}/history").json()["items"]
    assert [(e["version"], e["what"], e["made_by"]) for e in (first, changed, ended)] == [
        (1, "set", "coach key"),
        (2, "changed", "owner key"),
        (3, "ended", "coach key"),
    ]
    assert [e["load"]["kg"] for e in (first, changed, ended)] == [100, 110, 110]
    assert [e["until"] for e in (first, changed)] == [one["until"], later]
    assert first["reason"] == "New belts"
    assert first["made_at"] <= changed["made_at"] <= ended["made_at"]
    page = coach.get(f"{here}/history", params={"limit": 2}).json()
    rest = coach.get(f"{here}/history", params={"limit": 2, "after": page["next_page"]}).json()
    assert [e["version"] for e in page["items"] + rest["items"]] == [3, 2, 1]


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"load": None}, {"#/load": "one_of"}),
        ({"rpe": 8}, {"#/rpe": "one_of"}),
        ({"load": None, "rpe": 8, "percent": 80}, {"#/percent": "one_of"}),
        ({"lift": None}, {"#/lift": "required"}),
        ({"load": None, "rpe": 3}, {"#/rpe": "out_of_range"}),
        ({"load": None, "percent": 0.8}, {"#/percent": "out_of_range"}),
        ({"kind": "no_singles"}, {"#/load": "unknown_member"}),
        ({"kind": "approval", "load": None, "lift": "no-such-lift"}, {"#/lift": "unknown"}),
        ({"kind": "exchange", "load": None, "lift": None, "to_lift": "box-squat"}, {"#/lift": "required"}),
    ],
)
def test_a_decision_that_says_too_much_or_too_little_is_refused(coach: TestClient, more: Any, wrong: Any) -> None:
    path = f"/v1/groups/{group(coach)}/overrides"
    assert pointers(coach.post(path, json=body(**more))) == wrong
    assert coach.get(path).json()["items"] == []


@pytest.mark.parametrize(
    ("more", "changes", "wrong"),
    [
        ({"load": None, "rpe": 8}, {"load": kilograms(90)}, {"#/load": "unfit"}),
        ({}, {"rpe": 8}, {"#/rpe": "unfit"}),
        ({"load": None, "kind": "approval"}, {"percent": 80}, {"#/percent": "unfit"}),
    ],
)
def test_a_cap_stays_of_the_kind_that_it_was_set_with(coach: TestClient, more: Any, changes: Any, wrong: Any) -> None:
    one = coach.post(f"/v1/groups/{group(coach)}/overrides", json=body(**more)).json()
    here = f"/v1/overrides/{one['id']}"
    assert pointers(coach.patch(here, json=changes, headers={"If-Match": '"1"'})) == wrong
    assert coach.get(here).json() == one


def test_a_cap_of_an_effort_or_a_percentage_is_changed(coach: TestClient) -> None:
    path = f"/v1/groups/{group(coach)}/overrides"
    for member, before, after in (("rpe", 8, 7.5), ("percent", 80, 82.5)):
        one = coach.post(path, json=body(**{"load": None, "lift": None, member: before})).json()
        changed = coach.patch(f"/v1/overrides/{one['id']}", json={member: after}, headers={"If-Match": '"1"'})
        assert (one[member], changed.json()[member], one["lift"]) == (before, after, None)


def test_a_repeat_with_the_same_key_stores_once(coach: TestClient) -> None:
    path = f"/v1/groups/{group(coach)}/overrides"
    sent: dict[str, Any] = {"json": body(), "headers": {"Idempotency-Key": "one-action"}}
    assert coach.post(path, **sent).content == coach.post(path, **sent).content
    assert len(coach.get(path).json()["items"]) == 1


def test_who_opens_a_session_while_a_coach_decides_for_the_group_obeys_it(coach: TestClient, gym, database) -> None:
    """Opening waits for the decision that is being made, and keeps what it says. 60 % of 100 is 60."""
    runa = athlete(coach, settings={"curve": "default"})
    max_ = {"lift": "squat", "kind": "tested", "load": kilograms(100), "date": "2026-01-10"}
    coach.post(f"/v1/athletes/{runa}/maxes", json=max_)
    asked = {
        "lift": "squat",
        "scheme": {"kind": "sets_at_target", "sets": 1},
        "target": {"kind": "percent", "reps": 5, "percent": 80, "basis": "tested"},
    }
    session = coach.post(f"/v1/athletes/{runa}/sessions", json={"kind": "free", "slots": [asked]}).json()["id"]
    early = group(coach, runa)
    values = {"kind": "cap", "percent": 60, "reason": "As said", "until": today() + timedelta(days=9)}
    caller = Caller(gym.id, "tests", "tests", "coach", None)
    opened: list[Any] = []
    phone = Thread(
        target=lambda: opened.append(gym.client("log").patch(f"/v1/sessions/{session}", json={"state": "open"}))
    )
    with database.transaction(caller, datetime.now(UTC)) as tx:
        decisions.add_group_override(tx, early, values=values)
        phone.start()
        phone.join(0.3)
        assert phone.is_alive()
    phone.join(10)
    (answer,) = opened
    assert answer.status_code == 200, answer.text
    assert answer.json()["slots"][0]["sets"][-1]["load"]["value"] == 60
