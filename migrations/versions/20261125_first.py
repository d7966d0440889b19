"""The first tables: gyms, keys, athletes, lifts, places, maxes, overrides, templates, blocks, sessions, sets."""

from __future__ import annotations

from alembic import op

revision = "20261125_first"
down_revision = None

TABLES = """
CREATE TABLE failed_keys (
    address TEXT NOT NULL,
    minute TIMESTAMP WITH TIME ZONE NOT NULL,
    count INTEGER NOT NULL,
    CONSTRAINT failed_keys_pkey PRIMARY KEY (address, minute)
);

CREATE TABLE gyms (
    gym_id UUID NOT NULL,
    name TEXT NOT NULL,
    unit TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    settings JSON NOT NULL,
    place_id UUID,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT gyms_pkey PRIMARY KEY (gym_id),
    CONSTRAINT gyms_name_key UNIQUE (name),
    CONSTRAINT gyms_unit_check CHECK ("unit" IN ('kg', 'lb'))
);

CREATE TABLE idempotency_keys (
    gym_id UUID NOT NULL,
    key_id TEXT NOT NULL,
    idempotency_key TEXT NOT NULL,
    fingerprint BYTEA NOT NULL,
    status SMALLINT NOT NULL,
    location TEXT,
    etag TEXT,
    body BYTEA,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT idempotency_keys_pkey PRIMARY KEY (gym_id, key_id, idempotency_key),
    CONSTRAINT idempotency_keys_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX idempotency_keys_created_at_idx ON idempotency_keys (gym_id, created_at);

CREATE TABLE lifts (
    gym_id UUID NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    load_kind TEXT NOT NULL,
    curve_group TEXT NOT NULL,
    technique BOOLEAN NOT NULL,
    based_on TEXT,
    ratio NUMERIC(6, 4),
    ratio_source TEXT,
    built_in BOOLEAN NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT lifts_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT lifts_based_on_fkey FOREIGN KEY(gym_id, based_on) REFERENCES lifts (gym_id, id),
    CONSTRAINT lifts_load_kind_check CHECK ("load_kind" IN ('total', 'per_hand', 'bodyweight', 'stack', 'none')),
    CONSTRAINT lifts_curve_group_check CHECK ("curve_group" IN ('squat_like', 'deadlift_like', 'other')),
    CONSTRAINT lifts_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE places (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    ref TEXT,
    name TEXT NOT NULL,
    kit JSON NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT places_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT places_ref_key UNIQUE (gym_id, ref),
    CONSTRAINT places_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE templates (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    ref TEXT,
    name TEXT NOT NULL,
    latest INTEGER NOT NULL,
    archived BOOLEAN DEFAULT false NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT templates_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT templates_ref_key UNIQUE (gym_id, ref),
    CONSTRAINT templates_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX templates_name_idx ON templates (gym_id, name, id);

CREATE TABLE athletes (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    ref TEXT,
    name TEXT NOT NULL,
    unit TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    experience TEXT,
    birth_year SMALLINT,
    sex TEXT,
    settings JSON NOT NULL,
    place_id UUID,
    archived BOOLEAN DEFAULT false NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT athletes_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT athletes_ref_key UNIQUE (gym_id, ref),
    CONSTRAINT athletes_place_id_fkey FOREIGN KEY(gym_id, place_id) REFERENCES places (gym_id, id),
    CONSTRAINT athletes_unit_check CHECK ("unit" IN ('kg', 'lb')),
    CONSTRAINT athletes_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX athletes_name_idx ON athletes (gym_id, name, id);

CREATE TABLE template_versions (
    gym_id UUID NOT NULL,
    template_id UUID NOT NULL,
    number INTEGER NOT NULL,
    name TEXT NOT NULL,
    body JSON NOT NULL,
    made_by TEXT NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT template_versions_pkey PRIMARY KEY (gym_id, template_id, number),
    CONSTRAINT template_versions_template_id_fkey FOREIGN KEY(gym_id, template_id) REFERENCES templates (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT template_versions_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE athlete_states (
    gym_id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    changes INTEGER DEFAULT 0 NOT NULL,
    CONSTRAINT athlete_states_pkey PRIMARY KEY (gym_id, athlete_id),
    CONSTRAINT athlete_states_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT athlete_states_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE blocks (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    template_id UUID NOT NULL,
    template_version INTEGER NOT NULL,
    name TEXT NOT NULL,
    start_date DATE NOT NULL,
    weekdays TEXT[] NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT blocks_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT blocks_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT blocks_template_id_fkey FOREIGN KEY(gym_id, template_id, template_version) REFERENCES template_versions (gym_id, template_id, number),
    CONSTRAINT blocks_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX blocks_athlete_id_idx ON blocks (gym_id, athlete_id, start_date);

CREATE TABLE body_weights (
    gym_id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    date DATE NOT NULL,
    load_value NUMERIC(9, 3) NOT NULL,
    load_unit TEXT NOT NULL,
    load_kg NUMERIC(20, 11),
    CONSTRAINT body_weights_pkey PRIMARY KEY (gym_id, athlete_id, date),
    CONSTRAINT body_weights_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT body_weights_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE keys (
    gym_id UUID NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    "right" TEXT NOT NULL,
    athlete_id UUID,
    secret_hash BYTEA NOT NULL,
    old_secret_hash BYTEA,
    old_until TIMESTAMP WITH TIME ZONE,
    expires_at TIMESTAMP WITH TIME ZONE,
    lifetime_days SMALLINT,
    revoked_at TIMESTAMP WITH TIME ZONE,
    last_used_at TIMESTAMP WITH TIME ZONE,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT keys_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT keys_id_key UNIQUE (id),
    CONSTRAINT keys_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT keys_right_check CHECK ("right" IN ('read', 'log', 'coach', 'owner')),
    CONSTRAINT keys_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE lift_states (
    gym_id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    lift TEXT NOT NULL,
    support_class TEXT NOT NULL,
    stack TEXT NOT NULL,
    body JSON NOT NULL,
    CONSTRAINT lift_states_pkey PRIMARY KEY (gym_id, athlete_id, lift, support_class, stack),
    CONSTRAINT lift_states_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT lift_states_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE maxes (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    lift TEXT NOT NULL,
    kind TEXT NOT NULL,
    load_value NUMERIC(9, 3) NOT NULL,
    load_unit TEXT NOT NULL,
    load_kg NUMERIC(20, 11),
    date DATE NOT NULL,
    source TEXT,
    support TEXT[] NOT NULL,
    support_class TEXT NOT NULL,
    note TEXT,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT maxes_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT maxes_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT maxes_lift_fkey FOREIGN KEY(gym_id, lift) REFERENCES lifts (gym_id, id),
    CONSTRAINT maxes_kind_check CHECK ("kind" IN ('tested', 'training')),
    CONSTRAINT maxes_support_class_check CHECK ("support_class" IN ('unsupported', 'wraps', 'suit')),
    CONSTRAINT maxes_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX maxes_athlete_id_idx ON maxes (gym_id, athlete_id, lift, date);

CREATE TABLE overrides (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    lift TEXT NOT NULL,
    kind TEXT NOT NULL,
    load_value NUMERIC(9, 3),
    load_unit TEXT,
    load_kg NUMERIC(20, 11),
    to_lift TEXT,
    from_date DATE NOT NULL,
    until_date DATE NOT NULL,
    reason TEXT NOT NULL,
    set_by TEXT NOT NULL,
    ended_at TIMESTAMP WITH TIME ZONE,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT overrides_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT overrides_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT overrides_lift_fkey FOREIGN KEY(gym_id, lift) REFERENCES lifts (gym_id, id),
    CONSTRAINT overrides_to_lift_fkey FOREIGN KEY(gym_id, to_lift) REFERENCES lifts (gym_id, id),
    CONSTRAINT overrides_kind_check CHECK ("kind" IN ('load', 'cap', 'exchange', 'leave_out')),
    CONSTRAINT overrides_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX overrides_athlete_id_idx ON overrides (gym_id, athlete_id, until_date);

CREATE TABLE sessions (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    block_id UUID,
    week SMALLINT,
    number SMALLINT,
    kind TEXT NOT NULL,
    state TEXT NOT NULL,
    date DATE NOT NULL,
    name TEXT NOT NULL,
    plan_note TEXT,
    place_id UUID,
    prescription_id UUID,
    opened_at TIMESTAMP WITH TIME ZONE,
    finished_at TIMESTAMP WITH TIME ZONE,
    session_rpe NUMERIC(3, 1),
    minutes SMALLINT,
    note TEXT,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT sessions_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT sessions_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT sessions_block_id_fkey FOREIGN KEY(gym_id, block_id) REFERENCES blocks (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT sessions_place_id_fkey FOREIGN KEY(gym_id, place_id) REFERENCES places (gym_id, id),
    CONSTRAINT sessions_kind_check CHECK ("kind" IN ('block', 'free', 'first', 'test', 'meet')),
    CONSTRAINT sessions_state_check CHECK ("state" IN ('planned', 'open', 'finished', 'skipped')),
    CONSTRAINT sessions_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX sessions_athlete_id_idx ON sessions (gym_id, athlete_id, date);
CREATE INDEX sessions_block_id_idx ON sessions (gym_id, block_id);

CREATE TABLE prescriptions (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    session_id UUID NOT NULL,
    model TEXT NOT NULL,
    inputs JSON NOT NULL,
    answer JSON NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT prescriptions_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT prescriptions_session_id_fkey FOREIGN KEY(gym_id, session_id) REFERENCES sessions (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT prescriptions_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX prescriptions_session_id_idx ON prescriptions (gym_id, session_id);

CREATE TABLE slots (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    session_id UUID NOT NULL,
    position SMALLINT NOT NULL,
    lift TEXT NOT NULL,
    body JSON NOT NULL,
    CONSTRAINT slots_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT slots_session_id_fkey FOREIGN KEY(gym_id, session_id) REFERENCES sessions (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT slots_lift_fkey FOREIGN KEY(gym_id, lift) REFERENCES lifts (gym_id, id),
    CONSTRAINT slots_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX slots_session_id_idx ON slots (gym_id, session_id, position);

CREATE TABLE sets (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    session_id UUID,
    slot_id UUID,
    prescription_id UUID,
    lift TEXT NOT NULL,
    role TEXT NOT NULL,
    load_value NUMERIC(9, 3),
    load_unit TEXT,
    load_kg NUMERIC(20, 11),
    reps SMALLINT NOT NULL,
    seconds INTEGER,
    rpe NUMERIC(3, 1),
    rir NUMERIC(3, 1),
    or_more BOOLEAN DEFAULT false NOT NULL,
    felt TEXT,
    made BOOLEAN NOT NULL,
    ended_by TEXT NOT NULL,
    pain TEXT NOT NULL,
    support TEXT[] NOT NULL,
    support_class TEXT NOT NULL,
    stack TEXT DEFAULT '' NOT NULL,
    expected_rpe NUMERIC(3, 1),
    shown JSON,
    note TEXT,
    at TIMESTAMP WITH TIME ZONE NOT NULL,
    at_offset_minutes SMALLINT NOT NULL,
    local_date DATE NOT NULL,
    deleted_at TIMESTAMP WITH TIME ZONE,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT sets_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT sets_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT sets_session_id_fkey FOREIGN KEY(gym_id, session_id) REFERENCES sessions (gym_id, id),
    CONSTRAINT sets_slot_id_fkey FOREIGN KEY(gym_id, slot_id) REFERENCES slots (gym_id, id),
    CONSTRAINT sets_lift_fkey FOREIGN KEY(gym_id, lift) REFERENCES lifts (gym_id, id),
    CONSTRAINT sets_ended_by_check CHECK ("ended_by" IN ('choice', 'strength', 'technique', 'command', 'grip', 'pain', 'other')),
    CONSTRAINT sets_pain_check CHECK ("pain" IN ('none', 'some', 'stop')),
    CONSTRAINT sets_felt_check CHECK ("felt" IN ('lighter', 'as_expected', 'heavier')),
    CONSTRAINT sets_support_class_check CHECK ("support_class" IN ('unsupported', 'wraps', 'suit')),
    CONSTRAINT sets_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX sets_athlete_id_idx ON sets (gym_id, athlete_id, at, id);
CREATE INDEX sets_athlete_id_lift_idx ON sets (gym_id, athlete_id, lift, local_date);
CREATE INDEX sets_session_id_idx ON sets (gym_id, session_id);

CREATE TABLE day_estimates (
    gym_id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    lift TEXT NOT NULL,
    support_class TEXT NOT NULL,
    stack TEXT NOT NULL,
    date DATE NOT NULL,
    set_id UUID NOT NULL,
    effective_kg NUMERIC(20, 11) NOT NULL,
    CONSTRAINT day_estimates_pkey PRIMARY KEY (gym_id, athlete_id, lift, support_class, stack, date),
    CONSTRAINT day_estimates_athlete_id_fkey FOREIGN KEY(gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT day_estimates_set_id_fkey FOREIGN KEY(gym_id, set_id) REFERENCES sets (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT day_estimates_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

CREATE TABLE set_entries (
    gym_id UUID NOT NULL,
    set_id UUID NOT NULL,
    version INTEGER NOT NULL,
    entry JSON NOT NULL,
    made_by TEXT NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT set_entries_pkey PRIMARY KEY (gym_id, set_id, version),
    CONSTRAINT set_entries_set_id_fkey FOREIGN KEY(gym_id, set_id) REFERENCES sets (gym_id, id) ON DELETE CASCADE,
    CONSTRAINT set_entries_gym_id_fkey FOREIGN KEY(gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
ALTER TABLE gyms ADD CONSTRAINT gyms_place_id_fkey FOREIGN KEY (gym_id, place_id) REFERENCES places (gym_id, id);
"""

TENANT_TABLES = (
    "gyms",
    "idempotency_keys",
    "lifts",
    "places",
    "templates",
    "athletes",
    "template_versions",
    "athlete_states",
    "blocks",
    "body_weights",
    "keys",
    "lift_states",
    "maxes",
    "overrides",
    "sessions",
    "prescriptions",
    "slots",
    "sets",
    "day_estimates",
    "set_entries",
)

APPEND_ONLY = ("template_versions", "prescriptions", "set_entries")

# The service's role owns nothing and cannot bypass row security; where a server's own login plays it, that
# login is a member of this role.
ROLE = """
DO $$ BEGIN
    CREATE ROLE loadwright_service NOLOGIN;
EXCEPTION WHEN duplicate_object OR insufficient_privilege THEN NULL;
END $$;
"""

# The one look-up that must come before the gym is known: from a key's id to its gym and hashes.
KEY_LOOKUP = """
CREATE FUNCTION key_lookup(key_id text)
RETURNS TABLE (gym_id uuid, name text, "right" text, athlete_id uuid, secret_hash bytea, old_secret_hash bytea,
               old_until timestamptz, expires_at timestamptz, revoked_at timestamptz)
LANGUAGE sql STABLE SECURITY DEFINER SET search_path = public, pg_temp
AS $$
    SELECT k.gym_id, k.name, k."right", k.athlete_id, k.secret_hash, k.old_secret_hash, k.old_until, k.expires_at,
           k.revoked_at
    FROM keys k WHERE k.id = key_id
$$;
REVOKE ALL ON FUNCTION key_lookup(text) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION key_lookup(text) TO loadwright_service;
"""


def upgrade() -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    op.execute(ROLE)
    op.execute(TABLES)
    for table in TENANT_TABLES:
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
        op.execute(
            f"CREATE POLICY {table}_gym ON {table} USING (gym_id = nullif(current_setting('app.gym', true), '')::uuid)"
        )
        rights = "SELECT, INSERT" if table in APPEND_ONLY else "SELECT, INSERT, UPDATE, DELETE"
        op.execute(f"GRANT {rights} ON {table} TO loadwright_service")
    op.execute("GRANT SELECT, INSERT, UPDATE, DELETE ON failed_keys TO loadwright_service")
    op.execute("GRANT SELECT ON alembic_version TO loadwright_service")
    # Row security is forced on the owner too; these two let it find a gym by name and answer the look-up.
    op.execute("CREATE POLICY keys_lookup ON keys FOR SELECT TO CURRENT_USER USING (true)")
    op.execute("CREATE POLICY gyms_lookup ON gyms FOR SELECT TO CURRENT_USER USING (true)")
    op.execute(KEY_LOOKUP)


def downgrade() -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    op.execute("DROP FUNCTION key_lookup(text)")
    op.execute("ALTER TABLE gyms DROP CONSTRAINT gyms_place_id_fkey")
    for table in reversed(TENANT_TABLES):
        op.execute(f"DROP TABLE {table}")
    op.execute("DROP TABLE failed_keys")
