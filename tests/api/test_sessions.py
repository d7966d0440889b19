"""/v1/sessions: a training day planned, opened, lifted, finished, skipped, moved."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from pydantic import TypeAdapter

from service.flows.session_shape import SessionView
from service.store.prescribed import MODEL
from tests.api.plans_at_hand import OF_DAY, TOP, athlete, block, loads, log_top_set

VIEW: TypeAdapter[SessionView] = TypeAdapter(SessionView)

# By hand: 150 kg tested; 3 at RPE 7.5 is a load for 5.5 repetitions: (1 + 0.116 * 4.5)^-0.4 = 0.84534 of 150 kg is
# 126.802 kg, 127.5 with plates down to 1.25 kg; 92 % of 127.5 is 117.3, so 117.5. 60 % of 150 is 90.
# After 127.5 kg for 3 at RPE 8.5 the day's max is 127.5 / (1 + 0.116 * 3.5)^-0.4 = 146.12 kg; 60 % of it 87.67: 87.5.


def sessions_of(coach, **more):
    laid = block(coach, **more)
    return [f"/v1/sessions/{one['id']}" for one in laid["sessions"]], laid


def changed(client, path, **body):
    answer = client.patch(path, json=body)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_planned_session_shows_every_slot_resolved_to_loads(coach):
    paths, laid = sessions_of(coach)
    answer = coach.get(paths[0])
    session = answer.json()
    assert (session["state"], session["kind"], session["name"], session["date"]) == (
        "planned", "block", "Legs", "2026-11-25",
    )  # fmt: skip
    assert (session["week"], session["number"], session["block"], session["place"]) == (1, 1, laid["id"], None)
    squat, pause, plank = session["slots"]
    assert (squat["lift"], squat["lift_name"], squat["rest_seconds"]) == ("squat", "Squat", 240)
    assert squat["text"] == "Top set of 3 at RPE 7.5, then 2 sets 8 % lighter"
    assert loads(squat, "top_set") == [127.5]
    assert loads(squat, "back_off") == [117.5, 117.5]
    assert loads(pause, "target_set") == [90, 90]
    assert [one["provisional"] for one in pause["sets"] if one["role"] == "target_set"] == [True, True]
    assert pause["tempo"] == "3-2-x-0"
    assert (plank["accessory"], [one["seconds"] for one in plank["sets"]]) == (True, [40, 40])
    assert session["computed"]["model"] == MODEL


def test_reading_a_planned_session_keeps_nothing(coach):
    paths, laid = sessions_of(coach)
    assert loads(coach.get(paths[0]).json()["slots"][1], "target_set") == [90, 90]
    better = {"lift": "squat", "kind": "tested", "load": {"value": 160, "unit": "kg"}, "date": "2026-11-20"}
    coach.post(f"/v1/athletes/{laid['athlete']}/maxes", json=better)
    # 60 % of 160 is 96: 95 is nearer than 97.5.
    again = coach.get(paths[0]).json()
    assert loads(again["slots"][1], "target_set") == [95, 95]
    assert (again["state"], again["version"]) == ("planned", 1)


def test_what_is_answered_has_the_documented_shape_in_every_state(coach):
    paths, _ = sessions_of(coach)
    planned = coach.get(paths[0]).content
    changed(coach, paths[0], state="open")
    opened = coach.get(paths[0]).content
    log_top_set(coach, coach.get(paths[0]).json())
    lifted = coach.get(paths[0]).content
    changed(coach, paths[0], state="finished", session_rpe=7.5, minutes=61, note="Good")
    for content in (planned, opened, lifted, coach.get(paths[0]).content, coach.get(paths[2]).content):
        assert VIEW.dump_json(VIEW.validate_json(content)) + b"\n" == content


def test_an_opened_session_keeps_its_loads_and_when_they_were_made(coach):
    paths, _ = sessions_of(coach)
    planned = coach.get(paths[0]).json()
    opened = changed(coach, paths[0], state="open")
    assert (opened["state"], opened["version"]) == ("open", 2)
    assert opened["slots"] == planned["slots"]
    first = coach.get(paths[0])
    second = coach.get(paths[0])
    assert first.content == second.content  # its moment is that of the opening, not of the reading
    assert first.json() == opened


def test_the_heavy_set_of_the_day_moves_the_percentages_of_it_and_nothing_else(coach):
    paths, _ = sessions_of(coach)
    before = changed(coach, paths[0], state="open")
    log_top_set(coach, before)
    after = coach.get(paths[0]).json()
    squat, pause, plank = after["slots"]
    assert loads(pause, "target_set") == [87.5, 87.5]
    assert [one["provisional"] for one in pause["sets"]] == [False] * len(pause["sets"])
    assert squat["sets"] == before["slots"][0]["sets"]
    assert plank == before["slots"][2]
    assert [(one["load"]["value"], one["reps"], one["rpe"]) for one in squat["logged"]] == [(127.5, 3, 8.5)]
    assert (pause["logged"], after["logged"]) == ([], [])


def test_a_first_logged_set_opens_the_session(coach):
    paths, _ = sessions_of(coach)
    log_top_set(coach, coach.get(paths[0]).json())
    assert coach.get(paths[0]).json()["state"] == "open"


def test_the_next_session_tells_the_last_time(coach):
    paths, _ = sessions_of(coach)
    assert coach.get(paths[2]).json()["slots"][0]["last_time"] is None
    log_top_set(coach, coach.get(paths[0]).json())
    last = coach.get(paths[2]).json()["slots"][0]["last_time"]
    assert last == {
        "date": "2026-11-25",
        "sets": [
            {
                "load": {"value": 127.5, "unit": "kg", "kg": 127.5},
                "reps": 3,
                "seconds": None,
                "metres": None,
                "rpe": 8.5,
                "rir": None,
                "or_more": False,
                "made": True,
            }
        ],
    }
    assert coach.get(paths[0]).json()["slots"][0]["last_time"] is None  # its own sets are not its last time


def test_finishing_takes_the_session_rpe_the_minutes_and_a_note(coach):
    paths, _ = sessions_of(coach)
    assert coach.patch(paths[0], json={"session_rpe": 7}).status_code == 409  # nothing was done yet
    changed(coach, paths[0], state="open")
    done = changed(coach, paths[0], state="finished", session_rpe=7.5, minutes=65, note="Slept badly")
    assert (done["state"], done["session_rpe"], done["minutes"], done["note"]) == ("finished", 7.5, 65, "Slept badly")
    corrected = changed(coach, paths[0], session_rpe=8, note=None)
    assert (corrected["session_rpe"], corrected["minutes"], corrected["note"]) == (8, 65, None)
    wrong = coach.patch(paths[0], json={"session_rpe": 10.3, "minutes": 0})
    assert [one["pointer"] for one in wrong.json()["errors"]] == ["#/session_rpe", "#/minutes"]


@pytest.mark.parametrize(
    ("way", "then", "status"),
    [
        ([], "finished", 409),
        ([], "planned", 200),
        (["open"], "open", 200),
        (["open"], "planned", 409),
        (["open"], "skipped", 409),
        (["open", "finished"], "finished", 200),
        (["open", "finished"], "open", 409),
        (["skipped"], "skipped", 200),
        (["skipped"], "open", 409),
    ],
)
def test_states_go_one_way_and_the_same_state_again_changes_nothing(coach, way, then, status):
    paths, _ = sessions_of(coach)
    for state in way:
        changed(coach, paths[0], state=state)
    before = coach.get(paths[0]).json()
    answer = coach.patch(paths[0], json={"state": then})
    assert answer.status_code == status
    after = coach.get(paths[0]).json()
    assert (after["state"], after["version"]) == (before["state"], before["version"])


def test_a_set_that_arrives_late_makes_a_skipped_session_finished(coach):
    paths, _ = sessions_of(coach)
    session = changed(coach, paths[0], state="skipped")
    log_top_set(coach, session)
    late = coach.get(paths[0]).json()
    assert late["state"] == "finished"
    assert loads(late["slots"][0], "top_set") == [127.5]
    assert len(late["slots"][0]["logged"]) == 1


def test_a_lifter_moves_within_the_week_and_the_coach_anywhere(coach, gym):
    # 2026-11-25 is a Wednesday; its ISO week runs from Monday 23 to Sunday 29 November.
    paths, _ = sessions_of(coach)
    lifter = gym.client("log")
    assert changed(lifter, paths[0], date="2026-11-29")["date"] == "2026-11-29"
    assert changed(lifter, paths[0], date="2026-11-23")["date"] == "2026-11-23"
    beyond = lifter.patch(paths[0], json={"date": "2026-11-30"})
    assert (beyond.status_code, beyond.json()["type"]) == (403, "/problems/missing-right")
    assert changed(coach, paths[0], date="2026-11-30")["date"] == "2026-11-30"
    changed(coach, paths[0], state="open")
    assert coach.patch(paths[0], json={"date": "2026-11-29"}).status_code == 409
    assert changed(coach, paths[0], date="2026-11-30")["date"] == "2026-11-30"


def garage(coach):
    """A place with a 20 kg bar and pairs of 10 kg: 20, 40, 60 kg and so on."""
    body = {
        "name": "Garage",
        "bars": [{"load": {"value": 20, "unit": "kg"}}],
        "plates": [{"load": {"value": 10, "unit": "kg"}, "count": 20}],
    }
    return coach.post("/v1/places", json=body).json()["id"]


def test_another_place_changes_what_was_not_begun(coach):
    paths, _ = sessions_of(coach)
    place = garage(coach)
    changed(coach, paths[0], state="open")
    log_top_set(coach, coach.get(paths[0]).json())
    moved = changed(coach, paths[0], place=place)
    assert moved["place"] == {"id": place, "name": "Garage"}
    assert loads(moved["slots"][0], "back_off") == [117.5, 117.5]  # this lift was begun
    assert loads(moved["slots"][1], "target_set") == [80, 80]  # 87.67 kg: 80 is nearer than 100
    assert coach.patch(paths[0], json={"place": "ref:none"}).json()["errors"][0]["pointer"] == "#/place"


def test_a_planned_session_happens_where_the_athlete_trains_and_stays_there_once_opened(coach):
    place = garage(coach)
    runa = athlete(coach, place=place)
    laid = block(coach, runa)
    path = f"/v1/sessions/{laid['sessions'][0]['id']}"
    planned = coach.get(path).json()
    assert planned["place"] == {"id": place, "name": "Garage"}
    assert loads(planned["slots"][0], "top_set") == [120]  # 126.8 kg: 120 is nearer than 140
    changed(coach, path, state="open")
    coach.patch(f"/v1/athletes/{runa}", json={"place": None}, headers={"If-Match": "*"})
    assert coach.get(path).json()["place"]["name"] == "Garage"
    other = f"/v1/sessions/{laid['sessions'][2]['id']}"
    assert coach.get(other).json()["place"] is None
    finished = changed(coach, path, state="finished")
    assert finished["place"]["name"] == "Garage"
    assert coach.patch(path, json={"place": None}).status_code == 409


def test_a_reader_who_has_it_is_told_so(coach):
    paths, laid = sessions_of(coach)
    planned = coach.get(paths[0]).headers["etag"]
    assert coach.get(paths[0], headers={"If-None-Match": planned}).status_code == 304
    better = {"lift": "squat", "kind": "tested", "load": {"value": 160, "unit": "kg"}, "date": "2026-11-20"}
    coach.post(f"/v1/athletes/{laid['athlete']}/maxes", json=better)
    assert coach.get(paths[0], headers={"If-None-Match": planned}).status_code == 200
    changed(coach, paths[0], state="open")
    opened = coach.get(paths[0]).headers["etag"]
    assert coach.get(paths[0], headers={"If-None-Match": opened}).status_code == 304
    assert coach.get(paths[0] + "?why=false", headers={"If-None-Match": opened}).status_code == 200
    log_top_set(coach, coach.get(paths[0]).json())
    lifted = coach.get(paths[0], headers={"If-None-Match": opened})
    assert lifted.status_code == 200
    assert lifted.headers["etag"] != opened


def test_a_tag_that_was_read_serves_as_the_version(coach):
    paths, _ = sessions_of(coach)
    tag = coach.get(paths[0]).headers["etag"]
    assert coach.patch(paths[0], json={"note": "a"}, headers={"If-Match": tag}).status_code == 200
    stale = coach.patch(paths[0], json={"note": "b"}, headers={"If-Match": tag})
    assert (stale.status_code, stale.headers["etag"]) == (412, '"2"')


def test_reasons_can_be_left_out_and_cautions_stay(coach):
    paths, _ = sessions_of(coach)
    for state in ("planned", "open"):
        changed(coach, paths[0], state=state)
        whole, short = coach.get(paths[0]).json(), coach.get(paths[0] + "?why=false").json()
        for slot, slim in zip(whole["slots"], short["slots"], strict=True):
            assert slim == {**slot, "sets": [{**one, "why": []} for one in slot["sets"]]}
        assert any(one["why"] for one in whole["slots"][0]["sets"])


def test_the_board_is_plain_text(coach):
    paths, _ = sessions_of(coach)
    answer = coach.get(paths[0], headers={"Accept": "text/plain"})
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    assert answer.headers["etag"] != coach.get(paths[0]).headers["etag"]
    lines = answer.text.splitlines()
    assert lines[0] == "Legs - Wednesday 25 November 2026 (planned)"
    assert "  top set   127.5 kg x 3    each side: 25 25 2.5 1.25  about RPE 7.7" in lines
    assert coach.get(paths[0] + "?format=text").text == answer.text
    assert coach.get(paths[0], headers={"Accept": "image/png"}).status_code == 406
    assert coach.get(paths[0] + "?format=pdf").status_code == 422


def test_a_test_with_slots_of_its_own_lifts_the_effort_limit(coach):
    runa = athlete(coach, settings={"curve": "default"})
    single = {"lift": "squat", "scheme": {"kind": "top_set"}, "target": {"kind": "effort", "reps": 1, "rpe": 10}}
    body = {"kind": "test", "date": "2026-11-28", "slots": [single]}
    made = coach.post(f"/v1/athletes/{runa}/sessions", json=body)
    assert made.status_code == 201
    session = made.json()
    assert made.headers["location"] == f"/v1/sessions/{session['id']}"
    assert (session["kind"], session["name"], session["block"], session["week"]) == ("test", "Test", None, None)
    # One repetition with none left is a load for one repetition: all of 150 kg.
    assert loads(session["slots"][0], "top_set") == [150]
    assert coach.get(made.headers["location"]).json()["slots"] == session["slots"]


def test_a_free_session_needs_no_plan_and_is_today_where_the_athlete_is(coach):
    runa = athlete(coach, time_zone="Pacific/Kiritimati")
    made = coach.post(f"/v1/athletes/{runa}/sessions", json={"kind": "free"}).json()
    today = coach.get(f"/v1/athletes/{runa}/today").json()
    assert made["date"] == today["date"]
    assert [one["id"] for one in today["sessions"]] == [made["id"]]
    body = {"lift": "squat", "load": {"value": 100, "unit": "kg"}, "reps": 5, "at": f"{made['date']}T06:00:00+14:00"}
    logged = coach.post(f"/v1/sessions/{made['id']}/sets", json=body)
    assert logged.status_code == 201, logged.text
    session = coach.get(f"/v1/sessions/{made['id']}").json()
    assert (session["state"], session["slots"], len(session["logged"])) == ("open", [], 1)


def test_a_day_that_has_a_session_already_is_told_where_one_is_added_or_moved_there(coach):
    runa = athlete(coach)
    path = f"/v1/athletes/{runa}/sessions"
    legs, arms = ({"kind": "free", "date": "2026-12-04", "name": name} for name in ("Legs", "Arms"))
    first = coach.post(path, json=legs).json()
    assert first["told"] == []
    second = coach.post(path, json=arms).json()
    assert second["told"] == ["There is another session on 4 December 2026: “Legs”."]
    away = coach.patch(f"/v1/sessions/{second['id']}", json={"date": "2026-12-05"}).json()
    assert away["told"] == []
    back = coach.patch(f"/v1/sessions/{first['id']}", json={"date": "2026-12-05"}).json()
    assert back["told"] == ["There is another session on 5 December 2026: “Arms”."]
    noted = coach.patch(f"/v1/sessions/{first['id']}", json={"note": "In the evening"}).json()
    assert noted["told"] == [], "nothing is told of a day that did not change"
    coach.patch(f"/v1/sessions/{second['id']}", json={"state": "skipped"})
    again = coach.patch(f"/v1/sessions/{first['id']}", json={"date": "2026-12-04"}).json()
    again = coach.patch(f"/v1/sessions/{first['id']}", json={"date": "2026-12-05"}).json()
    assert again["told"] == [], "what is skipped takes no day"
    assert coach.get(f"/v1/sessions/{first['id']}").json()["told"] == []


def test_a_session_of_another_century_is_refused_with_the_first_day_that_is_taken(coach):
    """The clock is the real one: ten years back is counted by calendar days, about 3,653 of them."""
    path = f"/v1/athletes/{athlete(coach, time_zone='UTC')}/sessions"
    first = datetime.now(UTC).date() - timedelta(days=3653)
    answer = coach.post(path, json={"kind": "free", "date": "1999-01-01"})
    assert answer.status_code == 422
    (wrong,) = answer.json()["errors"]
    assert wrong["pointer"] == "#/date"
    assert wrong["detail"] in {
        f"must not be before {first + timedelta(days=late)}: what was done longer ago is entered as sets or as a max"
        for late in (0, 1)
    }
    assert coach.get(path).json()["items"] == []
    fine = coach.post(path, json={"kind": "free", "date": str(first + timedelta(days=1))})
    assert fine.status_code == 201, fine.text


def test_a_session_outside_of_a_block_is_removed_while_nothing_is_logged(coach):
    paths, laid = sessions_of(coach)
    made = coach.post(f"/v1/athletes/{laid['athlete']}/sessions", json={"kind": "free", "date": "2026-11-26"})
    path = made.headers["location"]
    assert coach.delete(path).status_code == 428
    assert coach.delete(path, headers={"If-Match": made.headers["etag"]}).status_code == 204
    assert coach.get(path).status_code == 404
    refused = coach.delete(paths[0], headers={"If-Match": "*"})
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/conflict")

    kept = coach.post(
        f"/v1/athletes/{laid['athlete']}/sessions", json={"kind": "free", "date": "2026-11-25", "slots": [TOP]}
    ).json()
    log_top_set(coach, kept)
    assert coach.delete(f"/v1/sessions/{kept['id']}", headers={"If-Match": "*"}).status_code == 409


def test_wrong_slots_of_a_session_are_named_all_at_once(coach):
    runa = athlete(coach)
    slots = [TOP | {"lift": "sqaut"}, TOP | {"lift": "snatch"}, OF_DAY]
    answer = coach.post(f"/v1/athletes/{runa}/sessions", json={"kind": "free", "slots": slots})
    assert [(one["pointer"], one["code"]) for one in answer.json()["errors"]] == [
        ("#/slots/0/lift", "unknown"),
        ("#/slots/1/target", "technique_lift"),
    ]
    both = coach.post(f"/v1/athletes/{runa}/sessions", json={"kind": "dream", "slots": slots[:1]})
    assert [one["pointer"] for one in both.json()["errors"]] == ["#/kind", "#/slots/0/lift"]
    last = coach.post(f"/v1/athletes/{runa}/sessions", json={"kind": "free", "slots": [TOP | {"with_next": True}]})
    assert last.json()["errors"][0]["pointer"] == "#/slots/0/with_next"
    assert coach.get(f"/v1/athletes/{runa}/sessions").json()["items"] == []


def test_sessions_are_listed_by_date_state_and_in_pages(coach):
    paths, laid = sessions_of(coach)
    changed(coach, paths[1], state="skipped")
    path = f"/v1/athletes/{laid['athlete']}/sessions"

    def dates(**query):
        return [one["date"] for one in coach.get(path, params=query).json()["items"]]

    assert dates() == ["2026-11-25", "2026-11-28", "2026-12-02", "2026-12-05"]
    assert dates(**{"from": "2026-11-28", "to": "2026-12-02"}) == ["2026-11-28", "2026-12-02"]
    assert dates(state="skipped") == ["2026-11-28"]
    first = coach.get(path, params={"limit": 3}).json()
    assert dates(limit=3, after=first["next_page"]) == ["2026-12-05"]
    assert coach.get(path, params={"state": "done"}).status_code == 422


def test_a_lift_without_a_max_says_how_to_choose(coach):
    made = coach.post("/v1/athletes", json={"name": "New"}).json()["id"]
    session = coach.post(f"/v1/athletes/{made}/sessions", json={"kind": "first", "slots": [TOP]}).json()
    top = session["slots"][0]["sets"][0]
    assert top["load"] is None
    assert "no max is known" in top["text"]
    assert [one["code"] for one in session["slots"][0]["cautions"]] == ["no_load"]


def test_an_override_is_obeyed_while_planned_and_shown_under_the_lift_in_exchange(coach):
    paths, laid = sessions_of(coach)
    body = {
        "kind": "exchange",
        "lift": "squat",
        "to_lift": "front-squat",
        "reason": "Sore back",
        "until": "2026-11-30",
        "from": "2026-11-20",
    }
    made = coach.post(f"/v1/athletes/{laid['athlete']}/overrides", json=body)
    assert made.status_code == 201, made.text
    for state in ("planned", "open"):
        slot = changed(coach, paths[0], state=state)["slots"][0]
        assert (slot["lift"], slot["lift_name"]) == ("front-squat", "Front squat")
        assert "Sore back" in slot["overrides"][0]["text"]
    later = coach.get(paths[2]).json()["slots"][0]  # 2 December: past its last day
    assert (later["lift"], later["overrides"]) == ("squat", [])


def test_other_gyms_and_bound_keys_see_what_is_theirs(coach, gym, other_gym):
    paths, laid = sessions_of(coach)
    other = athlete(coach, "Odd")
    others = coach.post(f"/v1/athletes/{other}/sessions", json={"kind": "free"}).headers["location"]
    stranger = other_gym.client("coach")
    assert stranger.get(paths[0]).status_code == 404
    assert stranger.patch(paths[0], json={"state": "open"}).status_code == 404
    assert stranger.delete(others, headers={"If-Match": "*"}).status_code == 404
    assert stranger.get(f"/v1/athletes/{other}/sessions").status_code == 404
    assert stranger.post(f"/v1/athletes/{other}/sessions", json={"kind": "free"}).status_code == 404

    key = coach.post("/v1/keys", json={"name": "phone", "right": "log", "athlete": laid["athlete"]}).json()["key"]
    phone = gym.client("log")
    phone.headers["Authorization"] = f"Bearer {key}"
    assert phone.get(paths[0]).status_code == 200
    assert changed(phone, paths[0], state="open")["state"] == "open"
    assert phone.post(f"/v1/athletes/{laid['athlete']}/sessions", json={"kind": "free"}).status_code == 201
    assert phone.get(others).status_code == 404
    assert phone.patch(others, json={"state": "open"}).status_code == 404
    assert phone.delete(others, headers={"If-Match": "*"}).status_code == 404
    assert phone.post(f"/v1/athletes/{other}/sessions", json={"kind": "free"}).status_code == 404
    assert gym.client("read").patch(paths[0], json={"state": "open"}).status_code == 403


def test_a_repeat_with_the_same_key_adds_one_session(coach):
    runa = athlete(coach)
    sent = {"json": {"kind": "free", "date": "2026-11-25"}, "headers": {"Idempotency-Key": "one"}}
    first, again = (coach.post(f"/v1/athletes/{runa}/sessions", **sent) for _ in range(2))
    assert (first.content, again.headers["idempotent-replayed"]) == (again.content, "true")
    assert len(coach.get(f"/v1/athletes/{runa}/sessions").json()["items"]) == 1
