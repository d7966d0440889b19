"""Which rows are tied to which, and what a session of one says of the other."""

from dataclasses import replace
from datetime import date, timedelta
from math import log, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.catalogue import BUILT_IN, PULLS
from service.core.model.informing import informed, learned, said
from service.core.model.kin import Facts, Key, Kin, Level, Ratio, facts_of, level_of
from service.core.model.passing import opened
from service.core.model.state import Person, Row, new_person, new_row
from service.core.records import Lift
from tests.core.model.rows import START, histories, shared, whole

SQUAT = Key("squat", "unsupported", "")
PAUSE = Key("pause-squat", "unsupported", "")


def own(**changed: object) -> dict[str, Lift]:
    """The built-in lifts with a squat of the gym's own."""
    lift = {"id": "own", "name": "Own", "load_kind": "total", "based_on": "squat", "ratio": 0.8} | changed
    return BUILT_IN | {"own": Lift(**lift)}  # type: ignore[arg-type] # of a Lift


# Who is whose parent.


def test_a_variation_hangs_on_its_lift_by_the_lists_ratio() -> None:
    assert facts_of(BUILT_IN, PAUSE) == Facts("squat_like", Kin(SQUAT, log(0.90), 0.05))


def test_the_lists_convention_for_pulls_is_no_coachs_own() -> None:
    facts = facts_of(own(ratio_source=PULLS), Key("own", "unsupported", ""))
    assert facts is not None
    assert facts.kin == Kin(SQUAT, log(0.80), 0.05)


def test_a_ratio_that_a_coach_entered_is_believed_more() -> None:
    facts = facts_of(own(ratio_source="the gym's own"), Key("own", "unsupported", ""))
    assert facts is not None
    assert facts.kin == Kin(SQUAT, log(0.80), 0.03)


@pytest.mark.parametrize(("worn", "ratio", "spread"), [("wraps", 1.10, 0.07), ("suit", 1.20, 0.12)])
def test_a_class_of_support_hangs_on_the_same_lift_without(worn: str, ratio: float, spread: float) -> None:
    facts = facts_of(BUILT_IN, SQUAT._replace(support_class=worn))  # type: ignore[arg-type] # a class of support
    assert facts == Facts("squat_like", Kin(SQUAT, pytest.approx(log(ratio)), spread))


def test_a_variation_with_support_hangs_on_its_lift_with_the_same() -> None:
    facts = facts_of(BUILT_IN, PAUSE._replace(support_class="wraps"))
    assert facts is not None
    assert facts.kin is not None
    assert facts.kin.parent == SQUAT._replace(support_class="wraps")


def test_a_lift_by_itself_has_no_parent() -> None:
    assert facts_of(BUILT_IN, SQUAT) == Facts("squat_like", None)


@pytest.mark.parametrize("changed", [{"technique": True}, {"load_kind": "none"}])
def test_a_lift_that_technique_ends_or_that_has_no_load_has_no_model(changed: dict[str, object]) -> None:
    assert facts_of(own(**changed), Key("own", "unsupported", "")) is None


def test_a_lift_based_on_one_without_a_model_has_no_parent() -> None:
    parent = next(lift.id for lift in BUILT_IN.values() if lift.technique)
    assert facts_of(own(based_on=parent), Key("own", "unsupported", "")) == Facts("other", None)


def test_machines_of_two_stacks_are_strangers() -> None:
    lifts = own(load_kind="stack", based_on=None, ratio=None)
    assert facts_of(lifts, Key("own", "unsupported", "left")) == Facts("other", None)


# Levels and evidence.


@given(histories)
@settings(max_examples=40, deadline=None)
def test_a_level_has_the_variance_of_the_quotient(history: tuple[Person, Row, Row]) -> None:
    row = history[1]
    level = level_of(row)
    if level is None:
        return
    # The gradient of a / factor is (1, -t) / factor.
    t = row.m[0] / row.m[1]
    gradient = np.array([1, -t, 0, 0, 0, 0, 0]) / row.m[1]
    assert row.reference is not None
    assert level.at == pytest.approx(row.reference + t)
    assert level.variance == pytest.approx(gradient @ whole(row) @ gradient)


def test_what_a_session_said_is_what_was_seen() -> None:
    # 0.02 seen with variance 0.01, before it 0 with 0.04: precisions 100 and 25, mean 100 x 0.02 / 125.
    evidence = said(Level(0.0, 0.04), Level(100 * 0.02 / 125, 1 / 125))
    assert evidence == pytest.approx((0.02, 0.01))


@pytest.mark.parametrize("after", [0.0100, 0.0101, 0.00995])
def test_a_session_that_made_nothing_surer_said_nothing(after: float) -> None:
    assert said(Level(0.0, 0.01), Level(0.5, after)) is None


# The ratio.


def test_a_ratio_learns_by_how_unsure_it_is() -> None:
    ratio = Ratio(SQUAT, log(0.9), 0.0025)
    after = learned(ratio, log(0.9) + 0.04, 0.0025, START)  # as sure as what is seen: half of it
    assert after.mean == pytest.approx(log(0.9) + 0.02)
    assert after.variance == pytest.approx(0.00125)
    assert after.on == START


def test_a_ratio_is_learned_as_least_squares_would() -> None:
    shown = np.array([-0.02, 0.03, 0.05, 0.01])
    noise = np.array([0.001, 0.003, 0.002, 0.004])
    ratio = Ratio(SQUAT, 0.0, 0.0025)
    for value, variance in zip(shown, noise, strict=True):
        ratio = learned(ratio, float(value), float(variance), START)
    # Weighted by precision, the prior (0 with 0.0025) among them.
    weights = np.append(1 / noise, 1 / 0.0025)
    assert ratio.mean == pytest.approx(np.average(np.append(shown, 0.0), weights=weights))
    assert ratio.variance == pytest.approx(1 / weights.sum())


def test_a_ratio_that_was_learned_wanders_and_one_of_the_list_does_not() -> None:
    month = START + timedelta(days=25)
    assert Ratio(SQUAT, 0.0, 0.0025).variance_at(month) == 0.0025
    assert Ratio(SQUAT, 0.0, 0.0025, START).variance_at(month) == pytest.approx(0.0025 + 25 * 0.002**2)


def test_a_difference_beyond_belief_does_not_change_the_ratio() -> None:
    ratio = Ratio(SQUAT, 0.0, 0.0025)
    at = 3.5 * sqrt(0.0025 + 0.0011)
    assert learned(ratio, at * 1.001, 0.0011, START) is ratio
    assert learned(ratio, at * 0.999, 0.0011, START) is not ratio


# Informing.


def told_by_matrices(row: Row, person: Person, on: date, level: Level) -> tuple[np.ndarray, np.ndarray] | None:
    """The same by the information form, with what is shared put back by conditioning. None: the gate."""
    ready = opened(row, person, on)
    mean, cov = np.array(ready.m), whole(ready)
    assert row.reference is not None
    t = level.at - row.reference
    c = np.array([1, -t, 0, 0, 0, 0, 0])
    noise = ready.m[1] ** 2 * level.variance
    spread = c @ cov @ c + noise
    z = abs(c @ mean) / np.sqrt(spread)
    if z > 3.5:
        return None
    noise += spread * max(z / 1.5 - 1, 0)
    after = np.linalg.inv(np.linalg.inv(cov) + np.outer(c, c) / noise)
    moved = after @ np.linalg.inv(cov) @ mean
    rest, common = [0, 1, 2, 3, 4], [5, 6]
    way = after[np.ix_(rest, common)] @ np.linalg.inv(after[np.ix_(common, common)])
    alone = after[np.ix_(rest, rest)] - way @ after[np.ix_(common, rest)]
    believed = shared(person)
    result, spread_out = np.zeros(7), np.zeros((7, 7))
    result[common] = person.bias, person.factor
    result[rest] = moved[rest] + way @ (result[common] - moved[common])
    spread_out[np.ix_(common, common)] = believed
    spread_out[np.ix_(rest, common)] = way @ believed
    spread_out[np.ix_(common, rest)] = (way @ believed).T
    spread_out[np.ix_(rest, rest)] = alone + way @ believed @ way.T
    return result, spread_out


@given(histories, st.floats(-0.2, 0.2), st.floats(0.02, 0.15), st.integers(0, 40))
@settings(max_examples=150, deadline=None)
def test_informing_equals_the_slow_way(history: tuple[Person, Row, Row], off: float, spread: float, days: int) -> None:
    person, row, _ = history
    before = level_of(row)
    if before is None or row.day is None:
        return
    on, level = row.day + timedelta(days=days), Level(before.at + off, spread**2)
    after = informed(row, person, on, level)
    wanted = told_by_matrices(row, person, on, level)
    if wanted is None or not 0.5 < wanted[0][1] < 2:
        assert after is row
        return
    sd = np.sqrt(np.diag(wanted[1]))
    assert (np.array(after.m) - wanted[0]) / sd == pytest.approx(np.zeros(7), abs=1e-7)
    assert (whole(after) - wanted[1]) / np.outer(sd, sd) == pytest.approx(np.zeros((7, 7)), abs=1e-7)
    assert after.day == on


def test_informing_leaves_the_session_of_the_row_as_it_was() -> None:
    row = replace(new_row("other", 100), day=START, fatigue=3.0, used_in_session=0, refused=(0.4, 0.5), flag=0.3)
    after = informed(row, new_person(), START + timedelta(days=2), Level(log(102), 0.001))
    assert after is not row
    assert (after.fatigue, after.used_in_session, after.refused, after.flag) == (3.0, 0, (0.4, 0.5), 0.3)


def test_an_empty_row_is_not_informed() -> None:
    row = replace(new_row("other"), day=START)
    assert informed(row, new_person(), START, Level(log(100), 0.001)) is row


def test_a_level_far_off_says_nothing_and_a_surprising_one_says_less() -> None:
    row = replace(new_row("other", 100, spread=0.03), day=START)

    def moved(off: float) -> float:
        level = level_of(informed(row, new_person(), START, Level(log(100) + off, 0.0004)))
        assert level is not None
        return level.at - log(100)

    # sqrt(0.03² + 0.02²) = 0.036: 0.04 is about one standard deviation, 0.09 two and a half, 0.16 more than the gate.
    assert moved(0.04) == pytest.approx(0.04 * 0.9 / 1.3, rel=0.01)
    assert 0 < moved(0.09) < 0.75 * 0.09 * 0.9 / 1.3
    assert moved(0.16) == 0.0


def test_sessions_of_a_variation_never_say_more_than_its_ratio_allows() -> None:
    # An exact level through a ratio of variance v, in the 1st, 2nd, ... session: 1/v (1 + 1/4 + 1/9 + ...) < 1.645 / v.
    v = 0.05**2
    row = replace(new_row("other", 100, spread=0.3), day=START)
    before = level_of(row)
    for session in range(1, 400):
        row = informed(row, new_person(), START, Level(log(100), session**2 * v))
    after = level_of(row)
    assert before is not None
    assert after is not None
    assert 1 / after.variance - 1 / before.variance == pytest.approx(pi**2 / 6 / v, rel=0.01)
