"""What the athlete's model remembers, and what is asked about a set that it cannot believe.

States that are there stay without a model: the log is folded at their first use.
"""

from __future__ import annotations

from alembic import op

revision = "20261128_model"
down_revision = "20261125_first"

UP = """
ALTER TABLE athlete_states
    ADD COLUMN person JSON,
    ADD COLUMN day DATE,
    ADD COLUMN last_at TIMESTAMP WITH TIME ZONE,
    ADD COLUMN last_set UUID;

ALTER TABLE lift_states
    ALTER COLUMN body DROP NOT NULL,
    ADD COLUMN model JSON,
    ADD COLUMN before JSON;

ALTER TABLE sets
    ADD COLUMN doubt JSON,
    ADD COLUMN doubt_answer TEXT,
    ADD CONSTRAINT sets_doubt_answer_check CHECK ("doubt_answer" IN ('confirmed', 'excluded'));

CREATE INDEX sets_doubtful_idx ON sets (gym_id, athlete_id)
    WHERE doubt IS NOT NULL AND doubt_answer IS NULL AND deleted_at IS NULL;

CREATE INDEX sets_key_idx ON sets (gym_id, athlete_id, lift, support_class, stack, local_date);
"""

DOWN = """
DROP INDEX sets_key_idx;
DROP INDEX sets_doubtful_idx;
ALTER TABLE sets DROP COLUMN doubt_answer, DROP COLUMN doubt;
ALTER TABLE lift_states NO FORCE ROW LEVEL SECURITY; -- which hides all rows from the owner too
DELETE FROM lift_states WHERE body IS NULL;
ALTER TABLE lift_states FORCE ROW LEVEL SECURITY;
ALTER TABLE lift_states DROP COLUMN before, DROP COLUMN model, ALTER COLUMN body SET NOT NULL;
ALTER TABLE athlete_states DROP COLUMN last_set, DROP COLUMN last_at, DROP COLUMN day, DROP COLUMN person;
"""


def upgrade() -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    op.execute(UP)


def downgrade() -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    op.execute(DOWN)
