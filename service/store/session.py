"""A transaction that can see one gym: the only place with threads, commit and retry.

A use case is a plain function `f(tx, ...)`. It makes one hop to a thread, opens a transaction there, names the gym to
row-level security, runs, commits and comes back with plain records. Nothing lazy leaves it, so it can be run again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any, Concatenate, ParamSpec, TypeVar, overload
from uuid import UUID

import anyio
import anyio.to_thread
from sqlalchemy import Connection, CursorResult, Engine, Executable, Text, bindparam, create_engine, text
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.store.errors import InProgress, Unavailable
from service.store.hot import Hot, Rows

P = ParamSpec("P")
T = TypeVar("T")

_GYM = bindparam("gym", type_=Text())
WRITE = Hot(text("SELECT set_config('app.gym', :gym, true) AS gym").bindparams(_GYM))
READ = Hot(
    text(
        "SELECT set_config('app.gym', :gym, true) AS gym, set_config('transaction_read_only', 'on', true) AS mode"
    ).bindparams(_GYM)
)

AGAIN = {"40001", "40P01"}
"""Serialization failure, deadlock: the transaction did nothing and may be run again."""
LOCK_TIMEOUT = "55P03"
STATEMENT_TIMEOUT = "57014"
IDEMPOTENCY = "idempotency_keys_pkey"


@dataclass(frozen=True, slots=True)
class Caller:
    """Who is calling: the gym, the key with its right, and the athlete that the key is bound to, if any."""

    gym: UUID
    key_id: str
    key_name: str
    right: str
    athlete: UUID | None


@dataclass(slots=True)
class Tx:
    """A connection that knows its gym, who is calling, and when."""

    connection: Connection
    caller: Caller
    now: datetime
    reads_only: bool = False

    @property
    def gym(self) -> UUID:
        """The gym of this transaction; it stands in every query."""
        return self.caller.gym

    @overload
    def execute(self, statement: Hot, values: Any = None) -> Rows: ...
    @overload
    def execute(self, statement: Executable, values: Any = None) -> CursorResult[Any]: ...
    def execute(self, statement: Executable | Hot, values: Any = None) -> CursorResult[Any] | Rows:
        """Run one statement."""
        if isinstance(statement, Hot):
            return statement.run(self.connection, values)
        return self.connection.execute(statement, values)


class KeptFirst(Exception):
    """A read that stands on something that has to be computed and kept before: `keeps` do so, then it is run again.

    Each is a transaction by itself, so that none holds what others wait for longer than its own work takes.
    """

    def __init__(self, *keeps: Callable[[Tx], object]) -> None:
        super().__init__()
        self.keeps = keeps


class Database:
    """The engine, and the one way into it."""

    def __init__(self, url: str, *, pool_size: int = 8, prepare: bool = True, wait_seconds: float = 10) -> None:
        # The last: rows that others are checked against are looked up by their key, also in tables of a few pages.
        options = (
            "-c statement_timeout=5s -c lock_timeout=2s -c idle_in_transaction_session_timeout=10s -c timezone=UTC"
            " -c random_page_cost=1.1"
        )
        arguments: dict[str, Any] = {"options": options, "connect_timeout": 5}
        if not prepare:  # a pooler in transaction mode hands one server connection to many clients
            arguments["prepare_threshold"] = None
        self.engine: Engine = create_engine(
            url, pool_size=pool_size, max_overflow=0, pool_timeout=2, pool_pre_ping=False, connect_args=arguments
        )
        self._limiter = anyio.CapacityLimiter(pool_size)
        self._wait = wait_seconds

    def close(self) -> None:
        """Give all connections back."""
        self.engine.dispose()

    async def read(
        self, caller: Caller, now: datetime, f: Callable[Concatenate[Tx, P], T], *args: P.args, **kw: P.kwargs
    ) -> T:
        """Run `f(tx, ...)` in a read-only transaction; where it says so, after something that it stands on was kept."""
        return await self.hop(partial(self._read, caller, now, lambda tx: f(tx, *args, **kw)))

    async def write(
        self, caller: Caller, now: datetime, f: Callable[Concatenate[Tx, P], T], *args: P.args, **kw: P.kwargs
    ) -> T:
        """Run `f(tx, ...)` in a transaction, commit, and return what it returned."""
        return await self.hop(partial(self._run, WRITE, caller, now, lambda tx: f(tx, *args, **kw)))

    async def hop(self, work: Callable[[], T]) -> T:
        """Run blocking database work in one of as many threads as there are connections.

        Waiting for a thread longer than the deadline is refused before any work starts; work that has started is
        never abandoned half-way.
        """
        try:
            with anyio.fail_after(self._wait):
                return await anyio.to_thread.run_sync(work, limiter=self._limiter)
        except TimeoutError:
            raise Unavailable("The service has too much to do just now: try again in a moment.") from None

    async def outside(self, f: Callable[[Engine], T]) -> T:
        """Run `f(engine)`, the few statements that belong to no gym: keys are looked up before it is known."""
        return await self.hop(lambda: _again(lambda: f(self.engine)))

    def _read(self, caller: Caller, now: datetime, f: Callable[[Tx], T]) -> T:
        for _ in range(3):  # twice only where the whole gym is changed at that moment
            try:
                return self._run(READ, caller, now, f)
            except KeptFirst as first:
                for keep in first.keeps:
                    self._run(WRITE, caller, now, keep)
        raise Unavailable("What this stands on is being changed just now: try again in a moment.")

    def _run(self, start: Hot, caller: Caller, now: datetime, f: Callable[[Tx], T]) -> T:
        def once() -> T:
            with self.transaction(caller, now, start=start) as tx:
                return f(tx)

        return _again(once)

    @contextmanager
    def transaction(self, caller: Caller, now: datetime, *, start: Hot = WRITE) -> Iterator[Tx]:
        """Commit on a clean exit, roll back on any exception.

        Row-level security reads `app.gym`; a connection opened any other way sees no rows at all.
        """
        with self.engine.begin() as connection:
            yield enter(connection, caller, now, start=start)


def enter(connection: Connection, caller: Caller, now: datetime, *, start: Hot = WRITE) -> Tx:
    """Name the gym to the connection's transaction; the end of the transaction takes it back."""
    start.run(connection, {"gym": str(caller.gym)})
    return Tx(connection, caller, now, reads_only=start is READ)


def _again(work: Callable[[], T]) -> T:
    """Run work, and once more where its first run did nothing; what stays wrong is raised as one of our own errors."""
    tried = False
    while True:
        try:
            return work()
        except (DBAPIError, PoolTimeout) as error:
            if tried or not _worth_again(error):
                raise _translated(error) from error
            tried = True


def _worth_again(error: Exception) -> bool:
    """Whether the failed transaction did nothing and may succeed when it is run once more."""
    if not isinstance(error, DBAPIError):
        return False
    if error.connection_invalidated:  # the server was restarted: the pool's old connections are dead
        return True
    return getattr(error.orig, "sqlstate", None) in AGAIN or constraint(error) == IDEMPOTENCY


def _translated(error: Exception) -> Exception:
    if isinstance(error, PoolTimeout):
        return Unavailable("The service has too much to do just now: try again in a moment.")
    state = getattr(getattr(error, "orig", None), "sqlstate", None)
    if constraint(error) == IDEMPOTENCY or state == LOCK_TIMEOUT:
        return InProgress("The same request is still running: try again in a moment.")
    if isinstance(error, OperationalError) and (state is None or error.connection_invalidated):
        return Unavailable("The database cannot be reached just now: try again in a moment.")
    if state in AGAIN or state == STATEMENT_TIMEOUT:
        return Unavailable("The database has too much to do just now: try again in a moment.")
    return error


def constraint(error: Exception) -> str | None:
    """Name of the constraint that a database error says was broken."""
    diagnosis = getattr(getattr(error, "orig", None), "diag", None)
    return getattr(diagnosis, "constraint_name", None)
