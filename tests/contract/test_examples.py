"""Each example of the document is sent, and answers well."""

from __future__ import annotations

import re
from typing import Any

from service.store.ids import new_id
from tests.contract.world import build

METHODS = ("post", "put", "patch")
NAMED = re.compile(r"ref:.+|[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def examples(app):
    return [
        (path, method, operation, name, example["value"])
        for path, item in app.openapi()["paths"].items()
        for method, operation in item.items()
        if method in METHODS and "requestBody" in operation
        for name, example in next(iter(operation["requestBody"]["content"].values()))["examples"].items()
    ]


def fitted(value: Any, ids: dict[str, str], member: str = "") -> Any:
    """An example with things that exist in place of those that it invents."""
    if isinstance(value, dict):
        return {name: fitted(inner, ids, name) for name, inner in value.items()}
    if isinstance(value, list):
        inner = [fitted(one, ids, member.removesuffix("s")) for one in value]
        return list(dict.fromkeys(inner)) if all(isinstance(one, str) for one in inner) else inner
    if isinstance(value, str) and NAMED.fullmatch(value):
        return str(new_id()) if member == "id" else ids.get(member, value)
    return value


def test_each_example_is_taken(app, make_gym, owner_engine) -> None:
    refused, world = [], None
    for path, method, operation, name, value in examples(app):
        if world is None or method != "post":  # a change may spoil what the next example needs
            gym = make_gym(owner_engine, app)
            client = gym.client("owner")
            world = build(gym.client("coach"), client)
        headers = {"If-Match": "*"}
        target = world.path(path)
        if path == "/v1/sessions/{session}" and (value.get("state") in ("open", "skipped") or "date" in value):
            target = f"/v1/sessions/{world.ids['planned session']}"
        if method == "put" and path == "/v1/templates/{template}":
            target = "/v1/templates/ref:two-days"
        if method == "put" and path == "/v1/sets/{set}":
            target = f"/v1/sets/{new_id()}"
        if method == "put" and path == "/v1/lifts/{lift}":
            headers = {}
            target = "/v1/lifts/own-lift"
        if "doubt" in value:  # something must be asked about the set
            slip = {"lift": "squat", "load": {"value": 1000, "unit": "kg"}, "reps": 3, "rpe": 8}
            asked = client.post(f"/v1/athletes/{world.ids['athlete']}/sets", json=slip).json()["set"]
            assert asked["doubt"] is not None
            target = f"/v1/sets/{asked['id']}"
        answer = client.request(method, target, json=fitted(value, world.ids), headers=headers)
        if answer.status_code not in (200, 201):
            refused.append(f"{operation['operationId']}, {name}: {answer.status_code} {answer.text[:300]}")
    assert not refused, "\n".join(refused)
