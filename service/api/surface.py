"""What every answer gets and every request must pass, as plain ASGI: request ids, headers, HEAD, the last resort."""

from __future__ import annotations

import json
import logging
import secrets
from typing import Any

from starlette.types import ASGIApp, Message, Receive, Scope, Send

SECURITY = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
)
CLOSED = (b"content-security-policy", b"default-src 'none'; frame-ancestors 'none'")

log = logging.getLogger("loadwright")


class Surface:
    """Wraps the app: each request gets an id, each answer the headers; HEAD is GET without a body."""

    def __init__(self, app: ASGIApp, *, cross_origin: bool = False) -> None:
        self.app = app
        policy = b"cross-origin" if cross_origin else b"same-origin"
        self.headers = [*SECURITY, (b"cross-origin-resource-policy", policy)]
        self.closed = [CLOSED, *self.headers]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass one request on."""
        request_id = secrets.token_hex(12)
        scope["loadwright.request_id"] = request_id
        head = scope["method"] == "HEAD"
        if head:
            scope["method"] = "GET"
        started = False

        async def answered(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = message["headers"]
                own = [value for name, value in headers if name == b"content-security-policy"]
                message["headers"] = [
                    *headers, *(self.headers if own else self.closed), (b"request-id", request_id.encode())
                ]  # fmt: skip
            elif head:
                message = {**message, "body": b""}
            await send(message)

        try:
            await self.app(scope, receive, answered)
        except Exception:
            log.exception("request %s %s %s failed", request_id, scope["method"], scope["path"])
            if started:
                raise
            await _failed(answered, request_id)


async def _failed(send: Any, request_id: str) -> None:
    body = {
        "type": "/problems/internal-error",
        "title": "Something went wrong here",
        "status": 500,
        "detail": "It is our fault and it is in the log under this instance. Nothing was stored.",
        "instance": f"/requests/{request_id}",
    }
    content = json.dumps(body).encode()
    headers = [(b"content-type", b"application/problem+json"), (b"content-length", str(len(content)).encode())]
    await send({"type": "http.response.start", "status": 500, "headers": headers})
    await send({"type": "http.response.body", "body": content})
