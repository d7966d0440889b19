"""A real PostgreSQL in a folder: started, joined, killed, and found again with everything that was committed."""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psycopg
import pytest
from sqlalchemy import make_url
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg

from service import embedded
from service.embedded import EmbeddedError

ROOT = Path(__file__).parents[2]
ANOTHER_SERVICE = """
import sys, time
from pathlib import Path
from service import embedded
server = embedded.start(Path(sys.argv[1]))
print("started" if server.started_here else "joined", server.address.pid, flush=True)
sys.stdin.read()
server.stop()
"""


def make_folder(**name):
    """Make a folder outside pytest's own, which root's PostgreSQL account may not enter."""
    return Path(tempfile.mkdtemp(dir="/tmp", **name))


@pytest.fixture(scope="module")
def data():
    folder = make_folder()
    yield folder
    shutil.rmtree(folder)


def another_service(folder):
    return subprocess.Popen(
        [sys.executable, "-c", ANOTHER_SERVICE, str(folder)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip


def connect(url):
    """Connect as the service does, by the address."""
    (arguments, words) = PGDialect_psycopg().create_connect_args(make_url(url))
    return psycopg.connect(*arguments, **words)


def answer(url, question):
    with connect(url) as connection:
        return connection.execute(question).fetchone()[0]


def test_what_was_committed_is_there_at_the_next_start(data):
    with embedded.start(data) as server:
        assert server.started_here
        with connect(server.owner_url) as connection:
            connection.execute("CREATE TABLE kept AS SELECT 140.0 AS load_kg")
    with pytest.raises(psycopg.OperationalError):
        connect(server.owner_url)
    with embedded.start(data) as server:
        assert answer(server.owner_url, "SELECT load_kg FROM kept") == 140
        with connect(server.owner_url) as connection:
            connection.execute("DROP TABLE kept")


def test_it_listens_on_no_network_and_asks_for_a_password(data):
    with embedded.start(data) as server:
        assert answer(server.owner_url, "SHOW listen_addresses") == ""
        with pytest.raises(psycopg.OperationalError, match="password authentication failed"):
            connect(make_url(server.owner_url).set(password="guess").render_as_string(hide_password=False))
        assert (data / "passwords.json").stat().st_mode & 0o077 == 0


def test_neither_role_can_pass_row_security_and_the_service_owns_nothing(data):
    rights = "SELECT rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user"
    owned = (
        "SELECT count(*) FROM pg_shdepend JOIN pg_roles ON pg_roles.oid = refobjid "
        "WHERE deptype = 'o' AND rolname = current_user"
    )
    with embedded.start(data) as server:
        assert answer(server.owner_url, rights) is False
        assert answer(server.service_url, rights) is False
        assert answer(server.owner_url, owned) > 0  # so that the question can tell
        assert answer(server.service_url, owned) == 0
        with pytest.raises(psycopg.errors.InsufficientPrivilege), connect(server.service_url) as connection:
            connection.execute("CREATE TABLE mine ()")


def test_text_sorts_by_code_point_on_every_machine(data):
    with embedded.start(data) as server:
        assert answer(server.service_url, "SELECT string_agg(x, '' ORDER BY x) FROM unnest('{é,b,B,a}'::text[]) x") == (
            "Babé"
        )


def test_the_last_one_out_stops_the_server(data):
    first, second = embedded.start(data), embedded.start(data)
    assert (first.started_here, second.started_here) == (True, False)
    assert first.address == second.address
    first.stop()
    assert answer(second.service_url, "SELECT 1") == 1
    first.stop()
    second.stop()
    with pytest.raises(psycopg.OperationalError):
        connect(second.service_url)


def test_three_processes_at_once_share_one_server(data):
    services = [another_service(data) for _ in range(3)]
    said = [service.stdout.readline().split() for service in services]
    assert sorted(word for word, _ in said) == ["joined", "joined", "started"]
    assert len({pid for _, pid in said}) == 1
    for service in services:
        service.communicate("")
        assert service.returncode == 0
    assert not (data / "pg18" / "postmaster.pid").exists()


def test_a_killed_service_leaves_a_server_that_the_next_one_joins_and_stops(data):
    service = another_service(data)
    word, pid = service.stdout.readline().split()
    service.kill()
    service.communicate()
    server = embedded.start(data)
    assert (word, server.started_here, server.address.pid) == ("started", False, int(pid))
    server.stop()
    assert not (data / "pg18" / "postmaster.pid").exists()


def test_a_killed_server_comes_back_with_every_committed_row(data):
    killed = embedded.start(data)
    with connect(killed.owner_url) as connection:
        connection.execute("CREATE TABLE logged AS SELECT generate_series(1, 20000) AS set")
    os.kill(killed.address.pid, signal.SIGKILL)
    with embedded.start(data) as server:
        assert server.started_here
        assert answer(server.owner_url, "SELECT count(*) FROM logged") == 20000
    killed.stop()


def test_two_names_of_one_folder_are_one_server(data):
    other = make_folder() / "other"
    other.parent.chmod(0o711)
    other.symlink_to(data)
    with embedded.start(data) as server, embedded.start(other) as joined:
        assert not joined.started_here
        assert joined.address == server.address
    shutil.rmtree(other.parent)


def test_a_server_whose_working_folder_may_not_be_seen_is_joined(data, monkeypatch):
    def closed(*_):
        raise PermissionError

    with embedded.start(data) as server:
        monkeypatch.setattr(Path, "samefile", closed)  # as for root in a container
        with embedded.start(data) as joined:
            assert joined.address == server.address


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells what a process works on")
def test_a_process_number_that_is_another_programs_now_is_no_server(data):
    embedded.start(data).stop()
    record = f"{os.getpid()}\n{data / 'pg18'}\n1767225600\n5432\n{data / 'pg18'}\n\n  5432001   0\nready\n"
    (data / "pg18" / "postmaster.pid").write_text(record)
    begun = time.monotonic()
    with embedded.start(data) as server:
        assert server.started_here
    assert time.monotonic() - begun < 5


@pytest.mark.parametrize(
    "name",
    ["a b", "Gewichte é 重量", 'quoted "x", it\'s', "long-" + "x" * 115, "-D"],
    ids=["space", "not ASCII", "quotes", "long", "an option"],
)
def test_any_folder_name_works_and_data_may_be_moved(data, name):
    embedded.start(data).stop()
    parent = make_folder()
    parent.chmod(0o711)
    try:
        data.rename(parent / name)
        with embedded.start(parent / name) as server:
            assert answer(server.service_url, "SELECT 1") == 1
            with embedded.start(parent / name) as joined:  # by what the server itself wrote down
                assert answer(joined.service_url, "SELECT 1") == 1
        sockets = Path(server.address.host)
        assert sockets == parent / name / "pg18" or not sockets.exists()
    finally:
        (parent / name).rename(data)
        parent.rmdir()


def test_a_cluster_that_was_broken_off_half_way_is_made_again():
    folder = make_folder()
    try:
        (folder / "pg18.new").mkdir()
        (folder / "pg18.new" / "PG_VERSION").write_text("18")
        (folder / "initdb.password").write_text("left over")
        with embedded.start(folder) as server:
            assert answer(server.service_url, "SELECT 1") == 1
        assert not (folder / "pg18.new").exists()
        assert not (folder / "initdb.password").exists()
        (folder / "passwords.json").unlink()
        with pytest.raises(EmbeddedError, match=r"passwords\.json is missing"):
            embedded.start(folder)
    finally:
        shutil.rmtree(folder)


def test_data_of_another_major_version_is_left_alone_and_named():
    folder = make_folder()
    try:
        (folder / "pg15").mkdir()
        (folder / "pg15" / "PG_VERSION").write_text("15")
        with pytest.raises(EmbeddedError, match="written by PostgreSQL 15, but this is PostgreSQL 18"):
            embedded.start(folder)
    finally:
        shutil.rmtree(folder)


def test_a_server_that_cannot_start_says_why(data):
    embedded.start(data).stop()
    settings = data / "pg18" / "postgresql.conf"
    text = settings.read_text()
    settings.write_text(text + "\nwork_memory = 1\n")
    try:
        with pytest.raises(EmbeddedError, match='unrecognized configuration parameter "work_memory"'):
            embedded.start(data)
    finally:
        settings.write_text(text)


def test_a_data_folder_that_is_a_file_is_refused(tmp_path):
    (tmp_path / "data").write_text("")
    with pytest.raises(EmbeddedError, match="cannot be used"):
        embedded.start(tmp_path / "data")
