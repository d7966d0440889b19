"""Two gyms with one of everything in the first, for the whole of these tests."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import pytest


def load(name: str):
    """Import a module that stands beside the tests (which are no package)."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).parent / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def world(gym):
    return load("world").build(gym.client("coach"), gym.client("owner"))
