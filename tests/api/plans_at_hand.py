"""An athlete with a max, a template and a block, as several tests need them."""

from __future__ import annotations

from typing import Any

from starlette.testclient import TestClient

TOP: dict[str, Any] = {
    "lift": "squat",
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
    "rest_seconds": 240,
}
OF_DAY: dict[str, Any] = {
    "lift": "pause-squat",
    "tempo": "3-2-x-0",
    "scheme": {"kind": "sets_at_target", "sets": 2},
    "target": {"kind": "percent", "reps": 3, "percent": 60, "basis": "day", "of": "squat"},
}
PLANK: dict[str, Any] = {
    "lift": "plank",
    "accessory": True,
    "scheme": {"kind": "sets_at_target", "sets": 2},
    "target": {"kind": "time", "seconds": 40},
}
LEGS: dict[str, Any] = {"name": "Legs", "note": "Slow down, fast up", "slots": [TOP, OF_DAY, PLANK]}
PUSH: dict[str, Any] = {
    "name": "Push",
    "slots": [
        {
            "lift": "bench-press",
            "scheme": {"kind": "sets_at_target", "sets": 3},
            "target": {"kind": "percent", "reps": 5, "percent": 75, "basis": "tested"},
        }
    ],
}


def athlete(coach: TestClient, name: str = "Runa Fell", **more: Any) -> str:
    """An athlete with a tested squat of 150 kg and a tested bench press of 100 kg; the id."""
    made = coach.post("/v1/athletes", json={"name": name, **more})
    assert made.status_code == 201, made.text
    identity = str(made.json()["id"])
    for lift, kg in (("squat", 150), ("bench-press", 100)):
        body = {"lift": lift, "kind": "tested", "load": {"value": kg, "unit": "kg"}, "date": "2026-11-01"}
        entered = coach.post(f"/v1/athletes/{identity}/maxes", json=body)
        assert entered.status_code == 201, entered.text
    return identity


def template(coach: TestClient, *, weeks: int = 2) -> str:
    """A template with two sessions a week; the id."""
    body = {"name": "Spring", "weeks": [{"sessions": [LEGS, PUSH]}] * weeks}
    made = coach.post("/v1/templates", json=body)
    assert made.status_code == 201, made.text
    return str(made.json()["id"])


def block(coach: TestClient, of: str | None = None, *, start: str = "2026-11-25", weeks: int = 2) -> dict[str, Any]:
    """A block on Wednesdays and Saturdays from Wednesday 25 November 2026; the block with its sessions."""
    body = {
        "template": template(coach, weeks=weeks),
        "athletes": [of or athlete(coach)],
        "start": start,
        "weekdays": ["wednesday", "saturday"],
    }
    made = coach.post("/v1/blocks", json=body)
    assert made.status_code == 201, made.text
    laid: dict[str, Any] = made.json()["items"][0]["block"]
    return laid


def log_top_set(coach: TestClient, session: dict[str, Any], *, rpe: float = 8.5, day: str = "2026-11-25") -> None:
    """Log 127.5 kg for 3 as the top set of a session's first slot."""
    body = {
        "slot": session["slots"][0]["id"],
        "role": "top_set",
        "load": {"value": 127.5, "unit": "kg"},
        "reps": 3,
        "rpe": rpe,
        "at": f"{day}T10:00:00+01:00",
    }
    answer = coach.post(f"/v1/sessions/{session['id']}/sets", json=body)
    assert answer.status_code == 201, answer.text


def loads(slot: dict[str, Any], role: str) -> list[float | None]:
    """The loads of a slot's sets of a role."""
    return [one["load"] and one["load"]["value"] for one in slot["sets"] if one["role"] == role]
