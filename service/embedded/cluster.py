"""One cluster of databases: made, started, found running, stopped.

What is run here relies on PostgreSQL's manual: the lines of ``postmaster.pid`` (pid, folder, time, port, socket
folder, address, shared memory, state), the limit of 107 bytes for the path of a socket (103 on macOS), and a "fast"
stop, which ends sessions and loses nothing that was committed.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

import psycopg

from service.embedded.account import Account
from service.embedded.binaries import Binaries
from service.embedded.errors import EmbeddedError

ADMIN = "loadwright_admin"  # the role that initdb makes; it makes the other two and is not used again
PORT = 5432  # of a socket in a folder of its own, so that it cannot clash
SOCKET_PATH_BYTES = 103
READY_WITHIN = 120.0  # a server that was killed first reads its log again [s]
OLD_MEMORY_WITHIN = 15.0  # children of a killed server need a moment to notice [s]
LOG_BYTES = 10_000_000

_children: dict[int, subprocess.Popen[bytes]] = {}  # started here, to be waited for when they end


@dataclass(frozen=True, slots=True)
class Address:
    """Where a running server listens."""

    pid: int
    host: str
    port: int

    @property
    def own_socket_folder(self) -> Path | None:
        """Return the folder that was made for the socket alone, if one was."""
        folder = Path(self.host)
        return folder if folder.name.startswith("loadwright-") and folder.is_dir() else None


@dataclass(frozen=True, slots=True)
class Cluster:
    """A cluster in ``<data>/pg<major>``, the programs that serve it and the account they run as."""

    data: Path
    binaries: Binaries
    account: Account
    password: str

    @property
    def folder(self) -> Path:
        """Return the cluster's own folder."""
        return self.data / f"pg{self.binaries.major}"

    @property
    def log(self) -> Path:
        """Return the file that the server writes its messages to."""
        return self.data / f"{self.folder.name}.log"

    def create(self) -> None:
        """Make the cluster if there is none; one that was broken off half way is made again from nothing."""
        if (self.folder / "PG_VERSION").exists():
            return
        half, secret = self.data / f"{self.folder.name}.new", self.data / "initdb.password"
        shutil.rmtree(half, ignore_errors=True)
        half.mkdir(mode=0o700)
        self.account.take(half)
        secret.unlink(missing_ok=True)
        try:
            with os.fdopen(os.open(secret, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w") as file:
                file.write(self.password)
            self.account.take(secret)
            order = ("--locale-provider=builtin", "--builtin-locale=C.UTF-8") if self.binaries.major > 16 else ()
            self._run(
                "initdb", "-D", str(half), "-U", ADMIN, f"--pwfile={secret}", "--auth=scram-sha-256",
                "--encoding=UTF8", "--locale=C", *order, "--data-checksums", "--no-instructions",
            )  # fmt: skip
        finally:
            secret.unlink(missing_ok=True)
        half.rename(self.folder)

    def running(self) -> Address | None:
        """Return where the cluster's server listens, waiting while it starts; None if there is none."""
        give_up = time.monotonic() + READY_WITHIN
        while (lines := self._pid_file()) and (pid := int(lines[0])) and self._alive(pid):
            address = self._ready(lines)
            if address:
                return address
            if time.monotonic() > give_up:
                raise EmbeddedError(
                    f"The PostgreSQL with process id {pid} on {self.folder} has not answered within "
                    f"{READY_WITHIN:g} s. Its messages are in {self.log}:\n{self._messages()}"
                )
            time.sleep(0.02)
        return None

    def start(self) -> Address:
        """Start the server and wait until it answers.

        Raises
        ------
        EmbeddedError
            With the server's last messages, if it ends or does not answer within 120 s.
        """
        begun = time.monotonic()
        while True:
            child = self._launch()
            while child.poll() is None:
                lines = self._pid_file()
                address = self._ready(lines) if lines and int(lines[0]) == child.pid else None
                if address:
                    return address
                if time.monotonic() > begun + READY_WITHIN:
                    self.stop()
                    raise EmbeddedError(f"PostgreSQL did not answer in time. Its messages:\n{self._messages()}")
                time.sleep(0.01)
            said = self._messages()
            if "shared memory block" not in said or time.monotonic() > begun + OLD_MEMORY_WITHIN:
                raise EmbeddedError(f"PostgreSQL did not start. Its messages, from {self.log}:\n{said}")
            time.sleep(0.2)

    def stop(self) -> None:
        """Stop the server if it runs; what was committed stays."""
        lines = self._pid_file()
        if lines and self._alive(int(lines[0])):
            self._run("pg_ctl", "stop", "-D", str(self.folder), "-m", "fast", "-w", "-t", "60", "-s")
            child = _children.pop(int(lines[0]), None)
            if child:
                child.wait()

    def connect(self, address: Address, database: str = "postgres") -> psycopg.Connection:
        """Return a connection as the role that made the cluster; every statement commits by itself."""
        return psycopg.connect(
            host=address.host, port=address.port, dbname=database, user=ADMIN, password=self.password,
            connect_timeout=5, autocommit=True,
        )  # fmt: skip

    def _launch(self) -> subprocess.Popen[bytes]:
        """Run the server in a session of its own, so that Ctrl-C reaches the service first."""
        if self.log.exists() and self.log.stat().st_size > LOG_BYTES:
            self.log.replace(self.log.with_suffix(".log.1"))
        if sys.platform == "win32":
            host, port, sockets = "127.0.0.1", _free_port(), ""
        else:
            host, port, sockets = "", PORT, f'"{self._socket_folder()}"'
        values = {
            "listen_addresses": host,
            "port": port,
            "unix_socket_directories": sockets,
            "unix_socket_permissions": "0700",
            "timezone": "UTC",
            "log_timezone": "UTC",
        }
        command = [self.binaries.program("postgres"), "-D", str(self.folder)]
        for name, value in values.items():
            command += ["-c", f"{name}={value}"]
        with os.fdopen(os.open(self.log, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600), "wb") as log:
            child = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, cwd="/", env=_environment(),
                start_new_session=True, **self.account.run_as(),
            )  # fmt: skip
        _children[child.pid] = child
        return child

    def _socket_folder(self) -> Path:
        """Return the folder for the socket: the cluster's, or one of its own where that name cannot be used."""
        path = str(self.folder)
        if len(os.fsencode(path)) + len(f"/.s.PGSQL.{PORT}") <= SOCKET_PATH_BYTES and '"' not in path:
            return self.folder
        lines = self._pid_file()  # of a server that was killed
        if lines and (left := Address(0, lines[4], PORT).own_socket_folder):
            shutil.rmtree(left, ignore_errors=True)
        folder = Path(tempfile.mkdtemp(prefix="loadwright-", dir="/tmp"))  # a short name, made 0700
        self.account.take(folder)
        return folder

    def _pid_file(self) -> list[str]:
        """Return the lines of the server's own record, or nothing while there is none or it is not whole."""
        try:
            lines = (self.folder / "postmaster.pid").read_text("utf-8").splitlines()
        except FileNotFoundError:
            return []
        return lines if len(lines) >= 5 and lines[0].isdigit() else []

    def _alive(self, pid: int) -> bool:
        """Tell whether the process is a server on this cluster; after a crash its number may be another's."""
        if self._works_here(pid):
            return True
        child = _children.pop(pid, None)
        if child:
            child.wait()
        return False

    def _works_here(self, pid: int) -> bool:
        if sys.platform == "linux" and Path("/proc/self").exists():
            if _serves(pid, self.folder):
                return True
            (self.folder / "postmaster.pid").unlink(missing_ok=True)  # or PostgreSQL takes that process for a server
            return False
        child = _children.get(pid)
        if child and child.poll() is not None:
            return False
        return bool(self._ready(self._pid_file())) if os.name == "nt" else _exists(pid)

    def _ready(self, lines: list[str]) -> Address | None:
        """Return the address if the record says ready and a connection succeeds."""
        if len(lines) < 8 or lines[7].strip() != "ready":
            return None
        address = Address(int(lines[0]), lines[4] or lines[5], int(lines[3]))
        try:
            self.connect(address).close()
        except psycopg.OperationalError as error:
            if "password authentication failed" in str(error):
                raise EmbeddedError(
                    f"The passwords in {self.data} are not those of the database in {self.folder}; "
                    f"both must come from the same backup."
                ) from error
            return None
        return address

    def _messages(self) -> str:
        """Return the last lines that the server wrote."""
        with suppress(OSError):
            return "\n".join(self.log.read_text("utf-8", errors="replace").splitlines()[-12:])
        return ""

    def _run(self, program: str, *arguments: str) -> None:
        """Run one of PostgreSQL's programs as the account; what it said goes into the refusal."""
        done = subprocess.run(
            [self.binaries.program(program), *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, cwd="/", env=_environment(), check=False, **self.account.run_as(),
        )  # fmt: skip
        if done.returncode:
            raise EmbeddedError(f"{program} failed:\n{done.stdout.decode(errors='replace').strip()}")


def disown(pid: int) -> None:
    """Leave a server that was started here to the processes that still use it."""
    child = _children.pop(pid, None)
    if child:
        child.returncode = 0  # nobody waits for it any more


def _serves(pid: int, folder: Path) -> bool:
    """Tell whether a process of Linux is a PostgreSQL whose working folder, as a server's always is, is the cluster."""
    process = Path(f"/proc/{pid}")
    try:
        return process.joinpath("comm").read_text() == "postgres\n" and process.joinpath("cwd").samefile(folder)
    except PermissionError:
        return True  # in a container root may not see the folder of another account's process; the name must do
    except OSError:
        return False  # ended


def _exists(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except OSError:
        return False
    return True


def _environment() -> dict[str, str]:
    """Return the environment for PostgreSQL's programs: nothing that bends them, messages in English."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PG", "LC_", "LANG"))}
    return kept | {"LC_ALL": "C"}


def _free_port() -> int:
    with closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
