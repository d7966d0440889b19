"""/v1/groups: who trains together, and what a substitute notes about a day."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient


def athlete(coach: TestClient, name: str = "Runa Fell", **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": name, **more})
    assert made.status_code == 201, made.text
    return made.json()["id"]


def group(coach: TestClient, name: str = "Early", **more: Any) -> dict[str, Any]:
    made = coach.post("/v1/groups", json={"name": name, **more})
    assert made.status_code == 201, made.text
    return made.json()


def names(answer: Any) -> list[str]:
    assert answer.status_code == 200, answer.text
    return [one["name"] for one in answer.json()["items"]]


def test_a_group_is_made_read_renamed_and_archived(coach: TestClient) -> None:
    one = group(coach, ref="early")
    path = f"/v1/groups/{one['id']}"
    assert coach.get("/v1/groups/ref:early").json() == one
    assert (one["archived"], one["version"]) == (False, 1)
    renamed = coach.patch(path, json={"name": "Late"}, headers={"If-Match": '"1"'}).json()
    assert (renamed["name"], renamed["ref"], renamed["version"]) == ("Late", "early", 2)
    assert coach.patch(path, json={"name": "Late"}, headers={"If-Match": '"1"'}).status_code == 412
    assert coach.patch(path, json={"name": "Late"}).status_code == 428
    assert coach.patch(path, json={"ref": None}, headers={"If-Match": '"2"'}).json()["ref"] is None
    coach.patch(path, json={"archived": True}, headers={"If-Match": "*"})
    assert names(coach.get("/v1/groups")) == []
    assert names(coach.get("/v1/groups", params={"archived": True})) == ["Late"]
    assert coach.get(path).json()["archived"] is True


def test_groups_are_listed_by_name_page_by_page_and_found_by_a_part_of_it(coach: TestClient) -> None:
    for name in ("North", "East", "West"):
        group(coach, name)
    first = coach.get("/v1/groups", params={"limit": 2}).json()
    rest = coach.get("/v1/groups", params={"limit": 2, "after": first["next_page"]}).json()
    assert [one["name"] for one in first["items"] + rest["items"]] == ["East", "North", "West"]
    assert rest["next_page"] is None
    assert names(coach.get("/v1/groups", params={"q": "est"})) == ["West"]


def test_a_ref_makes_or_replaces_and_the_members_stay(coach: TestClient) -> None:
    first = coach.put("/v1/groups/ref:early", json={"name": "Early"})
    runa = athlete(coach)
    coach.put(f"/v1/groups/ref:early/athletes/{runa}")
    again = coach.put("/v1/groups/ref:early", json={"name": "Earlier"})
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["id"] == again.json()["id"]
    assert names(coach.get("/v1/groups/ref:early/athletes")) == ["Runa Fell"]
    by_id = f"/v1/groups/{first.json()['id']}"
    assert coach.put(by_id, json={"name": "Earliest"}).status_code == 428
    assert coach.put(by_id, json={"name": "Earliest"}, headers={"If-Match": '"2"'}).json()["name"] == "Earliest"


def test_two_groups_cannot_have_one_ref(coach: TestClient) -> None:
    group(coach, ref="early")
    assert coach.post("/v1/groups", json={"name": "Other", "ref": "early"}).status_code == 409
    other = group(coach, "Other")
    refused = coach.patch(f"/v1/groups/{other['id']}", json={"ref": "early"}, headers={"If-Match": "*"})
    assert refused.status_code == 409


def test_a_repeat_with_the_same_key_makes_one_group(coach: TestClient) -> None:
    sent: dict[str, Any] = {"json": {"name": "Early"}, "headers": {"Idempotency-Key": "once"}}
    assert coach.post("/v1/groups", **sent).content == coach.post("/v1/groups", **sent).content
    assert names(coach.get("/v1/groups")) == ["Early"]


def test_athletes_come_and_go_and_repeats_change_nothing(coach: TestClient) -> None:
    one, runa, odd = group(coach), athlete(coach), athlete(coach, "Odd Hammer", ref="odd")
    path = f"/v1/groups/{one['id']}/athletes"
    first = coach.put(f"{path}/{runa}")
    assert (first.status_code, coach.put(f"{path}/{runa}").status_code) == (201, 200)
    assert (first.json()["athlete"], first.json()["group"]) == (runa, one["id"])
    coach.put(f"{path}/ref:odd")
    assert names(coach.get(path)) == ["Odd Hammer", "Runa Fell"]
    page = coach.get(path, params={"limit": 1}).json()
    assert names(coach.get(path, params={"limit": 1, "after": page["next_page"]})) == ["Runa Fell"]
    assert coach.delete(f"{path}/{runa}").status_code == 204
    assert coach.delete(f"{path}/{runa}").status_code == 204
    assert names(coach.get(path)) == ["Odd Hammer"]
    assert coach.get(f"/v1/athletes/{odd}").status_code == 200


def test_an_archived_athlete_leaves_the_groups_list_and_comes_back(coach: TestClient) -> None:
    one, runa = group(coach), athlete(coach)
    path = f"/v1/groups/{one['id']}/athletes"
    coach.put(f"{path}/{runa}")
    coach.patch(f"/v1/athletes/{runa}", json={"archived": True}, headers={"If-Match": "*"})
    assert names(coach.get(path)) == []
    other = group(coach, "Other")["id"]
    assert coach.put(f"/v1/groups/{other}/athletes/{runa}").status_code == 409
    coach.patch(f"/v1/athletes/{runa}", json={"archived": False}, headers={"If-Match": "*"})
    assert names(coach.get(path)) == ["Runa Fell"]
    assert names(coach.get(f"/v1/groups/{other}/athletes")) == []


def test_athletes_are_listed_by_group(coach: TestClient) -> None:
    one, runa = group(coach, ref="early"), athlete(coach)
    athlete(coach, "Odd Hammer")
    coach.put(f"/v1/groups/{one['id']}/athletes/{runa}")
    assert names(coach.get("/v1/athletes", params={"group": "ref:early"})) == ["Runa Fell"]
    assert names(coach.get("/v1/athletes", params={"group": one["id"], "q": "Odd"})) == []
    assert coach.get("/v1/athletes", params={"group": "ref:late"}).status_code == 404


def test_a_substitute_notes_a_day_and_the_next_one_is_told_who_did(coach: TestClient, gym) -> None:
    path = f"/v1/groups/{group(coach)['id']}/notes"
    phone = gym.client("log")
    first = phone.put(f"{path}/2026-11-23", json={"text": "A loose collar."})
    assert (first.status_code, first.json()["made_by"], first.json()["version"]) == (201, "log key", 1)
    assert phone.put(f"{path}/2026-11-23", json={"text": "A loose collar."}).json() == first.json()  # a retry
    untold = coach.put(f"{path}/2026-11-23", json={"text": "Mended."})
    assert (untold.status_code, untold.headers["etag"]) == (428, '"1"')
    again = coach.put(f"{path}/2026-11-23", json={"text": "Mended."}, headers={"If-Match": '"1"'})
    assert (again.status_code, again.json()["made_by"], again.json()["version"]) == (200, "coach key", 2)
    assert again.json()["created_at"] == first.json()["created_at"]
    unseen = phone.put(f"{path}/2026-11-23", json={"text": "Loose again."}, headers={"If-Match": '"1"'})
    assert unseen.status_code == 412
    assert phone.put(f"{path}/2026-11-23", json={"text": "Loose again."}).status_code == 428
    assert phone.put(f"{path}/2026-11-23", json={"text": "Mended."}).json() == again.json()  # nothing to write over
    assert phone.delete(f"{path}/2026-11-23").status_code == 428
    assert phone.delete(f"{path}/2026-11-23", headers={"If-Match": '"1"'}).status_code == 412
    assert coach.get(path).json()["items"] == [again.json()]
    assert phone.delete(f"{path}/2026-11-23", headers={"If-Match": '"2"'}).status_code == 204
    assert gym.client("read").put(f"{path}/2026-11-23", json={"text": "No."}).status_code == 403


@pytest.mark.parametrize("day", ["2026-02-30", "2050-02-20", "1899-12-31", "tomorrow"])
def test_a_day_in_an_address_that_is_none_is_named(coach: TestClient, day: str) -> None:
    path = f"/v1/groups/{group(coach)['id']}/notes/{day}"
    answer = coach.put(path, json={"text": "A loose collar."})
    assert answer.status_code == 422
    (wrong,) = answer.json()["errors"]
    assert wrong["parameter"] == "date"
    assert wrong["detail"].startswith("must be a day")
    assert coach.delete(path, headers={"If-Match": "*"}).status_code == 422
    # What is wrong with the rest of the address is still nothing that there is.
    assert coach.put(f"/v1/groups/no group/notes/{day}", json={"text": "A loose collar."}).status_code == 404


def test_notes_are_listed_the_newest_day_first_within_days(coach: TestClient) -> None:
    path = f"/v1/groups/{group(coach)['id']}/notes"
    for day in (21, 23, 22):
        coach.put(f"{path}/2026-11-{day}", json={"text": f"Day {day}"})

    def texts(**query: Any) -> list[str]:
        return [one["text"] for one in coach.get(path, params=query).json()["items"]]

    assert texts() == ["Day 23", "Day 22", "Day 21"]
    assert texts(**{"from": "2026-11-22", "to": "2026-11-22"}) == ["Day 22"]
    page = coach.get(path, params={"limit": 2}).json()
    assert texts(limit=2, after=page["next_page"]) == ["Day 21"]
    assert coach.delete(f"{path}/2026-11-22", headers={"If-Match": "*"}).status_code == 204
    assert coach.delete(f"{path}/2026-11-22", headers={"If-Match": "*"}).status_code == 404
    assert texts() == ["Day 23", "Day 21"]


@pytest.mark.parametrize(
    ("body", "wrong"),
    [
        ({}, "#/name"),
        ({"name": ""}, "#/name"),
        ({"name": "A", "ref": "a b"}, "#/ref"),
        ({"name": "A", "of": 1}, "#/of"),
    ],
)
def test_a_wrong_field_is_named_and_nothing_is_stored(coach: TestClient, body: Any, wrong: str) -> None:
    answer = coach.post("/v1/groups", json=body)
    assert answer.status_code == 422
    assert [one["pointer"] for one in answer.json()["errors"]] == [wrong]
    assert names(coach.get("/v1/groups")) == []


def test_another_gym_and_a_bound_key_find_no_group(coach: TestClient, gym, other_gym) -> None:
    one, runa = group(coach), athlete(coach)
    stranger = other_gym.client("owner")
    theirs = stranger.post("/v1/athletes", json={"name": "Other"}).json()["id"]
    assert stranger.get(f"/v1/groups/{one['id']}").status_code == 404
    assert stranger.put(f"/v1/groups/{one['id']}/athletes/{theirs}").status_code == 404
    assert coach.put(f"/v1/groups/{one['id']}/athletes/{theirs}").status_code == 404
    key = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": runa}).json()["key"]
    bound = TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})
    for path in ("/v1/groups", f"/v1/groups/{one['id']}", f"/v1/groups/{one['id']}/notes"):
        assert bound.get(path).status_code == 403
