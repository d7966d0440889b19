"""The model's running estimate of all lifts equals one joint estimate of everything, solved at once."""

import pytest

from tests.core.model.both import Plain, Product, let_the_max_go, off, told
from tests.core.model.joint import Joint
from tests.core.model.plain_logs import LIFTS, clean_log

MODELS = {"product": Product, "plain": Plain}


@pytest.fixture(autouse=True)
def the_filter_alone(monkeypatch):
    let_the_max_go(monkeypatch)


def joint(lifts):
    at_once = Joint()
    for name, given in lifts.items():
        spread = 0.2 if given["kg"] is None else 0.05 if given.get("tested") else 0.1
        at_once.new_lift(name, spread, given["group"])
    return at_once


def both_ways(model, log, lifts):
    """The running estimate and the joint one, lift by lift, opened at the end; and how often what happened."""
    running, at_once = MODELS[model](lifts), joint(lifts)
    last = {}
    counts = {"numbers": 0, "widened": 0}
    for logged in log:
        if logged.lift in last and last[logged.lift] != logged.on:
            at_once.pass_days(logged.lift, (logged.on - last[logged.lift]).days)
        last[logged.lift] = logged.on
        said = told(running, logged)
        assert said.status != "re_anchored"
        counts[said.status] = counts.get(said.status, 0) + 1
        if said.widened:
            counts["widened"] += 1
            at_once.step_level(logged.lift, 0, said.widened)
        if said.c is not None:
            counts["numbers"] += 1
            at_once.tell(logged.lift, said.c, said.value, said.noise)
    solved = at_once.solve()
    for name, on in last.items():
        running.open(name, on)
        lift, _ = running.seen(name)
        yield name, off((lift.m, lift.cov), solved[name]), counts


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_three_lifts_that_share_an_athlete_equal_one_joint_estimate(model, seed):
    for _, apart, counts in both_ways(model, clean_log(seed, 35), LIFTS):
        assert counts["numbers"] > 110
        assert apart < 1e-9


@pytest.mark.parametrize("model", MODELS)
def test_one_lift_alone_equals_one_joint_estimate(model):
    lifts = {"squat": LIFTS["squat"]}
    ((_, apart, counts),) = both_ways(model, clean_log(5, 40, ("squat",)), lifts)
    assert counts["numbers"] > 80
    assert apart < 1e-9


@pytest.mark.parametrize("model", MODELS)
def test_a_wrong_start_that_is_believed_less_is_a_step_of_the_level_in_the_joint_estimate(model):
    lifts = {**LIFTS, "squat": {"kg": 125.0, "group": 0.08}}
    found = list(both_ways(model, clean_log(6, 30), lifts))
    assert found[0][2]["widened"] > 0
    assert all(apart < 1e-9 for _, apart, _ in found)
