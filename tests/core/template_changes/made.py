"""Templates and operations as hypothesis makes them, and what makes a template valid."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from service.api.slots import WeekBody
from service.core.catalogue import BUILT_IN
from service.core.changes import operations as ops
from service.core.slots import (
    AddLoad,
    AscendingSets,
    BackOff,
    BuildUp,
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
from service.core.templates import faults
from service.core.units import load
from service.store.plans import week_json

STRENGTH = ("squat", "front-squat", "bench-press", "deadlift")
TECHNIQUE = ("snatch", "clean")
HELD = ("plank",)
NAMES = ("Legs", "Push", "Pull")

counts = st.integers(1, 20)
halves = st.integers(2, 20).map(lambda twice: twice / 2 if twice % 2 else twice // 2)
percents = st.sampled_from([10, 12.5, 60, 72.125, 85, 100, 124, 130])


def assert_valid(weeks: tuple[WeekPlan, ...]) -> None:
    """Valid is what the body's own check takes unchanged, and what fits the lifts."""
    assert 1 <= len(weeks) <= 104
    assert faults(weeks, BUILT_IN) == []
    for week in set(weeks):
        assert WeekBody.model_validate(week_json(week)).record() == week


def reps(draw: Any) -> dict[str, int | None]:
    low = draw(st.integers(1, 30))
    return {"reps": low, "reps_to": draw(st.none() | st.integers(low, 40))}


@st.composite
def targets(draw: Any, lift: str) -> Any:
    if lift in HELD:
        return draw(st.sampled_from([TimeTarget(seconds=40), FreeTarget(), FreeTarget(reps=5)]))
    kinds = ["percent", "load", "free", "time", "distance"] + ([] if lift in TECHNIQUE else ["rpe", "rir"])
    kind = draw(st.sampled_from(kinds))
    if kind == "percent":
        low = draw(percents)
        high = draw(st.none() | percents.filter(lambda value: value >= low))
        of = draw(st.sampled_from([None, "squat", "clean"]))
        basis = draw(st.sampled_from(["tested", "training", "day"]))
        return PercentTarget(percent=low, percent_to=high, basis=basis, of=of, **reps(draw))
    if kind == "rpe":
        return EffortTarget(rpe=draw(halves), **reps(draw))
    if kind == "rir":
        return EffortTarget(rir=draw(st.integers(0, 18)) / 2, **reps(draw))
    if kind == "load":
        return LoadTarget(load=load(draw(st.integers(1, 200)), "kg"), **reps(draw))
    heavy = draw(st.sampled_from([None, load(20, "kg")]))
    if kind == "time":
        return TimeTarget(seconds=draw(st.integers(1, 90)), load=heavy)
    return DistanceTarget(metres=20, load=heavy) if kind == "distance" else FreeTarget(**reps(draw))


@st.composite
def top_sets(draw: Any) -> TopSet:
    off = BackOff(sets=draw(counts), less_percent=8)
    fewest = draw(st.none() | st.integers(1, 8))
    until = BackOff(
        less_percent=8,
        until_rpe=draw(halves),
        fewest=fewest,
        most=draw(st.integers(fewest or 1, 20)) if fewest is not None else None,
    )
    after = draw(st.sampled_from([{}, {"back_off": off}, {"back_off": until}, {"same_load": SameLoad(sets=off.sets)}]))
    rising = tuple(sorted(set(draw(st.lists(halves, min_size=1, max_size=3)))))
    return TopSet(build_up=draw(st.sampled_from([None, BuildUp(rpes=rising), BuildUp(percents=(90, 95))])), **after)


@st.composite
def slots(draw: Any, *, accessory: bool | None = None) -> Slot:
    lift = draw(st.sampled_from(STRENGTH + TECHNIQUE + HELD))
    target = draw(targets(lift))
    timed = isinstance(target, TimeTarget | DistanceTarget)
    schemes: list[Any] = [SetsAtTarget(sets=draw(counts)), draw(top_sets())]
    if not timed:
        schemes.append(OpenLastSet(sets_before=draw(st.integers(0, 20)), stop_rpe=draw(st.none() | halves)))
        schemes.append(Cluster(sets=draw(counts), parts=3, rest_seconds=20))
    if isinstance(target, EffortTarget):
        step = AddLoad(when="all_sets_complete", step=load(2.5, "kg"))
        schemes += [Ladder(), MaxTest(attempts=2), SetsAtTarget(sets=3, add_load=step)]
    if isinstance(target, PercentTarget | LoadTarget) or getattr(target, "load", None):
        schemes.append(AscendingSets(percents=(80, 90, 100)))
    scheme = draw(st.sampled_from(schemes))
    if isinstance(scheme, TopSet) and (lift in HELD or (timed and getattr(target, "load", None) is None)):
        scheme = replace(scheme, back_off=None)  # there is nothing to take off
    parts: tuple[ComplexPart, ...] = ()
    rowed = isinstance(target, PercentTarget | LoadTarget | FreeTarget) and target.reps is not None
    if rowed and isinstance(scheme, SetsAtTarget) and draw(st.booleans()):
        parts = (ComplexPart(lift=lift, reps=1), ComplexPart(lift="front-squat", reps=2))
    return Slot(
        lift=lift,
        scheme=scheme,
        target=target,
        complex=parts,
        accessory=draw(st.booleans()) if accessory is None else accessory,
        optional=draw(st.booleans()),
        with_next=draw(st.booleans()) if accessory is None else False,
        priority=draw(st.none() | st.integers(1, 9)),
        rest_seconds=draw(st.sampled_from([None, 120])),
        tempo=draw(st.sampled_from([None, "3-1-x-0"])),
    )


@st.composite
def sessions(draw: Any) -> SessionPlan:
    held = draw(st.lists(slots(), min_size=1, max_size=4))
    last = held[-1]
    held[-1] = Slot(**{name: getattr(last, name) for name in Slot.__slots__} | {"with_next": False})
    kind = draw(st.sampled_from(["block", "block", "block", "test"]))
    return SessionPlan(name=draw(st.sampled_from(NAMES)), slots=tuple(held), kind=kind)


weeks_made = st.builds(
    WeekPlan,
    sessions=st.lists(sessions(), min_size=1, max_size=3).map(tuple),
    name=st.sampled_from([None, "Heavy"]),
    lighter=st.booleans(),
)
some_weeks = st.lists(weeks_made, min_size=1, max_size=3)


@st.composite
def templates(draw: Any) -> tuple[WeekPlan, ...]:
    """Up to seven weeks of which some are alike, as in real blocks."""
    made = draw(some_weeks)
    return tuple(draw(st.lists(st.sampled_from(made), min_size=1, max_size=7)))


numbers = st.integers(1, 8)
chosen = st.none() | st.lists(numbers, min_size=1, max_size=3, unique=True).map(tuple)
which = st.builds(
    ops.Which,
    weeks=chosen,
    sessions=st.none() | st.just(("Legs",)),
    lift=st.sampled_from([None, None, "squat"]),
    accessory=st.sampled_from([None, None, True, False]),
)
at_limit = st.sampled_from(["refuse", "hold"])
a_lift = st.sampled_from(STRENGTH + TECHNIQUE + HELD)
points = st.integers(-8, 8).filter(bool).map(lambda twice: twice / 2)
SIMPLE: tuple[Any, ...] = (
    st.builds(ops.ScaleSets, percent=st.sampled_from([10, 50, 66.667, 150, 400]), which=which, at_limit=at_limit),
    st.builds(ops.ShiftEffort, rpe_points=points, which=which, at_limit=at_limit),
    st.builds(ops.ShiftPercent, percent_points=st.sampled_from([-40, -2.5, 5]), which=which, at_limit=at_limit),
    st.builds(ops.ExchangeLift, lift=a_lift, to_lift=a_lift, weeks=chosen),
)
"""Operations that leave every week, session and slot at its place."""
some_operation = st.one_of(
    *SIMPLE,
    st.builds(ops.AddWeek, after=st.integers(0, 8), week=weeks_made),
    st.builds(ops.RepeatWeek, week=numbers, times=st.integers(1, 40), after=st.none() | st.integers(0, 8)),
    st.builds(ops.DropWeeks, weeks=st.lists(numbers, min_size=1, max_size=3).map(tuple)),
    st.permutations(range(1, 5)).map(lambda order: ops.ReorderWeeks(order=tuple(order))),
    st.builds(ops.InsertLighterWeek, after=numbers, of=st.none() | numbers),
    st.builds(ops.AddAccessory, slot=slots(accessory=True), session=st.sampled_from(NAMES), weeks=chosen),
    st.builds(
        ops.TrimAccessories,
        most_sets=st.none() | st.integers(1, 4),
        most_slots=st.none() | st.integers(0, 2),
        weeks=chosen,
    ),
    st.builds(ops.Stretch, weeks=st.integers(1, 104)),
)
