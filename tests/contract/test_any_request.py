"""schemathesis tries each operation of the document with requests that fit it and requests that do not."""

from __future__ import annotations

import re

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.python.asgi import get_client
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from service.api.access import Access
from service.app import create_app
from service.store.session import Database
from tests.contract.tried import SMALL, asked, tried

app = create_app(Database("postgresql+psycopg://nobody@localhost/none"))  # the document needs no database
schema = schemathesis.openapi.from_dict(tried(app.openapi()))
schema.app = app

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]


def test_each_schema_of_a_body_is_tried_whole_at_one_place_at_least() -> None:
    document = app.openapi()
    smaller = tried(document)
    schemas, left = document["components"]["schemas"], smaller["components"]["schemas"]
    reached = asked(smaller)
    assert {name for name, _ in SMALL} <= reached
    for name in asked(document):
        there = name if name in reached else f"Small{name}"  # one that only holds what was made smaller
        assert there in reached, name
        assert list(left[there].get("properties", {})) == list(schemas[name].get("properties", {})), name


@pytest.fixture(scope="session")
def sender(database):
    """One client of the same app on the real database; making one for each request, and asking the environment for
    proxies each time, took longer than most answers."""
    app.state.access = Access(database)
    with get_client(app) as client:
        client.trust_env = False
        yield client


@schema.parametrize()
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
def test_any_request_is_answered_as_the_document_says(case, sender, any_world) -> None:
    gym, world = any_world
    for name, value in (case.path_parameters or {}).items():
        if name in world.ids and not re.search(r"[^\w:.~-]", str(value)):
            case.path_parameters[name] = world.ids[name]
    if case.query:  # the document's content is JSON; the other formats stand in x-formats and have their own tests
        case.query.pop("format", None)
    case.headers = {**(case.headers or {}), "Authorization": f"Bearer {gym.keys['owner']}"}
    if case.method in ("PATCH", "PUT", "DELETE"):
        case.headers.setdefault("If-Match", "*")
    case.call_and_validate(session=sender, checks=CHECKS)
