"""The first load that grows after a newcomer's ladder, and when a lift is known well enough to go by effort."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.adjust.adjust import next_set
from service.core.adjust.facts import facts
from service.core.adjust.ladder import climb
from service.core.answers import NextSet
from service.core.context import Context, Telling
from service.core.errors import NotComputable
from service.core.prescribe.add_load import DoneThen, move, summed
from service.core.prescribe.from_ladder import Rung, found_by_ladder, ladder_before
from service.core.prescribe.prescribe import prescribe, resolve_session
from service.core.prescribe.too_heavy import not_once
from service.core.records import Bar, DoneSet, Kit, Override, PastWork, Settings, Stack
from service.core.returning import Eased
from service.core.slots import (
    AddLoad,
    EffortTarget,
    FreeTarget,
    Ladder,
    LoadTarget,
    PercentTarget,
    SetsAtTarget,
    Slot,
    Target,
)
from service.core.units import load
from tests.core.plans import TODAY, context, effort, known, slot, unexplained, values
from tests.core.test_ladder import fine, ladder, step

GROWS = AddLoad(when="all_sets_complete", step=load(2.5, "kg"), after_failures=2, less_percent=10)
UNTIL_SURE = replace(GROWS, until_sure=True)


def grows(target: Target, add: AddLoad = GROWS, lift: str = "squat") -> Slot:
    return Slot(lift=lift, scheme=SetsAtTarget(sets=3, add_load=add), target=target)


def rung(kg: float, left: float | None, reps: int = 5, **more: Any) -> Rung:
    return Rung(load(kg, "kg"), reps, left, **{"whole": True, **more})


def climbed(*rungs: Rung, lift: str = "squat", ago: int = 3) -> PastWork | None:
    return found_by_ladder(ladder(lift), lift, TODAY - timedelta(days=ago), rungs)


def found(kg: float = 40, left: float = 3, reps: int = 5, **more: Any) -> PastWork:
    one = climbed(rung(kg, left, reps), **more)
    assert one is not None
    return one


def grown(on: Slot, kg: float, *reps: int, ago: int = 2) -> PastWork:
    one = summed(on, on.lift, TODAY - timedelta(days=ago), [DoneThen(load(kg, "kg"), count) for count in reps])
    assert one is not None
    return one


def after(*past: PastWork | None, **more: Any) -> Context:
    return context(**more, progress=tuple(one for one in past if one is not None))


def asked(on: Slot, ctx: Context) -> list[float | None]:
    return values(prescribe(on, ctx).sets, "target_set")


EFFORT, FREE = EffortTarget(reps=5, rpe=8), FreeTarget(reps=5)


@pytest.mark.parametrize("target", [EFFORT, FREE, PercentTarget(reps=5, percent=70, basis="tested")])
def test_the_first_session_has_the_working_load_again(target: Target) -> None:
    """40 kg with three left: nothing is added, though the set was complete, and the max of 100 kg says 70 or 80."""
    ctx = after(found(40), settings=Settings())
    ctx.maxes = (known("squat", 100),)
    assert asked(grows(target), ctx) == [40] * 3
    why = next(one for one in prescribe(grows(target), ctx).sets if one.role == "target_set").why
    assert why[0].text == (
        "3 days ago a ladder found 40 kg: 5 repetitions with 3 left. The load starts with it, nothing is added."
    )
    assert [one.formula for one in why] == ["ladder_load", "loadable"]
    assert not [left for one in why for left in unexplained(one)]


def test_a_written_load_stays_and_says_so() -> None:
    on = grows(LoadTarget(reps=5, load=load(30, "kg")))
    assert asked(on, after(found(40))) == [30] * 3
    why = next(one for one in prescribe(on, after(found(40))).sets if one.role == "target_set").why
    told = next(one for one in why if one.formula == "ladder_load")
    assert told.text == "3 days ago a ladder found 40 kg; the plan states its own load, which stays."
    assert not list(unexplained(told))


def test_after_the_first_session_the_rule_goes_on_from_what_was_done_in_it() -> None:
    on = grows(EFFORT)
    assert asked(on, after(found(40), grown(on, 40, 5, 5, 5))) == [42.5] * 3
    assert asked(on, after(found(40), grown(on, 40, 5, 4, 4))) == [40] * 3
    # the ladder is neither a session that failed nor one that was complete
    failures = (found(40), grown(on, 40, 5, 4, 4))
    assert move(tuple(one for one in failures if one.left is None), GROWS).count == 1
    # a new ladder since then starts it anew
    assert asked(on, after(grown(on, 40, 5, 5, 5, ago=9), found(45))) == [45] * 3
    # what grew by another target is a session since the ladder all the same
    other = grows(EffortTarget(reps=8, rpe=8))
    assert ladder_before((found(40), grown(other, 35, 8, 8, 8)), on) is None


def test_another_lifts_ladder_says_nothing() -> None:
    assert asked(grows(FREE, lift="press"), after(found(40))) == [None] * 3


def test_more_repetitions_take_less_and_fewer_no_more() -> None:
    """Five with three left are eight possible, 78.84 %; eight that leave three are eleven, (1 + 1.16)^-0.4 = 73.49 %.

    40 x 73.49 / 78.84 = 37.29, the nearest is 37.5. Of a range its top: 8 to 12 leaves three of fifteen, 66.82 %: 33.9.
    """
    assert asked(grows(EffortTarget(reps=8, rpe=8)), after(found(40))) == [37.5] * 3
    assert asked(grows(FreeTarget(reps=8, reps_to=12)), after(found(40))) == [35] * 3
    assert asked(grows(EffortTarget(reps=3, rpe=8)), after(found(40))) == [40] * 3
    why = next(
        one for one in prescribe(grows(EffortTarget(reps=8, rpe=8)), after(found(40))).sets if one.role == "target_set"
    ).why
    assert not [left for one in why for left in unexplained(one)]


def test_on_the_way_back_the_working_load_is_eased() -> None:
    """20 days away, 10 % off: 36 of 40, nearest 35 or 37.5."""
    away = Eased(0.9, 1.0, 20, TODAY + timedelta(days=10), days_left=10)
    assert asked(grows(FREE), after(found(40, ago=21), eased=away))[0] in (35, 37.5)
    assert asked(grows(FREE), after(found(40, ago=3), eased=away)) == [40] * 3  # a ladder since: it has its own load


EASY = (*(rung(kg, 5, 7) for kg in (20, 22.5, 27.5, 32.5, 40, 47.5, 57.5)), rung(70, 5, 15))
"""A ladder that had all its sets while they still were easy."""


def test_a_ladder_that_was_not_at_its_end_goes_on_with_one_step() -> None:
    """Twenty possible with 70 kg, 62.77 %; five that leave three are eight, 78.84 %. For who loses repetitions 1.2
    times as fast it is (78.84 / 62.77)^(1 / 1.2) = 1.209: 84.6, down to 82.5. Eight are eleven, 73.49 %: 79.8, 77.5.
    """
    ctx = after(climbed(*EASY))
    assert asked(grows(FREE), ctx) == [82.5] * 3
    assert asked(grows(FreeTarget(reps=6, reps_to=8)), ctx) == [77.5] * 3
    why = next(one for one in prescribe(grows(FREE), ctx).sets if one.role == "target_set").why
    assert why[0].text == (
        "3 days ago a ladder had all its sets when 15 repetitions with 70 kg were still easy. It goes on from there: "
        "20.9 % more is the most for 5 repetitions that leave 3, if no more were possible than said. That is 82.5 kg."
    )
    assert [one.formula for one in why] == ["ladder_load", "loadable"]
    assert not [left for one in why for left in unexplained(one)]
    # as many again as were done leave three with 1.025: 71.8, and the next load is 72.5
    assert asked(grows(FreeTarget(reps=15)), ctx) == [70] * 3
    cap = Override(id="1", kind="cap", lift="squat", reason="", set_by="Ola", until=TODAY, load=load(75, "kg"))
    assert asked(grows(FREE), replace(ctx, overrides=(cap,))) == [75] * 3


@pytest.mark.parametrize(
    "rungs",
    [
        (*EASY[:7], rung(70, 5, 9)),  # it went on while it was easy, and ended there
        (*EASY[:7], rung(70, 4, 15)),
        (*EASY[:6], rung(77.5, None, 4, whole=False), rung(70, 5, 15)),  # something was too much
        EASY[1:],  # it was broken off, or a set of it is in doubt
        (*EASY, rung(70, None, 5)),  # the last one told nothing
    ],
)
def test_a_ladder_that_found_its_end_adds_nothing(rungs: tuple[Rung, ...]) -> None:
    assert asked(grows(FREE), after(climbed(*rungs))) == [70] * 3


def test_a_ladder_that_has_had_its_repetitions_goes_on_too() -> None:
    """Five sets of 13 are 65, all there may be: 13 with five left are 18, (1 + 1.972)^-0.4 = 64.68 %.

    (78.84 / 64.68)^(1 / 1.2) = 1.1794: 47.2 of 40, down to 45.
    """
    rungs = [rung(kg, 5, 13) for kg in (20, 25, 30, 35, 40)]
    assert asked(grows(FREE), after(climbed(*rungs))) == [45] * 3
    assert asked(grows(FREE), after(climbed(*rungs[1:]))) == [40] * 3


def test_few_repetitions_stand_for_all_where_as_many_were_possible() -> None:
    """Four with four left are eight possible: five with three left. Two with five left are no working load for five."""
    assert asked(grows(FREE), after(found(40, 4, 4))) == [40] * 3
    assert asked(grows(EffortTarget(reps=8, rpe=8)), after(found(40, 4, 4))) == [37.5] * 3  # as five with three left
    assert climbed(rung(40, 5, 2)) is None


def test_on_the_way_back_a_ladder_does_not_go_on() -> None:
    """10 % off 70 are 63, nearest 62.5."""
    away = Eased(0.9, 1.0, 20, TODAY + timedelta(days=10), days_left=10)
    assert asked(grows(FREE), after(climbed(*EASY, ago=21), eased=away)) == [62.5] * 3
    assert asked(grows(FREE), after(climbed(*EASY), eased=away)) == [70] * 3


def test_a_machines_step_is_taken_again_for_as_many_repetitions() -> None:
    tower = Stack(name="tower", lifts=("cable",), steps=tuple(load(n, "step") for n in range(1, 10)))
    one = found_by_ladder(ladder("cable"), "cable", TODAY, [Rung(load(4, "step"), 5, 3, whole=True)])
    ctx = after(one, kit=replace(context().kit, stacks=(tower,)))
    assert asked(grows(FREE, lift="cable"), ctx) == [4] * 3
    assert asked(grows(FreeTarget(reps=8), lift="cable"), ctx) == [None] * 3


def test_what_a_ladder_found_by_its_sets() -> None:
    assert found(40).load == load(40, "kg")
    assert climbed(rung(20, 5), rung(30, 4), rung(35, 1)).load == load(30, "kg")  # type: ignore[union-attr]
    assert climbed(rung(20, 5), rung(30, 4), rung(35, 2)).load == load(35, "kg")  # type: ignore[union-attr]
    assert climbed(rung(20, 5), rung(25, None, 3, whole=False)).load == load(20, "kg")  # type: ignore[union-attr]
    assert climbed(rung(20, None)) is None
    assert climbed(rung(20, 1)) is None
    assert climbed(rung(20, 5), rung(30, 4, painful=True)).load == load(20, "kg")  # type: ignore[union-attr]
    assert climbed(rung(30, 4), rung(30, None, 3, whole=False)) is None
    assert climbed() is None


said = st.lists(
    st.tuples(st.sampled_from((None, 0, 1, 2, 3, 4, 5, 5, 5)), st.sampled_from((True, True, True, False))), max_size=9
)


@settings(max_examples=60, deadline=None)
@given(answers=said, lift=st.sampled_from(("squat", "bench-press")))
def test_what_grows_starts_from_what_the_ladder_told(answers: list[tuple[int | None, bool]], lift: str) -> None:
    """However it was answered: the load that it named as the working load, where all repetitions were done with it."""
    ctx = fine(0.5, 1.25, 2.5, 5, 10)
    done: list[DoneSet] = []
    for left, whole in answers:
        coming = next_set(ladder(lift), ctx, done)
        if not isinstance(coming, NextSet) or coming.load is None:
            break
        kg = float(coming.load.value)
        made = {} if whole else {"made": False, "ended_by": "strength"}
        done.append(step(kg, left if whole else None, 5 if whole else 4, lift, **made))
    rungs = [
        Rung(one.load, one.reps, None if one.rir is None else float(one.rir), whole=one.made)
        for one in done
        if one.load is not None
    ]
    one = found_by_ladder(ladder(lift), lift, TODAY, rungs)
    at = climb(facts(ladder(lift), ctx, prescribe(ladder(lift), ctx)), done)
    if at.ends in ("found", "harder", "before", "too_far") and at.found is not None and at.found.left is not None:
        assert one is not None
        assert one.load == at.found.load
    if at.ends == "too_heavy":
        assert one is None
    if one is not None:
        assert one.load in [each.load for each in at.steps]


def told(ctx: Context, sets: int, days: int) -> Context:
    return replace(ctx, telling=(Telling(lift="squat", support="unsupported", sets=sets, days=days),))


def test_narrow_numbers_are_not_enough_without_sets_on_days() -> None:
    """A max from 60 days ago that a pinned curve takes for certain: no range could be narrower, and no set tells it."""
    on = grows(EFFORT, UNTIL_SURE)
    past = after(grown(on, 40, 5, 5, 5), settings=context().settings)
    past.maxes = (known("squat", 100, days=60),)
    for sets, days, sure in ((0, 0, False), (2, 1, False), (12, 2, False), (5, 3, False), (6, 3, True)):
        ctx = told(past, sets, days)
        first = next(one for one in prescribe(on, ctx).sets if one.role == "target_set")
        why = first.why[0]
        assert (first.load != load(42.5, "kg"), why.formula) == (sure, "until_sure"), (sets, days)
        assert not list(unexplained(why))
        if not sure:
            assert "Before 6 on 3 days, or a test, that is not believed" in why.text
    # a test tells it from both sides
    tested = replace(told(past, 0, 0), maxes=(known("squat", 100, days=56),))
    assert next(one for one in prescribe(on, tested).sets if one.role == "target_set").load != load(42.5, "kg")
    # what is told of another class of support does not count
    wraps = replace(past, telling=(Telling(lift="squat", support="wraps", sets=9, days=4),))
    assert asked(on, wraps) == [42.5] * 3


def test_two_easy_sets_of_one_day_never_lead_to_the_target() -> None:
    """After a ladder the numbers may look narrow at once."""
    ctx = fine(1.25, 2.5, 5, 10)
    done = [step(20, 5, 15), step(22.5, 5, 15), step(27.5, 3)]
    at = climb(facts(ladder(), ctx, prescribe(ladder(), ctx)), done)
    assert at.ends == "found"
    on = grows(EFFORT, UNTIL_SURE)
    later = replace(ctx, progress=(found(27.5),))
    assert asked(on, later) == [27.5] * 3


BARE = Kit(bars=(Bar(name="bar", load=load(15, "kg")),), collars=load(0, "kg"), plates=(),
           dumbbells=(load(4, "kg"), load(2, "kg")))  # fmt: skip
NEVER = [Rung(load(15, "kg"), 0, None, whole=False)]


def of_fives(**more: Any) -> Slot:
    add = AddLoad(when="all_sets_complete", step=load(2.5, "kg"), after_failures=1, less_percent=10, **more)
    return slot(effort(5, 7), SetsAtTarget(sets=3, add_load=add), "press")


def never_lifted(done: Sequence[Rung] = NEVER) -> PastWork | None:
    ladder = Slot(lift="press", scheme=Ladder(), target=EffortTarget(reps=5, rir=3))
    return not_once(ladder, "press", TODAY - timedelta(days=3), done)


def test_a_bar_that_did_not_go_up_once_is_not_asked_for_again() -> None:
    """Nobody is to try 15 kg again of whom 0 of 5 is known; a lighter bar of the place may be tried."""
    found = never_lifted()
    assert found is not None
    for more in ({}, {"until_sure": True}):
        ctx = replace(context(known("press", 14, "rolling", days=3), kit=BARE), progress=(found,))
        with pytest.raises(NotComputable, match="15 kg, the lightest for the press here, did not go up once"):
            prescribe(of_fives(**more), ctx)
        (shown,) = resolve_session([of_fives(**more)], ctx)
        assert [one.load for one in shown.sets] == [None] * 3
        assert shown.sets[0].text == (
            "5 repetitions: the lightest here was too heavy the last time, so choose something easier with the coach."
        )
        (caution,) = shown.cautions
        assert caution.text == (
            "15 kg, the lightest for the press here, did not go up once 3 days ago: choose an easier variation "
            "with the coach, for example with dumbbells, of which the lightest pair is 2 kg in each hand."
        )
    long_ago = replace(found, on=TODAY - timedelta(days=57))
    assert prescribe(of_fives(), replace(ctx, progress=(long_ago,))).sets[-1].load == load(15, "kg")
    lighter = replace(BARE, bars=(*BARE.bars, Bar(name="light", load=load(7.5, "kg"))))
    ctx = replace(context(known("press", 14, "rolling", days=3), kit=lighter), progress=(found,))
    assert prescribe(of_fives(), ctx).sets[-1].load == load(7.5, "kg")


def test_what_the_lifter_chose_instead_is_gone_on_with() -> None:
    """10 kg of an implement that the place does not list: nothing heavier is asked for after it."""
    found = never_lifted()
    assert found is not None
    ctx = replace(context(known("press", 14, "rolling", days=3), kit=BARE), progress=(found,))
    (plan,) = resolve_session([of_fives()], ctx)
    done = DoneSet(lift="press", role="target_set", load=load(10, "kg"), reps=5, rir=3)
    coming = next_set(of_fives(), ctx, [done], plan=plan)
    assert isinstance(coming, NextSet)
    assert (coming.load, coming.reps) == (load(10, "kg"), 5)
    assert coming.text.startswith("5 with 10 kg again")


def test_the_same_holds_in_a_block_and_some_repetitions_are_gone_on_from() -> None:
    """10 % less than 15 is 13.5, which nothing here hangs as: it is said so."""
    on, ctx = of_fives(), context(known("press", 17), kit=BARE)

    def after(*reps: int) -> Context:
        done = [DoneThen(load(15, "kg"), count) for count in reps]
        one = summed(on, "press", TODAY - timedelta(days=3), done)
        assert one is not None
        return replace(ctx, progress=(one,))

    with pytest.raises(NotComputable, match="did not go up once"):
        prescribe(on, after(0))
    some = prescribe(on, after(3, 2, 2))
    first = next(one for one in some.sets if one.role == "target_set")
    assert first.load == load(15, "kg")
    told = next(one for one in first.why if one.formula == "take_load_off").text
    assert told == (
        "1 session with 15 kg was not complete, 3 days ago: 10 % less is 13.5 kg, and nothing lighter than 15 kg can "
        "be loaded here."
    )


@pytest.mark.parametrize(
    "done",
    [
        [Rung(load(15, "kg"), 1, None, whole=False)],  # once it went up
        [Rung(load(15, "kg"), 0, None, whole=False, painful=True)],
        [],
    ],
)
def test_a_ladder_that_ended_otherwise_says_nothing_of_it(done: list[Rung]) -> None:
    assert never_lifted(done) is None
