"""A block's loads before it is lifted."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store.session import Database
from tests.counting import statements
from tests.lifting import add_athlete, add_max, kg

PERCENT = {"kind": "percent", "reps": 3, "percent": 80, "basis": "tested"}
TEMPLATE = {
    "name": "Three weeks",
    "weeks": [
        {
            "sessions": [
                {
                    "name": "Legs",
                    "slots": [
                        {
                            "lift": "squat",
                            "scheme": {"kind": "sets_at_target", "sets": 3},
                            "target": {**PERCENT, "percent": percent},
                        },
                        {
                            "lift": "bench-press",
                            "scheme": {"kind": "top_set"},
                            "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
                        },
                    ],
                }
            ]
        }
        for percent in (80, 82, 84)
    ],
}


@pytest.fixture
def block(coach: TestClient) -> dict[str, Any]:
    """Laid out from next week on, for somebody with a squat of 200 and a bench press of 150 kg."""
    athlete = add_athlete(coach)
    add_max(coach, athlete, value=200)
    add_max(coach, athlete, lift="bench-press", value=150)
    template = coach.post("/v1/templates", json=TEMPLATE).json()["id"]
    start = datetime.now(UTC).date() + timedelta(days=7)
    order = {"template": template, "athletes": [athlete], "start": str(start), "weekdays": ["monday"]}
    made = coach.post("/v1/blocks", json=order)
    assert made.status_code == 201, made.text
    found: dict[str, Any] = made.json()["items"][0]["block"]
    return found


def loads(body: dict[str, Any], at: int) -> list[float]:
    """The loads of one slot through the sessions."""
    return [one["slots"][at]["work"][0]["load"]["value"] for one in body["sessions"]]


def test_a_whole_block_shows_its_loads_by_what_is_known_today(coach: TestClient, block: dict[str, Any]) -> None:
    answer = coach.get(f"/v1/blocks/{block['id']}/preview")
    assert answer.status_code == 200, answer.text
    body = answer.json()
    # 80, 82 and 84 % of 200 kg
    assert loads(body, 0) == [160, 165, 167.5]
    assert [one["slots"][0]["work"][0]["sets"] for one in body["sessions"]] == [3, 3, 3]
    assert [one["date"] for one in body["sessions"]] == [one["date"] for one in block["sessions"]]
    assert body["sessions"][0]["slots"][0]["work"][0]["range"] is None, "a percentage of a tested max is no estimate"


def test_what_is_an_estimate_has_a_range_that_widens_with_the_days(coach: TestClient, block: dict[str, Any]) -> None:
    logged = {"lift": "bench-press", "role": "top_set", "load": kg(125), "reps": 3, "rpe": 8}
    coach.post(f"/v1/athletes/{block['athlete']}/sets", json=logged)
    body = coach.get(f"/v1/blocks/{block['id']}/preview").json()
    ranges = [one["slots"][1]["work"][0]["range"] for one in body["sessions"]]
    wide = [one["high"]["kg"] - one["low"]["kg"] for one in ranges]
    assert wide == sorted(wide)
    assert wide[-1] > wide[0]


def test_it_is_told_in_the_unit_that_is_asked_for_and_for_the_days_that_are(
    coach: TestClient, block: dict[str, Any]
) -> None:
    second = block["sessions"][1]["date"]
    body = coach.get(f"/v1/blocks/{block['id']}/preview?unit=lb&from={second}&to={second}").json()
    assert (body["unit"], [one["date"] for one in body["sessions"]]) == ("lb", [second])
    # plates hang as they are, in kilograms here; all is told in pounds: 125 kg / 0.45359237 are 275.578 lb
    work = body["sessions"][0]["slots"][1]["work"][0]
    assert work["load"] == {"value": 275.578, "unit": "lb", "kg": 125}
    likely = work["range"]
    assert (likely["low"]["unit"], likely["high"]["unit"]) == ("lb", "lb")
    assert likely["low"]["value"] < work["load"]["value"] < likely["high"]["value"]


def test_days_that_end_before_they_begin_are_refused(coach: TestClient, block: dict[str, Any]) -> None:
    first, second = (one["date"] for one in block["sessions"][:2])
    answer = coach.get(f"/v1/blocks/{block['id']}/preview?from={second}&to={first}")
    assert answer.status_code == 422
    (wrong,) = answer.json()["errors"]
    assert (wrong["parameter"], wrong["detail"]) == ("to", f"must not be before {second}")


def test_who_counts_in_pounds_reads_loads_of_plates_in_kilograms_in_pounds(
    coach: TestClient, block: dict[str, Any]
) -> None:
    hall = coach.post("/v1/places", json={"name": "Hall", "bars": [{"name": "bar", "load": kg(20)}], "plates": PLATES})
    assert hall.status_code == 201, hall.text
    path = f"/v1/athletes/{block['athlete']}"
    changed = coach.patch(
        path, json={"unit": "lb", "place": hall.json()["id"]}, headers={"If-Match": coach.get(path).headers["ETag"]}
    )
    assert changed.status_code == 200, changed.text
    body = coach.get(f"/v1/blocks/{block['id']}/preview").json()
    shown = [load for one in body["sessions"] for slot in one["slots"] for load in units(slot["work"][0])]
    assert (body["unit"], set(shown)) == ("lb", {"lb"})
    # 160 and 165 kg are 352.740 and 363.763 lb; the bar stays the one that hangs
    assert loads(body, 0)[:2] == [352.74, 363.763]
    assert body["sessions"][0]["slots"][0]["work"][0]["load"]["kg"] == 160


def test_a_place_whose_plates_end_too_early_is_told_lift_by_lift(coach: TestClient, block: dict[str, Any]) -> None:
    """20 + 2 x 20 = 60 kg are all there is: for 80 % of 200 kg, and for a bench press of 150 kg too."""
    place = {"name": "Cellar", "bars": [{"load": kg(20)}], "plates": [{"load": kg(20), "count": 2}]}
    made = coach.post("/v1/places", json=place).json()["id"]
    path = f"/v1/athletes/{block['athlete']}"
    assert coach.patch(path, json={"place": made}, headers={"If-Match": "*"}).status_code == 200
    body = coach.get(f"/v1/blocks/{block['id']}/preview").json()
    told = [one["text"] for one in body["sessions"][0]["cautions"] if one["code"] == "heaviest_too_light"]
    assert next(one[: one.index(" was meant")] for one in told) == (
        "In the squat the plates here reach 60 kg at most, and 160 kg"
    )
    assert told[1].startswith("In the bench press the plates here reach 60 kg at most, and ")


PLATES = [{"load": kg(value), "count": 8} for value in (25, 10, 5, 2.5, 1.25)]


def units(work: dict[str, Any]) -> list[str]:
    """The units of a load and of its range."""
    likely = work["range"] or {}
    return [one["unit"] for one in (work["load"], likely.get("low"), likely.get("high")) if one is not None]


def test_a_decision_acts_on_the_days_that_it_is_for(coach: TestClient, block: dict[str, Any]) -> None:
    first, second, _ = (one["date"] for one in block["sessions"])
    cap = {"kind": "cap", "lift": "squat", "load": kg(140), "reason": "Lighter for now", "from": first}
    until = date.fromisoformat(second) - timedelta(days=1)
    made = coach.post(f"/v1/athletes/{block['athlete']}/overrides", json={**cap, "until": str(until)})
    assert made.status_code == 201, made.text
    assert loads(coach.get(f"/v1/blocks/{block['id']}/preview").json(), 0) == [140, 165, 167.5]


def test_sessions_that_were_done_or_skipped_are_not_to_come(coach: TestClient, block: dict[str, Any]) -> None:
    first, second, third = (one["id"] for one in block["sessions"])
    coach.patch(f"/v1/sessions/{first}", json={"state": "skipped"})
    coach.patch(f"/v1/sessions/{second}", json={"state": "open"})
    body = coach.get(f"/v1/blocks/{block['id']}/preview").json()
    assert [one["id"] for one in body["sessions"]] == [third]


def test_only_the_lifter_and_the_gym_see_it(coach: TestClient, block: dict[str, Any]) -> None:
    assert coach.get("/v1/blocks/01a22400-77f5-7ab1-9098-faa9f8de5e6d/preview").status_code == 404
    assert coach.get(f"/v1/blocks/{block['id']}/preview?unit=stone").status_code == 422


def test_loads_that_grow_are_shown_as_if_all_sets_were_complete(coach: TestClient) -> None:
    grows = {"when": "all_sets_complete", "step": kg(2.5)}
    slot = {
        "lift": "squat",
        "scheme": {"kind": "sets_at_target", "sets": 3, "add_load": grows},
        "target": {"kind": "load", "reps": 5, "load": kg(40)},
    }
    weeks = [{"sessions": [{"name": "Legs", "slots": [slot]}]}] * 4
    template = coach.post("/v1/templates", json={"name": "First steps", "weeks": weeks}).json()["id"]
    start = datetime.now(UTC).date() + timedelta(days=7)
    order = {"template": template, "athletes": [add_athlete(coach)], "start": str(start), "weekdays": ["monday"]}
    block = coach.post("/v1/blocks", json=order).json()["items"][0]["block"]
    path = f"/v1/blocks/{block['id']}/preview"
    assert loads(coach.get(path).json(), 0) == [40, 42.5, 45, 47.5]
    third = block["sessions"][2]["date"]
    assert loads(coach.get(f"{path}?from={third}").json(), 0) == [45, 47.5], "what comes before counts"


def test_a_long_block_is_shown_in_as_many_statements_as_a_short_one(
    coach: TestClient, block: dict[str, Any], database: Database
) -> None:
    path = f"/v1/blocks/{block['id']}/preview"
    until = block["sessions"][1]["date"]
    counts = []
    for query in (f"?to={until}", ""):
        with statements(database) as seen:
            shown = coach.get(path + query)
        assert shown.status_code == 200, shown.text
        counts.append((len(shown.json()["sessions"]), len(seen)))
    assert [sessions for sessions, _ in counts] == [2, 3]
    assert counts[0][1] == counts[1][1]
