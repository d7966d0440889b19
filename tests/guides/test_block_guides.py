"""One block through three guides, pasted curl by curl into a real service; each answer that they show is what comes."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from typing import Any, get_args

import pytest

from service.api.operations import OperationBody
from service.api.parts import ProgressionBody
from service.api.replans import ReplanBody
from service.api.schemes import SchemeBody
from service.api.targets import TargetBody
from service.core.progressions.numbers import Member
from tests.guides.pasted import FOLLOWED, KEY, Reader, Shell, Step, served, source, to_paste

GUIDES = FOLLOWED[1]
WRITING, CHANGING, RETURNING = map(source, GUIDES)


class Followed:
    """The guides so far, in one gym: each stands on those before it."""

    def __init__(self, reader: Reader) -> None:
        self.reader = reader
        self.done = 0

    def up_to(self, guide: str) -> None:
        """Follow what has not been followed yet."""
        for name in GUIDES[self.done : GUIDES.index(guide) + 1]:
            self.done += 1  # also where it fails: nothing is pasted twice
            for step in to_paste(source(name)):
                self.reader.follow(step)


@pytest.fixture(scope="module")
def followed(owner_engine: Any, app: Any, make_gym: Any) -> Iterator[Followed]:
    """A reader who begins with the first of the guides."""
    if shutil.which("curl") is None:
        pytest.skip("there is no curl here, and these guides are for shells that have it")
    gym = make_gym(owner_engine, app)
    key = gym.client("owner").post("/v1/keys", json={"name": KEY, "right": "coach"}).json()["key"]
    with served(app) as base:
        yield Followed(Reader(Shell({"LW": f"{base}/v1", "K": f"Authorization: Bearer {key}"})))


@pytest.mark.parametrize("guide", GUIDES)
def test_the_block_goes_as_its_guide_tells(followed: Followed, guide: str) -> None:
    followed.up_to(guide)


@pytest.mark.parametrize("guide", GUIDES)
def test_each_call_that_is_not_in_a_loop_shows_its_answer(guide: str) -> None:
    calls = [step for step in to_paste(source(guide)) if "curl" in step.command and "; do" not in step.command]
    assert len(calls) >= 10
    assert [step.command for step in calls if step.shown is None] == []


def words_in_table(text: str, header: str) -> set[str]:
    """The words in code in the first column of a table."""
    rows = text.partition(f"| {header} | ")[2].split("\n\n")[0].splitlines()[2:]
    return {row.split("|")[1].strip().strip("`") for row in rows}


def kinds(union: Any) -> set[str]:
    """The words that tell the members of a union of bodies apart."""
    return {get_args(one.model_fields["kind"].annotation)[0] for one in get_args(get_args(union)[0])}


def test_the_tables_have_every_scheme_target_progression_operation_and_way() -> None:
    assert words_in_table(WRITING, "scheme") == kinds(SchemeBody)
    assert words_in_table(WRITING, "target") == kinds(TargetBody)
    assert words_in_table(WRITING, "progression") == kinds(ProgressionBody)
    assert words_in_table(CHANGING, "operation") == kinds(OperationBody)
    assert words_in_table(RETURNING, "way") == set(get_args(ReplanBody.model_fields["kind"].annotation))
    (row,) = re.findall(r"^\| `each_week` \| (.*) \|$", WRITING, re.MULTILINE)
    assert set(re.findall(r"`(\w+)`", row)) == set(get_args(Member))


def test_what_the_guides_show_can_be_worked_out_by_hand() -> None:
    # Six sets times 85 %: 5.1, five.
    assert round(6 * 0.85) == 5
    assert "6 sets of 4 at 82.5 % of the tested max becomes 5 sets of 4" in WRITING
    # Week 7 is the third of the second part: 77.5 and twice 2.5 %.
    assert 77.5 + 2 * 2.5 == 82.5
    # Kaia is the 21st of the list: 44 + 21 = 65 kg; 70 % of that is 45.5 kg, 100.3 lb, and 45 + 2 x 27.5 = 100 hangs.
    assert f"--name {KEY}" in WRITING
    names = WRITING.partition("for name in ")[2].partition("; do")[0].replace("\\\n", " ").split()
    assert (len(names), names.index("Kaia") + 1) == (40, 21)
    assert round(0.7 * (44 + 21) / 0.45359237, 1) == 100.3
    assert re.search(r"set +100 lb +x 5 +each side: 25 2\.5 +.*= 45\.4 kg", CHANGING)
    # 18 days: 11 of them after the first week, 1.5 % for each seven of these, 3 % by the coach's rule; and back in half
    # of 18 days, which is 9, or in 14: the 17th and the 22nd, counted from the 8th.
    assert f"{1.5 * 11 / 7:.2f}" == "2.36"
    assert '{"date": "2026-04-08", "less_percent": 2.36, "sets_percent": 67}' in RETURNING
    assert "loads start 2.4 % lighter and 67 % of the work sets are done; from 17 April 2026 on" in RETURNING
    assert f"{3 * 11 / 7:.1f}" == "4.7"
    assert "loads start 4.7 % lighter and 67 % of the work sets are done; from 22 April 2026 on" in RETURNING
    # Three work sets, two thirds of them: two.
    assert '"sets": 2,\n          "usual_sets": 3' in RETURNING


def test_a_loop_is_one_command_of_the_shell(tmp_path: Any) -> None:
    shell = Shell({"HOME": str(tmp_path)})
    told = shell.paste("n=2\nfor word in a \\\n  b; do\n  n=$((n + 1))\n  echo $word $n\ndone\necho 'after\nit'")
    assert told == "a 3\nb 4\nafter\nit\n"


def test_what_was_cut_at_the_beginning_of_a_list_is_found_at_its_end() -> None:
    reader = Reader(Shell())
    shown = '{"sets": [\n  …,\n  {"role": "top_set", …},\n  {"role": "back_off", …}\n], …}'
    came = '{"sets": [{"role": "warm_up", "n": 1}, {"role": "top_set", "n": 2}, {"role": "back_off", "n": 3}], "x": 1}'
    reader.follow(Step(f"echo '{came}'", "json", shown))
    with pytest.raises(AssertionError):
        reader.follow(Step(f"echo '{came}'", "json", shown.replace("top_set", "warm_up")))
