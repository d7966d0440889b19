"""What is read from a row, against the worked examples of the specification, told set by set."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from service.core.model.heard import Heard
from service.core.model.learn import learn
from service.core.model.outlook import (
    chance_of_single,
    chances,
    day_max,
    expected_effort,
    following,
    load_for,
    load_list,
    max_ahead,
    planned_load,
    rolling_max,
    unlimited_load,
)
from service.core.model.passing import begin, opened
from service.core.model.state import TESTED_SD, Person, Row, new_person, new_row
from tests.core.model.worked import STORIES, Asked

START = date(2026, 1, 5)
GROUPS = {0.08: "squat_like", -0.06: "deadlift_like", 0.0: "other"}


def told(name: str, count: int) -> tuple[Person, dict[str, Row]]:
    """The athlete and the lifts of a story after so many of its sets."""
    person, rows = new_person(), {}
    for lift, given in STORIES[name].lifts.items():
        spread = TESTED_SD if given.get("tested") else None
        rows[lift] = new_row(GROUPS[given.get("group", 0.0)], given["kg"], spread=spread)
    for step in STORIES[name].steps[:count]:
        row = begin(rows[step.lift], START + timedelta(step.day))
        person, rows[step.lift], _ = learn(person, row, Heard(**step.sets))
    return person, rows


def ranged(load: Any) -> tuple[float, float, float]:
    return load.kg, load.low, load.high


PRINTED = {"chance_true": 0.15, "chance_report": 0.10}
"""The chances to pass the limit that the worked examples are printed with."""


def loads(row: Row, person: Person, reps: int, rpe: float) -> tuple[float, float, float]:
    load = load_for(row, reps, rpe, **PRINTED)
    assert load.kg == min(load.unlimited_kg, load.true_kg, load.report_kg)
    assert load.unlimited_kg == planned_load(row, reps, rpe).kg == pytest.approx(unlimited_load(row, reps, rpe))
    return load.unlimited_kg, load.true_kg, load.report_kg


def effort(row: Row, person: Person, kg: float, reps: int) -> tuple[float, float, float]:
    felt = expected_effort(row, person, kg, reps)
    return felt.rpe, felt.low, felt.high


def follow(row: Row, person: Person, count: int, reps: int, **asked: float) -> list[tuple[float, float]]:
    return [(one.kg, one.rpe) for one in following(row, person, count, reps, chances=(0.15, 0.10), **asked)]


ANSWERS = {
    "maximum": lambda row, person: ranged(rolling_max(row, person)),
    "load": lambda row, person, reps, rpe: load_for(row, reps, rpe, **PRINTED).kg,
    "loads": loads,
    "free": lambda row, person, reps, rpe: load_for(row, reps, rpe).unlimited_kg,
    "expected": effort,
    "expected_only": lambda row, person, kg, reps: effort(row, person, kg, reps)[0],
    "single": lambda row, person, kg: chance_of_single(row, kg),
    "pass": lambda row, person, kg, reps, rpe: chances(row, kg, reps, rpe),
    "pass_reported": lambda row, person, kg, reps, rpe: chances(row, kg, reps, rpe)[0],
    "day": lambda row, person: ranged(day_max(row)),
    "follow": follow,
    "forecast": lambda row, person, days: ranged(max_ahead(row, person, days)),
    "listed": lambda row, person, reps, left: load_list(row, [reps], [left])[0].kg,
}
QUESTIONS = [
    pytest.param(name, asked, id=f"{name}, {asked.what} after {asked.after}")
    for name, story in STORIES.items()
    for asked in story.asked
    if asked.what in ANSWERS
]
RANGES = [
    (name, count)
    for name, story in STORIES.items()
    for count, step in enumerate(story.steps, start=1)
    if step.maximum is not None
]


@pytest.mark.parametrize(("name", "asked"), QUESTIONS)
def test_the_worked_examples_are_answered(name: str, asked: Asked) -> None:
    person, rows = told(name, asked.after)
    row = opened(rows[asked.lift], person, START + timedelta(asked.day))
    answer = ANSWERS[asked.what](row, person, **asked.about)
    nested = isinstance(asked.answer, tuple) and isinstance(asked.answer[0], tuple)
    for got, printed in zip(answer, asked.answer, strict=True) if nested else [(answer, asked.answer)]:
        assert got == pytest.approx(printed, rel=1e-5)


@pytest.mark.parametrize(("name", "count"), RANGES)
def test_the_max_of_each_worked_set_has_the_printed_range(name: str, count: int) -> None:
    person, rows = told(name, count)
    step = STORIES[name].steps[count - 1]
    assert ranged(rolling_max(rows[step.lift], person)) == pytest.approx(step.maximum, rel=1e-5)
