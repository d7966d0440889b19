"""The next heavier and lighter load, the size of a step, the lightest implement, and the words for a board."""

from dataclasses import replace

import pytest

from service.core.answers import StackLoading
from service.core.errors import NotComputable
from service.core.loading.kits import default_kit
from service.core.loading.loading import hang, lightest, next_step, smallest_step_kg, step_down, step_up, text_per_side
from service.core.records import Bar, Lift, Plate, Stack
from service.core.units import load, to_kg

SQUAT = Lift(id="squat", name="Squat", load_kind="total")
ROW = Lift(id="row", name="Dumbbell row", load_kind="per_hand")
DIP = Lift(id="dip", name="Dip", load_kind="bodyweight")
PULLDOWN = Lift(id="pulldown", name="Pulldown", load_kind="stack")
PLANK = Lift(id="plank", name="Plank", load_kind="none")
KG, LB = default_kit("kg"), default_kit("lb")
STEPS = Stack(name="old pulldown", lifts=("pulldown",), steps=tuple(load(v, "step") for v in (1, 2, 3, 5)))
OLD = replace(KG, stacks=(STEPS,))


@pytest.mark.parametrize(
    ("lift", "kit", "current", "lighter", "heavier"),
    [  # the usual steps: 2.5 kg or 5 lb on a bar (a pair of the smallest plates), the next pair of dumbbells
        (SQUAT, KG, (100, "kg"), (97.5, "kg"), (102.5, "kg")),
        (SQUAT, KG, (20, "kg"), None, (22.5, "kg")),
        (SQUAT, KG, (427.5, "kg"), (425, "kg"), None),
        (SQUAT, KG, (101, "kg"), (100, "kg"), (102.5, "kg")),  # not loadable itself
        (SQUAT, KG, (12, "kg"), None, (20, "kg")),
        (SQUAT, LB, (225, "lb"), (220, "lb"), (230, "lb")),
        (ROW, KG, (10, "kg"), (9, "kg"), (12.5, "kg")),
        (ROW, KG, (1, "kg"), None, (2, "kg")),
        (ROW, LB, (120, "lb"), (115, "lb"), None),
        (DIP, KG, (0, "kg"), (-2.5, "kg"), (1.25, "kg")),
        (DIP, KG, (-2.5, "kg"), (-5, "kg"), (0, "kg")),
        (DIP, LB, (0, "lb"), (-5, "lb"), (2.5, "lb")),
        (PULLDOWN, KG, (35, "kg"), (30, "kg"), (40, "kg")),
        (PULLDOWN, KG, (150, "kg"), (145, "kg"), None),
        (PULLDOWN, OLD, (3, "step"), (2, "step"), (5, "step")),
        (PULLDOWN, OLD, (4, "step"), (3, "step"), (5, "step")),
        (PULLDOWN, OLD, (1, "step"), None, (2, "step")),
        (PULLDOWN, OLD, (5, "step"), (3, "step"), None),
    ],
)
def test_the_neighbours_of_a_load_are_the_next_that_can_be_loaded(lift, kit, current, lighter, heavier):
    unit = "lb" if current[1] == "lb" else "kg"
    for step, expected in ((step_down, lighter), (step_up, heavier)):
        found = step(load(*current), lift, kit, unit=unit)
        assert (found and found.load) == (expected and load(*expected))
        if found and current[1] != "step":
            assert (found.exact, found.difference) == (found.load, load(0, unit))


def test_a_load_of_two_units_is_not_its_own_neighbour():
    # 20 kg + 90 lb is 60.8233133 kg, shown as 60.823; 20 kg + 50 lb is 42.6796185 kg, shown as 42.68.
    mixed = replace(KG, plates=tuple(Plate(load=load(v, "lb"), count=2) for v in (45, 25)))
    shown = hang(60, SQUAT, mixed, unit="kg").load
    assert shown == load(60.823, "kg")
    assert step_up(shown, SQUAT, mixed, unit="kg").load.value == 83.503  # 20 + 140 * 0.45359237 = 83.5029318
    assert step_down(shown, SQUAT, mixed, unit="kg").load.value == 42.68
    assert step_up(load(42.68, "kg"), SQUAT, mixed, unit="kg").load == shown
    assert step_down(load(42.68, "kg"), SQUAT, mixed, unit="kg").load == load(20, "kg")


def test_the_neighbours_on_a_named_bar_are_those_of_that_bar():
    two = replace(KG, bars=(*KG.bars, Bar(name="light", load=load(7, "kg"))))
    assert step_up(load(20, "kg"), SQUAT, two, unit="kg", bar="light").load == load(22, "kg")  # 7 + 2 * 7.5


def test_a_step_says_nothing_on_a_machine_with_masses_nor_a_mass_on_one_with_steps():
    for current, kit in ((load(3, "step"), KG), (load(30, "kg"), OLD)):
        with pytest.raises(NotComputable) as refused:
            step_up(current, PULLDOWN, kit, unit="kg")
        assert refused.value.code == "other_machine"
    with pytest.raises(NotComputable, match="step 3 says nothing about a mass"):
        step_up(load(3, "step"), SQUAT, KG, unit="kg")


def test_the_next_step_of_a_machine_carries_its_number():
    # The fourth listed step is marked 5.
    expected = StackLoading(exact=None, load=load(5, "step"), difference=None, number=4)
    assert next_step(STEPS, load(3, "step"), "up") == expected
    assert next_step(STEPS, load(9, "step"), "down") == expected
    assert next_step(STEPS, load(5, "step"), "up") is None


@pytest.mark.parametrize(
    ("lift", "kit", "near", "expected"),
    [
        (SQUAT, KG, 30, 2.5),
        (SQUAT, LB, to_kg(225, "lb"), to_kg(5, "lb")),
        (SQUAT, replace(KG, plates=(Plate(load=load(20, "kg"), count=2),)), 55, 40),  # 20 and 60
        (SQUAT, replace(KG, plates=()), 20, None),
        (ROW, KG, 5.2, 1),
        (ROW, KG, 31, 2.5),
        (ROW, KG, 10, 1),  # 9 is nearer than 12.5
        (DIP, KG, 0, 1.25),
        (DIP, KG, -30, 2.5),
        (PULLDOWN, KG, 52, 5),
        (PULLDOWN, OLD, 30, None),
        (PLANK, KG, 0, None),
    ],
)
def test_the_smallest_step_is_the_distance_to_the_nearest_other_load(lift, kit, near, expected):
    step = smallest_step_kg(near, lift, kit, unit="kg")
    assert step == (expected if expected is None else pytest.approx(expected, rel=1e-12))


def test_the_lightest_implement_is_the_lightest_bar_that_may_be_used():
    bars = (
        Bar(name="bar", load=load(20, "kg")),
        Bar(name="squat bar", load=load(25, "kg"), lifts=("squat",)),
        Bar(name="light", load=load(15, "kg")),
        Bar(name="curl bar", load=load(8, "kg"), lifts=("curl",)),
    )
    place = replace(KG, bars=bars, collars=load(5, "kg"))
    loading = lightest(SQUAT, place, "kg")
    assert (loading.load, loading.bar, loading.collars) == (load(15, "kg"), load(15, "kg"), load(0, "kg"))
    assert (loading.difference, loading.per_side) == (load(0, "kg"), ())
    assert hang(60, SQUAT, place, unit="kg").bar == load(25, "kg")


def test_the_lightest_of_other_kinds_is_the_first_pair_the_first_step_or_the_body():
    assert lightest(ROW, LB, "lb").load == load(5, "lb")
    assert lightest(PULLDOWN, KG, "kg").load == load(5, "kg")
    assert (lightest(PULLDOWN, OLD, "kg").load, lightest(PULLDOWN, OLD, "kg").number) == (load(1, "step"), 1)
    assert lightest(DIP, KG, "kg").load == load(0, "kg")


def test_there_is_no_lightest_where_there_is_nothing():
    assert lightest(PLANK, KG, "kg") is None
    assert lightest(SQUAT, replace(KG, bars=()), "kg") is None
    assert lightest(ROW, replace(KG, dumbbells=()), "kg") is None
    assert lightest(PULLDOWN, replace(KG, stacks=()), "kg") is None


@pytest.mark.parametrize(
    ("lift", "kit", "kilograms", "text"),
    [
        (SQUAT, KG, 127.5, "each side: 25 25 2.5 1.25"),
        (SQUAT, KG, 20, "empty bar"),
        (SQUAT, replace(KG, collars=load(5, "kg")), 25, "bar with collars"),
        (SQUAT, LB, to_kg(280, "lb"), "each side: 45 45 25 2.5"),
        (SQUAT, replace(KG, plates=LB.plates), 60.8, "each side: 45 lb"),
        (SQUAT, replace(KG, plates=(*KG.plates, *LB.plates[-1:])), 82.3, "each side: 25 kg, 5 kg, 2.5 lb"),
        (ROW, KG, 20, "dumbbells"),
        (DIP, KG, 26.25, "belt: 25 1.25"),
        (DIP, KG, 0, "body weight"),
        (DIP, KG, -20, "assistance"),
        (PULLDOWN, KG, 35, "step 7"),
    ],
)
def test_the_board_says_what_hangs(lift, kit, kilograms, text):
    assert text_per_side(hang(kilograms, lift, kit, unit="kg")) == text
