"""Methods that break the repetition curve: which they are, and that nothing is read from them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.core.ability.hearing import heard
from service.core.catalogue import BUILT_IN
from service.core.estimate.rolling import day_estimate, top_set_estimate
from service.core.methods import NAMED, is_slow, left_out, method_of
from service.core.records import DoneSet
from service.core.slots import Cluster, ComplexPart, DistanceTarget, LoadTarget, SetsAtTarget, Slot
from service.core.units import load

TRIPLE = DoneSet(lift="squat", role="top_set", load=load(140, "kg"), reps=3, rpe=9)
SETS = Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=LoadTarget(reps=3, load=load(100, "kg")))


def test_tempos_that_were_shown_to_take_repetitions_away_are_slow_and_a_moderate_one_is_not() -> None:
    # Wilk et al. 2018 (PMC6006544): 5/0/3/0 and 6/0/4/0 against 2/0/2/0; Ratamess et al. 2009: 1 to 2 s each way
    assert is_slow("5-0-3-0")
    assert is_slow("6-0-4-0")
    assert not is_slow("2-0-2-0")
    assert not is_slow("1-0-1-0")
    assert not is_slow("x-0-x-0")
    assert not is_slow(None)


def test_a_slots_sets_are_done_as_the_slot_says() -> None:
    squat, pause = BUILT_IN["squat"], BUILT_IN["pause-squat"]
    row = (ComplexPart(lift="clean", reps=1), ComplexPart(lift="jerk", reps=2))
    assert method_of(None, squat) == "straight"
    assert method_of(SETS, squat) == "straight"
    assert method_of(replace(SETS, tempo="5-0-3-0"), squat) == "slow_tempo"
    assert method_of(replace(SETS, tempo="3-2-x-0"), pause) == "straight", "a variation has a max of its own"
    assert method_of(replace(SETS, scheme=Cluster(sets=4, parts=3, rest_seconds=20)), squat) == "cluster"
    assert method_of(replace(SETS, complex=row), squat) == "complex"
    assert method_of(replace(SETS, target=DistanceTarget(metres=20)), squat) == "carry"


@pytest.mark.parametrize("method", NAMED)
def test_no_max_is_read_from_such_a_set_and_the_model_only_counts_it_as_tiring(method) -> None:
    squat = BUILT_IN["squat"]
    done = replace(TRIPLE, method=method)
    assert day_estimate(TRIPLE, squat, "default", None) is not None
    assert day_estimate(done, squat, "default", None) is None
    assert top_set_estimate(done, squat, "default", None) is None
    assert (heard(TRIPLE, 140).counts, heard(done, 140).counts) == ("all", "fatigue")
    told = left_out(method)
    assert told is not None
    assert told.startswith("The set is stored. No max is read from it: ")


def test_nothing_is_said_of_a_straight_set() -> None:
    assert left_out("straight") is None
