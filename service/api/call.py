"""One request of a caller: its transactions, its retries, and how its answers are written."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from functools import cached_property
from typing import Annotated, Any, Concatenate, Generic, ParamSpec, TypeVar

from fastapi import Depends, Request, Response
from pydantic import TypeAdapter
from pydantic_core import SchemaSerializer, core_schema

from service.api.asked import Asked
from service.api.paging import Paged, cursor, next_link, page_of
from service.api.problems import Problem
from service.api.wire import Page
from service.store import idempotency
from service.store.errors import Conflict
from service.store.session import Caller, Database, Tx

P = ParamSpec("P")
T = TypeVar("T")

NO_STORE = {"Cache-Control": "no-store"}
PRIVATE = {"Cache-Control": "private, no-cache", "Vary": "Accept, Authorization"}


class Shape(Generic[T]):
    """How one kind of answer becomes JSON: compact, members in the documented order, a newline at the end."""

    def __init__(self, kind: type[T] | Any, *, without_nulls: bool = False) -> None:
        self._kind = kind
        self._without_nulls = without_nulls

    @cached_property
    def _write(self) -> Callable[..., bytes]:
        """Made for the first answer: for all kinds together it takes longer than everything else at the start."""
        return SchemaSerializer(_as_they_are(TypeAdapter(self._kind).core_schema)).to_json

    def json(self, answer: T) -> bytes:
        """The answer's bytes."""
        return self._write(answer, exclude_none=self._without_nulls) + b"\n"


class ShapeByKind(Shape[T]):
    """As `Shape`, for answers that hold one of several records: `held` tells which, so that none is tried in vain.

    Trying one after the other takes a third of the time that writing takes. Of the records that may stand in one place
    `held` tells all that stand there, or none.
    """

    def __init__(self, kind: type[T] | Any, held: Callable[[T], frozenset[type]]) -> None:
        super().__init__(kind)
        self._held = held
        self._by_kind: dict[frozenset[type], Callable[..., bytes]] = {}

    @cached_property
    def _schema(self) -> Any:
        return _as_they_are(TypeAdapter(self._kind).core_schema)

    def json(self, answer: T) -> bytes:
        """The answer's bytes."""
        kinds = self._held(answer)
        write = self._by_kind.get(kinds)
        if write is None:
            narrowed = _narrowed(self._schema, kinds, _named_schemas(self._schema))
            write = self._by_kind[kinds] = SchemaSerializer(narrowed).to_json
        return write(answer) + b"\n"


def _named_schemas(schema: Any) -> dict[str, type]:
    """The records that a schema names once for several places."""
    named = schema["definitions"] if schema["type"] == "definitions" else []
    return {one["ref"]: one["cls"] for one in named if "cls" in one}


def _narrowed(schema: Any, kinds: frozenset[type], named: dict[str, type]) -> Any:
    """A schema with one of these records in place of each union that has only that one of them as a member."""
    if isinstance(schema, list | tuple):
        return type(schema)(_narrowed(part, kinds, named) for part in schema)
    if not isinstance(schema, dict):
        return schema
    if schema.get("type") in {"union", "tagged-union"}:
        choices = schema["choices"]
        choices = choices.values() if isinstance(choices, dict) else choices
        held = [one for one in choices if one.get("cls", named.get(one.get("schema_ref"))) in kinds]
        if len(held) == 1:
            return _narrowed(held[0], kinds, named)
    return {name: _narrowed(part, kinds, named) for name, part in schema.items()}


def _as_they_are(schema: Any) -> Any:
    """A schema whose words and numbers are written without asking first which of the allowed ones they are.

    They come from our own code, and asking takes a fifth of the time that writing an answer takes.
    """
    if isinstance(schema, list | tuple):
        return type(schema)(_as_they_are(part) for part in schema)
    if not isinstance(schema, dict):
        return schema
    kind = schema.get("type")
    if kind == "literal" or (kind == "union" and [part["type"] for part in schema["choices"]] == ["int", "float"]):
        return core_schema.any_schema()
    return {name: _as_they_are(part) for name, part in schema.items()}


def version_tag(answer: object) -> str | None:
    """The strong entity tag of a stored thing: its version."""
    version = getattr(answer, "version", None)
    return None if version is None else f'"{version}"'


class Plain(Response):
    """JSON with no other header than that it is not to be stored; the framework's way to it takes longer."""

    def __init__(self, body: bytes, status: int) -> None:
        self.status_code, self.body, self.background = status, body, None
        length = str(len(body)).encode("latin-1")
        self.raw_headers = [
            (b"cache-control", b"no-store"), (b"content-length", length), (b"content-type", b"application/json"),
        ]  # fmt: skip


@dataclass(slots=True)
class Call:
    """Who is calling, with which retry key; the one way from a route into the database."""

    database: Database
    caller: Caller
    now: datetime
    request: Request
    repeat: str | None = None
    fingerprint: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)

    async def read(
        self, shape: Shape[T], f: Callable[Concatenate[Tx, P], T], *args: P.args, **kw: P.kwargs
    ) -> Response:
        """Answer what `f(tx, ...)` reads."""
        answer = await self.database.read(self.caller, self.now, f, *args, **kw)
        return self.answer(shape, answer, tag=version_tag(answer))

    async def page(
        self,
        shape: Shape[Page[T]],
        query: Paged,
        last: Callable[[T], tuple[str, ...]],
        f: Callable[..., list[T]],
        *args: object,
        **filters: object,
    ) -> Response:
        """Answer a page of what `f(tx, *args, after=, limit=, ...)` lists; `last` gives an item's sort values."""
        after = cursor(self.request, query.after)
        place = None if after is None else tuple(after)
        found = await self.database.read(self.caller, self.now, f, *args, after=place, limit=query.limit + 1, **filters)
        page = page_of(self.request, found, query.limit, last)
        self.headers |= next_link(self.request, page)
        return self.answer(shape, page)

    async def write(
        self, shape: Shape[T], f: Callable[Concatenate[Tx, P], T], *args: P.args, **kw: P.kwargs
    ) -> Response:
        """Change something with `f(tx, ...)` and answer how it stands now (PUT, PATCH)."""
        answer = await self.database.write(self.caller, self.now, f, *args, **kw)
        return self.answer(shape, answer, tag=version_tag(answer), stored=True)

    async def put(
        self, shape: Shape[T], f: Callable[Concatenate[Tx, P], tuple[T, bool]], *args: P.args, **kw: P.kwargs
    ) -> Response:
        """Create or replace: `f(tx, ...)` tells whether it created (201) or not (200)."""
        answer, created = await self.database.write(self.caller, self.now, f, *args, **kw)
        return self.answer(shape, answer, tag=version_tag(answer), stored=True, status=201 if created else 200)

    async def remove(self, f: Callable[Concatenate[Tx, P], object], *args: P.args, **kw: P.kwargs) -> Response:
        """Remove something: 204."""
        await self.database.write(self.caller, self.now, f, *args, **kw)
        return Response(status_code=204, headers=NO_STORE)

    async def add(
        self,
        shape: Shape[T],
        where: Callable[[T], str | None],
        f: Callable[Concatenate[Tx, P], T],
        *args: P.args,
        **kw: P.kwargs,
    ) -> Response:
        """Store something new: 201 with `Location`; a repeat of the request answers the same and stores once."""
        kept = await self.database.write(self.caller, self.now, self.once, shape, where, lambda tx: f(tx, *args, **kw))
        return _written(*kept)

    async def add_secret(
        self,
        status: int,
        shape: Shape[T],
        where: Callable[[T], str | None],
        f: Callable[Concatenate[Tx, P], T],
        *args: P.args,
        **kw: P.kwargs,
    ) -> Response:
        """As `add`, for an answer with a secret: it is not kept, so a repeat is refused and says where the thing is."""
        kept = await self.database.write(
            self.caller, self.now, self.once, shape, where, lambda tx: f(tx, *args, **kw), status, secret=True
        )
        return _written(*kept)

    def once(
        self,
        tx: Tx,
        shape: Shape[T],
        where: Callable[[T], str | None],
        work: Callable[[Tx], T],
        status: int = 201,
        *,
        secret: bool = False,
    ) -> tuple[idempotency.Answer, bool]:
        """Do `work(tx)` and keep its answer for a repeat; or the answer of before, and that it is one."""
        if self.repeat is not None:
            before = idempotency.find(tx, self.repeat, self.fingerprint)
            if before is not None and before.body is None:
                raise Conflict(
                    f"This was done already, see {before.location}. Its secret was shown once and is not kept: "
                    f"POST {before.location}/rotation makes a new one."
                )
            if before is not None:
                return before, True
        answer = work(tx)
        given = idempotency.Answer(status, where(answer), version_tag(answer), shape.json(answer))
        if self.repeat is not None:
            idempotency.keep(tx, self.repeat, self.fingerprint, replace(given, body=None) if secret else given)
        return given, False

    def answer(
        self, shape: Shape[T], answer: T, *, tag: str | None = None, stored: bool = False, status: int = 200
    ) -> Response:
        """Write an answer with its tag; 304 where the reader has it already."""
        if stored and tag is None and not self.headers:  # calculations
            return Plain(shape.json(answer), status)
        headers = dict(NO_STORE if stored else PRIVATE) | self.headers
        if tag is not None:
            headers["ETag"] = tag
            if not stored and self.has(tag):
                return Response(status_code=304, headers=headers)
        return Response(shape.json(answer), status, headers, media_type="application/json")

    def has(self, tag: str) -> bool:
        """Whether the reader already has the state of this tag (`If-None-Match`)."""
        sent = self.request.headers.get("if-none-match")
        return sent is not None and (
            sent.strip() == "*" or tag in {t.strip().removeprefix("W/") for t in sent.split(",")}
        )

    def expected(self) -> int | None:
        """The version that `If-Match` names; None for `*`, the deliberate overwrite.

        A proxy that compresses turns tags weak; ours names a state, not bytes, so a weak one is accepted.
        """
        sent = self.request.headers.get("if-match")
        if sent is None:
            raise Problem("if-match-required", 'Send If-Match with the version that you read, such as "7".')
        if sent.strip() == "*":
            return None
        match = re.fullmatch(r'(?:W/)?"(\d{1,9})(?:\.[a-z]+)?"', sent.strip())
        if match is None:
            raise Problem("malformed-request", 'If-Match must be a version in quotes, such as "7", or *.')
        return int(match[1])

    def only_new(self) -> bool:
        """Whether a PUT shall create only (`If-None-Match: *`)."""
        return self.request.headers.get("if-none-match", "").strip() == "*"

    def expected_if_sent(self) -> int | None:
        """As `expected`, where the header is optional: -1 when it was not sent."""
        return self.expected() if "if-match" in self.request.headers else -1


def _written(kept: idempotency.Answer, replayed: bool) -> Response:  # noqa: FBT001  (the two halves of one result)
    headers = dict(NO_STORE)
    if kept.location is not None:
        headers["Location"] = kept.location
    if kept.etag is not None:
        headers["ETag"] = kept.etag
    if replayed:
        headers["Idempotent-Replayed"] = "true"
    return Response(kept.body, kept.status, headers, media_type="application/json")


def repeat_key(request: Asked) -> str | None:
    """The `Idempotency-Key` header: 1 to 64 visible ASCII characters, quoted or bare."""
    sent = request.said(b"idempotency-key")
    if sent is None:
        return None
    text = sent.strip()
    if len(text) >= 2 and text[0] == text[-1] == '"':
        text = text[1:-1]
    if not re.fullmatch(r"[\x21-\x7e]{1,64}", text):
        raise Problem("malformed-request", "Idempotency-Key must be 1 to 64 visible ASCII characters.")
    return text


def fingerprint(request: Request, body: bytes) -> bytes:
    """What makes two requests the same one: method, path, query, content type and body."""
    kind = request.headers.get("content-type", "")
    start = f"{request.method}\n{request.url.path}\n{request.url.query}\n{kind}\n".encode()
    return hashlib.sha256(start + body).digest()


async def _call() -> Call:
    raise NotImplementedError  # the route itself gives the call; the framework only learns that it is no parameter


Called = Annotated[Call, Depends(_call)]
"""The only dependency of a route: who is calling. The key is checked before the body is read."""
