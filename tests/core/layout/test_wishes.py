"""Each wish by hand: the days, and the sentence where it cannot be met. 2026-11-30 is a Monday."""

from __future__ import annotations

from datetime import date

import pytest

from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import Apart, CannotLayOut, Holiday, Layout, LightBefore, Planned, Wishes

MONDAY = date(2026, 11, 30)
THREE = ("monday", "wednesday", "friday")
FIVE = ("monday", "tuesday", "wednesday", "thursday", "friday")


def block(*weeks, heavy=()):
    """Weeks of sessions by name; those of `heavy` are heavy in the lift beside them. One called Meet is one."""
    lifts = dict(heavy)
    return [
        Planned(
            week=week,
            number=number,
            name=name,
            heavy=name in lifts,
            heavy_in=(lifts[name],) if name in lifts else (),
            occasion=name == "Meet",
        )
        for week, names in enumerate(weeks, 1)
        for number, name in enumerate(names, 1)
    ]


def laid(sessions, weekdays, wishes, start=MONDAY, **how):
    return lay_out(sessions, Layout(weekdays=weekdays, start=start, wishes=wishes, **how))


def days(found):
    return [str(one.date)[5:] for one in found.dated]


def test_never_on_a_weekday_takes_it_from_the_weekdays():
    found = laid(block(["A", "B"]), THREE, Wishes(never_on=("wednesday",)))
    assert days(found) == ["11-30", "12-04"]
    with pytest.raises(CannotLayOut, match="must leave at least one of the weekdays") as refused:
        laid(block(["A"]), ("monday",), Wishes(never_on=("monday",)))
    assert refused.value.pointer == "#/wishes/never_on"


def test_a_holiday_moves_on_what_would_have_been_in_it():
    # Wednesday 2 December is off: the first week's third session is on Monday 7, the second week's on 9, 11 and 14.
    off = Holiday(since=date(2026, 12, 2), until=date(2026, 12, 2))
    found = laid(block(["A", "B", "C"], ["A", "B", "C"]), THREE, Wishes(holidays=(off,)))
    assert days(found) == ["11-30", "12-04", "12-07", "12-09", "12-11", "12-14"]
    (told,) = found.told
    assert told == (
        "Week 1 loses Wednesday 2 December 2026 to a holiday: it runs on until Monday 7 December 2026, and the week "
        "after it follows."
    )


def test_a_shorter_week_goes_round_a_holiday():
    off = (
        Holiday(since=date(2026, 12, 2), until=date(2026, 12, 2)),
        Holiday(since=date(2026, 12, 7), until=date(2026, 12, 9)),
    )
    found = laid(block(["A", "B"], ["A"]), THREE, Wishes(holidays=off))
    assert (days(found), found.told) == (["11-30", "12-04", "12-11"], ())


def test_two_kinds_come_apart_where_the_days_allow_it():
    # Two free days between Monday and the next: Thursday. On the first days it would be Tuesday.
    wish = Apart(by="sessions", kinds=("Squat", "Pull"), days=2)
    found = laid(block(["Squat", "Pull"]), FIVE, Wishes(apart=(wish,)))
    assert (days(found), found.unmet) == (["11-30", "12-03"], ())


def test_by_lifts_it_is_the_sessions_that_are_heavy_in_them():
    wish = Apart(by="lifts", kinds=("squat", "deadlift"), days=1)
    sessions = block(["Legs", "Arms", "Back"], heavy=[("Legs", "squat"), ("Back", "deadlift")])
    # Arms is heavy in nothing and may stand beside; Back has to leave a free day after Legs: it has one anyway.
    assert days(laid(sessions, FIVE, Wishes(apart=(wish,)))) == ["11-30", "12-01", "12-02"]
    close = block(["Legs", "Back"], heavy=[("Legs", "squat"), ("Back", "deadlift")])
    assert days(laid(close, FIVE, Wishes(apart=(wish,)))) == ["11-30", "12-02"]


def test_one_kind_alone_is_kept_apart_from_itself():
    wish = Apart(by="sessions", kinds=("Squat",), days=2)
    assert days(laid(block(["Squat", "Press", "Squat"]), FIVE, Wishes(apart=(wish,)))) == ["11-30", "12-01", "12-03"]


def test_a_wish_that_the_week_has_no_days_for_is_told():
    wish = Apart(by="sessions", kinds=("Squat", "Pull"), days=2)
    found = laid(block(["Squat", "Pull", "Press"]), THREE, Wishes(apart=(wish,)))
    assert days(found) == ["11-30", "12-02", "12-04"]
    (unmet,) = found.unmet
    assert (unmet.wish, unmet.week, unmet.number, unmet.date) == ("#/wishes/apart/0", 1, 2, date(2026, 12, 2))
    assert unmet.text == (
        "Week 1: Pull on Wednesday 2 December 2026 comes after Squat on Monday 30 November 2026 with 1 free day "
        "between them; 2 wished. Week 1 has 3 days for 3 sessions."
    )
    assert found.told == (
        "With the sessions of each week in another order all wishes would be met: ask for it with reorder.",
    )


def test_in_another_order_it_is_met_and_only_where_that_is_asked_for():
    # Squat, Press, Pull and Press, Squat and Pull in any way but neighbours: Squat first is nearest to the template.
    wish = Apart(by="sessions", kinds=("Squat", "Pull"), days=2)
    found = laid(block(["Squat", "Pull", "Press"]), THREE, Wishes(apart=(wish,)), reorder=True)
    assert [one.number for one in found.dated] == [1, 3, 2]
    assert (found.unmet, found.told) == ((), ())
    kept = laid(block(["Squat", "Press", "Pull"]), THREE, Wishes(apart=(wish,)), reorder=True)
    assert [one.number for one in kept.dated] == [1, 2, 3]
    # Nothing to win by another order: the template's stays, though two of the three are alike to the wish.
    free = laid(block(["Squat", "Press", "Squat", "Press"]), FIVE, Wishes(apart=(wish,)), reorder=True)
    assert [one.number for one in free.dated] == [1, 2, 3, 4]


def test_what_must_be_makes_the_week_longer_and_says_so():
    # Two free days after Monday: not Wednesday, so Friday; the third session is on Monday 7 then, and the week after
    # begins on Wednesday 9.
    wish = Apart(by="sessions", kinds=("Squat", "Pull"), days=2, must=True)
    found = laid(block(["Squat", "Pull", "Press"], ["Squat"]), THREE, Wishes(apart=(wish,)))
    assert (days(found), found.unmet) == (["11-30", "12-04", "12-07", "12-09"], ())
    (told,) = found.told
    assert told == (
        "Week 1 needs more days for what must be kept free: it runs on until Monday 7 December 2026, and the week "
        "after it follows."
    )


def test_weeks_are_kept_apart_from_each_other_too():
    # Pull on Friday 4 and Squat on Monday 7 have two free days between them; three are wished, so Squat waits.
    wish = Apart(by="sessions", kinds=("Squat", "Pull"), days=3)
    found = laid(block(["Squat", "Pull"], ["Squat"]), THREE, Wishes(apart=(wish,)))
    assert (days(found), found.unmet) == (["11-30", "12-04", "12-09"], ())


def test_nothing_heavy_in_the_days_before_a_date_and_the_date_itself_is_free():
    # Saturday 5 December is the meet: Thursday and Friday are to be light, so the heavy session goes to Wednesday.
    wish = LightBefore(date=date(2026, 12, 5), days=2)
    weekdays = ("monday", "wednesday", "thursday", "friday", "saturday")
    sessions = block(["Light", "Heavy", "Light", "Meet"], heavy=[("Heavy", "squat"), ("Meet", "squat")])
    found = laid(sessions, weekdays, Wishes(light_before=(wish,)))
    assert (days(found), found.unmet) == (["11-30", "12-02", "12-03", "12-05"], ())


def test_heavy_work_that_the_date_is_not_about_stands_neither_before_it_nor_on_it():
    # To Friday 25 December, two days light: Wednesday, Thursday and the day itself are no days for a heavy pull. Monday
    # the 21st is taken by what comes first: so it waits for the Monday after, or changes places, or is told.
    christmas = date(2026, 12, 25)
    monday = date(2026, 12, 21)
    must = Wishes(light_before=(LightBefore(date=christmas, days=2, must=True),))
    light_first = block(["Light", "Pull"], heavy=[("Pull", "deadlift")])
    days_of_two = ("monday", "friday")
    assert days(laid(light_first, days_of_two, must, start=monday)) == ["12-21", "12-28"]
    assert days(laid(light_first, days_of_two, must, start=monday, reorder=True)) == ["12-21", "12-25"]
    wish = Wishes(light_before=(LightBefore(date=christmas, days=2),))
    (unmet,) = laid(light_first, days_of_two, wish, start=monday).unmet
    assert unmet.text == (
        "Week 1: Pull on Friday 25 December 2026 is heavy, on the day itself; that day and the 2 days before were to "
        "be light, but for a test or a meet. Week 1 has 2 days for 2 sessions."
    )


def test_a_date_outside_of_the_block_is_told():
    # Four weeks of one session from 30 November on: their own days end with Sunday 27 December.
    sessions = block(["A"], ["A"], ["A"], ["A"], heavy=[("A", "squat")])
    for on, outside in (("2026-11-29", True), ("2026-11-30", False), ("2026-12-29", False), ("2026-12-30", True)):
        wish = LightBefore(date=date.fromisoformat(on), days=2)
        found = laid(sessions, ("wednesday",), Wishes(light_before=(wish,)))
        assert bool(found.told) == outside, on
    (told,) = found.told
    assert told == (
        "The 2 days before Wednesday 30 December 2026 are not in the block's weeks, nor is the day itself: the wish "
        "about it changes nothing."
    )
    backwards = Layout(weekdays=("wednesday",), end=date(2026, 12, 23), wishes=Wishes(light_before=(wish,)))
    assert lay_out(sessions, backwards).told == found.told


def test_a_heavy_session_that_cannot_get_out_of_the_way_is_told_or_waits_where_it_must():
    sessions = block(["Light", "Light", "Heavy"], heavy=[("Heavy", "squat")])
    wish = LightBefore(date=date(2026, 12, 5), days=1)
    found = laid(sessions, THREE, Wishes(light_before=(wish,)))
    (unmet,) = found.unmet
    assert unmet.text == (
        "Week 1: Heavy on Friday 4 December 2026 is heavy, 1 day before Saturday 5 December 2026; the day before was "
        "to be light. Week 1 has 3 days for 3 sessions."
    )
    must = LightBefore(date=date(2026, 12, 5), days=1, must=True)
    assert days(laid(sessions, THREE, Wishes(light_before=(must,)))) == ["11-30", "12-02", "12-07"]


def test_at_most_so_many_from_monday_to_sunday():
    # From Thursday 3 December: Friday, then no more than two from Monday 7 on, though three days are named.
    found = laid(block(["A", "B", "C"], ["A"]), THREE, Wishes(most_a_week=2), start=date(2026, 12, 3))
    assert days(found) == ["12-04", "12-07", "12-09", "12-14"]
    full = laid(block(["A", "B", "C"]), THREE, Wishes(most_a_week=2))
    assert days(full) == ["11-30", "12-02", "12-07"]
    assert full.told[0].startswith("Week 1 has 3 sessions, and at most 2 may be in a week: it runs on until Monday 7")


def test_of_two_wishes_that_exclude_each_other_one_is_told():
    # Squat and Pull two days apart need Thursday or Friday for Pull; light before Saturday 5 bars both. No day has all.
    wishes = Wishes(
        apart=(Apart(by="sessions", kinds=("Squat", "Pull"), days=2),),
        light_before=(LightBefore(date=date(2026, 12, 5), days=2),),
    )
    sessions = block(["Squat", "Pull"], heavy=[("Squat", "squat"), ("Pull", "deadlift")])
    found = laid(sessions, FIVE, wishes)
    assert len(found.unmet) == 1
    assert found.unmet[0].text.endswith("Other days would leave as many wishes unmet, or more.")


def test_a_wish_about_a_lift_that_no_session_is_heavy_in_is_told():
    wish = Apart(by="lifts", kinds=("squat", "deadlift"), days=2)
    found = laid(block(["Legs"], heavy=[("Legs", "squat")]), FIVE, Wishes(apart=(wish,)))
    assert found.told == ("No session is heavy in deadlift: a wish about it changes nothing.",)
