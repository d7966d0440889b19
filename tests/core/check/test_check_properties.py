"""What holds for every template: it is never refused, places exist, sums agree."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.check.check import TemplateChecked, check
from service.core.check.finding import CODES, LEVELS
from service.core.context import Context
from service.core.slots import (
    AddLoad,
    AscendingSets,
    BackOff,
    Cluster,
    ComplexPart,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SameLoad,
    SessionPlan,
    SetsAtTarget,
    Slot,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.templates import slot_faults
from service.core.units import load
from service.store.plans import week_json
from tests.core.plans import context, known, pinned

RPES = st.sampled_from([half / 2 for half in range(2, 21)])
REPS = st.integers(1, 100)
PERCENTS = st.one_of(st.integers(10, 130), st.floats(10, 130).map(lambda value: round(value, 3)))
LOADS = st.builds(load, st.sampled_from([-20, 0, 2.5, 60, 140, 400]), st.sampled_from(["kg", "lb", "step"]))
LIFTS = st.sampled_from([*BUILT_IN])


@st.composite
def ranges(draw: st.DrawFn) -> dict[str, Any]:
    reps = draw(REPS)
    return {"reps": reps, "reps_to": draw(st.one_of(st.none(), st.integers(reps, 100)))}


@st.composite
def targets(draw: st.DrawFn) -> Any:
    kind = draw(st.sampled_from(["effort", "rir", "percent", "percent", "load", "time", "distance", "free"]))
    if kind == "effort":
        return EffortTarget(**draw(ranges()), rpe=draw(RPES))
    if kind == "rir":
        return EffortTarget(**draw(ranges()), rir=draw(st.sampled_from([0, 0.5, 3, 9])))
    if kind == "percent":
        low = draw(PERCENTS)
        basis = draw(st.sampled_from(["tested", "training", "day", "rolling"]))
        days = draw(st.one_of(st.none(), st.integers(1, 14))) if basis == "day" else None
        high = draw(st.one_of(st.none(), st.just(min(130, low + 5))))
        of = draw(st.one_of(st.none(), LIFTS))
        return PercentTarget(**draw(ranges()), percent=low, percent_to=high, basis=basis, valid_days=days, of=of)
    if kind == "load":
        return LoadTarget(**draw(ranges()), load=draw(LOADS))
    if kind == "time":
        return TimeTarget(seconds=draw(st.integers(1, 7200)), load=draw(st.one_of(st.none(), LOADS)))
    if kind == "distance":
        return DistanceTarget(metres=draw(st.sampled_from([0.1, 40, 100_000])), load=draw(st.one_of(st.none(), LOADS)))
    return FreeTarget(reps=draw(st.one_of(st.none(), REPS)))


COUNTS = st.integers(1, 20)
LESS = st.sampled_from([0, 5, 8, 50, 90])
GROWING = AddLoad(when="all_sets_complete", step=load(1, "kg"))
BACK_OFFS = st.one_of(
    st.builds(lambda sets, less: BackOff(sets=sets, less_percent=less), COUNTS, LESS),
    st.builds(lambda rpe, less, most: BackOff(until_rpe=rpe, less_percent=less, most=most), RPES, LESS, COUNTS),
)
SCHEMES = st.one_of(
    st.builds(
        lambda sets, growing: SetsAtTarget(sets=sets, add_load=growing), COUNTS, st.sampled_from([None, GROWING])
    ),
    st.builds(lambda back_off: TopSet(back_off=back_off), BACK_OFFS),
    st.builds(lambda sets: TopSet(same_load=SameLoad(sets=sets)), COUNTS),
    st.builds(OpenLastSet, sets_before=st.integers(0, 5), most_reps=REPS, stop_rpe=RPES),
    st.builds(lambda low: AscendingSets(percents=(low, 100)), st.sampled_from([10, 50, 99.5])),
    st.builds(Cluster, sets=COUNTS, parts=st.integers(2, 10), rest_seconds=st.just(20)),
    st.just(Ladder()),
    st.just(MaxTest()),
)
PARTS = st.one_of(st.just(()), st.just((ComplexPart(lift="clean", reps=1), ComplexPart(lift="jerk", reps=2))))
SLOTS = st.builds(
    Slot,
    lift=LIFTS,
    scheme=SCHEMES,
    target=targets(),
    tempo=st.sampled_from([None, "3-1-x-0", "x-0-x-0", "10-0-10-0", "0-0-0-0"]),
    rest_seconds=st.sampled_from([None, 30, 600]),
    accessory=st.booleans(),
    support=st.sampled_from([(), ("wraps",), ("belt",)]),
    complex=PARTS,
).filter(lambda one: slot_faults([one], BUILT_IN) == [])
SESSIONS = st.builds(
    lambda slots, kind: SessionPlan(name="Day", slots=tuple(slots), kind=kind),
    st.lists(SLOTS, min_size=1, max_size=4),
    st.sampled_from(["block", "block", "test", "meet"]),
)
WEEKS = st.lists(
    st.builds(
        lambda sessions, lighter: WeekPlan(sessions=tuple(sessions), lighter=lighter),
        st.lists(SESSIONS, min_size=1, max_size=3),
        st.booleans(),
    ),
    min_size=1,
    max_size=3,
)
ALL = [known(lift, 100) for lift, one in BUILT_IN.items() if one.load_kind != "none"]
ATHLETES: list[Context | None] = [
    None,
    context(lifts=BUILT_IN, settings=pinned(curve="model")),  # nothing is known of them
    context(*ALL, lifts=BUILT_IN, settings=pinned(curve="model"), age_years=16),
    context(*ALL, lifts=BUILT_IN, settings=pinned(curve="brzycki"), body_weight_kg=None),
]


@pytest.mark.parametrize("ctx", ATHLETES, ids=["nobody", "new", "young", "by a curve"])
@settings(max_examples=60, deadline=None)
@given(weeks=WEEKS)
def test_any_template_that_can_be_stored_is_checked(ctx: Context | None, weeks: list[WeekPlan]) -> None:
    answer = check(weeks, BUILT_IN, ctx=ctx)
    body = {"weeks": [week_json(week) for week in weeks]}
    for one in answer.findings:
        for pointer in (one.pointer, *one.also):
            there(body, pointer)
        assert one.code in CODES
        assert one.text[0].isupper() or one.text[0] in "“1234567890"
        assert one.text.endswith((".", "?"))
    order = [LEVELS.index(one.level) for one in answer.findings]
    assert all(before <= after for before, after in pairwise(order))
    sums_agree(answer)


def there(body: Any, pointer: str) -> None:
    """Follow a JSON Pointer (RFC 6901); raises where it leads nowhere."""
    at = body
    for part in pointer.removeprefix("#/").split("/"):
        at = at[int(part)] if isinstance(at, list) else at[part]


def sums_agree(answer: TemplateChecked) -> None:
    for week in answer.weeks:
        shown = [slot for session in week.sessions for slot in session.slots]
        assert {slot.lift for slot in shown} == {one.lift for one in week.lifts}
        for one in week.lifts:
            own = [slot for slot in shown if slot.lift == one.lift]
            assert one.sets == sum(len(slot.reps) for slot in own)
            assert float(one.reps) == pytest.approx(sum(reps or 0 for slot in own for reps in slot.reps), abs=0.06)
            by_zone = sum(float(each.reps) for each in one.by_zone)
            assert by_zone + float(one.reps_unknown) == pytest.approx(float(one.reps), abs=0.2)
            assert one.hard_sets is None or 0 <= one.hard_sets <= one.sets
        for slot in shown:
            assert len(slot.reps) == len(slot.percents) == len(slot.expected_rpes) == len(slot.expected_efforts)
            for rpe, said in zip(slot.expected_rpes, slot.expected_efforts, strict=True):
                assert (rpe is None) == (said is None)
                assert said is None or said == f"RPE {rpe:g}" or (said, rpe) == ("likely to be missed", 10) or rpe <= 5
            assert all(rpe is None or 4 <= rpe <= 10 for rpe in slot.expected_rpes)
        assert all(session.minutes >= 0 for session in week.sessions)


def test_a_year_of_seven_sessions_of_twelve_slots_is_checked_in_well_under_a_second() -> None:
    """Counted by what is worked out, not by the clock: equal slots once."""
    one = SessionPlan(
        name="Long",
        slots=tuple(
            Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=EffortTarget(reps=n, rpe=8)) for n in range(1, 13)
        ),
    )
    answer = check([WeekPlan(sessions=(one,) * 7)] * 52, BUILT_IN)
    shown = {id(slot) for week in answer.weeks for session in week.sessions for slot in session.slots}
    assert len(shown) == 12
