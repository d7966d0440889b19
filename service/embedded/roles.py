"""The roles that the service works with: an owner of the tables, and one that owns nothing."""

from __future__ import annotations

from contextlib import suppress
from typing import Any, LiteralString

import psycopg
from psycopg import sql
from psycopg.errors import DuplicateObject, UniqueViolation
from sqlalchemy import URL, make_url

from service.embedded.binaries import OLDEST
from service.embedded.errors import EmbeddedError

SERVICE_ROLE = "loadwright_service"  # migrations grant to it; the role of DATABASE_URL is it, or a member of it


def prepare_service_role(owner_url: str, service_url: str) -> None:
    """Make the role of the service's address, as the owner, if the server does not have it yet.

    A role that exists is left as it is, its password too. If it is not called ``loadwright_service`` it is made a
    member of that. Where both addresses name the same role, or the owner may not make roles and need not, nothing
    is done.

    Raises
    ------
    EmbeddedError
        If the server is too old, or the database does not hold UTF-8.
    psycopg.Error
        If a role is missing and the owner may not make it.
    """
    owner, service = make_url(owner_url), make_url(service_url)
    with connect(owner) as connection:
        version, encoding = connection.info.server_version, connection.info.parameter_status("server_encoding")
        if version < OLDEST * 10_000:
            raise EmbeddedError(f"This is PostgreSQL {version // 10_000}; PostgreSQL {OLDEST} or newer is needed.")
        if encoding != "UTF8":
            raise EmbeddedError(
                f"The database {owner.database} holds {encoding}, not UTF-8. "
                f"Make one with CREATE DATABASE … ENCODING 'UTF8' TEMPLATE template0."
            )
        make_role(connection, SERVICE_ROLE, service.password if service.username == SERVICE_ROLE else None)
        if service.username in {owner.username, SERVICE_ROLE} or service.username is None:
            return
        make_role(connection, service.username, service.password)
        member = "SELECT pg_has_role(%s, %s, 'usage')"
        if not _yes(connection, member, service.username, SERVICE_ROLE):
            names = sql.Identifier(SERVICE_ROLE), sql.Identifier(service.username)
            connection.execute(sql.SQL("GRANT {} TO {}").format(*names))


def make_role(
    connection: psycopg.Connection, name: str, password: str | None, *, may: tuple[LiteralString, ...] = ()
) -> None:
    """Make a role that can do nothing but log in, and not even that without a password.

    The password is sent as the verifier that the server keeps, so that no log can hold it. ``may`` adds rights
    such as ``CREATEROLE``.
    """
    if _yes(connection, "SELECT count(*) > 0 FROM pg_roles WHERE rolname = %s", name):
        return
    login: sql.Composable = sql.SQL("NOLOGIN")
    if password:
        verifier = connection.pgconn.encrypt_password(password.encode(), name.encode(), b"scram-sha-256")
        login = sql.SQL("LOGIN PASSWORD {}").format(sql.Literal(verifier.decode()))
    rights = sql.SQL(" ").join(sql.SQL(right) for right in ("NOSUPERUSER", "NOBYPASSRLS", *may))
    with suppress(DuplicateObject, UniqueViolation):  # another process was faster
        connection.execute(sql.SQL("CREATE ROLE {} {} {}").format(sql.Identifier(name), rights, login))


def connect(url: URL) -> psycopg.Connection:
    """Return a connection by an address of SQLAlchemy's; every statement commits by itself."""
    words: dict[str, Any] = url.translate_connect_args(username="user", database="dbname")
    for name, value in url.query.items():
        words[name] = value if isinstance(value, str) else ",".join(value)
    return psycopg.connect(**words, autocommit=True)


def _yes(connection: psycopg.Connection, question: LiteralString, *values: str) -> bool:
    row = connection.execute(question, values).fetchone()
    return bool(row and row[0])
