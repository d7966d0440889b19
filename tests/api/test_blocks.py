"""/v1/blocks: a template laid out for athletes on dates."""

from __future__ import annotations

from tests.api.plans_at_hand import TOP, athlete, block, log_top_set, template


def order(coach, athletes, **more):
    body = {
        "template": template(coach),
        "athletes": athletes,
        "start": "2026-11-24",
        "weekdays": ["saturday", "wednesday"],
    }
    return body | more


def test_a_block_has_its_sessions_on_the_stated_weekdays(coach):
    runa = athlete(coach)
    answer = coach.post("/v1/blocks", json=order(coach, [runa]))
    assert answer.status_code == 201
    results = answer.json()
    assert results["dry_run"] is False
    laid = results["items"][0]["block"]
    assert answer.headers["location"] == f"/v1/blocks/{laid['id']}"
    # 2026-11-24 is a Tuesday: weeks count from Wednesday 25.
    assert [(s["week"], s["number"], s["date"], s["name"]) for s in laid["sessions"]] == [
        (1, 1, "2026-11-25", "Legs"),
        (1, 2, "2026-11-28", "Push"),
        (2, 1, "2026-12-02", "Legs"),
        (2, 2, "2026-12-05", "Push"),
    ]
    read = coach.get(f"/v1/blocks/{laid['id']}").json()
    assert (read["athlete"], read["name"], read["start"], read["template_version"]) == (runa, "Spring", "2026-11-24", 1)
    listed = coach.get(f"/v1/blocks/{laid['id']}/sessions").json()["items"]
    assert [s["id"] for s in listed] == [s["id"] for s in laid["sessions"]]
    assert {s["state"] for s in listed} == {"planned"}
    assert listed[0]["plan_note"] == "Slow down, fast up"


def test_several_athletes_get_one_block_each(coach):
    people = [athlete(coach, f"Lifter {n}", ref=f"lifter-{n}") for n in range(3)]
    answer = coach.post("/v1/blocks", json=order(coach, [people[0], "ref:lifter-1", people[2]], name="Group"))
    items = answer.json()["items"]
    assert [item["block"]["athlete"] for item in items] == people
    assert [item["athlete"] for item in items] == [people[0], "ref:lifter-1", people[2]]
    assert "location" not in answer.headers
    for person in people:
        own = coach.get("/v1/blocks", params={"athlete": person}).json()["items"]
        assert [(one["athlete"], one["name"]) for one in own] == [(person, "Group")]
    assert len(coach.get("/v1/blocks").json()["items"]) == 3


def test_one_faulty_athlete_stops_all_and_is_named(coach):
    runa = athlete(coach, ref="runa")
    old = athlete(coach, "Old")
    coach.patch(f"/v1/athletes/{old}", json={"archived": True}, headers={"If-Match": "*"})
    answer = coach.post("/v1/blocks", json=order(coach, [runa, "ref:nobody", old, "ref:runa"]))
    assert answer.status_code == 422
    assert [(one["pointer"], one["code"]) for one in answer.json()["errors"]] == [
        ("#/athletes/1", "unknown"),
        ("#/athletes/2", "archived"),
        ("#/athletes/3", "repeated"),
    ]
    assert coach.get("/v1/blocks").json()["items"] == []


def test_with_skip_the_others_get_their_blocks(coach):
    runa = athlete(coach)
    answer = coach.post("/v1/blocks", json=order(coach, ["ref:nobody", runa], on_fault="skip"))
    assert answer.status_code == 201
    first, second = answer.json()["items"]
    assert (first["block"], first["problem"]["pointer"], first["problem"]["code"]) == (None, "#/athletes/0", "unknown")
    assert (second["block"]["athlete"], second["problem"]) == (runa, None)
    assert coach.post("/v1/blocks", json=order(coach, ["ref:nobody"], on_fault="skip")).status_code == 422


def test_a_dry_run_shows_the_dates_and_stores_nothing(coach):
    answer = coach.post("/v1/blocks?dry_run=true", json=order(coach, [athlete(coach)]))
    assert answer.status_code == 200
    laid = answer.json()["items"][0]["block"]
    assert answer.json()["dry_run"] is True
    assert (laid["id"], laid["sessions"][0]["id"], laid["sessions"][0]["date"]) == (None, None, "2026-11-25")
    assert coach.get("/v1/blocks").json()["items"] == []


def test_what_does_not_fit_is_refused_at_its_member(coach):
    runa = athlete(coach)
    cases = [
        ({"weekdays": ["monday", "monday"]}, "#/weekdays", "once"),
        ({"weekdays": ["monday", "funday"]}, "#/weekdays/1", "must be one of"),
        ({"template": "ref:none"}, "#/template", "names no template"),
        ({"version": 2}, "#/version", "names no version"),
        ({"place": "ref:nowhere"}, "#/place", "names no place"),
        ({"athletes": []}, "#/athletes", "1 to 500"),
        ({"athletes": [runa] * 2}, "#/athletes", "once"),
        ({"start": "2126-11-25"}, "#/start", "must be a day from"),
        ({"start": "1826-11-25"}, "#/start", "must be a day from"),
        ({"on_fault": "go on"}, "#/on_fault", "must be one of"),
        ({"group": "ref:g"}, "#/group", "must not stand beside athletes"),
        ({"athletes": None}, "#/athletes", "is required, or group in its place"),
        ({"athletes": None, "group": "ref:g"}, "#/group", "names no group"),
        ({"start": None}, "#/start", "is required, or end in its place"),
        ({"end": "2026-11-23"}, "#/end", "must not be before 2026-11-24"),
        ({"places": {"monday": "ref:nowhere"}}, "#/places/monday", "must be one of the weekdays"),
        ({"places": {"funday": "ref:nowhere"}}, "#/places/funday", "is not a member"),
        ({"places": {"saturday": "ref:nowhere"}}, "#/places/saturday", "names no place"),
        ({"wishes": {"never_on": ["saturday", "wednesday"]}}, "#/wishes/never_on", "must leave at least one"),
        (
            {"wishes": {"holidays": [{"from": "2026-12-26", "until": "2026-12-24"}]}},
            "#/wishes/holidays/0/until",
            "before",
        ),
        ({"wishes": {"apart": [{"days": 2}]}}, "#/wishes/apart/0/sessions", "is required, or lifts"),
        (
            {"wishes": {"apart": [{"sessions": ["Legs"], "lifts": ["squat"], "days": 2}]}},
            "#/wishes/apart/0/lifts",
            "beside",
        ),
        (
            {"wishes": {"apart": [{"sessions": ["Legs", "Arms"], "days": 2}]}},
            "#/wishes/apart/0/sessions/1",
            "name of a session",
        ),
        ({"wishes": {"apart": [{"lifts": ["log-lift"], "days": 2}]}}, "#/wishes/apart/0/lifts/0", "names no lift"),
        ({"wishes": {"apart": [{"sessions": ["Legs"], "days": 5}]}}, "#/wishes/apart/0/days", "from 1 to 4"),
        ({"wishes": {"most_a_week": 0}}, "#/wishes/most_a_week", "from 1 to 7"),
    ]
    for change, pointer, words in cases:
        answer = coach.post("/v1/blocks", json=order(coach, [runa]) | change)
        errors = answer.json()["errors"]
        assert (answer.status_code, errors[0]["pointer"]) == (422, pointer), answer.text
        assert words in errors[0]["detail"]
    assert coach.get("/v1/blocks").json()["items"] == []


def test_more_slots_than_one_request_may_make_are_refused_before_any_is_made(coach):
    # 104 weeks of 7 sessions of 4 slots are 2912 slots; 250,000 / 2912 is 85.8: at most 85 athletes.
    slots = [TOP | {"with_next": False}] * 4
    body = {"name": "Long", "weeks": [{"sessions": [{"name": "Day", "slots": slots}] * 7}] * 104}
    long = coach.post("/v1/templates", json=body).json()["id"]
    days = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
    many = order(coach, [f"ref:lifter-{n}" for n in range(86)], template=long, weekdays=days)
    (refused,) = coach.post("/v1/blocks", json=many).json()["errors"]
    assert (refused["pointer"], "at most 85" in refused["detail"]) == ("#/athletes", True)


def test_a_later_version_leaves_a_running_block_as_it_was(coach):
    laid = block(coach)
    path = f"/v1/templates/{laid['template']}/versions"
    week = coach.get(f"{path}/1").json()["weeks"][0]
    week["sessions"][0]["name"] = "Something else"
    assert coach.post(path, json={"weeks": [week]}, headers={"If-Match": '"1"'}).status_code == 201
    assert coach.get(f"/v1/blocks/{laid['id']}/sessions").json()["items"][0]["name"] == "Legs"
    newest = coach.post("/v1/blocks", json=order(coach, [laid["athlete"]], template=laid["template"]))
    assert newest.json()["items"][0]["block"]["template_version"] == 2
    first = coach.post("/v1/blocks", json=order(coach, [laid["athlete"]], template=laid["template"], version=1))
    assert [s["name"] for s in first.json()["items"][0]["block"]["sessions"]][:1] == ["Legs"]


def test_a_block_is_renamed_and_removed_until_a_set_is_logged(coach):
    laid = block(coach)
    path = f"/v1/blocks/{laid['id']}"
    assert coach.patch(path, json={"name": "Mine"}).status_code == 428
    renamed = coach.patch(path, json={"name": "Mine"}, headers={"If-Match": '"1"'})
    assert (renamed.json()["name"], renamed.headers["etag"]) == ("Mine", '"2"')
    assert coach.patch(path, json={"name": "His"}, headers={"If-Match": '"1"'}).status_code == 412

    session = coach.get(f"/v1/sessions/{laid['sessions'][0]['id']}").json()
    log_top_set(coach, session)
    refused = coach.delete(path, headers={"If-Match": '"2"'})
    assert (refused.status_code, refused.json()["type"]) == (409, "/problems/conflict")

    fresh = block(coach, laid["athlete"])
    assert coach.delete(f"/v1/blocks/{fresh['id']}").status_code == 428
    assert coach.delete(f"/v1/blocks/{fresh['id']}", headers={"If-Match": '"1"'}).status_code == 204
    assert coach.get(f"/v1/blocks/{fresh['id']}").status_code == 404
    assert coach.get(f"/v1/sessions/{fresh['sessions'][0]['id']}").status_code == 404


def test_lists_of_blocks_and_their_sessions_come_in_pages(coach):
    runa = athlete(coach)
    made = [block(coach, runa, start=start)["id"] for start in ("2026-11-25", "2027-01-06", "2026-12-09")]
    first = coach.get("/v1/blocks", params={"athlete": runa, "limit": 2}).json()
    rest = coach.get("/v1/blocks", params={"athlete": runa, "limit": 2, "after": first["next_page"]}).json()
    assert [one["id"] for one in first["items"] + rest["items"]] == [made[1], made[2], made[0]]
    path = f"/v1/blocks/{made[0]}/sessions"
    some = coach.get(path, params={"limit": 3}).json()
    more = coach.get(path, params={"limit": 3, "after": some["next_page"]}).json()
    assert [(one["week"], one["number"]) for one in some["items"] + more["items"]] == [(1, 1), (1, 2), (2, 1), (2, 2)]


def test_a_repeat_with_the_same_key_lays_out_once(coach):
    body = order(coach, [athlete(coach)])
    headers = {"Idempotency-Key": "lay-out"}
    first, again = (coach.post("/v1/blocks", json=body, headers=headers) for _ in range(2))
    assert first.content == again.content
    assert len(coach.get("/v1/blocks").json()["items"]) == 1


def test_other_gyms_and_bound_keys_see_what_is_theirs(coach, gym, other_gym):
    mine, others = block(coach), block(coach, athlete(coach, "Odd"))
    stranger = other_gym.client("coach")
    assert stranger.get(f"/v1/blocks/{mine['id']}").status_code == 404
    assert stranger.get(f"/v1/blocks/{mine['id']}/sessions").status_code == 404
    assert stranger.get("/v1/blocks").json()["items"] == []
    foreign = stranger.post("/v1/blocks", json=order(stranger, [mine["athlete"]]))
    assert foreign.json()["errors"][0]["pointer"] == "#/athletes/0"

    made = coach.post("/v1/keys", json={"name": "phone", "right": "log", "athlete": mine["athlete"]}).json()
    phone = gym.client("coach")
    phone.headers["Authorization"] = f"Bearer {made['key']}"
    assert [one["id"] for one in phone.get("/v1/blocks").json()["items"]] == [mine["id"]]
    assert phone.get(f"/v1/blocks/{mine['id']}").status_code == 200
    assert phone.get(f"/v1/blocks/{others['id']}").status_code == 404
    assert phone.get(f"/v1/blocks/{others['id']}/sessions").status_code == 404
    assert phone.get("/v1/blocks", params={"athlete": others["athlete"]}).status_code == 404
    assert phone.post("/v1/blocks", json={}).status_code == 403
