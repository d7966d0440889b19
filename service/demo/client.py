"""The few lines of HTTP that the demo needs: one connection that is kept, JSON in, JSON or text out."""

from __future__ import annotations

import json
from dataclasses import dataclass
from http.client import HTTPConnection
from typing import Any
from urllib.parse import urlsplit

Json = dict[str, Any]


class Refused(Exception):
    """The service refused a call of the demo; the message has what it said."""


@dataclass(frozen=True, slots=True)
class Request:
    """A call that can be sent, and shown as a line of curl."""

    method: str
    path: str
    """From the service's root on: `/v1/…`."""
    body: Json | None = None
    headers: tuple[tuple[str, str], ...] = ()

    def curl(self, base: str, key: str) -> str:
        """The call as one line for a shell."""
        address = f"{base}{self.path}"
        words = ["curl -s", f"'{address}'" if "?" in address else address, f"-H 'Authorization: Bearer {key}'"]
        words += [f"-H '{name}: {value}'" for name, value in self.headers]
        if self.body is not None:
            words += ["-H 'Content-Type: application/json'", f"-d '{json.dumps(self.body)}'"]
        return " ".join(words)


class Client:
    """Calls a service with a key; not to be shared between threads."""

    def __init__(self, base: str, key: str) -> None:
        self._connection = HTTPConnection(urlsplit(base).netloc, timeout=30)
        self._key = key

    def send(self, request: Request) -> Any:
        """The answer: JSON read, other text as it is.

        Raises
        ------
        Refused
            If the status is not 2xx.
        OSError
            If the service cannot be reached.
        """
        headers = {"Authorization": f"Bearer {self._key}", **dict(request.headers)}
        body = None
        if request.body is not None:
            headers["Content-Type"], body = "application/json", json.dumps(request.body)
        self._connection.request(request.method, request.path, body, headers)
        answer = self._connection.getresponse()
        text = answer.read().decode()
        if not 200 <= answer.status < 300:
            raise Refused(f"{request.method} {request.path} was answered {answer.status}: {text.strip()}")
        return json.loads(text) if "json" in answer.headers.get("Content-Type", "") else text

    def get(self, path: str) -> Any:
        """Read something below `/v1`."""
        return self.send(Request("GET", f"/v1{path}"))

    def put(self, path: str, body: Json | None = None) -> Any:
        """Write something below `/v1` that has a name of its own."""
        return self.send(Request("PUT", f"/v1{path}", body))

    def patch(self, path: str, body: Json, *, version: int | None = None) -> Any:
        """Change something below `/v1`."""
        headers = () if version is None else (("If-Match", f'"{version}"'),)
        return self.send(Request("PATCH", f"/v1{path}", body, headers))

    def post(self, path: str, body: Json, *, once: str) -> Any:
        """Store something below `/v1`; sent again with the same `once`, it is stored once."""
        return self.send(Request("POST", f"/v1{path}", body, (("Idempotency-Key", once),)))

    def close(self) -> None:
        """Give the connection back."""
        self._connection.close()
