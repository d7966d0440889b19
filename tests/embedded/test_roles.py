"""The service's role on a server that is named by address."""

import shutil
import tempfile
from pathlib import Path

import pytest
from sqlalchemy import make_url

from service import embedded
from service.embedded import EmbeddedError
from service.embedded.roles import SERVICE_ROLE, connect


@pytest.fixture(scope="module")
def server():
    folder = Path(tempfile.mkdtemp(dir="/tmp"))
    with embedded.start(folder) as server:
        yield server
    shutil.rmtree(folder)


def as_role(url, name, password):
    return make_url(url).set(username=name, password=password).render_as_string(hide_password=False)


def test_a_role_by_another_name_is_made_and_made_a_member(server):
    url = as_role(server.service_url, "coach's app", "pa/ss@word'")
    for _ in range(2):  # the second finds it there
        embedded.prepare_service_role(server.owner_url, url)
    with connect(make_url(url)) as connection:
        member = (
            "SELECT pg_has_role(current_user, %s, 'usage'), rolsuper OR rolbypassrls OR rolcreaterole FROM pg_roles"
        )
        assert connection.execute(f"{member} WHERE rolname = current_user", [SERVICE_ROLE]).fetchone() == (True, False)


def test_a_role_that_exists_keeps_its_password(server):
    embedded.prepare_service_role(server.owner_url, as_role(server.service_url, SERVICE_ROLE, "another"))
    connect(make_url(server.service_url)).close()


def test_a_database_that_does_not_hold_utf_8_is_refused(server):
    with connect(make_url(server.owner_url)) as connection:
        connection.execute(
            "CREATE DATABASE old ENCODING 'SQL_ASCII' TEMPLATE template0 LOCALE 'C' LOCALE_PROVIDER libc"
        )
    url = make_url(server.owner_url).set(database="old").render_as_string(hide_password=False)
    with pytest.raises(EmbeddedError, match="The database old holds SQL_ASCII, not UTF-8"):
        embedded.prepare_service_role(url, url)


def test_one_address_for_both_is_left_alone(server):
    embedded.prepare_service_role(server.owner_url, server.owner_url)
    connect(make_url(server.owner_url)).close()
