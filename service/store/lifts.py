"""Lifts: the built-in catalogue as rows of each gym, and the gym's own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import bindparam, func, insert, select, tuple_
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.types import Text

from service.core.catalogue import BUILT_IN
from service.core.records import CurveGroup, LoadKind
from service.core.records import Lift as CoreLift
from service.store.errors import NotFound
from service.store.session import Tx
from service.store.tables import lifts

LONGEST_CHAIN = 8
"""Lifts based on lifts: further than this is refused. [lifts]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """An exercise."""

    __pydantic_config__: ClassVar[dict[str, Any]] = {"use_attribute_docstrings": True}

    id: str
    """The lift's word, chosen once."""
    name: str
    """As lists and sentences show it."""
    load_kind: LoadKind
    """What a load means: `total` the whole bar, `per_hand` one of a pair, `bodyweight` added to the body,
    `stack` a machine's step, `none`."""
    curve_group: CurveGroup
    """How many repetitions a percentage allows, roughly: `squat_like` more, `deadlift_like` fewer, `other`."""
    technique: bool
    """Technique ends a set, not strength: no repetition curve, no effort."""
    based_on: str | None
    """The lift that this one is a variation of."""
    ratio: float | None
    """Its max divided by that of the lift it is based on."""
    ratio_source: str | None
    """Where the ratio comes from."""
    built_in: bool
    """Built-in lifts cannot be changed or removed."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When the gym got it."""


_CORE = (
    lifts.c.id,
    lifts.c.name,
    lifts.c.load_kind,
    lifts.c.curve_group,
    lifts.c.technique,
    lifts.c.based_on,
    lifts.c.ratio,
    lifts.c.ratio_source,
)
_COLUMNS = (*_CORE, lifts.c.built_in, lifts.c.version, lifts.c.created_at)


def _values(row: Any) -> dict[str, Any]:
    values = dict(row._mapping)
    if values["ratio"] is not None:
        values["ratio"] = float(values["ratio"])
    return values


def _with_parents() -> Any:
    asked = lifts.c.id == func.any(bindparam("ids", type_=ARRAY(Text)))
    chain = select(*_CORE).where(lifts.c.gym_id == bindparam("gym"), asked).cte("chain", recursive=True)
    return select(chain.union(select(*_CORE).where(lifts.c.gym_id == bindparam("gym"), lifts.c.id == chain.c.based_on)))


WITH_PARENTS = _with_parents()
"""The lifts asked for and all that they are based on; UNION ends a loop that should not be there."""


def get_many(tx: Tx, ids: Iterable[str]) -> dict[str, CoreLift]:
    """Return lifts by word, with all lifts they are based on, in one statement; unknown words are absent."""
    rows = tx.execute(WITH_PARENTS, {"gym": tx.gym, "ids": list(ids)})
    return {row.id: CoreLift(**_values(row)) for row in rows}


def get(tx: Tx, lift: str) -> Lift:
    """Return one lift of the gym, or raise NotFound."""
    row = tx.execute(select(*_COLUMNS).where(lifts.c.gym_id == tx.gym, lifts.c.id == lift)).one_or_none()
    if row is None:
        raise NotFound("lift")
    return Lift(**_values(row))


def page(tx: Tx, *, after: tuple[str, str] | None, limit: int) -> list[Lift]:
    """Return up to `limit` lifts by name, starting past `after` (name, id)."""
    query = select(*_COLUMNS).where(lifts.c.gym_id == tx.gym).order_by(lifts.c.name, lifts.c.id).limit(limit)
    if after is not None:
        query = query.where(tuple_(lifts.c.name, lifts.c.id) > after)
    return [Lift(**_values(row)) for row in tx.execute(query)]


def add_built_in(tx: Tx) -> None:
    """Give a gym the built-in lifts."""
    rows = [
        {
            "gym_id": tx.gym,
            "id": lift.id,
            "name": lift.name,
            "load_kind": lift.load_kind,
            "curve_group": lift.curve_group,
            "technique": lift.technique,
            "based_on": lift.based_on,
            "ratio": lift.ratio,
            "ratio_source": lift.ratio_source,
            "built_in": True,
        }
        for lift in BUILT_IN.values()
    ]
    tx.execute(insert(lifts).values(rows))
