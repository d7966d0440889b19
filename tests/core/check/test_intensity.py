"""How heavy and how hard sets are: against the model's published form solved another way, and prescriptions."""

from __future__ import annotations

from dataclasses import replace
from math import log

import pytest

from service.core.catalogue import BUILT_IN
from service.core.check.basis import Reader
from service.core.check.intensity import SlotSeen, see
from service.core.loading.kits import default_kit
from service.core.prescribe.prescribe import prescribe
from service.core.records import WORK_ROLES, Plate
from service.core.slots import (
    AscendingSets,
    BackOff,
    Cluster,
    ComplexPart,
    Ladder,
    MaxTest,
    OpenLastSet,
    Slot,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.units import Number, load
from tests.core.check.making import back_off, checked, effort, percent, same_load, session, slot, week
from tests.core.plans import context, known, pinned

GROUPS = {"squat": 0.08, "deadlift": -0.06, "bench-press": 0.0}


def seen(one: Slot, *, lifted: bool = False) -> SlotSeen:
    return see(one, Reader(BUILT_IN), lifted=lifted)


def rpes(one: Slot, *, lifted: bool = False) -> list[float]:
    return [each.rpe for each in seen(one, lifted=lifted).sets if each.rpe is not None]


def percents(one: Slot) -> list[float]:
    there = seen(one)
    return [value for each in there.sets if (value := there.percent(each)) is not None]


def expected_by_halving(lift: str, share: float, reps: float, units: float) -> float:
    """RPE by the model's equation at its start, `g(n) = -factor u - 0.006 F - g'(n) bias(n)`, solved by halving."""

    def over(n: float) -> float:
        bias = 0.2 + 0.1 * max(0.0, n - reps - 1)
        g = 0.4 * log(1 + 0.116 * (n - 1))
        slope = 0.4 * 0.116 / (1 + 0.116 * (n - 1))
        return g + slope * bias + (1 + GROUPS[lift]) * log(share) + 0.006 * units

    low, high = 0.3, 40.0
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if over(middle) < 0 else (low, middle)
    return 10 - (low - reps)


@pytest.mark.parametrize("lift", sorted(GROUPS))
def test_efforts_grow_through_sets_of_one_load_by_the_fatigue_of_those_before(lift: str) -> None:
    found = rpes(slot(percent(5, 75), 4, lift))
    units = 0.0
    for rpe in found:
        assert rpe == pytest.approx(expected_by_halving(lift, 0.75, 5, units), abs=0.03)
        units += 2 ** (-(min(max(10 - rpe, 0), 8) - 2) / 1.5)  # one unit at two repetitions left
    assert found == sorted(found)
    assert found[-1] > found[0]


def test_sets_of_the_same_lift_earlier_in_the_session_cost_too() -> None:
    """Fatigue falls to zero with the lift's next session, not with its next slot."""
    five = slot(percent(5, 75), 2)
    alone = [float(rpe or 0) for rpe in told(week(session(five)), 0)]
    after = [float(rpe or 0) for rpe in told(week(session(slot(percent(3, 80), 3), five)), 1)]
    units = 0.0
    for _ in range(3):
        rpe = expected_by_halving("squat", 0.80, 3, units)
        units += 2 ** (-(min(max(10 - rpe, 0), 8) - 2) / 1.5)
    for rpe in after:
        expected = expected_by_halving("squat", 0.75, 5, units)
        assert rpe == pytest.approx(expected, abs=0.06)
        units += 2 ** (-(min(max(10 - expected, 0), 8) - 2) / 1.5)
    assert after[0] > alone[0]
    assert told(week(session(slot(percent(3, 80), 3, "deadlift"), five)), 1) == alone  # of another lift nothing
    assert told(week(session(slot(percent(3, 80), 3)), session(five)), 0, of=1) == alone  # another day


def told(one: WeekPlan, at: int, *, of: int = 0) -> list[Number | None]:
    return checked(one).weeks[0].sessions[of].slots[at].expected_rpes


def test_the_load_for_an_effort_is_where_the_equation_gives_that_effort() -> None:
    (share, *_) = percents(slot(effort(3, 8), TopSet()))
    assert expected_by_halving("squat", share / 100, 3, 0.5) == pytest.approx(8, abs=0.03)  # two build-up sets ahead
    (share, *_) = percents(slot(effort(8, 8), 1, accessory=True))
    assert expected_by_halving("squat", share / 100, 8, 0) == pytest.approx(8, abs=0.03)


def test_back_off_sets_have_their_part_taken_off_the_top_set() -> None:
    top, *others = percents(slot(effort(3, 8), back_off(2)))
    assert others == pytest.approx([0.92 * top] * 2)


def test_following_sets_are_held_half_a_point_under_the_limit() -> None:
    there = seen(slot(effort(3, 9), same_load(3)))
    first, *others = there.sets
    assert first.rpe == pytest.approx(9, abs=0.03)
    assert [one.rpe for one in others] == pytest.approx([9.0] * 3, abs=0.03)
    assert [one.written_rpe for one in others] == sorted(one.written_rpe or 0 for one in others)
    assert (others[-1].written_rpe or 0) > 9.5
    assert (others[0].kg or 0) < (first.kg or 0)


def test_nothing_is_held_in_a_meet() -> None:
    meet = seen(slot(effort(1, 9.5), 1), lifted=True)
    assert meet.limit is None
    assert meet.sets[0].rpe == pytest.approx(9.5, abs=0.03)
    assert rpes(slot(effort(1, 9.5), 1))[0] == pytest.approx(9, abs=0.03)


def test_percentages_are_told_of_the_lifts_own_max() -> None:
    assert percents(slot(percent(3, 72, of="squat"), 1, "pause-squat")) == pytest.approx([80])  # a ratio of 0.90
    assert percents(slot(percent(3, 80, "training"), 1)) == pytest.approx([76])  # 95 % of the max
    assert percents(slot(percent(3, 80), AscendingSets(percents=(75, 100)))) == pytest.approx([60, 80])


def test_back_off_sets_until_an_effort_end_when_it_is_expected() -> None:
    scheme = TopSet(back_off=BackOff(until_rpe=8.5, less_percent=2, most=8))
    found = seen(slot(effort(3, 8.5), scheme)).sets
    assert found[-1].rpe is not None
    assert found[-1].rpe >= 8.45
    assert all((one.rpe or 0) < 8.45 for one in found[1:-1])
    fewest = replace(scheme, back_off=BackOff(until_rpe=8, less_percent=2, most=8, fewest=3))
    assert len(seen(slot(effort(3, 8.5), fewest)).sets) == 1 + 3


def test_an_open_set_ends_at_its_stop_or_under_the_limit() -> None:
    def last(scheme: OpenLastSet) -> tuple[float | None, float]:
        one = seen(slot(percent(5, 75), scheme, "bench-press")).sets[-1]
        return one.reps, one.rpe or 0

    reps, rpe = last(OpenLastSet(sets_before=0))
    assert rpe <= 9 < expected_by_halving("bench-press", 0.75, (reps or 0) + 1, 0)
    assert last(OpenLastSet(sets_before=0, most_reps=6))[0] == 6
    assert last(OpenLastSet(sets_before=0, stop_rpe=7))[1] <= 7


def test_what_breaks_the_curve_or_has_no_load_has_no_efforts() -> None:
    parts = (ComplexPart(lift="clean", reps=1), ComplexPart(lift="jerk", reps=1))
    for one in (
        slot(effort(2, 8), Cluster(sets=3, parts=3, rest_seconds=20)),
        slot(percent(2, 75), 3, "clean-and-jerk", complex=parts),
        slot(percent(2, 85), 3, "snatch"),
        slot(TimeTarget(seconds=30), 3, "plank"),
        slot(effort(5, 7), Ladder()),
        slot(effort(1, 10), MaxTest()),
    ):
        assert rpes(one) == []
    assert percents(slot(percent(2, 85), 3, "snatch")) == [85] * 3


FINE = tuple(Plate(load=load(kg, "kg"), count=20) for kg in (20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01))
SLOTS = [
    slot(effort(3, 8), back_off(3)),
    slot(effort(5, 9), same_load(3)),
    slot(effort(5, 8), 5),
    slot(percent(5, 80), 5),
    slot(percent(4, 80), AscendingSets(percents=(70, 85, 100))),
    slot(effort(6, 9.5), 3),
    slot(effort(8, 8), 3, accessory=True),
]


@pytest.mark.parametrize("one", SLOTS)
@pytest.mark.parametrize("curve", ["model", "default", "epley"])
def test_loads_and_efforts_are_those_of_a_prescription_where_plates_are_fine(one: Slot, curve: str) -> None:
    kit = replace(default_kit("kg"), plates=FINE)
    ctx = context(known("squat", 150), lifts=BUILT_IN, kit=kit, settings=pinned(curve=curve))
    there = see(one, Reader(BUILT_IN, ctx))
    planned = [each for each in prescribe(one, ctx).sets if each.role in WORK_ROLES]
    assert [each.role for each in there.sets] == [each.role for each in planned]
    for mine, theirs in zip(there.sets, planned, strict=True):
        assert mine.kg == pytest.approx(float(theirs.load.value), abs=0.06)  # type: ignore[union-attr]
        assert max(mine.rpe or 0, 4) == pytest.approx(theirs.expected_rpe, abs=0.11)
