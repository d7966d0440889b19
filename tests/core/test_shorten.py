"""A session shortened to the minutes that there are."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.plan.priorities import priority_of
from service.core.plan.sizes import minutes, work_sets
from service.core.prescribe.prescribe import resolve_session
from service.core.prescribe.shorten import one_set_less, shorten
from service.core.slots import (
    AscendingSets,
    BackOff,
    Cluster,
    EffortTarget,
    FreeTarget,
    MaxTest,
    OpenLastSet,
    SameLoad,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
)
from tests.core.plans import context, known

# Holds without warm-ups, so that times can be added up by hand: 45 s and 15 s to set up are a minute, a rest of a
# minute follows each set but the session's last, and a minute goes from slot to slot.
HOLD = Slot(lift="plank", scheme=SetsAtTarget(sets=3), target=TimeTarget(seconds=45), rest_seconds=60, accessory=True)
SIDE = replace(HOLD, lift="side-plank")
RAISE = replace(HOLD, lift="hanging-leg-raise", accessory=False)
DAY = (RAISE, HOLD, SIDE)  # 9 sets of a minute, 8 rests of one, 2 changes of one: 19 minutes


def sets(available: int, *slots: Slot, **more: object) -> list[int]:
    """Work sets that are left of each slot."""
    short = shorten(slots, available, BUILT_IN, **more)  # type: ignore[arg-type]
    return [0 if one.slot is None else work_sets(one.slot) for one in short]


def test_what_fits_stays_as_it_is() -> None:
    assert minutes(DAY, BUILT_IN) == 19
    assert sets(19, *DAY) == [3, 3, 3]
    assert [one.text(19) for one in shorten(DAY, 19, BUILT_IN)] == [None, None, None]


def test_the_last_of_the_least_important_loses_sets_first_and_then_goes() -> None:
    # each set less saves two minutes, itself and its rest
    assert sets(18, *DAY) == [3, 3, 2]
    assert sets(15, *DAY) == [3, 3, 1]
    # 6 sets, 5 rests, 1 change: 12 minutes
    assert sets(14, *DAY) == [3, 3, 0]
    assert sets(11, *DAY) == [3, 2, 0]
    # 3 sets, 2 rests: 5 minutes
    assert sets(5, *DAY) == [3, 0, 0]


def test_the_coachs_priorities_decide_what_goes() -> None:
    assert sets(14, replace(RAISE, priority=9), HOLD, replace(SIDE, priority=1)) == [0, 3, 3]
    assert sets(14, RAISE, replace(HOLD, optional=True), SIDE) == [3, 0, 3]
    assert [priority_of(one) for one in (RAISE, HOLD, replace(HOLD, optional=True), replace(HOLD, priority=2))] == [
        3, 6, 8, 2,
    ]  # fmt: skip


def test_the_last_slot_stays_with_one_set_however_short_the_time() -> None:
    assert sets(1, *DAY) == [1, 0, 0]
    assert sets(1, replace(RAISE, scheme=MaxTest())) == [5]


def test_what_was_begun_stays_and_what_is_gone_takes_no_time() -> None:
    assert sets(14, *DAY, fixed={2}) == [3, 0, 3]
    assert sets(14, *DAY, gone={0}) == [0, 3, 3]


def test_who_is_left_of_two_in_turn_stands_alone() -> None:
    # in turn: 6 sets, and a rest after each round but the last: 8 minutes
    pair = (replace(HOLD, with_next=True), replace(SIDE, priority=9))
    assert minutes(pair, BUILT_IN) == 8
    assert sets(5, *pair) == [3, 0]
    assert sets(4, *pair) == [2, 0]


def test_each_scheme_gives_its_last_sets_and_keeps_what_belongs_together() -> None:
    def left(scheme: object) -> int | None:
        less = one_set_less(Slot(lift="squat", scheme=scheme, target=FreeTarget(reps=5)))  # type: ignore[arg-type]
        return None if less is None else work_sets(less)

    assert left(SetsAtTarget(sets=1)) is None
    assert left(Cluster(sets=4, parts=3, rest_seconds=20)) == 3
    assert left(OpenLastSet(sets_before=2)) == 2
    assert left(OpenLastSet(sets_before=1)) is None
    assert left(TopSet(back_off=BackOff(sets=1, less_percent=8))) == 1
    assert left(TopSet(same_load=SameLoad(sets=2))) == 2
    assert left(TopSet()) is None
    assert left(TopSet(back_off=BackOff(less_percent=8, until_rpe=8, fewest=3, most=3))) == 3
    assert left(AscendingSets(percents=(80, 90, 100))) is None


SLOTS = st.builds(
    replace,
    st.sampled_from(DAY),
    scheme=st.builds(SetsAtTarget, sets=st.integers(1, 6)),
    priority=st.none() | st.integers(1, 9),
    optional=st.booleans(),
)


@given(st.lists(SLOTS, min_size=1, max_size=6), st.integers(1, 60))
def test_a_session_is_only_touched_where_it_is_too_long_and_then_fits_or_is_one_set(
    slots: list[Slot], available: int
) -> None:
    short = shorten(slots, available, BUILT_IN)
    left = [one.slot for one in short if one.slot is not None]
    assert left
    if minutes(slots, BUILT_IN) <= available:
        assert left == slots
    else:
        assert minutes(left, BUILT_IN) <= available or sum(work_sets(one) for one in left) == 1
    for slot, one in zip(slots, short, strict=True):
        for other, kept in zip(slots, short, strict=True):
            if priority_of(other) > priority_of(slot) and (one.slot is None or one.fewer_sets):
                assert kept.slot is None, "a less important slot is there while a more important one lost sets"


def test_the_plan_says_what_was_shortened() -> None:
    ctx = replace(context(known("squat", 150)), minutes_available=14, lifts=BUILT_IN)
    one, two, three = resolve_session(DAY, ctx)
    assert (len(one.sets), len(two.sets), three.sets, three.left_out) == (3, 3, (), True)
    assert three.text == "Left out: 14 minutes are available."
    shorter = resolve_session(DAY, replace(ctx, minutes_available=17))[2]
    assert shorter.text == "2 sets of 45 seconds. 1 set fewer than planned: 17 minutes are available."
    assert [(each.number, each.of) for each in shorter.sets] == [(1, 2), (2, 2)]


def test_what_is_still_too_long_says_how_long_it_takes() -> None:
    # five attempts of a minute and four rests of one: 9 minutes, and no attempt can be taken away
    whole = shorten((replace(RAISE, scheme=MaxTest()), HOLD), 5, BUILT_IN)
    assert [one.text(5) for one in whole] == [
        "What is left takes about 9 minutes: 5 minutes are available.",
        "Left out: 5 minutes are available.",
    ]
    # one hold of two minutes takes 2 minutes and 15 seconds
    (one,) = shorten((replace(HOLD, target=TimeTarget(seconds=120)),), 1, BUILT_IN)
    assert one.text(1) == "2 sets fewer than planned: 1 minute is available. What is left still takes about 3 minutes."
    assert all(each.takes is None for each in shorten(DAY, 5, BUILT_IN)), "it fits into 5 minutes"


def test_a_main_slot_that_takes_longer_than_there_is_says_so_in_the_plan() -> None:
    top = Slot(lift="squat", scheme=TopSet(), target=EffortTarget(reps=3, rpe=8), rest_seconds=240)
    ctx = replace(context(known("squat", 150)), minutes_available=5, lifts=BUILT_IN)
    # 4 warm-ups of 4 x 4 + 15 seconds and a minute after each, 2 sets on the way up of 3 x 4 + 15 seconds and 4 minutes
    # after each, and the top set of 27 seconds: 364 + 534 + 27 = 925 seconds, 15.4 minutes
    (found,) = resolve_session([top], ctx)
    assert found.text == "Top set of 3 at RPE 8. What is left takes about 16 minutes: 5 minutes are available."
