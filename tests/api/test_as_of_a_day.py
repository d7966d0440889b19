"""`?on=`: what depends on the day is answered as it would be on another one; all days here have long passed."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.api.plans_at_hand import athlete, template
from tests.lifting import add_max, kg

HARDER = {"operations": [{"kind": "shift_effort", "rpe_points": 0.5}]}


@pytest.fixture
def block(coach: TestClient) -> dict[str, Any]:
    """Four weeks from Monday 2 March 2026 on; two sessions a week."""
    order = {
        "template": template(coach, weeks=4),
        "athletes": [athlete(coach)],
        "start": "2026-03-02",
        "weekdays": ["monday", "thursday"],
    }
    made = coach.post("/v1/blocks", json=order)
    assert made.status_code == 201, made.text
    found: dict[str, Any] = made.json()["items"][0]["block"]
    return found


def log(coach: TestClient, of: str, *days: str) -> None:
    for on in days:
        body = {"lift": "bench-press", "role": "top_set", "load": kg(90), "reps": 3, "rpe": 8}
        made = coach.post(f"/v1/athletes/{of}/sets", json={**body, "at": f"{on}T18:00:00+01:00"})
        assert made.status_code == 201, made.text


def test_a_new_version_means_something_for_those_who_were_running_that_day(coach: TestClient, block: Any) -> None:
    path = f"/v1/templates/{block['template']}/changes?dry_run=true"
    assert coach.post(path, json=HARDER).json()["running"] == []
    (line,) = coach.post(f"{path}&on=2026-03-11", json=HARDER).json()["running"]
    assert (line["week"], line["last_week"], line["weeks_left"]) == (2, 4, 2)


def test_blocks_are_moved_as_they_ran_that_day(coach: TestClient, block: Any) -> None:
    changed = coach.post(f"/v1/templates/{block['template']}/changes", json=HARDER, headers={"If-Match": "*"})
    assert changed.status_code == 201
    order = {"template": block["template"], "all": True}
    assert coach.post("/v1/version-moves?dry_run=true", json=order).json()["items"] == []
    (moved,) = coach.post("/v1/version-moves?on=2026-03-11", json=order).json()["items"]
    assert (moved["block"], moved["from_week"]) == (block["id"], 3)
    # The squat's effort stands once a week: in weeks 3 and 4.
    assert [(one["week"], one["what"]) for one in moved["changed"]] == [(3, "changed"), (4, "changed")]


def test_a_blocks_loads_are_looked_ahead_at_from_that_day(coach: TestClient, block: Any) -> None:
    add_max(coach, block["athlete"])
    add_max(coach, block["athlete"], "bench-press", 100)
    log(coach, block["athlete"], "2026-02-26")
    looked = coach.get(f"/v1/blocks/{block['id']}/preview?on=2026-03-01&to=2026-03-26").json()
    assert looked["on"] == "2026-03-01"
    # Nobody was away: the days between that day and the sessions are no gap in training.
    assert [one["cautions"] for one in looked["sessions"]] == [[]] * 8
    assert [one["slots"][0]["work"][0]["sets"] for one in looked["sessions"] if one["name"] == "Push"] == [3] * 4


def test_the_way_back_is_looked_at_before_it_began(coach: TestClient, block: Any) -> None:
    log(coach, block["athlete"], "2026-03-02", "2026-03-05", "2026-03-26", "2026-04-09")
    away = {"kind": "illness", "from": "2026-03-06", "until": "2026-03-19"}
    made = coach.post(f"/v1/athletes/{block['athlete']}/absences", json=away).json()
    path = f"/v1/absences/{made['id']}/return"
    assert (coach.get(path).json()["expected"], coach.get(path).json()["sessions"]) == (False, [])
    ahead = coach.get(f"{path}?on=2026-03-18").json()
    assert (ahead["expected"], ahead["back"], ahead["absent_days"]) == (True, "2026-03-20", 14)
    # Thursday and Monday are laid out; of a way back of 7 days, half of 14, they are the sessions from the 20th on.
    assert [one["date"] for one in ahead["sessions"]] == ["2026-03-23", "2026-03-26"]
