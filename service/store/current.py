"""Whether a database has the tables of this release: asked at every start, without what makes the tables."""

from __future__ import annotations

from sqlalchemy import NullPool, create_engine, text

NEWEST = "20261129_session_keys"
"""The newest migration of this release."""


def is_current(url: str) -> bool:
    """Whether a database has all migrations of this release; the service's role may ask."""
    engine = create_engine(url, poolclass=NullPool)
    with engine.connect() as connection:
        if connection.scalar(text("SELECT to_regclass('alembic_version')")) is None:
            return False
        return list(connection.scalars(text("SELECT version_num FROM alembic_version"))) == [NEWEST]
