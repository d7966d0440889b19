"""An athlete's whole log, as it is folded: sets and maxes in order."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, NamedTuple, cast
from uuid import UUID

from sqlalchemy import Date, DateTime, Text, Uuid, bindparam, text
from sqlalchemy.dialects.postgresql import ARRAY

from service.core.model.kin import Key
from service.core.model.replay import InjuryEvent, MaxEvent
from service.core.model.tested import Given, in_force
from service.core.records import DoneSet, SupportClass
from service.core.units import Load, load
from service.store.each import Each
from service.store.hot import Hot
from service.store.memories import Place
from service.store.session import Tx

_OF = (bindparam("gym", type_=Uuid()), bindparam("athlete", type_=Uuid()))
_KEY = tuple(bindparam(name, type_=Text()) for name in ("lift", "support_class", "stack"))
_PLACE = (
    bindparam("on", type_=Date()),
    bindparam("at", type_=DateTime(timezone=True)),
    bindparam("id", type_=Uuid()),
)
_KEPT = "s.gym_id = :gym AND s.athlete_id = :athlete AND s.deleted_at IS NULL AND s.load_value IS NOT NULL"
_SAYS = "s.role <> 'warm_up' AND (s.rpe IS NOT NULL OR s.rir IS NOT NULL OR s.felt IS NOT NULL OR NOT s.made)"

_READ = (
    "SELECT s.id, s.lift, s.support_class, s.stack, s.local_date, s.at, s.role, "  # noqa: S608
    "CAST(s.load_value AS float8) AS load_value, s.load_unit, s.reps, CAST(s.rpe AS float8) AS rpe, "
    "CAST(s.rir AS float8) AS rir, s.or_more, s.felt, s.made, s.ended_by, s.pain, s.method, s.by_ladder, "
    "CAST(s.expected_rpe AS float8) AS expected_rpe, s.seconds, CAST(s.doubt AS text) AS doubt, s.doubt_answer "
    f"FROM sets s WHERE {_KEPT} "
)
SETS = Hot(text(_READ + "ORDER BY s.local_date, s.at, s.id").bindparams(*_OF))
OF_DAY = Hot(
    text(
        _READ + "AND (s.lift, s.support_class, s.stack) IN "  # noqa: S608
        "(SELECT u.lift, u.class, u.stack FROM unnest(:lifts, :classes, :stacks) AS u (lift, class, stack)) "
        "AND s.local_date = :on ORDER BY s.at, s.id"
    ).bindparams(*_OF, _PLACE[0], *(bindparam(name, type_=ARRAY(Text)) for name in ("lifts", "classes", "stacks")))
)
MAXES = Each(
    text("""
SELECT m.lift, m.support_class, m.kind, m.date, m.id,
       CAST(m.load_kg AS float8) + CASE WHEN l.load_kind = 'bodyweight' THEN (
         SELECT CAST(w.load_kg AS float8) FROM body_weights w
          WHERE w.gym_id = m.gym_id AND w.athlete_id = m.athlete_id AND w.date <= m.date
          ORDER BY w.date DESC LIMIT 1
       ) ELSE 0 END AS kg
  FROM maxes m JOIN lifts l ON l.gym_id = m.gym_id AND l.id = m.lift
 WHERE m.gym_id = :gym AND m.athlete_id = :athlete
 UNION ALL
SELECT '', '', 'injury', coalesce(x.until_date, x.from_date) + 1, x.id, NULL
  FROM absences x WHERE x.gym_id = :gym AND x.athlete_id = :athlete AND x.kind = 'injury'
 ORDER BY date, id
""").bindparams(*_OF),
    athlete="uuid",
)
_NEWEST = (
    f"SELECT s.at FROM sets s WHERE {_KEPT} AND {_SAYS} AND s.local_date < :on "  # noqa: S608
    "AND s.at < :at + interval '2 days' ORDER BY s.at DESC LIMIT 1"
)
_DAY = (
    f"SELECT coalesce(max(s.local_date), :on) AS before FROM sets s WHERE {_KEPT} AND {_SAYS} "  # noqa: S608
    f"AND s.local_date < :on AND s.at > ({_NEWEST}) - interval '2 days'"
)
ASKED = Hot(
    text(
        f"WITH day AS MATERIALIZED ({_DAY}) "  # noqa: S608
        "SELECT s.local_date, CASE WHEN s.doubt_answer = 'confirmed' THEN NULL ELSE s.doubt->>'code' END AS code "
        f"FROM sets s WHERE {_KEPT} AND {_SAYS} AND (s.local_date, s.at, s.id) < (:on, :at, :id) "
        "AND s.local_date >= (SELECT day.before FROM day) "
        "AND s.at > (SELECT CAST(day.before AS timestamp) AT TIME ZONE 'UTC' - interval '2 days' FROM day)"
    ).bindparams(*_OF, *_PLACE)
)
"""Goes back from the newest set by its moment, which no place on earth tells apart from its date by two days."""
BELIEVED = Hot(
    text(
        "SELECT s.local_date, CAST(s.load_value AS float8) AS load_value, s.load_unit, s.reps FROM sets s "  # noqa: S608
        f"WHERE {_KEPT} AND {_SAYS} AND (s.local_date, s.at, s.id) < (:on, :at, :id) AND s.lift = :lift "
        "AND s.support_class = :support_class AND s.stack = :stack "
        "AND (s.doubt IS NULL OR s.doubt_answer = 'confirmed') "
        "ORDER BY s.local_date DESC, s.at DESC, s.id DESC LIMIT 3"
    ).bindparams(*_OF, *_PLACE, *_KEY)
)
DOUBTS = Hot(
    text("""
UPDATE sets s SET doubt = CAST(u.doubt AS json), version = s.version + CASE WHEN s.id = :new THEN 0 ELSE 1 END
  FROM unnest(:ids, :doubts) AS u (id, doubt)
 WHERE s.gym_id = :gym AND s.id = u.id
""").bindparams(
        _OF[0],
        bindparam("new", type_=Uuid()),
        bindparam("ids", type_=ARRAY(Uuid())),
        bindparam("doubts", type_=ARRAY(Text)),
    )
)


class Earlier(NamedTuple):
    """An earlier set of a lift, by which a later one is judged."""

    on: date
    load: Load
    reps: int


@dataclass(slots=True)
class Recent:
    """What a question about a set stands on besides the set: those before it that said an effort or were missed."""

    today: list[str | None] = field(default_factory=list)
    """For each of the same day, what was asked about it; None: nothing."""
    previous: list[str | None] = field(default_factory=list)
    """The same of the day before on which there are any."""
    earlier: list[Earlier] = field(default_factory=list)
    """The last three of the same lift that were believed, newest first."""


@dataclass(slots=True)
class Maxes:
    """Maxes that were entered, effective, and returns from injuries. [kg]"""

    tests: list[MaxEvent] = field(default_factory=list)
    """The tested ones in order; of one day the last."""
    injuries: list[InjuryEvent] = field(default_factory=list)
    """Each on the first day after an injury, in order; where nobody is back yet, on the day after it happened."""
    _tested: dict[tuple[str, str], list[tuple[date, float]]] = field(default_factory=lambda: defaultdict(list))
    _training: dict[tuple[str, str], list[tuple[date, float]]] = field(default_factory=lambda: defaultdict(list))

    def given(self, key: Key, on: date, *, percent: float) -> Given | None:
        """The max that a lift starts from; a training max is `percent` of a tested one."""
        pair = key.lift, key.support_class
        training = [(day, kg * 100 / percent) for day, kg in self._training.get(pair, ())]
        return in_force(self._tested.get(pair, ()), training, on)

    @property
    def events(self) -> list[InjuryEvent | MaxEvent]:
        """All that the model hears beside sets, in its order: of one day injuries first."""
        if not self.injuries:
            return list(self.tests)
        return sorted((*self.injuries, *self.tests), key=lambda one: (one.on, isinstance(one, MaxEvent), one.id))

    def events_between(self, after: date | None, until: date) -> list[InjuryEvent | MaxEvent]:
        """As `events`, after a day, up to another."""
        return [one for one in self.events if (after is None or one.on > after) and one.on <= until]


def maxes(tx: Tx, athlete: UUID) -> Maxes:
    """All maxes and injuries of an athlete, in one statement.

    Maxes of the body with something added need a body weight on or before their date.
    """
    return maxes_of_each(tx, [athlete])[0]


def maxes_of_each(tx: Tx, athletes: Sequence[UUID]) -> list[Maxes]:
    """As `maxes`, of many in one statement."""
    return [_maxes(rows) for rows in MAXES.rows(tx, [(athlete,) for athlete in athletes])]


def _maxes(rows: Sequence[Any]) -> Maxes:
    found = Maxes()
    newest: dict[tuple[str, str, date], MaxEvent] = {}
    for row in rows:
        if row.kind == "injury":
            found.injuries.append(InjuryEvent(row.date, str(row.id)))
            continue
        if row.kg is None or row.kg <= 0:
            continue
        if row.kind == "training":
            found._training[row.lift, row.support_class].append((row.date, row.kg))  # noqa: SLF001  (filled here)
            continue
        found._tested[row.lift, row.support_class].append((row.date, row.kg))  # noqa: SLF001
        key = Key(row.lift, cast("SupportClass", row.support_class), "")
        newest[row.lift, row.support_class, row.date] = MaxEvent(row.date, key, row.kg, str(row.id))
    found.tests = sorted(newest.values(), key=lambda one: (one.on, one.id))
    return found


def rows(tx: Tx, athlete: UUID) -> Iterator[Any]:
    """An athlete's sets with a load, as the database has them, in the order in which they are folded."""
    return iter(tx.execute(SETS, {"gym": tx.gym, "athlete": athlete}))


def rows_of_day(tx: Tx, athlete: UUID, on: date, keys: Collection[Key]) -> list[Any]:
    """As `rows`, those of some keys on one day."""
    values = {
        "lifts": [key.lift for key in keys],
        "classes": [key.support_class for key in keys],
        "stacks": [key.stack for key in keys],
    }
    return list(tx.execute(OF_DAY, {"gym": tx.gym, "athlete": athlete, "on": on} | values))


def done(row: Any) -> DoneSet:
    """A row as the calculation takes it; as `StoredSet.done`."""
    return DoneSet(
        lift=row.lift, role=row.role, load=load(row.load_value, row.load_unit), reps=row.reps, rpe=row.rpe, rir=row.rir,
        or_more=row.or_more, felt=row.felt, made=row.made, ended_by=row.ended_by, pain=row.pain,
        seconds=row.seconds, expected_rpe=row.expected_rpe, answer=row.doubt_answer, method=row.method,
        by_ladder=row.by_ladder,
    )  # fmt: skip


def says(one: DoneSet) -> bool:
    """Whether a set said anything that can be doubted."""
    told = one.rpe is not None or one.rir is not None or one.felt is not None or not one.made
    return told and one.role != "warm_up"


def recent(tx: Tx, athlete: UUID, key: Key, place: Place) -> Recent:
    """What a question about a set at a place of the log stands on."""
    where = {"gym": tx.gym, "athlete": athlete, "on": place.date, "at": place.at, "id": place.id}
    found = Recent()
    for row in tx.execute(ASKED, where):
        (found.today if row.local_date == place.date else found.previous).append(row.code)
    of_key = {"lift": key.lift, "support_class": key.support_class, "stack": key.stack}
    found.earlier = [
        Earlier(row.local_date, load(row.load_value, row.load_unit), row.reps)
        for row in tx.execute(BELIEVED, where | of_key)
    ]
    return found


def write_doubts(tx: Tx, doubts: Mapping[UUID, str | None], *, new: UUID | None = None) -> None:
    """Write what is asked about sets, as JSON; None: nothing any more. Each but the one just stored is a version on."""
    if doubts:
        values = {"ids": list(doubts), "doubts": list(doubts.values()), "new": new}
        tx.execute(DOUBTS, {"gym": tx.gym} | values)
