"""Starting the embedded PostgreSQL, joining one that runs, and leaving it."""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import sys
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Self

from psycopg import sql
from sqlalchemy import URL

from service.embedded import account as accounts
from service.embedded import binaries, cluster
from service.embedded.cluster import ADMIN, Address, Cluster
from service.embedded.errors import EmbeddedError
from service.embedded.locks import Use, alone
from service.embedded.roles import SERVICE_ROLE, make_role, prepare_service_role

OWNER = "loadwright_owner"
DATABASE = "loadwright"


@dataclass(slots=True)
class Server:
    """A running PostgreSQL with the service's database and its two roles in it."""

    owner_url: str = field(repr=False)
    """For SQLAlchemy; owns the database, may make roles and databases, is no superuser."""
    service_url: str = field(repr=False)
    """For SQLAlchemy; owns nothing and cannot pass row security."""
    started_here: bool
    """False if it ran already: started by another process, or left by one that was killed."""
    address: Address
    _cluster: Cluster = field(repr=False)
    _use: Use = field(repr=False)

    def stop(self) -> None:
        """Leave the server; it is stopped unless another process uses it. A second call does nothing."""
        if self._use.ended:
            return
        with alone(self._cluster.data / "lock"):
            self._use.end()
            others = self._use.by_others()
            if others or (others is None and not self.started_here):
                cluster.disown(self.address.pid)
                return
            self._cluster.stop()
            if own := self.address.own_socket_folder:
                shutil.rmtree(own, ignore_errors=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()


def start(data: Path | None = None) -> Server:
    """Return the PostgreSQL of a data folder, made at the first call and started if it does not run.

    Takes about a second the first time and a tenth later; after a crash up to 120 s. Several processes may call
    it at once: one starts the server, the others join.

    Parameters
    ----------
    data : Path, optional
        Folder for everything that is kept; default: ``default_folder()``.

    Raises
    ------
    EmbeddedError
        If that is not possible; the message says why and what to do.
    """
    folder = (data or default_folder()).expanduser().absolute()
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        with alone(folder / "lock"):
            return _start(folder)
    except OSError as error:
        raise EmbeddedError(f"The data folder {folder} cannot be used: {error}") from error


def default_folder() -> Path:
    """Return the folder for the data of whoever runs this: by the system's custom, for root ``/var/lib/loadwright``."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "loadwright"
    if os.geteuid() == 0:
        return Path("/var/lib/loadwright")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "loadwright"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "loadwright"


def _start(folder: Path) -> Server:
    """Start or join, with the folder's lock held."""
    account = accounts.choose(folder)
    accounts.open_way(folder, account)
    existing = {
        int(found[1]) for path in folder.glob("pg*/PG_VERSION") if (found := re.fullmatch(r"pg(\d+)", path.parent.name))
    }
    programs = accounts.reachable(binaries.find(existing), folder, account)
    passwords = _passwords(folder, make=not existing)
    ours = Cluster(folder, programs, account, passwords[ADMIN])
    use = Use(folder / "in-use")
    try:
        ours.create()
        running = ours.running()
        address = running or ours.start()
        urls = {
            role: URL.create(
                "postgresql+psycopg", role, passwords[role],
                database=DATABASE, query={"host": address.host, "port": str(address.port)},
            ).render_as_string(hide_password=False)
            for role in (OWNER, SERVICE_ROLE)
        }  # fmt: skip
        _prepare(ours, address, passwords[OWNER])
        prepare_service_role(urls[OWNER], urls[SERVICE_ROLE])
    except BaseException:
        use.end()
        if not use.by_others():
            ours.stop()
        raise
    return Server(urls[OWNER], urls[SERVICE_ROLE], running is None, address, ours, use)


def _passwords(folder: Path, *, make: bool) -> dict[str, str]:
    """Return the password of each role, made up with the first cluster and kept where only its user can read it."""
    path, half = folder / "passwords.json", folder / "passwords.json.new"
    if path.exists():
        kept: dict[str, str] = json.loads(path.read_text("utf-8"))
        return kept
    if not make:
        raise EmbeddedError(f"{path} is missing, and with it the way into the database; restore it from a backup.")
    passwords = {role: secrets.token_urlsafe(32) for role in (ADMIN, OWNER, SERVICE_ROLE)}
    half.unlink(missing_ok=True)
    with os.fdopen(os.open(half, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as file:
        json.dump(passwords, file)
        file.flush()
        os.fsync(file.fileno())
    half.rename(path)
    return passwords


def _prepare(ours: Cluster, address: Address, owner_password: str) -> None:
    """Make the owner and its database, once."""
    with ours.connect(address) as admin:
        if admin.execute("SELECT 1 FROM pg_database WHERE datname = %s", [DATABASE]).fetchone():
            return
        make_role(admin, OWNER, owner_password, may=("CREATEROLE", "CREATEDB"))
        names = sql.Identifier(DATABASE), sql.Identifier(OWNER)
        admin.execute(sql.SQL("CREATE DATABASE {} OWNER {}").format(*names))
        admin.execute(sql.SQL("REVOKE ALL ON DATABASE {} FROM PUBLIC").format(names[0]))
        admin.execute(sql.SQL("GRANT CONNECT ON DATABASE {} TO PUBLIC").format(names[0]))
