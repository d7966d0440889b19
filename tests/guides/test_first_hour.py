"""The first hour, pasted curl by curl into a real service; each answer that the guide shows is the one that comes."""

from __future__ import annotations

import shutil

import pytest

from tests.guides import pasted
from tests.guides.pasted import Reader, Shell, served


def to_paste():
    """All steps but the two that make a key and name it; the test has a key."""
    return pasted.to_paste(pasted.source("first-hour"))


@pytest.mark.parametrize("curl", [True, False])
def test_the_first_hour_goes_as_its_guide_tells(app, gym, curl):
    if curl and shutil.which("curl") is None:
        pytest.skip("there is no curl here; the same is done without it")
    with served(app) as base:
        reader = Reader(Shell({"LW": f"{base}/v1", "K": f"Authorization: Bearer {gym.keys['owner']}"}, curl))
        for step in to_paste():
            reader.follow(step)


def test_nearly_every_call_of_the_guide_shows_its_answer():
    calls = [step for step in to_paste() if "curl" in step.command]
    assert len(calls) >= 19
    assert [step.command for step in calls if step.shown is None] == []


def test_a_wrong_answer_in_a_guide_is_found():
    reader = Reader(Shell())
    came = {"id": "01a21304-aab3-7dc5-9cd5-f4635b07804c", "loads": [102.5, 95], "at": "2026-03-02T18:10:00+01:00"}
    same = {**came, "id": "01a21304-0000-7dc5-9cd5-f4635b07804c", "at": "2026-03-03T18:10:00+01:00"}
    reader.same(same, came, "")
    reader.same({"loads": [102.5, "…"], "…": 0}, came, "")
    for wrong in (
        {**came, "loads": [100, 95]},
        {**came, "loads": [102.5]},
        {**came, "id": "01a21304-0000-7dc5-9cd5-000000000000", "of": 2},
        {"loads": [102.5, 95]},
    ):
        with pytest.raises(AssertionError):
            reader.same(wrong, came, "")
