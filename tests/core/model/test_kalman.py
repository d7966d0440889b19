"""The model's running estimate of one lift equals statsmodels' Kalman filter, told the same."""

import numpy as np
import pytest
from statsmodels.tsa.statespace.kalman_filter import KalmanFilter

from tests.core.model import plain
from tests.core.model.both import Plain, Product, let_the_max_go, off, told
from tests.core.model.plain_logs import LIFTS, clean_log

MODELS = {"product": Product, "plain": Plain}


@pytest.fixture(autouse=True)
def the_filter_alone(monkeypatch):
    let_the_max_go(monkeypatch)


def filtered(given, log, model):
    """(states after each set as the model has them, the same by statsmodels, how many sets said a number)."""
    running = model({"it": given})
    count = len(log)
    observed = np.full((count, 1), np.nan)
    filter_ = KalmanFilter(k_endog=1, k_states=7, nobs=count)
    design, noise = np.zeros((1, 7, count)), np.ones((1, 1, count))
    moves = np.repeat(np.eye(7)[:, :, None], count, axis=2)
    drift, wander = np.zeros((7, count)), np.zeros((7, 7, count))
    start = plain.new_lift(**given)
    found = []
    for number, logged in enumerate(log):
        if number and logged.on != log[number - 1].on:
            days = (logged.on - log[number - 1].on).days
            moves[plain.D, plain.D, number - 1] = 0
            drift[plain.A, number - 1] = 0.0002 * min(days, 14)
            wander[plain.A, plain.A, number - 1] = 0.005**2 * days
            wander[plain.D, plain.D, number - 1] = 0.025**2
        said = told(running, logged._replace(lift="it"))
        assert said.status in {"used", "unrated", "refused"}
        if said.widened:
            place = start.cov if number == 0 else wander[:, :, number - 1]
            place[plain.A, plain.A] += said.widened
        if said.c is not None:
            observed[number], design[0, :, number], noise[0, 0, number] = said.value, said.c, said.noise
        lift, _ = running.seen("it")
        found.append((lift.m, lift.cov))
    filter_.bind(observed)
    filter_["design"], filter_["obs_cov"] = design, noise
    filter_["transition"], filter_["state_intercept"] = moves, drift
    filter_["selection"], filter_["state_cov"] = np.eye(7), wander
    filter_.initialize_known(start.m, start.cov)
    result = filter_.filter()
    theirs = [(result.filtered_state[:, t], result.filtered_state_cov[:, :, t]) for t in range(count)]
    return found, theirs, int(np.isfinite(observed).sum())


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize(
    ("given", "seed"),
    [
        (LIFTS["squat"], 11),
        ({"kg": 130.0, "group": 0.08}, 12),
        ({"kg": 158.0, "group": 0.08, "tested": True}, 13),
    ],
)
def test_every_state_of_a_lift_equals_that_of_an_independent_kalman_filter(model, given, seed):
    found, theirs, numbers = filtered(given, clean_log(seed, 40, ("squat",)), MODELS[model])
    assert numbers > 80
    assert max(off(ours, other) for ours, other in zip(found, theirs, strict=True)) < 1e-9
