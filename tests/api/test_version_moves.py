"""/v1/version-moves: running blocks follow another version, and what is done stays."""

from __future__ import annotations

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from time import sleep
from uuid import UUID

from service.store import sessions, states
from service.store.session import Caller
from tests.api.plans_at_hand import LEGS, PUSH, athlete, log_top_set, template
from tests.counting import statements

HARDER = {"kind": "shift_effort", "rpe_points": 0.5}


def blocks_of(coach, people, *, of=None, start="2026-11-25", weekdays=("wednesday", "saturday"), weeks=4):
    body = {
        "template": of or template(coach, weeks=weeks),
        "athletes": people,
        "start": start,
        "weekdays": list(weekdays),
    }
    made = coach.post("/v1/blocks", json=body)
    assert made.status_code == 201, made.text
    return [one["block"] for one in made.json()["items"]]


def change(coach, of, *operations):
    path = f"/v1/templates/{of}/changes"
    answer = coach.post(path, json={"operations": list(operations)}, headers={"If-Match": "*"})
    assert answer.status_code == 201, answer.text


def move(coach, of, status=201, dry_run="false", **more):
    answer = coach.post(f"/v1/version-moves?dry_run={dry_run}", json={"template": of} | more)
    assert answer.status_code == status, answer.text
    return answer.json()


def listed(coach, block):
    return coach.get(f"/v1/blocks/{block['id']}/sessions").json()["items"]


def pages(coach, block):
    """Every session of a block as it is read, byte for byte but for the moment of reading, by id."""
    read = {one["id"]: coach.get(f"/v1/sessions/{one['id']}").text for one in listed(coach, block)}
    return {one: re.sub('"computed":{"at":"[^"]*"', "", text) for one, text in read.items()}


def places(coach, block):
    return [(one["week"], one["number"], one["date"], one["name"]) for one in listed(coach, block)]


def test_planned_sessions_follow_and_what_is_done_stays_byte_for_byte(coach):
    runa = athlete(coach)
    (block,) = blocks_of(coach, [runa])
    of, ids = block["template"], [one["id"] for one in block["sessions"]]
    log_top_set(coach, coach.get(f"/v1/sessions/{ids[0]}").json())
    coach.patch(f"/v1/sessions/{ids[1]}", json={"state": "skipped"})
    coach.patch(f"/v1/sessions/{ids[0]}", json={"state": "finished"})
    logged = coach.post(  # a set that was taken back leaves its mark
        f"/v1/sessions/{ids[3]}/sets",
        json={"lift": "bench-press", "load": {"value": 60, "unit": "kg"}, "reps": 5, "at": "2026-11-28T10:00:00+01:00"},
    )
    gone = coach.delete(f"/v1/sets/{logged.json()['set']['id']}", headers={"If-Match": "*"})
    assert (logged.status_code, gone.status_code) == (201, 204)
    coach.patch(f"/v1/sessions/{ids[4]}", json={"date": "2026-12-10"})
    before = pages(coach, block)
    rows = {one["id"]: one for one in listed(coach, block)}

    change(coach, of, HARDER)
    tried = move(coach, of, 200, "true", from_week=1, all=True)
    assert pages(coach, block) == before
    moved = move(coach, of, from_week=1, all=True)
    assert moved == tried | {"dry_run": False}
    (item,) = moved["items"]
    assert (item["block"], item["athlete"], item["from_version"], item["problem"]) == (block["id"], runa, 1, None)
    # The squat's effort stands in each of the four sessions called Legs: one is done, three are planned.
    legs = [ids[0], ids[2], ids[4], ids[6]]
    assert [(one["session"], one["what"]) for one in item["changed"]] == [
        (legs[0], "stays"), (legs[1], "changed"), (legs[2], "changed"), (legs[3], "changed"),
    ]  # fmt: skip
    assert item["text"] == (
        "Runa Fell: version 2 from week 1 on; 3 sessions change and 1 session stays as it was, because it is begun, "
        "done or left out."
    )
    after = pages(coach, block)
    assert {one for one in before if before[one] != after[one]} == set(legs[1:])
    now = {one["id"]: one for one in listed(coach, block)}
    assert now[ids[4]]["date"] == "2026-12-10"  # the day that it was moved to by hand
    for session in legs[1:]:
        assert now[session] == rows[session] | {"version": rows[session]["version"] + 1}
    block_now = coach.get(f"/v1/blocks/{block['id']}").json()
    assert (block_now["template_version"], block_now["version"]) == (2, 2)
    slots = coach.get(f"/v1/sessions/{ids[2]}").json()["slots"]
    assert slots[0]["text"].startswith("Top set of 3 at RPE 8")


def test_a_phone_that_read_a_session_before_it_was_changed_can_still_log_in_it(coach):
    (block,) = blocks_of(coach, [athlete(coach)])
    session = block["sessions"][2]["id"]
    before = coach.get(f"/v1/sessions/{session}").json()["slots"]
    plank = {
        "lift": "plank",
        "scheme": {"kind": "sets_at_target", "sets": 2},
        "target": {"kind": "time", "seconds": 30},
    }
    change(coach, block["template"], HARDER, {"kind": "add_accessory", "session": "Legs", "slot": plank})
    (item,) = move(coach, block["template"], from_week=2, blocks=[block["id"]])["items"]
    top = "top set of 3 at RPE {}, then 2 sets 8 % lighter"
    assert item["changed"][0]["changes"] == [
        f"Week 2, Legs, squat: {top.format(7.5)} becomes {top.format(8)}.",
        "Week 2, Legs: plank, 2 sets of 30 seconds is new.",
    ]
    after = coach.get(f"/v1/sessions/{session}").json()["slots"]
    assert len(after) == 4
    log_top_set(coach, {"id": session, "slots": before})
    page = coach.get(f"/v1/sessions/{session}").json()
    assert [len(one["logged"]) for one in page["slots"]] == [1, 0, 0, 0]
    told = [coach.get(f"/v1/sessions/{session}/next", params={"slot": one[1]["id"]}).json() for one in (before, after)]
    assert told[0] == told[1]
    assert told[0]["slot"] == after[1]["id"]


def test_a_slot_is_understood_after_two_changes_and_once_it_is_gone_refused(coach):
    (block,) = blocks_of(coach, [athlete(coach)])
    session, of = block["sessions"][2]["id"], block["template"]
    first = coach.get(f"/v1/sessions/{session}").json()["slots"]
    change(coach, of, HARDER)
    move(coach, of, from_week=2, blocks=[block["id"]])
    second = coach.get(f"/v1/sessions/{session}").json()["slots"]
    gone = coach.get(f"/v1/templates/{of}/versions/2").json()["weeks"]
    for week in gone:
        for one in week["sessions"]:
            if one["name"] == "Legs":
                del one["slots"][-1]
    sent = coach.post(f"/v1/templates/{of}/versions", json={"weeks": gone}, headers={"If-Match": "*"})
    assert sent.status_code == 201, sent.text
    move(coach, of, from_week=2, blocks=[block["id"]])
    third = coach.get(f"/v1/sessions/{session}").json()["slots"]
    assert len(third) == len(first) - 1
    path = f"/v1/sessions/{session}/sets"
    set_ = {"load": {"value": 60, "unit": "kg"}, "reps": 5, "role": "free"}
    for read in (first, second, third):
        logged = coach.post(path, json={**set_, "slot": read[0]["id"]})
        assert logged.status_code == 201, logged.text
        assert logged.json()["set"]["slot"] == third[0]["id"]
    refused = coach.post(path, json={**set_, "slot": first[-1]["id"]})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "#/slot")


def test_sessions_that_are_new_come_on_the_weekdays_and_those_that_are_gone_go(coach):
    (block,) = blocks_of(coach, [athlete(coach)], weeks=2)
    of = block["template"]
    week = {"sessions": [LEGS, PUSH]}
    third = {"sessions": [LEGS, PUSH, {**PUSH, "name": "Push again"}]}
    path = f"/v1/templates/{of}/versions"
    sent = coach.post(path, json={"weeks": [week, third, week]}, headers={"If-Match": "*"})
    assert sent.status_code == 201, sent.text
    (item,) = move(coach, of, from_week=2, blocks=[block["id"]])["items"]
    assert [(one["what"], one["week"], one["number"], one["date"]) for one in item["changed"]] == [
        ("added", 2, 3, "2026-12-09"),  # week 2 ends on Saturday 5 December: its third session is on the next Wednesday
        ("added", 3, 1, "2026-12-12"),
        ("added", 3, 2, "2026-12-16"),
    ]
    assert places(coach, block)[4:] == [
        (2, 3, "2026-12-09", "Push again"),
        (3, 1, "2026-12-12", "Legs"),
        (3, 2, "2026-12-16", "Push"),
    ]
    (back,) = move(coach, of, from_week=2, version=1, blocks=[block["id"]])["items"]
    assert [one["what"] for one in back["changed"]] == ["removed"] * 3
    assert [one[:2] for one in places(coach, block)] == [(1, 1), (1, 2), (2, 1), (2, 2)]


def test_a_session_in_the_midst_comes_between_those_around_it_or_is_refused(coach):
    weekdays = ("monday", "wednesday", "friday")
    (block,) = blocks_of(coach, [athlete(coach)], start="2026-11-23", weekdays=weekdays, weeks=2)
    of = block["template"]
    more = {"sessions": [LEGS, PUSH, {**PUSH, "name": "Third"}]}
    most = {"sessions": [*more["sessions"], {**PUSH, "name": "Fourth"}, {**PUSH, "name": "Fifth"}, LEGS]}
    path = f"/v1/templates/{of}/versions"
    for weeks in ([more, more], [most, more]):
        assert coach.post(path, json={"weeks": weeks}, headers={"If-Match": "*"}).status_code == 201
    (item,) = move(coach, of, from_week=1, version=2, blocks=[block["id"]], dry_run="true", status=200)["items"]
    # Monday and Wednesday are taken: Friday 27 November, and Friday 4 December after the last one.
    assert [(one["week"], one["number"], one["date"]) for one in item["changed"]] == [
        (1, 3, "2026-11-27"),
        (2, 3, "2026-12-04"),
    ]
    # Four more before Monday 30 November: Thursday to Sunday, since Friday alone is not enough.
    (item,) = move(coach, of, from_week=1, blocks=[block["id"]], dry_run="true", status=200)["items"]
    assert [one["date"] for one in item["changed"]][:4] == ["2026-11-26", "2026-11-27", "2026-11-28", "2026-11-29"]
    five = {"sessions": [*most["sessions"], LEGS]}
    assert coach.post(path, json={"weeks": [five, more]}, headers={"If-Match": "*"}).status_code == 201
    (error,) = move(coach, of, 422, from_week=1, blocks=[block["id"]])["errors"]
    assert (error["pointer"], error["code"]) == ("#/blocks/0", "no_day")
    assert "Session 7 of week 1 is new and has no day before 30 November 2026" in error["detail"]


def test_forty_athletes_are_moved_in_few_statements_each_from_their_own_week(coach, app):
    people = [athlete(coach, f"Lifter {number:02}") for number in range(40)]
    blocks = blocks_of(coach, people)
    of = blocks[0]["template"]
    change(coach, of, HARDER, {"kind": "repeat_week", "week": 4})
    with statements(app.state.access.database) as sent:
        moved = move(coach, of, from_week=2, all=True)
    assert [one["athlete"] for one in moved["items"]] == people  # by name
    for item in moved["items"]:
        kinds = [(one["what"], one["week"], one["number"]) for one in item["changed"]]
        assert kinds == [
            ("changed", 2, 1), ("changed", 3, 1), ("changed", 4, 1), ("added", 5, 1), ("added", 5, 2),
        ]  # fmt: skip
        # four weeks of Wednesday and Saturday from 25 November on end on 19 December: the fifth is the one after
        assert item["text"].endswith(
            "version 2 from week 2 on; 3 sessions change and 2 sessions are new (from 23 December 2026 to "
            "26 December 2026)."
        )
    assert len(sent) < 40, sent
    for block in (blocks[0], blocks[39]):
        assert coach.get(f"/v1/blocks/{block['id']}").json()["template_version"] == 2
        assert len(listed(coach, block)) == 10
    again = move(coach, of, from_week=2, all=True)
    assert all(one["changed"] == [] and "nothing that is planned changes" in one["text"] for one in again["items"])
    assert coach.get(f"/v1/blocks/{blocks[0]['id']}").json()["version"] == 2  # nothing changed the second time


def test_left_out_the_week_is_the_one_after_each_athletes_own(coach):
    today = date.today()  # noqa: DTZ011  (every athlete is about here)
    days = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
    of = template(coach, weeks=4)
    starts = {"Early": today - timedelta(days=14), "Late": today + timedelta(days=7)}
    for name, start in starts.items():
        blocks_of(coach, [athlete(coach, name)], of=of, start=str(start), weekdays=days)
    change(coach, of, HARDER)
    moved = move(coach, of, 200, "true", all=True)["items"]
    # Early began two weeks ago and is in week 3; Late has not begun, so that the next session is in week 1.
    assert [(one["athlete_name"], one["from_week"]) for one in moved] == [("Early", 4), ("Late", 2)]


def test_a_group_is_moved_and_others_stay(coach):
    people = [athlete(coach, name) for name in ("In", "Out")]
    inside, outside = blocks_of(coach, people)
    group = coach.post("/v1/groups", json={"name": "Juniors", "ref": "juniors"}).json()["id"]
    assert coach.put(f"/v1/groups/{group}/athletes/{people[0]}").status_code == 201
    change(coach, inside["template"], HARDER)
    moved = move(coach, inside["template"], from_week=1, group="ref:juniors")
    assert [one["block"] for one in moved["items"]] == [inside["id"]]
    assert coach.get(f"/v1/blocks/{outside['id']}").json()["template_version"] == 1


def test_one_faulty_block_stops_all_or_is_told(coach, other_gym):
    one, other = blocks_of(coach, [athlete(coach)])[0], blocks_of(coach, [athlete(coach, "Odd")])[0]
    foreign = blocks_of(other_gym.client("coach"), [athlete(other_gym.client("coach"))])[0]
    of = one["template"]
    change(coach, of, HARDER)
    wanted = [one["id"], other["id"], foreign["id"]]
    errors = move(coach, of, 422, from_week=1, blocks=wanted)["errors"]
    assert [(e["pointer"], e["code"]) for e in errors] == [
        ("#/blocks/1", "another_template"),
        ("#/blocks/2", "unknown"),
    ]
    assert coach.get(f"/v1/blocks/{one['id']}").json()["template_version"] == 1
    items = move(coach, of, from_week=1, blocks=wanted, on_fault="skip")["items"]
    assert [item["problem"] and item["problem"]["code"] for item in items] == [None, "another_template", "unknown"]
    assert (items[2]["athlete"], items[2]["text"]) == (None, "There is no such block in this gym.")
    assert coach.get(f"/v1/blocks/{one['id']}").json()["template_version"] == 2
    assert move(coach, of, 422, from_week=1, blocks=wanted[1:], on_fault="skip")["errors"]


def test_what_does_not_fit_is_refused_at_its_member(coach, gym):
    of = template(coach)
    cases = [
        ({}, "#/blocks"),
        ({"all": False}, "#/all"),
        ({"all": 1}, "#/all"),
        ({"all": True, "group": "ref:x"}, "#/all"),
        ({"group": "ref:nobody"}, "#/group"),
        ({"all": True, "version": 7}, "#/version"),
        ({"all": True, "template": "ref:none"}, "#/template"),
        ({"all": True, "from_week": 0}, "#/from_week"),
        ({"blocks": []}, "#/blocks"),
        ({"blocks": ["x"]}, "#/blocks/0"),
    ]
    for more, pointer in cases:
        errors = move(coach, **({"of": of, "status": 422} | {"of": more.pop("template", of)}), **more)["errors"]
        assert errors[0]["pointer"] == pointer
    assert move(coach, of, all=True)["items"] == []
    body = {"template": of, "all": True}
    assert gym.client("log").post("/v1/version-moves", json=body).status_code == 403


def test_a_repeat_with_the_same_key_moves_once(coach):
    (block,) = blocks_of(coach, [athlete(coach)])
    change(coach, block["template"], HARDER)
    body = {"template": block["template"], "from_week": 2, "all": True}
    first, again = (coach.post("/v1/version-moves", json=body, headers={"Idempotency-Key": "move"}) for _ in range(2))
    assert first.content == again.content
    assert first.json()["items"][0]["from_version"] == 1
    assert coach.get(f"/v1/blocks/{block['id']}").json()["version"] == 2


def test_a_session_that_is_opened_at_the_same_moment_is_not_touched(coach, gym, database):
    runa = athlete(coach)
    (block,) = blocks_of(coach, [runa])
    change(coach, block["template"], HARDER)
    session = UUID(block["sessions"][2]["id"])
    caller = Caller(gym.id, "", "tests", "owner", None)
    with ThreadPoolExecutor() as pool:
        with database.transaction(caller, datetime.now(UTC)) as tx:
            states.lock(tx, UUID(runa))
            sessions.change(tx, session, {"state": "open"})
            asked = pool.submit(move, coach, block["template"], from_week=2, all=True)
            sleep(0.3)  # the move has read the block by now, and waits for the athlete
            assert not asked.done()
        (item,) = asked.result()["items"]
    what = {one["session"]: one["what"] for one in item["changed"]}
    assert what == {
        str(session): "stays",
        block["sessions"][4]["id"]: "changed",
        block["sessions"][6]["id"]: "changed",
    }


def test_a_week_that_neither_the_block_nor_the_version_has_is_refused(coach):
    (block,) = blocks_of(coach, [athlete(coach)])
    of = block["template"]
    change(coach, of, {"kind": "repeat_week", "week": 1})
    weeks = max(one["week"] for one in listed(coach, block)) + 1
    before = coach.get(f"/v1/blocks/{block['id']}").json()
    (error,) = move(coach, of, 422, from_week=weeks + 2, all=True)["errors"]
    assert (error["pointer"], error["code"]) == ("#/from_week", "out_of_range")
    assert f"from 1 to {weeks + 1}," in error["detail"]
    assert error["detail"].endswith(": Runa Fell")
    blocks_of(coach, [athlete(coach, name) for name in ("Corin", "Kaia", "Sindre", "Zita")], of=of)
    (error,) = move(coach, of, 422, from_week=weeks + 2, all=True)["errors"]
    assert error["detail"].endswith(": Corin, Kaia, Runa Fell and 2 more")
    assert coach.get(f"/v1/blocks/{block['id']}").json() == before
    assert move(coach, of, from_week=weeks, all=True)["items"][0]["problem"] is None


def test_what_was_taken_over_from_a_missed_session_stays_and_the_rest_follows(coach):
    (block,) = blocks_of(coach, [athlete(coach)])
    of, push = block["template"], block["sessions"][1]["id"]
    # On Friday the legs of Wednesday were missed: the push of Saturday takes their top set over.
    merged = coach.post(
        f"/v1/blocks/{block['id']}/replans?on=2026-11-27", json={"kind": "merge"}, headers={"If-Match": "*"}
    )
    assert merged.status_code == 201, merged.text
    before = coach.get(f"/v1/sessions/{push}").json()["slots"]
    assert [one["lift"] for one in before] == ["bench-press", "squat"]
    harder = {**PUSH, "slots": [{**PUSH["slots"][0], "scheme": {"kind": "sets_at_target", "sets": 4}}]}
    weeks = [{"sessions": [LEGS, harder]}] * 4
    sent = coach.post(f"/v1/templates/{of}/versions", json={"weeks": weeks}, headers={"If-Match": "*"})
    assert sent.status_code == 201, sent.text
    (item,) = move(coach, of, from_week=1, blocks=[block["id"]])["items"]
    assert item["told"] == ["Week 1, Push: squat, taken over from Legs of week 1, stays as it was."]
    assert item["unmet"] == []
    after = coach.get(f"/v1/sessions/{push}").json()["slots"]
    assert [one["lift"] for one in after] == ["bench-press", "squat"]
    bench = [one for one in after[0]["sets"] if one["role"] == "target_set"]
    assert (len(bench), after[1]["note"]) == (4, "Taken over from Legs")
    (again,) = move(coach, of, from_week=1, blocks=[block["id"]])["items"]
    assert (again["changed"], again["told"]) == ([], [])


def test_a_wish_that_a_new_session_does_not_meet_is_told(coach):
    body = {
        "template": template(coach, weeks=2),
        "athletes": [athlete(coach)],
        "start": "2026-11-23",
        "weekdays": ["monday", "wednesday", "saturday"],
        "wishes": {"apart": [{"sessions": ["Legs"], "days": 3}]},
    }
    made = coach.post("/v1/blocks", json=body)
    assert made.status_code == 201, made.text
    block, of = made.json()["items"][0]["block"], made.json()["items"][0]["block"]["template"]
    weeks = [{"sessions": [LEGS, PUSH, LEGS]}, {"sessions": [LEGS, PUSH]}]
    sent = coach.post(f"/v1/templates/{of}/versions", json={"weeks": weeks}, headers={"If-Match": "*"})
    assert sent.status_code == 201, sent.text
    tried = move(coach, of, 200, "true", from_week=1, blocks=[block["id"]])
    # Legs on Saturday 28 November, four free days after those of Monday and one before those of Monday 30 November
    (one,) = tried["items"][0]["unmet"]
    assert (one["wish"], one["week"], one["number"], one["date"]) == ("#/wishes/apart/0", 2, 1, "2026-11-30")
    assert one["text"].endswith("comes after Legs on Saturday 28 November 2026 with 1 free day between them; 3 wished.")
    assert move(coach, of, from_week=1, blocks=[block["id"]])["items"][0]["unmet"] == [one]
