"""A request as our routes read it: its headers looked up once, its body with a limit."""

from __future__ import annotations

from fastapi import Request
from starlette.requests import ClientDisconnect
from starlette.types import Receive, Scope

from service.api.problems import Problem


class Asked(Request):
    """The framework's request, on a short way: calculations are done in the time that its general way takes."""

    def __init__(self, scope: Scope, receive: Receive) -> None:
        super().__init__(scope, receive)
        # names are in lower case by the protocol; of a header that stands twice the first one counts, as in `headers`
        self._sent: dict[bytes, bytes] = dict(reversed(scope["headers"]))
        self._whole: bytes | None = None
        self._most = 0

    def said(self, name: bytes) -> str | None:
        """A header's value, by its name in lower case."""
        value = self._sent.get(name)
        return None if value is None else value.decode("latin-1")

    def limit(self, most: int) -> None:
        """Refuse a body of more than `most` bytes: at once where its length is announced, else as it arrives."""
        self._most = most
        length = self._sent.get(b"content-length", b"")
        if length.isdigit() and len(length) < 20 and int(length) > most:
            raise self._too_large()

    async def body(self) -> bytes:
        """The whole body."""
        if self._whole is None:
            message = await self._receive()
            whole: bytes = message.get("body", b"")
            while message["type"] == "http.request" and message.get("more_body", False) and len(whole) <= self._most:
                message = await self._receive()
                whole += message.get("body", b"")
            if message["type"] == "http.disconnect":
                raise ClientDisconnect
            if len(whole) > self._most:
                raise self._too_large()
            self._whole = whole
        return self._whole

    def _too_large(self) -> Problem:
        return Problem("body-too-large", f"The body may have at most {self._most // 1024} kB.")
