"""/v1/groups/{group}/session-changes: a group's day goes to another day or place in one call."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.counting import statements

KG = "kg"
BAR = [{"name": "bar", "load": {"value": 20, "unit": KG}}]
SQUATS = {
    "lift": "squat",
    "scheme": {"kind": "sets_at_target", "sets": 2},
    "target": {"kind": "percent", "reps": 5, "percent": 80, "basis": "tested"},
}


def athlete(coach: TestClient, name: str, **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": name, **more})
    assert made.status_code == 201, made.text
    return made.json()["id"]


def group(coach: TestClient, *members: str) -> str:
    made = coach.post("/v1/groups", json={"name": "Early"}).json()["id"]
    for one in members:
        coach.put(f"/v1/groups/{made}/athletes/{one}")
    return made


def place(coach: TestClient, name: str, plates: float) -> str:
    heavy = [{"load": {"value": value, "unit": KG}, "count": 20} for value in (20, 10, plates)]
    return coach.post("/v1/places", json={"name": name, "bars": BAR, "plates": heavy}).json()["id"]


def session(coach: TestClient, person: str, day: str = "2026-11-26", **more: Any) -> str:
    body = {"kind": "free", "date": day, "name": "Legs", "slots": [SQUATS], **more}
    made = coach.post(f"/v1/athletes/{person}/sessions", json=body)
    assert made.status_code == 201, made.text
    return made.json()["id"]


def state(coach: TestClient, one: str, word: str) -> None:
    assert coach.patch(f"/v1/sessions/{one}", json={"state": word}).status_code == 200


def change(coach: TestClient, of: str, **body: Any) -> dict[str, Any]:
    made = coach.post(f"/v1/groups/{of}/session-changes", json={"date": "2026-11-26", **body})
    assert made.status_code == 201, made.text
    return made.json()


def test_the_days_planned_sessions_move_and_each_athlete_is_listed_by_name(coach: TestClient) -> None:
    runa, odd, tuva = (athlete(coach, name) for name in ("Runa", "Odd", "Tuva"))
    hers, other_day = session(coach, runa), session(coach, runa, "2026-11-25")
    his = session(coach, odd)
    of = group(coach, runa, odd, tuva)
    found = change(coach, of, to_date="2026-11-27")
    assert found["changed"] == 2
    assert [(one["name"], one["session"], one["changed"], one["text"]) for one in found["items"]] == [
        ("Odd", his, ["date"], "“Legs”: moved to 27 November 2026."),
        ("Runa", hers, ["date"], "“Legs”: moved to 27 November 2026."),
        ("Tuva", None, [], "There is no session on 26 November 2026."),
    ]
    moved = coach.get(f"/v1/sessions/{hers}").json()
    assert (moved["date"], moved["version"]) == ("2026-11-27", found["items"][1]["version"])
    assert coach.get(f"/v1/sessions/{other_day}").json()["date"] == "2026-11-25"


def test_who_is_archived_or_in_no_group_stays(coach: TestClient) -> None:
    runa, odd = athlete(coach, "Runa"), athlete(coach, "Odd")
    gone, apart = session(coach, runa), session(coach, odd)
    of = group(coach, runa)
    coach.patch(f"/v1/athletes/{runa}", json={"archived": True}, headers={"If-Match": "*"})
    assert change(coach, of, to_date="2026-11-27") == {"group": of, "changed": 0, "items": []}
    assert {coach.get(f"/v1/sessions/{one}").json()["date"] for one in (gone, apart)} == {"2026-11-26"}


def test_open_sessions_follow_to_another_place_with_new_loads(coach: TestClient) -> None:
    """80 % of 122 is 97.6: by pairs of 5 kg on a bar of 20 that is 100, by pairs of 1 kg 98."""
    coarse, fine = place(coach, "Cellar", 5), place(coach, "Hall", 1)
    runa = athlete(coach, "Runa", place=coarse)
    max_ = {"lift": "squat", "kind": "tested", "load": {"value": 122, "unit": KG}, "date": "2026-10-01"}
    coach.post(f"/v1/athletes/{runa}/maxes", json=max_)
    opened, planned = session(coach, runa), session(coach, runa)
    state(coach, opened, "open")

    def loads(one: str) -> set[float]:
        sets = coach.get(f"/v1/sessions/{one}").json()["slots"][0]["sets"]
        return {each["load"]["value"] for each in sets if each["role"] == "target_set"}

    assert (loads(opened), loads(planned)) == ({100}, {100})
    of = group(coach, runa)
    found = change(coach, of, place=fine)
    assert [one["text"] for one in found["items"]] == ["“Legs”: now at Hall."] * 2
    assert (loads(opened), loads(planned)) == ({98}, {98})
    assert change(coach, of, place=fine)["changed"] == 0
    back = change(coach, of, place=None)
    assert (loads(opened), loads(planned)) == ({100}, {100})
    places = {one["session"]: one["place"] for one in back["items"]}
    assert places == {opened: coarse, planned: None}  # an open session has a place of its own


def test_an_open_session_that_would_move_stops_all_or_is_passed_over(coach: TestClient) -> None:
    runa, odd = athlete(coach, "Runa"), athlete(coach, "Odd")
    begun, planned = session(coach, runa), session(coach, odd)
    state(coach, begun, "open")
    of = group(coach, runa, odd)
    body = {"date": "2026-11-26", "to_date": "2026-11-27"}
    stopped = coach.post(f"/v1/groups/{of}/session-changes", json=body)
    assert stopped.status_code == 409
    assert "Runa" in stopped.json()["detail"]
    assert coach.get(f"/v1/sessions/{planned}").json()["date"] == "2026-11-26"
    found = change(coach, of, to_date="2026-11-27", on_fault="skip")
    assert {one["name"]: (one["changed"], one["text"]) for one in found["items"]} == {
        "Odd": (["date"], "“Legs”: moved to 27 November 2026."),
        "Runa": ([], "“Legs” is open: only a planned session can be moved."),
    }
    assert coach.get(f"/v1/sessions/{begun}").json()["date"] == "2026-11-26"


def test_what_is_over_stays_and_a_second_session_of_a_day_is_told(coach: TestClient) -> None:
    runa, odd = athlete(coach, "Runa"), athlete(coach, "Odd")
    skipped, _ = session(coach, runa), session(coach, odd)
    session(coach, odd, "2026-11-27")
    state(coach, skipped, "skipped")
    found = change(coach, group(coach, runa, odd), to_date="2026-11-27")
    assert {one["name"]: one["text"] for one in found["items"]} == {
        "Odd": "“Legs”: moved to 27 November 2026, where another session stands already.",
        "Runa": "“Legs” is skipped: it stays as it is.",
    }


def test_two_sessions_of_one_day_that_move_together_are_told_and_a_skipped_one_takes_no_day(coach: TestClient) -> None:
    runa, odd = athlete(coach, "Runa"), athlete(coach, "Odd")
    session(coach, runa)
    session(coach, runa, name="Arms")
    session(coach, odd)
    state(coach, session(coach, odd, "2026-11-27"), "skipped")
    found = change(coach, group(coach, runa, odd), to_date="2026-11-27")
    assert sorted(one["text"] for one in found["items"]) == [
        "“Arms”: moved to 27 November 2026, where another session stands already.",
        "“Legs”: moved to 27 November 2026, where another session stands already.",
        "“Legs”: moved to 27 November 2026.",
    ]


def test_a_day_to_come_is_not_moved_into_the_past_nor_far_away(coach: TestClient) -> None:
    """The clock is the real one: today is told by the zone that the gym counts in, or is a day beside it."""
    today = datetime.now(UTC).date()
    soon = today + timedelta(days=7)
    runa = athlete(coach, "Runa")
    one = session(coach, runa, str(soon))
    path = f"/v1/groups/{group(coach, runa)}/session-changes"

    def moved(to: date) -> Any:
        return coach.post(path, json={"date": str(soon), "to_date": str(to)})

    for to, said in (
        (today - timedelta(days=365), f"must be from {soon - timedelta(days=60)} to {soon + timedelta(days=60)}"),
        (soon + timedelta(days=61), f"must be from {soon - timedelta(days=60)} to {soon + timedelta(days=60)}"),
        (today - timedelta(days=2), "planned sessions are not moved back into the past"),
    ):
        refused = moved(to)
        assert refused.status_code == 422, refused.text
        (fault,) = refused.json()["errors"]
        assert fault["pointer"] == "#/to_date"
        assert said in fault["detail"]
        assert coach.get(f"/v1/sessions/{one}").json()["date"] == str(soon)
    assert moved(today + timedelta(days=2)).json()["changed"] == 1


def test_a_coach_moves_no_planned_session_far_into_the_past(coach: TestClient) -> None:
    today = datetime.now(UTC).date()
    one = f"/v1/sessions/{session(coach, athlete(coach, 'Runa'), str(today + timedelta(days=7)))}"
    refused = coach.patch(one, json={"date": str(today - timedelta(days=365))})
    assert refused.status_code == 422, refused.text
    assert refused.json()["errors"][0]["pointer"] == "#/date"
    assert coach.patch(one, json={"date": str(today - timedelta(days=55))}).status_code == 200, (
        "what was done is entered"
    )


def test_many_athletes_take_as_many_statements_as_one(coach: TestClient, database) -> None:
    few, many = [athlete(coach, "One")], [athlete(coach, f"Athlete {n}") for n in range(12)]
    spent = []
    for people in (few, many):
        for one in people:
            session(coach, one)
        of = group(coach, *people)
        with statements(database) as seen:
            assert change(coach, of, to_date="2026-11-27")["changed"] == len(people)
        spent.append(len(seen))
    assert spent[0] == spent[1]


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, {"#/to_date": "one_of"}),
        ({"to_date": "soon"}, {"#/to_date": "not_a_day"}),
        ({"place": "ref:nowhere"}, {"#/place": "unknown"}),
        ({"to_date": "2026-11-27", "on_fault": "ask"}, {"#/on_fault": "not_one_of"}),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_changed(coach: TestClient, body: Any, wrong: Any) -> None:
    runa = athlete(coach, "Runa")
    one = session(coach, runa)
    before = coach.get(f"/v1/sessions/{one}").json()["version"]
    answer = coach.post(f"/v1/groups/{group(coach, runa)}/session-changes", json={"date": "2026-11-26", **body})
    assert answer.status_code == 422, answer.text
    assert {each["pointer"]: each["code"] for each in answer.json()["errors"]} == wrong
    assert coach.get(f"/v1/sessions/{one}").json()["version"] == before


def test_a_repeat_with_the_same_key_changes_once(coach: TestClient) -> None:
    runa = athlete(coach, "Runa")
    one, of = session(coach, runa), group(coach, runa)
    sent: dict[str, Any] = {
        "json": {"date": "2026-11-26", "to_date": "2026-11-27"},
        "headers": {"Idempotency-Key": "once"},
    }
    path = f"/v1/groups/{of}/session-changes"
    assert coach.post(path, **sent).content == coach.post(path, **sent).content
    assert coach.get(f"/v1/sessions/{one}").json()["version"] == 2
