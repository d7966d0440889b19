"""Many things done at once, answered as lines while they are done: `application/x-ndjson`.

A line is a result, or `{"problem", "athlete"}`; the last one says `done`, and only that says that all is stored. The
work runs in a thread with its transaction; what it tells goes through a queue without a limit, so that a slow reader
never keeps a transaction open. Everything that is wrong before the first line is refused by a status as usual.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar

from fastapi import Request, Response
from starlette.responses import StreamingResponse

from service.api.accept import prefers
from service.api.call import NO_STORE, Call, Shape
from service.api.problems import refused
from service.core.errors import DomainError
from service.store import idempotency
from service.store.session import Tx

A = TypeVar("A")
I = TypeVar("I")  # noqa: E741  (an item of an answer A)

NDJSON = "application/x-ndjson"


class Lines(Generic[A, I]):
    """How an answer with `items` becomes lines: each item one, the rest of its members beside `done`."""

    def __init__(self, shape: Shape[I], items: Callable[[A], Sequence[I]]) -> None:
        self.shape, self.items = shape, items

    def line(self, item: I) -> bytes:
        """The line of one item."""
        return _line(self.shape.json(item))


def _line(written: bytes) -> bytes:
    """An item's line; of one with a problem only that and whose it is."""
    if written.endswith(b'"problem":null}\n'):
        return written
    item = json.loads(written)
    return _text({"problem": item["problem"], "athlete": item["athlete"]})


def _text(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def _all(written: bytes) -> tuple[list[bytes], bytes]:
    """A whole answer as it is kept, as lines: those of its items, and the last."""
    whole = json.loads(written)
    items = whole.pop("items")
    failed = sum(item["problem"] is not None for item in items)
    return [_line(_text(item)) for item in items], _text({"done": True, "count": len(items), "failed": failed, **whole})


@dataclass(frozen=True, slots=True)
class _Done:
    """The transaction is committed."""

    kept: idempotency.Answer
    replayed: bool


class _Told:
    """What a transaction tells on its way; run once more, it must tell the same, or what was sent would be wrong."""

    def __init__(self) -> None:
        self.loop = asyncio.get_running_loop()
        self.queue: asyncio.Queue[bytes | _Done | Exception] = asyncio.Queue()
        self.lines: list[bytes] = []
        self.at = 0

    def begin(self) -> None:
        """A transaction begins, perhaps once more."""
        self.at = 0

    def tell(self, line: bytes) -> None:
        """One more line, from the thread of the transaction."""
        if self.at == len(self.lines):
            self.lines.append(line)
            self.put(line)
        elif self.lines[self.at] != line:
            raise RuntimeError("a transaction that was run once more came to something else than it had told")
        self.at += 1

    def put(self, what: bytes | _Done | Exception) -> None:
        """Hand something to the answer, from any thread."""
        self.loop.call_soon_threadsafe(self.queue.put_nowait, what)


RUNNING: set[asyncio.Task[None]] = set()
"""Work whose reader may have gone: it is finished all the same, as work that was started always is."""


def wants_lines(request: Request) -> bool:
    """Whether lines are asked for, and liked better than one document."""
    return prefers(request, NDJSON, "application/json")


def in_lines(described: dict[str, Any], answer: Any) -> dict[str, Any]:
    """An operation that is answered in lines too, and whose dry run answers 200."""
    described["openapi_extra"]["x-formats"] = ["application/json", NDJSON]
    described["responses"][200] = {"model": answer, "description": "A dry run: nothing was stored."}
    return described


async def streamed(
    call: Call,
    shape: Shape[A],
    lines: Lines[A, I],
    where: Callable[[A], str | None],
    work: Callable[[Tx, Callable[[I], object]], A],
) -> Response:
    """Do `work(tx, tell)` once, as `Call.add` does, and answer a line as soon as it tells of an item.

    What is kept for a repeat is the whole answer as one document; a repeat gets it in the form that it asks for.
    """
    told = _Told()

    def once(tx: Tx) -> tuple[idempotency.Answer, bool]:
        told.begin()
        return call.once(tx, shape, where, lambda own: work(own, lambda item: told.tell(lines.line(item))))

    async def run() -> None:
        try:
            told.put(_Done(*await call.database.write(call.caller, call.now, once)))
        except Exception as error:  # noqa: BLE001  (it is raised, or told, where the answer is written)
            told.put(error)

    task = asyncio.create_task(run())
    RUNNING.add(task)
    task.add_done_callback(RUNNING.discard)
    first = await told.queue.get()
    if isinstance(first, Exception):
        raise first
    headers = dict(NO_STORE)
    if isinstance(first, _Done) and first.replayed:
        headers["Idempotent-Replayed"] = "true"
    return StreamingResponse(_written(call.request, told, first), 200, headers, media_type=NDJSON)


async def _written(request: Request, told: _Told, first: bytes | _Done) -> AsyncIterator[bytes]:
    what: bytes | _Done | Exception = first
    while isinstance(what, bytes):
        yield what
        what = await told.queue.get()
    if isinstance(what, _Done):
        items, last = _all(what.kept.body or b"{}")
        if what.replayed:
            yield b"".join(items)
        yield last
    elif isinstance(what, DomainError):  # too late for a status: no line says `done`
        yield _text({"problem": json.loads(bytes(refused(request, what).body))})
    else:
        raise what


def dry_lines(answer: A, shape: Shape[A]) -> Response:
    """A dry run as lines."""
    items, last = _all(shape.json(answer))
    return Response(b"".join([*items, last]), 200, NO_STORE, media_type=NDJSON)
