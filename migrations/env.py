"""Runs the migrations as the owner's role, never as the service's."""

from __future__ import annotations

from alembic import context
from sqlalchemy import create_engine, pool, text

from service.store.tables import metadata


def run() -> None:
    """Migrate the database named by the caller (`attributes["url"]`) inside one transaction."""
    url = context.config.attributes.get("url") or context.config.get_main_option("sqlalchemy.url")
    if not url:
        raise SystemExit("no database named: run `loadwright migrate`")
    engine = create_engine(url, poolclass=pool.NullPool)
    with engine.connect() as connection:
        # two first starts at once: the second waits, and then finds nothing to do
        connection.execute(text("SELECT pg_advisory_lock(hashtext('loadwright migrations'))"))
        connection.commit()
        context.configure(connection=connection, target_metadata=metadata, transaction_per_migration=True)
        with context.begin_transaction():
            context.run_migrations()
    engine.dispose()


run()
