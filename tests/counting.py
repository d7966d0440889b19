"""Which statements the service sends, through the engine and past it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import event

from service.store.hot import Hot
from service.store.session import Database


@contextmanager
def statements(database: Database) -> Iterator[list[str]]:
    """Collect the statements of a while, but for the one that names the gym."""
    seen: list[str] = []

    def note(text: str) -> None:
        if "set_config" not in text:
            seen.append(text)

    def through(_connection, _cursor, statement, *_) -> None:
        note(statement)

    run = Hot.run

    def past(hot, connection, values):
        note(hot.text)
        return run(hot, connection, values)

    event.listen(database.engine, "before_cursor_execute", through)
    Hot.run = past
    try:
        yield seen
    finally:
        Hot.run = run
        event.remove(database.engine, "before_cursor_execute", through)
