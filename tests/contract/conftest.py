"""One of everything in a gym: for each test anew, or once for all the requests that may spoil it."""

from __future__ import annotations

import pytest

from tests.contract.world import build


@pytest.fixture
def world(gym):
    return build(gym.client("coach"), gym.client("owner"))


@pytest.fixture(scope="session")
def any_world(owner_engine, app, make_gym):
    gym = make_gym(owner_engine, app)
    return gym, build(gym.client("coach"), gym.client("owner"))
