"""Weeks and parts for tests: short ways to write them, and how hypothesis draws them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

from hypothesis import strategies as st

from service.core.progressions.numbers import MEMBERS, Member
from service.core.progressions.records import EachWeek, FromTo, LighterWeeks, Part, Progression
from service.core.slots import (
    AscendingSets,
    BackOff,
    BuildUp,
    Cluster,
    DistanceTarget,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    MaxTest,
    OpenLastSet,
    PercentTarget,
    SameLoad,
    Scheme,
    SessionPlan,
    SetsAtTarget,
    Slot,
    Target,
    TimeTarget,
    TopSet,
    WeekPlan,
)
from service.core.units import load


def slot(lift: str, scheme: Scheme, target: Target, **more: Any) -> Slot:
    return Slot(lift=lift, scheme=scheme, target=target, **more)


def sets(count: int) -> SetsAtTarget:
    return SetsAtTarget(sets=count)


def at(percent: float, percent_to: float | None = None, reps: int = 3) -> PercentTarget:
    return PercentTarget(reps=reps, percent=percent, percent_to=percent_to, basis="tested")


def rpe(effort: float, reps: int = 3) -> EffortTarget:
    return EffortTarget(reps=reps, rpe=effort)


def week(*sessions: SessionPlan, **more: Any) -> WeekPlan:
    return WeekPlan(sessions=sessions, **more)


def session(name: str, *slots: Slot, **more: Any) -> SessionPlan:
    return SessionPlan(name=name, slots=slots, **more)


# Any weeks: few different values, so that neighbours are often alike.

SCHEMES: st.SearchStrategy[Scheme] = st.one_of(
    st.builds(SetsAtTarget, sets=st.integers(1, 20)),
    st.builds(OpenLastSet, sets_before=st.integers(0, 4), stop_rpe=st.sampled_from([None, 8, 9.5])),
    st.builds(Cluster, sets=st.integers(1, 5), parts=st.just(2), rest_seconds=st.just(20)),
    st.just(AscendingSets(percents=(80, 90, 100))),
    st.builds(TopSet, same_load=st.builds(SameLoad, sets=st.integers(1, 5))),
    st.builds(
        TopSet,
        back_off=st.one_of(
            st.builds(BackOff, sets=st.integers(1, 6), less_percent=st.sampled_from([5, 7.5, 10])),
            st.builds(
                BackOff,
                less_percent=st.just(8),
                until_rpe=st.sampled_from([8, 9]),
                most=st.sampled_from([None, 4, 8]),
                fewest=st.sampled_from([None, 2]),
            ),
        ),
        build_up=st.sampled_from([None, BuildUp(rpes=(5.5, 7)), BuildUp(percents=(90, 95))]),
    ),
)
TARGETS: st.SearchStrategy[Target] = st.one_of(
    st.builds(EffortTarget, reps=st.integers(1, 6), rpe=st.sampled_from([6, 7, 7.5, 8, 9.5])),
    st.builds(EffortTarget, reps=st.integers(3, 5), reps_to=st.integers(6, 8), rir=st.integers(0, 4)),
    st.builds(at, st.sampled_from([60, 70, 72.5, 75]), st.sampled_from([None, 80, 85.125])),
    st.builds(LoadTarget, reps=st.just(5), load=st.sampled_from([load(40, "kg"), load(42.5, "kg"), load(60, "kg")])),
    st.builds(TimeTarget, seconds=st.sampled_from([30, 40, 50]), load=st.sampled_from([None, load(45, "lb")])),
    st.builds(DistanceTarget, metres=st.sampled_from([20, 22.5, 25])),
    st.builds(FreeTarget, reps=st.sampled_from([None, 8, 10])),
)  # fmt: skip
SLOTS = st.one_of(
    st.builds(
        Slot,
        lift=st.sampled_from(["squat", "bench-press", "row"]),
        scheme=SCHEMES,
        target=TARGETS,
        accessory=st.booleans(),
        rest_seconds=st.sampled_from([None, 120, 180]),
    ),
    st.sampled_from(
        [
            slot("squat", Ladder(), EffortTarget(reps=5, rir=3)),
            slot("squat", MaxTest(), EffortTarget(reps=1, rpe=10)),
        ]
    ),
)
SESSIONS = st.builds(
    SessionPlan,
    name=st.sampled_from(["Legs", "Push"]),
    slots=st.lists(SLOTS, min_size=1, max_size=3).map(tuple),
    kind=st.sampled_from(["block", "block", "test", "meet"]),
)


@st.composite
def any_weeks(draw: st.DrawFn) -> tuple[WeekPlan, ...]:
    """Weeks in which much repeats, some numbers move and some are anything."""
    sessions = draw(st.lists(SESSIONS, min_size=1, max_size=2).map(tuple))
    weeks = []
    for _ in range(draw(st.integers(1, 8))):
        sessions = tuple(
            replace(one, slots=tuple(draw(_other(slot_)) for slot_ in one.slots)) if draw(st.booleans()) else one
            for one in sessions
        )
        if draw(st.integers(0, 9)) == 0:
            sessions = draw(st.lists(SESSIONS, min_size=1, max_size=2).map(tuple))
        name = draw(st.sampled_from([None, None, "Build"]))
        weeks.append(WeekPlan(sessions=sessions, name=name, lighter=draw(st.integers(0, 4)) == 0))
    return tuple(weeks)


def _other(one: Slot) -> st.SearchStrategy[Slot]:
    """The slot, or one with other numbers."""
    return st.one_of(
        st.just(one),
        st.just(one),
        st.builds(replace, st.just(one), target=TARGETS),
        st.builds(replace, st.just(one), scheme=SCHEMES),
    )


# Parts in the form that they come back in.

AMOUNTS: dict[Member, list[float]] = {
    "percent": [-2.5, -1, 0.125, 1.25, 2.5],
    "rpe": [-0.5, 0.5],
    "rir": [-0.5, 0.5],
    "reps": [-1, 1],
    "sets": [-1, 1],
    "load": [-5, 2.5],
    "seconds": [5, -3],
    "rest_seconds": [15, -10],
}
"""Small enough for six weeks from the numbers below."""
WIDE: dict[str, Target] = {
    "squat": at(65, 70, reps=9),
    "bench-press": EffortTarget(reps=8, reps_to=12, rpe=7),
    "row": EffortTarget(reps=10, rir=4),
    "press": LoadTarget(reps=10, load=load(60, "kg")),
    "plank": TimeTarget(seconds=60),
    "deadlift": at(60, reps=8),
}


@st.composite
def canonical(draw: st.DrawFn) -> tuple[Part, ...]:
    """Parts as `collapse` writes them: neighbours have different names."""
    count = draw(st.integers(1, 4))
    names = draw(
        st.lists(st.sampled_from(["Start", "Build", "Peak", None, "Rest"]), min_size=count, max_size=count, unique=True)
    )
    return tuple(draw(_part(name)) for name in names)  # fmt: skip


@st.composite
def _part(draw: st.DrawFn, name: str | None) -> Part:
    lifts = draw(st.lists(st.sampled_from(sorted(WIDE)), min_size=2, max_size=4, unique=True))
    slots = [slot(lift, sets(10), WIDE[lift], rest_seconds=120) for lift in lifts]
    cut = draw(st.integers(1, len(slots) - 1))
    pattern = week(
        session("One", *slots[:cut]), session("Two", *slots[cut:]), note=draw(st.sampled_from([None, "Short"]))
    )
    weeks = draw(st.integers(1, 6))
    if weeks == 1:
        return Part(name=name, weeks=1, week=replace(pattern, lighter=draw(st.booleans())))
    lighter = draw(_lighter(weeks, slots))
    usual = [n for n in range(1, weeks + 1) if not any(n in one.numbers(weeks) for one in lighter)]
    moves = draw(_moves(slots, still=bool(lighter))) if len(usual) > 1 else []
    if lighter and len(usual) > 1:
        # Standing still shows only where the other weeks are not evenly spaced, in a number that is not made whole.
        gaps = {after - before for before, after in pairwise(usual)}
        shows = len(gaps) > 1 and any(isinstance(one, EachWeek) and one.change in ("percent", "load") for one in moves)
        if shows and draw(st.booleans()):
            lighter = [replace(one, pause=True) for one in lighter]
    if any(isinstance(one, FromTo) for one in moves) and (lighter or weeks < 4):
        moves = [one for one in moves if isinstance(one, EachWeek)]
    return Part(name=name, weeks=weeks, week=pattern, progressions=(*moves, *lighter))  # fmt: skip


@st.composite
def _lighter(draw: st.DrawFn, weeks: int, slots: list[Slot]) -> list[LighterWeeks]:
    numbers = draw(st.sets(st.integers(2, weeks), max_size=weeks // 2).map(sorted))
    if not numbers:
        return []
    way = LighterWeeks(
        sets_percent=draw(st.sampled_from([40, 60, 70])),
        percent_points=draw(st.sampled_from([None, -10, -7.5]))
        if any(_has(one, "percent") or _has(one, "load") for one in slots)
        else None,
        rpe_points=draw(st.sampled_from([None, -1, -1.5])) if any(_effort(one) for one in slots) else None,
        name=draw(st.sampled_from([None, "Lighter"])),
    )
    even = list(range(numbers[0], weeks + 1, numbers[0]))
    if len(numbers) > 1 and numbers == even:
        return [replace(way, every=numbers[0])]
    return [replace(way, weeks=tuple(numbers))]


@st.composite
def _moves(draw: st.DrawFn, slots: list[Slot], *, still: bool) -> list[Progression]:
    """Progressions in the order of the first slot that they change: of all slots, or of single lifts.

    `still`: in some slot the sets stay ten, of which each ten per cent are another number of sets.
    """
    found: list[tuple[tuple[int, int], Progression]] = []
    for number, member in enumerate(MEMBERS):
        having = [i for i, one in enumerate(slots) if _has(one, member)]
        if member not in AMOUNTS or not having:
            continue
        ways = ["still", "some"] if still and member == "sets" else ["still", "all", "some", "to"]
        how = draw(st.sampled_from(ways))
        by = draw(st.sampled_from(AMOUNTS[member]))
        if how == "all":
            found.append(((having[0], number), _each(member, by)))
        if how == "some" and len(having) > 1:
            i = draw(st.sampled_from(having))
            found.append(((i, number), replace(_each(member, by), lift=slots[i].lift)))
        if how == "to" and member == "sets":
            # From ten to eleven in four weeks or more is no even step: 10, 10.33, 10.67, 11.
            found.append(((having[0], number), FromTo(change=member, to=11)))
    return [one for _, one in sorted(found, key=lambda pair: pair[0])]


def _each(member: Member, by: float) -> EachWeek:
    if member == "load":
        return EachWeek(change=member, by_load=load(by, "kg"))
    return EachWeek(change=member, by=by)


def _effort(one: Slot) -> bool:
    return isinstance(one.target, EffortTarget)


def _has(one: Slot, member: Member) -> bool:
    if member in ("sets", "rest_seconds"):
        return True
    return getattr(one.target, member, None) is not None
