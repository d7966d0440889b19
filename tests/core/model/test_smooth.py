"""The backward pass, against one joint estimate of all sessions at once and against another library's smoother."""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from statsmodels.tsa.statespace.mlemodel import MLEModel

from service.core.model.heard import Heard
from service.core.model.learn import learn
from service.core.model.levels import rolling_max
from service.core.model.passing import adopt, begin
from service.core.model.smooth import Smoothed, Step, smooth, solve, whole
from service.core.model.state import Person, Row, new_person, new_row

START = date(2026, 1, 5)
KEEPS = np.diag([1.0, 1, 0, 1, 1, 1, 1])  # the day is forgotten
DRIFT, WANDER, DAY = 0.0002, 0.005**2, 0.025**2


class Told(NamedTuple):
    """Sessions of one lift that were filtered, and the observations (c, value, R) of each."""

    steps: list[Step]
    evidence: list[list[tuple[np.ndarray, float, float]]]
    gaps: list[int]
    start: Row


def triangle(matrix: np.ndarray) -> tuple[float, ...]:
    return tuple(map(float, matrix[np.triu_indices(7)]))


def full(row: Row) -> np.ndarray:
    return np.array(whole(row.p))


def night(days: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean and covariance of what a night of so many days adds."""
    return np.array([DRIFT * min(days, 14), 0, 0, 0, 0, 0, 0]), np.diag([WANDER * days, 0, DAY, 0, 0, 0, 0])


@st.composite
def stories(draw: st.DrawFn) -> Told:
    """Sessions with invented observations of the right form, filtered by textbook matrices."""
    random = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    start = new_row("squat_like", 150)
    m, p = np.array(start.m), full(start)
    told = Told([], [], [], start)
    for session in range(draw(st.integers(1, 6))):
        if session:
            days = int(random.integers(1, 40))
            told.gaps.append(days)
            drift, noise = night(days)
            m, p = KEEPS @ m + drift, KEEPS @ p @ KEEPS.T + noise
        predicted = (tuple(map(float, m)), triangle(p))
        told.evidence.append([])
        # What other lifts taught about the athlete is adopted: to this lift, an observation of bias or person.
        taught = [np.eye(7)[random.choice([5, 6])]] if random.random() < 0.5 else []
        sets = [
            np.array([1, random.uniform(0, 0.3), 1, -count, random.uniform(-0.02, 0.02), -0.03, 0])
            for count in range(int(random.integers(1, 5)))
        ]
        for c in taught + sets:
            noise = random.uniform(0.01, 0.06) ** 2
            value = float(c @ m + random.normal() * np.sqrt(c @ p @ c + noise))
            told.evidence[-1].append((c, value, noise))
            gain = p @ c / (c @ p @ c + noise)
            m, p = m + gain * (value - c @ m), p - np.outer(gain, p @ c)
        on = START + timedelta(sum(told.gaps))
        told.steps.append(Step(on, start.reference, predicted, (tuple(map(float, m)), triangle(p))))
    return told


def expected(reference: float, m: np.ndarray, p: np.ndarray) -> tuple[float, float, float]:
    """The rolling max of a state by its definition, with matrices."""
    t = m[0] / m[1]
    c = np.array([1, -t, 0, 0, 0, 0, 0])
    half = 1.2815515655 * 1.07 * np.sqrt(c @ p @ c) / m[1]
    return tuple(float(np.exp(reference + t + x)) for x in (0, -half, half))


def ranged(smoothed: Smoothed) -> tuple[float, float, float]:
    return smoothed.max.kg, smoothed.max.low, smoothed.max.high


@given(stories())
def test_the_backward_pass_is_one_joint_estimate_of_all_sessions(told: Told) -> None:
    """All states of all sessions as one normal vector, conditioned at once on all observations."""
    count = len(told.steps)
    mean, cov = np.zeros(7 * count), np.zeros((7 * count, 7 * count))
    mean[:7], cov[:7, :7] = told.start.m, full(told.start)
    for i, days in enumerate(told.gaps, start=1):
        here, before = slice(7 * i, 7 * i + 7), slice(7 * i - 7, 7 * i)
        drift, noise = night(days)
        mean[here] = KEEPS @ mean[before] + drift
        cov[here, : 7 * i] = KEEPS @ cov[before, : 7 * i]
        cov[: 7 * i, here] = cov[here, : 7 * i].T
        cov[here, here] = KEEPS @ cov[before, before] @ KEEPS.T + noise
    seen = [(i, *one) for i, session in enumerate(told.evidence) for one in session]
    design = np.zeros((len(seen), 7 * count))
    for line, (i, c, _, _) in enumerate(seen):
        design[line, 7 * i : 7 * i + 7] = c
    gain = np.linalg.solve(design @ cov @ design.T + np.diag([noise for *_, noise in seen]), design @ cov).T
    mean_all = mean + gain @ (np.array([value for _, _, value, _ in seen]) - design @ mean)
    cov_all = cov - gain @ design @ cov
    smoothed = smooth(told.steps, new_person())
    assert [one.on for one in smoothed] == [step.on for step in told.steps]
    assert [one.starts for one in smoothed] == [True] + [False] * (count - 1)
    for i, one in enumerate(smoothed):
        here = slice(7 * i, 7 * i + 7)
        assert ranged(one) == pytest.approx(
            expected(told.start.reference, mean_all[here], cov_all[here, here]), rel=1e-7
        )


class Nights(MLEModel):
    """The same sessions for statsmodels, with one observation for each session."""

    def __init__(self, told: Told) -> None:
        count = len(told.steps)
        super().__init__(np.array([session[0][1] for session in told.evidence]), k_states=7, k_posdef=2)
        design, noise = np.zeros((1, 7, count)), np.zeros((1, 1, count))
        drifts, wander = np.zeros((7, count)), np.zeros((2, 2, count))
        for i, session in enumerate(told.evidence):
            design[0, :, i], noise[0, 0, i] = session[0][0], session[0][2]
        for i, days in enumerate(told.gaps):  # the step from i to i + 1
            mean, cov = night(days)
            drifts[:, i], wander[:, :, i] = mean, cov[np.ix_([0, 2], [0, 2])]
        self["design"], self["obs_cov"], self["state_intercept"] = design, noise, drifts
        self["transition"], self["state_cov"] = KEEPS, wander
        selection = np.zeros((7, 2))
        selection[0, 0] = selection[2, 1] = 1
        self["selection"] = selection
        self.ssm.initialize_known(np.array(told.start.m), full(told.start))


def filtered_once(told: Told) -> Told:
    """The story with the first observation of each session alone."""
    m, p = np.array(told.start.m), full(told.start)
    steps = []
    for i, step in enumerate(told.steps):
        if i:
            drift, noise = night(told.gaps[i - 1])
            m, p = KEEPS @ m + drift, KEEPS @ p @ KEEPS.T + noise
        before = (tuple(map(float, m)), triangle(p))
        c, value, noise = told.evidence[i][0]
        gain = p @ c / (c @ p @ c + noise)
        m, p = m + gain * (value - c @ m), p - np.outer(gain, p @ c)
        steps.append(Step(step.on, step.reference, before, (tuple(map(float, m)), triangle(p))))
    return Told(steps, [session[:1] for session in told.evidence], told.gaps, told.start)


@given(stories().filter(lambda told: len(told.steps) > 1))
def test_the_backward_pass_is_that_of_statsmodels(told: Told) -> None:
    told = filtered_once(told)
    theirs = Nights(told).ssm.smooth()
    for i, one in enumerate(smooth(told.steps, new_person())):
        state = expected(told.start.reference, theirs.smoothed_state[:, i], theirs.smoothed_state_cov[:, :, i])
        assert ranged(one) == pytest.approx(state, rel=1e-6)


@given(st.integers(0, 2**32 - 1), st.integers(1, 7), st.integers(1, 7))
def test_systems_are_solved_as_by_numpy(seed: int, n: int, sides: int) -> None:
    random = np.random.default_rng(seed)
    matrix, right = random.normal(size=(n, n)), random.normal(size=(n, sides))
    ours = np.array(solve(matrix.tolist(), right.tolist()))
    assert matrix @ ours == pytest.approx(right, abs=1e-9 * np.linalg.cond(matrix))


def lived(sets: list[tuple[int, Heard]], row: Row) -> tuple[list[Step], Person, Row]:
    """Sessions of one lift as the product would collect them; at most one re-anchoring in a session."""
    person, steps = new_person(), []
    for days in sorted({day for day, _ in sets}):
        row = begin(row, START + timedelta(days))
        before, anchored = (row.m, row.p), row.reference is None
        for day, heard in sets:
            if day == days:
                person, row, lesson = learn(person, row, heard)
                anchored = anchored or lesson.status == "re_anchored"
        steps.append(Step(row.day, row.reference, before, (row.m, row.p), anchored))
    return steps, person, row


def test_the_last_session_stands_as_it_was_and_earlier_ones_learn_from_it() -> None:
    hard = [(0, Heard(100, 5, 8)), (3, Heard(102.5, 5, 8)), (6, Heard(105, 5, 8)), (9, Heard(107.5, 5, 8))]
    steps, person, row = lived(hard, new_row("squat_like", 130))
    smoothed = smooth(steps, person)
    assert smoothed[-1].max == rolling_max(row, person)
    for one, step in zip(smoothed[:-1], steps[:-1], strict=True):
        kg, low, high = expected(step.reference, np.array(step.filtered[0]), np.array(whole(step.filtered[1])))
        # Each week's 2.5 kg more at the same effort was more than the drift: looking back, the lifter was stronger.
        assert one.max.kg > kg
        assert one.max.high / one.max.low < high / low


def test_the_line_is_cut_at_a_new_anchor() -> None:
    """Worked example D of the specification: a new level after a month."""
    first = [(0, Heard(80, 5, 8)), (0, Heard(80, 5, 8.5)), (0, Heard(80, 5, 8.5))]
    month = [(30, Heard(50, 5, 8)), (30, Heard(52.5, 5, 8.5)), (33, Heard(50, 5, 8))]
    steps, person, row = lived(first + month, new_row("other", 100))
    assert [step.anchored for step in steps] == [False, False, True]
    smoothed = smooth(steps, person)
    assert [one.starts for one in smoothed] == [True, False, True]
    assert smoothed[2].max == rolling_max(row, person)
    assert smoothed[2].max.kg == pytest.approx(62.2256, rel=1e-5)
    # The sessions before are what they are without it.
    assert smoothed[:2] == smooth(steps[:2], person)
    assert smoothed[1].max.kg > 95


def test_a_line_without_sessions_is_empty() -> None:
    assert smooth([], new_person()) == []


def test_without_efforts_the_line_is_as_wide_as_the_max() -> None:
    steps, _, row = lived([(0, Heard(100, 5, 8)), (3, Heard(102.5, 5, 8))], new_row("other", 130))
    unrated = Person(rate=0.1)
    assert smooth(steps, unrated)[-1].max == rolling_max(row, unrated)


def test_what_other_lifts_taught_is_adopted_before_the_last_session_is_taken() -> None:
    steps, person, row = lived([(0, Heard(100, 5, 8)), (3, Heard(102.5, 5, 8))], new_row("other", 130))
    taught = Person(bias=-0.5, factor=0.1, v_bias=0.1, v_factor=0.005, version=person.version + 1)
    known = adopt(row, taught)
    steps[-1].filtered = (known.m, known.p)
    assert smooth(steps, taught)[-1].max == rolling_max(known, taught)
    assert smooth(steps, taught)[0].max != smooth(steps[:1], taught)[0].max
