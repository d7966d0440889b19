"""How a route is reached: the key first, then strict JSON, then the framework."""

from __future__ import annotations

import json
from collections.abc import Callable, Coroutine
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute
from pydantic import BaseModel
from starlette.types import Message, Receive

from service.api.access import Access
from service.api.call import Call, fingerprint, repeat_key
from service.api.problems import Problem

DEEPEST = 32
BODY_BYTES = 256 * 1024
TEMPLATE_BYTES = 4 * 1024 * 1024

REFUSALS = {
    400: "The request cannot be read.",
    401: "No key, or one that is not valid.",
    403: "The key does not have this right.",
    404: "There is no such thing in this gym.",
    406: "This format is not offered.",
    409: "Its state does not allow this, or the same request is still running.",
    412: "It was changed meanwhile; `ETag` has the version that stands.",
    413: "The body is too large.",
    415: "The body is not JSON.",
    422: "Some fields are not valid, or there is no answer.",
    428: "`If-Match` is required.",
    429: "Too many keys failed from this address.",
    503: "Not available just now.",
}


def operation(
    operation_id: str,
    right: str,
    answer: Any = None,
    *,
    own: bool = False,
    status: int = 200,
    refusals: tuple[int, ...] = (),
    body: bool = False,
    most_bytes: int = BODY_BYTES,
) -> dict[str, Any]:
    """What a route's decorator says: its id, the right it needs, what it answers, what it may refuse.

    `own`: a key that is bound to an athlete may call it for that athlete. `body`: it takes one, of `most_bytes`.
    """
    return {
        "operation_id": operation_id,
        "response_model": answer,
        "status_code": status,
        "responses": refuses(*refusals, body=body),
        "openapi_extra": {"x-right": right, "x-own": own, "x-most-bytes": most_bytes},
    }


def refuses(*statuses: int, body: bool) -> dict[int | str, dict[str, Any]]:
    """The refusals of an operation, for the document; those that every operation has are added."""
    always = {401, 403, 429, 503} | ({400, 413, 415, 422} if body else {400, 422})
    schema = {"$ref": "#/components/schemas/Problem"}
    return {
        status: {"description": REFUSALS[status], "content": {"application/problem+json": {"schema": schema}}}
        for status in sorted(always | set(statuses))
    }


class StrictRequest(Request):
    """A request whose JSON is refused where two readers could read it differently."""

    async def json(self) -> Any:
        """Parse the body: UTF-8, no NaN, no infinities, no member twice, at most 32 levels."""
        return read_json(await self.body())


def read_json(body: bytes) -> Any:
    """Parse JSON strictly, or raise a 400."""
    try:
        text = body.decode()
    except UnicodeDecodeError:
        raise Problem("malformed-request", "The body is not UTF-8.") from None
    try:
        parsed = json.loads(text, parse_constant=_no_constant, object_pairs_hook=_no_twins)
    except RecursionError:
        raise Problem("malformed-request", f"The body is nested deeper than {DEEPEST} levels.") from None
    except json.JSONDecodeError as error:
        detail = f"The body is not JSON: {error.msg} at line {error.lineno}, column {error.colno}."
        raise Problem("malformed-request", detail) from None
    except ValueError:  # a whole number of more digits than Python reads
        raise Problem("malformed-request", "A number in the body has too many digits.") from None
    if not _shallow(parsed):
        raise Problem("malformed-request", f"The body is nested deeper than {DEEPEST} levels.")
    return parsed


def _no_constant(word: str) -> Any:
    raise Problem("malformed-request", f"{word} is not a number that JSON has.")


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise Problem("malformed-request", "A member stands twice in one object of the body.")
    return members


def _shallow(value: Any) -> bool:
    level = [value]
    for _ in range(DEEPEST + 1):
        deeper: list[Any] = []
        for item in level:
            if isinstance(item, dict):
                deeper.extend(v for v in item.values() if isinstance(v, dict | list))
            elif isinstance(item, list):
                deeper.extend(v for v in item if isinstance(v, dict | list))
        if not deeper:
            return True
        level = deeper
    return False


class KeyedRoute(APIRoute):
    """A route that knows the right it needs; the key is checked before the body is read."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Put the key and the strict reading of the body before what the framework does."""
        handler = super().get_route_handler()
        extra = self.openapi_extra or {}
        right, own, most = extra["x-right"], bool(extra["x-own"]), int(extra["x-most-bytes"])
        stores = "POST" in (self.methods or ())
        names = _query_names(self)

        async def keyed(request: Request) -> Response:
            access: Access = request.app.state.access
            caller = await access.caller(request, right, own=own)
            request = StrictRequest(request.scope, _counted(request, most))
            call = Call(access.database, caller, datetime.now(UTC), request)
            if stores:
                call.repeat = repeat_key(request)
                if call.repeat is not None:
                    call.fingerprint = fingerprint(request, await request.body())
            request.scope["loadwright.call"] = call
            _only_known(request, names)
            return await handler(request)

        return keyed


def _counted(request: Request, most: int) -> Receive:
    """The body as it arrives, refused as soon as it is longer than `most` bytes."""
    too_large = Problem("body-too-large", f"The body may have at most {most // 1024} kB.")
    length = request.headers.get("content-length", "")
    received = int(length) if length.isascii() and length.isdigit() and len(length) < 20 else 0
    if received > most:
        raise too_large
    received = 0

    async def receive() -> Message:
        nonlocal received
        message = await request.receive()
        received += len(message.get("body", b""))
        if received > most:
            raise too_large
        return message

    return receive


def _query_names(route: APIRoute) -> frozenset[str]:
    """The query parameters that a route knows; those of a model are its fields."""
    names: set[str] = set()
    for field in route.dependant.query_params:
        kind = field.field_info.annotation
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            names |= {info.alias or name for name, info in kind.model_fields.items()}
        else:
            names.add(field.alias)
    return frozenset(names)


def _only_known(request: Request, names: frozenset[str]) -> None:
    """Refuse query parameters that are unknown or stand twice; frameworks ignore the ones and drop the others."""
    if not request.scope["query_string"]:
        return
    seen: set[str] = set()
    errors = []
    for name, _ in request.query_params.multi_items():
        if name not in names:
            errors.append({"parameter": name[:64], "code": "unknown_parameter", "detail": "is not a parameter of this"})
        elif name in seen:
            errors.append({"parameter": name, "code": "repeated", "detail": "must be sent once"})
        seen.add(name)
    if errors:
        count = "1 field is" if len(errors) == 1 else f"{len(errors)} fields are"
        first = errors[0]
        raise Problem("invalid-fields", f"{count} not valid: {first['parameter']} {first['detail']}.", errors=errors)


def resource(path: str, tag: str) -> APIRouter:
    """A router for one resource under /v1."""
    return APIRouter(prefix=f"/v1{path}", tags=[tag], route_class=KeyedRoute)
