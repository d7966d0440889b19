"""What sessions took over from missed ones stays with them where the block follows another version.

The block of `test_replan`: squat on Mondays, press on Wednesdays, pull on Fridays, from Monday 2 March 2026 on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.replan.propose import CannotReplan, propose
from service.core.replan.records import BlockSession, Extend, Skip
from service.core.replan.taken import any_taken, kept, taken_over
from service.core.slots import EffortTarget, SessionPlan, SetsAtTarget, Slot
from tests.core.replan.test_replan import CURL, FIRST_WEEK, PLANS, PRESS, PULL, SQUAT, day, in_turn, running

VERSION = {(week, number): PLANS[number] for week in (1, 2, 3) for number in (1, 2, 3)}
HARDER = replace(PULL, target=EffortTarget(reps=5, rpe=8))
HALF = Slot(
    lift="bench-press", scheme=SetsAtTarget(sets=2), target=EffortTarget(reps=5, rpe=7), note="Taken over from Press"
)
"""Half of the press's four sets."""


def merged(today: int = 1, *done: tuple[int, int]) -> list[BlockSession]:
    """The block after the press of the second week was missed, and taken over by the pull of that week."""
    late = running(day(2, 2) + timedelta(days=today), *FIRST_WEEK, *(done or ((2, 1),)))
    return applied(late.sessions, propose("merge", late, BUILT_IN, in_turn).changes)


def applied(sessions: Sequence[BlockSession], changes: Sequence[object]) -> list[BlockSession]:
    """Sessions after changes that skip and extend, as the store writes them."""
    found = {one.id: one for one in sessions}
    for one in changes:
        if isinstance(one, Skip):
            found[one.session] = replace(found[one.session], planned=False)
        elif isinstance(one, Extend):
            host = found[one.session]
            slots = (*host.plan.slots[: one.at], *one.slots, *host.plan.slots[one.at :])
            found[one.session] = replace(host, plan=replace(host.plan, slots=slots))
    return list(found.values())


def by_id(sessions: Sequence[BlockSession], identity: str) -> BlockSession:
    return next(one for one in sessions if one.id == identity)


def test_what_was_taken_over_is_known_again_with_where_it_comes_from() -> None:
    block = merged()
    host = by_id(block, "2.3")
    assert host.plan.slots == (PULL, HALF, CURL)
    assert any_taken(block)
    (one,) = taken_over(host, block, PLANS[3])
    assert (one.slot, one.source.id, one.lift) == (HALF, "2.2", "bench-press")
    assert taken_over(by_id(block, "3.3"), block, PLANS[3]) == []


def test_it_stays_and_the_rest_follows_the_version() -> None:
    block = merged()
    version = VERSION | {(2, 3): SessionPlan(name="Pull", slots=(HARDER, SQUAT, CURL))}
    found = kept(block, version, VERSION, 1, BUILT_IN)
    assert found.plans == {"2.3": SessionPlan(name="Pull", slots=(HARDER, SQUAT, HALF, CURL))}
    assert found.told == ["Week 2, Pull: bench press, taken over from Press of week 2, stays as it was."]
    assert kept(block, version, VERSION, 3, BUILT_IN).plans == {}  # the week before is not moved over


def test_nothing_is_told_where_nothing_changes() -> None:
    block = merged()
    found = kept(block, VERSION, VERSION, 1, BUILT_IN)
    assert found.plans == {"2.3": by_id(block, "2.3").plan}
    assert found.told == []


def test_that_the_version_has_it_no_more_where_it_comes_from_is_told() -> None:
    block = merged()
    where = "Week 2, Pull: bench press, taken over from Press of week 2,"
    for press in ({}, {(2, 2): SessionPlan(name="Press", slots=(CURL,))}):
        version = {key: plan for key, plan in VERSION.items() if key != (2, 2)} | press
        version[2, 3] = SessionPlan(name="Pull", slots=(HARDER, CURL))
        found = kept(block, version, VERSION, 1, BUILT_IN)
        assert found.plans["2.3"].slots == (HARDER, HALF, CURL)
        assert found.told == [f"{where} stays, though the version no longer has it there."]


def test_what_the_version_has_there_itself_is_not_done_twice() -> None:
    block = merged()
    closer = replace(PRESS, lift="close-grip-bench-press")
    found = kept(block, VERSION | {(2, 3): SessionPlan(name="Pull", slots=(PULL, closer))}, VERSION, 1, BUILT_IN)
    assert found.plans["2.3"].slots == (PULL, closer)
    assert found.told == [
        "Week 2, Pull: bench press, taken over from Press of week 2, goes: the version has such work there itself."
    ]


def test_with_a_session_that_goes_what_it_had_taken_over_goes_and_is_told() -> None:
    version = {key: plan for key, plan in VERSION.items() if key != (2, 3)}
    found = kept(merged(), version, VERSION, 1, BUILT_IN)
    assert found.plans == {}
    assert found.told == ["Week 2, Pull goes, and with it what it had taken over: bench press of Press of week 2."]


def test_what_stands_in_the_plan_itself_was_not_taken_over() -> None:
    own = SessionPlan(name="Pull", slots=(PULL, HALF, CURL))  # as the template has it, by chance
    block = [replace(one, plan=own) if one.id == "2.3" else one for one in running(day(2, 2)).sessions]
    block = [replace(one, planned=False) if one.id == "2.2" else one for one in block]
    assert any_taken(block)
    assert kept(block, VERSION, VERSION | {(2, 3): own}, 1, BUILT_IN).plans == {}


@given(st.sets(st.tuples(st.integers(1, 2), st.integers(1, 3))), st.integers(1, 10))
def test_the_version_that_a_block_follows_already_changes_nothing_in_it(done: set[tuple[int, int]], today: int) -> None:
    late = running(day(2, 1) + timedelta(days=today), *done)
    try:
        changes = propose("merge", late, BUILT_IN, in_turn).changes
    except CannotReplan:
        return
    block = applied(late.sessions, changes)
    found = kept(block, VERSION, VERSION, 1, BUILT_IN)
    extended = {one.session for one in changes if isinstance(one, Extend)}
    assert found.plans == {identity: by_id(block, identity).plan for identity in extended}
    assert found.told == []
