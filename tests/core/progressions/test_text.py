"""Parts in words."""

import pytest

from service.core.progressions.records import EachWeek, FromTo, LighterWeeks, Part, Progression
from service.core.progressions.text import part_text
from service.core.records import Lift
from service.core.slots import AddLoad, LoadTarget, SetsAtTarget
from service.core.units import load
from tests.core.progressions.writing import at, session, sets, slot, week

BOTH, FIRST = "in slot 1 of sessions Squat and Pull", "in session number 1"
EVEN, REST = "weeks 2 and 4 are lighter", "week 4 is called Rest and lighter"
STILL = "and the count of weeks stands still"
WEEK = week(session("Squat", slot("squat", sets(5), at(70))))


@pytest.mark.parametrize(
    ("progression", "said"),
    [
        (EachWeek(change="percent", by=2.5), "the percentage rises by 2.5 points a week"),
        (EachWeek(change="percent", by=-1), "the percentage falls by 1 point a week"),
        (EachWeek(change="rpe", by=0.5, lift="pause-squat"), "in the pause squat RPE rises by 0.5 a week"),
        (EachWeek(change="reps", by=-1), "the repetitions fall by 1 a week"),
        (EachWeek(change="load", by_load=load(5, "lb")), "the load rises by 5 lb a week"),
        (EachWeek(change="rest_seconds", by=-10), "the rest falls by 10 seconds a week"),
        (FromTo(change="sets", to=6), "the sets go from 5 to 6"),
        (FromTo(change="percent", to=82.5, slots=(1,)), "in slot 1 the percentage goes from 70 to 82.5 %"),
        (FromTo(change="sets", to=6, slots=(1,), sessions=("Squat", "Pull")), f"{BOTH} the sets go from 5 to 6"),
        (FromTo(change="load", to_load=load(60, "kg"), session_numbers=(1,)), f"{FIRST} the load goes to 60 kg"),
        (LighterWeeks(every=2, sets_percent=60, rpe_points=-1), f"{EVEN}: 60 % of the sets, RPE 1 lower"),
        (LighterWeeks(weeks=(4,), percent_points=-10, pause=True, name="Rest"), f"{REST}: 10 points less, {STILL}"),
    ],
)  # fmt: skip
def test_what_changes_is_said_in_plain_words(progression: Progression, said: str):
    assert part_text(Part(weeks=4, week=WEEK, progressions=(progression,))) == f"4 weeks; {said}"


def test_fixed_loads_in_lighter_weeks_are_told_as_lower():
    lighter = LighterWeeks(weeks=(2,), sets_percent=60, percent_points=-10)
    fixed = slot("row", sets(3), LoadTarget(reps=8, load=load(40, "kg")))
    both = week(session("Squat", slot("squat", sets(5), at(70)), fixed))
    said = [part_text(Part(weeks=2, week=one, progressions=(lighter,))) for one in (both, week(session("Row", fixed)))]
    start = "2 weeks; week 2 is lighter: 60 % of the sets"
    assert said == [f"{start}, 10 points less, fixed loads 10 % lower", f"{start}, fixed loads 10 % lower"]


def test_a_lift_is_called_by_its_name():
    slow = Lift(id="slow-bench", name="Slow bench press", load_kind="total")
    plan = week(session("Press", slot("slow-bench", sets(5), at(70))))
    part = Part(weeks=2, week=plan, progressions=(EachWeek(change="percent", by=2.5, lift="slow-bench"),))
    assert (
        part_text(part, {slow.id: slow}) == "2 weeks; in the slow bench press the percentage rises by 2.5 points a week"
    )


def test_a_part_is_called_by_its_name_or_by_its_weeks_name():
    assert part_text(Part(name="Build", weeks=1, week=WEEK)) == "Build: 1 week"
    assert part_text(Part(weeks=2, week=week(*WEEK.sessions, name="Peak"))) == "Peak: 2 weeks"


def test_what_becomes_of_loads_that_grow_in_lighter_weeks_is_told():
    add = AddLoad(when="all_sets_complete", step=load(2.5, "kg"))
    bench = slot("bench-press", SetsAtTarget(sets=5, add_load=add), LoadTarget(reps=8, load=load(50, "kg")))

    def said(**how) -> str:
        lighter = LighterWeeks(weeks=(2,), sets_percent=60, **how)
        return part_text(Part(weeks=2, week=week(session("Bench", bench)), progressions=(lighter,)))

    start = "2 weeks; week 2 is lighter: 60 % of the sets"
    assert said() == f"{start}, nothing added to loads that grow"
    assert said(percent_points=-10) == f"{start}, loads that grow 10 % under the last"
