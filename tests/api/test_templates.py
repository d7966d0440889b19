"""/v1/templates, as a coach writes blocks."""

from __future__ import annotations

import base64
import copy
import json

from service.api.plan_examples import SLOTS, WEEKS
from service.api.templates import TemplateVersionShown

WEEK = WEEKS[0]
PLAN = {"name": "Spring", "weeks": [WEEK]}


def made(coach, **more):
    answer = coach.post("/v1/templates", json=PLAN | more)
    assert answer.status_code == 201
    return answer.json()


def test_a_template_is_made_with_version_one_and_read_back_as_it_was_sent(coach):
    answer = coach.post("/v1/templates", json=PLAN | {"ref": "spring"})
    assert answer.status_code == 201
    template = answer.json()
    assert answer.headers["location"] == f"/v1/templates/{template['id']}"
    assert (template["latest"], template["version"], template["archived"]) == (1, 1, False)
    assert coach.get("/v1/templates/ref:spring").json() == template

    version = coach.get("/v1/templates/ref:spring/versions/1")
    assert version.headers["etag"] == '"1"'
    shown = version.json()
    assert TemplateVersionShown.model_validate(shown)
    assert shown["made_by"] == "coach key"
    sessions = shown["weeks"][0]["sessions"]
    assert [session["name"] for session in sessions] == ["Legs", "Push"]
    assert sessions[0]["slots"] == SLOTS  # nothing is added to what the coach wrote


def test_a_version_that_was_read_can_be_sent_back(coach):
    template = made(coach)
    read = coach.get(f"/v1/templates/{template['id']}/versions/latest").json()
    again = coach.post("/v1/templates", json={"name": "Copy", "weeks": read["weeks"]})
    assert again.status_code == 201
    copied = coach.get(f"/v1/templates/{again.json()['id']}/versions/latest").json()
    assert copied["weeks"] == read["weeks"]


def test_a_new_version_leaves_the_old_one_as_it_was(coach):
    template = made(coach)
    path = f"/v1/templates/{template['id']}/versions"
    before = coach.get(f"{path}/1").content
    answer = coach.post(path, json={"weeks": [WEEK, WEEK]}, headers={"If-Match": '"1"'})
    assert answer.status_code == 201
    assert answer.headers["location"] == f"{path}/2"
    assert answer.json()["number"] == 2
    assert coach.get(f"{path}/1").content == before
    assert len(coach.get(f"{path}/latest").json()["weeks"]) == 2
    assert [line["number"] for line in coach.get(path).json()["items"]] == [2, 1]
    assert coach.get(f"/v1/templates/{template['id']}").json()["latest"] == 2


def test_two_coaches_cannot_both_add_the_same_version_unseen(coach):
    path = f"/v1/templates/{made(coach)['id']}/versions"
    assert coach.post(path, json={"weeks": [WEEK]}).status_code == 428
    assert coach.post(path, json={"weeks": [WEEK]}, headers={"If-Match": '"1"'}).status_code == 201
    second = coach.post(path, json={"weeks": [WEEK, WEEK]}, headers={"If-Match": '"1"'})
    assert second.status_code == 412
    assert second.headers["etag"] == '"2"'
    assert coach.get(path).json()["next_page"] is None
    assert len(coach.get(path).json()["items"]) == 2


def test_versions_come_in_pages(coach):
    path = f"/v1/templates/{made(coach)['id']}/versions"
    for number in (1, 2):
        coach.post(path, json={"weeks": [WEEK] * (number + 1)}, headers={"If-Match": f'"{number}"'})
    first = coach.get(path, params={"limit": 2}).json()
    assert [line["number"] for line in first["items"]] == [3, 2]
    rest = coach.get(path, params={"limit": 2, "after": first["next_page"]}).json()
    assert [line["number"] for line in rest["items"]] == [1]


def test_a_put_by_ref_creates_then_adds_a_version_only_where_the_body_differs(coach):
    assert coach.put("/v1/templates/ref:s", json=PLAN).status_code == 201
    same = coach.put("/v1/templates/ref:s", json=PLAN)
    assert (same.status_code, same.json()["latest"], same.json()["version"]) == (200, 1, 1)
    other = coach.put("/v1/templates/ref:s", json=PLAN | {"weeks": [WEEK, WEEK]})
    assert (other.status_code, other.json()["latest"]) == (200, 2)
    named = coach.put("/v1/templates/ref:s", json={"name": "Summer", "weeks": [WEEK, WEEK]})
    assert (named.json()["name"], named.json()["latest"]) == ("Summer", 3)
    assert coach.put(f"/v1/templates/{named.json()['id']}", json=PLAN).status_code == 404


def test_a_template_is_renamed_archived_and_listed(coach):
    one, two = made(coach), made(coach, name="Autumn strength", ref="autumn")
    path = f"/v1/templates/{one['id']}"
    assert coach.patch(path, json={"archived": True}).status_code == 428
    changed = coach.patch(path, json={"archived": True, "name": "Old"}, headers={"If-Match": '"1"'})
    assert (changed.json()["archived"], changed.json()["name"], changed.json()["version"]) == (True, "Old", 2)
    assert [t["id"] for t in coach.get("/v1/templates").json()["items"]] == [two["id"]]
    assert [t["id"] for t in coach.get("/v1/templates?archived=true").json()["items"]] == [one["id"]]
    assert [t["id"] for t in coach.get("/v1/templates?q=STRENGTH").json()["items"]] == [two["id"]]
    assert coach.get("/v1/templates?q=%25").json()["items"] == []
    taken = coach.patch(path, json={"ref": "autumn"}, headers={"If-Match": "*"})
    assert (taken.status_code, taken.json()["type"]) == (409, "/problems/conflict")


def test_every_wrong_slot_is_named_by_its_pointer_at_once(coach):
    week = copy.deepcopy(WEEK)
    week["sessions"][0]["slots"][0]["lift"] = "sqaut"
    week["sessions"][0]["slots"][1]["target"]["of"] = "sqaut"
    week["sessions"][1]["slots"][0] = SLOTS[0] | {"lift": "snatch"}
    answer = coach.post("/v1/templates", json={"name": "Spring", "weeks": [WEEK, week]})
    assert answer.status_code == 422
    problem = answer.json()
    assert problem["type"] == "/problems/invalid-fields"
    assert [(one["pointer"], one["code"]) for one in problem["errors"]] == [
        ("#/weeks/1/sessions/0/slots/0/lift", "unknown"),
        ("#/weeks/1/sessions/0/slots/1/target/of", "unknown"),
        ("#/weeks/1/sessions/1/slots/0/target", "technique_lift"),
    ]
    assert coach.get("/v1/templates").json()["items"] == []  # nothing was stored


def test_a_wrong_number_deep_inside_is_named_with_what_is_allowed(coach):
    week = copy.deepcopy(WEEK)
    week["sessions"][1]["slots"][0]["target"]["percent"] = 0.8
    week["sessions"][0]["slots"][0]["target"]["rpe"] = 10.3
    answer = coach.post("/v1/templates", json={"name": "Spring", "weeks": [week]})
    errors = {one["pointer"]: one for one in answer.json()["errors"]}
    assert set(errors) == {
        "#/weeks/0/sessions/0/slots/0/target/rpe",
        "#/weeks/0/sessions/1/slots/0/target/percent",
    }
    assert errors["#/weeks/0/sessions/0/slots/0/target/rpe"]["allowed"] == {"min": 1, "max": 10, "step": 0.5}
    assert "did you mean 80?" in errors["#/weeks/0/sessions/1/slots/0/target/percent"]["detail"]


def test_what_cannot_be_read_and_what_does_not_fit_the_lifts_is_told_together(coach):
    week = copy.deepcopy(WEEK)
    week["sessions"][0]["slots"][0]["target"]["rpe"] = 10.3
    week["sessions"][0]["slots"][1]["target"]["of"] = "sqaut"
    week["sessions"][1]["slots"][0] = SLOTS[0] | {"lift": "snatch"}
    answer = coach.post("/v1/templates", json={"name": "Spring", "weeks": [week], "colour": "red"})
    assert answer.status_code == 422
    assert {(one["pointer"], one["code"]) for one in answer.json()["errors"]} == {
        ("#/colour", "unknown_member"),
        ("#/weeks/0/sessions/0/slots/0/target/rpe", "out_of_range"),
        ("#/weeks/0/sessions/0/slots/1/target/of", "unknown"),
        ("#/weeks/0/sessions/1/slots/0/target", "technique_lift"),
    }
    for wrong in ({"weeks": 3}, {"weeks": [3]}, {"weeks": [{"sessions": [{"slots": [None]}]}]}, [], "x"):
        assert coach.post("/v1/templates", json=wrong).status_code == 422


def test_a_year_of_daily_sessions_fits_and_more_than_four_megabytes_do_not(coach):
    day = {"name": "Day", "slots": [SLOTS[0] | {"note": "x" * 60}] * 12}
    year = {"name": "Year", "weeks": [{"sessions": [day] * 7}] * 52}
    assert coach.post("/v1/templates", json=year).status_code == 201
    long = {"name": "Long", "weeks": [{"note": "x" * 2000, "sessions": [{**day, "note": "x" * 2000}] * 14}] * 104}
    assert coach.post("/v1/templates", json=long).status_code == 413


def test_another_gym_finds_nothing_and_a_reader_writes_nothing(coach, gym, other_gym):
    template = made(coach, ref="mine")
    stranger = other_gym.client("coach")
    for path in (f"/v1/templates/{template['id']}", "/v1/templates/ref:mine"):
        for tail in ("", "/versions", "/versions/1", "/versions/latest"):
            assert stranger.get(path + tail).status_code == 404
        assert stranger.patch(path, json={"name": "x"}, headers={"If-Match": "*"}).status_code == 404
        added = stranger.post(f"{path}/versions", json={"weeks": [WEEK]}, headers={"If-Match": "*"})
        assert added.status_code == 404
    assert coach.get(f"/v1/templates/{template['id']}/versions/2").status_code == 404
    assert gym.client("log").post("/v1/templates", json=PLAN).status_code == 403


def test_a_repeat_with_the_same_key_stores_once(coach):
    sent = {"json": PLAN, "headers": {"Idempotency-Key": "one"}}
    first, again = coach.post("/v1/templates", **sent), coach.post("/v1/templates", **sent)
    assert first.content == again.content
    assert len(coach.get("/v1/templates").json()["items"]) == 1


def test_a_cursor_that_somebody_made_up_finds_nothing_worse_than_a_page(coach):
    path = f"/v1/templates/{made(coach)['id']}/versions"
    coach.post(path, json={"weeks": [WEEK]}, headers={"If-Match": '"1"'})
    made(coach, name="Another")
    for address in (path, "/v1/templates"):
        cursor = coach.get(address, params={"limit": 1}).json()["next_page"]
        mark, *_ = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        for values in (["x"], ["9" * 40], ["x", "y", "z"], []):
            forged = base64.urlsafe_b64encode(json.dumps([mark, *values]).encode()).decode().rstrip("=")
            assert coach.get(address, params={"limit": 1, "after": forged}).status_code == 200
