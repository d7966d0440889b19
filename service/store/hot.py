"""The few statements that run with every set of every lifter: compiled once, sent on the driver's own cursor.

Going through the engine costs two to three times as much for each statement as the driver itself. The text is still
written with SQLAlchemy, so that tables and types stand in one place.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import psycopg
from psycopg.rows import namedtuple_row
from sqlalchemy import Connection, Executable
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.exc import DBAPIError, MultipleResultsFound, NoResultFound

_DIALECT = PGDialect_psycopg()  # type: ignore[no-untyped-call]


class Rows:
    """What a statement brought: named tuples."""

    __slots__ = ("_cursor",)

    def __init__(self, cursor: psycopg.Cursor[Any]) -> None:
        self._cursor = cursor

    @property
    def rowcount(self) -> int:
        """How many rows were found or changed."""
        return self._cursor.rowcount

    def one_or_none(self) -> Any:
        """The only row, or None."""
        if self._cursor.rowcount > 1:
            raise MultipleResultsFound
        return self._cursor.fetchone()

    def one(self) -> Any:
        """The only row."""
        row = self.one_or_none()
        if row is None:
            raise NoResultFound
        return row

    def __iter__(self) -> Iterator[Any]:
        return iter(self._cursor.fetchall())


class Hot:
    """A statement compiled once. Its values are sent as they are: JSON as text."""

    __slots__ = ("text",)

    def __init__(self, statement: Executable) -> None:
        self.text = str(statement.compile(dialect=_DIALECT))  # type: ignore[attr-defined]

    @classmethod
    def written(cls, text: str) -> Hot:
        """A statement that is text for the driver already."""
        made = cls.__new__(cls)
        made.text = text
        return made

    def run(self, connection: Connection, values: Mapping[str, Any]) -> Rows:
        """Send it in the transaction of a connection; what goes wrong is raised as the engine would."""
        driver: Any = connection.connection.driver_connection
        cursor = driver.cursor(row_factory=namedtuple_row)
        try:
            cursor.execute(self.text, values)
        except psycopg.Error as error:
            if driver.closed:  # the server was restarted: all that the pool holds is dead, not only this one
                connection.engine.dispose()
                connection.invalidate(error)
            raise DBAPIError.instance(  # the same classes as for all other statements
                self.text, None, error, psycopg.Error, hide_parameters=True, connection_invalidated=bool(driver.closed)
            ) from error
        return Rows(cursor)
