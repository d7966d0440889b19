"""What was prescribed: append-only revisions with their inputs, and what a session's page is made of."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import ARRAY, Date, DateTime, Text, Uuid, bindparam, text

from service.core.answers import ResolvedSlot
from service.core.context import Context
from service.core.model.stored import MODEL_VERSION
from service.core.records import WORK_ROLES, SessionKind
from service.core.slots import Slot
from service.core.units import Load, Number, load, tidy
from service.store.errors import NotFound
from service.store.hot import Hot
from service.store.ids import new_id
from service.store.naming import as_id
from service.store.session import Tx
from service.store.sessions import State

MODEL = MODEL_VERSION
"""Names how loads were computed; a kept answer says which one made it."""
Day = date  # a record's own field may be called date
SLOT_BREAK = "\n,"
"""Between the slots of a kept answer. JSON writes no raw line break inside a value, so that they can be told apart
without being parsed."""


@dataclass(frozen=True, slots=True)
class KeptSlot:
    """A slot as it stood when its loads were computed."""

    id: UUID
    slot: Slot


@dataclass(frozen=True, slots=True)
class Inputs:
    """Everything that an answer was computed from: with the model's name, it can be computed again."""

    context: Context
    slots: tuple[KeptSlot, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A revision in force: what was prescribed, and from what."""

    id: UUID
    session: UUID
    date: Day
    inputs: Inputs
    answer: tuple[ResolvedSlot, ...]


@dataclass(frozen=True, slots=True)
class SlotRow:
    """A slot as it is stored; `body` is its JSON."""

    id: UUID
    lift: str
    lift_name: str
    body: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A session as its page shows it; what was prescribed as the JSON that is kept."""

    id: UUID
    version: int
    athlete: UUID
    block: UUID | None
    week: int | None
    number: int | None
    kind: SessionKind
    state: State
    date: Day
    name: str
    place_id: UUID | None
    """Where it happens: its own place, before it is opened else the athlete's, else the gym's."""
    place_name: str | None
    plan_note: str | None
    minutes_available: int | None
    created_at: datetime
    session_rpe: Number | None
    minutes: int | None
    note: str | None
    prescription: UUID | None
    model: str | None
    kept_at: datetime | None
    answer: str | None
    slots: tuple[SlotRow, ...]

    @property
    def answers(self) -> tuple[str, ...] | None:
        """The kept answer, each slot's JSON by itself."""
        return None if self.answer is None else split(self.answer)

    @property
    def to_be_done(self) -> bool:
        """Whether it is still ahead, or late; else it is over, or was entered after its day."""
        return self.state in ("planned", "open") and self.created_at.date() <= self.date + timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class LastSet:
    """A work set of an earlier day."""

    load: Load | None
    reps: int
    seconds: int | None
    metres: Number | None
    """For carries and drags: how far. [m]"""
    rpe: Number | None
    rir: Number | None
    or_more: bool
    """`rir` or more were left."""
    made: bool


@dataclass(frozen=True, slots=True)
class LastTime:
    """The last day before this one on which the lift was done, with its work sets."""

    date: Day
    sets: tuple[LastSet, ...]


INPUTS: TypeAdapter[Inputs] = TypeAdapter(Inputs)
ONE_SLOT: TypeAdapter[ResolvedSlot] = TypeAdapter(ResolvedSlot)
KEPT_SLOTS: TypeAdapter[tuple[KeptSlot, ...]] = TypeAdapter(tuple[KeptSlot, ...])
CONTEXT: TypeAdapter[Context] = TypeAdapter(Context)

KEEP = Hot(
    text("""
WITH kept AS (
  INSERT INTO prescriptions (gym_id, id, session_id, model, inputs, answer, created_at)
  VALUES (:gym, :id, :session, :model, CAST(:inputs AS json), CAST(:answer AS json), :at)
)
UPDATE sessions SET prescription_id = :id WHERE gym_id = :gym AND id = :session
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "id", "session")),
        *(bindparam(name, type_=Text()) for name in ("model", "inputs", "answer")),
        bindparam("at", type_=DateTime(timezone=True)),
    )
)

IN_FORCE = Hot(
    text("""
SELECT s.id AS session, s.date, p.id, p.inputs->>'slots' AS slots, p.inputs->>'context' AS context,
       CAST(p.answer AS text) AS answer
  FROM sessions s JOIN prescriptions p ON p.gym_id = s.gym_id AND p.id = s.prescription_id
 WHERE s.gym_id = :gym AND s.athlete_id = :athlete AND s.state = 'open' AND s.date BETWEEN :since AND :until
 ORDER BY s.id
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete")),
        *(bindparam(name, type_=Date()) for name in ("since", "until")),
    )
)

_PAGE = """
SELECT s.id, s.version, s.athlete_id AS athlete, s.block_id AS block, s.week, s.number, s.kind, s.state, s.date,
       s.name, l.id AS place_id, l.name AS place_name, s.plan_note, s.minutes_available, s.created_at,
       CAST(s.session_rpe AS float8) AS session_rpe, s.minutes,
       s.note, p.id AS prescription, p.model, p.created_at AS kept_at, CAST(p.answer AS text) AS answer,
       o.ids, o.lifts, o.names, o.bodies
  FROM sessions s
  JOIN athletes a ON a.gym_id = s.gym_id AND a.id = s.athlete_id
  JOIN gyms g ON g.gym_id = s.gym_id
  LEFT JOIN prescriptions p ON p.gym_id = s.gym_id AND p.id = s.prescription_id
  LEFT JOIN places l ON l.gym_id = s.gym_id
        AND l.id = CASE WHEN p.id IS NULL THEN coalesce(s.place_id, a.place_id, g.place_id) ELSE s.place_id END
  LEFT JOIN LATERAL (
    SELECT array_agg(n.id ORDER BY n.position) AS ids, array_agg(n.lift ORDER BY n.position) AS lifts,
           array_agg(w.name ORDER BY n.position) AS names, array_agg(CAST(n.body AS text) ORDER BY n.position) AS bodies
      FROM slots n JOIN lifts w ON w.gym_id = n.gym_id AND w.id = n.lift
     WHERE n.gym_id = s.gym_id AND n.plan_id = s.plan_id
  ) o ON true
 WHERE s.gym_id = :gym AND (CAST(:bound AS uuid) IS NULL OR s.athlete_id = :bound)
"""
_SCOPE = tuple(bindparam(name, type_=Uuid()) for name in ("gym", "bound"))
PAGE = Hot(text(_PAGE + "AND s.id = :session").bindparams(*_SCOPE, bindparam("session", type_=Uuid())))
DAYS = text(
    _PAGE + "AND s.athlete_id = :athlete AND s.date BETWEEN :since AND :until ORDER BY s.date, s.number, s.id"
).bindparams(
    *_SCOPE,
    bindparam("athlete", type_=Uuid()),
    *(bindparam(name, type_=Date()) for name in ("since", "until")),
)

DAY_OF_MANY = text(_PAGE + "AND s.athlete_id = ANY(:athletes) AND s.date = :on ORDER BY s.athlete_id, s.id").bindparams(
    *_SCOPE, bindparam("athletes", type_=ARRAY(Uuid())), bindparam("on", type_=Date())
)

LAST_TIMES = Hot(
    text("""
SELECT t.lift, t.local_date, CAST(t.load_value AS float8) AS load_value, t.load_unit, t.reps, t.seconds,
       CAST(t.metres AS float8) AS metres, CAST(t.rpe AS float8) AS rpe, CAST(t.rir AS float8) AS rir, t.or_more, t.made
  FROM unnest(:lifts) AS w (lift)
  CROSS JOIN LATERAL (
    SELECT e.local_date FROM sets e
     WHERE e.gym_id = :gym AND e.athlete_id = :athlete AND e.lift = w.lift AND e.local_date < :on
       AND e.deleted_at IS NULL AND e.role = ANY(:roles) AND e.session_id IS DISTINCT FROM :session
     ORDER BY e.local_date DESC LIMIT 1
  ) d
  JOIN sets t ON t.gym_id = :gym AND t.athlete_id = :athlete AND t.lift = w.lift AND t.local_date = d.local_date
       AND t.deleted_at IS NULL AND t.role = ANY(:roles) AND t.session_id IS DISTINCT FROM :session
 ORDER BY t.at, t.id
""").bindparams(
        *(bindparam(name, type_=Uuid()) for name in ("gym", "athlete", "session")),
        *(bindparam(name, type_=ARRAY(Text())) for name in ("lifts", "roles")),
        bindparam("on", type_=Date()),
    )
)


def join(answer: Iterable[ResolvedSlot]) -> str:
    """The JSON of an answer, from which each slot can be taken without parsing."""
    return "[" + SLOT_BREAK.join(ONE_SLOT.dump_json(one).decode() for one in answer) + "]"


def split(answer: str) -> tuple[str, ...]:
    """The JSON of each slot of an answer that `join` made.

    >>> split('[{"lift":"squat"}' + SLOT_BREAK + '{"lift":"row"}]'), split("[]")
    (('{"lift":"squat"}', '{"lift":"row"}'), ())
    """
    return () if answer == "[]" else tuple(answer[1:-1].split(SLOT_BREAK))


def keep(tx: Tx, session: UUID, on: date, inputs: Inputs, answer: Sequence[ResolvedSlot]) -> Kept:
    """Append a revision and point the session at it."""
    identity = new_id()
    tx.execute(
        KEEP,
        {
            "gym": tx.gym,
            "id": identity,
            "session": session,
            "model": MODEL,
            "inputs": INPUTS.dump_json(inputs).decode(),
            "answer": join(answer),
            "at": tx.now,
        },
    )
    return Kept(id=identity, session=session, date=on, inputs=inputs, answer=tuple(answer))


def open_ones(
    tx: Tx, athlete: UUID, *, since: date, until: date, wanted: Callable[[tuple[KeptSlot, ...]], bool] = bool
) -> list[Kept]:
    """Return what is in force in an athlete's open sessions from `since` to `until`, both included.

    Only of those whose slots are `wanted`: the rest is not read further, which keeps a logged set cheap.
    """
    found = []
    for row in tx.execute(IN_FORCE, {"gym": tx.gym, "athlete": athlete, "since": since, "until": until}):
        slots = KEPT_SLOTS.validate_json(row.slots)
        if wanted(slots):
            answer = tuple(ONE_SLOT.validate_json(one) for one in split(row.answer))
            inputs = Inputs(_context(row.context), slots)
            found.append(Kept(id=row.id, session=row.session, date=row.date, inputs=inputs, answer=answer))
    return found


# The same text gives the same record, so that the search for plates remembers its kit.
@lru_cache(maxsize=64)
def _context(stored: str) -> Context:
    return CONTEXT.validate_json(stored)


def page(tx: Tx, session: str | UUID) -> Page:
    """Return what a session's page is made of (a bound key: of its own athlete only), or raise NotFound."""
    identity = as_id(session) if isinstance(session, str) else session
    row = tx.execute(PAGE, {"gym": tx.gym, "bound": tx.caller.athlete, "session": identity}).one_or_none()
    if row is None:
        raise NotFound("session")
    return _page(row)


def days(tx: Tx, athlete: UUID, *, since: date, until: date) -> list[Page]:
    """Return the sessions of an athlete from `since` to `until`, both included, in order."""
    values = {"gym": tx.gym, "bound": tx.caller.athlete, "athlete": athlete, "since": since, "until": until}
    return [_page(row) for row in tx.execute(DAYS, values)]


def days_of(tx: Tx, athletes: Sequence[UUID], *, on: date) -> list[Page]:
    """Return the sessions of many athletes on one day, in one statement."""
    values = {"gym": tx.gym, "bound": tx.caller.athlete, "athletes": list(athletes), "on": on}
    return [_page(row) for row in tx.execute(DAY_OF_MANY, values)]


def _page(row: Any) -> Page:
    values = row._asdict()
    columns = [values.pop(name) or () for name in ("ids", "lifts", "names", "bodies")]
    slots = tuple(SlotRow(*each) for each in zip(*columns, strict=True))
    rpe = values.pop("session_rpe")
    return Page(session_rpe=None if rpe is None else tidy(rpe), slots=slots, **values)


def last_times(tx: Tx, athlete: UUID, lifts: Iterable[str], *, on: date, session: UUID) -> dict[str, LastTime]:
    """Return for each lift the last day before `on` with work sets outside of `session`, in one statement."""
    values = {"gym": tx.gym, "athlete": athlete, "lifts": list(lifts), "on": on, "session": session}
    found: dict[str, tuple[date, list[LastSet]]] = {}
    for row in tx.execute(LAST_TIMES, values | {"roles": sorted(WORK_ROLES)}):
        lifted = None if row.load_value is None else load(row.load_value, row.load_unit)
        one = LastSet(
            load=lifted,
            reps=row.reps,
            seconds=row.seconds,
            metres=None if row.metres is None else tidy(row.metres),
            rpe=None if row.rpe is None else tidy(row.rpe),
            rir=None if row.rir is None else tidy(row.rir),
            or_more=row.or_more,
            made=row.made,
        )
        found.setdefault(row.lift, (row.local_date, []))[1].append(one)
    return {lift: LastTime(on, tuple(done)) for lift, (on, done) in found.items()}
