"""The plain model against the worked examples of the specification."""

import copy
from datetime import date, timedelta

import numpy as np
import pytest

from tests.core.model import plain, plain_learn, plain_outputs
from tests.core.model.worked import STORIES

START = date(2026, 1, 5)
PRINTED = (0.15, 0.10)
"""The chances to pass the limit that the worked examples are printed with."""
CASES = [(name, number) for name, story in STORIES.items() for number in range(len(story.steps) + 1)]


def told(story, count):
    """The athlete, the lifts and the last result after so many steps."""
    athlete = plain.Athlete()
    lifts = {name: plain.new_lift(**given) for name, given in story.lifts.items()}
    result = None
    for step in story.steps[:count]:
        on = START + timedelta(step.day)
        result = plain_learn.learn(athlete, lifts[step.lift], plain.Entry(**step.sets), on)
    return athlete, lifts, result


ANSWERS = {
    "state": lambda athlete, lift: lift.m,
    "maximum": lambda athlete, lift: plain_outputs.estimated_max(lift, athlete.rate),
    "load": lambda athlete, lift, **about: min(plain_outputs.load(lift, chances=PRINTED, **about)),
    "loads": lambda athlete, lift, **about: plain_outputs.load(lift, chances=PRINTED, **about),
    "free": lambda athlete, lift, **about: plain_outputs.load(lift, **about)[0],
    "expected": lambda athlete, lift, **about: plain_outputs.expected_rpe(lift, v=athlete.v, **about),
    "expected_only": lambda athlete, lift, **about: plain_outputs.expected_rpe(lift, v=athlete.v, **about)[0],
    "single": lambda athlete, lift, **about: plain_outputs.chance_of_single(lift, **about),
    "pass": lambda athlete, lift, **about: plain_outputs.chance_to_pass(lift, **about),
    "pass_reported": lambda athlete, lift, **about: plain_outputs.chance_to_pass(lift, **about)[0],
    "day": lambda athlete, lift: plain_outputs.day_capacity(lift),
    "follow": lambda athlete, lift, **about: plain_outputs.follow_ups(lift, chances=PRINTED, **about),
    "forecast": lambda athlete, lift, **about: plain_outputs.forecast(lift, athlete.rate, **about),
    "listed": lambda athlete, lift, **about: plain_outputs.listed_load(lift, **about),
    "covariance": lambda athlete, lift: lift.cov[np.triu_indices(7)],
    "reference": lambda athlete, lift: np.exp(lift.yref),
    "refused": lambda athlete, lift: lift.refused,
    "flag": lambda athlete, lift: lift.flag,
    "rate": lambda athlete, lift: athlete.rate,
    "slip": lambda athlete, lift, **about: plain_learn.explain(lift, plain.Entry(**about))[0],
    "slip_z": lambda athlete, lift, **about: list(plain_learn.explain(lift, plain.Entry(**about))[1].values()),
    "adopted": lambda athlete, lift: [*lift.m[[1, 5, 6]], lift.cov[1, 1], lift.cov[5, 5]],
    "athlete": lambda athlete, lift: [
        *athlete.mean,
        *athlete.cov[np.triu_indices(2)],
        athlete.rate,
        athlete.v,
        athlete.n_v,
    ],
}


@pytest.mark.parametrize(("name", "count"), CASES)
def test_the_plain_model_tells_the_worked_stories(name, count):
    story = STORIES[name]
    athlete, lifts, result = told(story, count)
    if count:
        step = story.steps[count - 1]
        lift = lifts[step.lift]
        assert result.status == step.status
        if step.state is not None:
            assert lift.m == pytest.approx(step.state, rel=1e-5, abs=1e-7)
            assert plain_outputs.estimated_max(lift, athlete.rate) == pytest.approx(step.maximum, rel=1e-5)
        if step.fatigue is not None:
            assert lift.fatigue == pytest.approx(step.fatigue, rel=1e-5)
    for asked in story.asked:
        if asked.after == count:
            lift = copy.deepcopy(lifts[asked.lift])
            plain.opened(lift, athlete, START + timedelta(asked.day))
            answer = ANSWERS[asked.what](athlete, lift, **asked.about)
            if isinstance(asked.answer, str):
                assert answer == asked.answer
            else:
                assert np.asarray(answer) == pytest.approx(np.asarray(asked.answer), rel=1e-5, abs=1e-7), asked
