"""The committed document is what the code makes, and what a client generator needs."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from openapi_spec_validator import validate

COMMITTED = Path(__file__).parents[2] / "openapi" / "openapi.json"
METHODS = ("get", "post", "put", "patch", "delete")


def operations(document):
    return [
        (path, method, operation)
        for path, item in document["paths"].items()
        for method, operation in item.items()
        if method in METHODS
    ]


@pytest.fixture
def document(app):
    return app.openapi()


def test_the_committed_document_is_what_the_code_makes(document) -> None:
    committed = json.loads(COMMITTED.read_text("utf-8"))
    assert committed == json.loads(json.dumps(document)), "stale: run `loadwright openapi openapi/openapi.json`"


def test_it_is_valid_openapi(document) -> None:
    validate(document)


def test_each_operation_can_be_named_read_and_refused(document) -> None:
    names = []
    for path, method, operation in operations(document):
        where = f"{method} {path}"
        names.append(operation["operationId"])
        assert re.fullmatch(r"[a-z]+(_[a-z]+)+", operation["operationId"]), where
        assert operation["summary"], where
        assert operation["tags"], where
        if not path.startswith("/v1"):
            continue
        assert operation["security"] == [{"key": []}], where
        assert operation["x-right"] in ("read", "log", "coach", "owner"), where
        refused = {status for status in operation["responses"] if status >= "400"}
        assert {"401", "403"} <= refused, where
        if "{" in path:
            assert "404" in refused, where
        for status in refused:
            content = operation["responses"][status]["content"]
            assert list(content) == ["application/problem+json"], f"{where} {status}"
    assert len(names) == len(set(names))


def test_each_body_has_an_example(document) -> None:
    missing = [
        f"{method} {path}"
        for path, method, operation in operations(document)
        if "requestBody" in operation and not next(iter(operation["requestBody"]["content"].values())).get("examples")
    ]
    assert missing == []


def test_each_member_of_a_body_is_described(document) -> None:
    bodies = set()
    for _, _, operation in operations(document):
        if "requestBody" in operation:
            bodies |= set(re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(operation["requestBody"])))
    seen: set[str] = set()
    while bodies - seen:
        name = (bodies - seen).pop()
        seen.add(name)
        bodies |= set(
            re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(document["components"]["schemas"][name]))
        )
    missing = [
        f"{name}.{member}"
        for name in sorted(seen)
        for member, schema in document["components"]["schemas"][name].get("properties", {}).items()
        if "description" not in schema and member != "kind"
    ]
    assert missing == []


def test_no_schema_is_named_after_a_module(document) -> None:
    assert [name for name in document["components"]["schemas"] if "__" in name or "-" in name] == []
