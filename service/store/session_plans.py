"""What sessions plan: slots that stand in a plan, to which sessions point.

All who are laid out alike point at the same plans. A plan is never changed: a session that is changed alone gets a plan
of its own, whose slots know the ids that they had before. No two sessions of one athlete point at the same plan, so
that a slot and an athlete mean one session.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import ARRAY, SmallInteger, Text, Uuid, bindparam, text

from service.store.ids import new_id
from service.store.session import Tx

SlotText = tuple[str, str]
"""A slot as its row keeps it: the lift, and the body as JSON."""
ROWS_AT_ONCE = 5000  # keeps each statement far below its time limit

ADD = text("INSERT INTO session_plans (gym_id, id) SELECT :gym, unnest(:ids)").bindparams(
    bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid()))
)
ADD_SLOTS = text("""
INSERT INTO slots (gym_id, id, plan_id, position, lift, body, earlier)
SELECT :gym, t.id, t.plan, t.position, t.lift, CAST(t.body AS json),
       CASE WHEN o.id IS NOT NULL THEN array_prepend(o.id, o.earlier) END
  FROM unnest(:ids, :plans, :positions, :lifts, :bodies, :befores) AS t (id, plan, position, lift, body, before)
  LEFT JOIN slots o ON o.gym_id = :gym AND o.id = t.before
""").bindparams(
    bindparam("gym", type_=Uuid()),
    *(bindparam(name, type_=ARRAY(Uuid())) for name in ("ids", "plans", "befores")),
    bindparam("positions", type_=ARRAY(SmallInteger())),
    *(bindparam(name, type_=ARRAY(Text())) for name in ("lifts", "bodies")),
)
OF_SESSIONS = text("""
SELECT s.id AS session, s.plan_id AS plan, n.id, n.lift, CAST(n.body AS text) AS body
  FROM sessions s LEFT JOIN slots n ON n.gym_id = s.gym_id AND n.plan_id = s.plan_id
 WHERE s.gym_id = :gym AND s.id = ANY(:sessions) ORDER BY s.id, n.position
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("sessions", type_=ARRAY(Uuid())))
POINT = text("""
UPDATE sessions s SET plan_id = u.plan FROM unnest(:sessions, :plans) AS u (session, plan)
 WHERE s.gym_id = :gym AND s.id = u.session
""").bindparams(
    bindparam("gym", type_=Uuid()), *(bindparam(name, type_=ARRAY(Uuid())) for name in ("sessions", "plans"))
)
HOLD = """
SELECT p.id FROM session_plans p
 WHERE p.gym_id = :gym AND p.id IN (SELECT s.plan_id FROM sessions s WHERE s.gym_id = :gym AND {whose})
 ORDER BY p.id FOR UPDATE OF p
"""
HOLD_OF = {
    "sessions": "s.id = ANY(:ids)",
    "blocks": "s.block_id = ANY(:ids)",
    "athletes": "s.athlete_id = ANY(:ids)",
}
HOLDS = {
    name: text(HOLD.format(whose=whose)).bindparams(
        bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid()))
    )
    for name, whose in HOLD_OF.items()
}
DROP = text("""
DELETE FROM session_plans p
 WHERE p.gym_id = :gym AND p.id = ANY(:ids)
   AND NOT EXISTS (SELECT FROM sessions s WHERE s.gym_id = p.gym_id AND s.plan_id = p.id)
""").bindparams(bindparam("gym", type_=Uuid()), bindparam("ids", type_=ARRAY(Uuid())))


@dataclass(frozen=True, slots=True)
class PlanSlot:
    """A slot that a session plans, as its row keeps it."""

    id: UUID
    text: SlotText


@dataclass(frozen=True, slots=True)
class NewSlot:
    """A slot of a new plan."""

    text: SlotText
    before: UUID | None = None
    """The slot that it takes the place of: who has read that one still names the same thing."""


def add(tx: Tx, wanted: Sequence[Sequence[NewSlot]]) -> list[UUID | None]:
    """Store plans, thousands of slots in one statement; their ids, None for those without slots."""
    ids = [new_id() if slots else None for slots in wanted]
    made = [identity for identity in ids if identity is not None]
    if not made:
        return ids
    tx.execute(ADD, {"gym": tx.gym, "ids": made})
    rows = [
        (new_id(), identity, at, *slot.text, slot.before)
        for identity, slots in zip(ids, wanted, strict=True)
        for at, slot in enumerate(slots, 1)
    ]
    columns = ("ids", "plans", "positions", "lifts", "bodies", "befores")
    for first in range(0, len(rows), ROWS_AT_ONCE):
        some = (list(column) for column in zip(*rows[first : first + ROWS_AT_ONCE], strict=True))
        tx.execute(ADD_SLOTS, {"gym": tx.gym, **dict(zip(columns, some, strict=True))})
    return ids


def of_sessions(tx: Tx, sessions: Sequence[UUID]) -> dict[UUID, list[PlanSlot]]:
    """Return the slots of sessions, in order, in one statement."""
    found: dict[UUID, list[PlanSlot]] = {session: [] for session in sessions}
    for row in tx.execute(OF_SESSIONS, {"gym": tx.gym, "sessions": list(sessions)}):
        if row.id is not None:
            found[row.session].append(PlanSlot(row.id, (row.lift, row.body)))
    return found


def change(tx: Tx, wanted: Mapping[UUID, Sequence[NewSlot]]) -> None:
    """Let sessions plan other slots; the caller holds their athletes' locks.

    Those that had one plan and want the same have one plan again.
    """
    if not wanted:
        return
    before = hold(tx, sessions=wanted)
    plans: dict[UUID, UUID | None] = {
        row.session: row.plan for row in tx.execute(OF_SESSIONS, {"gym": tx.gym, "sessions": list(wanted)})
    }
    alike = {session: (plans[session] or session, tuple(slots)) for session, slots in wanted.items()}
    new = list(dict.fromkeys(alike.values()))
    ids = dict(zip(new, add(tx, [slots for _, slots in new]), strict=True))
    pointed = {"sessions": list(alike), "plans": [ids[one] for one in alike.values()]}
    tx.execute(POINT, {"gym": tx.gym, **pointed})
    drop_unused(tx, before)


def hold(
    tx: Tx,
    *,
    sessions: Sequence[UUID] | Mapping[UUID, object] = (),
    blocks: Sequence[UUID] = (),
    athletes: Sequence[UUID] = (),
) -> list[UUID]:
    """Lock the plans of sessions, of all sessions of blocks or of athletes, before those go; `drop_unused` follows.

    Of two that leave the same plan at once, the second waits, and sees that it is the last.
    """
    found: list[UUID] = []
    for name, ids in (("sessions", sessions), ("blocks", blocks), ("athletes", athletes)):
        if ids:
            found += tx.execute(HOLDS[name], {"gym": tx.gym, "ids": list(ids)}).scalars()
    return found


def drop_unused(tx: Tx, plans: Sequence[UUID]) -> None:
    """Remove those of these plans, with their slots, to which no session points any more."""
    if plans:
        tx.execute(DROP, {"gym": tx.gym, "ids": list(plans)})
