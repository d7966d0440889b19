"""Runs the migrations up, down and up again on an empty database, and compares them with the tables in the code."""

import shutil
import sys
import tempfile
from pathlib import Path

from sqlalchemy import create_engine, inspect, text

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from service import embedded
from service.store import migrate


def tables(url: str) -> list[str]:
    """Return the names of the tables that are there, less Alembic's own."""
    engine = create_engine(url)
    try:
        return sorted(set(inspect(engine).get_table_names()) - {"alembic_version"})
    finally:
        engine.dispose()


def functions(url: str) -> list[str]:
    """Return the functions that are there and belong to no extension."""
    engine = create_engine(url)
    query = """
        SELECT proname FROM pg_proc
        WHERE pronamespace = 'public'::regnamespace
          AND NOT EXISTS (SELECT FROM pg_depend WHERE objid = pg_proc.oid AND deptype = 'e')
        ORDER BY 1
    """
    try:
        with engine.connect() as connection:
            return list(connection.execute(text(query)).scalars())
    finally:
        engine.dispose()


def main() -> None:
    """Fail where something is left behind by the way down, or differs after the way up."""
    folder = Path(tempfile.mkdtemp(dir="/tmp"))  # root's PostgreSQL account can enter it
    try:
        with embedded.start(folder) as server:
            url = server.owner_url
            migrate.upgrade(url)
            first = tables(url), functions(url)
            migrate.downgrade(url)
            if left := tables(url) + functions(url):
                sys.exit(f"left behind by the way down: {', '.join(left)}")
            migrate.upgrade(url)
            if (tables(url), functions(url)) != first:
                sys.exit("the second way up makes other tables than the first")
            migrate.check(url)
    finally:
        shutil.rmtree(folder)
    print(f"{len(first[0])} tables up, down and up; no difference from the code")


if __name__ == "__main__":
    main()
