"""The OpenAPI document: what the framework generates, with the few things mended that generators stumble over."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from service.api.descriptions import describe, members
from service.api.routing import KeyedRoute
from service.api.wire import LoadEntry

DESCRIPTION = """\
Turns a strength coach's block into the load on each athlete's bar today, learns from every logged set, and gives the
reason with each number. The coach can overrule it.

Send a key with each call: `Authorization: Bearer lw_…`. Loads carry their unit. Every refusal is a problem
(RFC 9457) that names the field and the allowed range. A POST that stores may be repeated with the same
`Idempotency-Key`: it answers the same and stores once. Clients must tolerate members, kinds and codes that they do
not know; where a `text` stands beside one, show that.
"""

PROBLEM: dict[str, Any] = {
    "type": "object",
    "title": "Problem",
    "description": "Why a call was refused (RFC 9457). `type` opens as a page of this service.",
    "required": ["type", "title", "status", "detail", "instance"],
    "properties": {
        "type": {"type": "string", "description": "Stable name of the kind of problem, as a path of this service."},
        "title": {"type": "string", "description": "The kind in words; the same for each problem of this kind."},
        "status": {"type": "integer", "minimum": 400, "maximum": 599, "description": "The HTTP status."},
        "detail": {"type": "string", "description": "This case, and what to do."},
        "code": {"type": "string", "description": "What could not be computed, as a stable word."},
        "instance": {"type": "string", "description": "The request's id, also in the header Request-Id."},
        "errors": {
            "type": "array",
            "maxItems": 50,
            "description": "Each field that is wrong.",
            "items": {
                "type": "object",
                "required": ["code", "detail"],
                "properties": {
                    "pointer": {"type": "string", "description": "JSON Pointer to the field, as URI fragment."},
                    "parameter": {"type": "string", "description": "Name of the query parameter."},
                    "header": {"type": "string", "description": "Name of the header."},
                    "code": {"type": "string", "description": "What is wrong, as a stable word."},
                    "detail": {"type": "string", "description": "What is allowed, in words."},
                    "allowed": {
                        "type": "object",
                        "description": "What is allowed: min, max, step, values, unit, max_length.",
                    },
                },
            },
        },
    },
}

TAGS = [
    {"name": "service", "description": "Whether the service runs, and what this key may do."},
    {"name": "calculations", "description": "Numbers without storing anything."},
    {"name": "athletes", "description": "The people who train, their body weights and maxes."},
    {"name": "groups", "description": "Athletes who train together, and what is decided and noted for them."},
    {"name": "lifts", "description": "The exercises: built in, and the gym's own."},
    {"name": "places", "description": "Bars, plates, dumbbells and machines, and what to hang."},
    {"name": "overrides", "description": "The coach's decisions that outrank the calculation."},
    {"name": "templates", "description": "Blocks, written once, in versions that never change."},
    {"name": "blocks", "description": "A template laid out for athletes on real dates."},
    {"name": "sessions", "description": "Training days: opened, lifted, finished."},
    {"name": "sets", "description": "What was lifted; each answer brings the next set."},
    {"name": "keys", "description": "Who may call, and what."},
]


def build(app: FastAPI) -> dict[str, Any]:
    """Make the document of an app, once."""
    if app.openapi_schema is not None:
        return app.openapi_schema
    document = get_openapi(
        title="Loadwright",
        version=app.version,
        summary="From a training block to the load on the bar, with the reason.",
        description=DESCRIPTION,
        routes=[one.described() if isinstance(one, KeyedRoute) else one for one in app.routes],
        tags=TAGS,
        servers=[{"url": "/"}],
        contact={"name": "The Loadwright authors"},
        license_info={"name": "MIT", "identifier": "MIT"},
        separate_input_output_schemas=False,
    )
    _mend_schemas(document)
    _mend(document)
    _mend_operations(document)
    app.openapi_schema = document
    return document


def _mend_schemas(document: dict[str, Any]) -> None:
    """Put in the shapes that code cannot tell the framework, and take out those that are never sent."""
    components = document.setdefault("components", {})
    schemas = components.setdefault("schemas", {})
    for name in ("HTTPValidationError", "ValidationError", "LoadEntry"):
        schemas.pop(name, None)
    describe(schemas)
    schemas["Problem"] = PROBLEM
    entry = LoadEntry.model_json_schema()
    entry["title"] = "Load"
    for member, text in members(LoadEntry).items():
        entry["properties"][member]["description"] = text
    entry["properties"]["kg"] |= {"readOnly": True}
    entry["properties"]["kg"].pop("default", None)
    for number in (entry["properties"]["value"], *entry["properties"]["kg"]["anyOf"]):
        for limit in ("minimum", "maximum", "multipleOf"):  # of what is entered; answers may compute beyond them
            number.pop(limit, None)
    schemas["Load"] = entry
    components["securitySchemes"] = {"key": {"type": "http", "scheme": "bearer", "description": "An API key: `lw_…`."}}
    for schema in schemas.values():  # a tag has a default in the code, and is always there on the wire
        if "const" in schema.get("properties", {}).get("kind", {}) and "kind" not in schema.setdefault("required", []):
            schema["required"].insert(0, "kind")


def _mend_operations(document: dict[str, Any]) -> None:
    """Say of each operation what it needs, and name it by its docstring's first line."""
    for path, operations in document["paths"].items():
        for operation in operations.values():
            operation.pop("x-own", None)
            operation.pop("x-most-bytes", None)
            if "description" in operation:
                operation["summary"] = operation["description"].split("\n")[0].split(". ")[0].rstrip(".")
            if path.startswith("/v1"):
                operation["security"] = [{"key": []}]


def _mend(node: Any) -> None:
    """Write numbers as numbers, and leave out the defaults of optional members (null is "left out")."""
    if isinstance(node, list):
        for item in node:
            _mend(item)
    if not isinstance(node, dict):
        return
    options = node.get("anyOf")
    if isinstance(options, list):
        plain = [option for option in options if option not in ({"type": "integer"}, {"type": "number"})]
        if len(options) - len(plain) == 2:
            plain.insert(0, {"type": "number"})
            if len(plain) == 1:
                del node["anyOf"]
                node.update(plain[0])
            else:
                node["anyOf"] = plain
    if "default" in node and node["default"] is None:
        del node["default"]
    for value in node.values():
        _mend(value)
