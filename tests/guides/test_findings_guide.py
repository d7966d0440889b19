"""The guide of findings: every word that a check can say, and the numbers that it goes by."""

from __future__ import annotations

import re
from pathlib import Path

from service.core.check.finding import CODES
from service.core.check.zones import TABLE

ROOT = Path(__file__).parents[2]
GUIDE = (ROOT / "service/guides/findings.md").read_text("utf-8")


def test_each_code_has_a_heading_and_no_heading_is_left_over() -> None:
    assert tuple(re.findall(r"^### `(\w+)`$", GUIDE, re.MULTILINE)) == CODES


def test_each_code_is_said_somewhere() -> None:
    text = "".join(file.read_text("utf-8") for file in sorted((ROOT / "service/core/check").glob("*.py")))
    said = set(re.findall(r'(?:Remark|Finding)\(\s*(?:"\w+"[^,]*|level),\s*"(\w+)"', text))
    assert said == set(CODES)


def test_the_table_of_zones_is_the_one_that_is_used() -> None:
    rows = re.findall(r"^\| ([^|]*%[^|]*) \| (\d+) to (\d+) \| (\d+) to (\d+) \| (\d+) \|$", GUIDE, re.MULTILINE)
    shown = [(words, *map(int, numbers)) for words, *numbers in rows]
    assert shown == [
        (row.words.removeprefix("at "), row.fewest, row.most, row.low, row.high, row.best) for row in TABLE.values()
    ]
