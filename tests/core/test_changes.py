"""What to take off and put on between two loads of a bar."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.answers import PlateCount
from service.core.loading.changes import plate_changes
from service.core.loading.kits import default_kit
from service.core.loading.loading import hang
from service.core.records import Lift
from service.core.units import load

SQUAT = Lift(id="squat", name="Squat", load_kind="total")
KG = default_kit("kg")


def on(*values, unit="kg"):
    """Plates from the inside outwards, each by itself."""
    return tuple(PlateCount(load(value, unit), 1, None, None) for value in values)


def flat(counted):
    return [one.plate.value for one in counted for _ in range(one.count)]


def bar(kilograms):
    return hang(kilograms, SQUAT, KG, unit="kg")


@pytest.mark.parametrize(
    ("now", "kilograms", "off", "put", "moved"),
    [  # per side: 127.5 -> 25 25 2.5 1.25; 117.5 -> 25 20 2.5 1.25; 100 -> 25 15; 20 -> nothing
        ((25, 25, 1.25), 127.5, [1.25], [2.5, 1.25], 6),
        ((25, 25, 2.5, 1.25), 117.5, [1.25, 2.5, 25], [20, 2.5, 1.25], 12),
        ((25, 15), 127.5, [15], [25, 2.5, 1.25], 8),
        ((), 100, [], [25, 15], 4),
        ((25, 15), 20, [15, 25], [], 4),
        ((25, 15), 100, [], [], 0),
        ((15, 25), 100, [25, 15], [25, 15], 8),  # loaded the other way round, the lighter is inside
        ((20, 20), 100, [20, 20], [25, 15], 8),
    ],
)
def test_everything_outside_the_first_difference_comes_off(now, kilograms, off, put, moved):
    change = plate_changes(on(*now), bar(kilograms))
    assert (flat(change.take_off), flat(change.put_on), change.moved) == (off, put, moved)


@pytest.mark.parametrize(
    ("now", "kilograms", "text"),
    [
        ((25, 25, 1.25), 127.5, "Each side: take off 1.25; then put on 2.5 1.25."),
        ((), 100, "Each side: put on 25 15."),
        ((25, 25, 1.25), 120, "Each side: take off 1.25."),
        ((25, 15), 20, "Each side: take off everything: 15 25."),
        ((20, 20), 100, "Each side: take off everything: 20 20; then put on 25 15."),
        ((25, 15), 100, "Leave the bar as it is."),
    ],
)
def test_the_change_is_told_in_the_order_of_the_hands(now, kilograms, text):
    assert plate_changes(on(*now), bar(kilograms)).text == text


def test_equal_plates_are_counted_together_and_keep_their_colour():
    red = PlateCount(load(25, "kg"), 3, "red", 450)
    change = plate_changes((red,), bar(70))
    assert change.take_off == (PlateCount(load(25, "kg"), 2, "red", 450),)
    assert change.text == "Each side: take off 25 25."


def test_plates_of_two_units_are_named_with_their_unit():
    change = plate_changes(on(45, unit="lb"), bar(60))
    assert change.text == "Each side: take off everything: 45 lb; then put on 20 kg."


def test_a_plate_counts_as_the_same_by_its_mass_alone():
    plain = replace(KG, plates=tuple(replace(plate, colour="grey") for plate in KG.plates))
    change = plate_changes(on(25.0, 15), hang(100, SQUAT, plain, unit="kg"))
    assert change.moved == 0


@settings(max_examples=100)
@given(st.lists(st.sampled_from([25, 20, 15, 10, 5, 2.5, 1.25]), max_size=7), st.integers(8, 120))
def test_doing_what_it_says_gives_the_loading(now, steps):
    then = bar(steps * 2.5)
    change = plate_changes(on(*now), then)
    hangs = list(now)
    for value in flat(change.take_off):
        assert hangs.pop() == value  # only the outermost comes off
    hangs += flat(change.put_on)
    assert hangs == flat(then.per_side)
    assert all(inner >= outer for inner, outer in pairwise(hangs))
    # Nothing is taken off only to be put on again in the same place.
    off, put = flat(change.take_off), flat(change.put_on)
    assert not off or not put or off[-1] != put[0]
    assert change.moved == 2 * (len(off) + len(put))
