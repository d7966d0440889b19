"""The usual equipment, and which bar and machine of a place is meant."""

from dataclasses import replace

import pytest

from service.core.errors import NotComputable
from service.core.loading.kits import bar_for, default_kit, stack_for
from service.core.loading.loading import hang
from service.core.records import Bar, Lift, Stack
from service.core.units import load, to_kg

SQUAT = Lift(id="squat", name="Squat", load_kind="total")


def test_the_usual_plates_are_the_commercial_sets():
    # Common practice, no source: kg 25 to 1.25 on a 20 kg bar, lb 45 to 2.5 on a 45 lb bar.
    kg, lb = default_kit("kg"), default_kit("lb")
    assert [plate.load.value for plate in kg.plates] == [25, 20, 15, 10, 5, 2.5, 1.25]
    assert [plate.load.value for plate in lb.plates] == [45, 35, 25, 10, 5, 2.5]
    assert (kg.bars[0].load, lb.bars[0].load) == (load(20, "kg"), load(45, "lb"))
    assert (kg.collars.value, lb.collars.value) == (0, 0)
    assert all(plate.count % 2 == 0 for plate in kg.plates + lb.plates)


@pytest.mark.parametrize(("unit", "bar", "step", "top"), [("kg", 20, 2.5, 400), ("lb", 45, 5, 900)])
def test_every_usual_step_can_be_loaded_up_to_the_heaviest_lifts(unit, bar, step, top):
    kit = default_kit(unit)
    for n in range(int((top - bar) / step) + 1):
        value = bar + n * step
        assert hang(to_kg(value, unit), SQUAT, kit, unit=unit).load == load(value, unit)


def test_usual_dumbbells_and_machine_steps():
    # Common practice, no source.
    kg, lb = default_kit("kg"), default_kit("lb")
    assert [one.value for one in kg.dumbbells[:12]] == [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12.5, 15]
    assert (len(kg.dumbbells), kg.dumbbells[-1]) == (30, load(60, "kg"))  # 10, and 50 kg by 2.5
    assert [one.value for one in lb.dumbbells] == [5 * n for n in range(1, 25)]
    assert [one.value for one in kg.stacks[0].steps[:3]] == [5, 10, 15]
    assert [one.value for one in lb.stacks[0].steps[:3]] == [10, 20, 30]
    assert {one.unit for one in kg.dumbbells + kg.stacks[0].steps} == {"kg"}


def test_the_bar_listed_for_the_lift_comes_before_the_one_for_all():
    kit = replace(
        default_kit("kg"),
        bars=(
            Bar(name="bar", load=load(20, "kg")),
            Bar(name="squat bar", load=load(25, "kg"), lifts=("squat",)),
            Bar(name="thick squat bar", load=load(30, "kg"), lifts=("squat",)),
        ),
    )
    assert bar_for(kit, "squat").name == "squat bar"
    assert bar_for(kit, "bench-press").name == "bar"
    assert bar_for(kit, "bench-press", name="thick squat bar").name == "thick squat bar"


def test_a_bar_for_other_lifts_only_is_not_taken():
    kit = replace(default_kit("kg"), bars=(Bar(name="curl bar", load=load(8, "kg"), lifts=("curl",)),))
    with pytest.raises(NotComputable, match="No bar at this place") as refused:
        bar_for(kit, "squat")
    assert refused.value.code == "no_bar"
    with pytest.raises(NotComputable, match="no bar called trap bar"):
        bar_for(kit, "squat", name="trap bar")


def test_the_machine_listed_for_the_lift_comes_before_the_one_for_all():
    own = Stack(name="pulldown", lifts=("pulldown",), steps=(load(7, "kg"),))
    kit = replace(default_kit("kg"), stacks=(*default_kit("kg").stacks, own))
    assert stack_for(kit, "pulldown") == own
    assert stack_for(kit, "leg-press").lifts == ()
    for stacks in ((own,), (replace(own, lifts=(), steps=()),)):
        with pytest.raises(NotComputable, match="No machine is listed") as refused:
            stack_for(replace(kit, stacks=stacks), "leg-press")
        assert refused.value.code == "no_stack"
