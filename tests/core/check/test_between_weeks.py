"""What is found between sessions and weeks, with near misses: days between, jumps, lighter weeks, long sessions."""

from __future__ import annotations

from typing import Any

import pytest

from service.core.slots import EffortTarget, Ladder, MaxTest, Slot, TopSet, WeekPlan
from tests.core.check.making import (
    HEAVY,
    LIGHT,
    back_off,
    checked,
    effort,
    found,
    levels,
    percent,
    session,
    slot,
    week,
)


def sessions(*heavy: bool) -> list[Any]:
    return [session(HEAVY if one else LIGHT, name=f"Day {number}") for number, one in enumerate(heavy, 1)]


def test_two_heavy_sessions_of_a_lift_in_a_row_are_doubted() -> None:
    (one,) = found("heavy_without_a_day", week(*sessions(True, True, False, False)))
    assert (one.level, one.lift, one.pointer) == ("doubt", "squat", "#/weeks/0/sessions/1")
    assert levels("heavy_without_a_day", week(*sessions(True, False, True, False))) == []
    bench = session(slot(effort(3, 8), TopSet(), "bench-press"))
    assert levels("heavy_without_a_day", week(*sessions(True), bench, *sessions(False, False))) == []


def test_technique_lifts_on_days_in_a_row_are_only_noted() -> None:
    snatch = session(slot(percent(2, 85), 3, "snatch"))
    assert levels("heavy_without_a_day", week(snatch, snatch, *sessions(False, False))) == ["note"]


def test_up_to_three_sessions_a_week_have_room_for_a_day_between() -> None:
    assert levels("heavy_without_a_day", week(*sessions(True, True, False))) == ["note"]


def test_the_last_session_of_a_week_and_the_first_of_the_next_are_neighbours() -> None:
    (one,) = found(
        "heavy_without_a_day", week(*sessions(False, False, False, True)), week(*sessions(True, False, False, False))
    )
    assert (one.level, one.pointer) == ("doubt", "#/weeks/1/sessions/0")


def test_sessions_that_are_alone_in_their_weeks_have_days_between_them() -> None:
    alone = week(*sessions(True))
    assert levels("heavy_without_a_day", alone, alone, alone) == []  # seven days apart
    assert levels("heavy_without_a_day", alone, week(*sessions(True, False))) == ["note"]
    assert levels("heavy_without_a_day", week(*sessions(False, True)), alone) == ["note"]


def test_two_lifts_of_one_family_on_neighbouring_days_are_noted_with_their_ratio() -> None:
    """The usual pause squat is 90 % of the squat, the pause front squat 92 % of the front squat, that 80 %."""

    def heavy(*lifts: str) -> WeekPlan:
        rest = session(LIGHT, name="Light")
        days = [session(slot(percent(2, 85), 3, lift), name=f"Heavy {at}") for at, lift in enumerate(lifts, 1)]
        return week(*days, *[rest] * (4 - len(days)))

    (one,) = found("heavy_without_a_day", heavy("squat", "pause-squat"))
    assert (one.level, one.lift, one.pointer) == ("note", "pause-squat", "#/weeks/0/sessions/1")
    assert one.text.startswith("“Heavy 2” comes right after “Heavy 1”: that is heavy in the squat, this in the pause s")
    assert "the max of the pause squat is 90 % of that of the squat" in one.text
    (one,) = found("heavy_without_a_day", heavy("pause-squat", "squat"))
    assert "the max of the squat is 111 % of that of the pause squat" in one.text  # 1 / 0.90
    (one,) = found("heavy_without_a_day", heavy("pause-squat", "pause-front-squat"))
    assert "the max of the pause front squat is 82 % of that of the pause squat" in one.text  # 0.92 x 0.80 / 0.90
    assert levels("heavy_without_a_day", heavy("squat", "deadlift")) == []
    assert levels("heavy_without_a_day", heavy("squat", "bench-press", "pause-squat")) == []
    assert levels("heavy_without_a_day", heavy("squat", "squat")) == ["doubt"]
    assert levels("heavy_without_a_day", heavy("snatch", "power-snatch")) == []  # on most days, as all technique lifts
    light = week(
        session(slot(percent(2, 85), 3)), session(slot(percent(2, 75), 3, "pause-squat")), *sessions(*[False] * 2)
    )
    assert levels("heavy_without_a_day", light) == []


def test_a_lift_that_is_heavy_on_both_days_is_not_told_of_its_family_again() -> None:
    both = session(slot(percent(2, 85), 3), slot(percent(2, 85), 3, "pause-squat"), name="Both")
    after = week(session(HEAVY, name="A"), both, *sessions(False, False))
    assert levels("heavy_without_a_day", after) == ["doubt"]  # squat after squat
    assert levels("heavy_without_a_day", week(both, both, *sessions(False, False))) == ["doubt"]


def test_a_jump_of_more_than_a_tenth_is_noted_and_a_great_one_doubted() -> None:
    def then(first: int, second: int) -> list[str]:
        return levels("jump", slot(percent(5, 70), first), slot(percent(5, 70), second))

    assert then(10, 11) == []  # exactly 10 %
    assert then(9, 10) == ["note"]  # 11 %
    assert then(5, 7) == ["doubt"]  # 40 %
    assert then(10, 8) == []


def test_a_jump_says_what_grew_and_against_which_week() -> None:
    four = slot(effort(5, 8), 4)
    lighter = week(slot(effort(5, 6), 2), lighter=True)
    (one,) = found("jump", week(four), lighter, week(slot(effort(5, 8), 6)))
    assert one.pointer == "#/weeks/2"
    assert one.text.startswith("Week 3 asks for more of the squat than week 1")
    assert "6 hard sets instead of 4" in one.text
    assert levels("jump", week(four), lighter, week(four)) == []


def test_efforts_that_climb_by_a_hair_over_the_border_of_hard_sets_are_no_jump() -> None:
    """Same sets and repetitions, half a point harder: back-off sets cross RPE 7, and nothing has jumped."""
    weeks = [week(slot(effort(1, rpe), back_off(4, 4))) for rpe in (7.5, 8)]
    first, second = checked(*weeks).weeks
    assert (first.lifts[0].hard_sets, second.lifts[0].hard_sets) == (1, 5)  # the border is really crossed
    assert levels("jump", *weeks) == []
    assert levels("jump", *(week(slot(effort(5, rpe), 4)) for rpe in (6, 7))) == []
    hard, light, harder = slot(effort(5, 8), 2), slot(effort(5, 5), 3), slot(effort(5, 8), 3)
    (one,) = found("jump", week(session(hard, light)), week(session(hard, harder)))
    assert (one.level, "5 hard sets instead of 2" in one.text) == ("doubt", True)  # 150 % more, from light to hard
    assert levels("jump", week(session(slot(effort(5, 6), 4))), week(slot(effort(5, 7), 4))) == []


def test_zones_are_told_of_what_is_written_not_of_loads_that_will_be_lowered() -> None:
    five = slot(percent(8, 95), 5)  # after the first set nobody will be given 95 %
    told = [one.text for one in checked(five).findings if one.code.startswith("repetitions_of_")]
    assert len(told) == 2
    assert all("at 90 % and above" in one for one in told)
    one = checked(five).weeks[0]
    assert one.sessions[0].slots[0].percents == [95] * 5
    assert (one.lifts[0].average_percent, [(each.zone, each.reps) for each in one.lifts[0].by_zone]) == (
        95,
        [("from_90", 40)],
    )


def test_a_lighter_week_that_is_not_lighter_is_doubted() -> None:
    four = slot(effort(5, 8), 4)
    (one,) = found("lighter_week_is_not", week(four), week(four, lighter=True))
    assert (one.level, one.pointer, one.lift) == ("doubt", "#/weeks/1/lighter", "squat")
    assert levels("lighter_week_is_not", week(four), week(slot(effort(5, 8), 3), lighter=True)) == []
    assert levels("lighter_week_is_not", week(four), week(four)) == []
    rows = slot(effort(10, 8), 3, "barbell-row", accessory=True)
    assert levels("lighter_week_is_not", week(rows), week(rows, lighter=True)) == []
    ladder = Slot(lift="hip-thrust", scheme=Ladder(), target=EffortTarget(reps=5, rir=3))
    assert levels("lighter_week_is_not", week(ladder), week(ladder, lighter=True)) == []


JUMPS = [
    # sets, repetitions, per cent before and after; how much more, by hand
    ((5, 5, 70), (5, 5, 80), "14 %", "note"),  # 80 / 70 = 1.143
    ((5, 3, 70), (5, 3, 82), "17 %", "note"),  # 82 / 70 = 1.171
    ((5, 3, 75), (5, 3, 85), "13 %", "note"),  # 85 / 75 = 1.133
    ((1, 1, 80), (1, 1, 91), "14 %", "note"),  # 91 / 80 = 1.138, of a single too
    ((4, 6, 70), (5, 5, 80), "19 %", "note"),  # 25 x 80 / (24 x 70) = 1.190; heavier alone: 14 %
    ((5, 5, 60), (5, 5, 80), "33 %", "doubt"),  # 80 / 60 = 1.333
    ((4, 1, 80), (8, 1, 80), "100 %", "doubt"),  # 8 / 4
    ((1, 2, 90), (2, 2, 90), "100 %", "doubt"),  # 4 / 2
    ((1, 2, 50), (1, 4, 50), "100 %", "doubt"),  # light, but doubled
    ((3, 4, 80), (4, 4, 80), "33 %", "note"),  # 16 / 12 = 1.333, a set more
    ((5, 1, 85), (7, 1, 85), "40 %", "doubt"),  # 7 / 5
    ((3, 5, 60), (3, 7, 60), "40 %", "doubt"),  # 21 / 15: six light ones more
]


@pytest.mark.parametrize(("before", "after", "told", "level"), JUMPS)
def test_heavier_sets_and_small_counts_jump_too(
    before: tuple[int, int, float], after: tuple[int, int, float], told: str, level: str
) -> None:
    weeks = [slot(percent(reps, value), sets) for sets, reps, value in (before, after)]
    (one,) = found("jump", *weeks)
    assert (one.level, one.pointer) == (level, "#/weeks/1")
    assert f": {told} more" in one.text


def test_a_jump_of_intensity_says_from_where_to_where() -> None:
    (one,) = found("jump", slot(percent(5, 70), 5), slot(percent(5, 80), 5))
    assert "14 % more repetitions by intensity (80 % on average instead of 70)" in one.text
    (one,) = found("jump", slot(percent(4, 80), 3), slot(percent(4, 80), 4))
    assert "on average" not in one.text


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ((1, 1, 85), (2, 1, 85)),  # a second single
        ((5, 1, 85), (6, 1, 85)),  # 20 % more, but a single
        ((2, 8, 50), (2, 10, 50)),  # 25 % more, but four light ones
        ((3, 3, 75), (3, 3, 82)),  # 82 / 75 = 1.093
        ((5, 5, 80), (4, 3, 90)),  # 12 x 90 / (25 x 80) = 0.54
    ],
)
def test_a_single_more_a_few_light_ones_and_small_steps_are_no_jump(
    before: tuple[int, int, float], after: tuple[int, int, float]
) -> None:
    assert levels("jump", *[slot(percent(reps, value), sets) for sets, reps, value in (before, after)]) == []


def test_light_sets_that_become_heavy_ones_are_not_a_few_light_ones_more() -> None:
    light, heavy = slot(percent(5, 60), 2), slot(percent(4, 80), 2)
    # 10 x 0.6 + 8 x 0.8 = 12.4; 5 x 0.6 + 16 x 0.8 = 15.8: 27 % more of 3 repetitions more, 8 heavy for 5 light
    weeks = week(session(light, heavy)), week(session(slot(percent(5, 60), 1), slot(percent(4, 80), 4)))
    (one,) = found("jump", *weeks)
    assert ": 27 % more" in one.text


def test_back_to_where_it_was_after_a_lighter_week_is_no_jump_and_more_than_before_it_is() -> None:
    usual, lighter = slot(percent(5, 70), 5), week(slot(percent(5, 60), 3), lighter=True)
    assert levels("jump", usual, lighter, usual) == []
    assert levels("jump", usual, slot(percent(5, 60), 3), usual) == []  # 9 after 17.5: lighter, though not marked
    (one,) = found("jump", usual, lighter, slot(percent(5, 80), 5))
    assert one.text.startswith("Week 3 asks for more of the squat than week 1: 14 % more")


def test_a_test_and_a_meet_are_no_jump_and_nothing_is_compared_with_them() -> None:
    work, tested = slot(percent(3, 80), 5), week(session(slot(effort(1, 10), MaxTest()), kind="test"))
    meet = week(session(slot(percent(1, 100), 3), kind="meet"))
    assert levels("jump", slot(percent(1, 80), 3), tested) == []  # five attempts after three singles
    assert levels("jump", slot(percent(1, 88), 3), meet) == []  # 100 / 88 = 1.136
    assert levels("jump", tested, work) == []  # 15 after five attempts
    assert levels("jump", work, tested, work) == []
    (one,) = found("jump", work, tested, slot(percent(3, 80), 7))
    assert one.text.startswith("Week 3 asks for more of the squat than week 1: 40 % more")  # 21 / 15


def test_a_set_more_or_supporting_work_is_no_jump() -> None:
    singles = [slot(effort(1, 8), sets) for sets in (1, 2)]
    assert levels("jump", *singles) == []  # one set and one repetition more
    rows = [slot(effort(10, 8), sets, "barbell-row", accessory=True) for sets in (2, 5)]
    assert levels("jump", *rows) == []


def test_sessions_of_more_than_two_hours_are_noted() -> None:
    def minutes_of(sets: int) -> list[str]:
        one = slot(percent(5, 60), sets, rest_seconds=565)  # with 35 s a set: 10 minutes each
        return levels("long_session", one)

    assert minutes_of(13) == ["note"]
    assert minutes_of(10) == []
