"""schemathesis tries each operation of the document with requests that fit it and requests that do not."""

from __future__ import annotations

import re

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from service.api.access import Access
from service.app import create_app
from service.store.session import Database

app = create_app(Database("postgresql+psycopg://nobody@localhost/none"))  # the document needs no database
schema = schemathesis.openapi.from_asgi("/openapi.json", app)

CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]


@pytest.fixture(scope="session")
def running(database):
    """The same app on the real database, with a gym that has one of everything."""
    app.state.access = Access(database)


@schema.parametrize()
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
def test_any_request_is_answered_as_the_document_says(case, running, any_world) -> None:
    gym, world = any_world
    for name, value in (case.path_parameters or {}).items():
        if name in world.ids and not re.search(r"[^\w:.~-]", str(value)):
            case.path_parameters[name] = world.ids[name]
    if case.query:  # the document's content is JSON; the other formats stand in x-formats and have their own tests
        case.query.pop("format", None)
    case.headers = {**(case.headers or {}), "Authorization": f"Bearer {gym.keys['owner']}"}
    if case.method in ("PATCH", "PUT", "DELETE"):
        case.headers.setdefault("If-Match", "*")
    case.call_and_validate(checks=CHECKS)
