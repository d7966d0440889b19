"""A block goes on after missed sessions, over HTTP."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store.session import Database
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.lifting import add_athlete, add_max, done, kg

SQUAT = {
    "lift": "squat",
    "scheme": {"kind": "top_set", "back_off": {"sets": 3, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 8},
}
PRESS = {
    "lift": "bench-press",
    "scheme": {"kind": "sets_at_target", "sets": 4},
    "target": {"kind": "effort", "reps": 5, "rpe": 7},
}
CURL = {
    "lift": "dumbbell-curl",
    "accessory": True,
    "scheme": {"kind": "sets_at_target", "sets": 2},
    "target": {"kind": "effort", "reps": 10, "rir": 2},
}
TWO_DAYS = {
    "name": "Two days",
    "weeks": [{"sessions": [{"name": "Legs", "slots": [SQUAT, CURL]}, {"name": "Push", "slots": [PRESS, CURL]}]}] * 3,
}
# Monday 2 March 2026 to Thursday 19 March
LIGHT = {"light_before": [{"date": "2026-03-21", "days": 2, "must": True}]}
ALL = ["2026-03-02", "2026-03-05", "2026-03-09", "2026-03-12", "2026-03-16", "2026-03-19"]


@pytest.fixture
def block(coach: TestClient) -> dict[str, Any]:
    """Three weeks of legs on Monday and push on Thursday; the first week is trained."""
    athlete = add_athlete(coach)
    add_max(coach, athlete)
    add_max(coach, athlete, lift="bench-press", value=100)
    template = coach.post("/v1/templates", json=TWO_DAYS).json()["id"]
    order = {"template": template, "athletes": [athlete], "start": "2026-03-02", "weekdays": ["monday", "thursday"]}
    made = coach.post("/v1/blocks", json=order)
    assert made.status_code == 201, made.text
    found: dict[str, Any] = made.json()["items"][0]["block"]
    assert [one["date"] for one in found["sessions"]] == ALL
    for one in found["sessions"][:2]:
        path = f"/v1/sessions/{one['id']}"
        slot = coach.get(path).json()["slots"][0]["id"]
        moment = f"{one['date']}T18:00:00+01:00"
        logged = coach.post(f"{path}/sets", json=done(slot, load=kg(60), rpe=6, at=moment))
        assert logged.status_code == 201, logged.text
        coach.patch(path, json={"state": "finished"})
    return found


def ways(coach: TestClient, block: dict[str, Any], on: str) -> dict[str, Any]:
    """The ways to go on as of a day, by kind."""
    answer = coach.get(f"/v1/blocks/{block['id']}/replans?on={on}")
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body | {one["kind"]: one for one in body["items"]}


def days(coach: TestClient, block: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Date, name and state of the block's sessions."""
    items = coach.get(f"/v1/blocks/{block['id']}/sessions").json()["items"]
    return [(one["date"], one["name"], one["state"]) for one in items]


def choose(coach: TestClient, block: dict[str, Any], kind: str, on: str, **headers: str) -> Any:
    """Carry a way out."""
    sent = {"If-Match": '"1"', **headers}
    return coach.post(f"/v1/blocks/{block['id']}/replans?on={on}", json={"kind": kind}, headers=sent)


def test_nothing_is_proposed_for_a_block_that_goes_as_planned(coach: TestClient, block: dict[str, Any]) -> None:
    assert ways(coach, block, "2026-03-09")["items"] == []
    refused = choose(coach, block, "shift", "2026-03-09")
    assert refused.status_code == 422
    assert "No planned session" in refused.json()["detail"]


def test_the_ways_are_told_with_what_they_change(coach: TestClient, block: dict[str, Any]) -> None:
    found = ways(coach, block, "2026-03-13")  # Friday after a missed week
    assert (found["missed"], found["on"]) == (2, "2026-03-13")
    # nobody was away for two weeks; the press and the squat fit into each other's day
    assert [one["kind"] for one in found["items"]] == ["drop", "merge", "shift"]
    assert found["drop"]["effect"]["left_out"] == 2
    assert found["drop"]["effect"]["ends_on"] == "2026-03-19"
    shifted = found["shift"]
    assert [one["date"] for one in shifted["changes"]] == ["2026-03-16", "2026-03-19", "2026-03-23", "2026-03-26"]
    assert shifted["effect"]["ends_on"] == "2026-03-26"
    assert "7 days later than planned" in shifted["text"]


def test_shifted_by_one_call_all_follow_and_what_was_done_stays(coach: TestClient, block: dict[str, Any]) -> None:
    before = days(coach, block)
    answer = choose(coach, block, "shift", "2026-03-13")
    assert answer.status_code == 201, answer.text
    assert (answer.json()["version"], answer.json()["replan"]["kind"]) == (2, "shift")
    assert days(coach, block) == [
        *before[:2],
        ("2026-03-16", "Legs", "planned"),
        ("2026-03-19", "Push", "planned"),
        ("2026-03-23", "Legs", "planned"),
        ("2026-03-26", "Push", "planned"),
    ]
    assert ways(coach, block, "2026-03-13")["items"] == []


def test_left_out_the_missed_are_skipped(coach: TestClient, block: dict[str, Any]) -> None:
    assert choose(coach, block, "drop", "2026-03-13").status_code == 201
    assert [state for _, _, state in days(coach, block)] == [
        "finished", "finished", "skipped", "skipped", "planned", "planned",
    ]  # fmt: skip


def test_merged_the_next_session_takes_the_main_work_over_before_its_accessories(
    coach: TestClient, block: dict[str, Any]
) -> None:
    # only the push of the second week was missed: its press goes into the legs of Monday
    legs = f"/v1/sessions/{block['sessions'][2]['id']}"
    slot = coach.get(legs).json()["slots"][0]["id"]
    coach.post(f"{legs}/sets", json=done(slot, load=kg(60), rpe=6, at="2026-03-09T18:00:00+01:00"))
    assert choose(coach, block, "merge", "2026-03-13").status_code == 201
    monday = coach.get(f"/v1/sessions/{block['sessions'][4]['id']}").json()
    assert [one["lift"] for one in monday["slots"]] == ["squat", "bench-press", "dumbbell-curl"]
    taken = monday["slots"][1]
    assert len([one for one in taken["sets"] if one["role"] == "target_set"]) == 2, "half of four sets"
    assert taken["note"] == "Taken over from Push"


def test_a_week_done_again_adds_what_was_done_of_it(coach: TestClient, block: dict[str, Any]) -> None:
    legs = f"/v1/sessions/{block['sessions'][2]['id']}"
    slot = coach.get(legs).json()["slots"][0]["id"]
    coach.post(f"{legs}/sets", json=done(slot, load=kg(60), rpe=6, at="2026-03-09T18:00:00+01:00"))
    answer = choose(coach, block, "repeat", "2026-03-13")
    assert answer.status_code == 201, answer.text
    again = days(coach, block)
    assert again[2][:2] == ("2026-03-09", "Legs"), "what was trained stays"
    assert [one[:2] for one in again[3:]] == [
        ("2026-03-16", "Legs"),
        ("2026-03-19", "Push"),
        ("2026-03-23", "Legs"),
        ("2026-03-26", "Push"),
    ]
    further = next(one for one in answer.json()["replan"]["changes"] if one["what"] == "further")
    assert [one["lift"] for one in coach.get(f"/v1/sessions/{further['session']}").json()["slots"]] == [
        "squat", "dumbbell-curl",
    ]  # fmt: skip


def test_two_editors_a_repeated_call_and_rights(coach: TestClient, block: dict[str, Any], gym: GymAtHand) -> None:
    path = f"/v1/blocks/{block['id']}/replans?on=2026-03-13"
    assert coach.post(path, json={"kind": "drop"}).status_code == 428
    assert coach.post(path, json={"kind": "drop"}, headers={"If-Match": '"7"'}).status_code == 412
    assert coach.post(path, json={"kind": "vanish"}, headers={"If-Match": '"1"'}).status_code == 422
    first = choose(coach, block, "drop", "2026-03-13", **{"Idempotency-Key": "once"})
    again = choose(coach, block, "drop", "2026-03-13", **{"Idempotency-Key": "once"})
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.content == first.content
    assert again.headers["idempotent-replayed"] == "true"
    own = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": block["athlete"]})
    phone = TestClient(coach.app, headers={"Authorization": f"Bearer {own.json()['key']}"})
    assert phone.get(path).status_code == 200, "a lifter sees the ways"
    assert phone.post(path, json={"kind": "drop"}, headers={"If-Match": '"2"'}).status_code == 403


def test_a_missed_week_of_a_whole_group_is_shifted_in_one_call(coach: TestClient, block: dict[str, Any]) -> None:
    group = coach.post("/v1/groups", json={"name": "Evening"}).json()["id"]
    early = add_athlete(coach, name="Early")
    for athlete in (block["athlete"], early):
        coach.put(f"/v1/groups/{group}/athletes/{athlete}")
    template = coach.get(f"/v1/blocks/{block['id']}").json()["template"]
    order = {"template": template, "athletes": [early], "start": "2026-03-16", "weekdays": ["monday", "thursday"]}
    assert coach.post("/v1/blocks", json=order).status_code == 201, "somebody who has missed nothing yet"
    path = f"/v1/groups/{group}/replans?on=2026-03-13"
    tried = coach.post(f"{path}&dry_run=true", json={"kind": "shift"})
    assert tried.status_code == 200, tried.text
    before = days(coach, block)
    done_ = coach.post(path, json={"kind": "shift"}, headers={"Idempotency-Key": "week"})
    assert done_.status_code == 201, done_.text
    (one,) = done_.json()["items"]
    assert (one["name"], one["block"], one["problem"], one["version"]) == ("Mira", block["id"], None, 2)
    assert one["replan"]["effect"]["ends_on"] == "2026-03-26"
    assert tried.json()["items"][0]["replan"]["effect"] == one["replan"]["effect"]
    assert before != days(coach, block)
    assert coach.post(path, json={"kind": "shift"}, headers={"Idempotency-Key": "week"}).content == done_.content
    assert coach.post(path, json={"kind": "shift"}).json()["items"] == [], "nothing is missed any more"


def test_a_way_that_does_not_fit_somebody_is_told_and_the_block_stays(coach: TestClient, block: dict[str, Any]) -> None:
    group = coach.post("/v1/groups", json={"name": "Evening"}).json()["id"]
    coach.put(f"/v1/groups/{group}/athletes/{block['athlete']}")
    before = days(coach, block)
    answer = coach.post(f"/v1/groups/{group}/replans?on=2026-03-13", json={"kind": "return"})
    assert answer.status_code == 201
    (one,) = answer.json()["items"]
    assert one["replan"] is None
    assert "Nobody was away for long enough" in one["problem"]
    assert days(coach, block) == before


def test_a_day_on_the_way_is_not_what_a_block_leads_to(coach: TestClient) -> None:
    template = coach.post("/v1/templates", json=TWO_DAYS).json()["id"]
    order = {"template": template, "start": "2026-03-02", "weekdays": ["monday", "thursday"]}
    for light, cautions in (
        ("2026-03-14", ()),  # a Saturday between the second week and the last
        ("2026-03-21", ("The block was laid out towards 21 March 2026: it would end 2 days after that.",)),
    ):
        wishes = {"light_before": [{"date": light, "days": 1}]}
        made = coach.post("/v1/blocks", json={**order, "athletes": [add_athlete(coach)], "wishes": wishes})
        assert made.status_code == 201, made.text
        # The first session is missed: all six follow from Thursday 5 March on, so that the last is on Monday the 23rd.
        shift = ways(coach, made.json()["items"][0]["block"], "2026-03-03")["shift"]
        assert (shift["effect"]["ends_on"], tuple(shift["cautions"])) == ("2026-03-23", cautions)


def test_missed_heavy_work_is_not_merged_into_the_days_before_a_meet(coach: TestClient) -> None:
    # To Saturday 21 March, nothing heavy on the two days before: the press of Thursday 19 at RPE 7 is not, squats at
    # RPE 8 are. On Tuesday the 17th the squat of the day before was missed, and Thursday is all that is to come.
    template = coach.post("/v1/templates", json=TWO_DAYS).json()["id"]
    order = {"template": template, "end": "2026-03-21", "weekdays": ["monday", "thursday"]}
    for wishes, kinds in (({}, ["drop", "merge", "shift"]), (LIGHT, ["drop", "shift"])):
        made = coach.post("/v1/blocks", json={**order, "athletes": [add_athlete(coach)], "wishes": wishes})
        assert made.status_code == 201, made.text
        block = made.json()["items"][0]["block"]
        assert [one["date"] for one in block["sessions"]] == ALL
        for one in block["sessions"][:4]:
            assert coach.patch(f"/v1/sessions/{one['id']}", json={"state": "skipped"}).status_code == 200
        assert [one["kind"] for one in ways(coach, block, "2026-03-17")["items"]] == kinds


def test_a_group_of_many_is_looked_through_in_as_many_statements_as_one_of_two(
    coach: TestClient, database: Database
) -> None:
    template = coach.post("/v1/templates", json=TWO_DAYS).json()["id"]
    group = coach.post("/v1/groups", json={"name": "Evening"}).json()["id"]
    counts = []
    for more in (2, 6):
        athletes = [add_athlete(coach) for _ in range(more)]
        order = {"template": template, "athletes": athletes, "start": "2026-03-02", "weekdays": ["monday", "thursday"]}
        assert coach.post("/v1/blocks", json=order).status_code == 201
        for athlete in athletes:
            coach.put(f"/v1/groups/{group}/athletes/{athlete}")
        with statements(database) as seen:
            told = coach.post(
                f"/v1/groups/{group}/replans?on=2026-03-13&dry_run=true",
                json={"kind": "shift"},
                headers={"Idempotency-Key": f"{more}"},
            )
        counts.append(len(seen))
    assert [one["problem"] for one in told.json()["items"]] == [None] * 8
    assert counts[0] == counts[1]


def test_a_block_is_dated_around_a_planned_absence_before_it_begins(coach: TestClient, block: dict[str, Any]) -> None:
    # On Friday 6 March all goes as planned. Away from Tuesday 10 to Tuesday 17 March: the push of Thursday 12 and the
    # legs of Monday 16 lie in it.
    assert ways(coach, block, "2026-03-06")["missed"] == 0
    absence = {"kind": "holiday", "from": "2026-03-10", "until": "2026-03-17"}
    assert coach.post(f"/v1/athletes/{block['athlete']}/absences", json=absence).status_code == 201
    found = ways(coach, block, "2026-03-06")
    assert (found["on"], found["missed"]) == ("2026-03-06", 2)
    assert found["ahead"] == {"from": "2026-03-10", "until": "2026-03-17"}
    assert found["drop"]["text"].startswith("Leave out the 2 sessions in the absence:")
    # Thursday 19, Monday 23 and Thursday 26 are the next days after it.
    assert [(one["name"], one["was"], one["date"]) for one in found["shift"]["changes"]] == [
        ("Push", "2026-03-12", "2026-03-19"),
        ("Legs", "2026-03-16", "2026-03-23"),
        ("Push", "2026-03-19", "2026-03-26"),
    ]
    assert choose(coach, block, "shift", "2026-03-06").status_code == 201
    assert [one for one, _, _ in days(coach, block)] == [*ALL[:3], "2026-03-19", "2026-03-23", "2026-03-26"]
    again = ways(coach, block, "2026-03-06")
    assert (again["missed"], again["ahead"], again["items"]) == (0, None, [])


def test_what_was_missed_is_not_put_into_a_planned_absence(coach: TestClient, block: dict[str, Any]) -> None:
    # Friday 13 March: the second week was missed. Away from Tuesday 17 to Saturday 21: Thursday 19 is no day.
    absence = {"kind": "holiday", "from": "2026-03-17", "until": "2026-03-21"}
    assert coach.post(f"/v1/athletes/{block['athlete']}/absences", json=absence).status_code == 201
    found = ways(coach, block, "2026-03-13")
    assert (found["missed"], found["ahead"]) == (2, None)
    assert [one["date"] for one in found["shift"]["changes"]] == [
        "2026-03-16",
        "2026-03-23",
        "2026-03-26",
        "2026-03-30",
    ]


def cautions(coach: TestClient, session: dict[str, Any]) -> list[tuple[str, str]]:
    """Code and text of the cautions of a session's first line."""
    slot = coach.get(f"/v1/sessions/{session['id']}").json()["slots"][0]
    return [(one["code"], one["text"]) for one in slot["cautions"]]


def test_a_session_weeks_after_what_was_done_last_asks_how_to_go_on(coach: TestClient, block: dict[str, Any]) -> None:
    # Week 1 was trained, until Thursday 5 March; of week 2 nothing was. Week 3 begins on Monday 16 March.
    push = block["sessions"][1]
    path = f"/v1/sessions/{push['id']}"
    slot = coach.get(path).json()["slots"][0]["id"]
    work = done(slot, load=kg(60), rpe=6, at="2026-03-05T18:10:00+01:00", role="target_set")
    assert coach.post(f"{path}/sets", json=work).status_code == 201
    said = (
        "weeks_missed",
        (
            "This is week 3; the last done was week 1, on 5 March 2026, and what comes between was missed. Choose with "
            "your coach how to go on before you lift."
        ),
    )
    third = block["sessions"][4]
    assert said in cautions(coach, third)
    assert "weeks_missed" not in dict(cautions(coach, block["sessions"][2])), "the next one in order"
    # It is said once, before the work: from set to set nobody asks again.
    opened = coach.patch(f"/v1/sessions/{third['id']}", json={"state": "open"}).json()
    assert "weeks_missed" in [one["code"] for one in opened["slots"][0]["cautions"]]
    other = done(opened["slots"][0]["id"], load=kg(60), rpe=6, at="2026-03-16T18:00:00+01:00", role="build_up")
    coming = coach.post(f"/v1/sessions/{third['id']}/sets", json=other).json()["next"]
    assert "weeks_missed" not in [one["code"] for one in coming["cautions"]]


@pytest.mark.parametrize("kind", ["drop", "shift"])
def test_where_a_way_to_go_on_was_chosen_nobody_asks(coach: TestClient, block: dict[str, Any], kind: str) -> None:
    assert choose(coach, block, kind, "2026-03-13").status_code == 201
    assert "weeks_missed" not in dict(cautions(coach, block["sessions"][4]))
