"""A running block follows another version: what is done is not touched, and new sessions find their days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.changes.follow import NoDay, current_week, follow, plans
from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import Holiday, Layout, Planned, Wishes
from service.core.replan.records import BlockSession
from service.core.slots import FreeTarget, SessionPlan, SetsAtTarget, Slot, WeekPlan

MONDAY = date(2026, 11, 23)
ROW = Slot(lift="dumbbell-row", scheme=SetsAtTarget(sets=3), target=FreeTarget(reps=8))


def session(name: str) -> SessionPlan:
    return SessionPlan(name=name, slots=(ROW,))


def weeks_of(*names: str) -> tuple[WeekPlan, ...]:
    """Weeks by the letters of their sessions: `AB` has the sessions A and B."""
    return tuple(WeekPlan(sessions=tuple(session(letter) for letter in week)) for week in names)


def laid(weeks, layout):
    planned = [Planned(week=week, number=number, name=one.name) for (week, number), one in plans(weeks).items()]
    return [
        BlockSession(
            id=f"{one.week}.{one.number}",
            week=one.week,
            number=one.number,
            date=one.date,
            planned=True,
            done=False,
            plan=plans(weeks)[one.week, one.number],
        )
        for one in lay_out(planned, layout).dated
    ]


AWAY = Holiday(since=date(2026, 12, 7), until=date(2026, 12, 13))
layouts = st.builds(
    Layout,
    weekdays=st.sampled_from([("monday", "thursday"), ("saturday",), ("tuesday", "wednesday", "friday")]),
    start=st.integers(0, 13).map(lambda days: MONDAY + timedelta(days=days)),
    wishes=st.sampled_from([Wishes(), Wishes(never_on=("sunday",), holidays=(AWAY,))]),
)
versions = st.lists(st.text("ABC", min_size=1, max_size=4), min_size=1, max_size=5)


@settings(deadline=None)
@given(versions, versions, layouts, st.integers(1, 6), st.data())
def test_what_is_done_is_not_touched_and_the_rest_is_as_the_version_has_it(old, new, layout, from_week, data):
    standing = [
        replace(one, planned=data.draw(st.sampled_from([True, True, False]))) for one in laid(weeks_of(*old), layout)
    ]
    version = plans(weeks_of(*new))
    try:
        found = follow(standing, version, from_week, layout, BUILT_IN)
    except NoDay:
        return
    by_id = {one.id: one for one in standing}
    assert all(one.week >= from_week for one in found)
    for one in found:
        if one.session is not None:
            before = by_id[one.session]
            assert (one.week, one.number, one.date, one.before) == (
                before.week, before.number, before.date, before.plan,
            )  # fmt: skip
            assert before.planned == (one.what != "stays")
    removed = {one.session for one in found if one.what == "removed"}
    after = {one.session: one.after for one in found if one.what == "changed"}
    block = [
        ((one.week, one.number), one.date, one.planned, after.get(one.id, one.plan))
        for one in standing
        if one.id not in removed
    ]
    block += [((one.week, one.number), one.date, True, one.after) for one in found if one.what == "added"]
    block.sort()
    for key, _, planned, plan in block:
        if planned and key[0] >= from_week:
            assert plan == version[key]
    keys = [key for key, *_ in block]
    assert len(set(keys)) == len(keys)
    assert {key for key in version if key[0] >= from_week} <= set(keys)
    days = [on for _, on, *_ in block]
    assert days == sorted(set(days))  # in the template's order, one a day
    for one in found:
        if one.what == "added":
            assert not any(holiday.since <= one.date <= holiday.until for holiday in layout.wishes.holidays)
            assert one.date.strftime("%A").lower() not in layout.wishes.never_on


def test_new_weeks_follow_on_their_own_seven_days():
    layout = Layout(weekdays=("monday", "wednesday", "friday"), start=MONDAY)
    standing = laid(weeks_of("ABC", "A"), layout)
    found = follow(standing, plans(weeks_of("ABC", "A", "AB")), 1, layout, BUILT_IN)
    # Week 2 has its only session on Monday 30 November; week 3 does not begin before Monday 7 December.
    assert [one.date for one in found] == [date(2026, 12, 7), date(2026, 12, 9)]


def test_a_block_that_was_moved_by_a_week_goes_on_a_week_later():
    layout = Layout(weekdays=("monday", "wednesday"), start=MONDAY)
    standing = [
        replace(one, date=one.date + timedelta(days=7 if one.week == 2 else 0))
        for one in laid(weeks_of("AB", "A"), layout)
    ]
    found = follow(standing, plans(weeks_of("AB", "AB", "A")), 1, layout, BUILT_IN)
    # Week 2 was on Monday 30 November and is on 7 December now: its second session two days, week 3 a week after that.
    assert [(one.week, one.number, one.date) for one in found] == [
        (2, 2, date(2026, 12, 9)),
        (3, 1, date(2026, 12, 14)),
    ]


def test_a_session_done_twice_follows_twice():
    layout = Layout(weekdays=("monday",), start=MONDAY)
    first = laid(weeks_of("A"), layout)[0]
    again = replace(first, id="again", date=first.date + timedelta(days=7))
    found = follow([replace(first, planned=False), again], plans(weeks_of("B")), 1, layout, BUILT_IN)
    assert [(one.what, one.session) for one in found] == [("stays", "1.1"), ("changed", "again")]


def test_no_day_is_told_with_what_stands_in_the_way():
    layout = Layout(weekdays=("saturday", "sunday"), start=MONDAY)
    standing = laid(weeks_of("AB", "AB"), layout)
    close = [replace(one, date=date(2026, 11, 30)) if one.id == "2.1" else one for one in standing]
    with pytest.raises(NoDay, match="Session 3 of week 1 is new and has no day before 30 November 2026"):
        follow(close, plans(weeks_of("ABC", "AB")), 1, layout, BUILT_IN)


def test_the_week_of_an_athlete_is_that_of_the_next_session():
    days = [(date(2026, 11, 25), 1), (date(2026, 11, 28), 1), (date(2026, 12, 2), 2)]
    asked = [date(2026, 11, 20), date(2026, 11, 28), date(2026, 11, 29), date(2026, 12, 9)]
    assert [current_week(days, today) for today in asked] == [1, 1, 2, 2]
