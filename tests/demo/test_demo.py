"""The demo as a stranger runs it: a real server on a fresh data folder, and each line pasted into a shell."""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest
from pydantic import TypeAdapter

from service.api.parts import PartBody, ProgressionBody
from service.api.schemes import AddLoadBody, BackOffBody, SchemeBody, TopSetBody
from service.api.slots import SlotBody
from service.api.targets import EffortTargetBody, PercentTargetBody, TargetBody
from service.core.progressions.expand import expand
from service.demo import scenario, seed
from service.demo.client import Client
from service.store.plans import week_json
from tests.guides.pasted import Reader, Shell, served, steps

ROOT = Path(__file__).parents[2]
LAST_LINE = "# 6."


@dataclass(frozen=True)
class Told:
    """What a demo printed, while it goes on serving."""

    text: str
    process: subprocess.Popen[str]

    @property
    def key(self):
        return re.search(r"^  (lw_\w+)$", self.text, re.MULTILINE)[1]

    @property
    def lines(self):
        return re.findall(r"^curl .*$", self.text, re.MULTILINE)

    def answer(self, number):
        """What is printed under a line, less its indent."""
        after = self.text.split(self.lines[number - 1])[1].split("\n# ")[0]
        return "\n".join(line[2:] for line in after.strip("\n").splitlines())

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        self.process.communicate(timeout=30)
        assert self.process.returncode == 0


def start(data):
    environment = {name: value for name, value in os.environ.items() if not re.match("DATABASE_URL|LOADWRIGHT_", name)}
    process = subprocess.Popen(
        [sys.executable, "-m", "service", "demo"],
        cwd=ROOT, env={**environment, "LOADWRIGHT_DATA": str(data), "LOADWRIGHT_PORT": "0"},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    text = ""
    for line in process.stdout:
        text += line
        if LAST_LINE in text and line == "\n" and text.rstrip().endswith("}"):
            return Told(text, process)
    raise AssertionError(f"the demo ended: {text}{process.communicate()[1]}")


@pytest.fixture(scope="module")
def data():
    folder = Path(tempfile.mkdtemp(prefix="loadwright-demo-"))
    folder.chmod(0o711)  # as root the server runs as another account, which must be able to enter
    yield folder / "data folder"
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="module")
def first(data):
    told = start(data)
    yield told
    if told.process.poll() is None:
        told.stop()


def without_port(text):
    return re.sub(r"127\.0\.0\.1:\d+", "…", text)


def test_six_lines_are_printed_and_each_answers_what_stands_under_it(first):
    assert len(first.lines) == 6
    for number, line in enumerate(first.lines, 1):
        came = Shell().paste(line)
        if number == 1:
            continue  # the board has one more set now: the one of line 2
        told = first.answer(number)
        really = json.dumps(json.loads(came), ensure_ascii=False)
        for member in re.findall(r'"\w+": (?:"(?:[^"\\]|\\.)*"|[-\d.]+)', told):
            assert member in really, f"line {number}: {member}"


def test_the_lines_work_without_curl_too(first):
    for line in first.lines:
        assert Shell(curl=False).paste(line)


def test_the_board_is_of_today_and_in_the_middle_of_training(first):
    board = first.answer(1)
    assert re.match(r"Squat - \w+day \d+ \w+ \d{4}, Old sawing shed \(open\)", board)
    assert "warm-up   20 kg" in board
    assert "top set" in board


def test_the_first_calls_of_the_readme_answer_what_it_shows(first):
    base = re.search(r"http://[\d.:]+", first.lines[0])[0]
    reader = Reader(Shell({"LW": f"{base}/v1", "K": f"Authorization: Bearer {first.key}"}))
    calls = [step for step in steps((ROOT / "README.md").read_text("utf-8")) if step.command.startswith("curl")]
    assert len(calls) == 3
    assert reader.follow(calls[0]).startswith("Squat - ")
    for step in calls[1:]:
        assert step.kind == "json"
        reader.follow(step)


def test_the_second_line_pasted_again_stores_nothing_twice(first):
    path = re.search(r"/v1(/sessions/[\w-]+)/sets", first.lines[1])
    base = re.search(r"http://[\d.:]+", first.lines[0])[0]
    client = Client(base, first.key)
    before = client.get(f"{path[1]}/sets?limit=200")["items"]
    assert Shell().paste(first.lines[1]) == Shell().paste(first.lines[1])
    assert client.get(f"{path[1]}/sets?limit=200")["items"] == before
    client.close()


def test_a_second_start_finds_everything_and_prints_the_same(data, first):
    base = re.search(r"http://[\d.:]+", first.lines[0])[0]
    client = Client(base, first.key)
    sets = [client.get(f"/athletes/ref:{one.ref}/sets?limit=200") for one in scenario.PEOPLE]
    client.close()
    kept = data / "demo-key"
    assert kept.stat().st_mode & 0o077 == 0
    first.stop()
    again = start(data)
    try:
        assert again.key == first.key
        assert [without_port(line) for line in again.lines] == [without_port(line) for line in first.lines]
        assert [again.answer(number) for number in range(2, 6)] == [first.answer(number) for number in range(2, 6)]
        client = Client(re.search(r"http://[\d.:]+", again.lines[0])[0], again.key)
        assert [client.get(f"/athletes/ref:{one.ref}/sets?limit=200") for one in scenario.PEOPLE] == sets
        client.close()
    finally:
        again.stop()


def test_a_port_that_is_taken_is_told_with_the_setting_to_change(tmp_path):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        done = subprocess.run(
            [sys.executable, "-m", "service", "demo"],
            cwd=ROOT, env={**os.environ, "LOADWRIGHT_DATA": str(tmp_path), "LOADWRIGHT_PORT": port},
            check=False, capture_output=True, text=True,
        )  # fmt: skip
    assert done.returncode == 2
    assert "LOADWRIGHT_PORT=8001" in done.stderr
    assert done.stdout == ""


@pytest.fixture(scope="module")
def weeks_later(app, owner_engine, make_gym):
    """A gym as a demo left it 40 days ago, brought up to date by one that starts now; it is only read."""
    gym = make_gym(owner_engine, app)
    now = datetime.now(UTC)
    with served(app) as base:
        for at in (now - timedelta(days=40), now):
            seed.seed(base, gym.keys["owner"], seed.moment(at), lambda _done, _total: None)
        client = Client(base, gym.keys["owner"])
        yield client, seed.moment(now)
        client.close()


def sessions_of(client, person):
    return client.get(f"/athletes/ref:{person.ref}/sessions?limit=200")["items"]


def test_a_demo_of_weeks_ago_is_brought_up_to_date(weeks_later):
    client, at = weeks_later
    for person in scenario.PEOPLE:
        found = sessions_of(client, person)
        assert {one["state"] for one in found if one["date"] < at.day(0)} == {"finished"}, person.ref
        assert [one for one in found if one["date"] > at.day(0) and one["state"] == "planned"], person.ref
        assert client.get(f"/athletes/ref:{person.ref}/sets?limit=1")["items"], person.ref
    states = [one["state"] for one in sessions_of(client, scenario.LEAD) if one["date"] == at.day(0)]
    assert "open" in states


def test_the_log_has_what_makes_a_log_real(weeks_later):
    client, _ = weeks_later
    sets = [
        one for person in scenario.PEOPLE for one in client.get(f"/athletes/ref:{person.ref}/sets?limit=200")["items"]
    ]
    assert [one["lift"] for one in sets if not one["made"]] == ["deadlift"]
    assert {one["lift"] for one in sets if one["pain"] == "some"} == {"pause-squat"}
    assert [one for one in sets if one["rpe"] is None and one["role"] == "top_set" and one["made"]]
    assert {one["load"]["unit"] for one in sets if one["load"]} == {"kg", "lb"}
    doubted = [(one["lift"], one["doubt"]["code"]) for one in sets if one["doubt"] is not None]
    assert set(doubted) == {("deadlift", "pounds_as_kilograms")}
    (decision,) = client.get(f"/athletes/ref:{scenario.IN_POUNDS.ref}/overrides")["items"]
    assert decision["kind"] == "cap"
    dropped = [one["lift"] for one in sets if one["method"] == "drop_set"]
    assert set(dropped) == {"bench-press"}
    assert {one["method"] for one in sets} == {"straight", "drop_set", "cluster", "complex", "carry"}
    climbed = [one for one in sets if one["lift"] == "hip-thrust"]
    assert climbed, "a ladder was climbed"
    assert all(one["rir"] is not None for one in climbed)


def test_a_group_its_note_and_an_absence_are_there(weeks_later):
    client, _ = weeks_later
    members = client.get(f"/groups/ref:{scenario.GROUP}/athletes")["items"]
    assert {one["ref"] for one in members} == set(scenario.MEMBERS)
    (note,) = client.get(f"/groups/ref:{scenario.GROUP}/notes")["items"]
    assert note["text"] == scenario.NOTE
    (away,) = client.get(f"/athletes/ref:{scenario.AWAY}/absences")["items"]
    assert away["kind"] == "holiday"


def kinds_in(value, word):
    """The kinds of all members with a name, however deep they stand."""
    if isinstance(value, list):
        return {kind for one in value for kind in kinds_in(one, word)}
    if not isinstance(value, dict):
        return set()
    own = value.get(word, [])
    found = {one["kind"] for one in (own if isinstance(own, list) else [own])}
    return found | {kind for one in value.values() for kind in kinds_in(one, word)}


def members_in(value):
    """The names of all members, however deep they stand."""
    if isinstance(value, list):
        return {name for one in value for name in members_in(one)}
    return (
        set(value) | {name for one in value.values() for name in members_in(one)} if isinstance(value, dict) else set()
    )


def kinds_of(union):
    return {get_args(one.model_fields["kind"].annotation)[0] for one in get_args(get_args(union)[0])}


def test_one_template_has_everything_that_can_be_written():
    template = scenario.TEMPLATES["everything"]
    assert kinds_in(template, "scheme") == kinds_of(SchemeBody)
    assert kinds_in(template, "target") == kinds_of(TargetBody)
    assert kinds_in(template, "progressions") == kinds_of(ProgressionBody)
    parts = TypeAdapter(list[PartBody]).validate_python(template["parts"])
    weeks = [week_json(week) for week in expand([part.record() for part in parts])]
    named = members_in(template) | members_in(weeks)  # lighter weeks have what nobody writes by hand
    for body in (SlotBody, BackOffBody, AddLoadBody, TopSetBody, PercentTargetBody, EffortTargetBody):
        assert set(body.model_fields) - named <= {"note", "support", "rest_seconds"}, body.__name__
    bases = {one["basis"] for one in targets_in(template) if one["kind"] == "percent"}
    assert bases == set(get_args(PercentTargetBody.model_fields["basis"].annotation))
    assert max(one["percent"] for one in targets_in(template) if one["kind"] == "percent") > 100
    assert "test" in {one["kind"] for part in template["parts"] for one in part["week"]["sessions"] if "kind" in one}


def targets_in(template):
    return [slot["target"] for part in template["parts"] for one in part["week"]["sessions"] for slot in one["slots"]]
