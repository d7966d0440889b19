"""Days of a block without wishes, held against python-dateutil's recurrence rules (RFC 5545), and by hand."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from dateutil.rrule import DAILY, rrule, weekday
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.calendar import WEEKDAYS
from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import CannotLayOut, Layout, Planned, Wishes

named_days = st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True)


def block(*counts):
    """Weeks of so many sessions."""
    return [
        Planned(week=week, number=number, name=f"Day {number}")
        for week, count in enumerate(counts, 1)
        for number in range(1, count + 1)
    ]


def placed(sessions, weekdays, **how):
    """Week, number and date of each session."""
    laid = lay_out(sessions, Layout(weekdays=tuple(weekdays), **how))
    return [(one.week, one.number, one.date) for one in laid.dated]


def test_sessions_stand_on_the_stated_weekdays_in_order():
    # 2026-11-25 is a Wednesday: the first stated day on or after it is Friday the 27th, then Tuesday 1 December.
    assert placed(block(2, 2), ["tuesday", "friday"], start=date(2026, 11, 25)) == [
        (1, 1, date(2026, 11, 27)),
        (1, 2, date(2026, 12, 1)),
        (2, 1, date(2026, 12, 4)),
        (2, 2, date(2026, 12, 8)),
    ]


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), named_days, st.integers(1, 60))
def test_full_weeks_are_every_stated_weekday_from_the_start_on(start, weekdays, weeks):
    found = [on for _, _, on in placed(block(*[len(weekdays)] * weeks), weekdays, start=start)]
    named = [weekday(WEEKDAYS.index(day)) for day in weekdays]
    assert found == [at.date() for at in rrule(DAILY, dtstart=start, byweekday=named, count=weeks * len(weekdays))]


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), named_days, st.data())
def test_a_shorter_week_uses_its_first_days(start, weekdays, data):
    weeks = data.draw(st.lists(st.integers(1, len(weekdays)), min_size=1, max_size=20))
    rule = rrule(DAILY, dtstart=start, byweekday=[weekday(WEEKDAYS.index(day)) for day in weekdays])
    expected = []
    for week, count in enumerate(weeks):
        days = rule[week * len(weekdays) : (week + 1) * len(weekdays)]
        expected += [(week + 1, number + 1, days[number].date()) for number in range(count)]
    assert placed(block(*weeks), weekdays, start=start) == expected


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), named_days, st.lists(st.integers(1, 9), min_size=1, max_size=12))
def test_with_too_few_days_the_weeks_follow_each_other_day_by_day(start, weekdays, more):
    # Every week has at least as many sessions as days, so none waits for its own seven days: all days are used.
    counts = [len(weekdays) + extra - 1 for extra in more]
    found = [on for _, _, on in placed(block(*counts), weekdays, start=start)]
    named = [weekday(WEEKDAYS.index(day)) for day in weekdays]
    assert found == [at.date() for at in rrule(DAILY, dtstart=start, byweekday=named, count=sum(counts))]


def test_a_week_with_more_sessions_than_days_runs_on_and_says_so():
    # Monday 30 November 2026: four sessions on Monday, Wednesday and Friday end on the next Monday; the second week
    # has two and begins after that, the third is on its own days again.
    laid = lay_out(block(4, 2, 3), Layout(weekdays=("monday", "wednesday", "friday"), start=date(2026, 11, 30)))
    assert [str(one.date)[5:] for one in laid.dated] == [
        "11-30", "12-02", "12-04", "12-07", "12-09", "12-11", "12-14", "12-16", "12-18",
    ]  # fmt: skip
    assert laid.told == (
        "Week 1 has 4 sessions for 3 days: it runs on until Monday 7 December 2026, and the weeks after it follow.",
    )
    assert laid.unmet == ()


def test_backwards_ends_on_the_last_stated_day_on_or_before_the_date():
    # Saturday 16 January 2027; the last Friday before it is the 15th. A shorter week uses its last days.
    assert placed(block(3, 2), ["monday", "wednesday", "friday"], end=date(2027, 1, 16)) == [
        (1, 1, date(2027, 1, 4)),
        (1, 2, date(2027, 1, 6)),
        (1, 3, date(2027, 1, 8)),
        (2, 1, date(2027, 1, 13)),
        (2, 2, date(2027, 1, 15)),
    ]


def test_backwards_a_week_that_is_too_full_begins_earlier():
    laid = lay_out(block(1, 3), Layout(weekdays=("tuesday", "friday"), end=date(2027, 1, 15)))
    assert [str(one.date) for one in laid.dated] == ["2027-01-05", "2027-01-08", "2027-01-12", "2027-01-15"]
    assert laid.told == (
        "Week 2 has 3 sessions for 2 days: it begins on Friday 8 January 2027, and the week before it comes earlier.",
    )


def test_a_week_that_runs_over_names_only_weeks_that_there_are():
    # Three sessions on Tuesdays and Fridays: the third is on the Tuesday after, and no week follows the last one.
    laid = lay_out(block(2, 3), Layout(weekdays=("tuesday", "friday"), start=date(2027, 1, 5)))
    assert laid.told == ("Week 2 has 3 sessions for 2 days: it runs on until Tuesday 19 January 2027.",)
    laid = lay_out(block(3, 2), Layout(weekdays=("tuesday", "friday"), end=date(2027, 1, 15)))
    assert laid.told == ("Week 1 has 3 sessions for 2 days: it begins on Friday 1 January 2027.",)


def test_between_two_dates_it_has_to_fit():
    weekdays = ("monday", "wednesday", "friday")
    start = date(2026, 11, 30)
    last = placed(block(3, 3), weekdays, start=start, end=date(2026, 12, 11))[-1]
    assert last == (2, 3, date(2026, 12, 11))
    with pytest.raises(CannotLayOut) as refused:
        lay_out(block(3, 3), Layout(weekdays=weekdays, start=start, end=date(2026, 12, 10)))
    assert refused.value.pointer == "#/end"
    assert str(refused.value) == "must be later: session 3 of week 2, Day 3, would come on Friday 11 December 2026"


def test_a_block_of_more_than_three_years_is_refused():
    # 104 weeks of 2 sessions at one a week are 208 weeks, about four years.
    layout = Layout(weekdays=("monday", "friday"), start=date(2027, 1, 4), wishes=Wishes(most_a_week=1))
    with pytest.raises(CannotLayOut, match="more than three years"):
        lay_out(block(*[2] * 104), layout)


def test_a_weekday_named_twice_counts_once():
    found = placed(block(2), ["monday", "monday"], start=date(2026, 11, 25))
    assert [on for _, _, on in found] == [date(2026, 11, 30), date(2026, 12, 7)]


def test_weeks_run_over_new_year_and_a_leap_day():
    # 2028-02-28 is a Monday and 2028 has a 29 February: a week on is Monday 6 March.
    found = placed(block(1, 1), ["monday"], start=date(2028, 2, 28))
    assert [on for _, _, on in found] == [date(2028, 2, 28), date(2028, 3, 6)]


def test_spread_evenly_two_sessions_on_five_days_are_three_and_four_days_apart():
    # From Monday: Monday and Thursday leave gaps of 3 and 4 days, whose squares (25) are less than those of Monday and
    # Wednesday (2 and 5: 29) or Monday and Friday (4 and 3, as even, but later).
    weekdays = ("monday", "tuesday", "wednesday", "thursday", "friday")
    found = placed(block(2, 2, 2), weekdays, start=date(2026, 11, 30), spread=True)
    assert [WEEKDAYS[on.weekday()] for _, _, on in found][:2] == ["monday", "thursday"]
    gaps = [(b - a).days for (_, _, a), (_, _, b) in pairwise(found)]
    assert set(gaps) == {3, 4}
    plain = placed(block(2, 2, 2), weekdays, start=date(2026, 11, 30))
    assert [WEEKDAYS[on.weekday()] for _, _, on in plain][:2] == ["monday", "tuesday"]
