"""The second wall: what row-level security holds even where a query forgets its gym."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from sqlalchemy import Engine, create_engine, text
from sqlalchemy.exc import IntegrityError, ProgrammingError

from service.store.session import Caller, Database
from service.store.tables import metadata


def as_caller(gym_id) -> Caller:
    return Caller(gym_id, "none", "test", "owner", None)


def test_the_tables_with_forced_row_security_are_those_with_a_gym(owner_engine: Engine) -> None:
    with owner_engine.connect() as connection:
        rows = connection.execute(
            text(
                "SELECT relname FROM pg_class WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace"
                " AND relrowsecurity AND relforcerowsecurity"
            )
        )
        fenced = {row.relname for row in rows}
    assert fenced == {table.name for table in metadata.tables.values() if "gym_id" in table.c}


def test_the_service_owns_nothing_and_cannot_bypass_row_security(server) -> None:
    engine = create_engine(server.service_url)
    with engine.connect() as connection:
        who = connection.execute(
            text("SELECT rolsuper, rolbypassrls, rolcreaterole, rolcreatedb FROM pg_roles WHERE rolname = current_user")
        ).one()
        owned = connection.execute(
            text("SELECT count(*) FROM pg_class WHERE pg_get_userbyid(relowner) = current_user")
        ).scalar_one()
    engine.dispose()
    assert tuple(who) == (False, False, False, False)
    assert owned == 0


def test_without_a_gym_nothing_is_seen(server, gym) -> None:
    assert gym.client("coach").post("/v1/athletes", json={"name": "Seen by none"}).status_code == 201
    engine = create_engine(server.service_url)
    with engine.connect() as connection:
        for table in metadata.tables.values():
            if "gym_id" in table.c:
                assert connection.execute(text(f"SELECT count(*) FROM {table.name}")).scalar_one() == 0, table.name
    engine.dispose()


def test_a_query_that_forgets_its_gym_sees_its_own_rows_only(database: Database, gym, other_gym) -> None:
    for one in (gym, other_gym):
        assert one.client("coach").post("/v1/athletes", json={"name": "Somebody"}).status_code == 201
    with database.transaction(as_caller(gym.id), datetime.now(UTC)) as tx:
        seen = tx.execute(text("SELECT DISTINCT gym_id FROM athletes")).scalars().all()
    assert seen == [gym.id]


def test_a_row_cannot_be_written_for_another_gym(database: Database, gym, other_gym) -> None:
    with (
        pytest.raises(ProgrammingError, match="row-level security"),
        database.transaction(as_caller(gym.id), datetime.now(UTC)) as tx,
    ):
        tx.execute(
            text("INSERT INTO places (gym_id, id, name, kit) VALUES (:gym, gen_random_uuid(), 'Theirs', '{}')"),
            {"gym": other_gym.id},
        )


def test_a_row_cannot_point_into_another_gym(database: Database, gym, other_gym) -> None:
    theirs = other_gym.client("coach").post("/v1/athletes", json={"name": "Theirs"}).json()["id"]
    with pytest.raises(IntegrityError), database.transaction(as_caller(gym.id), datetime.now(UTC)) as tx:
        tx.execute(
            text("INSERT INTO athlete_states (gym_id, athlete_id) VALUES (:gym, :athlete)"),
            {"gym": gym.id, "athlete": theirs},
        )


def test_what_was_prescribed_cannot_be_changed_by_the_service(database: Database, gym) -> None:
    for table in ("template_versions", "prescriptions", "set_entries"):
        for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET created_at = now()"):
            with (
                pytest.raises(ProgrammingError, match="permission denied"),
                database.transaction(as_caller(gym.id), datetime.now(UTC)) as tx,
            ):
                tx.execute(text(statement))


def test_a_read_cannot_write(database: Database, gym) -> None:
    import anyio

    async def read() -> None:
        await database.read(as_caller(gym.id), datetime.now(UTC), lambda tx: tx.execute(text("DELETE FROM athletes")))

    with pytest.raises(Exception, match="read-only transaction"):
        anyio.run(read)
