"""One line of a session at hand: what logging a set and the next suggestion need, in one statement after the lock."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import lru_cache
from uuid import UUID

from sqlalchemy import Date, Text, Uuid, bindparam, text

from service.core.answers import ResolvedSlot
from service.core.context import Context
from service.core.model.kin import Key
from service.core.model.memory import LiftMemory
from service.core.model.state import Person
from service.core.records import Lift, SessionKind, Settings
from service.core.slots import Slot
from service.store.athletes import SETTINGS
from service.store.hot import Hot
from service.store.memories import Before, Place, read_before, read_lift, read_person
from service.store.plans import SLOT
from service.store.prescribed import CONTEXT, ONE_SLOT
from service.store.session import Tx
from service.store.states import LiftState, read_state

_ATHLETE = "SELECT a.id, a.unit, a.time_zone "
_SETTINGS = """CAST(json_build_object(
         'curve', coalesce(p.settings->'curve', g.settings->'curve'),
         'lift_curves', coalesce(p.settings->'lift_curves', g.settings->'lift_curves'),
         'training_max_percent', coalesce(p.settings->'training_max_percent', g.settings->'training_max_percent')
       ) AS text) AS settings
"""
_LOCKED = """
  JOIN athlete_states st ON st.gym_id = a.gym_id AND st.athlete_id = a.id
 WHERE a.gym_id = :gym AND (CAST(:bound AS uuid) IS NULL OR a.id = :bound)
"""
_BOUND = (bindparam("gym", type_=Uuid()), bindparam("bound", type_=Uuid()))

LOCK_BY_SESSION = Hot(
    text(
        _ATHLETE
        + "FROM sessions s JOIN athletes a ON a.gym_id = s.gym_id AND a.id = s.athlete_id"
        + _LOCKED
        + "AND s.gym_id = :gym AND s.id = :session FOR UPDATE OF st"
    ).bindparams(*_BOUND, bindparam("session", type_=Uuid()))
)
LOCK_BY_ATHLETE = Hot(
    text(_ATHLETE + "FROM athletes a" + _LOCKED + "AND a.id = :athlete FOR UPDATE OF st").bindparams(
        *_BOUND, bindparam("athlete", type_=Uuid())
    )
)
"""What the lock guards is read by a later statement: one that waits for a lock sees the rest as it was before."""

LINE = Hot(
    text("""
SELECT s.athlete_id, s.state, s.kind, s.date, s.place_id, s.prescription_id, t.id AS slot_id, t.lift AS slot_lift,
       CAST(t.body AS text) AS body, p.inputs->>'context' AS context, CAST(q.plan AS text) AS plan, o.ids, o.turns,
       l.id AS lift_id, l.name, l.load_kind, l.curve_group, l.technique, l.based_on, CAST(l.ratio AS float8) AS ratio,
       CASE WHEN l.load_kind = 'bodyweight' THEN
         (SELECT w.load_kg FROM body_weights w
           WHERE w.gym_id = s.gym_id AND w.athlete_id = s.athlete_id AND w.date <= :on
           ORDER BY w.date DESC LIMIT 1)
       END AS body_kg,
       (SELECT array_agg(d.set_id) FROM day_estimates d
         WHERE d.gym_id = s.gym_id AND d.athlete_id = s.athlete_id AND d.lift = l.id AND d.date = s.date) AS sources
  FROM sessions s
  LEFT JOIN slots t ON t.gym_id = s.gym_id AND t.plan_id = s.plan_id
        AND (t.id = :slot OR :slot = ANY(t.earlier))
  LEFT JOIN prescriptions p ON p.gym_id = s.gym_id AND p.id = s.prescription_id
  LEFT JOIN LATERAL (
    SELECT array_agg(n.id ORDER BY n.position) AS ids,
           array_agg(coalesce(CAST(n.body->>'with_next' AS boolean), false) ORDER BY n.position) AS turns
      FROM slots n WHERE n.gym_id = s.gym_id AND n.plan_id = s.plan_id
  ) o ON true
  LEFT JOIN LATERAL (
    SELECT w.plan, w.plan->>'lift' AS lift
      FROM (SELECT p.answer -> (array_position(o.ids, t.id) - 1) AS plan OFFSET 0) w OFFSET 0
  ) q ON true
  LEFT JOIN lifts l ON l.gym_id = s.gym_id AND l.id = coalesce(:lift, q.lift, t.lift)
 WHERE s.gym_id = :gym AND s.id = :session AND (CAST(:bound AS uuid) IS NULL OR s.athlete_id = :bound)
""").bindparams(
        *_BOUND,
        bindparam("session", type_=Uuid()),
        bindparam("slot", type_=Uuid()),
        bindparam("lift", type_=Text()),
        bindparam("on", type_=Date()),
    )
)
"""`OFFSET 0` keeps the answer from being read once for each lift of the gym."""

KNOWN = Hot(
    text(
        """
SELECT CAST(st.body AS text) AS body, CAST(st.model AS text) AS model, CAST(st.before AS text) AS before,
       CAST(a.person AS text) AS person, a.day, a.last_at, a.last_set,
       d.set_id, CAST(d.effective_kg AS float8) AS kg, CAST(n.load_kg AS float8) AS load_kg, n.at,
       """
        + _SETTINGS
        + """
  FROM athlete_states a
  JOIN athletes p ON p.gym_id = a.gym_id AND p.id = a.athlete_id
  JOIN gyms g ON g.gym_id = a.gym_id
  LEFT JOIN lift_states st ON st.gym_id = a.gym_id AND st.athlete_id = a.athlete_id AND st.lift = :lift
        AND st.support_class = :support_class AND st.stack = :stack
  LEFT JOIN day_estimates d ON d.gym_id = a.gym_id AND d.athlete_id = a.athlete_id AND d.lift = :lift
        AND d.support_class = :support_class AND d.stack = :stack AND d.date = :on
  LEFT JOIN sets n ON n.gym_id = a.gym_id AND n.id = d.set_id
 WHERE a.gym_id = :gym AND a.athlete_id = :athlete
"""
    ).bindparams(
        bindparam("gym", type_=Uuid()),
        bindparam("athlete", type_=Uuid()),
        *(bindparam(name, type_=Text()) for name in ("lift", "support_class", "stack")),
        bindparam("on", type_=Date()),
    )
)

HOW_READ = Hot(
    text(
        "SELECT " + _SETTINGS + " FROM athletes p JOIN gyms g ON g.gym_id = p.gym_id "  # noqa: S608
        "WHERE p.gym_id = :gym AND p.id = :athlete"
    ).bindparams(bindparam("gym", type_=Uuid()), bindparam("athlete", type_=Uuid()))
)

USUAL = Settings()


@dataclass(frozen=True, slots=True)
class Lifter:
    """Whose set it is; while this is held, nobody else writes sets of the same athlete."""

    id: UUID
    unit: str
    time_zone: str
    settings: Settings = USUAL
    """In force; only what says how the log is read. To be read after the lock (`known`, `with_settings`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A session with one of its slots."""

    session: UUID
    athlete: UUID
    state: str
    kind: SessionKind
    date: date
    place: UUID | None
    prescription: UUID | None
    """The revision in force; None before the session is opened."""
    order: tuple[UUID, ...]
    """All slots of the session, in order."""
    turns: tuple[bool, ...]
    """Whether each is done in turn with the one after it."""
    slot_id: UUID | None
    """None where the session has no such slot."""
    slot: Slot | None
    plan: ResolvedSlot | None
    context: Context | None
    lift: Lift | None
    """The lift asked for, else the plan's (after exchanges), else the slot's; None where the gym has no such lift."""
    body_kg: float | None
    """For `bodyweight` lifts, the latest on or before the day asked for. [kg]"""
    day_sources: frozenset[UUID]
    """Sets that gave the lift's max of the session's day."""


@dataclass(frozen=True, slots=True)
class Known:
    """What was known of a lift before a set."""

    settings: Settings
    """How the log is read."""
    person: Person | None
    """What the log has taught of the athlete; None where all of it has to be folded anew."""
    last: Place | None
    """The newest set in it."""
    lift: LiftMemory | None
    before: Before | None
    """The lift before the first set of the last day on which it was trained."""
    state: LiftState | None
    """The moving average."""
    day_set: UUID | None
    """The set that the day's max stands on."""
    day_kg: float | None
    """The day's max, effective. [kg]"""
    day_load_kg: float | None
    """What that set had on the bar. [kg]"""
    day_at: datetime | None


# The same text gives the same record, which the search for plates remembers.
@lru_cache(maxsize=128)
def _context(stored: str) -> Context:
    return CONTEXT.validate_json(stored)


@lru_cache(maxsize=512)
def _plan(stored: str) -> ResolvedSlot:
    return ONE_SLOT.validate_json(stored)


@lru_cache(maxsize=128)
def _settings(stored: str) -> Settings:
    found = {name: value for name, value in json.loads(stored).items() if value is not None}
    return SETTINGS.validate_python(found)


@lru_cache(maxsize=512)
def _slot(stored: str) -> Slot:
    return SLOT.validate_json(stored)


def lock_session(tx: Tx, session: UUID) -> Lifter | None:
    """Whose session it is, locked; None where this caller has no such session."""
    row = tx.execute(LOCK_BY_SESSION, _scope(tx) | {"session": session}).one_or_none()
    return None if row is None else Lifter(row.id, row.unit, row.time_zone)


def lock_athlete(tx: Tx, athlete: UUID) -> Lifter | None:
    """The athlete, locked; None where this caller has no such athlete."""
    row = tx.execute(LOCK_BY_ATHLETE, _scope(tx) | {"athlete": athlete}).one_or_none()
    return None if row is None else Lifter(row.id, row.unit, row.time_zone)


def with_settings(tx: Tx, lifter: Lifter) -> Lifter:
    """With the settings that say how the log is read, as they are now that the lock is held."""
    row = tx.execute(HOW_READ, {"gym": tx.gym, "athlete": lifter.id}).one()
    return replace(lifter, settings=_settings(row.settings))


def line(tx: Tx, session: UUID, slot: UUID | None, *, lift: str | None = None, on: date | None = None) -> Line | None:
    """A session with one of its slots, and a lift on a day; None where this caller has no such session."""
    values = _scope(tx) | {"session": session, "slot": slot, "lift": lift, "on": on}
    r = tx.execute(LINE, values).one_or_none()
    if r is None:
        return None
    found = None
    if r.lift_id is not None:
        found = Lift(
            id=r.lift_id, name=r.name, load_kind=r.load_kind, curve_group=r.curve_group, technique=r.technique,
            based_on=r.based_on, ratio=r.ratio,
        )  # fmt: skip
    return Line(
        session=session,
        athlete=r.athlete_id,
        state=r.state,
        kind=r.kind,
        date=r.date,
        place=r.place_id,
        prescription=r.prescription_id,
        order=tuple(r.ids or ()),
        turns=tuple(r.turns or ()),
        slot_id=r.slot_id,
        slot=None if r.body is None else _slot(r.body),
        plan=None if r.plan is None else _plan(r.plan),
        context=None if r.context is None else _context(r.context),
        lift=found,
        body_kg=None if r.body_kg is None else float(r.body_kg),
        day_sources=frozenset(r.sources or ()),
    )


def known(tx: Tx, athlete: UUID, key: Key, on: date) -> Known:
    """What is known of a lift, and of its max of a day."""
    values = {"gym": tx.gym, "athlete": athlete, "on": on}
    values |= {"lift": key.lift, "support_class": key.support_class, "stack": key.stack}
    r = tx.execute(KNOWN, values).one()
    return Known(
        settings=_settings(r.settings),
        person=read_person(r.person),
        last=None if r.last_set is None else Place(r.day, r.last_at, r.last_set),
        lift=None if r.model is None else read_lift(r.model),
        before=None if r.before is None else read_before(r.before),
        state=None if r.body is None else read_state(r.body),
        day_set=r.set_id,
        day_kg=r.kg,
        day_load_kg=r.load_kg,
        day_at=r.at,
    )


def _scope(tx: Tx) -> dict[str, object]:
    return {"gym": tx.gym, "bound": tx.caller.athlete}
