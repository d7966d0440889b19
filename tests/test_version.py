"""One version: what the service says, what the project file says, and the newest release of the changelog."""

import re
import tomllib
from pathlib import Path

from service.app import VERSION

ROOT = Path(__file__).parent.parent
CHANGELOG = (ROOT / "CHANGELOG.md").read_text("utf-8")
HEADINGS = re.findall(r"^## (.+)$", CHANGELOG, re.MULTILINE)


def test_the_project_file_has_the_version_that_the_service_says():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["version"] == VERSION


def test_the_changelog_begins_with_what_is_unreleased_and_then_has_this_version():
    assert HEADINGS[0] == "Unreleased"
    assert re.fullmatch(rf"{re.escape(VERSION)} - (\d{{4}}-\d{{2}}-\d{{2}}|not released yet)", HEADINGS[1])


def test_each_release_says_what_changes_for_programs_that_call_it():
    for part in re.split(r"^## .+$", CHANGELOG, flags=re.MULTILINE)[2:]:
        assert re.search(r"^### API$", part, re.MULTILINE)


def test_the_version_is_semantic():
    assert re.fullmatch(r"\d+\.\d+\.\d+", VERSION)
