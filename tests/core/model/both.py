"""The product's model and the plain one behind the same few calls, so that a test can be run on either."""

import copy
from dataclasses import asdict
from typing import NamedTuple

import numpy as np

from service.core.model import judge, passing, state
from service.core.model.heard import Heard
from service.core.model.learn import learn
from tests.core.model import plain, plain_learn

UPPER = np.triu_indices(7)
GROUPS = {0.08: "squat_like", -0.06: "deadlift_like", 0.0: "other"}


class Told(NamedTuple):
    """What a set did, and what it said: c, e and R after down-weighting; None where it did not say a number."""

    status: str
    c: np.ndarray | None
    value: float | None
    noise: float | None
    widened: float


def let_the_max_go(monkeypatch):
    """Both models without the rule that the max does not move against the surprise: the filter alone, to the last bit.

    Whoever compares with another filter has to, since no other one knows the rule; `test_held.py` has what it does.
    """
    monkeypatch.setattr(judge, "steady", lambda before, after, p, step: after)
    monkeypatch.setattr(plain_learn, "keeps_the_max", lambda before, after, cov, step: after)


class Plain:
    def __init__(self, lifts):
        self.athlete = plain.Athlete()
        self.lifts = {name: plain.new_lift(**given) for name, given in lifts.items()}

    def learn(self, logged):
        result = plain_learn.learn(self.athlete, self.lifts[logged.lift], logged.entry, logged.on)
        return result.status

    def open(self, name, on):
        plain.opened(self.lifts[name], self.athlete, on)

    def seen(self, name):
        """The lift and the athlete, as the plain model has them; copies."""
        return copy.deepcopy(self.lifts[name]), copy.deepcopy(self.athlete)


class Product:
    def __init__(self, lifts):
        self.person = state.new_person()
        self.lesson = None
        self.rows = {name: new_row(**given) for name, given in lifts.items()}

    def learn(self, logged):
        row = passing.begin(self.rows[logged.lift], logged.on)
        self.person, self.rows[logged.lift], self.lesson = learn(self.person, row, heard(logged.entry))
        return self.lesson.status

    def open(self, name, on):
        self.rows[name] = passing.opened(self.rows[name], self.person, on)

    def seen(self, name):
        return as_lift(self.rows[name]), as_athlete(self.person)


def new_row(kg=None, *, tested=False, group=0.0):
    return state.new_row(GROUPS[group], kg, spread=state.TESTED_SD if tested else None)


def heard(entry):
    return Heard(**asdict(entry))


def as_lift(row):
    cov = np.zeros((7, 7))
    cov[UPPER] = row.p
    cov = cov + np.triu(cov, 1).T
    return plain.Lift(
        m=np.array(row.m),
        cov=cov,
        yref=row.reference,
        day=row.day,
        fatigue=row.fatigue,
        used_in_session=row.used_in_session,
        used_ever=row.used_ever,
        refused=list(row.refused),
        flag=row.flag,
        at_least=row.at_least,
    )


def as_athlete(person):
    return plain.Athlete(
        mean=np.array([person.bias, person.factor]),
        cov=np.array([[person.v_bias, person.v_both], [person.v_both, person.v_factor]]),
        rate=person.rate,
        v=person.erratic,
        n_v=person.judged,
    )


def told(model, logged):
    """Lets the model learn a set; what the set said is worked out by the plain formulas from the row before it."""
    lift, athlete = model.seen(logged.lift)
    plain.opened(lift, athlete, logged.on)
    before = lift.m
    result = plain_learn.learn(athlete, lift, logged.entry, logged.on)
    status = model.learn(logged)
    if result.told is None:
        return Told(status, None, None, None, 0.0)
    said = result.told
    return Told(status, said.c, said.e + said.c @ before, said.noise, result.widened)


def off(found, wanted):
    """How far two (means, covariance) lie apart, in standard deviations of the wanted."""
    sd = np.sqrt(np.diag(wanted[1]))
    means = np.abs(found[0] - wanted[0]) / sd
    return max(means.max(), (np.abs(found[1] - wanted[1]) / np.outer(sd, sd)).max())
