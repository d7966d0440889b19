"""Weeks, held against python-dateutil."""

from datetime import date

from dateutil.relativedelta import relativedelta
from dateutil.rrule import MO
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.calendar import same_week


@settings(max_examples=100)
@given(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.integers(-8, 8))
def test_days_share_a_week_when_the_monday_before_is_the_same(day, shift):
    def monday(of):
        return of + relativedelta(weekday=MO(-1))

    other = date.fromordinal(day.toordinal() + shift)
    assert same_week(day, other) == (monday(day) == monday(other))
