"""Layouts of all kinds: what must be is never broken, nothing is lost, and no better way was there."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.calendar import WEEKDAYS
from service.core.layout.lay_out import lay_out
from service.core.layout.wishes import Apart, CannotLayOut, Holiday, Layout, LightBefore, Planned, Wishes
from tests.core.layout import brute

START = date(2026, 11, 25)  # a Wednesday
NAMES = ("Squat", "Pull", "Press")
LIFTS = ("squat", "deadlift")

apart = st.builds(
    Apart,
    by=st.just("sessions"),
    kinds=st.lists(st.sampled_from(NAMES), min_size=1, max_size=2, unique=True).map(tuple),
    days=st.integers(1, 4),
    must=st.booleans(),
) | st.builds(
    Apart,
    by=st.just("lifts"),
    kinds=st.lists(st.sampled_from(LIFTS), min_size=1, max_size=2, unique=True).map(tuple),
    days=st.integers(1, 3),
    must=st.booleans(),
)
near = st.dates(START - timedelta(days=10), START + timedelta(days=30))
light = st.builds(LightBefore, date=near, days=st.integers(1, 4), must=st.booleans())
holiday = st.builds(
    lambda since, more: Holiday(since=since, until=since + timedelta(days=more)), near, st.integers(0, 5)
)


@st.composite
def wishes(draw, most=2):
    return Wishes(
        holidays=tuple(draw(st.lists(holiday, max_size=most))),
        apart=tuple(draw(st.lists(apart, max_size=most))),
        light_before=tuple(draw(st.lists(light, max_size=most))),
        most_a_week=draw(st.none() | st.integers(1, 4)),
    )


@st.composite
def blocks(draw, weeks=4, sessions=5):
    counts = draw(st.lists(st.integers(1, sessions), min_size=1, max_size=weeks))
    return [
        Planned(
            week=week,
            number=number,
            name=draw(st.sampled_from(NAMES)),
            heavy_in=tuple(draw(st.sets(st.sampled_from(LIFTS)))),
            heavy=draw(st.booleans()),
            occasion=draw(st.sampled_from((False, False, True))),
        )
        for week, count in enumerate(counts, 1)
        for number in range(1, count + 1)
    ]


weekdays = st.lists(st.sampled_from(WEEKDAYS), min_size=2, unique=True).map(tuple)


@st.composite
def layouts(draw):
    named = draw(weekdays)
    never = draw(st.lists(st.sampled_from(WEEKDAYS), max_size=2, unique=True))
    said = replace(draw(wishes()), never_on=tuple(never) if set(named) - set(never) else ())
    start, end = (START, None) if draw(st.booleans()) else (None, START)
    return Layout(
        weekdays=named, start=start, end=end, wishes=said, reorder=draw(st.booleans()), spread=draw(st.booleans())
    )


@settings(max_examples=150, deadline=None)
@given(blocks(), layouts())
def test_what_must_be_is_kept_and_each_session_comes_once_in_its_week_s_order(sessions, layout):
    laid = lay_out(sessions, layout)
    by_place = {(one.week, one.number): one for one in sessions}
    assert sorted((one.week, one.number) for one in laid.dated) == sorted(by_place)
    dates = [one.date for one in laid.dated]
    assert all(one < other for one, other in pairwise(dates))
    assert [one.week for one in laid.dated] == [one.week for one in sessions]
    if not layout.reorder:
        assert [(one.week, one.number) for one in laid.dated] == [(one.week, one.number) for one in sessions]
    if layout.start is None:
        assert laid.ends_on <= layout.end
    else:
        assert laid.starts_on >= layout.start
    way = [(by_place[one.week, one.number], one.date) for one in laid.dated]
    assert all(brute.training_days(replace(layout, start=on), 1)[:1] == [on] for on in dates)
    assert brute.allowed(way, layout if layout.start is not None else replace(layout, start=date(1900, 1, 1)))
    assert len(laid.unmet) == brute.unmet(way, layout)


@settings(max_examples=60, deadline=None)
@given(blocks(weeks=2, sessions=2), weekdays, wishes(), st.booleans())
def test_no_way_leaves_fewer_wishes_unmet(sessions, named, said, reorder):
    layout = Layout(weekdays=named[:4], start=START, wishes=said, reorder=reorder)
    laid = lay_out(sessions, layout)
    weeks = ((laid.ends_on - START).days + 7) // 7
    by_place = {(one.week, one.number): one for one in sessions}
    way = [(by_place[one.week, one.number], one.date) for one in laid.dated]
    found = sum(brute.over(way, layout).values()), brute.unmet(way, layout)
    assert found == brute.fewest_unmet(sessions, layout, max(weeks, 3), reorder=reorder)


@settings(max_examples=60, deadline=None)
@given(blocks(), weekdays)
def test_backwards_is_forwards_seen_from_the_end(sessions, named):
    # A mirror at the end: dates, weekdays and the order of everything turn round.
    back = lay_out(sessions, Layout(weekdays=named, end=START))
    weeks = sessions[-1].week
    turned = [
        replace(one, week=weeks + 1 - one.week, number=number) for number, one in enumerate(reversed(sessions), 1)
    ]
    mirror = {START.weekday() - ((day - START.weekday()) % 7) for day in map(WEEKDAYS.index, named)}
    forth = lay_out(turned, Layout(weekdays=tuple(WEEKDAYS[day % 7] for day in mirror), start=START))
    assert [(START - one.date).days for one in back.dated] == [(one.date - START).days for one in forth.dated][::-1]


@settings(max_examples=80, deadline=None)
@given(blocks(weeks=2, sessions=2), weekdays, wishes(), st.integers(3, 20))
def test_between_two_dates_it_is_refused_only_where_no_way_fits(sessions, named, said, length):
    end = START + timedelta(days=length)
    layout = Layout(weekdays=named[:4], start=START, end=end, wishes=said)
    fits = any(way[-1][1] <= end for way in brute.ways(sessions, layout, 4, reorder=False))
    if fits:
        assert lay_out(sessions, layout).ends_on <= end
    else:
        with pytest.raises(CannotLayOut) as refused:
            lay_out(sessions, layout)
        assert refused.value.pointer == "#/end"
