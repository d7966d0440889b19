"""Pages of lists: an opaque cursor of the last sort values, valid for its filters only."""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
from collections.abc import Callable
from typing import Any, TypeVar

from fastapi import Request
from pydantic import BaseModel, ConfigDict, Field

from service.api.problems import Problem
from service.api.wire import Page

T = TypeVar("T")
MOST, USUAL = 200, 50


class Paged(BaseModel):
    """The query parameters of every list."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    limit: int = Field(USUAL, ge=1, le=MOST)
    """How many at most."""
    after: str | None = Field(None, max_length=400)
    """The `next_page` of the page before."""


def _filters(request: Request) -> str:
    pairs = sorted((n, v) for n, v in request.query_params.multi_items() if n not in ("after", "limit"))
    return hashlib.sha256(f"{request.url.path}{pairs}".encode()).hexdigest()[:12]


def cursor(request: Request, after: str | None) -> list[Any] | None:
    """The sort values that a cursor holds, or a refusal where it is not one of this list."""
    if after is None:
        return None
    try:
        mark, *values = json.loads(base64.urlsafe_b64decode(after.encode() + b"=" * (-len(after) % 4)))
    except (ValueError, binascii.Error, TypeError):
        mark, values = None, []
    if mark != _filters(request) or not all(isinstance(value, str) and "\0" not in value for value in values):
        entry = {"parameter": "after", "code": "wrong_cursor", "detail": "must be the next_page of this list"}
        raise Problem(
            "invalid-fields", "1 field is not valid: after must be the next_page of this list.", errors=[entry]
        )
    return list(values)


def page_of(request: Request, found: list[T], limit: int, last: Callable[[T], tuple[str, ...]]) -> Page[T]:
    """A page from up to `limit` + 1 found items; `last` gives the sort values of an item."""
    if len(found) <= limit:
        return Page[T].model_construct(items=found, next_page=None)
    shown = found[:limit]
    values = json.dumps([_filters(request), *last(shown[-1])]).encode()
    return Page[T].model_construct(items=shown, next_page=base64.urlsafe_b64encode(values).rstrip(b"=").decode())


def next_link(request: Request, page: Page[T]) -> dict[str, str]:
    """The `Link` header that leads to the next page (RFC 8288)."""
    if page.next_page is None:
        return {}
    kept = [(name, value) for name, value in request.query_params.multi_items() if name != "after"]
    url = request.url.replace(query="").include_query_params(**dict(kept), after=page.next_page)
    return {"Link": f'<{url.path}?{url.query}>; rel="next"'}
