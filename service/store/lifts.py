"""Lifts: the built-in catalogue as rows of each gym, and the gym's own."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, delete, func, insert, select, text, tuple_, update
from sqlalchemy.dialects.postgresql import ARRAY
from sqlalchemy.types import Text, Uuid

from service.core.catalogue import BUILT_IN
from service.core.prescribe import basis
from service.core.records import CurveGroup, LoadKind
from service.core.records import Lift as CoreLift
from service.store import memories
from service.store.errors import (
    ChangedMeanwhile,
    Conflict,
    NotFound,
    UnfitReference,
    UnknownReference,
    VersionNeeded,
)
from service.store.hot import Hot
from service.store.session import Tx
from service.store.tables import lifts

LONGEST_CHAIN = basis.LONGEST_CHAIN
"""A lift may have so many above it: further than this no ratio is followed. [lifts]"""
OWN_RATIO = "the gym's own"
READ_BY = ("load_kind", "curve_group", "technique", "based_on", "ratio", "ratio_source")
"""What the log is read by: when one of them changes, it is folded anew."""
LOCK = text("SELECT pg_advisory_xact_lock(hashtextextended(:name, 0))")
IN_USE = text(
    """
    SELECT EXISTS (SELECT FROM maxes WHERE gym_id = :gym AND lift = :lift)
        OR EXISTS (SELECT FROM overrides WHERE gym_id = :gym AND :lift IN (lift, to_lift))
        OR EXISTS (SELECT FROM lifts WHERE gym_id = :gym AND based_on = :lift)
        OR EXISTS (SELECT FROM slots WHERE gym_id = :gym AND lift = :lift)
        OR EXISTS (SELECT FROM sets WHERE gym_id = :gym AND lift = :lift)
        OR EXISTS (
            SELECT FROM template_versions
            WHERE gym_id = :gym AND jsonb_path_exists(
                CAST(body AS jsonb), '$.** ? (@.lift == $lift || @.of == $lift)',
                jsonb_build_object('lift', CAST(:lift AS text))))
        OR EXISTS (
            SELECT FROM places
            WHERE gym_id = :gym AND jsonb_path_exists(
                CAST(kit AS jsonb), '$.*[*].lifts[*] ? (@ == $lift)',
                jsonb_build_object('lift', CAST(:lift AS text))))
    """
)
"""Whether anything names a lift; templates and places name it inside their bodies."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """An exercise."""

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
    values: dict[str, Any] = row._asdict()
    if values["ratio"] is not None:
        values["ratio"] = float(values["ratio"])
    return values


def _with_parents() -> Any:
    gym = lifts.c.gym_id == bindparam("gym", type_=Uuid())
    asked = lifts.c.id == func.any(bindparam("ids", type_=ARRAY(Text)))
    chain = select(*_CORE).where(gym, asked).cte("chain", recursive=True)
    return select(chain.union(select(*_CORE).where(gym, lifts.c.id == chain.c.based_on)))


WITH_PARENTS = Hot(_with_parents())
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


def put(tx: Tx, lift: str, *, expected: int | None, only_new: bool, values: dict[str, Any]) -> tuple[Lift, bool]:
    """Create one of the gym's own lifts, or replace it; tell whether it was created.

    `expected` is the version that the caller read, None whatever it is, -1 where the caller named none: then an
    existing lift is not replaced. Members that `values` leaves out are as in the lift that this one is based on.
    """
    tx.execute(LOCK, {"name": f"{tx.gym}/lifts"})  # so that two changes together cannot close a circle
    before = find(tx, lift)
    if before is None and expected not in (None, -1):
        raise NotFound("lift")
    if before is not None:
        _may_change(before, expected, only_new=only_new)
    elif lift in BUILT_IN:
        raise Conflict("This word is that of a built-in lift: choose another.")
    row = _row(lift, values, _parents(tx, lift, values.get("based_on")))
    if before is None:
        tx.execute(insert(lifts).values(gym_id=tx.gym, id=lift, built_in=False, **row))
        return get(tx, lift), True
    if row["load_kind"] != before.load_kind and _in_use(tx, lift):
        raise Conflict("The lift is in use, and its load kind says what loads mean: make another lift.")
    _changed(tx, before, expected, row)
    after = get(tx, lift)
    if any(getattr(before, name) != getattr(after, name) for name in READ_BY):
        memories.forget_all(tx)
    return after, False


def find(tx: Tx, lift: str) -> Lift | None:
    """Return one lift of the gym, or None."""
    try:
        return get(tx, lift)
    except NotFound:
        return None


def remove(tx: Tx, lift: str, *, expected: int | None) -> None:
    """Remove one of the gym's own lifts that nothing uses."""
    before = get(tx, lift)
    _may_change(before, expected, only_new=False)
    if _in_use(tx, lift):
        raise Conflict("The lift is in use by maxes, overrides, templates, sessions, sets, places or other lifts.")
    tx.execute(delete(lifts).where(lifts.c.gym_id == tx.gym, lifts.c.id == lift))


def _may_change(before: Lift, expected: int | None, *, only_new: bool) -> None:
    if before.built_in:
        raise Conflict("Built-in lifts cannot be changed or removed: make one of your own, based on it.")
    if only_new:
        raise ChangedMeanwhile(before.version)
    if expected == -1:
        raise VersionNeeded(before.version)
    if expected is not None and expected != before.version:
        raise ChangedMeanwhile(before.version)


def _changed(tx: Tx, before: Lift, expected: int | None, row: dict[str, Any]) -> None:
    statement = update(lifts).where(lifts.c.gym_id == tx.gym, lifts.c.id == before.id)
    if expected is not None:
        statement = statement.where(lifts.c.version == expected)
    if not tx.execute(statement.values(version=lifts.c.version + 1, **row)).rowcount:
        raise ChangedMeanwhile(before.version)


def _parents(tx: Tx, lift: str, based_on: str | None) -> dict[str, CoreLift]:
    """The lift that one shall be based on and all above it, or a refusal where it cannot be."""
    if based_on is None:
        return {}
    found = get_many(tx, [based_on])
    if based_on not in found:
        raise UnknownReference("lift", "#/based_on")
    if lift in found:
        raise UnfitReference("lift", "#/based_on", "must not be this lift or one that is based on it")
    if len(found) > LONGEST_CHAIN:
        raise UnfitReference("lift", "#/based_on", "must not be a variation of a variation of a variation itself")
    if found[based_on].load_kind in ("stack", "none"):
        raise UnfitReference("lift", "#/based_on", "must be a lift whose loads compare: no machine, not without load")
    return found


def _row(lift: str, values: dict[str, Any], parents: dict[str, CoreLift]) -> dict[str, Any]:
    parent = parents.get(values.get("based_on") or "", CoreLift(id=lift, name="", load_kind="none"))
    row: dict[str, Any] = {"curve_group": parent.curve_group, "technique": parent.technique}
    row |= {"based_on": None, "ratio": None, "ratio_source": None if values.get("ratio") is None else OWN_RATIO}
    return row | {name: value for name, value in values.items() if value is not None}


def _in_use(tx: Tx, lift: str) -> bool:
    """Whether anything of the gym names the lift."""
    return bool(tx.execute(IN_USE, {"gym": tx.gym, "lift": lift}).scalar_one())
