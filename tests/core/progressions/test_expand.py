"""Parts written out, week by week; every number is worked out by hand."""

from __future__ import annotations

import pytest

from service.core.progressions.expand import Unwritable, expand
from service.core.progressions.records import EachWeek, FromTo, LighterWeeks, Part, Progression
from service.core.slots import (
    AddLoad,
    BackOff,
    EffortTarget,
    LoadTarget,
    MaxTest,
    PercentTarget,
    SetsAtTarget,
    TopSet,
    WeekPlan,
)
from service.core.units import load
from tests.core.progressions.writing import at, rpe, session, sets, slot, week

SQUAT = slot("squat", sets(4), at(70, 75))
BENCH = slot("bench-press", sets(5), rpe(7.5))
ROW = slot("row", sets(3), EffortTarget(reps=8, reps_to=12, rir=2), accessory=True)
WEEK = week(session("Legs", SQUAT, ROW), session("Push", BENCH))


def part(*progressions: Progression, weeks: int = 3, pattern: WeekPlan = WEEK, name: str | None = None) -> Part:
    return Part(name=name, weeks=weeks, week=pattern, progressions=progressions)


def percents(weeks: tuple[WeekPlan, ...]) -> list[tuple[float, float | None]]:
    targets = [one.sessions[0].slots[0].target for one in weeks]
    return [(target.percent, target.percent_to) for target in targets if isinstance(target, PercentTarget)]


def counts(weeks: tuple[WeekPlan, ...], s: int = 0, i: int = 0) -> list[int]:
    schemes = [one.sessions[s].slots[i].scheme for one in weeks]
    return [scheme.sets for scheme in schemes if isinstance(scheme, SetsAtTarget)]


def efforts(weeks: tuple[WeekPlan, ...], s: int = 1, i: int = 0) -> list[float | None]:
    targets = [one.sessions[s].slots[i].target for one in weeks]
    return [
        target.rpe if target.rpe is not None else target.rir for target in targets if isinstance(target, EffortTarget)
    ]


def faults(*parts: Part) -> list[tuple[str, str]]:
    with pytest.raises(Unwritable) as refused:
        expand(parts)
    return [(fault.pointer, fault.text) for fault in refused.value.faults]


def out(at: int, progression: int, week_: int, session_: int, text: str) -> tuple[str, str]:
    said = f"does not work in week {week_}, session {session_}, slot 1: {text}"
    return f"#/parts/{at}/progressions/{progression}", said


def test_a_part_without_progressions_is_the_same_week_again_and_again():
    weeks = expand([part(weeks=2, name="Start"), part(weeks=1)])
    assert [one.name for one in weeks] == ["Start", "Start", None]
    assert all(one.sessions == WEEK.sessions for one in weeks)


def test_two_and_a_half_points_a_week_move_both_ends_of_a_band():
    assert percents(expand([part(EachWeek(change="percent", by=2.5))])) == [(70, 75), (72.5, 77.5), (75, 80)]


def test_from_four_to_six_sets():
    assert counts(expand([part(FromTo(change="sets", to=6, lift="squat"))])) == [4, 5, 6]
    # Over five weeks 4, 4.5, 5, 5.5, 6: halves go up.
    assert counts(expand([part(FromTo(change="sets", to=6, lift="squat"), weeks=5)])) == [4, 5, 5, 6, 6]


def test_a_set_more_every_second_week_is_half_a_set_a_week():
    assert counts(expand([part(EachWeek(change="sets", by=0.5, lift="squat"), weeks=4)])) == [4, 5, 5, 6]


def test_every_third_week_is_lighter_from_where_it_stands():
    eased = LighterWeeks(every=3, sets_percent=60, percent_points=-10, rpe_points=-1)
    weeks = expand([part(EachWeek(change="percent", by=2.5), EachWeek(change="rpe", by=0.5), eased, weeks=4)])
    # Week 3 would be 75 to 80 %; the count goes on, so week 4 is three steps up.
    assert percents(weeks) == [(70, 75), (72.5, 77.5), (65, 70), (77.5, 82.5)]
    assert efforts(weeks) == [7.5, 8, 7.5, 9]
    assert counts(weeks) == [4, 4, 2, 4]  # 60 % of 4 is 2.4
    assert counts(weeks, 1) == [5, 5, 3, 5]
    assert efforts(weeks, 0, 1) == [2, 2, 3, 2]  # accessories too: one more is left
    assert counts(weeks, 0, 1) == [3, 3, 2, 3]  # 60 % of 3 is 1.8
    assert [one.lighter for one in weeks] == [False, False, True, False]


def test_lighter_weeks_stand_where_the_coach_puts_them_and_may_have_a_name():
    eased = LighterWeeks(weeks=(2, 5), percent_points=-5, name="Lighter")
    weeks = expand([part(eased, weeks=5, name="Build")])
    assert [low for low, _ in percents(weeks)] == [70, 65, 70, 70, 65]
    assert [one.name for one in weeks] == ["Build", "Lighter", "Build", "Build", "Lighter"]


def test_with_a_pause_the_count_stands_still_in_a_lighter_week():
    eased = LighterWeeks(weeks=(3,), percent_points=-10, pause=True)
    weeks = expand([part(EachWeek(change="percent", by=2.5), eased, weeks=4)])
    assert [low for low, _ in percents(weeks)] == [70, 72.5, 62.5, 75]


def test_what_goes_from_one_number_to_another_arrives_in_the_last_week_that_is_not_lighter():
    eased = LighterWeeks(weeks=(4,), sets_percent=50)
    weeks = expand([part(FromTo(change="sets", to=6, lift="squat"), eased, weeks=4)])
    assert counts(weeks) == [4, 5, 6, 3]


def test_accessories_tests_and_meets_are_meant_only_where_they_are_named():
    tested = session("Test", slot("squat", sets(1), at(70)), kind="test")
    pattern = week(*WEEK.sessions, tested)
    weeks = expand([part(EachWeek(change="sets", by=1), LighterWeeks(weeks=(2,), percent_points=-5), pattern=pattern)])
    assert counts(weeks) == [4, 5, 6]
    assert counts(weeks, 0, 1) == [3, 3, 3]
    assert [one.sessions[2] for one in weeks] == [tested] * 3
    named = expand(
        [
            part(
                EachWeek(change="sets", by=1, slots=(2,)),
                EachWeek(change="sets", by=2, sessions=("Test",)),
                pattern=pattern,
            )
        ]
    )
    assert counts(named, 0, 1) == [3, 4, 5]
    assert counts(named, 2) == [1, 3, 5]
    assert counts(named) == [4, 4, 4]
    by_lift = expand([part(EachWeek(change="sets", by=1, lift="row"))])
    assert counts(by_lift, 0, 1) == [3, 4, 5]  # fmt: skip


def test_one_of_two_sessions_of_a_name_is_meant_by_its_number():
    pattern = week(session("Legs", SQUAT), session("Legs", SQUAT))
    weeks = expand([part(EachWeek(change="sets", by=1, session_numbers=(2,)), pattern=pattern)])
    assert (counts(weeks), counts(weeks, 1)) == ([4, 4, 4], [4, 5, 6])


def test_loads_rests_and_back_off_sets_move_in_their_own_units():
    fixed = slot(
        "press",
        TopSet(back_off=BackOff(sets=2, less_percent=10)),
        LoadTarget(reps=5, load=load(95, "lb")),
        rest_seconds=180,
    )
    pattern = week(session("Press", fixed))
    weeks = expand([
        part(
            EachWeek(change="load", by_load=load(5, "lb")), EachWeek(change="back_off_sets", by=1),
            FromTo(change="rest_seconds", to=120), FromTo(change="less_percent", to=5), pattern=pattern,
        )
    ])  # fmt: skip
    last = weeks[2].sessions[0].slots[0]
    assert last.target == LoadTarget(reps=5, load=load(105, "lb"))
    assert last.scheme == TopSet(back_off=BackOff(sets=4, less_percent=5))
    assert [one.sessions[0].slots[0].rest_seconds for one in weeks] == [180, 150, 120]


def test_what_is_alike_from_week_to_week_is_the_same_object():
    weeks = expand([part(EachWeek(change="percent", by=2.5))])
    assert weeks[0].sessions[1] is weeks[2].sessions[1]
    assert weeks[0].sessions[0].slots[1] is weeks[2].sessions[0].slots[1]


def test_every_progression_that_leaves_what_a_week_may_hold_is_told_with_its_first_week():
    found = faults(
        part(EachWeek(change="rpe", by=1), EachWeek(change="sets", by=10, lift="squat"), weeks=4),
        part(LighterWeeks(weeks=(2,), percent_points=-65), EachWeek(change="percent", by=30)),
    )
    assert found == [
        # 4, 14, 24 sets; RPE 7.5, 8.5, 9.5, 10.5
        out(0, 1, 3, 1, "the number of sets would be 24; it goes from 1 to 20"),
        out(0, 0, 4, 2, "the effort would be RPE 10.5; it goes from 1 to 10"),
        # 70 to 75, 100 to 105, 130 to 135; less 65 the second is well
        out(1, 1, 3, 1, "the percentage would be 135 %; it goes from 10 to 130"),
    ]  # fmt: skip
    assert faults(part(LighterWeeks(weeks=(2,), percent_points=-65))) == [
        out(0, 0, 2, 1, "the percentage would be 5 %; it goes from 10 to 130")
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("progressions", "pointer", "words"),
    [
        ([EachWeek(change="percent", by=1, lift="deadlift")], "/0/lift", "is in no session"),
        ([EachWeek(change="percent", by=1, sessions=("Legs", "Pull"))], "/0/sessions/1", "names no session"),
        ([EachWeek(change="percent", by=1, session_numbers=(3,))], "/0/session_numbers/0", "from 1 to 2"),
        ([EachWeek(change="sets", by=1, slots=(1, 4))], "/0/slots/1", "from 1 to 2"),
        ([EachWeek(change="percent", by=1, sessions=("Push",))], "/0/change", "no slot that this is about has one"),
        ([EachWeek(change="rir", by=1)], "/0/change", "no slot that this is about has one"),
        ([LighterWeeks(weeks=(2, 5), sets_percent=60)], "/0/weeks/1", "from 1 to 3"),
        ([LighterWeeks(every=4, sets_percent=60)], "/0/every", "at most 3"),
        ([EachWeek(change="sets", by=1), EachWeek(change="sets", by=1, lift="squat")], "/1", "session 1, slot 1, as #"),
        ([LighterWeeks(weeks=(2,), rpe_points=-1), LighterWeeks(every=2, rpe_points=-2)], "/1", "week 2 lighter"),
        ([FromTo(change="rpe", to=11)], "/0/to", "from 1 to 10 in steps of 0.5"),
        ([FromTo(change="sets", to=4.5)], "/0/to", "from 1 to 20 as a whole number"),
        ([EachWeek(change="sets", by=1), LighterWeeks(weeks=(2, 3), percent_points=-5)], "/0", "no second week"),
    ],
)  # fmt: skip
def test_a_progression_that_says_nothing_about_the_week_is_refused_by_its_member(
    progressions: list[Progression], pointer: str, words: str
):
    (found, text), *more = faults(part(*progressions))
    assert found == f"#/parts/0/progressions{pointer}"
    assert words in text
    assert not more


def test_a_load_moves_in_the_unit_in_which_it_is_written():
    pattern = week(session("Press", slot("press", sets(3), LoadTarget(reps=5, load=load(40, "kg")))))
    assert faults(part(EachWeek(change="load", by_load=load(5, "lb")), pattern=pattern)) == [
        ("#/parts/0/progressions/0/by_load/unit", "must be kg, as the load of session 1, slot 1 is written")
    ]


def test_a_week_of_tests_alone_has_nothing_to_change_unless_it_is_named():
    pattern = week(session("Test", slot("squat", MaxTest(), EffortTarget(reps=1, rpe=10)), kind="test"))
    assert faults(part(EachWeek(change="sets", by=1), pattern=pattern))[0][0] == "#/parts/0/progressions/0"


def test_parts_have_at_most_104_weeks_together():
    assert len(expand([part(weeks=52), part(weeks=52)])) == 104
    assert faults(part(weeks=52), part(weeks=53)) == [("#/parts", "must have 1 to 104 weeks together, not 105")]


def test_fixed_loads_are_lower_in_a_lighter_week_and_written_out_so():
    pattern = week(session("Row", slot("row", sets(3), LoadTarget(reps=8, load=load(42.5, "kg")))))
    rises = EachWeek(change="load", by_load=load(2.5, "kg"))
    weeks = expand((part(rises, LighterWeeks(weeks=(3,), percent_points=-10), pattern=pattern, weeks=4),))
    # Week 3 would have 47.5 kg: 42.75 kg, up to half a kilogram; week 4 goes on with 50 kg.
    assert [one.sessions[0].slots[0].target.load.value for one in weeks] == [42.5, 45, 43, 50]


def test_lighter_weeks_that_make_nothing_lighter_are_refused():
    single = week(session("Squat", slot("squat", sets(1), rpe(8)), slot("squat", MaxTest(), rpe(10, 1))))
    nothing = LighterWeeks(weeks=(2,), sets_percent=60, percent_points=-10)
    ((pointer, text),) = faults(part(nothing, pattern=single))
    assert (pointer, text.split(":")[0]) == ("#/parts/0/progressions/0", "makes nothing lighter")
    assert expand((part(LighterWeeks(weeks=(2,), rpe_points=-1), pattern=single),))[1].lighter
    # There is one set in the week as it is written, and three in the one that is lighter: two of them are left.
    more = EachWeek(change="sets", by=1)
    weeks = expand((part(more, LighterWeeks(weeks=(3,), sets_percent=60), pattern=single, weeks=4),))
    assert counts(weeks) == [1, 2, 2, 4]


def test_a_load_that_grows_by_rule_is_moved_by_no_progression():
    """The rule wins: the other fixed load of the week rises, and where there is none the two are said to contradict."""
    add = AddLoad(when="all_sets_complete", step=load(2.5, "kg"))
    bench = slot("bench-press", SetsAtTarget(sets=3, add_load=add), LoadTarget(reps=8, load=load(50, "kg")))
    row = slot("row", sets(3), LoadTarget(reps=8, load=load(40, "kg")))
    rise = EachWeek(change="load", by_load=load(2.5, "kg"))
    both = expand((part(rise, pattern=week(session("Bench", bench, row))),))[1].sessions[0].slots
    assert [one.target.load.value for one in both] == [50, 42.5]
    with pytest.raises(Unwritable) as refused:
        expand((part(rise, pattern=week(session("Bench", bench))),))
    (fault,) = refused.value.faults
    assert (fault.pointer, fault.code) == ("#/parts/0/progressions/0/change", "no_such_member")
    assert fault.text == "moves a load that grows by its own rule (add_load): state one of the two"
    # other numbers move as they are written
    fewer = expand((part(EachWeek(change="reps", by=-1), pattern=week(session("Bench", bench))),))
    assert [one.sessions[0].slots[0].target.reps for one in fewer[:3]] == [8, 7, 6]
