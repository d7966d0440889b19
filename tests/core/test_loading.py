"""What hangs for a load: worked values, units, limits, and each load kind."""

import math
from dataclasses import replace
from decimal import Decimal

import pytest

from service.core.answers import BarLoading, BodyweightLoading, DumbbellLoading, StackLoading
from service.core.errors import NotComputable, OutOfRange
from service.core.loading.kits import default_kit
from service.core.loading.loading import hang
from service.core.records import Bar, Kit, Lift, Plate, Stack
from service.core.units import load, to_kg

SQUAT = Lift(id="squat", name="Squat", load_kind="total")
ROW = Lift(id="row", name="Dumbbell row", load_kind="per_hand")
DIP = Lift(id="dip", name="Dip", load_kind="bodyweight")
PULLDOWN = Lift(id="pulldown", name="Pulldown", load_kind="stack")
PLANK = Lift(id="plank", name="Plank", load_kind="none")
KG, LB = default_kit("kg"), default_kit("lb")
COLLARS = replace(KG, collars=load(5, "kg"))
LB_IN_KG = Decimal("0.45359237")  # international yard and pound agreement of 1959; NIST SP 811


def side(loading):
    """What hangs on one side, plate by plate."""
    return [one.plate.value for one in loading.per_side for _ in range(one.count)]


def kit(*plates, bar=(20, "kg"), collars=0, **more):
    return Kit(
        bars=(Bar(name="bar", load=load(*bar)),),
        collars=load(collars, "kg"),
        plates=tuple(Plate(load=load(value, unit), count=count) for value, unit, count in plates),
        **more,
    )


def test_142_5_kg_hangs_as_worked_with_collars_and_without():
    # (142.5 - 20 - 2 * 2.5) / 2 = 58.75 = 25 + 25 + 5 + 2.5 + 1.25; (142.5 - 20) / 2 = 61.25 = 25 + 25 + 10 + 1.25
    with_collars = hang(142.5, SQUAT, COLLARS, unit="kg")
    assert side(with_collars) == [25, 25, 5, 2.5, 1.25]
    assert (with_collars.bar, with_collars.collars) == (load(20, "kg"), load(5, "kg"))
    without = hang(142.5, SQUAT, KG, unit="kg")
    assert side(without) == [25, 25, 10, 1.25]
    for loading in (with_collars, without):
        assert (loading.load, loading.difference) == (load(142.5, "kg"), load(0, "kg"))


@pytest.mark.parametrize(
    ("kilograms", "plates"),
    [  # half of what is beside the 20 kg bar: 15, 27.5, 40, 48.75, 51.25, 53.75
        (50, [15]),
        (75, [25, 2.5]),
        (100, [25, 15]),
        (117.5, [25, 20, 2.5, 1.25]),
        (122.5, [25, 25, 1.25]),
        (127.5, [25, 25, 2.5, 1.25]),
    ],
)
def test_usual_loads_hang_with_the_fewest_plates_heaviest_first(kilograms, plates):
    assert side(hang(kilograms, SQUAT, KG, unit="kg")) == plates


def test_among_equally_few_plates_the_heavier_come_first():
    # 30 per side: 25 + 5, 20 + 10 and 15 + 15 are two plates each.
    both = kit((25, "kg", 4), (20, "kg", 4), (15, "kg", 4), (10, "kg", 4), (5, "kg", 4))
    assert side(hang(80, SQUAT, both, unit="kg")) == [25, 5]
    # 117.5 lb per side: 45 + 45 + 25 + 2.5 and 45 + 35 + 35 + 2.5 are four plates each.
    assert side(hang(to_kg(280, "lb"), SQUAT, LB, unit="lb")) == [45, 45, 25, 2.5]


def test_fewest_plates_outrank_taking_the_heaviest_first():
    # 30 per side: 25 + 2.5 + 2.5 is what a greedy hand takes, 15 + 15 is fewer.
    assert side(hang(80, SQUAT, kit((25, "kg", 2), (15, "kg", 4), (2.5, "kg", 4)), unit="kg")) == [15, 15]


def test_the_exact_load_and_the_difference_are_told():
    loading = hang(126.802, SQUAT, KG, unit="kg")
    assert isinstance(loading, BarLoading)
    assert (loading.exact, loading.load) == (load(126.802, "kg"), load(127.5, "kg"))
    assert loading.difference == load(0.698, "kg")  # 127.5 - 126.802
    assert hang(125.9, SQUAT, KG, unit="kg").difference == load(-0.9, "kg")  # 125 - 125.9


def test_in_pounds_exact_load_and_difference_are_pounds():
    loading = hang(to_kg(278.964, "lb"), SQUAT, LB, unit="lb")
    assert (loading.exact, loading.load) == (load(278.964, "lb"), load(280, "lb"))
    assert loading.difference == load(1.036, "lb")  # 280 - 278.964
    assert loading.bar == load(45, "lb")


def test_a_tie_goes_down():
    # Steps of 2.5 kg: 101.25 lies in the middle of 100 and 102.5; in pounds 182.5 between 180 and 185.
    assert hang(101.25, SQUAT, KG, unit="kg").load == load(100, "kg")
    assert hang(101.2501, SQUAT, KG, unit="kg").load == load(102.5, "kg")
    assert hang(to_kg(182.5, "lb"), SQUAT, LB, unit="lb").load == load(180, "lb")


@pytest.mark.parametrize(
    ("rounding", "kilograms", "expected"),
    [("down", 102.4, 100), ("up", 100.1, 102.5), ("down", 100, 100), ("up", 100, 100), ("nearest", 102.4, 102.5)],
)
def test_rounding_goes_where_it_is_told(rounding, kilograms, expected):
    assert hang(kilograms, SQUAT, KG, unit="kg", rounding=rounding).load.value == expected


def test_the_noise_of_floating_point_does_not_cost_a_step():
    almost = 0.1 * 3 * 400  # 120.00000000000001
    assert almost != 120
    assert hang(almost, SQUAT, KG, unit="kg", rounding="up").load.value == 120


def test_below_the_empty_bar_it_is_the_empty_bar_and_the_difference_tells():
    for rounding in ("nearest", "down", "up"):
        loading = hang(14, SQUAT, COLLARS, unit="kg", rounding=rounding)
        assert (loading.load, loading.difference, loading.per_side) == (load(20, "kg"), load(6, "kg"), ())
        assert loading.collars == load(0, "kg")  # nothing to hold on an empty bar


def test_collars_go_on_with_the_first_plate_and_may_go_on_alone():
    # 20, 20 + 5, 20 + 5 + 2 * 1.25
    loads = {hang(x, SQUAT, COLLARS, unit="kg").load.value for x in (20, 22, 23, 25, 26, 26.3, 27.5)}
    assert loads == {20, 25, 27.5}
    alone = hang(25, SQUAT, COLLARS, unit="kg")
    assert (alone.collars, alone.per_side) == (load(5, "kg"), ())
    assert hang(20, SQUAT, COLLARS, unit="kg", rounding="up").load == load(20, "kg")


def test_above_all_plates_it_is_all_plates():
    # 20 + 2 * (6 * 25 + 20 + 15 + 10 + 5 + 2.5 + 1.25) = 427.5
    assert hang(500, SQUAT, KG, unit="kg", rounding="up").load == load(427.5, "kg")


def test_only_whole_pairs_hang():
    # Three 20s are one pair, a single 10 none: 20, 60 and nothing else.
    few = kit((20, "kg", 3), (10, "kg", 1))
    assert {hang(x, SQUAT, few, unit="kg").load.value for x in range(20, 120, 5)} == {20, 60}


def test_a_back_off_is_never_rounded_up_to_its_cap_or_past_it():
    top = load(102.5, "kg")
    assert hang(102, SQUAT, KG, unit="kg", at_most=top).load == top
    assert hang(102, SQUAT, KG, unit="kg", below=top).load == load(100, "kg")
    assert hang(102, SQUAT, KG, unit="kg", at_most=load(102, "kg"), rounding="up").load == load(100, "kg")
    assert hang(130, SQUAT, KG, unit="kg", at_most=top, below=load(130, "kg")).load == top
    assert hang(90, SQUAT, KG, unit="kg", below=top).load == load(90, "kg")


def test_where_nothing_is_light_enough_the_lightest_is_answered():
    assert hang(30, SQUAT, KG, unit="kg", below=load(20, "kg")).load == load(20, "kg")
    assert hang(15, SQUAT, KG, unit="kg", at_most=load(15, "kg")).load == load(20, "kg")


def test_a_load_of_two_units_means_the_same_when_it_comes_back_as_a_limit():
    mixed = kit((45, "lb", 8), (25, "lb", 2), (10, "lb", 2), (2.5, "lb", 2))
    kilograms = 20 + 90 * LB_IN_KG  # 60.8233133 kg, shown as 60.823: less than what hangs
    top = hang(float(kilograms), SQUAT, mixed, unit="kg")
    assert top.load == load(60.823, "kg")
    assert side(hang(70, SQUAT, mixed, unit="kg", at_most=top.load)) == [45]
    # 2.5 lb less on each side would be 42.5, which these plates do not make: 25 + 10 + 2.5 is next.
    assert side(hang(60.8, SQUAT, mixed, unit="kg", below=top.load)) == [25, 10, 2.5]
    # 20 + 50 lb = 42.6796185 kg, shown as 42.68: more than what hangs, and still not below itself.
    assert side(hang(50, SQUAT, mixed, unit="kg", below=load(42.68, "kg"))) == [10, 2.5]


def test_pounds_on_a_kilogram_bar_are_weighed_exactly():
    # 35 lb = 15.87573295 kg, 45 lb = 20.41165665 kg: 20 + 2 * (15.87573295 + 20.41165665) = 92.5747792 kg
    mixed = kit((45, "lb", 2), (35, "lb", 2))
    loading = hang(92.5747792, SQUAT, mixed, unit="kg")
    assert side(loading) == [45, 35]
    assert loading.load.value == 92.575
    assert hang(92.5747792, SQUAT, mixed, unit="lb").load.value == 204.092  # 92.5747792 / 0.45359237 = 204.0925...


def test_kilograms_and_pounds_mix_on_one_bar():
    # 20 + 2 * (20 + 0.45359237 * 10) = 69.0718474; heaviest first: 20 kg, then 10 lb (4.54 kg), then 1.25 kg
    mixed = kit((20, "kg", 2), (1.25, "kg", 2), (10, "lb", 2))
    assert side(hang(69.07, SQUAT, mixed, unit="kg")) == [20, 10]
    loading = hang(71.6, SQUAT, mixed, unit="kg")  # + 2.5 = 71.5718474
    assert [(one.plate.value, one.plate.unit) for one in loading.per_side] == [(20, "kg"), (10, "lb"), (1.25, "kg")]
    assert loading.difference == load(-0.028, "kg")  # 71.572 - 71.6, as shown
    assert side(hang(71.5, SQUAT, mixed, unit="kg", rounding="up")) == [20, 10, 1.25]  # all there is


def test_what_is_whole_only_in_the_other_unit_is_shown_there():
    loading = hang(61, SQUAT, LB, unit="kg")  # 135 lb = 61.235 kg
    assert (loading.load, loading.exact.unit, loading.difference.unit) == (load(135, "lb"), "lb", "lb")
    assert hang(20, SQUAT, KG, unit="lb").load == load(20, "kg")


def test_colour_and_diameter_come_back_with_the_plate():
    red = Plate(load=load(25, "kg"), count=2, colour="red", diameter_mm=450)
    (one,) = hang(70, SQUAT, replace(KG, plates=(red,)), unit="kg").per_side
    assert (one.plate, one.count, one.colour, one.diameter_mm) == (load(25, "kg"), 1, "red", 450)


def test_the_bar_may_be_named():
    two = replace(KG, bars=(*KG.bars, Bar(name="light", load=load(15, "kg"))))
    assert hang(45, SQUAT, two, unit="kg", bar="light").bar == load(15, "kg")
    assert side(hang(45, SQUAT, two, unit="kg", bar="light")) == [15]
    with pytest.raises(NotComputable, match="no bar called long"):
        hang(45, SQUAT, two, unit="kg", bar="long")


def test_dumbbells_are_the_nearest_pair_by_one_hand():
    loading = hang(23.8, ROW, KG, unit="kg")  # 22.5, 25: the middle is 23.75
    assert isinstance(loading, DumbbellLoading)
    assert (loading.load, loading.difference) == (load(25, "kg"), load(1.2, "kg"))
    assert hang(23.75, ROW, KG, unit="kg").load == load(22.5, "kg")
    assert hang(0.2, ROW, KG, unit="kg").load == load(1, "kg")
    assert hang(200, ROW, KG, unit="kg").load == load(60, "kg")
    assert hang(20, ROW, LB, unit="kg").load == load(45, "lb")  # 20.412; 40 lb is 18.144


def test_a_place_without_dumbbells_says_so():
    with pytest.raises(NotComputable, match="No dumbbells") as refused:
        hang(20, ROW, replace(KG, dumbbells=()), unit="kg")
    assert refused.value.code == "no_dumbbells"


def test_added_load_hangs_as_single_plates_on_a_belt():
    # One 20, one 5 and one 1.25 make 26.25; on a bar not one pair would be there.
    single = kit((20, "kg", 1), (5, "kg", 1), (1.25, "kg", 1))
    loading = hang(26, DIP, single, unit="kg")
    assert isinstance(loading, BodyweightLoading)
    assert loading.load == load(26.25, "kg")
    assert [(one.plate.value, one.count) for one in loading.plates] == [(20, 1), (5, 1), (1.25, 1)]
    assert hang(0.5, DIP, single, unit="kg").load == load(0, "kg")
    assert hang(0.5, DIP, single, unit="kg", rounding="up").load == load(1.25, "kg")


def test_assistance_goes_in_usual_steps_where_no_machine_is_listed():
    # 2.5 kg and 5 lb: common practice, no source. A tie and `down` go to the lighter load: more assistance.
    assert hang(-18, DIP, KG, unit="kg").load == load(-17.5, "kg")
    assert hang(-18.75, DIP, KG, unit="kg").load == load(-20, "kg")
    assert hang(-18, DIP, KG, unit="kg", rounding="down").load == load(-20, "kg")
    assert hang(-20, DIP, KG, unit="kg", rounding="up").load == load(-20, "kg")
    assert hang(to_kg(-33, "lb"), DIP, LB, unit="lb").load == load(-35, "lb")
    assert hang(-1, DIP, KG, unit="kg").load == load(0, "kg")
    assert hang(-18, DIP, KG, unit="kg").plates == ()


def test_assistance_comes_from_the_machine_that_names_the_lift():
    helper = Stack(name="assisted dip", lifts=("dip",), steps=tuple(load(v, "kg") for v in (10, 17, 24)))
    place = replace(KG, stacks=(helper,))
    assert hang(-15, DIP, place, unit="kg").load == load(-17, "kg")
    assert hang(-4, DIP, place, unit="kg").load == load(0, "kg")
    assert hang(-60, DIP, place, unit="kg").load == load(-24, "kg")
    assert hang(-60, DIP, place, unit="kg", below=load(-24, "kg")).load == load(-24, "kg")
    assert hang(12.5, DIP, place, unit="kg").load == load(12.5, "kg")


def test_a_machine_answers_the_listed_step_and_its_number():
    listed = Stack(name="pulldown", lifts=("pulldown",), steps=tuple(load(v, "kg") for v in (7, 14, 23, 32)))
    loading = hang(20, PULLDOWN, replace(KG, stacks=(*KG.stacks, listed)), unit="kg")
    assert isinstance(loading, StackLoading)
    assert (loading.load, loading.number, loading.difference) == (load(23, "kg"), 3, load(3, "kg"))


def test_a_machine_without_masses_has_no_exact_load():
    listed = Stack(name="old pulldown", lifts=("pulldown",), steps=tuple(load(v, "step") for v in (1, 2, 3)))
    with pytest.raises(NotComputable, match="old pulldown have no mass") as refused:
        hang(20, PULLDOWN, replace(KG, stacks=(listed,)), unit="kg")
    assert refused.value.code == "no_mass"


def test_a_lift_without_a_load_is_refused():
    with pytest.raises(NotComputable, match="Plank is done without a load") as refused:
        hang(20, PLANK, KG, unit="kg")
    assert refused.value.code == "no_load"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, 1e308, 5000.1])
def test_loads_that_no_one_lifts_are_refused(value):
    with pytest.raises(OutOfRange, match=r"exact load must lie in \[-5000, 5000\] kg"):
        hang(value, SQUAT, KG, unit="kg")


def test_a_step_without_a_mass_is_no_limit_for_a_bar():
    with pytest.raises(NotComputable, match="step 7 says nothing about a mass"):
        hang(100, SQUAT, KG, unit="kg", at_most=load(7, "step"))
