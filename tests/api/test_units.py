"""`?unit=` on reads: loads in the other unit, and nothing stored changes.

By hand, with 1 lb = 0.45359237 kg: 127.5 kg / 0.45359237 = 281.089 lb; 150 kg = 330.693 lb; 82 kg = 180.779 lb. A load
that hangs whole only in kilograms keeps them, and its sentence says the pounds beside them.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from sqlalchemy import text
from starlette.testclient import TestClient

from service.store.session import Caller, Database
from tests.api.plans_at_hand import athlete, block, log_top_set
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.lifting import TOP_SET, add_athlete, add_max, add_session, done, kg


def reasons(slot: dict[str, Any], formula: str) -> list[dict[str, Any]]:
    """The reasons of a slot's top set of one formula."""
    top = next(one for one in slot["sets"] if one["role"] == "top_set")
    return [step for step in top["why"] if step["formula"] == formula]


def masses(session: dict[str, Any]) -> list[list[float | None]]:
    """What is on the bar in each set of each slot, in kilograms."""
    return [[one["load"] and one["load"]["kg"] for one in slot["sets"]] for slot in session["slots"]]


def stored(database: Database, gym: GymAtHand, session: str) -> list[Any]:
    """All that is kept of a session: what was prescribed, and what was logged."""
    found = []
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        for table in ("prescriptions", "sets", "sessions"):
            of = "id" if table == "sessions" else "session_id"
            query = f"SELECT CAST(to_json(t) AS text) FROM {table} t WHERE {of} = CAST(:session AS uuid) ORDER BY t.id"
            found += tx.execute(text(query), {"session": session}).scalars().all()
    return found


@pytest.fixture
def laid(coach: TestClient) -> dict[str, Any]:
    """A block for an athlete who reads kilograms, with a tested squat of 150 kg."""
    return block(coach)


def test_a_planned_session_speaks_pounds_and_keeps_its_bars(coach: TestClient, laid: dict[str, Any]) -> None:
    path = f"/v1/sessions/{laid['sessions'][0]['id']}"
    own, pounds = coach.get(path).json(), coach.get(path, params={"unit": "lb"}).json()
    assert masses(own) == masses(pounds)
    assert reasons(own["slots"][0], "share_of_max")[0]["inputs"][0] == {"name": "max", "value": 150, "unit": "kg"}
    known = reasons(pounds["slots"][0], "share_of_max")[0]["inputs"][0]
    assert known == {"name": "max", "value": 330.693, "unit": "lb"}
    top = next(one for one in pounds["slots"][0]["sets"] if one["role"] == "top_set")
    assert "127.5 kg (281.1 lb)" in top["text"]
    assert coach.get(path, params={"unit": "kg"}).json()["slots"] == own["slots"]


def test_an_opened_session_is_told_in_pounds_and_what_is_stored_stays(
    coach: TestClient, laid: dict[str, Any], database: Database, gym: GymAtHand
) -> None:
    path = f"/v1/sessions/{laid['sessions'][0]['id']}"
    log_top_set(coach, coach.get(path).json())
    before = stored(database, gym, laid["sessions"][0]["id"])
    assert len(before) >= 3
    own, pounds = coach.get(path).json(), coach.get(path, params={"unit": "lb"}).json()
    assert masses(own) == masses(pounds)
    assert reasons(pounds["slots"][0], "share_of_max")[0]["inputs"][0]["value"] == 330.693
    assert own["slots"][0]["logged"][0]["load"] == {"value": 127.5, "unit": "kg", "kg": 127.5}
    assert pounds["slots"][0]["logged"][0]["load"] == {"value": 281.089, "unit": "lb", "kg": 127.5}
    assert coach.get(path, params={"unit": "kg"}).json() == own
    assert coach.get(path, params={"unit": "lb", "why": "false"}).json()["slots"][0]["sets"][0]["why"] == []
    assert stored(database, gym, laid["sessions"][0]["id"]) == before


def test_a_slot_that_was_worked_on_is_told_from_the_max_that_it_stood_on(
    coach: TestClient, laid: dict[str, Any]
) -> None:
    path = f"/v1/sessions/{laid['sessions'][0]['id']}"
    log_top_set(coach, coach.get(path).json())
    entered = {"lift": "squat", "kind": "tested", "load": kg(180), "date": "2026-11-20"}
    assert coach.post(f"/v1/athletes/{laid['athlete']}/maxes", json=entered).status_code == 201
    own, pounds = coach.get(path).json(), coach.get(path, params={"unit": "lb"}).json()
    assert reasons(own["slots"][0], "share_of_max")[0]["inputs"][0]["value"] == 150
    assert reasons(pounds["slots"][0], "share_of_max")[0]["inputs"][0]["value"] == 330.693
    assert masses(own) == masses(pounds)


def test_a_session_kept_in_pounds_is_read_in_kilograms_and_back(coach: TestClient) -> None:
    person = athlete(coach, "Odd Hammer", unit="lb")
    path = f"/v1/sessions/{block(coach, person)['sessions'][0]['id']}"
    assert coach.patch(path, json={"state": "open"}).status_code == 200
    own, kilograms = coach.get(path).json(), coach.get(path, params={"unit": "kg"}).json()
    # plates of the usual kit for pounds: they hang whole in pounds only
    assert masses(own) == masses(kilograms)
    assert reasons(own["slots"][0], "share_of_max")[0]["inputs"][0]["unit"] == "lb"
    known = reasons(kilograms["slots"][0], "share_of_max")[0]["inputs"][0]
    assert known == {"name": "max", "value": 150, "unit": "kg"}
    assert coach.get(path, params={"unit": "lb"}).json() == own


def test_assistance_of_an_opened_session_stays_the_one_that_was_prescribed(
    coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    """By hand assistance goes in steps of 2.5 kg, or of 5 lb: told anew it would be another one."""
    person = add_athlete(coach)
    assert coach.put(f"/v1/athletes/{person}/body-weights/2026-01-10", json={"load": kg(80)}).status_code in (200, 201)
    add_max(coach, person, "pull-up", -20)
    slot = {
        "lift": "pull-up",
        "scheme": {"kind": "sets_at_target", "sets": 3},
        "target": {"kind": "effort", "reps": 5, "rpe": 8},
    }
    path = f"/v1/sessions/{add_session(database, gym.id, person, slot).id}"
    assert coach.patch(path, json={"state": "open"}).status_code == 200
    own, pounds = coach.get(path).json(), coach.get(path, params={"unit": "lb"}).json()
    assert all(one is not None and one < 0 and one % 2.5 == 0 for one in masses(own)[0])
    assert pounds["slots"][0]["sets"] == own["slots"][0]["sets"]


def test_the_last_time_is_told_in_pounds(coach: TestClient, laid: dict[str, Any]) -> None:
    log_top_set(coach, coach.get(f"/v1/sessions/{laid['sessions'][0]['id']}").json())
    path = f"/v1/sessions/{laid['sessions'][2]['id']}"
    last = coach.get(path, params={"unit": "lb"}).json()["slots"][0]["last_time"]
    assert last["sets"][0]["load"] == {"value": 281.089, "unit": "lb", "kg": 127.5}


def test_the_board_of_a_day_speaks_pounds(coach: TestClient, laid: dict[str, Any]) -> None:
    today = f"/v1/athletes/{laid['athlete']}/today"
    session = f"/v1/sessions/{laid['sessions'][0]['id']}"
    for opened in (False, True):
        if opened:
            log_top_set(coach, coach.get(session).json())
        query = {"on": "2026-11-25", "format": "text"}
        own = coach.get(today, params=query).text
        board = coach.get(today, params={**query, "unit": "lb"}).text
        assert "max 150 kg" in own
        assert " lb" not in own
        assert "max 330.7 lb" in board
        assert "281.1 lb" in board
        assert board == coach.get(session, params={"format": "text", "unit": "lb"}).text
        assert ("281.089 lb" in board) is opened  # what was logged
        shown = coach.get(today, params={"on": "2026-11-25", "unit": "lb"}).json()["sessions"][0]
        assert shown["slots"] == coach.get(session, params={"unit": "lb"}).json()["slots"]


def test_the_next_set_is_told_in_pounds_before_and_after_a_set(
    coach: TestClient, laid: dict[str, Any], database: Database, gym: GymAtHand
) -> None:
    session = f"/v1/sessions/{laid['sessions'][0]['id']}"
    slot = coach.get(session).json()["slots"][0]["id"]
    # the bar of 20 kg is 44.1 lb; 8 % off 127.5 kg is 117.3, hung as 117.5 kg, which is 259 lb
    for opened, said in ((False, "20 kg, 44.1 lb"), (True, "117.5 kg (259 lb)")):
        if opened:
            log_top_set(coach, coach.get(session).json())
        before = stored(database, gym, laid["sessions"][0]["id"])
        own = coach.get(f"{session}/next", params={"slot": slot}).json()
        pounds = coach.get(f"{session}/next", params={"slot": slot, "unit": "lb"}).json()
        assert own["load"] == pounds["load"]  # kilogram plates hang whole in kilograms only
        assert " lb" not in own["text"]
        assert said in pounds["text"]
        assert coach.get(f"{session}/next", params={"slot": slot, "unit": "kg"}).json() == own
        assert stored(database, gym, laid["sessions"][0]["id"]) == before


def test_sets_are_listed_and_read_in_pounds(coach: TestClient, laid: dict[str, Any]) -> None:
    session = laid["sessions"][0]["id"]
    log_top_set(coach, coach.get(f"/v1/sessions/{session}").json())
    free = done(lift="squat", load={"value": 225, "unit": "lb"}, at="2026-11-24T10:00:00+01:00")
    assert coach.post(f"/v1/athletes/{laid['athlete']}/sets", json=free).status_code == 201
    step = done(lift="leg-press", load={"value": 7, "unit": "step"}, at="2026-11-23T10:00:00+01:00")
    assert coach.post(f"/v1/athletes/{laid['athlete']}/sets", json=step).status_code == 201
    own = coach.get(f"/v1/athletes/{laid['athlete']}/sets").json()["items"]
    pounds = coach.get(f"/v1/athletes/{laid['athlete']}/sets", params={"unit": "lb"}).json()["items"]
    logged = {"value": 281.089, "unit": "lb", "kg": 127.5}
    assert pounds == [own[0] | {"load": logged}, own[1], own[2]]
    of_session = coach.get(f"/v1/sessions/{session}/sets", params={"unit": "lb"}).json()["items"]
    assert of_session == [pounds[0]]
    one = coach.get(f"/v1/sets/{own[0]['id']}", params={"unit": "lb"})
    assert (one.json(), one.headers["etag"]) == (pounds[0], '"1.lb"')
    back = coach.get(f"/v1/sets/{own[1]['id']}", params={"unit": "kg"}).json()
    # 225 lb * 0.45359237 = 102.058 kg
    assert back["load"] == {"value": 102.058, "unit": "kg", "kg": 102.058}
    assert coach.get(f"/v1/sets/{own[0]['id']}").json() == own[0]


def test_a_page_of_sets_leads_on_in_the_same_unit(coach: TestClient) -> None:
    person = add_athlete(coach)
    for hour in (10, 11, 12):
        sent = done(lift="squat", load=kg(127.5), at=f"2026-11-24T{hour}:00:00+01:00")
        assert coach.post(f"/v1/athletes/{person}/sets", json=sent).status_code == 201
    first = coach.get(f"/v1/athletes/{person}/sets", params={"unit": "lb", "limit": 2})
    link = first.headers["link"].split(">")[0].removeprefix("<")
    (last,) = coach.get(link).json()["items"]
    assert last["load"]["unit"] == "lb"
    assert last["id"] not in [one["id"] for one in first.json()["items"]]


def test_maxes_and_body_weights_are_told_in_pounds(coach: TestClient, laid: dict[str, Any]) -> None:
    person = laid["athlete"]
    assert coach.put(f"/v1/athletes/{person}/body-weights/2026-11-20", json={"load": kg(82)}).status_code == 201
    path = f"/v1/athletes/{person}/maxes"
    (own,) = coach.get(path, params={"lift": "squat"}).json()["items"]
    (pounds,) = coach.get(path, params={"lift": "squat", "unit": "lb"}).json()["items"]
    assert pounds == own | {"load": {"value": 330.693, "unit": "lb", "kg": 150}}
    assert coach.get(f"/v1/maxes/{own['id']}", params={"unit": "lb"}).json() == pounds
    weights = coach.get(f"/v1/athletes/{person}/body-weights", params={"unit": "lb"}).json()["items"]
    assert weights == [{"date": "2026-11-20", "load": {"value": 180.779, "unit": "lb", "kg": 82}}]
    again = coach.get(f"/v1/athletes/{person}/body-weights").json()["items"]
    assert again[0]["load"] == {"value": 82, "unit": "kg", "kg": 82}
    assert coach.get(path, params={"lift": "squat"}).json()["items"] == [own]


def test_a_coachs_decisions_are_told_in_pounds(coach: TestClient, laid: dict[str, Any]) -> None:
    path = f"/v1/athletes/{laid['athlete']}/overrides"
    days = {"from": "2026-11-20", "until": "2026-11-30", "reason": "A stiff back"}
    cap = {"kind": "cap", "lift": "squat", "load": kg(127.5), **days}
    out = {"kind": "leave_out", "lift": "plank", **days}
    for body in (cap, out):
        assert coach.post(path, json=body).status_code == 201
    own = coach.get(path).json()["items"]
    told = {"value": 281.089, "unit": "lb", "kg": 127.5}
    pounds = [one | {"load": one["load"] and told} for one in own]
    assert coach.get(path, params={"unit": "lb"}).json()["items"] == pounds
    one = coach.get(f"/v1/overrides/{own[0]['id']}", params={"unit": "lb"})
    assert (one.json(), one.headers["etag"]) == (pounds[0], '"1.lb"')
    assert coach.get(path).json()["items"] == own


def test_the_tag_of_the_other_unit_is_another_one_and_names_the_same_version(
    coach: TestClient, laid: dict[str, Any]
) -> None:
    session = f"/v1/sessions/{laid['sessions'][0]['id']}"
    log_top_set(coach, coach.get(session).json())
    one = f"/v1/sets/{coach.get(f'{session}/sets').json()['items'][0]['id']}"
    today = f"/v1/athletes/{laid['athlete']}/today?on=2026-11-25"
    for path in (session, one, today):
        own, pounds = coach.get(path), coach.get(path, params={"unit": "lb"})
        tag = pounds.headers["etag"]
        assert own.headers["etag"] != tag
        assert coach.get(path, params={"unit": "lb"}, headers={"If-None-Match": tag}).status_code == 304
        assert coach.get(path, headers={"If-None-Match": tag}).status_code == 200
    tag = coach.get(one, params={"unit": "lb"}).headers["etag"]
    assert coach.patch(one, json={"rpe": 9}, headers={"If-Match": tag}).status_code == 200
    assert coach.patch(one, json={"rpe": 8}, headers={"If-Match": tag}).status_code == 412
    assert coach.get(one).json()["load"] == {"value": 127.5, "unit": "kg", "kg": 127.5}
    tag = coach.get(session, params={"unit": "lb"}).headers["etag"]
    assert coach.patch(session, json={"minutes": 60}, headers={"If-Match": tag}).status_code == 200
    assert coach.patch(session, json={"minutes": 61}, headers={"If-Match": tag}).status_code == 412


def test_a_unit_that_is_not_one_is_refused(coach: TestClient, laid: dict[str, Any]) -> None:
    session, person = f"/v1/sessions/{laid['sessions'][0]['id']}", f"/v1/athletes/{laid['athlete']}"
    log_top_set(coach, coach.get(session).json())
    one = coach.get(f"{session}/sets").json()["items"][0]["id"]
    known = coach.get(f"{person}/maxes").json()["items"][0]["id"]
    paths = [session, f"{session}/next", f"{session}/sets", f"{person}/today", f"{person}/sets", f"{person}/maxes"]
    for path in (*paths, f"{person}/overrides", f"{person}/body-weights", f"/v1/sets/{one}", f"/v1/maxes/{known}"):
        refused = coach.get(path, params={"unit": "stone"})
        assert refused.status_code == 422, path
        assert refused.json()["errors"][0]["parameter"] == "unit"


def test_another_gyms_session_is_not_there_in_any_unit(
    coach: TestClient, other_gym: GymAtHand, laid: dict[str, Any]
) -> None:
    session = f"/v1/sessions/{laid['sessions'][0]['id']}"
    log_top_set(coach, coach.get(session).json())
    for path in (session, f"{session}/next", f"{session}/sets"):
        assert other_gym.client("coach").get(path, params={"unit": "lb"}).status_code == 404


def test_a_reading_without_a_unit_costs_what_it_did_and_one_with_it_a_statement_more(
    coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    person = add_athlete(coach)
    add_max(coach, person)
    path = f"/v1/sessions/{add_session(database, gym.id, person, TOP_SET).id}"
    assert coach.patch(path, json={"state": "open"}).status_code == 200
    coach.get(path)  # the key is known now
    with statements(database) as plain:
        coach.get(path)
    with statements(database) as told:
        coach.get(path, params={"unit": "lb"})
    assert len(plain) == 3
    assert len(told) == 4
