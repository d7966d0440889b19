"""One of everything in a gym, made over HTTP, so that each operation of the document can be tried on real things."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from starlette.testclient import TestClient

HALL = {
    "name": "Quarry hall",
    "ref": "quarry",
    "bars": [{"name": "bar", "load": {"value": 20, "unit": "kg"}}],
    "collars": {"value": 0, "unit": "kg"},
    "plates": [{"load": {"value": kg, "unit": "kg"}, "count": 4} for kg in (20, 10, 5, 2.5, 1.25)],
}
SLOT = {
    "lift": "squat",
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
}
TEMPLATE = {"name": "Two days", "ref": "two-days", "weeks": [{"sessions": [{"name": "Legs", "slots": [SLOT]}] * 2}]}
ASKED = {"/v1/athletes/{athlete}/load-list": "?lift=squat"}
"""What has to be asked beside a path."""


@dataclass(frozen=True)
class World:
    """Path parameters by name, each leading to a thing of one gym."""

    ids: dict[str, str]

    def path(self, template: str) -> str:
        """A path of the document with this world's things in it."""
        path = template
        for name, value in self.ids.items():
            path = path.replace("{" + name + "}", value)
        if "{" in path:
            raise AssertionError(f"{template}: teach tests/contract/world.py to make this thing")
        return path + ASKED.get(template, "")


def build(coach: TestClient, owner: TestClient) -> World:
    """Make one of everything."""

    def made(client: TestClient, path: str, body: dict[str, Any]) -> dict[str, Any]:
        answer = client.post(path, json=body)
        if answer.status_code not in (200, 201):
            raise AssertionError(f"{path}: {answer.status_code} {answer.text}")
        return dict(answer.json())

    place = made(coach, "/v1/places", HALL)
    athlete = made(coach, "/v1/athletes", {"name": "Tuva", "ref": "tuva", "place": place["id"]})["id"]
    lift = coach.put("/v1/lifts/log-press", json={"name": "Log press", "load_kind": "total"})
    if lift.status_code != 201:
        raise AssertionError(lift.text)
    one = made(
        coach,
        f"/v1/athletes/{athlete}/maxes",
        {"lift": "squat", "kind": "tested", "load": {"value": 120, "unit": "kg"}, "date": "2026-10-01"},
    )
    override = made(
        coach,
        f"/v1/athletes/{athlete}/overrides",
        {"kind": "cap", "lift": "squat", "load": {"value": 110, "unit": "kg"}, "until": "2027-01-31", "reason": "Back"},
    )
    absence = made(
        coach, f"/v1/athletes/{athlete}/absences", {"kind": "holiday", "from": "2026-08-03", "until": "2026-08-23"}
    )
    group = made(coach, "/v1/groups", {"name": "Early evening"})["id"]
    coach.put(f"/v1/groups/{group}/athletes/{athlete}")
    coach.put(f"/v1/groups/{group}/notes/2026-11-01", json={"text": "A loose collar on the light bar."})
    template = made(coach, "/v1/templates", TEMPLATE)["id"]
    block = made(
        coach,
        "/v1/blocks",
        {"template": template, "athletes": [athlete], "start": "2026-11-23", "weekdays": ["monday", "thursday"]},
    )["items"][0]["block"]
    session, planned = (one["id"] for one in coach.get(f"/v1/blocks/{block['id']}/sessions").json()["items"])
    slot = coach.get(f"/v1/sessions/{session}").json()["slots"][0]["id"]
    logged = made(
        coach,
        f"/v1/sessions/{session}/sets",
        {"lift": "squat", "role": "top_set", "load": {"value": 100, "unit": "kg"}, "reps": 3, "rpe": 8},
    )
    key = made(owner, "/v1/keys", {"name": "till", "right": "read"})
    coach.put(f"/v1/athletes/{athlete}/body-weights/2026-11-01", json={"load": {"value": 70, "unit": "kg"}})
    return World(
        {
            "absence": absence["id"],
            "athlete": athlete,
            "date": "2026-11-01",
            "group": group,
            "lift": "log-press",
            "place": place["id"],
            "max": one["id"],
            "override": override["id"],
            "template": template,
            "version": "1",
            "block": block["id"],
            "session": session,
            "planned session": planned,
            "slot": slot,
            "set": logged["set"]["id"],
            "key": key["id"],
        }
    )
