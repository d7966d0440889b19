"""Each operation of the document: closed without a key, closed to lesser rights, blind to another gym."""

from __future__ import annotations

from starlette.testclient import TestClient

METHODS = ("get", "post", "put", "patch", "delete")
RIGHTS = ("read", "log", "coach", "owner")


def operations(app):
    return [
        (path, method, operation)
        for path, item in app.openapi()["paths"].items()
        for method, operation in item.items()
        if method in METHODS and path.startswith("/v1")
    ]


def body_of(operation) -> dict | None:
    """The first example of an operation's body."""
    if "requestBody" not in operation:
        return None
    examples = next(iter(operation["requestBody"]["content"].values())).get("examples", {})
    return next(iter(examples.values()))["value"] if examples else {}


def test_without_a_key_each_operation_answers_401(app, world) -> None:
    client = TestClient(app)
    for path, method, operation in operations(app):
        answer = client.request(method, world.path(path), json=body_of(operation))
        assert answer.status_code == 401, f"{method} {path}: {answer.status_code}"


def test_with_a_lesser_right_each_operation_answers_403(app, gym, world) -> None:
    for path, method, operation in operations(app):
        needed = RIGHTS.index(operation["x-right"])
        if needed == 0:
            continue
        client = gym.client(RIGHTS[needed - 1])
        answer = client.request(method, world.path(path), json=body_of(operation), headers={"If-Match": "*"})
        assert answer.status_code == 403, f"{method} {path}: {answer.status_code}"


def test_with_another_gyms_key_nothing_is_found_or_changed(app, gym, other_gym, world) -> None:
    client = other_gym.client("owner")
    for path, method, operation in operations(app):
        if "{" not in path:
            continue
        if method == "put" and path in ("/v1/lifts/{lift}", "/v1/sets/{set}"):
            continue  # words and ids that a client makes: here they would make that gym's own
        answer = client.request(method, world.path(path), json=body_of(operation), headers={"If-Match": "*"})
        assert answer.status_code == 404, f"{method} {path}: {answer.status_code} {answer.text[:200]}"
    owner = gym.client("owner")
    for path, method, _ in operations(app):
        if method == "get" and "{" in path:
            assert owner.get(world.path(path)).status_code == 200, path


def test_ids_of_another_gym_in_a_body_are_unknown(gym, other_gym, world) -> None:
    stranger = other_gym.client("coach")
    own = stranger.post("/v1/athletes", json={"name": "Own"}).json()["id"]
    tries = [
        ("post", "/v1/athletes", {"name": "A", "place": world.ids["place"]}, "#/place"),
        (
            "post",
            "/v1/blocks",
            {"template": world.ids["template"], "athletes": [own], "start": "2026-11-23", "weekdays": ["monday"]},
            "#/template",
        ),
        (
            "post",
            f"/v1/athletes/{own}/sets",
            {"lift": "log-press", "load": {"value": 50, "unit": "kg"}, "reps": 3},
            "#/lift",
        ),
        (
            "post",
            "/v1/prescriptions",
            {
                "athlete": world.ids["athlete"],
                "lift": "squat",
                "scheme": {"kind": "sets_at_target", "sets": 1},
                "target": {"kind": "effort", "reps": 3, "rpe": 8},
            },
            "#/athlete",
        ),
    ]
    for method, path, body, pointer in tries:
        answer = stranger.request(method, path, json=body)
        assert answer.status_code == 422, f"{path}: {answer.text}"
        assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]
