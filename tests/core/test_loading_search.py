"""The plate search against trying every combination, and against an integer-programming solver."""

import itertools
import math
import tracemalloc
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from service.core.loading import plates
from service.core.loading.kits import default_kit
from service.core.loading.loading import hang
from service.core.records import Bar, Kit, Lift, Plate
from service.core.units import GRAINS_PER_KG, grains, load

SQUAT = Lift(id="squat", name="Squat", load_kind="total")
DIP = Lift(id="dip", name="Dip", load_kind="bodyweight")
PER = {"kg": Fraction(1), "lb": Fraction(45359237, 10**8)}


def mass(one):
    """Kilograms as a fraction, not by the code under test."""
    return Fraction(str(one.value)) * PER[one.unit]


def make(kinds, bar=(20, "kg"), collars=0):
    return Kit(
        bars=(Bar(name="bar", load=load(*bar)),),
        collars=load(collars, "kg"),
        plates=tuple(Plate(load=load(value, unit), count=count) for value, unit, count in kinds),
    )


def hanging(loading):
    """Exact mass of what a bar loading says hangs."""
    per_side = sum(mass(one.plate) * one.count for one in loading.per_side)
    return mass(loading.bar) + mass(loading.collars) + 2 * per_side


def every_loading(kit):
    """Mass to the plates of one side, of all combinations: fewest plates, then the heavier ones."""
    kinds = sorted(kit.plates, key=lambda plate: -mass(plate.load))
    bar, collars = mass(kit.bars[0].load), mass(kit.collars)
    best = {bar: (0, ())}
    for counts in itertools.product(*(range(plate.count // 2 + 1) for plate in kinds)):
        total = bar + collars + 2 * sum(n * mass(plate.load) for n, plate in zip(counts, kinds, strict=True))
        side = [mass(plate.load) for n, plate in zip(counts, kinds, strict=True) for _ in range(n)]
        rank = (len(side), tuple(-one for one in side))
        best[total] = min(best.get(total, rank), rank)
    return {total: [-one for one in side] for total, (_, side) in best.items()}


def chosen(possible, exact, rounding):
    lower = [one for one in possible if one <= exact]
    higher = [one for one in possible if one >= exact]
    if not lower or not higher:
        return max(lower) if lower else min(higher)
    low, high = max(lower), min(higher)
    if rounding == "nearest":
        return low if exact - low <= high - exact else high
    return low if rounding == "down" else high


values = st.one_of(
    st.sampled_from([25, 20, 15, 10, 5, 2.5, 1.25, 0.5, 45, 35]),
    st.integers(min_value=100, max_value=30_000).map(lambda thousandths: thousandths / 1000),
)
kits = st.builds(
    make,
    st.lists(st.tuples(values, st.sampled_from(["kg", "lb"]), st.integers(0, 7)), max_size=5),
    bar=st.sampled_from([(20, "kg"), (15, "kg"), (45, "lb")]),
    collars=st.sampled_from([0, 5, 0.4]),
)


@settings(max_examples=100, deadline=None)
@given(kits, st.integers(0, 160_000), st.sampled_from(["nearest", "down", "up"]))
def test_the_bar_is_what_trying_every_combination_finds(kit, grams, rounding):
    exact = Fraction(grams, 1000)
    every = every_loading(kit)
    loading = hang(float(exact), SQUAT, kit, unit="kg", rounding=rounding)
    expected = chosen(every, exact, rounding)
    assert hanging(loading) == expected
    assert [mass(one.plate) for one in loading.per_side for _ in range(one.count)] == every[expected]
    assert abs(mass(loading.load) - expected) <= Fraction(1, 2000)


@settings(max_examples=60, deadline=None)
@given(kits, st.integers(15_000, 160_000), st.integers(15_000, 160_000), st.booleans())
def test_a_limit_leaves_the_nearest_of_what_is_under_it(kit, grams, limit_grams, reached):
    exact, limit = Fraction(grams, 1000), Fraction(limit_grams, 1000)
    tolerance = Fraction(1, 2000)  # half a gram: a load shown in kilograms is rounded to the gram
    under = [one for one in every_loading(kit) if (one <= limit + tolerance if reached else one < limit - tolerance)]
    cap = {"at_most" if reached else "below": load(float(limit), "kg")}
    loading = hang(float(exact), SQUAT, kit, unit="kg", **cap)
    assert hanging(loading) == (chosen(under, exact, "nearest") if under else mass(kit.bars[0].load))


@settings(max_examples=60, deadline=None)
@given(kits, st.integers(0, 80_000))
def test_a_belt_is_what_trying_every_set_of_single_plates_finds(kit, grams):
    exact = Fraction(grams, 1000)
    fewest = {}
    for counts in itertools.product(*(range(min(plate.count, 3) + 1) for plate in kit.plates)):
        total = sum(n * mass(plate.load) for n, plate in zip(counts, kit.plates, strict=True))
        fewest[total] = min(fewest.get(total, sum(counts)), sum(counts))
    few = replace(kit, plates=tuple(replace(plate, count=min(plate.count, 3)) for plate in kit.plates))
    loading = hang(float(exact), DIP, few, unit="kg")
    total = sum(mass(one.plate) * one.count for one in loading.plates)
    assert total == chosen(fewest, exact, "nearest")
    assert sum(one.count for one in loading.plates) == fewest[total]


def solve(cost, sizes, counts, low, high):
    """Whole numbers of pairs, at most what is there, with cost least and their size in [low, high]."""
    solved = milp(
        np.array(cost, dtype=float),
        constraints=LinearConstraint(np.array([sizes], dtype=float), low, high),
        integrality=np.ones(len(sizes)),
        bounds=Bounds(0, np.array(counts, dtype=float)),
        options={"mip_rel_gap": 0},
    )
    return None if solved.x is None else [round(n) for n in solved.x]


FINE = [(25, 12), (20, 4), (15, 4), (10, 6), (5, 4), (2.5, 4), (2, 2), (1.5, 2), (1.25, 2), (1, 2), (0.5, 2), (0.25, 2)]
# A set that was put on scales: no two plates of a mark are alike, one pair of each.
WEIGHED = [
    (25.012, 2), (24.987, 2), (25.004, 2), (20.009, 2), (19.994, 2), (15.006, 2), (10.011, 2), (9.993, 2),
    (5.002, 2), (4.996, 2), (2.503, 2), (1.251, 2), (1.249, 2), (0.502, 2),
]  # fmt: skip
SETS = {"usual": [(25, 12), (20, 2), (15, 2), (10, 2), (5, 2), (2.5, 2), (1.25, 2)], "fine": FINE, "weighed": WEIGHED}


@pytest.mark.parametrize("name", SETS)
def test_the_bar_is_what_an_integer_program_finds(name):
    sizes = [round(value * 1000) for value, _ in SETS[name]]  # grams, so that the solver's sums are whole numbers
    counts = [count // 2 for _, count in SETS[name]]
    kit = make([(value, "kg", count) for value, count in SETS[name]], collars=5)
    for grams in (27_500, 61_300, 99_999, 142_500, 183_750, 251_117, 305_001):
        per_side = (grams - 25_000) / 2
        below = np.dot(solve([-s for s in sizes], sizes, counts, 0, per_side), sizes)
        above_counts = solve(sizes, sizes, counts, per_side, np.inf)
        above = np.dot(above_counts, sizes) if above_counts else below
        nearest = below if above_counts is None or per_side - below <= above - per_side else above
        for rounding, expected in (("down", below), ("up", above), ("nearest", nearest)):
            loading = hang(grams / 1000, SQUAT, kit, unit="kg", rounding=rounding)
            assert hanging(loading) == 25 + Fraction(2 * int(expected), 1000)
            fewest = solve([1] * len(sizes), sizes, counts, expected, expected)
            assert sum(one.count for one in loading.per_side) == sum(fewest)


def test_with_both_units_on_the_bar_no_integer_program_comes_nearer():
    kinds = [(25, "kg", 8), (10, "kg", 2), (5, "kg", 2), (2.5, "kg", 2), (1.25, "kg", 2)]
    kinds += [(45, "lb", 4), (25, "lb", 2), (10, "lb", 2), (5, "lb", 2), (2.5, "lb", 2)]
    sizes = [float(mass(load(value, unit))) for value, unit, _ in kinds]
    counts = [count // 2 for *_, count in kinds]
    for kilograms in (40, 88.8, 127.3, 166.6, 201.9):
        per_side = (kilograms - 20) / 2
        below = np.dot(solve([-s for s in sizes], sizes, counts, 0, per_side), sizes)
        above = np.dot(solve(sizes, sizes, counts, per_side, np.inf), sizes)
        off = abs(hanging(hang(kilograms, SQUAT, make(kinds), unit="kg")) - Fraction(str(kilograms)))
        # the solver holds its constraints to 1e-6
        assert float(off) == pytest.approx(2 * min(per_side - below, above - per_side), abs=1e-5)


def test_a_mass_of_kilograms_and_pounds_has_one_split_only():
    # A thousandth of a kilogram is 10**8 grains, of a pound 45,359,237: without a common divisor, sums of both agree
    # only if their pounds differ by 100,000 lb.
    assert math.gcd(10**8, 45_359_237) == 1
    assert (grains(1, "kg"), grains(1, "lb")) == (GRAINS_PER_KG, 45_359_237_000)


def odd_plates(seed, kinds, unit):
    chance = np.random.default_rng(seed)
    return [(round(chance.uniform(0.1, 30), 3), unit, 100) for _ in range(kinds)]


def test_forty_odd_kinds_of_a_hundred_are_still_answered_to_the_gram_that_hangs():
    kit = make(odd_plates(1, 40, "kg"))
    loading = hang(263.458, SQUAT, kit, unit="kg")
    # Pairs of 40 odd masses make every even gram here; the plates named must weigh what is said.
    assert hanging(loading) == Fraction("263.458") == mass(loading.load)
    taken = {one.plate.value: one.count for one in loading.per_side}
    assert all(2 * count <= 100 for count in taken.values())


def test_forty_odd_kinds_of_both_units_are_searched_within_the_bounds():
    kit = make(odd_plates(2, 20, "kg") + odd_plates(3, 20, "lb"))
    loading = hang(263.458, SQUAT, kit, unit="kg")
    assert abs(hanging(loading) - Fraction("263.458")) < Fraction(1, 10)
    few, many = plates._both(*(getattr(plates.pile(kit.plates, pairs=True), unit) for unit in ("kg", "lb")))
    assert 100 < len(few) <= plates.MIXED_FEW
    assert 100 < len(many) <= plates.MIXED_MANY


def test_a_search_cut_short_still_hangs_the_same_mass(monkeypatch):
    monkeypatch.setattr(plates, "SEARCH_LIMIT", 0)
    plates._fewest.cache_clear()
    # 30 per side: as many of the heaviest first leaves 25 + 2.5 + 2.5, though 15 + 15 is fewer.
    loading = hang(80, SQUAT, make([(25, "kg", 2), (15, "kg", 4), (2.5, "kg", 4)]), unit="kg")
    plates._fewest.cache_clear()
    assert hanging(loading) == 80
    assert [one.plate.value for one in loading.per_side] == [25, 2.5]


def test_absurdly_heavy_plates_are_left_on_the_floor():
    kit = make([(999_999.999, "kg", 100), (1_000_000, "lb", 100), (20, "kg", 2)])
    plates._reach.cache_clear()
    tracemalloc.start()
    assert hang(60, SQUAT, kit, unit="kg").load == load(60, "kg")
    _, most_bytes = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert most_bytes < 10_000_000  # nothing as long as these masses is ever laid out
    assert hang(5000, SQUAT, kit, unit="kg").load == load(60, "kg")


def test_more_than_the_bound_in_plates_is_never_answered():
    # 100 plates of 25 kg are 2,500 kg; 1,000 kg of them on the 20 kg bar are the most that is answered.
    assert hang(3000, SQUAT, make([(25, "kg", 100)]), unit="kg").load == load(1020, "kg")


def test_a_place_without_plates_has_its_empty_bar():
    for rounding in ("nearest", "down", "up"):
        loading = hang(100, SQUAT, replace(default_kit("kg"), plates=()), unit="kg", rounding=rounding)
        assert (loading.load, loading.per_side) == (load(20, "kg"), ())
