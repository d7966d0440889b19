"""A layout as it is kept in a block's row comes back as it was."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, date, datetime
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.calendar import WEEKDAYS
from service.core.layout.wishes import Apart, Holiday, Layout, LightBefore, Wishes
from service.store.blocks import Block, layout_json, layout_of

SOME = UUID("01a2241c-fbf7-7738-b07c-6761349c2e7c")
BLOCK = Block(
    id=SOME,
    athlete=SOME,
    template=SOME,
    template_version=1,
    name="Spring",
    start=date(2026, 11, 30),
    weekdays=["monday", "friday"],
    version=1,
    created_at=datetime(2026, 11, 1, tzinfo=UTC),
    layout=None,
)

day = st.dates(date(2026, 1, 1), date(2030, 1, 1))
weekdays = st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True).map(tuple)
holidays = st.builds(lambda one, other: Holiday(since=min(one, other), until=max(one, other)), day, day)
apart = st.builds(
    Apart,
    by=st.sampled_from(("sessions", "lifts")),
    kinds=st.lists(st.text(min_size=1), min_size=1).map(tuple),
    days=st.integers(1, 4),
    must=st.booleans(),
)
light = st.builds(LightBefore, date=day, days=st.integers(1, 14), must=st.booleans())
wishes = st.builds(
    Wishes,
    never_on=st.lists(st.sampled_from(WEEKDAYS), unique=True).map(tuple),
    holidays=st.lists(holidays, max_size=2).map(tuple),
    apart=st.lists(apart, max_size=2).map(tuple),
    light_before=st.lists(light, max_size=2).map(tuple),
    most_a_week=st.none() | st.integers(1, 7),
)
layouts = st.builds(
    Layout,
    weekdays=weekdays,
    start=st.none() | day,
    end=st.none() | day,
    wishes=wishes,
    places=st.dictionaries(st.sampled_from(WEEKDAYS), st.uuids()),
    reorder=st.booleans(),
    spread=st.booleans(),
)


@settings(max_examples=100)
@given(layouts)
def test_what_is_kept_comes_back(layout):
    kept = json.loads(json.dumps(layout_json(layout)))
    assert layout_of(replace(BLOCK, layout=kept)) == layout
    assert None not in kept.values()


def test_a_block_without_a_kept_layout_goes_by_its_weekdays_from_its_start():
    assert layout_of(BLOCK) == Layout(weekdays=("monday", "friday"), start=date(2026, 11, 30))
