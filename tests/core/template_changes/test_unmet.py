"""Wishes that a block's sessions meet no longer once they follow another version, by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from service.core.catalogue import BUILT_IN
from service.core.changes.follow import Follows, Key, follow
from service.core.changes.unmet import newly_unmet
from service.core.layout.wishes import Apart, Layout, LightBefore, Unmet, Wishes
from service.core.replan.records import BlockSession
from service.core.slots import EffortTarget, SessionPlan, SetsAtTarget, Slot

MONDAY = date(2026, 11, 23)
SQUAT = Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=EffortTarget(reps=3, rpe=8.5))
PULL = Slot(lift="deadlift", scheme=SetsAtTarget(sets=3), target=EffortTarget(reps=3, rpe=8.5))
CURL = Slot(lift="dumbbell-curl", scheme=SetsAtTarget(sets=2), target=EffortTarget(reps=12, rir=4), accessory=True)
LEGS = SessionPlan(name="Legs", slots=(SQUAT,))
BACK = SessionPlan(name="Back", slots=(PULL,))
ARMS = SessionPlan(name="Arms", slots=(CURL,))
STANDING = {(1, 1): LEGS, (1, 2): ARMS, (2, 1): LEGS}
DAYS = {(1, 1): MONDAY, (1, 2): MONDAY + timedelta(days=2), (2, 1): MONDAY + timedelta(days=7)}


def block() -> list[BlockSession]:
    """Legs on Monday, arms on Wednesday, and legs on the Monday after."""
    return [
        BlockSession(
            id=f"{key[0]}.{key[1]}",
            week=key[0],
            number=key[1],
            date=DAYS[key],
            planned=True,
            done=False,
            plan=plan,
        )
        for key, plan in STANDING.items()
    ]


def told(version: dict[Key, SessionPlan], wishes: Wishes, *weekdays: str) -> list[Unmet]:
    """What is told when the block follows a version."""
    days = weekdays or ("monday", "wednesday", "saturday", "sunday")
    layout = Layout(weekdays=days, start=MONDAY, wishes=wishes)  # type: ignore[arg-type]
    found: list[Follows] = follow(block(), version, 1, layout, BUILT_IN)
    return newly_unmet(block(), found, wishes, BUILT_IN)


def heavy_apart(days: int, *, must: bool = False) -> Wishes:
    return Wishes(apart=(Apart(by="lifts", kinds=("squat", "deadlift"), days=days, must=must),))


def test_an_added_session_that_comes_too_near_to_one_that_stands_is_told() -> None:
    # a third session of week 1 comes on Saturday 28 November: one free day before the legs of Monday
    added = STANDING | {(1, 3): BACK}
    (one,) = told(added, heavy_apart(2))
    assert (one.wish, one.week, one.number, one.date) == ("#/wishes/apart/0", 2, 1, date(2026, 11, 30))
    assert one.text == (
        "Week 2: Legs on Monday 30 November 2026 comes after Back on Saturday 28 November 2026 with 1 free day between "
        "them; 2 wished."
    )
    (must,) = told(added, heavy_apart(2, must=True))
    assert must.text.endswith("with 1 free day between them; 2 must be.")
    assert told(added, heavy_apart(1)) == []
    assert told(STANDING | {(1, 3): ARMS}, heavy_apart(2)) == []


def test_names_count_as_lifts_do() -> None:
    arms = Wishes(apart=(Apart(by="sessions", kinds=("Arms",), days=3),))
    assert [(one.week, one.number) for one in told(STANDING | {(1, 3): ARMS}, arms)] == [(1, 3)]


def test_heavy_work_before_a_date_that_was_to_be_kept_light_is_told() -> None:
    sunday = Wishes(light_before=(LightBefore(date=date(2026, 11, 29), days=2),))
    (one,) = told(STANDING | {(1, 3): BACK}, sunday)
    assert (one.wish, one.date) == ("#/wishes/light_before/0", date(2026, 11, 28))
    assert one.text == (
        "Week 1: Back on Saturday 28 November 2026 is heavy, 1 day before Sunday 29 November 2026; the 2 days before "
        "were to be light."
    )
    assert told(STANDING | {(1, 3): ARMS}, sunday) == []


def test_a_session_that_becomes_heavy_is_told_as_one_that_is_added() -> None:
    # arms on Wednesday become heavy: one free day after the legs of Monday
    (one,) = told(STANDING | {(1, 2): BACK}, heavy_apart(2))
    assert (one.week, one.number, one.date) == (1, 2, date(2026, 11, 25))


def test_what_was_not_met_before_is_not_told_again_nor_what_was_left_out() -> None:
    wishes = Wishes(apart=(Apart(by="lifts", kinds=("squat",), days=9),))  # legs are a week apart as they stand
    harder = SessionPlan(name="Legs", slots=(replace(SQUAT, target=EffortTarget(reps=2, rpe=9)),))
    assert told({key: harder if plan is LEGS else plan for key, plan in STANDING.items()}, wishes) == []
    layout = Layout(weekdays=("monday", "wednesday", "saturday"), start=MONDAY)
    left_out = [replace(one, planned=one.id != "2.1") for one in block()]
    found = follow(left_out, STANDING | {(1, 3): BACK}, 1, layout, BUILT_IN)
    assert newly_unmet(left_out, found, heavy_apart(2), BUILT_IN) == []
