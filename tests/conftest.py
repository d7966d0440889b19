"""One migrated database per run; each test gets two gyms of its own and sees nothing else."""

from __future__ import annotations

import gc
import os
import shutil
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID

import pytest
from anyio.from_thread import start_blocking_portal
from fastapi import FastAPI
from sqlalchemy import Engine, create_engine
from starlette.testclient import TestClient

from service import embedded
from service.app import create_app
from service.store import gyms, keys, lifts, migrate
from service.store.ids import new_id
from service.store.session import Caller, Database, Tx

collect_ignore_glob = ["bench/*", "container/*"]  # programs, run by hand

gc.disable()  # what is collected stays to the end: looking through it again and again took a tenth of the run


def pytest_collection_finish() -> None:
    """Look for what is left behind from here on, among what the tests themselves make."""
    gc.freeze()
    gc.set_threshold(20_000, 20, 20)
    gc.enable()


@dataclass(frozen=True)
class Server:
    """The test run's PostgreSQL: as the owner of the tables, and as the service."""

    owner_url: str
    service_url: str


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A migrated database: an embedded one of this run, or the one that TEST_DATABASE_URLS names (owner, service)."""
    named = os.environ.get("TEST_DATABASE_URLS")
    if named:
        owner, service = named.split(",")
        migrate.upgrade(owner)
        yield Server(owner, service)
        return
    folder = Path(tempfile.mkdtemp(prefix="loadwright-tests-"))
    folder.chmod(0o711)  # as root the server runs as another account, which must be able to enter
    running = embedded.start(folder / "data")
    try:
        migrate.upgrade(running.owner_url)
        yield Server(running.owner_url, running.service_url)
    finally:
        running.stop()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def owner_engine(server: Server) -> Iterator[Engine]:
    """The owner's engine: makes gyms."""
    engine = create_engine(server.owner_url)
    yield engine
    engine.dispose()


@pytest.fixture(scope="session")
def database(server: Server) -> Iterator[Database]:
    """The service's way into the database."""
    made = Database(server.service_url, pool_size=8)
    yield made
    made.close()


@pytest.fixture(scope="session")
def app(database: Database) -> Iterator[FastAPI]:
    """The service. All its clients share an event loop, as those of a server do; one for each request takes longer
    than most answers."""
    with start_blocking_portal() as TestClient.portal:
        yield create_app(database)
    TestClient.portal = None


@dataclass(frozen=True)
class GymAtHand:
    """A gym with one key of each right, and a client for each."""

    id: UUID
    keys: dict[str, str]
    app: FastAPI

    def client(self, right: str = "coach") -> TestClient:
        """A client that sends this gym's key of a right."""
        return TestClient(
            self.app, headers={"Authorization": f"Bearer {self.keys[right]}"}, raise_server_exceptions=True
        )


def make_gym(owner_engine: Engine, app: FastAPI, *, unit: str = "kg", time_zone: str = "Europe/Oslo") -> GymAtHand:
    """Make a gym with the built-in lifts and a key of each right."""
    made = {}
    with owner_engine.begin() as connection:
        gym = gyms.add(connection, name=f"Gym {new_id().hex}", unit=unit, time_zone=time_zone)
        tx = Tx(connection, Caller(gym, "", "tests", "owner", None), datetime.now(UTC))
        lifts.add_built_in(tx)
        for right in ("read", "log", "coach", "owner"):
            made[right] = keys.add(tx, name=f"{right} key", right=right)[1].text
    return GymAtHand(gym, made, app)


@pytest.fixture(scope="session", name="make_gym")
def gym_maker():
    """The function that makes gyms, for fixtures that keep one longer than a test."""
    return make_gym


@pytest.fixture
def gym(owner_engine: Engine, app: FastAPI) -> GymAtHand:
    """The gym under test."""
    return make_gym(owner_engine, app)


@pytest.fixture
def other_gym(owner_engine: Engine, app: FastAPI) -> GymAtHand:
    """Another gym, which must see and change nothing of the first."""
    return make_gym(owner_engine, app)


@pytest.fixture
def coach(gym: GymAtHand) -> TestClient:
    """A client with a coach's key of the gym under test."""
    return gym.client("coach")
