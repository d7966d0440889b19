"""Whether a start finds the tables of this release."""

from __future__ import annotations

from pathlib import Path

from alembic.script import ScriptDirectory
from sqlalchemy import Engine, text

from service.store import current

MIGRATIONS = Path(__file__).resolve().parents[2] / "migrations"


def test_the_newest_migration_is_the_one_that_a_start_looks_for() -> None:
    assert ScriptDirectory(str(MIGRATIONS)).get_current_head() == current.NEWEST


def test_a_migrated_database_is_current_and_the_service_may_ask(server) -> None:
    assert current.is_current(server.service_url)


def test_a_database_without_tables_and_one_that_lacks_a_migration_are_not_current(server, owner_engine: Engine) -> None:
    def in_schema(name: str) -> bool:
        return current.is_current(
            f"{server.owner_url}{'&' if '?' in server.owner_url else '?'}options=-csearch_path={name}"
        )

    with owner_engine.begin() as connection:
        connection.execute(text("CREATE SCHEMA bare"))
        connection.execute(text("CREATE SCHEMA behind"))
        connection.execute(text("CREATE TABLE behind.alembic_version (version_num text)"))
        connection.execute(text("INSERT INTO behind.alembic_version VALUES ('20261125_first')"))
    try:
        assert not in_schema("bare")
        assert not in_schema("behind")
    finally:
        with owner_engine.begin() as connection:
            connection.execute(text("DROP SCHEMA bare, behind CASCADE"))
