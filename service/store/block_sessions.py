"""The sessions of running blocks with what is planned in them, and how they are moved, skipped and extended."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Literal
from uuid import UUID

from sqlalchemy import ARRAY, Date, Text, Uuid, bindparam, text, update

from service.core.records import WORK_ROLES, SessionKind
from service.core.slots import SessionPlan, Slot
from service.store import session_plans
from service.store.plans import SLOT
from service.store.session import Tx
from service.store.session_plans import NewSlot
from service.store.sessions import State, slot_row
from service.store.tables import blocks

Day = date  # a record's own field may be called date


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionOfBlock:
    """A session of a block with its slots."""

    id: UUID
    block: UUID
    athlete: UUID
    week: int
    number: int
    date: Day
    state: State
    kind: SessionKind
    name: str
    plan_note: str | None
    place: UUID | None
    touched: bool
    """Sets are stored in it, deleted ones too."""
    trained: bool
    """Work sets were logged in it."""
    slots: tuple[Slot, ...]

    @property
    def planned(self) -> bool:
        """Whether it may still be changed."""
        return self.state == "planned" and not self.touched

    @property
    def plan(self) -> SessionPlan:
        """What is planned, as a template has it."""
        kind: Literal["block", "test", "meet"] = "block"
        if self.kind == "test" or self.kind == "meet":  # noqa: PLR1714  (so that the type is known)
            kind = self.kind
        return SessionPlan(name=self.name, kind=kind, note=self.plan_note, slots=self.slots)


OF_BLOCKS = text("""
SELECT s.id, s.block_id AS block, s.athlete_id AS athlete, s.week, s.number, s.date, s.state, s.kind, s.name,
       s.plan_note, s.place_id AS place,
       EXISTS (SELECT 1 FROM sets e WHERE e.gym_id = s.gym_id AND e.session_id = s.id) AS touched,
       EXISTS (SELECT 1 FROM sets e WHERE e.gym_id = s.gym_id AND e.session_id = s.id
                  AND e.deleted_at IS NULL AND e.role = ANY(:roles)) AS trained,
       ARRAY(SELECT CAST(n.body AS text) FROM slots n
              WHERE n.gym_id = s.gym_id AND n.plan_id = s.plan_id ORDER BY n.position) AS slots
  FROM sessions s
 WHERE s.gym_id = :gym AND s.block_id = ANY(:blocks)
 ORDER BY s.block_id, s.date, s.week, s.number, s.id
""").bindparams(
    bindparam("gym", type_=Uuid()),
    bindparam("blocks", type_=ARRAY(Uuid())),
    bindparam("roles", type_=ARRAY(Text())),
)
LATE = text("""
SELECT DISTINCT s.block_id FROM sessions s
 WHERE s.gym_id = :gym AND s.athlete_id = ANY(:athletes) AND s.block_id IS NOT NULL AND s.state = 'planned'
   AND s.date < :on
 ORDER BY s.block_id
""").bindparams(
    bindparam("gym", type_=Uuid()), bindparam("athletes", type_=ARRAY(Uuid())), bindparam("on", type_=Date())
)
MOVE = text("""
UPDATE sessions s SET date = u.date, version = s.version + 1
  FROM unnest(:ids, :dates) AS u (id, date)
 WHERE s.gym_id = :gym AND s.id = u.id AND s.state = 'planned'
""").bindparams(
    bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid())), bindparam("dates", type_=ARRAY(Date()))
)
PLACE = text("""
UPDATE sessions s SET place_id = u.place FROM unnest(:ids, :places) AS u (id, place)
 WHERE s.gym_id = :gym AND s.id = u.id AND s.state = 'planned'
""").bindparams(bindparam("gym", type_=Uuid()), *(bindparam(name, type_=ARRAY(Uuid())) for name in ("ids", "places")))
SKIP = text("""
UPDATE sessions s SET state = 'skipped', version = s.version + 1
 WHERE s.gym_id = :gym AND s.id = ANY(:ids) AND s.state = 'planned'
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid())))
COUNT_UP = text("""
UPDATE sessions s SET version = s.version + 1 WHERE s.gym_id = :gym AND s.id = ANY(:ids)
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid())))


def of_blocks(tx: Tx, wanted: Iterable[UUID]) -> dict[UUID, list[SessionOfBlock]]:
    """Return the sessions of blocks by date, in one statement; a block without sessions has an empty list."""
    found: dict[UUID, list[SessionOfBlock]] = {one: [] for one in wanted}
    values = {"gym": tx.gym, "blocks": list(found), "roles": sorted(WORK_ROLES)}
    for row in tx.execute(OF_BLOCKS, values).mappings():
        slots = tuple(_slot(body) for body in row["slots"])
        found[row["block"]].append(SessionOfBlock(**{**row, "slots": slots}))
    return found


@lru_cache(maxsize=4096)  # a template's slots come again in each of its weeks and for every athlete
def _slot(body: str) -> Slot:
    return SLOT.validate_json(body)


def move(tx: Tx, days: Mapping[UUID, date], *, places: Mapping[UUID, UUID | None] | None = None) -> None:
    """Give planned sessions other days, and those in `places` other places; the caller holds the athletes' locks."""
    if days:
        tx.execute(MOVE, {"gym": tx.gym, "ids": list(days), "dates": list(days.values())})
    if places:
        tx.execute(PLACE, {"gym": tx.gym, "ids": list(places), "places": list(places.values())})


def skip(tx: Tx, ids: Sequence[UUID]) -> None:
    """Skip planned sessions; the caller holds the athletes' locks."""
    if ids:
        tx.execute(SKIP, {"gym": tx.gym, "ids": list(ids)})


def extend(tx: Tx, further: Mapping[UUID, tuple[int, Sequence[Slot]]]) -> None:
    """Put slots into planned sessions: by session, before which place from 0, and which; the caller holds the locks."""
    if not further:
        return
    wanted = {}
    for session, own in session_plans.of_sessions(tx, list(further)).items():
        at, slots = further[session]
        new = [NewSlot(one.text, one.id) for one in own]
        new[at:at] = [NewSlot(slot_row(slot)) for slot in slots]
        wanted[session] = new
    session_plans.change(tx, wanted)
    tx.execute(COUNT_UP, {"gym": tx.gym, "ids": list(further)})


def count_up(tx: Tx, block: UUID) -> None:
    """Count a block's version up: its sessions are others now."""
    changed = update(blocks).where(blocks.c.gym_id == tx.gym, blocks.c.id == block)
    tx.execute(changed.values(version=blocks.c.version + 1))


def late_blocks(tx: Tx, athletes: Sequence[UUID], *, on: date | None = None) -> list[UUID]:
    """Return blocks of athletes that have planned sessions of days before one; without it, of their days up to now.

    Near the date line a day's sessions may be among them that the athlete's own clock does not call late.
    """
    day = on or (tx.now + timedelta(days=1)).date()
    values = {"gym": tx.gym, "athletes": list(athletes), "on": day}
    return [row.block_id for row in tx.execute(LATE, values)]
