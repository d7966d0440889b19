"""Dates of a block, held against python-dateutil's recurrence rules (RFC 5545)."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import DAILY, MO, rrule, weekday
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.calendar import WEEKDAYS, DatedSession, TooFewWeekdays, lay_out, same_week

named_days = st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True)


def test_sessions_stand_on_the_stated_weekdays_in_order():
    # 2026-11-25 is a Wednesday: the first stated day on or after it is Friday the 27th, then Tuesday 1 December.
    found = lay_out([2, 2], date(2026, 11, 25), ["tuesday", "friday"])
    assert found == (
        DatedSession(week=1, number=1, date=date(2026, 11, 27)),
        DatedSession(week=1, number=2, date=date(2026, 12, 1)),
        DatedSession(week=2, number=1, date=date(2026, 12, 4)),
        DatedSession(week=2, number=2, date=date(2026, 12, 8)),
    )


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), named_days, st.integers(1, 60))
def test_full_weeks_are_every_stated_weekday_from_the_start_on(start, weekdays, weeks):
    found = [one.date for one in lay_out([len(weekdays)] * weeks, start, weekdays)]
    rule = rrule(
        DAILY,
        dtstart=start,
        byweekday=[weekday(WEEKDAYS.index(day)) for day in weekdays],
        count=weeks * len(weekdays),
    )
    assert found == [moment.date() for moment in rule]


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), named_days, st.data())
def test_a_shorter_week_uses_its_first_days(start, weekdays, data):
    weeks = data.draw(st.lists(st.integers(0, len(weekdays)), min_size=1, max_size=20))
    rule = rrule(DAILY, dtstart=start, byweekday=[weekday(WEEKDAYS.index(day)) for day in weekdays])
    expected = []
    for week, count in enumerate(weeks):
        days = rule[week * len(weekdays) : (week + 1) * len(weekdays)]
        expected += [(week + 1, number + 1, days[number].date()) for number in range(count)]
    assert [(one.week, one.number, one.date) for one in lay_out(weeks, start, weekdays)] == expected


def test_a_week_with_more_sessions_than_weekdays_is_named():
    with pytest.raises(TooFewWeekdays, match=r"Week 3 has 4 sessions, but 3 weekdays are named") as refused:
        lay_out([3, 3, 4], date(2026, 11, 25), ["monday", "wednesday", "friday"])
    assert refused.value.week == 3


def test_a_weekday_named_twice_counts_once():
    with pytest.raises(TooFewWeekdays, match="1 weekday is named"):
        lay_out([2], date(2026, 11, 25), ["monday", "monday"])


def test_weeks_run_over_new_year_and_a_leap_day():
    # 2028-02-28 is a Monday and 2028 has a 29 February: a week on is Monday 6 March.
    assert [one.date for one in lay_out([1, 1], date(2028, 2, 28), ["monday"])] == [date(2028, 2, 28), date(2028, 3, 6)]


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.integers(-8, 8))
def test_days_share_a_week_when_the_monday_before_is_the_same(day, shift):
    def monday(of):
        return of + relativedelta(weekday=MO(-1))

    other = date.fromordinal(day.toordinal() + shift)
    assert same_week(day, other) == (monday(day) == monday(other))
