"""Ways to go on after missed sessions, on a small block that can be followed by hand.

Three weeks of squat (Monday), press (Wednesday) and pull (Friday), from Monday 2 March 2026 to Friday 20 March.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.layout.wishes import Apart, LightBefore, Wishes
from service.core.replan.propose import (
    CannotReplan,
    back_to,
    current,
    first_day,
    looking_ahead,
    missed,
    proposals,
    propose,
)
from service.core.replan.records import BlockSession, Coming, Extend, Further, LiftSets, Move, Running, Skip
from service.core.slots import BackOff, EffortTarget, SessionPlan, SetsAtTarget, Slot, TopSet

MONDAY = date(2026, 3, 2)
SQUAT = Slot(
    lift="squat",
    scheme=TopSet(back_off=BackOff(sets=3, less_percent=8)),
    target=EffortTarget(reps=3, rpe=8),
)
PRESS = Slot(lift="bench-press", scheme=SetsAtTarget(sets=4), target=EffortTarget(reps=5, rpe=7))
PULL = Slot(lift="deadlift", scheme=SetsAtTarget(sets=3), target=EffortTarget(reps=5, rpe=7))
CURL = Slot(lift="dumbbell-curl", scheme=SetsAtTarget(sets=2), target=EffortTarget(reps=10, rir=2), accessory=True)
PLANS = {
    1: SessionPlan(name="Squat", slots=(SQUAT, CURL)),
    2: SessionPlan(name="Press", slots=(PRESS, CURL)),
    3: SessionPlan(name="Pull", slots=(PULL, CURL)),
}


def day(week: int, number: int) -> date:
    """Monday, Wednesday and Friday of a week."""
    return MONDAY + timedelta(weeks=week - 1, days=2 * (number - 1))


def running(today: date, *done: tuple[int, int], weeks: int = 3, **values: object) -> Running:
    """The block with these sessions done."""
    sessions = tuple(
        BlockSession(
            id=f"{week}.{number}",
            week=week,
            number=number,
            date=day(week, number),
            planned=(week, number) not in done,
            done=(week, number) in done,
            plan=PLANS[number],
        )
        for week in range(1, weeks + 1)
        for number in (1, 2, 3)
    )
    return Running(sessions=sessions, today=today, **values)  # type: ignore[arg-type]


def in_turn(sequence: Sequence[Coming], first: date) -> list[date]:
    """The next Mondays, Wednesdays and Fridays."""
    days = (first + timedelta(days=ahead) for ahead in range(400))
    training = [one for one in days if one.weekday() in (0, 2, 4)]
    return training[: len(sequence)]


FIRST_WEEK = ((1, 1), (1, 2), (1, 3))


def test_nothing_is_proposed_where_nothing_was_missed() -> None:
    on_plan = running(day(2, 1), *FIRST_WEEK)
    assert missed(on_plan) == ()
    assert proposals(on_plan, BUILT_IN, in_turn) == ()
    with pytest.raises(CannotReplan) as refused:
        propose("shift", on_plan, BUILT_IN, in_turn)
    assert refused.value.code == "nothing_missed"


def test_a_missed_session_can_be_left_out_and_all_others_stay() -> None:
    late = running(day(2, 2) + timedelta(days=1), *FIRST_WEEK, (2, 1))  # Thursday after the missed press
    dropped = propose("drop", late, BUILT_IN, in_turn)
    assert dropped.changes == (Skip(session="2.2", was=date(2026, 3, 11)),)
    assert (dropped.effect.left_out, dropped.effect.moved, dropped.effect.ends_on) == (1, 0, date(2026, 3, 20))
    # press: 4 sets of this and of the last week were to come; curls: 2 in each of the five sessions to come
    assert dropped.effect.lifts == (
        LiftSets(lift="bench-press", before=8, after=4),
        LiftSets(lift="dumbbell-curl", before=10, after=8),
    )
    assert dropped.text == (
        "Leave out Press of 11 March 2026: all later sessions stay on their days. "
        "The block still ends on 20 March 2026."
    )


def test_shifted_each_session_takes_the_next_training_day_in_order() -> None:
    late = running(day(2, 2) + timedelta(days=1), *FIRST_WEEK, (2, 1))
    shifted = propose("shift", late, BUILT_IN, in_turn)
    assert [(one.session, one.to.day) for one in shifted.changes if isinstance(one, Move)] == [
        ("2.2", 13), ("2.3", 16), ("3.1", 18), ("3.2", 20), ("3.3", 23),
    ]  # fmt: skip
    assert shifted.effect.lifts == ()
    assert shifted.text.endswith("5 sessions move. The block ends on 23 March 2026, 3 days later than planned.")


def test_merged_the_main_work_goes_into_the_next_days_with_half_its_sets_before_the_accessories() -> None:
    late = running(day(2, 2) + timedelta(days=1), *FIRST_WEEK, (2, 1))
    merged = propose("merge", late, BUILT_IN, in_turn)
    skip, extend = merged.changes
    assert skip == Skip(session="2.2", was=date(2026, 3, 11))
    assert isinstance(extend, Extend)
    assert (extend.session, extend.at) == ("2.3", 1), "into the pull, which stays shorter than the squat"
    assert [one.lift for one in extend.slots] == ["bench-press"]
    assert [one.scheme for one in extend.slots] == [SetsAtTarget(sets=2)]
    assert merged.effect.longest_minutes > 0


def test_heavy_work_of_one_family_is_not_put_into_one_session() -> None:
    # the squat was missed on Monday; it is Tuesday, and pull and press are to come: next Monday's squat takes none
    late = running(day(2, 1) + timedelta(days=1), *FIRST_WEEK)
    merged = propose("merge", late, BUILT_IN, in_turn)
    extended = [one for one in merged.changes if isinstance(one, Extend)]
    assert [one.session for one in extended] != ["3.1"]
    only_squats = replace(late, sessions=tuple(one for one in late.sessions if one.number == 1))
    with pytest.raises(CannotReplan) as refused:
        propose("merge", only_squats, BUILT_IN, in_turn)
    assert refused.value.code == "nothing_to_merge"


def test_heavy_work_is_not_put_on_days_that_are_to_stay_light() -> None:
    # The squat of Monday 9 March is heavy (3 at RPE 8); within a week come Wednesday 11, Friday 13 and Monday 16.
    late = running(day(2, 1) + timedelta(days=1), *FIRST_WEEK)
    light = Wishes(light_before=(LightBefore(date=date(2026, 3, 12), days=1),))
    assert taken_over(replace(late, wishes=light)) == {"2.3": ["squat"]}
    light = Wishes(light_before=(LightBefore(date=date(2026, 3, 11), days=1),))  # nor on the day itself
    assert taken_over(replace(late, wishes=light)) == {"2.3": ["squat"]}
    with pytest.raises(CannotReplan):  # and Monday has a squat of its own
        taken_over(replace(late, wishes=Wishes(light_before=(LightBefore(date=date(2026, 3, 14), days=3),))))
    # The press of Wednesday is not heavy (5 at RPE 7): it may be on Friday.
    light = Wishes(light_before=(LightBefore(date=date(2026, 3, 14), days=1),))
    assert taken_over(running(day(2, 3), *FIRST_WEEK, (2, 1), wishes=light)) == {"2.3": ["bench-press"]}


@pytest.mark.parametrize(
    ("apart", "hosts"),
    [
        # squats two free days from each other: Friday 13 has two to Monday 16, and the pull stays shortest
        (Apart(by="lifts", kinds=("squat",), days=2, must=True), {"2.3": ["squat"]}),
        # three: only Wednesday is far enough from Monday
        (Apart(by="lifts", kinds=("squat",), days=3, must=True), {"2.2": ["squat"]}),
        # what is called Squat and what is called Press: not on one day; with two free days Friday is too near too
        (Apart(by="sessions", kinds=("Squat", "Press"), days=0, must=True), {"2.3": ["squat"]}),
        (Apart(by="sessions", kinds=("Squat", "Press"), days=2, must=True), None),
        # only wished: the session that stays shortest
        (Apart(by="sessions", kinds=("Squat", "Press"), days=2), {"2.3": ["squat"]}),
    ],
)  # fmt: skip
def test_heavy_work_is_not_put_nearer_than_must_be(apart: Apart, hosts: dict[str, list[str]] | None) -> None:
    late = running(day(2, 1) + timedelta(days=1), *FIRST_WEEK, wishes=Wishes(apart=(apart,)))
    if hosts is None:
        with pytest.raises(CannotReplan):
            taken_over(late)
    else:
        assert taken_over(late) == hosts


def taken_over(late: Running) -> dict[str, list[str]]:
    """Which sessions take which lifts over."""
    merged = propose("merge", late, BUILT_IN, in_turn)
    return {one.session: [slot.lift for slot in one.slots] for one in merged.changes if isinstance(one, Extend)}


def test_merging_says_what_is_really_taken_over() -> None:
    # Squat of Monday and press of Wednesday were missed, only the pull of Friday is to come, and it takes either; the
    # squat's day is missed twice: of two squats one session takes one.
    late = running(day(2, 3), *FIRST_WEEK)
    all_ = propose("merge", late, BUILT_IN, in_turn)
    assert all_.text.startswith("Put the main work of the 2 missed sessions into ")
    assert all_.cautions == ()
    squat_twice = tuple(
        replace(one, plan=PLANS[1]) if one.id == "2.2" else one for one in late.sessions if one.week == 2
    )
    part = propose("merge", replace(late, sessions=squat_twice), BUILT_IN, in_turn)
    assert taken_over(replace(late, sessions=squat_twice)) == {"2.3": ["squat"]}
    assert part.text.startswith(
        "Put a part of the main work of the 2 missed sessions into the next session, with half its sets: squat. All "
        "else of them is left out. The longest of them then takes about "
    )
    assert part.cautions == ("1 lift could not be taken over: squat of 11 March 2026.",)


def test_leaving_out_all_that_is_left_says_that_the_block_is_over() -> None:
    all_but_the_last = [(week, number) for week in (1, 2, 3) for number in (1, 2, 3)][:-1]
    over = propose("drop", running(day(3, 3) + timedelta(days=3), *all_but_the_last), BUILT_IN, in_turn)
    assert over.text == "Leave out Pull of 20 March 2026: no session is left after that, and the block is over."
    assert over.cautions == ()
    none_done = propose("drop", running(day(3, 3) + timedelta(days=30)), BUILT_IN, in_turn)
    assert none_done.text == "Leave out the 9 missed sessions: no session is left after that, and the block is over."


def test_what_is_taken_and_not_proposed_comes_to_the_same_as_something_that_is() -> None:
    # The whole second week was missed: doing it again is going on with it.
    late = running(day(2, 3) + timedelta(days=2), *FIRST_WEEK)
    shown = {one.kind: one for one in proposals(late, BUILT_IN, in_turn)}
    assert "repeat" not in shown
    assert propose("repeat", late, BUILT_IN, in_turn).changes == shown["shift"].changes


def test_a_week_done_again_begins_with_its_first_session() -> None:
    late = running(day(2, 3) + timedelta(days=2), *FIRST_WEEK, (2, 1))  # Sunday; press and pull were missed
    again = propose("repeat", late, BUILT_IN, in_turn)
    assert [(one.week, one.number, one.to.day) for one in again.changes if isinstance(one, Further)] == [(2, 1, 16)]
    assert [(one.session, one.to.day) for one in again.changes if isinstance(one, Move)] == [
        ("2.2", 18), ("2.3", 20), ("3.1", 23), ("3.2", 25), ("3.3", 27),
    ]  # fmt: skip
    assert "Do week 2 again from its first session" in again.text
    assert again.effect.further == 1


def test_an_older_miss_is_only_skipped_when_training_went_on_since() -> None:
    # week 1's press was missed long ago; this week's pull was missed yesterday
    late = running(day(2, 3) + timedelta(days=1), (1, 1), (1, 3), (2, 1), (2, 2))
    assert [one.id for one in current(late)] == ["2.3"]
    shifted = propose("shift", late, BUILT_IN, in_turn)
    assert shifted.changes[0] == Skip(session="1.2", was=day(1, 2))
    assert [one.session for one in shifted.changes if isinstance(one, Move)] == ["2.3", "3.1", "3.2", "3.3"]


def test_a_return_begins_one_week_back_after_two_weeks_and_two_after_four() -> None:
    back = day(3, 3) + timedelta(days=10)
    away = running(back, *FIRST_WEEK, (2, 1), (2, 2), (2, 3), weeks=5, absent_days=17)
    assert back_to(away) == 2
    assert back_to(replace(away, absent_days=28)) == 1
    assert back_to(replace(away, absent_days=70)) == 1
    home = propose("return", away, BUILT_IN, in_turn)
    further = [one for one in home.changes if isinstance(one, Further)]
    assert [(one.week, one.number) for one in further] == [(2, 1), (2, 2), (2, 3)]
    assert home.text.startswith("Come back with week 2, which was done before, and let all later weeks follow")
    with pytest.raises(CannotReplan) as refused:
        propose("return", replace(away, absent_days=13), BUILT_IN, in_turn)
    assert refused.value.code == "no_absence"


def test_a_return_never_begins_with_the_week_that_is_repeated() -> None:
    # Of week 4 the squat was done. To do week 4 again is to repeat it; a return goes a week further back, as it does
    # where week 4 was not begun.
    done = [*((week, number) for week in (1, 2, 3) for number in (1, 2, 3)), (4, 1)]
    late = running(day(6, 1), *done, weeks=7, absent_days=21)
    ways = {one.kind: one for one in proposals(late, BUILT_IN, in_turn)}
    assert min(one.week for one in ways["repeat"].changes if isinstance(one, Further)) == 4
    assert min(one.week for one in ways["return"].changes if isinstance(one, Further)) == 3
    assert back_to(running(day(6, 1), *done[:-1], weeks=7, absent_days=21)) == 3
    # In the first week there is nothing before it: to come back is to repeat it, and that is told once, as that.
    first = running(day(3, 3), (1, 1), absent_days=18)
    assert "return" not in {one.kind for one in proposals(first, BUILT_IN, in_turn)}
    assert propose("return", first, BUILT_IN, in_turn).changes == propose("repeat", first, BUILT_IN, in_turn).changes


@given(
    st.lists(st.tuples(st.integers(1, 6), st.integers(1, 3)), unique=True, max_size=18),
    st.integers(14, 90),
    st.integers(0, 60),
)
def test_a_longer_absence_never_comes_back_by_a_later_week(done: list[tuple[int, int]], absent: int, more: int) -> None:
    block = running(day(6, 3), *done, weeks=6, absent_days=absent)
    assert back_to(replace(block, absent_days=absent + more)) <= back_to(block)
    if done and back_to(block) > 1:
        assert back_to(block) <= max(done)[0], "a week that was done before"


def test_each_way_that_goes_on_later_than_the_gentlest_says_so() -> None:
    # Weeks 1 and the squat of week 2 (Monday 9 March) were done; on Monday 30 March, after 21 days, week 5 begins.
    late = running(day(5, 1), *FIRST_WEEK, (2, 1), weeks=5, absent_days=21)
    ways = {one.kind: one for one in proposals(late, BUILT_IN, in_turn)}
    said = (
        "The last done was Squat of week 2 on 9 March 2026; sessions of 3 weeks were missed, and this goes on with "
        "week {}: to begin with week 1 is gentler."
    )
    weeks = {"drop": 5, "merge": 5, "shift": 2, "repeat": 2}
    assert {kind: one.cautions[:1] for kind, one in ways.items()} == {
        "return": (),
        **{kind: (said.format(week),) for kind, week in weeks.items()},
    }
    # Nobody was away for long, but a whole week is left out.
    skipped = propose("drop", running(day(3, 1), *FIRST_WEEK, absent_days=10), BUILT_IN, in_turn)
    assert skipped.cautions == (
        (
            "The last done was Pull of week 1 on 6 March 2026; sessions of 1 week were missed, and this goes on with "
            "week 3: to begin with week 2 is gentler."
        ),
    )
    assert propose("shift", running(day(3, 1), *FIRST_WEEK, absent_days=10), BUILT_IN, in_turn).cautions == ()


def test_the_sessions_of_a_planned_absence_are_thought_of_before_it() -> None:
    # Monday 2 March. Away from Tuesday 10 to Tuesday 17: press and pull of week 2, and the squat of week 3.
    block = running(MONDAY, absent_days=2)
    ahead = looking_ahead(block, [(date(2026, 3, 10), date(2026, 3, 17)), (date(2026, 5, 1), date(2026, 5, 9))])
    assert [one.id for one in missed(ahead)] == ["2.2", "2.3", "3.1"]
    # Monday the 9th is the last day before it, Wednesday the 18th the first one after it: nine days.
    assert (first_day(ahead), ahead.absent_days) == (date(2026, 3, 18), 9)
    shifted = propose("shift", ahead, BUILT_IN, in_turn)
    assert [(one.session, one.to.day) for one in shifted.changes if isinstance(one, Move)] == [
        ("2.2", 18), ("2.3", 20), ("3.1", 23), ("3.2", 25), ("3.3", 27),
    ]  # fmt: skip
    dropped = propose("drop", ahead, BUILT_IN, in_turn)
    assert dropped.text.startswith("Leave out the 3 sessions in the absence: all later sessions stay on their days.")
    assert dropped.cautions == (
        (
            "Before it comes Squat of week 2 on 9 March 2026; sessions of 2 weeks will be missed, and this goes on "
            "with week 3: to begin with week 2 is gentler."
        ),
    )
    assert looking_ahead(block, [(date(2026, 4, 1), date(2026, 4, 9))]) is block, "no session lies in it"
    late = running(day(1, 2))  # Wednesday, and Monday's squat was not done: that comes first
    assert looking_ahead(late, [(date(2026, 3, 10), date(2026, 3, 17))]) is late


def test_training_is_planned_from_the_day_after_an_absence_and_what_lies_in_it_counts_as_missed() -> None:
    away = running(day(2, 1), *FIRST_WEEK, away_until=day(2, 2))
    assert first_day(away) == day(2, 2) + timedelta(days=1)
    assert [one.id for one in missed(away)] == ["2.1", "2.2"]
    shifted = propose("shift", away, BUILT_IN, in_turn)
    assert next(one for one in shifted.changes if isinstance(one, Move)) == Move(
        session="2.1", was=day(2, 1), to=day(2, 3)
    )


def test_it_is_told_when_the_day_that_the_block_leads_to_would_be_passed() -> None:
    late = running(day(2, 2) + timedelta(days=1), *FIRST_WEEK, (2, 1), goal=date(2026, 3, 21))
    shifted = propose("shift", late, BUILT_IN, in_turn)
    assert shifted.cautions == ("The block was laid out towards 21 March 2026: it would end 2 days after that.",)
    assert propose("drop", late, BUILT_IN, in_turn).cautions == ()


@given(
    st.integers(0, 40),
    st.lists(st.tuples(st.integers(1, 4), st.integers(1, 3)), unique=True, max_size=12),
    st.integers(0, 60),
)
def test_nothing_that_was_done_is_touched_and_the_order_stays(
    ahead: int, done: list[tuple[int, int]], absent: int
) -> None:
    today = MONDAY + timedelta(days=ahead)
    block = running(today, *(one for one in done if day(*one) < today), weeks=4, absent_days=absent)
    planned = {one.id for one in block.sessions if one.planned}
    for way in proposals(block, BUILT_IN, in_turn):
        touched = [one.session for one in way.changes if not isinstance(one, Further)]
        assert set(touched) <= planned
        assert len(set(touched)) == len(touched)
        skipped = {one.session for one in way.changes if isinstance(one, Skip)}
        days = {one.id: one.date for one in block.sessions if one.planned and one.id not in skipped}
        days |= {one.session: one.to for one in way.changes if isinstance(one, Move)}
        in_order = sorted(days, key=lambda one: tuple(map(int, one.split("."))))
        assert [days[one] for one in in_order] == sorted(days.values())
        assert all(on >= today for on in days.values()), "nothing is left in the past"
        if way.kind in ("shift", "repeat", "return"):
            assert len(set(days.values())) == len(days)
