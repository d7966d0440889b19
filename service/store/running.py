"""Blocks that athletes are in the middle of, and how they are made to follow another version of their template."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import ARRAY, Date, DateTime, Integer, Text, Uuid, bindparam, text

from service.core.slots import SessionPlan
from service.store import session_plans
from service.store.blocks import Block
from service.store.session import Tx
from service.store.session_plans import NewSlot
from service.store.sessions import Written, slot_row

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningBlock:
    """A block with who runs it, and which day it is there."""

    block: Block
    athlete_name: str
    archived: bool
    """The athlete is."""
    today: Day
    """The athlete's own day."""
    running: bool
    """A session is planned or open on that day or after it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefSession:
    """A session of a block with the mark of what is planned in it, to be compared without being read."""

    week: int
    number: int
    date: Day
    planned: bool
    """Planned, and no set was ever logged in it."""
    mark: str


_BLOCKS = """
SELECT b.id, b.name, b.athlete_id AS athlete, b.template_id AS template, b.template_version, b.start_date AS start,
       b.weekdays, b.layout, b.version, b.created_at, a.name AS athlete_name, a.archived, d.today, r.running
  FROM blocks b
  JOIN athletes a ON a.gym_id = b.gym_id AND a.id = b.athlete_id
  CROSS JOIN LATERAL (
    SELECT coalesce(CAST(:on AS date), CAST(CAST(:now AS timestamptz) AT TIME ZONE a.time_zone AS date)) AS today
  ) d
  CROSS JOIN LATERAL (
    SELECT EXISTS (SELECT FROM sessions s
                    WHERE s.gym_id = b.gym_id AND s.block_id = b.id AND s.state IN ('planned', 'open')
                      AND s.date >= d.today) AS running
  ) r
 WHERE b.gym_id = :gym
"""
_SCOPE = (
    bindparam("gym", type_=Uuid()), bindparam("now", type_=DateTime(timezone=True)), bindparam("on", type_=Date()),
)  # fmt: skip
_ORDER = " ORDER BY a.name, a.id, b.start_date, b.id"
NAMED = text(_BLOCKS + " AND b.id = ANY(:ids)" + _ORDER).bindparams(*_SCOPE, bindparam("ids", type_=ARRAY(Uuid())))
RUNNING = text(
    _BLOCKS
    + " AND b.template_id = :template AND r.running AND NOT a.archived"
    + " AND (CAST(:athletes AS uuid[]) IS NULL OR b.athlete_id = ANY(:athletes))"
    + _ORDER
).bindparams(*_SCOPE, bindparam("template", type_=Uuid()), bindparam("athletes", type_=ARRAY(Uuid())))
BRIEF = text("""
SELECT s.block_id AS block, s.week, s.number, s.date,
       s.state = 'planned' AND NOT EXISTS (
         SELECT 1 FROM sets e WHERE e.gym_id = s.gym_id AND e.session_id = s.id) AS planned,
       md5(concat_ws(E'\\n', s.kind, s.name, coalesce(s.plan_note, ''),
         (SELECT string_agg(CAST(n.body AS text), E'\\n' ORDER BY n.position) FROM slots n
           WHERE n.gym_id = s.gym_id AND n.plan_id = s.plan_id))) AS mark
  FROM sessions s
 WHERE s.gym_id = :gym AND s.block_id = ANY(:blocks)
 ORDER BY s.date, s.week, s.number
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("blocks", type_=ARRAY(Uuid())))
CHANGE = text("""
UPDATE sessions s SET name = u.name, kind = u.kind, plan_note = u.note, version = s.version + 1
  FROM unnest(:ids, :names, :kinds, :notes) AS u (id, name, kind, note)
 WHERE s.gym_id = :gym AND s.id = u.id AND s.state = 'planned'
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("ids", type_=ARRAY(Uuid())),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("names", "kinds", "notes")),
)
REMOVE = text("""
DELETE FROM sessions s WHERE s.gym_id = :gym AND s.id = ANY(:ids) AND s.state = 'planned'
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid())))
POINT = text("""
UPDATE blocks b SET template_version = :number, version = b.version + 1 WHERE b.gym_id = :gym AND b.id = ANY(:ids)
""").bindparams(
    bindparam("gym", type_=Uuid()), bindparam("number", type_=Integer()), bindparam("ids", type_=ARRAY(Uuid()))
)


def named(tx: Tx, blocks: Sequence[UUID], *, on: date | None = None) -> list[RunningBlock]:
    """Return blocks by id, in the order of athletes' names; unknown ids are absent. `on`: as if it were that day."""
    rows = tx.execute(NAMED, {"gym": tx.gym, "now": tx.now, "on": on, "ids": list(blocks)}).mappings()
    return [_running(row) for row in rows]


def of_template(
    tx: Tx, template: UUID, athletes: Iterable[UUID] | None = None, *, on: date | None = None
) -> list[RunningBlock]:
    """Return the running blocks of a template, of these athletes or of all who are not archived, by their names.

    `on`: as if it were that day of each of them.
    """
    values = {"gym": tx.gym, "now": tx.now, "on": on, "template": template}
    whose = None if athletes is None else list(athletes)
    return [_running(row) for row in tx.execute(RUNNING, values | {"athletes": whose}).mappings()]


def _running(row: Mapping[Any, Any]) -> RunningBlock:
    values = dict(row)
    own = {name: values.pop(name) for name in ("athlete_name", "archived", "today", "running")}
    return RunningBlock(block=Block(**values), **own)


def brief(tx: Tx, blocks: Iterable[UUID]) -> dict[UUID, list[BriefSession]]:
    """Return the sessions of blocks by date, each with the mark of its plan, in one statement."""
    found: dict[UUID, list[BriefSession]] = {block: [] for block in blocks}
    for row in tx.execute(BRIEF, {"gym": tx.gym, "blocks": list(found)}).mappings():
        values = dict(row)
        found[values.pop("block")].append(BriefSession(**values))
    return found


def mark(session: SessionPlan) -> str:
    """The mark of a plan: two are alike where it is the same."""
    parts = (session.kind, session.name, session.note or "", *(slot_row(slot)[1] for slot in session.slots))
    return hashlib.md5("\n".join(parts).encode(), usedforsecurity=False).hexdigest()


def change(tx: Tx, plans: Mapping[UUID, SessionPlan], slots: Mapping[UUID, Sequence[UUID | None]]) -> None:
    """Give planned sessions other names, kinds, notes and slots; the caller holds the athletes' locks.

    `slots` has for each slot of a session the one that it takes the place of, or None: what a phone has read already
    still names the same thing. A session that is absent there keeps its slots as they are.
    """
    if not plans:
        return
    facts = [(one.name, one.kind, one.note) for one in plans.values()]
    names, kinds, notes = (list(column) for column in zip(*facts, strict=True))
    tx.execute(CHANGE, {"gym": tx.gym, "ids": list(plans), "names": names, "kinds": kinds, "notes": notes})
    written = Written()
    wanted = {
        session: [
            NewSlot(written.row(slot), before) for before, slot in zip(befores, plans[session].slots, strict=True)
        ]
        for session, befores in slots.items()
    }
    session_plans.change(tx, wanted)


def remove(tx: Tx, sessions: Sequence[UUID]) -> None:
    """Remove planned sessions in which nothing was ever logged; the caller holds the athletes' locks."""
    if sessions:
        plans = session_plans.hold(tx, sessions=sessions)
        tx.execute(REMOVE, {"gym": tx.gym, "ids": list(sessions)})
        session_plans.drop_unused(tx, plans)


def point(tx: Tx, blocks: Sequence[UUID], number: int) -> None:
    """Let blocks be of a version of their template, and count their own versions up."""
    if blocks:
        tx.execute(POINT, {"gym": tx.gym, "ids": list(blocks), "number": number})
