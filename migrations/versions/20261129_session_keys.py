"""Fewer keys that a session is checked against: each takes time, and a block for many has thousands of rows.

A session of a block is its block's athlete's, which nothing held before; only a session outside of blocks is checked
against an athlete of its own. Either is of the gym.
"""

from __future__ import annotations

from alembic import op

revision = "20261129_session_keys"
down_revision = "20261128_coach"

CHECKED = ("gyms", "athletes", "blocks", "sessions")
"""Whose rows new keys are checked on: forced row security hides them from the owner too."""

UP = """
ALTER TABLE blocks ADD CONSTRAINT blocks_athlete_id_key UNIQUE (gym_id, id, athlete_id);
ALTER TABLE sessions
    ADD COLUMN own_athlete_id UUID GENERATED ALWAYS AS (CASE WHEN block_id IS NULL THEN athlete_id END) STORED,
    DROP CONSTRAINT sessions_gym_id_fkey,
    DROP CONSTRAINT sessions_athlete_id_fkey,
    DROP CONSTRAINT sessions_block_id_fkey,
    ADD CONSTRAINT sessions_own_athlete_id_fkey
        FOREIGN KEY (gym_id, own_athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    ADD CONSTRAINT sessions_block_id_fkey
        FOREIGN KEY (gym_id, block_id, athlete_id) REFERENCES blocks (gym_id, id, athlete_id) ON DELETE CASCADE;
CREATE INDEX sessions_own_athlete_id_idx ON sessions (gym_id, own_athlete_id) WHERE own_athlete_id IS NOT NULL;
"""

DOWN = """
ALTER TABLE sessions
    DROP COLUMN own_athlete_id,
    DROP CONSTRAINT sessions_block_id_fkey,
    ADD CONSTRAINT sessions_block_id_fkey
        FOREIGN KEY (gym_id, block_id) REFERENCES blocks (gym_id, id) ON DELETE CASCADE,
    ADD CONSTRAINT sessions_athlete_id_fkey
        FOREIGN KEY (gym_id, athlete_id) REFERENCES athletes (gym_id, id) ON DELETE CASCADE,
    ADD CONSTRAINT sessions_gym_id_fkey FOREIGN KEY (gym_id) REFERENCES gyms (gym_id) ON DELETE CASCADE;
ALTER TABLE blocks DROP CONSTRAINT blocks_athlete_id_key;
"""


def upgrade() -> None:
    _with_all_rows(UP)


def downgrade() -> None:
    _with_all_rows(DOWN)


def _with_all_rows(statements: str) -> None:
    op.execute("SET LOCAL lock_timeout = '3s'")
    for table in CHECKED:
        op.execute(f"ALTER TABLE {table} NO FORCE ROW LEVEL SECURITY")
    op.execute(statements)
    for table in CHECKED:
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
