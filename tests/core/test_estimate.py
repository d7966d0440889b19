"""Estimated maxes: the arithmetic by hand, the sentences held to the numbers, and what is refused."""

from __future__ import annotations

import re
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.answers import Estimate, Step
from service.core.curves.curves import CURVES
from service.core.errors import DomainError, NotComputable, OutOfRange
from service.core.estimate.estimate import estimated_max, implied_max_kg
from service.core.records import Lift
from service.core.units import Load, load

SQUAT = Lift(id="squat", name="Squat", load_kind="total", curve_group="squat_like")
DIP = Lift(id="dip", name="Dip", load_kind="bodyweight")
DUMBBELL = Lift(id="dumbbell-press", name="Dumbbell press", load_kind="per_hand")
MACHINE = Lift(id="leg-press", name="Leg press", load_kind="stack")
SNATCH = Lift(id="snatch", name="Snatch", load_kind="total", technique=True)
PLANK = Lift(id="plank", name="Plank", load_kind="none")
sampled = settings(max_examples=100, deadline=None)


def kg(value: float) -> Load:
    return load(value, "kg")


def step(found: Estimate, formula: str) -> Step:
    """The one step of that formula."""
    (only,) = [each for each in found.why if each.formula == formula]
    return only


def numbers(sentence: str) -> list[float]:
    """The numbers of a sentence in order; a minus sign counts only before a digit and after a blank."""
    return [float(each) for each in re.findall(r"(?<![\w.])-?\d+(?:\.\d+)?", sentence)]


def result(found: Step) -> float:
    assert found.result is not None
    return found.result.value


def test_five_repetitions_with_two_left() -> None:
    """7 to failure: (1 + 0.116 * 6)^-0.4 = 1.696^-0.4 = 0.809524 by the default curve; 100 / 0.809524 = 123.529."""
    found = estimated_max(lift=SQUAT, load=kg(100), reps=5, rpe=8)
    assert found.max.value == pytest.approx(123.529, abs=0.001)
    assert (found.max.unit, found.curve) == ("kg", "default")
    assert found.cautions == ()
    assert found.text == "About 123.5 kg, from 5 with 100 kg at RPE 8, by the default curve."


def test_repetitions_left_and_rpe_are_the_same_effort() -> None:
    by_rpe = estimated_max(lift=SQUAT, load=kg(100), reps=5, rpe=7.5)
    by_rir = estimated_max(lift=SQUAT, load=kg(100), reps=5, rir=2.5)
    assert by_rpe.max == by_rir.max
    assert by_rpe.range == by_rir.range
    assert "and 2.5 left" in by_rir.text


def test_to_failure_is_rpe_10_and_nothing_left() -> None:
    failure = estimated_max(lift=SQUAT, load=kg(100), reps=4, to_failure=True)
    assert failure.max == estimated_max(lift=SQUAT, load=kg(100), reps=4, rpe=10).max
    assert failure.max == estimated_max(lift=SQUAT, load=kg(100), reps=4, rir=0).max


def test_the_range_is_the_stated_percentage_around_the_max() -> None:
    """3 at RPE 8 are 5 to failure: 8 %. 1.464^-0.4 = 0.858586; 100 / 0.858586 = 116.471; * 0.92, * 1.08."""
    found = estimated_max(lift=SQUAT, load=kg(100), reps=3, rpe=8)
    assert found.range is not None
    assert found.range.low.value == pytest.approx(107.2, abs=0.051)
    assert found.range.high.value == pytest.approx(125.8, abs=0.051)
    assert found.range.level == 0.8


def test_the_range_never_begins_below_the_load_that_went_up() -> None:
    """2 to failure by Kemmler: 101.593 less 5 % would be 96.5, but 100 went up."""
    found = estimated_max(lift=SQUAT, load=kg(100), reps=2, to_failure=True, curve="kemmler")
    assert found.range is not None
    assert found.range.low.value == 100
    assert "not below the load that went up" in step(found, "spread_by_repetitions").text


@pytest.mark.parametrize("curve", CURVES)
def test_a_true_single_is_the_max_without_a_range(curve: str) -> None:
    found = estimated_max(lift=SQUAT, load=kg(187.5), reps=1, to_failure=True, curve=curve)
    assert found.max.value == 187.5
    assert found.range is None
    assert found.cautions == ()
    assert result(step(found, "true_single")) == 187.5


@pytest.mark.parametrize(("reps", "rpe", "says"), [(1, 10, True), (1, 9.5, True), (1, 9, False), (2, 10, False)])
@pytest.mark.parametrize("curve", CURVES)
def test_curves_that_jump_say_so_between_one_and_two_repetitions(curve: str, reps: int, rpe: float, says: bool) -> None:
    found = estimated_max(lift=SQUAT, load=kg(100), reps=reps, rpe=rpe, curve=curve)
    said = any(each.formula == "straight_line_from_one" for each in found.why)
    assert said == (says and CURVES[curve].jumps_at_one)


def test_the_jump_of_epley_is_told_in_percent() -> None:
    """30 / 31 = 96.77 %."""
    found = estimated_max(lift=SQUAT, load=kg(100), reps=1, rpe=9.5, curve="epley")
    assert numbers(step(found, "straight_line_from_one").text) == [1985, 96.77, 100]


def test_body_weight_is_part_of_the_load_and_taken_off_the_answer() -> None:
    """8 to failure with 75 + 20 = 95 kg: 1.812^-0.4 = 0.788382; 95 / 0.788382 = 120.500; less 75 is 45.5 added."""
    found = estimated_max(lift=DIP, load=kg(20), reps=8, to_failure=True, body_weight_kg=75)
    assert found.max.value == pytest.approx(45.5, abs=0.001)
    assert numbers(step(found, "with_body_weight").text) == [75, 20, 95]
    assert numbers(step(found, "without_body_weight").text) == [120.5, 75, 45.5]
    assert found.text.startswith("About 45.5 kg added")
    # 8.6 % of 120.5 is 10.36: of load and body weight together
    assert found.range is not None
    assert found.range.low.value == pytest.approx(35.1, abs=0.051)
    assert found.range.high.value == pytest.approx(55.9, abs=0.051)


def test_assistance_is_negative_and_spoken_of_as_assistance() -> None:
    """5 to failure with 80 - 30 = 50 kg: 50 / 0.858586 = 58.235; less 80 is -21.765."""
    found = estimated_max(lift=DIP, load=kg(-30), reps=5, to_failure=True, body_weight_kg=80)
    assert found.max.value == pytest.approx(-21.765, abs=0.001)
    assert found.text.startswith("About 21.8 kg of assistance")
    assert "80 kg of body weight less 30 kg of assistance leaves 50 kg." in [each.text for each in found.why]


def test_small_plates_are_said_as_they_are() -> None:
    """Brzycki, 5 to failure: 36 / 32 = 1.125; 61.25 * 1.125 = 68.906."""
    found = estimated_max(lift=SQUAT, load=kg(61.25), reps=5, to_failure=True, curve="brzycki")
    assert step(found, "max_from_share").text == "61.25 kg is 88.89 % of 68.9 kg."


def test_body_weight_without_an_added_load_is_a_max_too() -> None:
    """10 to failure: 2.044^-0.4 = 0.751290; 70 / 0.751290 = 93.173; 23.173 added."""
    found = estimated_max(lift=DIP, load=kg(0), reps=10, to_failure=True, body_weight_kg=70)
    assert found.max.value == pytest.approx(23.173, abs=0.001)


def test_dumbbells_are_one_hand() -> None:
    """Brzycki, 8 to failure: 29 / 36; 40 * 36 / 29 = 49.655."""
    found = estimated_max(lift=DUMBBELL, load=kg(40), reps=8, to_failure=True, curve="brzycki")
    assert found.max.value == pytest.approx(49.655, abs=0.001)
    assert "49.7 kg in each hand" in found.text


def test_a_machine_with_masses_has_a_max() -> None:
    """Epley, 6 to failure: 100 * 1.2."""
    assert estimated_max(lift=MACHINE, load=kg(100), reps=6, to_failure=True, curve="epley").max.value == 120


def test_pounds_in_and_kilograms_out() -> None:
    """Epley, 3 to failure: 225 lb * 1.1 = 247.5 lb = 112.264 kg; 225 lb is 102.058 kg."""
    found = estimated_max(lift=SQUAT, load=load(225, "lb"), reps=3, to_failure=True, curve="epley")
    assert found.max.value == pytest.approx(112.264, abs=0.001)
    assert numbers(step(found, "unit").text) == [225, 102.058]


def test_pounds_in_and_out_are_not_rounded_through_kilograms() -> None:
    found = estimated_max(lift=SQUAT, load=load(225, "lb"), reps=3, to_failure=True, curve="epley", unit="lb")
    assert (found.max.value, found.max.unit) == (247.5, "lb")
    assert all(each.formula != "unit" for each in found.why)


def test_half_a_repetition_at_nine_and_a_half_is_told_as_the_scale_words_it() -> None:
    found = estimated_max(lift=SQUAT, load=kg(100), reps=5, rpe=9.5)
    said = step(found, "repetitions_to_failure")
    assert "no further repetition but a little more load" in said.text
    assert result(said) == 5.5


def test_five_or_more_left_is_counted_as_five_and_told_as_at_least() -> None:
    found = estimated_max(lift=SQUAT, load=kg(100), reps=3, rir=6, or_more=True)
    assert result(step(found, "repetitions_to_failure")) == 8
    assert found.text.startswith("At least about ")
    assert "at least 8" in step(found, "repetitions_to_failure").text


@pytest.mark.parametrize(
    ("reps", "rpe", "cautious"), [(10, 10, False), (10, 9.5, True), (8, 7.5, True), (12, 10, True)]
)
def test_more_than_ten_repetitions_to_failure_are_cautioned(reps: int, rpe: float, cautious: bool) -> None:
    found = estimated_max(lift=SQUAT, load=kg(100), reps=reps, rpe=rpe)
    said = [each for each in found.cautions if each.code == "many_repetitions"]
    assert len(said) == cautious
    if cautious:
        assert numbers(said[0].text)[0] == reps + 10 - rpe


def test_more_than_ten_repetitions_widen_the_range() -> None:
    """9 % at 10 repetitions, 14 % at 15 (in parts of the max)."""
    ten = estimated_max(lift=SQUAT, load=kg(100), reps=10, to_failure=True)
    fifteen = estimated_max(lift=SQUAT, load=kg(100), reps=15, to_failure=True)
    assert ten.range is not None
    assert fifteen.range is not None
    assert ten.range.high.value / ten.max.value == pytest.approx(1.09, abs=0.001)
    assert fifteen.range.high.value / fifteen.max.value == pytest.approx(1.14, abs=0.001)


@pytest.mark.parametrize(
    ("curve", "reps", "beyond"),
    [("brzycki", 9, False), ("brzycki", 10, True), ("kemmler", 2, True), ("kemmler", 3, False), ("default", 16, True)],
)
def test_an_answer_beyond_what_the_curve_was_published_for_says_so(curve: str, reps: int, beyond: bool) -> None:
    found = estimated_max(lift=SQUAT, load=kg(100), reps=reps, to_failure=True, curve=curve)
    said = [each.text for each in found.cautions if each.code == "beyond_published_range"]
    assert len(said) == beyond
    if beyond:
        chosen = CURVES[curve]
        assert numbers(said[0])[-3:] == [chosen.published_fewest, chosen.published_most, reps]


loads = st.integers(1, 1200).map(lambda quarters: quarters / 4)
efforts = st.integers(8, 20).map(lambda doubled: doubled / 2)
curves_named = st.sampled_from(sorted(CURVES))
kinds = st.sampled_from([SQUAT, DIP, DUMBBELL, MACHINE])
TOLERANCES = {"percent": 0.0051, "reps": 1e-9}
mass_units = st.sampled_from(["kg", "lb"])


@sampled
@given(kinds, loads, mass_units, mass_units, st.integers(1, 9), efforts, curves_named)
def test_the_numbers_in_the_sentences_are_those_of_the_results(
    lift: Lift, value: float, entered: Any, unit: Any, reps: int, rpe: float, curve: str
) -> None:
    """Every step's sentence names its result: to a tenth of a load, a hundredth of a percent."""
    found = estimated_max(
        lift=lift, load=load(value, entered), reps=reps, rpe=rpe, curve=curve, unit=unit, body_weight_kg=82.5
    )
    for each in found.why:
        assert each.result is not None
        wanted = abs(each.result.value)  # assistance and a negative load are said without a sign
        assert min(abs(said - wanted) for said in numbers(each.text)) <= TOLERANCES.get(each.result.unit, 0.0501)
    names = [each.formula for each in found.why]
    assert names[0] == "repetitions_to_failure"
    last_max = "without_body_weight" if lift.load_kind == "bodyweight" else "max_from_share"
    if reps + 10 - rpe == 1 and lift.load_kind != "bodyweight":
        last_max = "true_single"
    assert result(step(found, last_max)) == found.max.value
    if found.range is None:
        assert reps + 10 - rpe == 1
    else:
        said = numbers(step(found, "spread_by_repetitions").text)
        assert said[2:4] == pytest.approx([abs(found.range.low.value), abs(found.range.high.value)])
        assert said[4] == pytest.approx(result(step(found, "spread_by_repetitions")), abs=0.051)
        assert found.range.low.value <= found.max.value + 0.05
        assert found.max.value <= found.range.high.value + 0.05


@sampled
@given(kinds, loads, st.integers(1, 9), efforts, curves_named)
def test_the_steps_can_be_followed_with_a_pocket_calculator(
    lift: Lift, value: float, reps: int, rpe: float, curve: str
) -> None:
    found = estimated_max(lift=lift, load=kg(value), reps=reps, rpe=rpe, curve=curve, body_weight_kg=82.5)
    body = 82.5 if lift.load_kind == "bodyweight" else 0
    to_failure = result(step(found, "repetitions_to_failure"))
    assert to_failure == reps + 10 - rpe
    if to_failure > 1:
        percent = result(step(found, f"{curve}_curve"))
        assert found.max.value + body == pytest.approx((value + body) / percent * 100, rel=2e-4, abs=0.0012)
        whole, part, most = numbers(step(found, "max_from_share").text)
        assert whole == pytest.approx(value + body, abs=0.0501 if body else 1e-9)
        assert part == percent
        assert most == pytest.approx(found.max.value + body, abs=0.0501)


@sampled
@given(loads, st.integers(1, 9), efforts, curves_named)
def test_a_heavier_load_or_an_easier_set_means_a_higher_max(value: float, reps: int, rpe: float, curve: str) -> None:
    base = estimated_max(lift=SQUAT, load=kg(value), reps=reps, rpe=rpe, curve=curve).max.value
    assert estimated_max(lift=SQUAT, load=kg(value + 1), reps=reps, rpe=rpe, curve=curve).max.value > base
    if rpe >= 4.5:
        easier = estimated_max(lift=SQUAT, load=kg(value), reps=reps, rpe=rpe - 0.5, curve=curve).max.value
        assert easier >= base  # equal only where a gram is coarser than the difference
        assert value < 10 or easier > base


@sampled
@given(loads, st.integers(1, 9), efforts, curves_named)
def test_the_implied_max_is_what_the_estimate_answers(value: float, reps: int, rpe: float, curve: str) -> None:
    found = estimated_max(lift=SQUAT, load=kg(value), reps=reps, rpe=rpe, curve=curve)
    assert found.max.value == pytest.approx(implied_max_kg(curve, value, reps, rpe), abs=0.0006)


def test_the_implied_max_by_hand() -> None:
    """140 kg for 3 at RPE 8.5: 4.5 to failure, 1.406^-0.4 = exp(-0.4 * 0.340749) = 0.872583; 140 / 0.872583."""
    assert implied_max_kg("default", 140, 3, 8.5) == pytest.approx(160.444, abs=0.001)


def test_technique_lifts_refuse_effort_and_repetitions_and_say_why() -> None:
    calls: list[dict[str, Any]] = [
        {"reps": 1, "rpe": 9}, {"reps": 1, "rpe": 10}, {"reps": 1, "rir": 0}, {"reps": 3, "to_failure": True},
    ]  # fmt: skip
    for call in calls:
        with pytest.raises(NotComputable, match="technique ends the set, not strength") as refused:
            estimated_max(lift=SNATCH, load=kg(80), **call)
        assert refused.value.code == "technique_lift"


def test_the_heaviest_single_of_a_technique_lift_is_its_max() -> None:
    found = estimated_max(lift=SNATCH, load=kg(80), reps=1, to_failure=True)
    assert (found.max.value, found.range) == (80, None)


GOOD: dict[str, Any] = {"lift": SQUAT, "load": kg(100), "reps": 5, "rpe": 8}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"lift": PLANK}, "no_load"),
        ({"lift": MACHINE, "load": load(7, "step")}, "step_without_mass"),
        ({"lift": DIP}, "no_body_weight"),
        ({"lift": DIP, "load": kg(-80), "body_weight_kg": 80}, "nothing_lifted"),
        ({"lift": DIP, "load": kg(-90), "body_weight_kg": 80}, "nothing_lifted"),
        ({"rpe": None}, "no_effort"),
        ({"rir": 2}, "two_efforts"),
        ({"to_failure": True}, "two_efforts"),
        ({"rpe": None, "rir": 0, "to_failure": True}, "two_efforts"),
        ({"rpe": None, "rir": 3, "or_more": True}, "or_more"),
        ({"or_more": True}, "or_more"),
        ({"rpe": 8.2}, "not_a_half"),
        ({"curve": "nobody"}, "unknown_curve"),
        ({"rpe": 11}, "out_of_range"),
        ({"rpe": nan}, "out_of_range"),
        ({"rpe": None, "rir": -1}, "out_of_range"),
        ({"reps": 0}, "out_of_range"),
        ({"reps": 500}, "out_of_range"),
        ({"load": kg(0)}, "out_of_range"),
        ({"load": kg(-20)}, "out_of_range"),
        ({"load": kg(2001)}, "out_of_range"),
        ({"lift": DIP, "body_weight_kg": nan}, "out_of_range"),
        ({"lift": DIP, "body_weight_kg": inf}, "out_of_range"),
        ({"lift": DIP, "body_weight_kg": -80}, "out_of_range"),
        ({"reps": 60, "rpe": 10}, "out_of_range"),
        ({"reps": 25, "rpe": 10, "curve": "brzycki"}, "out_of_range"),
    ],
)
def test_bad_input_is_refused_with_a_code_and_a_sentence(change: dict[str, Any], code: str) -> None:
    assert estimated_max(**GOOD).max.value > 100  # what is changed was good
    with pytest.raises(DomainError) as refused:
        estimated_max(**{**GOOD, **change})
    assert refused.value.code == code
    assert len(str(refused.value)) > 20


def test_repetitions_that_a_curve_does_not_reach_name_its_range() -> None:
    with pytest.raises(OutOfRange) as refused:
        estimated_max(lift=SQUAT, load=kg(60), reps=18, rpe=7, curve="brzycki")
    assert (refused.value.value, refused.value.low, refused.value.high) == (21, 1, 20)
