"""Groups, absences, decisions about groups with their history, templates as they were written, sets by other methods."""

from __future__ import annotations

from alembic import op

revision = "20261128_coach"
down_revision = "20261128_model"

UP = """
CREATE TABLE groups (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    ref TEXT,
    name TEXT NOT NULL,
    archived BOOLEAN DEFAULT false NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT groups_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT groups_ref_key UNIQUE (gym_id, ref),
    CONSTRAINT groups_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);
CREATE INDEX groups_name_idx ON groups (gym_id, name, id);

CREATE TABLE group_members (
    gym_id UUID NOT NULL,
    group_id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT group_members_pkey PRIMARY KEY (gym_id, group_id, athlete_id),
    CONSTRAINT group_members_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE,
    FOREIGN KEY (gym_id, group_id) REFERENCES groups (gym_id, id) ON DELETE CASCADE,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE
);
CREATE INDEX group_members_athlete_id_idx ON group_members (gym_id, athlete_id);

CREATE TABLE group_notes (
    gym_id UUID NOT NULL,
    group_id UUID NOT NULL,
    date DATE NOT NULL,
    text TEXT NOT NULL,
    made_by TEXT NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT group_notes_pkey PRIMARY KEY (gym_id, group_id, date),
    CONSTRAINT group_notes_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE,
    FOREIGN KEY (gym_id, group_id) REFERENCES groups (gym_id, id) ON DELETE CASCADE
);

CREATE TABLE absences (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    athlete_id UUID NOT NULL,
    kind TEXT NOT NULL,
    from_date DATE NOT NULL,
    until_date DATE,
    agreed_on DATE,
    agreed_by TEXT,
    rule JSON,
    made_by TEXT NOT NULL,
    version INTEGER DEFAULT 1 NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT absences_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT absences_kind_check CHECK ("kind" IN ('holiday', 'illness', 'injury', 'other')),
    CONSTRAINT absences_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE,
    FOREIGN KEY (gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE
);
CREATE INDEX absences_athlete_id_idx ON absences (gym_id, athlete_id, from_date);

ALTER TABLE overrides
    ADD COLUMN group_id UUID,
    ADD COLUMN rpe NUMERIC(3, 1),
    ADD COLUMN percent NUMERIC(6, 3),
    ALTER COLUMN athlete_id DROP NOT NULL,
    ALTER COLUMN lift DROP NOT NULL,
    DROP CONSTRAINT overrides_kind_check,
    ADD CONSTRAINT overrides_kind_check CHECK ("kind" IN
        ('load', 'cap', 'exchange', 'leave_out', 'no_singles', 'needs_approval', 'approval')),
    ADD CONSTRAINT overrides_about_check CHECK ((athlete_id IS NULL) <> (group_id IS NULL)),
    ADD FOREIGN KEY (gym_id, group_id) REFERENCES groups (gym_id, id) ON DELETE CASCADE;
CREATE INDEX overrides_group_id_idx ON overrides (gym_id, group_id, until_date);

CREATE TABLE override_entries (
    gym_id UUID NOT NULL,
    override_id UUID NOT NULL,
    version INTEGER NOT NULL,
    entry JSON NOT NULL,
    made_by TEXT NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
    CONSTRAINT override_entries_pkey PRIMARY KEY (gym_id, override_id, version),
    CONSTRAINT override_entries_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE,
    FOREIGN KEY (gym_id, override_id) REFERENCES overrides (gym_id, id) ON DELETE CASCADE
);

ALTER TABLE template_versions ADD COLUMN written JSON, ADD COLUMN change_note TEXT;
ALTER TABLE blocks ADD COLUMN layout JSON;
ALTER TABLE sessions ADD COLUMN minutes_available SMALLINT;
ALTER TABLE sets
    ADD COLUMN method TEXT DEFAULT 'straight' NOT NULL,
    ADD COLUMN by_ladder BOOLEAN DEFAULT false NOT NULL,
    ADD COLUMN metres NUMERIC(9, 3),
    ADD CONSTRAINT sets_method_check CHECK ("method" IN
        ('straight', 'drop_set', 'rest_pause', 'cluster', 'complex', 'slow_tempo', 'carry'));
ALTER TABLE maxes
    ADD COLUMN session_id UUID,
    ADD FOREIGN KEY (gym_id, session_id) REFERENCES sessions (gym_id, id) ON DELETE CASCADE;
CREATE INDEX maxes_session_id_idx ON maxes (gym_id, session_id);

CREATE TABLE session_plans (
    gym_id UUID NOT NULL,
    id UUID NOT NULL,
    CONSTRAINT session_plans_pkey PRIMARY KEY (gym_id, id),
    CONSTRAINT session_plans_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE
);

-- What was planned stays as it is: each session's slots are a plan of its own, under the session's id.
ALTER TABLE sessions NO FORCE ROW LEVEL SECURITY; -- which hides all rows from the owner too
ALTER TABLE slots NO FORCE ROW LEVEL SECURITY;
ALTER TABLE slots DROP CONSTRAINT slots_session_id_fkey;
ALTER TABLE slots RENAME COLUMN session_id TO plan_id;
ALTER INDEX slots_session_id_idx RENAME TO slots_plan_id_idx;
ALTER TABLE slots ADD COLUMN earlier UUID[];
ALTER TABLE sessions ADD COLUMN plan_id UUID;
INSERT INTO session_plans (gym_id, id) SELECT DISTINCT gym_id, plan_id FROM slots;
UPDATE sessions s SET plan_id = p.id FROM session_plans p WHERE p.gym_id = s.gym_id AND p.id = s.id;
ALTER TABLE slots
    ADD CONSTRAINT slots_plan_id_fkey
        FOREIGN KEY (gym_id, plan_id) REFERENCES session_plans (gym_id, id) ON DELETE CASCADE;
ALTER TABLE sessions
    ADD CONSTRAINT sessions_plan_id_fkey FOREIGN KEY (gym_id, plan_id) REFERENCES session_plans (gym_id, id);
CREATE INDEX sessions_plan_id_idx ON sessions (gym_id, plan_id);
CREATE INDEX sets_slot_id_idx ON sets (gym_id, slot_id) WHERE slot_id IS NOT NULL;
ALTER TABLE slots FORCE ROW LEVEL SECURITY;
ALTER TABLE sessions FORCE ROW LEVEL SECURITY;
"""

# What only the new words can say goes with them.
DOWN = """
-- Each session gets slots of its own again; the first of those that share a plan keeps the ids.
ALTER TABLE sessions NO FORCE ROW LEVEL SECURITY; -- which hides all rows from the owner too
ALTER TABLE slots NO FORCE ROW LEVEL SECURITY;
ALTER TABLE sets NO FORCE ROW LEVEL SECURITY;
ALTER TABLE prescriptions NO FORCE ROW LEVEL SECURITY;
DROP INDEX sets_slot_id_idx;
CREATE TEMPORARY TABLE own_slots ON COMMIT DROP AS
    SELECT s.gym_id, s.id AS session_id, n.id AS shared_id,
           CASE WHEN row_number() OVER (PARTITION BY n.gym_id, n.id ORDER BY s.id) = 1 THEN n.id
                ELSE gen_random_uuid() END AS id
      FROM sessions s JOIN slots n ON n.gym_id = s.gym_id AND n.plan_id = s.plan_id;
CREATE INDEX ON own_slots (gym_id, session_id, shared_id);
ALTER TABLE slots DROP CONSTRAINT slots_plan_id_fkey;
DELETE FROM slots n WHERE NOT EXISTS (SELECT FROM own_slots o WHERE o.gym_id = n.gym_id AND o.shared_id = n.id);
INSERT INTO slots (gym_id, id, plan_id, position, lift, body)
    SELECT n.gym_id, o.id, o.session_id, n.position, n.lift, n.body
      FROM own_slots o JOIN slots n ON n.gym_id = o.gym_id AND n.id = o.shared_id
     WHERE o.id <> o.shared_id;
UPDATE slots n SET plan_id = o.session_id FROM own_slots o WHERE o.gym_id = n.gym_id AND o.id = n.id;
UPDATE sets t SET slot_id = o.id
    FROM own_slots o
    WHERE o.gym_id = t.gym_id AND o.session_id = t.session_id AND o.shared_id = t.slot_id AND o.id <> o.shared_id;
DO $$
DECLARE
    one RECORD;
BEGIN
    FOR one IN
        SELECT p.gym_id, p.id, o.shared_id, o.id AS own_id
          FROM prescriptions p JOIN own_slots o ON o.gym_id = p.gym_id AND o.session_id = p.session_id
         WHERE o.id <> o.shared_id
    LOOP
        UPDATE prescriptions p
           SET inputs = CAST(replace(CAST(p.inputs AS text), CAST(one.shared_id AS text), CAST(one.own_id AS text))
                             AS json)
         WHERE p.gym_id = one.gym_id AND p.id = one.id;
    END LOOP;
END $$;
ALTER TABLE sessions DROP COLUMN plan_id;
ALTER TABLE slots DROP COLUMN earlier;
ALTER TABLE slots RENAME COLUMN plan_id TO session_id;
ALTER INDEX slots_plan_id_idx RENAME TO slots_session_id_idx;
ALTER TABLE slots
    ADD CONSTRAINT slots_session_id_fkey
        FOREIGN KEY (gym_id, session_id) REFERENCES sessions (gym_id, id) ON DELETE CASCADE;
ALTER TABLE prescriptions FORCE ROW LEVEL SECURITY;
ALTER TABLE sets FORCE ROW LEVEL SECURITY;
ALTER TABLE slots FORCE ROW LEVEL SECURITY;
ALTER TABLE sessions FORCE ROW LEVEL SECURITY;
DROP TABLE session_plans;
DROP INDEX maxes_session_id_idx;
ALTER TABLE maxes DROP COLUMN session_id;
ALTER TABLE sets DROP COLUMN metres, DROP COLUMN by_ladder, DROP COLUMN method;
ALTER TABLE sessions DROP COLUMN minutes_available;
ALTER TABLE blocks DROP COLUMN layout;
ALTER TABLE template_versions DROP COLUMN change_note, DROP COLUMN written;
DROP TABLE override_entries;
ALTER TABLE overrides NO FORCE ROW LEVEL SECURITY; -- which hides all rows from the owner too
DELETE FROM overrides
    WHERE group_id IS NOT NULL OR lift IS NULL OR kind IN ('no_singles', 'needs_approval', 'approval')
       OR (kind = 'cap' AND load_value IS NULL);
ALTER TABLE overrides FORCE ROW LEVEL SECURITY;
DROP INDEX overrides_group_id_idx;
ALTER TABLE overrides
    DROP COLUMN percent,
    DROP COLUMN rpe,
    DROP COLUMN group_id,
    ALTER COLUMN athlete_id SET NOT NULL,
    ALTER COLUMN lift SET NOT NULL,
    DROP CONSTRAINT overrides_kind_check,
    ADD CONSTRAINT overrides_kind_check CHECK ("kind" IN ('load', 'cap', 'exchange', 'leave_out'));
DROP TABLE absences;
DROP TABLE group_notes;
DROP TABLE group_members;
DROP TABLE groups;
"""

NEW = {
    "session_plans": "SELECT, INSERT, UPDATE, DELETE",
    "groups": "SELECT, INSERT, UPDATE, DELETE",
    "group_members": "SELECT, INSERT, UPDATE, DELETE",
    "group_notes": "SELECT, INSERT, UPDATE, DELETE",
    "absences": "SELECT, INSERT, UPDATE, DELETE",
    "override_entries": "SELECT, INSERT",
}


def upgrade() -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    op.execute(UP)
    for table, rights in NEW.items():
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
        op.execute(
            f"CREATE POLICY {table}_gym ON {table} USING (gym_id = nullif(current_setting('app.gym', true), '')::uuid)"
        )
        op.execute(f"GRANT {rights} ON {table} TO loadwright_service")


def downgrade() -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    op.execute(DOWN)
