"""Every table and column. `gym_id` leads every key and index; the policies are in the migrations."""

from __future__ import annotations

from sqlalchemy import (
    JSON,
    Boolean,
    CheckConstraint,
    Column,
    Computed,
    Date,
    DateTime,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Numeric,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
    false,
    func,
    text,
)
from sqlalchemy.dialects.postgresql import ARRAY

metadata = MetaData(
    naming_convention={
        "pk": "%(table_name)s_pkey",
        "fk": "%(table_name)s_%(column_1_name)s_fkey",
        "ck": "%(table_name)s_%(constraint_name)s_check",
        "uq": "%(table_name)s_%(column_1_name)s_key",
        "ix": "%(table_name)s_%(column_1_name)s_idx",
    }
)

CREATED = func.now()


def _gym() -> Column[object]:
    return Column("gym_id", Uuid, nullable=False)


def _id(name: str = "id") -> Column[object]:
    return Column(name, Uuid, nullable=False)


def _created() -> Column[object]:
    return Column("created_at", DateTime(timezone=True), nullable=False, server_default=CREATED)


def _version() -> Column[object]:
    return Column("version", Integer, nullable=False, server_default=text("1"))


def _load(*, nullable: bool) -> tuple[Column[object], ...]:
    """A load as entered with its unit, and its mass in kilograms, exactly (null for a machine's step)."""
    return (
        Column("load_value", Numeric(9, 3), nullable=nullable),
        Column("load_unit", Text, nullable=nullable),
        Column("load_kg", Numeric(20, 11), nullable=True),
    )


def _key(*columns: str) -> PrimaryKeyConstraint:
    return PrimaryKeyConstraint("gym_id", *columns)


def _of(column: str, table: str, *, cascade: bool = False, target: str = "id") -> ForeignKeyConstraint:
    """A foreign key that carries the gym, so that a row cannot point into another gym."""
    return ForeignKeyConstraint(
        ["gym_id", column], [f"{table}.gym_id", f"{table}.{target}"], ondelete="CASCADE" if cascade else None
    )


gyms = Table(
    "gyms",
    metadata,
    _gym(),
    Column("name", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("time_zone", Text, nullable=False),
    Column("settings", JSON, nullable=False),
    Column("place_id", Uuid),
    _version(),
    _created(),
    PrimaryKeyConstraint("gym_id"),
    UniqueConstraint("name", name="gyms_name_key"),
    ForeignKeyConstraint(["gym_id", "place_id"], ["places.gym_id", "places.id"], use_alter=True),
)

keys = Table(
    "keys",
    metadata,
    _gym(),
    Column("id", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("right", Text, nullable=False),
    Column("athlete_id", Uuid),
    Column("secret_hash", LargeBinary, nullable=False),
    Column("old_secret_hash", LargeBinary),
    Column("old_until", DateTime(timezone=True)),
    Column("expires_at", DateTime(timezone=True)),
    Column("lifetime_days", SmallInteger),
    Column("revoked_at", DateTime(timezone=True)),
    Column("last_used_at", DateTime(timezone=True)),
    _version(),
    _created(),
    _key("id"),
    UniqueConstraint("id", name="keys_id_key"),
    _of("athlete_id", "athletes", cascade=True),
)

failed_keys = Table(
    "failed_keys",
    metadata,
    Column("address", Text, nullable=False),
    Column("minute", DateTime(timezone=True), nullable=False),
    Column("count", Integer, nullable=False),
    PrimaryKeyConstraint("address", "minute"),
)

athletes = Table(
    "athletes",
    metadata,
    _gym(),
    _id(),
    Column("ref", Text),
    Column("name", Text, nullable=False),
    Column("unit", Text, nullable=False),
    Column("time_zone", Text, nullable=False),
    Column("experience", Text),
    Column("birth_year", SmallInteger),
    Column("sex", Text),
    Column("settings", JSON, nullable=False),
    Column("place_id", Uuid),
    Column("archived", Boolean, nullable=False, server_default=false()),
    _version(),
    _created(),
    _key("id"),
    UniqueConstraint("gym_id", "ref"),
    _of("place_id", "places"),
    Index(None, "gym_id", "name", "id"),
)

body_weights = Table(
    "body_weights",
    metadata,
    _gym(),
    _id("athlete_id"),
    Column("date", Date, nullable=False),
    *_load(nullable=False),
    _key("athlete_id", "date"),
    _of("athlete_id", "athletes", cascade=True),
)

lifts = Table(
    "lifts",
    metadata,
    _gym(),
    Column("id", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("load_kind", Text, nullable=False),
    Column("curve_group", Text, nullable=False),
    Column("technique", Boolean, nullable=False),
    Column("based_on", Text),
    Column("ratio", Numeric(6, 4)),
    Column("ratio_source", Text),
    Column("built_in", Boolean, nullable=False),
    _version(),
    _created(),
    _key("id"),
    _of("based_on", "lifts"),
)

places = Table(
    "places",
    metadata,
    _gym(),
    _id(),
    Column("ref", Text),
    Column("name", Text, nullable=False),
    Column("kit", JSON, nullable=False),
    _version(),
    _created(),
    _key("id"),
    UniqueConstraint("gym_id", "ref"),
)

maxes = Table(
    "maxes",
    metadata,
    _gym(),
    _id(),
    _id("athlete_id"),
    Column("lift", Text, nullable=False),
    Column("kind", Text, nullable=False),
    *_load(nullable=False),
    Column("date", Date, nullable=False),
    Column("source", Text),
    Column("support", ARRAY(Text), nullable=False),
    Column("support_class", Text, nullable=False),
    Column("note", Text),
    Column("session_id", Uuid),
    _version(),
    _created(),
    _key("id"),
    _of("athlete_id", "athletes", cascade=True),
    _of("lift", "lifts"),
    _of("session_id", "sessions", cascade=True),
    Index(None, "gym_id", "athlete_id", "lift", "date"),
    Index("maxes_session_id_idx", "gym_id", "session_id"),
)

overrides = Table(
    "overrides",
    metadata,
    _gym(),
    _id(),
    Column("athlete_id", Uuid),
    Column("group_id", Uuid),
    Column("lift", Text),
    Column("kind", Text, nullable=False),
    *_load(nullable=True),
    Column("rpe", Numeric(3, 1)),
    Column("percent", Numeric(6, 3)),
    Column("to_lift", Text),
    Column("from_date", Date, nullable=False),
    Column("until_date", Date, nullable=False),
    Column("reason", Text, nullable=False),
    Column("set_by", Text, nullable=False),
    Column("ended_at", DateTime(timezone=True)),
    _version(),
    _created(),
    _key("id"),
    _of("athlete_id", "athletes", cascade=True),
    _of("group_id", "groups", cascade=True),
    _of("lift", "lifts"),
    _of("to_lift", "lifts"),
    CheckConstraint("(athlete_id IS NULL) <> (group_id IS NULL)", name="about"),
    Index(None, "gym_id", "athlete_id", "until_date"),
    Index(None, "gym_id", "group_id", "until_date"),
)

override_entries = Table(
    "override_entries",
    metadata,
    _gym(),
    _id("override_id"),
    Column("version", Integer, nullable=False),
    Column("entry", JSON, nullable=False),
    Column("made_by", Text, nullable=False),
    _created(),
    _key("override_id", "version"),
    _of("override_id", "overrides", cascade=True),
)

groups = Table(
    "groups",
    metadata,
    _gym(),
    _id(),
    Column("ref", Text),
    Column("name", Text, nullable=False),
    Column("archived", Boolean, nullable=False, server_default=false()),
    _version(),
    _created(),
    _key("id"),
    UniqueConstraint("gym_id", "ref"),
    Index(None, "gym_id", "name", "id"),
)

group_members = Table(
    "group_members",
    metadata,
    _gym(),
    _id("group_id"),
    _id("athlete_id"),
    _created(),
    _key("group_id", "athlete_id"),
    _of("group_id", "groups", cascade=True),
    _of("athlete_id", "athletes", cascade=True),
    Index(None, "gym_id", "athlete_id"),
)

group_notes = Table(
    "group_notes",
    metadata,
    _gym(),
    _id("group_id"),
    Column("date", Date, nullable=False),
    Column("text", Text, nullable=False),
    Column("made_by", Text, nullable=False),
    _version(),
    _created(),
    _key("group_id", "date"),
    _of("group_id", "groups", cascade=True),
)

absences = Table(
    "absences",
    metadata,
    _gym(),
    _id(),
    _id("athlete_id"),
    Column("kind", Text, nullable=False),
    Column("from_date", Date, nullable=False),
    Column("until_date", Date),
    Column("agreed_on", Date),
    Column("agreed_by", Text),
    Column("rule", JSON(none_as_null=True)),
    Column("made_by", Text, nullable=False),
    _version(),
    _created(),
    _key("id"),
    _of("athlete_id", "athletes", cascade=True),
    Index(None, "gym_id", "athlete_id", "from_date"),
)

templates = Table(
    "templates",
    metadata,
    _gym(),
    _id(),
    Column("ref", Text),
    Column("name", Text, nullable=False),
    Column("latest", Integer, nullable=False),
    Column("archived", Boolean, nullable=False, server_default=false()),
    _version(),
    _created(),
    _key("id"),
    UniqueConstraint("gym_id", "ref"),
    Index(None, "gym_id", "name", "id"),
)

template_versions = Table(
    "template_versions",
    metadata,
    _gym(),
    _id("template_id"),
    Column("number", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("body", JSON, nullable=False),
    Column("written", JSON(none_as_null=True)),
    Column("change_note", Text),
    Column("made_by", Text, nullable=False),
    _created(),
    _key("template_id", "number"),
    _of("template_id", "templates", cascade=True),
)

blocks = Table(
    "blocks",
    metadata,
    _gym(),
    _id(),
    _id("athlete_id"),
    _id("template_id"),
    Column("template_version", Integer, nullable=False),
    Column("name", Text, nullable=False),
    Column("start_date", Date, nullable=False),
    Column("weekdays", ARRAY(Text), nullable=False),
    Column("layout", JSON(none_as_null=True)),
    _version(),
    _created(),
    _key("id"),
    UniqueConstraint("gym_id", "id", "athlete_id", name="blocks_athlete_id_key"),  # which sessions point at
    _of("athlete_id", "athletes", cascade=True),
    ForeignKeyConstraint(
        ["gym_id", "template_id", "template_version"],
        ["template_versions.gym_id", "template_versions.template_id", "template_versions.number"],
    ),
    Index(None, "gym_id", "athlete_id", "start_date"),
)

session_plans = Table(
    "session_plans",
    metadata,
    _gym(),
    _id(),
    _key("id"),
)
"""Sessions that were laid out in one call share theirs; no two sessions of one athlete have the same one."""

sessions = Table(
    "sessions",
    metadata,
    _gym(),
    _id(),
    _id("athlete_id"),
    Column("block_id", Uuid),
    Column("week", SmallInteger),
    Column("number", SmallInteger),
    Column("kind", Text, nullable=False),
    Column("state", Text, nullable=False),
    Column("date", Date, nullable=False),
    Column("name", Text, nullable=False),
    Column("plan_note", Text),
    Column("place_id", Uuid),
    Column("plan_id", Uuid),
    Column("minutes_available", SmallInteger),
    Column("prescription_id", Uuid),
    Column("opened_at", DateTime(timezone=True)),
    Column("finished_at", DateTime(timezone=True)),
    Column("session_rpe", Numeric(3, 1)),
    Column("minutes", SmallInteger),
    Column("note", Text),
    _version(),
    _created(),
    _key("id"),
    # A session of a block is its block's athlete's: only the others are checked against an athlete of their own.
    Column("own_athlete_id", Uuid, Computed("CASE WHEN block_id IS NULL THEN athlete_id END", persisted=True)),
    _of("own_athlete_id", "athletes", cascade=True),
    ForeignKeyConstraint(
        ["gym_id", "block_id", "athlete_id"], ["blocks.gym_id", "blocks.id", "blocks.athlete_id"], ondelete="CASCADE"
    ),
    _of("place_id", "places"),
    _of("plan_id", "session_plans"),
    Index(None, "gym_id", "athlete_id", "date"),
    Index(None, "gym_id", "block_id"),
    Index(None, "gym_id", "own_athlete_id", postgresql_where=text("own_athlete_id IS NOT NULL")),
    Index(None, "gym_id", "plan_id"),
)

slots = Table(
    "slots",
    metadata,
    _gym(),
    _id(),
    _id("plan_id"),
    Column("position", SmallInteger, nullable=False),
    Column("lift", Text, nullable=False),
    Column("body", JSON, nullable=False),
    Column("earlier", ARRAY(Uuid)),
    _key("id"),
    _of("plan_id", "session_plans", cascade=True),
    _of("lift", "lifts"),
    Index(None, "gym_id", "plan_id", "position"),
)

prescriptions = Table(
    "prescriptions",
    metadata,
    _gym(),
    _id(),
    _id("session_id"),
    Column("model", Text, nullable=False),
    Column("inputs", JSON, nullable=False),
    Column("answer", JSON, nullable=False),
    _created(),
    _key("id"),
    _of("session_id", "sessions", cascade=True),
    Index(None, "gym_id", "session_id"),
)

sets = Table(
    "sets",
    metadata,
    _gym(),
    _id(),
    _id("athlete_id"),
    Column("session_id", Uuid),
    Column("slot_id", Uuid),
    Column("prescription_id", Uuid),
    Column("lift", Text, nullable=False),
    Column("role", Text, nullable=False),
    *_load(nullable=True),
    Column("reps", SmallInteger, nullable=False),
    Column("seconds", Integer),
    Column("rpe", Numeric(3, 1)),
    Column("rir", Numeric(3, 1)),
    Column("or_more", Boolean, nullable=False, server_default=false()),
    Column("felt", Text),
    Column("made", Boolean, nullable=False),
    Column("ended_by", Text, nullable=False),
    Column("pain", Text, nullable=False),
    Column("support", ARRAY(Text), nullable=False),
    Column("support_class", Text, nullable=False),
    Column("stack", Text, nullable=False, server_default=text("''")),
    Column("expected_rpe", Numeric(3, 1)),
    Column("shown", JSON),
    Column("note", Text),
    Column("method", Text, nullable=False, server_default=text("'straight'")),
    Column("by_ladder", Boolean, nullable=False, server_default=false()),
    Column("metres", Numeric(9, 3)),
    Column("doubt", JSON(none_as_null=True)),
    Column("doubt_answer", Text),
    Column("at", DateTime(timezone=True), nullable=False),
    Column("at_offset_minutes", SmallInteger, nullable=False),
    Column("local_date", Date, nullable=False),
    Column("deleted_at", DateTime(timezone=True)),
    _version(),
    _created(),
    _key("id"),
    _of("athlete_id", "athletes", cascade=True),
    _of("session_id", "sessions"),
    _of("slot_id", "slots"),
    _of("lift", "lifts"),
    Index(None, "gym_id", "athlete_id", "at", "id"),
    Index("sets_athlete_id_lift_idx", "gym_id", "athlete_id", "lift", "local_date"),
    Index("sets_key_idx", "gym_id", "athlete_id", "lift", "support_class", "stack", "local_date"),
    Index(None, "gym_id", "session_id"),
    Index(None, "gym_id", "slot_id", postgresql_where=text("slot_id IS NOT NULL")),
    Index(
        "sets_doubtful_idx",
        "gym_id",
        "athlete_id",
        postgresql_where=text("doubt IS NOT NULL AND doubt_answer IS NULL AND deleted_at IS NULL"),
    ),
)

set_entries = Table(
    "set_entries",
    metadata,
    _gym(),
    _id("set_id"),
    Column("version", Integer, nullable=False),
    Column("entry", JSON, nullable=False),
    Column("made_by", Text, nullable=False),
    _created(),
    _key("set_id", "version"),
    _of("set_id", "sets", cascade=True),
)

day_estimates = Table(
    "day_estimates",
    metadata,
    _gym(),
    _id("athlete_id"),
    Column("lift", Text, nullable=False),
    Column("support_class", Text, nullable=False),
    Column("stack", Text, nullable=False),
    Column("date", Date, nullable=False),
    Column("set_id", Uuid, nullable=False),
    Column("effective_kg", Numeric(20, 11), nullable=False),
    _key("athlete_id", "lift", "support_class", "stack", "date"),
    _of("athlete_id", "athletes", cascade=True),
    _of("set_id", "sets", cascade=True),
)

athlete_states = Table(
    "athlete_states",
    metadata,
    _gym(),
    _id("athlete_id"),
    Column("changes", Integer, nullable=False, server_default=text("0")),
    Column("person", JSON(none_as_null=True)),
    Column("day", Date),
    Column("last_at", DateTime(timezone=True)),
    Column("last_set", Uuid),
    _key("athlete_id"),
    _of("athlete_id", "athletes", cascade=True),
)

lift_states = Table(
    "lift_states",
    metadata,
    _gym(),
    _id("athlete_id"),
    Column("lift", Text, nullable=False),
    Column("support_class", Text, nullable=False),
    Column("stack", Text, nullable=False),
    Column("body", JSON(none_as_null=True)),
    Column("model", JSON(none_as_null=True)),
    Column("before", JSON(none_as_null=True)),
    _key("athlete_id", "lift", "support_class", "stack"),
    _of("athlete_id", "athletes", cascade=True),
)

idempotency_keys = Table(
    "idempotency_keys",
    metadata,
    _gym(),
    Column("key_id", Text, nullable=False),
    Column("idempotency_key", Text, nullable=False),
    Column("fingerprint", LargeBinary, nullable=False),
    Column("status", SmallInteger, nullable=False),
    Column("location", Text),
    Column("etag", Text),
    Column("body", LargeBinary),
    _created(),
    _key("key_id", "idempotency_key"),
    Index("idempotency_keys_created_at_idx", "gym_id", "created_at"),
)

WORDS: dict[str, dict[str, tuple[str, ...]]] = {
    "keys": {"right": ("read", "log", "coach", "owner")},
    "gyms": {"unit": ("kg", "lb")},
    "athletes": {"unit": ("kg", "lb")},
    "lifts": {
        "load_kind": ("total", "per_hand", "bodyweight", "stack", "none"),
        "curve_group": ("squat_like", "deadlift_like", "other"),
    },
    "maxes": {"kind": ("tested", "training"), "support_class": ("unsupported", "wraps", "suit")},
    "overrides": {"kind": ("load", "cap", "exchange", "leave_out", "no_singles", "needs_approval", "approval")},
    "absences": {"kind": ("holiday", "illness", "injury", "other")},
    "sessions": {
        "kind": ("block", "free", "first", "test", "meet"),
        "state": ("planned", "open", "finished", "skipped"),
    },
    "sets": {
        "ended_by": ("choice", "strength", "technique", "command", "grip", "pain", "other"),
        "pain": ("none", "some", "stop"),
        "felt": ("lighter", "as_expected", "heavier"),
        "doubt_answer": ("confirmed", "excluded"),
        "support_class": ("unsupported", "wraps", "suit"),
        "method": ("straight", "drop_set", "rest_pause", "cluster", "complex", "slow_tempo", "carry"),
    },
}
"""Columns that hold one of a few words; the database checks them too."""

for _name, _columns in WORDS.items():
    for _column, _words in _columns.items():
        _listed = ", ".join(f"'{word}'" for word in _words)
        metadata.tables[_name].append_constraint(CheckConstraint(f'"{_column}" IN ({_listed})', name=_column))

for _table in metadata.tables.values():
    if "gym_id" in _table.c and _table not in (gyms, sessions):  # a session's athlete or block is of the gym
        _table.append_constraint(
            ForeignKeyConstraint(["gym_id"], ["gyms.gym_id"], ondelete="CASCADE", name=f"{_table.name}_gym_id_fkey")
        )
