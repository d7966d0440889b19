"""/v1/maxes: tested and training maxes, and those in force on a day."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store.ids import new_id


def athlete(coach: TestClient, **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": "Runa Fell", **more})
    assert made.status_code == 201, made.text
    return made.json()["id"]


def body(**more: Any) -> dict[str, Any]:
    usual = {"lift": "squat", "kind": "tested", "load": {"value": 150, "unit": "kg"}, "date": "2026-11-01"}
    return {name: value for name, value in (usual | more).items() if value is not None}


def pointers(answer: Any) -> dict[str, str]:
    assert answer.status_code == 422, answer.text
    return {one["pointer"]: one["code"] for one in answer.json()["errors"]}


def test_a_max_is_entered_read_corrected_and_removed(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    made = coach.post(path, json=body(source="Autumn meet", support=["belt", "wraps"]))
    assert made.status_code == 201
    one = made.json()
    assert made.headers["location"] == f"/v1/maxes/{one['id']}"
    assert (one["support"], one["support_class"], one["source"]) == (["belt", "wraps"], "wraps", "Autumn meet")
    assert one["load"] == {"value": 150, "unit": "kg", "kg": 150}
    assert coach.get(f"/v1/maxes/{one['id']}").json() == one

    changes = {"load": {"value": 335, "unit": "lb"}, "source": None, "support": ["sleeves"]}
    changed = coach.patch(f"/v1/maxes/{one['id']}", json=changes, headers={"If-Match": '"1"'}).json()
    # 335 lb x 0.45359237 kg = 151.95344395 kg
    assert changed["load"] == {"value": 335, "unit": "lb", "kg": 151.953}
    assert (changed["source"], changed["support_class"], changed["version"]) == (None, "unsupported", 2)

    assert coach.delete(f"/v1/maxes/{one['id']}").status_code == 428
    assert coach.delete(f"/v1/maxes/{one['id']}", headers={"If-Match": '"1"'}).status_code == 412
    assert coach.patch(f"/v1/maxes/{one['id']}", json={}, headers={"If-Match": '"1"'}).status_code == 412
    assert coach.delete(f"/v1/maxes/{one['id']}", headers={"If-Match": '"2"'}).status_code == 204
    assert coach.get(f"/v1/maxes/{one['id']}").status_code == 404


def test_those_in_force_on_a_day_are_the_newest_of_each_lift_kind_and_class(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    for kg, day, more in (
        (140, "2026-09-01", {}),
        (150, "2026-11-01", {}),
        (151, "2026-11-01", {}),  # entered later for the same day: counts
        (160, "2026-11-20", {}),
        (165, "2026-08-01", {"support": ["wraps"]}),
        (130, "2026-10-01", {"kind": "training"}),
        (100, "2026-10-01", {"lift": "bench-press"}),
    ):
        made = coach.post(path, json=body(load={"value": kg, "unit": "kg"}, date=day, **more))
        assert made.status_code == 201, made.text

    def loads(**query: str) -> list[float]:
        return [one["load"]["value"] for one in coach.get(path, params=query).json()["items"]]

    assert loads() == [160, 151, 150, 100, 130, 140, 165]  # the newest first; of one day the later entered
    assert sorted(loads(on="2026-11-10")) == [100, 130, 151, 165]
    assert sorted(loads(on="2026-09-10")) == [140, 165]
    assert loads(on="2026-11-10", lift="squat", support="unsupported") == [151, 130]
    assert loads(lift="bench-press") == [100]
    assert loads(support="wraps") == [165]


def test_a_list_is_read_page_by_page(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    for day in range(1, 6):
        coach.post(path, json=body(date=f"2026-11-0{day}"))
    seen, after = [], {}
    for _ in range(3):
        page = coach.get(path, params={"limit": 2, **after}).json()
        seen += [one["date"] for one in page["items"]]
        after = {"after": page["next_page"]}
    assert seen == [f"2026-11-0{day}" for day in (5, 4, 3, 2, 1)]
    assert page["next_page"] is None


def test_a_training_max_may_be_a_percentage_of_the_tested_one(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    coach.post(path, json=body(load={"value": 150, "unit": "kg"}, date="2026-10-01"))
    coach.post(path, json=body(load={"value": 180, "unit": "kg"}, date="2026-11-20"))
    coach.post(path, json=body(load={"value": 200, "unit": "kg"}, date="2026-10-01", support=["suit"]))
    made = coach.post(path, json=body(kind="training", load=None, percent=92.5)).json()
    # 92.5 % of 150 kg, in force on the first of November, is 138.75 kg
    assert made["load"] == {"value": 138.75, "unit": "kg", "kg": 138.75}
    assert made["source"] == "92.5 % of the tested max of 150 kg of 2026-10-01"
    said = coach.post(path, json=body(kind="training", load=None, percent=90, source="Deload", support=["suit"])).json()
    # 90 % of 200 kg
    assert said["load"]["value"] == 180
    assert said["source"] == "Deload; 90 % of the tested max of 200 kg of 2026-10-01"


def test_a_percentage_of_a_bodyweight_max_counts_the_body_with_it(coach: TestClient) -> None:
    person = athlete(coach)
    path = f"/v1/athletes/{person}/maxes"
    dip = {"lift": "dip", "load": {"value": 40, "unit": "kg"}}
    coach.post(path, json=body(**dip))
    ask = body(lift="dip", kind="training", load=None, percent=90)
    assert pointers(coach.post(path, json=ask)) == {"#/percent": "unfit"}
    coach.put(f"/v1/athletes/{person}/body-weights/2026-10-20", json={"load": {"value": 80, "unit": "kg"}})
    made = coach.post(path, json=ask).json()
    # 90 % of 80 + 40 kg is 108 kg, of which the body is 80 kg
    assert made["load"]["value"] == 28


def test_assistance_is_negative_for_bodyweight_lifts_only(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    assisted = {"value": -15, "unit": "kg"}
    assert coach.post(path, json=body(lift="pull-up", load=assisted)).status_code == 201
    assert pointers(coach.post(path, json=body(load=assisted))) == {"#/load/value": "unfit"}


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"lift": "no-such-lift"}, {"#/lift": "unknown"}),
        ({"lift": "plank"}, {"#/load": "unfit"}),
        ({"load": {"value": 3, "unit": "step"}}, {"#/load/unit": "unfit"}),
        ({"lift": "leg-press", "load": {"value": 3, "unit": "step"}}, {"#/load/unit": "unfit"}),
        ({"load": {"value": 0, "unit": "kg"}}, {"#/load/value": "unfit"}),
        ({"load": {"value": 150}}, {"#/load/unit": "required"}),
        ({"load": None}, {"#/load": "one_of"}),
        ({"percent": 90}, {"#/percent": "one_of"}),
        ({"load": None, "percent": 90}, {"#/percent": "not_here"}),
        ({"load": None, "percent": 0.9, "kind": "training"}, {"#/percent": "out_of_range"}),
        ({"load": None, "percent": 90, "kind": "training"}, {"#/percent": "unfit"}),
        ({"date": "1492-10-12"}, {"#/date": "out_of_range"}),
        ({"date": None, "kind": "best"}, {"#/date": "required", "#/kind": "not_one_of"}),
        ({"colour": "red"}, {"#/colour": "unknown_member"}),
        ({"support": ["none", "wraps"]}, {"#/support": "repeated"}),
    ],
)  # fmt: skip
def test_a_wrong_field_is_named_and_nothing_is_stored(coach: TestClient, more: Any, wrong: Any) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    assert pointers(coach.post(path, json=body(**more))) == wrong
    assert coach.get(path).json()["items"] == []


def test_a_technique_lift_may_have_a_tested_max(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    assert coach.post(path, json=body(lift="snatch", load={"value": 100, "unit": "kg"})).status_code == 201


def test_a_repeat_with_the_same_key_stores_once(coach: TestClient) -> None:
    path = f"/v1/athletes/{athlete(coach)}/maxes"
    sent: dict[str, Any] = {"json": body(), "headers": {"Idempotency-Key": "one-action"}}
    first, again = coach.post(path, **sent), coach.post(path, **sent)
    assert first.content == again.content
    assert len(coach.get(path).json()["items"]) == 1


def test_another_gym_and_a_bound_key_of_another_athlete_find_nothing(coach, gym, other_gym) -> None:
    mine, hers = athlete(coach), athlete(coach)
    made = coach.post(f"/v1/athletes/{hers}/maxes", json=body()).json()
    stranger = other_gym.client("owner")
    assert stranger.get(f"/v1/maxes/{made['id']}").status_code == 404
    assert stranger.get(f"/v1/athletes/{hers}/maxes").status_code == 404
    assert stranger.post(f"/v1/athletes/{hers}/maxes", json=body()).status_code == 404
    removed = stranger.delete(f"/v1/maxes/{made['id']}", headers={"If-Match": "*"})
    assert removed.status_code == 404
    assert coach.get(f"/v1/maxes/{new_id()}").status_code == 404
    bound = bound_client(gym, mine)
    assert bound.get(f"/v1/maxes/{made['id']}").status_code == 404
    assert bound.get(f"/v1/athletes/{hers}/maxes").status_code == 404
    assert bound.get(f"/v1/athletes/{mine}/maxes").status_code == 200
    assert gym.client("log").post(f"/v1/athletes/{hers}/maxes", json=body()).status_code == 403


def bound_client(gym: Any, athlete_id: str) -> TestClient:
    """A client with a key that is bound to one athlete."""
    made = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": athlete_id})
    assert made.status_code == 201, made.text
    return TestClient(gym.app, headers={"Authorization": f"Bearer {made.json()['key']}"})
