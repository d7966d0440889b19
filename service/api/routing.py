"""How a route is reached: the key first, then strict JSON, then its function."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.routing import APIRoute

from service.api.access import Access
from service.api.arguments import Arguments
from service.api.asked import Asked
from service.api.call import Call, fingerprint, repeat_key
from service.api.problems import Problem

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


def tried(described: dict[str, Any], answer: Any) -> dict[str, Any]:
    """An operation whose dry run answers 200 with the same as storing it would."""
    described["responses"][200] = {"model": answer, "description": "A dry run: nothing was stored."}
    return described


def refuses(*statuses: int, body: bool) -> dict[int | str, dict[str, Any]]:
    """The refusals of an operation, for the document; those that every operation has are added."""
    always = {401, 403, 429, 503} | ({400, 413, 415, 422} if body else {400, 422})
    schema = {"$ref": "#/components/schemas/Problem"}
    return {
        status: {"description": REFUSALS[status], "content": {"application/problem+json": {"schema": schema}}}
        for status in sorted(always | set(statuses))
    }


class KeyedRoute(APIRoute):
    """A route that knows the right it needs; the key is checked before the body is read."""

    keyed: Callable[[Request], Coroutine[Any, Any, Response]]
    """Answers a request whose path is this route's, or raises a refusal."""

    def __init__(
        self,
        path: str,
        endpoint: Callable[..., Any],
        *,
        response_model: Any = None,
        responses: dict[int | str, dict[str, Any]] | None = None,
        **said: Any,
    ) -> None:
        """As the framework's; but what it answers is kept from the framework until somebody asks for the document.

        It would make readers of all answers, which nobody reads here: a tenth of the memory, and of the start.
        """
        plain = {
            status: {name: one[name] for name in one if name != "model"} for status, one in (responses or {}).items()
        }
        super().__init__(path, endpoint, response_model=None, responses=plain, **said)
        self._described = {"response_model": response_model, "responses": responses, **said}

    def described(self) -> APIRoute:
        """The route with what it answers, for the document."""
        return APIRoute(self.path, self.endpoint, **self._described)

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Check the key, read the arguments, call the function; every function here answers a ready Response."""
        arguments, endpoint = Arguments(self), self.endpoint
        extra = self.openapi_extra or {}
        right, own, most = extra["x-right"], bool(extra["x-own"]), int(extra["x-most-bytes"])
        stores = "POST" in (self.methods or ())

        async def keyed(request: Request) -> Response:
            asked = request if isinstance(request, Asked) else Asked(request.scope, request.receive)
            scope, now = asked.scope, datetime.now(UTC)
            access: Access = scope["app"].state.access
            caller = await access.caller(asked, right, now, own=own)
            if scope["method"] != "GET":
                asked.limit(most)
            call = Call(access.database, caller, now, asked)
            if stores:
                call.repeat = repeat_key(asked)
                if call.repeat is not None:
                    call.fingerprint = fingerprint(asked, await asked.body())
            scope["loadwright.call"] = call
            if scope["query_string"]:
                _only_known(asked, arguments.known)
            answer: Response = await endpoint(**await arguments.read(asked, call))
            return answer

        self.keyed = keyed
        return keyed


def _only_known(request: Request, names: frozenset[str]) -> None:
    """Refuse query parameters that are unknown or stand twice; frameworks ignore the ones and drop the others."""
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
