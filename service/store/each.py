"""A statement about one athlete, and the same text for many at once: what it says stands in one place."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import Executable

from service.store.hot import Hot
from service.store.session import Tx


class Each:
    """A statement with values that differ from one asked to the next.

    For one of them it is sent as it is written. For more it is put behind a list of their values, and runs for each
    line of that list inside the database: one statement, however many there are.
    """

    __slots__ = ("_many", "_names", "_one")

    def __init__(self, statement: Executable, **differing: str) -> None:
        """`differing`: the values that are not the same for all, with the database's word for their type."""
        self._names = tuple(differing)
        self._one = Hot(statement)
        text = self._one.text
        for name in differing:
            text = re.sub(rf"%\({name}\)s(::\w+)?", f'asked."{name}"', text)
        columns = ", ".join(f'"{name}"' for name in differing)
        listed = ", ".join(f"%({name})s::{kind}[]" for name, kind in differing.items())
        # the statement's own order is kept by counting its rows as they come
        self._many = Hot.written(
            f"SELECT asked.nth, q.* FROM unnest({listed}) WITH ORDINALITY AS asked ({columns}, nth) "  # noqa: S608
            f"CROSS JOIN LATERAL (SELECT row_number() OVER () AS row_nth, i.* FROM ({text}) i) q "
            "ORDER BY asked.nth, q.row_nth"
        )

    def rows(self, tx: Tx, asked: Sequence[tuple[Any, ...]], **same: Any) -> list[list[Any]]:
        """The rows of each that is asked for, in the statement's order; with one statement, or none where none is.

        `asked` has the differing values, in the order in which they were named. Who asks the same gets the same list.
        """
        if len(asked) == 1:
            return [list(tx.execute(self._one, {"gym": tx.gym, **same, **self._named(asked[0])}))]
        found: dict[tuple[Any, ...], list[Any]] = {one: [] for one in asked}
        if not found:
            return []
        lines = list(found.values())
        columns = (list(column) for column in zip(*found, strict=True))
        for row in tx.execute(self._many, {"gym": tx.gym, **same, **self._named(tuple(columns))}):
            lines[row.nth - 1].append(row)
        return [found[one] for one in asked]

    def _named(self, values: Sequence[Any]) -> Mapping[str, Any]:
        return dict(zip(self._names, values, strict=True))
