"""A coach pins another curve, and what the log has shown is read by it."""

from __future__ import annotations

import pytest

from tests.lifting import add_athlete


def rolling(coach, athlete: str) -> float:
    """The rolling max of the squat, as the reason of a prescription names it."""
    body = {
        "athlete": athlete,
        "lift": "squat",
        "scheme": {"kind": "sets_at_target", "sets": 1},
        "target": {"kind": "percent", "reps": 3, "percent": 50, "basis": "rolling"},
        "on": "2026-11-25",
    }
    answer = coach.post("/v1/prescriptions", json=body)
    assert answer.status_code == 200, answer.text
    (known,) = [one for one in answer.json()["computed"]["inputs"]["maxes"] if one["basis"] == "rolling"]
    return float(known["load"]["kg"])


def test_another_curve_reads_the_log_anew(coach) -> None:
    athlete = add_athlete(coach, settings={"curve": "default"})
    done = {"lift": "squat", "load": {"value": 100, "unit": "kg"}, "reps": 4, "rpe": 9, "at": "2026-11-20T18:00:00Z"}
    assert coach.post(f"/v1/athletes/{athlete}/sets", json=done).status_code == 201
    # 4 with one left is 5 possible. Default curve: share(5) = (1 + 0.116 x 4)^-0.4 = 0.858586, 100 / 0.858586 = 116.47
    assert rolling(coach, athlete) == pytest.approx(116.47, abs=0.01)
    path = f"/v1/athletes/{athlete}"
    changed = coach.patch(path, json={"settings": {"curve": "epley"}}, headers={"If-Match": "*"})
    assert changed.status_code == 200
    # Epley 1985: 100 x (1 + 5/30) = 116.667
    assert rolling(coach, athlete) == pytest.approx(116.667, abs=0.001)
    # Brzycki 1993: 100 x 36 / (37 - 5) = 112.5
    assert coach.patch(path, json={"settings": {"curve": "brzycki"}}, headers={"If-Match": "*"}).status_code == 200
    assert rolling(coach, athlete) == pytest.approx(112.5, abs=0.001)
