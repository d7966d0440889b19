"""Every refusal becomes one body here: RFC 9457, `application/problem+json`."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException as StarletteHTTPException

from service.core.errors import DomainError, NotComputable, OutOfRange
from service.store import errors as store

TITLES = {
    "malformed-request": (400, "The request cannot be read"),
    "no-key": (401, "A key is needed"),
    "wrong-key": (401, "The key is not valid"),
    "missing-right": (403, "The key does not have this right"),
    "not-found": (404, "There is no such thing here"),
    "method-not-allowed": (405, "This address does not do that"),
    "not-acceptable": (406, "This format is not offered here"),
    "conflict": (409, "Its state does not allow this"),
    "request-in-progress": (409, "The same request is still running"),
    "changed-meanwhile": (412, "It was changed meanwhile"),
    "body-too-large": (413, "The body is too large"),
    "unsupported-media-type": (415, "The body is not JSON"),
    "invalid-fields": (422, "Some fields are not valid"),
    "not-computable": (422, "There is no answer to this"),
    "key-reused": (422, "The idempotency key was used for another request"),
    "if-match-required": (428, "Say which version you change"),
    "too-many-requests": (429, "Too many requests"),
    "internal-error": (500, "Something went wrong here"),
    "unavailable": (503, "Not available just now"),
}

KINDS: dict[type[Exception], str] = {
    store.NotFound: "not-found",
    store.Conflict: "conflict",
    store.ChangedMeanwhile: "changed-meanwhile",
    store.VersionNeeded: "if-match-required",
    store.KeyReused: "key-reused",
    store.InProgress: "request-in-progress",
    store.Unavailable: "unavailable",
    NotComputable: "not-computable",
    OutOfRange: "not-computable",
    DomainError: "not-computable",
}
"""Which refusal each error of the inside becomes; statuses are given in TITLES only."""

BY_STATUS = {
    400: "malformed-request",
    401: "no-key",
    404: "not-found",
    405: "method-not-allowed",
    406: "not-acceptable",
    413: "body-too-large",
    415: "unsupported-media-type",
}

CODES = {
    "model_type": "not_an_object",
    "model_attributes_type": "not_an_object",
    "dict_type": "not_an_object",
    "list_type": "not_a_list",
    "tuple_type": "not_a_list",
    "bool_type": "not_a_flag",
    "bool_parsing": "not_a_flag",
    "date_from_datetime_parsing": "not_a_day",
    "date_parsing": "not_a_day",
    "datetime_from_date_parsing": "not_a_moment",
    "datetime_parsing": "not_a_moment",
    "datetime_object_invalid": "not_a_moment",
    "timezone_aware": "not_a_moment",
    "int_parsing": "not_a_number",
    "greater_than_equal": "out_of_range",
    "less_than_equal": "out_of_range",
    "missing": "required",
    "missing_argument": "required",
    "extra_forbidden": "unknown_member",
    "unexpected_keyword_argument": "unknown_member",
    "literal_error": "not_one_of",
    "union_tag_invalid": "not_one_of",
    "union_tag_not_found": "required",
    "too_short": "wrong_count",
    "too_long": "wrong_count",
}
SAID = {
    "required": "is required",
    "unknown_member": "is not a member of this",
    "not_an_object": "must be an object with members",
    "not_a_list": "must be a list",
    "not_a_flag": "must be true or false",
    "not_a_day": "must be a day that exists, such as 2026-11-25",
    "not_a_moment": "must be a moment with offset that exists, such as 2026-11-25T18:05:00+01:00",
    "not_a_number": "must be a whole number",
}
"""What a code says, where the framework's own words would be those of a programmer."""

MOST_ERRORS = 50


class Problem(HTTPException):
    """A refusal that the transport itself decides."""

    def __init__(
        self,
        kind: str,
        detail: str,
        *,
        errors: Sequence[dict[str, Any]] = (),
        headers: dict[str, str] | None = None,
        code: str | None = None,
    ) -> None:
        super().__init__(TITLES[kind][0], detail, headers)
        self.kind, self.errors, self.code = kind, errors, code


def render(
    request: Request,
    kind: str,
    detail: str,
    *,
    errors: Sequence[dict[str, Any]] = (),
    headers: dict[str, str] | None = None,
    code: str | None = None,
) -> Response:
    """Write one problem."""
    status, title = TITLES[kind]
    body: dict[str, Any] = {"type": f"/problems/{kind}", "title": title, "status": status, "detail": detail}
    if code is not None:
        body["code"] = code
    body["instance"] = f"/requests/{request.scope.get('loadwright.request_id', '')}"
    if errors:
        body["errors"] = list(errors)[:MOST_ERRORS]
    bytes_ = json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"
    return Response(bytes_, status, headers, media_type="application/problem+json")


def pointer(loc: Iterable[str | int], body: Any) -> str:
    """A JSON Pointer (RFC 6901) as URI fragment; the tags that unions put into a location are left out."""
    parts: list[str] = []
    here, tagged = body, False
    for part in loc:
        if isinstance(here, dict) and not tagged and part == here.get("kind") and isinstance(part, str):
            tagged = True
            continue
        parts.append(str(part).replace("~", "~0").replace("/", "~1"))
        tagged = False
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
    return "#" + "".join(f"/{part}" for part in parts)


def field_error(error: dict[str, Any], body: Any) -> dict[str, Any]:
    """One entry of `errors[]` from one of Pydantic's errors; the rejected value is not echoed."""
    loc = list(error["loc"])
    context = error.get("ctx", {})
    if "member" in context:
        loc.append(context["member"])
    if error["type"] in ("union_tag_invalid", "union_tag_not_found"):
        loc.append("kind")
    shown: dict[str, Any]
    if loc[0] in ("query", "path", "header"):
        shown = {"header" if loc[0] == "header" else "parameter": str(loc[1]) if len(loc) > 1 else ""}
    else:
        shown = {"pointer": pointer(loc[1:], body)}
    kind = error["type"]
    shown["code"] = CODES.get(kind, kind)
    shown["detail"] = _detail(kind, error["msg"], context)
    limits = context.get("allowed")
    if kind in {"literal_error", "union_tag_invalid"}:
        words = str(context.get("expected") or context.get("expected_tags"))
        limits = {"values": [word.strip(" '") for word in words.replace(" or ", ", ").split(",")]}
    if limits:
        shown["allowed"] = limits
    return shown


def _detail(kind: str, message: str, context: dict[str, Any]) -> str:
    code = CODES.get(kind, kind)
    listed = context.get("expected") or context.get("expected_tags")
    if code == "not_one_of" and listed:
        return f"must be one of {listed}"
    if kind in CODES and code in SAID:
        return SAID[code]
    return message[0].lower() + message[1:]


def _name(where: str) -> str:
    """What a sentence calls the place of a fault; of a list the member that has it, with the number in it.

    >>> _name("#/load/unit"), _name("#/blocks/0"), _name("#")
    ('unit', 'number 1 of blocks', 'the body')
    """
    *above, last = where.split("/")
    if last.isdecimal() and len(above) > 1:
        return f"number {int(last) + 1} of {above[-1]}"
    return last.lstrip("#") or "the body"


OF_DAYS = frozenset({"not_a_day", "out_of_range", "date_from_datetime_parsing", "date_parsing"})
"""What can be wrong with a day in an address, which is told; other parts of one name nothing that there is."""


def _fields(request: Request, error: RequestValidationError) -> Response:
    found = error.errors()
    if any(e["loc"] and e["loc"][0] == "path" and e["type"] not in OF_DAYS for e in found):
        return render(request, "not-found", "There is no such thing here.")
    if found and found[0]["loc"] == ("body",) and isinstance(error.body, bytes) and error.body:
        return render(
            request, "unsupported-media-type", "Send JSON, as application/json.", headers={"Accept": "application/json"}
        )
    shown = [field_error(e, error.body) for e in found]
    first = shown[0]
    where = first.get("pointer") or first.get("parameter") or first.get("header") or ""
    name = _name(where)
    count = "1 field is" if len(shown) == 1 else f"{len(shown)} fields are"
    return render(request, "invalid-fields", f"{count} not valid: {name} {first['detail']}.", errors=shown)


def _domain(request: Request, error: DomainError) -> Response:
    if isinstance(error, store.UnknownReference):
        entry = {"pointer": error.pointer, "code": error.code, "detail": str(error)}
        return render(request, "invalid-fields", f"1 field is not valid: {error.pointer} {error}.", errors=[entry])
    kind = next(KINDS[cls] for cls in type(error).__mro__ if cls in KINDS)
    headers = {"request-in-progress": {"Retry-After": "1"}, "unavailable": {"Retry-After": "2"}}.get(kind)
    if isinstance(error, store.ChangedMeanwhile | store.VersionNeeded):
        headers = {"ETag": f'"{error.version}"'}
    code = error.code if kind == "not-computable" else None
    return render(request, kind, str(error), headers=headers, code=code)


def refusal(request: Request, error: DomainError) -> dict[str, Any]:
    """The body of a refusal, to stand inside of an answer where many things were asked at once."""
    body: dict[str, Any] = json.loads(bytes(_domain(request, error).body))
    return body


def invalid(request: Request, errors: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """As `refusal`, for fields that are not valid: Pydantic's errors, whose `loc` begins inside of the body."""
    wrapped = [{**error, "loc": ("body", *error["loc"])} for error in errors]
    body: dict[str, Any] = json.loads(bytes(_fields(request, RequestValidationError(wrapped)).body))
    return body


def _http(request: Request, error: StarletteHTTPException) -> Response:
    headers = dict(error.headers or {})
    if isinstance(error, Problem):
        return render(request, error.kind, error.detail, errors=error.errors, headers=headers, code=error.code)
    kind = BY_STATUS.get(error.status_code, "internal-error")
    return render(request, kind, str(error.detail), headers=headers)


def refused(request: Request, error: Exception) -> Response:
    """The one body for all refusals, the framework's included."""
    match error:
        case RequestValidationError():
            return _fields(request, error)
        case DomainError():
            return _domain(request, error)
        case StarletteHTTPException():
            return _http(request, error)
    raise error


def install(app: FastAPI) -> None:
    """Let the framework answer its own refusals with that body too."""

    async def answered(request: Request, error: Exception) -> Response:
        return refused(request, error)

    for kind in (RequestValidationError, DomainError, StarletteHTTPException):
        app.add_exception_handler(kind, answered)
