"""Day estimates and the rolling average; curve values are those of the default curve's closed form, by hand."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN
from service.core.errors import NotComputable
from service.core.estimate.rolling import (
    ReplayNeeded,
    RollingState,
    day_estimate,
    fold,
    possible_reps,
    replay,
    support_class,
    top_set_estimate,
)
from service.core.records import DoneSet, Lift
from service.core.units import load

SQUAT = Lift(id="squat", name="Squat", load_kind="total")
SNATCH = Lift(id="snatch", name="Snatch", load_kind="total", technique=True)
DIP = Lift(id="dip", name="Dip", load_kind="bodyweight")
MONDAY = date(2026, 3, 2)


def done(kg: float | None = 140, reps: int = 3, **said: Any) -> DoneSet:
    shown = None if kg is None else load(kg, "kg")
    return DoneSet(lift="squat", **{"role": "top_set", "load": shown, "reps": reps, **said})


def test_a_single_with_two_left_is_92_percent_so_138_kg_show_150() -> None:
    # common practice, no source: about 92 %; here (1 + 0.116 * 2) ** -0.4 = 0.919932, 138 / 0.919932 = 150.01
    assert day_estimate(done(138, 1, rpe=8), SQUAT, "default", None) == pytest.approx(150.01, abs=0.005)


def test_by_epley_a_triple_at_rpe_9_counts_as_four_repetitions() -> None:
    # Epley: max = load * (1 + reps / 30); 150 * (1 + 4 / 30) = 170
    assert day_estimate(done(150, 3, rpe=9), SQUAT, "epley", None) == pytest.approx(170)


def test_repetitions_left_say_the_same_as_rpe() -> None:
    assert day_estimate(done(rir=1), SQUAT, "default", None) == day_estimate(done(rpe=9), SQUAT, "default", None)


def test_to_failure_without_an_effort_counts_the_repetitions_done() -> None:
    # (1 + 0.116 * 2) ** -0.4 = 0.919932; 140 / 0.919932 = 152.185
    assert day_estimate(done(140, 3, ended_by="strength"), SQUAT, "default", None) == pytest.approx(152.185, abs=0.001)


def test_a_missed_repetition_counts_for_three_tenths() -> None:
    missed = done(140, 2, made=False, ended_by="strength")
    assert possible_reps(missed) == pytest.approx(2.3)
    # (1 + 0.116 * 1.3) ** -0.4 = 1.1508 ** -0.4 = exp(-0.4 * 0.140457) = 0.945367; 140 / 0.945367 = 148.091
    assert day_estimate(missed, SQUAT, "default", None) == pytest.approx(148.091, abs=0.001)


@pytest.mark.parametrize(
    "told_nothing",
    [
        done(rpe=6.5),
        done(reps=4, rpe=9),
        done(),
        done(rpe=9, role="build_up"),
        done(rpe=9, role="warm_up"),
        done(rpe=9, pain="stop"),
        done(rpe=9, ended_by="pain", pain="some"),
        done(rpe=9, ended_by="technique"),
        done(rpe=9, ended_by="command", made=False),
        done(rpe=9, ended_by="grip"),
        done(reps=0, made=False, ended_by="strength"),
        done(kg=None, rpe=9),
        done(rir=5, or_more=True),
        done(felt="heavier"),
        done(rpe=9, load=load(7, "step")),
    ],
)
def test_light_long_unrated_stopped_or_massless_sets_tell_no_day_max(told_nothing: DoneSet) -> None:
    assert day_estimate(told_nothing, SQUAT, "default", None) is None


def test_pain_that_did_not_end_the_set_leaves_its_estimate() -> None:
    with_pain, without = done(rpe=9, pain="some"), done(rpe=9)
    assert day_estimate(with_pain, SQUAT, "default", None) == day_estimate(without, SQUAT, "default", None)


def test_a_word_is_read_against_what_the_set_was_expected_to_be() -> None:
    # expected 7.7 is 7.5 in halves, heavier is one point more: RPE 8.5
    word = done(felt="heavier", expected_rpe=7.7)
    assert day_estimate(word, SQUAT, "default", None) == day_estimate(done(rpe=8.5), SQUAT, "default", None)


def test_the_rolling_average_takes_up_to_twelve_repetitions_at_rpe_6_5() -> None:
    # by Epley 12 + 3.5 repetitions: 100 * (1 + 15.5 / 30) = 151.667
    long = done(100, 12, rpe=6.5)
    assert top_set_estimate(long, SQUAT, "epley", None) == pytest.approx(151.667, abs=0.001)
    assert day_estimate(long, SQUAT, "epley", None) is None
    assert top_set_estimate(done(100, 13, rpe=8), SQUAT, "epley", None) is None
    assert top_set_estimate(done(100, 5, rpe=6), SQUAT, "epley", None) is None


def test_a_curve_that_does_not_reach_so_far_tells_nothing() -> None:
    # the textbook's table ends at 15 repetitions; 12 + 3.5 are beyond
    assert top_set_estimate(done(100, 12, rpe=6.5), SQUAT, "textbook_table", None) is None


def test_of_a_technique_lift_only_a_made_single_counts_and_never_for_the_average() -> None:
    assert day_estimate(done(100, 1), SNATCH, "default", None) == 100
    assert day_estimate(done(100, 2, rpe=9), SNATCH, "default", None) is None
    assert day_estimate(done(100, 1, made=False, ended_by="technique"), SNATCH, "default", None) is None
    assert top_set_estimate(done(100, 1, rpe=9), SNATCH, "default", None) is None


def test_bodyweight_lifts_count_the_body_weight_or_tell_nothing() -> None:
    # Epley, 3 at RPE 9: (80 + 20) * (1 + 4 / 30) = 113.333; assisted by 20 kg: 60 * 34 / 30 = 68
    assert day_estimate(done(20, 3, rpe=9), DIP, "epley", 80) == pytest.approx(113.333, abs=0.001)
    assert day_estimate(done(-20, 3, rpe=9), DIP, "epley", 80) == pytest.approx(68)
    assert day_estimate(done(20, 3, rpe=9), DIP, "epley", None) is None
    assert day_estimate(done(-80, 3, rpe=9), DIP, "epley", 80) is None


def test_lifts_without_a_load_tell_nothing() -> None:
    assert day_estimate(done(rpe=9), Lift(id="plank", name="Plank", load_kind="none"), "default", None) is None


def test_three_days_by_hand() -> None:
    # 160; 160 + 0.3 * (170 - 160) = 163; 163 + 0.3 * (150 - 163) = 159.1
    state = fold(None, MONDAY, 140, 160)
    state = fold(state, MONDAY + timedelta(2), 145, 170)
    assert state.value == pytest.approx(163)
    state = fold(state, MONDAY + timedelta(4), 130, 150)
    assert state.value == pytest.approx(159.1)
    # a heavier set on the same day takes the place of the first: 163 + 0.3 * (164 - 163) = 163.3
    assert fold(state, MONDAY + timedelta(4), 135, 164).value == pytest.approx(163.3)
    assert fold(state, MONDAY + timedelta(4), 125, 200) == state


def test_of_straight_sets_the_first_counts_as_it_was_the_freshest() -> None:
    # 3 x 5 with 100 kg at RPE 8, 8.5 and 9: n = 7, 6.5, 6, by Epley 123.33, 121.67, 120
    state = replay([(MONDAY, 100, 123.33), (MONDAY, 100, 121.67), (MONDAY, 100, 120)])
    assert state == RollingState(None, MONDAY, 100, 123.33, 123.33)
    # the next time: 123.33 + 0.3 * (125 - 123.33) = 123.831; its second set, as heavy, changes nothing
    state = replay([(MONDAY, 100, 123.33), (MONDAY + timedelta(3), 100, 125), (MONDAY + timedelta(3), 100, 118)])
    assert state is not None
    assert state.value == pytest.approx(123.831)


def test_a_set_from_an_earlier_day_asks_for_a_replay() -> None:
    with pytest.raises(ReplayNeeded):
        fold(fold(None, MONDAY, 140, 160), MONDAY - timedelta(1), 140, 160)


LOGS = st.lists(
    st.tuples(st.integers(0, 5), st.integers(1, 60).map(lambda n: n * 5.0), st.floats(50, 400)), min_size=1, max_size=12
)


def plain(log: list[tuple[int, float, float]]) -> float:
    """The same average written out another way: the first heaviest of each day, then weights 0.7 ** age."""
    best: dict[int, tuple[float, float]] = {}
    for day, kg, estimate in log:
        if day not in best or kg > best[day][0]:
            best[day] = (kg, estimate)
    values = [best[day][1] for day in sorted(best)]
    first, rest = values[0], values[1:]
    return 0.7 ** len(rest) * first + sum(0.3 * 0.7**age * v for age, v in enumerate(reversed(rest)))


@given(LOGS)
@settings(max_examples=100)
def test_folding_in_order_is_the_weighted_sum_of_the_days(log: list[tuple[int, float, float]]) -> None:
    ordered = sorted(log, key=lambda entry: entry[0])
    state = replay((MONDAY + timedelta(day), kg, estimate) for day, kg, estimate in ordered)
    assert state is not None
    assert state.value == pytest.approx(plain(ordered))
    assert min(e for *_, e in log) - 1e-9 <= state.value <= max(e for *_, e in log) + 1e-9


@given(st.data())
@settings(max_examples=100)
def test_within_a_day_the_order_matters_only_between_equally_heavy_sets(data: st.DataObject) -> None:
    kilograms = data.draw(st.lists(st.integers(20, 300), min_size=1, max_size=6, unique=True))
    sets = [(MONDAY, float(kg), data.draw(st.floats(50, 400))) for kg in kilograms]
    before = fold(None, MONDAY - timedelta(1), 100, 120)
    results = {_from(before, order) for order in (sets, data.draw(st.permutations(sets)))}
    assert len(results) == 1


def _from(state: RollingState, sets: list[tuple[date, float, float]]) -> RollingState:
    for entry in sets:
        state = fold(state, *entry)
    return state


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ((), "unsupported"),
        (("none",), "unsupported"),
        (("belt", "sleeves"), "unsupported"),
        (("belt", "wraps"), "wraps"),
        (("shirt",), "suit"),
        (("wraps", "suit"), "suit"),
    ],
)
def test_support_words_fall_into_three_classes(words: tuple[str, ...], found: str) -> None:
    assert support_class(words) == found


def test_an_unknown_word_of_support_is_refused() -> None:
    with pytest.raises(NotComputable):
        support_class(("cape",))


def test_a_hold_with_a_load_counts_no_repetitions_and_tells_no_max() -> None:
    held = DoneSet(lift="squat", role="top_set", load=load(140, "kg"), reps=1, rpe=9, seconds=30)
    assert day_estimate(held, BUILT_IN["squat"], "default", None) is None
    assert day_estimate(replace(held, seconds=None), BUILT_IN["squat"], "default", None) is not None
