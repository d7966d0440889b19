"""What a session taught, in sentences: made-up lessons with numbers that can be followed by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from math import log
from typing import Any

import pytest

from service.core.catalogue import BUILT_IN
from service.core.model.heard import Heard, Lesson
from service.core.model.kin import Key
from service.core.model.levels import rolling_max
from service.core.model.memory import Known
from service.core.model.replay import SetEvent, replay
from service.core.model.state import Row, new_person, new_row
from service.core.model.tested import Given
from service.core.tell.measure import Measure
from service.core.tell.parts import Session, name_of, parts_of
from service.core.tell.past import sessions
from service.core.tell.taught import taught

ON = date(2026, 3, 2)
BENCH = Measure(BUILT_IN["bench-press"], "kg")
STRONGER = log(1.02)
"""A level that means a max of 102 kg instead of 100, as the curve factor of the bench press is 1."""


def row(level: float = 0.0) -> Row:
    made = new_row("other", 100)
    return replace(made, m=(level, *made.m[1:]))


def lesson(points: float, **moved: float) -> Lesson:
    """A set that was so many points lighter than expected: a repetition is worth 0.04, so 0.04 a point."""
    order = ("level", "factor", "day", "loss", "bend", "bias", "person")
    changes: Any = tuple(moved.get(name, 0.0) for name in order)
    return Lesson("used", surprise=0.04 * points, worth=0.04, expected_rpe=8.0, moved=changes)


def session(*sets: tuple[Heard, Lesson], level: float = STRONGER, before: Row | None = None) -> Session:
    start = row() if before is None else before
    return Session(ON, start, new_person(), row(level), new_person(), sets)


def fives(points: float, **moved: float) -> tuple[Heard, Lesson]:
    return Heard(80, 5, 8 - points), lesson(points, **moved)


def test_fives_that_say_more_than_a_single_are_named() -> None:
    single = Heard(92, 1, 8), lesson(-0.2, level=-0.001)
    told = taught(session(single, fives(1, level=0.01), fives(1, level=0.0108)), BENCH)
    assert told.text == "Your fives say more than your single did: 2 kg up, to 102 kg."


def test_a_single_that_says_less_than_the_fives_is_named() -> None:
    single = Heard(92, 1, 9), lesson(-1, level=-0.02)
    told = taught(session(single, fives(0.1, level=0.001), level=-STRONGER), BENCH)
    # 100 / 1.02 = 98.0 kg
    assert told.text == "Your single says less than your set of five did: 2 kg down, to 98 kg."


def test_sets_of_one_kind_are_told_by_how_much_they_were_lighter() -> None:
    told = taught(session(fives(0.6, level=0.01), fives(0.4, level=0.01)), BENCH)
    assert told.text == "Your fives were half a point lighter than expected: 2 kg up, to 102 kg."


def test_sets_as_expected_leave_the_max_where_it_is() -> None:
    told = taught(session(fives(0.1, level=0.0004), fives(-0.1, level=-0.0004), level=0.0), BENCH)
    assert told.text == "The sets went as expected: the max stays about 100 kg."


def test_what_passes_for_a_good_day_is_said_to_be_forgotten() -> None:
    told = taught(session(fives(1, level=0.012, day=0.012)), BENCH)
    assert "Most of what they said passes for a good day, and is forgotten by the next session." in told.text
    bad = taught(session(fives(-1, level=-0.012, day=-0.008), level=-STRONGER), BENCH)
    assert "Part of what they said passes for a bad day" in bad.text
    # A fifth of it is not worth a sentence.
    assert "day" not in taught(session(fives(1, level=0.016, day=0.004)), BENCH).text


def test_the_curve_is_told_as_repetitions_at_a_percentage() -> None:
    # 80 of 100 kg: u = -0.2231, so that a factor 0.05 higher counts 0.0112 for it, as much as the level.
    more = taught(session(fives(1, level=0.0112, factor=0.05)), BENCH)
    assert "It also looks as if you get more repetitions at a percentage than was thought." in more.text
    fewer = taught(session(fives(-1, level=-0.0112, factor=-0.05), level=-STRONGER), BENCH)
    assert "fewer repetitions at a percentage" in fewer.text


def test_reports_are_spoken_of_kindly() -> None:
    assert (
        "a little less is left in your sets than you say"
        in taught(session(fives(1, level=0.02, bias=-0.2)), BENCH).text
    )
    assert (
        "a little more is left in your sets than you say" in taught(session(fives(1, level=0.02, bias=0.2)), BENCH).text
    )
    assert "than you say" not in taught(session(fives(1, level=0.02, bias=0.05)), BENCH).text


def test_a_missed_repetition_is_named() -> None:
    missed = Heard(95, 2, failed=True), lesson(-1, level=-0.02)
    told = taught(session(missed, level=-STRONGER), BENCH)
    assert told.text == "A repetition was missed in your triple: 2 kg down, to 98 kg."
    assert "a repetition was missed" in told.why[0].text


def test_the_first_sets_of_all_say_what_they_found() -> None:
    told = taught(session(fives(0, level=0.0), level=0.0, before=new_row("other")), BENCH)
    assert told.text.startswith("The first sets")
    assert "100 kg" in told.text


def test_a_new_anchor_says_what_is_believed_now() -> None:
    anchored = Heard(120, 5, 8), Lesson("re_anchored")
    told = taught(session(anchored, level=log(1.4)), BENCH)
    assert told.text == (
        "Several sets did not fit what was believed before and agree with each other: now a max of about 140 kg is "
        "believed instead of 100 kg."
    )


@pytest.mark.parametrize(
    ("status", "words"),
    [
        ("refused", "1 set is too far from what is known to be believed: say whether it was entered right."),
        ("unrated", "1 set without an effort says nothing of the max."),
        ("ignored", "Nothing in this session says anything about the max."),
    ],
)
def test_sets_that_taught_nothing_are_told_as_that(status: Any, words: str) -> None:
    assert taught(session((Heard(80, 5), Lesson(status)), level=0.0), BENCH).text == words


def test_sets_that_were_light_are_no_surprise() -> None:
    told = taught(session((Heard(60, 5, 5), Lesson("used", worth=0.04, expected_rpe=4)), level=0.0), BENCH)
    assert told.text == "The sets were light enough to be no surprise: they hardly say anything about the max."
    assert [step.formula for step in told.why] == ["learnt"]


def test_parts_add_up_to_what_is_expected_of_the_set_afterwards() -> None:
    # At 80 of 100 kg, u = ln 0.8 = -0.22314; level 0, so the max is the reference.
    parts = parts_of(row(), [fives(1, level=0.01, factor=0.02, day=0.005, bias=0.1)])
    assert parts.strength == pytest.approx(0.01)
    assert parts.curve == pytest.approx(0.02 * 0.22314, abs=1e-6)
    assert parts.day == pytest.approx(0.005)
    assert parts.reports == pytest.approx(-0.04 * 0.1)
    assert parts.share(parts.strength) == pytest.approx(0.01 / (0.01 + 0.0044628 + 0.005 + 0.004), abs=1e-5)


def test_reasons_have_each_set_and_where_it_went() -> None:
    told = taught(session(fives(1, level=0.015, day=0.005)), BENCH)
    assert [step.formula for step in told.why] == ["surprise", "learnt"]
    assert told.why[0].text == "5 with 80 kg: RPE 7, expected RPE 8; 1 easier."
    assert told.why[1].text == (
        "The max goes from 100 kg to 102 kg; what the sets said is put down to strength 75 %, how many repetitions you "
        "get at a percentage 0 %, the day 25 %, how you report 0 %."
    )


def test_a_lifter_reads_pounds_and_what_is_added_to_the_body() -> None:
    pounds = Measure(BUILT_IN["bench-press"], "lb")
    # 2 kg are 4.4 lb; 102 kg 224.9 lb
    assert taught(session(fives(1, level=0.02)), pounds).text.endswith("4.4 lb up, to 224.9 lb.")
    body = Measure(BUILT_IN["pull-up"], "kg", 80.0)
    assert taught(session(fives(1, level=0.02)), body).text.endswith("2 kg up, to 22 kg added.")
    assert body.say(70) == "10 kg of assistance"
    assert body.say(80) == "body weight"


@pytest.mark.parametrize(
    ("reps", "count", "name"),
    [
        (1, 1, "single"),
        (1, 2, "singles"),
        (3, 2, "triples"),
        (5, 1, "set of five"),
        (6, 3, "sixes"),
        (12, 2, "sets of 12"),
    ],
)
def test_sets_have_the_names_that_lifters_give_them(reps: int, count: int, name: str) -> None:
    assert name_of(reps, [fives(0)] * count) == name


def test_sessions_are_read_from_the_log_as_the_model_took_them() -> None:
    key = Key("bench-press", "unsupported", "")
    events = [
        SetEvent(
            date(2026, 3, day), key, Heard(kg, reps, rpe), datetime(2026, 3, day, hour, tzinfo=UTC), f"{day}-{hour}"
        )
        for day, hour, kg, reps, rpe in ((2, 10, 80, 5, 7.5), (2, 11, 85, 4, 8), (5, 10, 85, 5, 8.5))
    ]
    known = Known(BUILT_IN, lambda _key, _on: Given(100, 0.1))
    found, memory = sessions(events, known, key)
    assert [(one.on.day, len(one.sets)) for one in found] == [(2, 2), (5, 1)]
    assert memory.lifts[key].row == replay(events, known).lifts[key].row == found[-1].after
    first = found[0].before
    assert first is not None
    known_before = rolling_max(first, new_person())
    assert known_before is not None
    assert known_before.kg == pytest.approx(100)
    # The second session starts from what the first one left, a night later.
    assert found[1].before is not None
    assert found[1].before.m[0] == pytest.approx(found[0].after.m[0], abs=0.002)
    assert found[1].before.m[2] == 0
    assert sessions(events, known, Key("squat", "unsupported", ""))[0] == []
