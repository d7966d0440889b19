"""Athletes: who trains, with their settings and body weights."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Literal
from uuid import UUID

from pydantic import TypeAdapter
from sqlalchemy import Select, delete, func, insert, select, tuple_, update
from sqlalchemy.dialects.postgresql import insert as upsert
from sqlalchemy.exc import IntegrityError

from service.core.records import Settings
from service.core.units import Load, load
from service.store import memories, session_plans
from service.store.errors import ChangedMeanwhile, Conflict, NotFound, UnknownReference
from service.store.ids import new_id
from service.store.loads import load_columns
from service.store.naming import named
from service.store.session import Tx, constraint
from service.store.tables import athlete_states, athletes, body_weights, group_members, groups, gyms, lifts, places

Day = date  # a record's own field may be called date
SETTINGS: TypeAdapter[Settings] = TypeAdapter(Settings)


def how_read(settings: Settings) -> tuple[object, ...]:
    """The settings that all that was read out of a log stands on: when one of them changes, it is folded anew."""
    return settings.curve, settings.lift_curves, settings.training_max_percent


@dataclass(frozen=True, slots=True, kw_only=True)
class Athlete:
    """A person who trains."""

    id: UUID
    """Our id."""
    ref: str | None
    """The gym's own reference."""
    name: str
    """As the gym writes it."""
    unit: Literal["kg", "lb"]
    """The unit that loads are shown in."""
    time_zone: str
    """IANA name; a day is the athlete's day."""
    experience: str | None
    """`beginner`, `intermediate` or `advanced`, as the coach sees it."""
    birth_year: int | None
    """Optional; with it a minor's maximal efforts carry a caution."""
    sex: str | None
    """Optional, for points tables only: `female`, `male`."""
    settings: Settings
    """The settings in force: the athlete's own, else the gym's."""
    place: UUID | None
    """Where this athlete trains by default."""
    archived: bool
    """Archived athletes keep their log and leave the lists."""
    version: int
    """What `If-Match` takes."""
    created_at: datetime
    """When the athlete was registered."""


@dataclass(frozen=True, slots=True)
class BodyWeight:
    """A body weight on a day."""

    date: Day
    load: Load


_COLUMNS = (
    athletes.c.id,
    athletes.c.ref,
    athletes.c.name,
    athletes.c.unit,
    athletes.c.time_zone,
    athletes.c.experience,
    athletes.c.birth_year,
    athletes.c.sex,
    athletes.c.settings,
    athletes.c.place_id,
    athletes.c.archived,
    athletes.c.version,
    athletes.c.created_at,
    gyms.c.settings.label("gym_settings"),
)
_JOINED = athletes.join(gyms, gyms.c.gym_id == athletes.c.gym_id)


def _record(row: Any) -> Athlete:
    values = row._asdict()
    settings = {**values.pop("gym_settings"), **values.pop("settings")}
    return Athlete(settings=SETTINGS.validate_python(settings), place=values.pop("place_id"), **values)


def get(tx: Tx, athlete: str) -> Athlete:
    """Return one athlete of the gym (a bound key: its own only), or raise NotFound."""
    query = select(*_COLUMNS).select_from(_JOINED).where(named(tx, athletes, athlete))
    if tx.caller.athlete is not None:
        query = query.where(athletes.c.id == tx.caller.athlete)
    row = tx.execute(query).one_or_none()
    if row is None:
        raise NotFound("athlete")
    return _record(row)


def page(
    tx: Tx,
    *,
    after: tuple[str, str] | None,
    limit: int,
    archived: bool = False,
    words: str | None = None,
    group: str | None = None,
) -> list[Athlete]:
    """Return up to `limit` athletes by name, starting past `after` (name, id); `group`: of one, or NotFound."""
    query = (
        select(*_COLUMNS)
        .select_from(_JOINED)
        .where(athletes.c.gym_id == tx.gym, athletes.c.archived == archived)
        .order_by(athletes.c.name, athletes.c.id)
        .limit(limit)
    )
    if after is not None:
        query = query.where(tuple_(athletes.c.name, athletes.c.id) > after)
    if words is not None:
        pattern = "%" + words.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
        query = query.where(athletes.c.name.ilike(pattern) | athletes.c.ref.ilike(pattern))
    if group is not None:
        query = query.where(athletes.c.id.in_(_of_group(tx, group)))
    return [_record(row) for row in tx.execute(query)]


def _of_group(tx: Tx, group: str) -> Select[Any]:
    found = tx.execute(select(groups.c.id).where(named(tx, groups, group))).scalar_one_or_none()
    if found is None:
        raise NotFound("group")
    return select(group_members.c.athlete_id).where(group_members.c.gym_id == tx.gym, group_members.c.group_id == found)


def add(tx: Tx, *, values: dict[str, Any]) -> Athlete:
    """Register an athlete; what `values` leaves out is as the gym has it."""
    gym = tx.execute(select(gyms.c.unit, gyms.c.time_zone).where(gyms.c.gym_id == tx.gym)).one()
    identity = new_id()
    row = {"unit": gym.unit, "time_zone": gym.time_zone, "settings": {}} | _columns(tx, values)
    try:
        with tx.connection.begin_nested():
            tx.execute(insert(athletes).values(gym_id=tx.gym, id=identity, **row))
    except IntegrityError as error:
        raise _refused(error) from error
    tx.execute(insert(athlete_states).values(gym_id=tx.gym, athlete_id=identity, person=memories.NEW))
    return get(tx, str(identity))


def change(tx: Tx, athlete: str, *, expected: int | None, values: dict[str, Any]) -> Athlete:
    """Change some fields; `expected` is the version that the caller read (None: whatever it is)."""
    before = get(tx, athlete)
    row = _columns(tx, values, before=before)
    changed = update(athletes).where(athletes.c.gym_id == tx.gym, athletes.c.id == before.id)
    if expected is not None:
        changed = changed.where(athletes.c.version == expected)
    try:
        with tx.connection.begin_nested():
            count = tx.execute(changed.values(version=athletes.c.version + 1, **row)).rowcount
    except IntegrityError as error:
        raise _refused(error) from error
    if not count:
        raise ChangedMeanwhile(before.version)
    return get(tx, str(before.id))


def put(tx: Tx, athlete: str, *, values: dict[str, Any]) -> tuple[Athlete, bool]:
    """Create or replace by the gym's own reference; tell whether it was created."""
    ref = athlete.removeprefix("ref:")
    tx.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(f"{tx.gym}/{ref}", 0))))
    try:
        found = get(tx, athlete)
    except NotFound:
        return add(tx, values=values | {"ref": ref}), True
    return replace(tx, str(found.id), expected=None, values=values), False


def replace(tx: Tx, athlete: str, *, expected: int | None, values: dict[str, Any]) -> Athlete:
    """Replace all fields; what `values` leaves out is cleared, or as the gym has it. The ref stays."""
    gym = tx.execute(select(gyms.c.unit, gyms.c.time_zone).where(gyms.c.gym_id == tx.gym)).one()
    whole: dict[str, Any] = {"experience": None, "birth_year": None, "sex": None, "place": None, "archived": False}
    whole |= {"unit": gym.unit, "time_zone": gym.time_zone, "settings": {}, "settings_whole": True}
    return change(tx, athlete, expected=expected, values=whole | values)


def erase(tx: Tx, athlete: str, *, expected: int | None) -> None:
    """Remove an archived athlete with everything that belongs to the person."""
    found = get(tx, athlete)
    if not found.archived:
        raise Conflict("Archive the athlete first; erasing cannot be undone.")
    if expected is not None and expected != found.version:
        raise ChangedMeanwhile(found.version)
    plans = session_plans.hold(tx, athletes=[found.id])
    tx.execute(delete(athletes).where(athletes.c.gym_id == tx.gym, athletes.c.id == found.id))
    session_plans.drop_unused(tx, plans)


def _columns(tx: Tx, values: dict[str, Any], *, before: Athlete | None = None) -> dict[str, Any]:
    """Body members as columns; settings are merged, so that null gives one back to the gym."""
    row = {name: value for name, value in values.items() if name not in ("place", "settings", "settings_whole")}
    if "place" in values:
        row["place_id"] = None if values["place"] is None else _place(tx, values["place"])
    if "settings" in values:
        own: dict[str, Any] = {}
        if before is not None and not values.get("settings_whole"):
            stored = select(athletes.c.settings).where(athletes.c.gym_id == tx.gym, athletes.c.id == before.id)
            own = dict(tx.execute(stored).scalar_one())
        check_lifts(tx, values["settings"])
        merged = own | (values["settings"] or {})
        row["settings"] = {name: value for name, value in merged.items() if value is not None}
    return row


def check_lifts(tx: Tx, sent: dict[str, Any] | None) -> None:
    """Refuse settings of lifts that the gym does not have."""
    pinned = (sent or {}).get("lift_curves") or ()
    if pinned:
        known = set(tx.execute(select(lifts.c.id).where(lifts.c.gym_id == tx.gym)).scalars())
        for at, one in enumerate(pinned):
            if one["lift"] not in known:
                raise UnknownReference("lift", f"#/settings/lift_curves/{at}/lift")


def _place(tx: Tx, name: str) -> UUID:
    found = tx.execute(select(places.c.id).where(named(tx, places, name))).scalar_one_or_none()
    if found is None:
        raise UnknownReference("place", "#/place")
    return UUID(str(found))


def _refused(error: IntegrityError) -> Exception:
    if constraint(error) == "athletes_ref_key":
        return Conflict("Another athlete of this gym has this ref.")
    return error


def put_body_weight(tx: Tx, athlete: str, *, on: date, weight: Load) -> tuple[BodyWeight, bool]:
    """Write the body weight of a day; the day is the key, so a repeat changes nothing."""
    found = get(tx, athlete)
    row = load_columns(weight)
    statement = upsert(body_weights).values(gym_id=tx.gym, athlete_id=found.id, date=on, **row)
    exists = select(func.count()).where(
        body_weights.c.gym_id == tx.gym, body_weights.c.athlete_id == found.id, body_weights.c.date == on
    )
    created = not tx.execute(exists).scalar_one()
    tx.execute(statement.on_conflict_do_update(index_elements=["gym_id", "athlete_id", "date"], set_=row))
    return BodyWeight(on, weight), created


def remove_body_weight(tx: Tx, athlete: str, *, on: date) -> None:
    """Remove the body weight of a day, or raise NotFound."""
    found = get(tx, athlete)
    gone = delete(body_weights).where(
        body_weights.c.gym_id == tx.gym, body_weights.c.athlete_id == found.id, body_weights.c.date == on
    )
    if not tx.execute(gone).rowcount:
        raise NotFound("body weight on this day")


def body_weight_page(tx: Tx, athlete: str, *, after: tuple[str, ...] | None, limit: int) -> list[BodyWeight]:
    """Return up to `limit` body weights, the newest first, starting past `after` (its day)."""
    found = get(tx, athlete)
    query = (
        select(body_weights.c.date, body_weights.c.load_value, body_weights.c.load_unit)
        .where(body_weights.c.gym_id == tx.gym, body_weights.c.athlete_id == found.id)
        .order_by(body_weights.c.date.desc())
        .limit(limit)
    )
    if after is not None:
        query = query.where(body_weights.c.date < date.fromisoformat(after[0]))
    return [BodyWeight(row.date, load(float(row.load_value), row.load_unit)) for row in tx.execute(query)]


def body_weights_kg(tx: Tx, athlete: UUID) -> list[tuple[date, float]]:
    """Return all body weights of an athlete, the oldest first. [kg]"""
    query = (
        select(body_weights.c.date, body_weights.c.load_kg)
        .where(body_weights.c.gym_id == tx.gym, body_weights.c.athlete_id == athlete)
        .order_by(body_weights.c.date)
    )
    return [(row.date, float(row.load_kg)) for row in tx.execute(query)]
