"""The simulation runs, is the same every time, and its arithmetic of means and ratios is right."""

from __future__ import annotations

import numpy as np
import pytest

from tests.simulation.__main__ import BEGIN, END, written
from tests.simulation.lifters import DEVELOPMENT, World, lifter
from tests.simulation.measures import Results
from tests.simulation.methods import MovingAverage, Said
from tests.simulation.product import Product
from tests.simulation.running import Job, work
from tests.simulation.scenarios import DESIGNED, MAIN
from tests.simulation.table import tables
from tests.simulation.training import INDEX, MEASURES, train


def test_every_trial_runs_and_its_table_is_told() -> None:
    found = {}
    for group, trials in (("main", MAIN), ("designed", DESIGNED)):
        for at, trial in enumerate(trials):
            _, sums = work(Job(group, at, DEVELOPMENT, 2))
            found[trial.name] = {name: Results(sums[:, where]) for where, name in enumerate(trial.methods)}
    text = tables(found, {"main": 2, "stress": 2, "designed": 2})
    assert "**the whole product**" in text
    assert text.count("moving average") >= 6
    assert written("# Numbers\n", text).count(text.strip()) == 1
    again = written(written("# Numbers\n", "old"), "new")
    assert again == f"# Numbers\n\n{BEGIN}\n\nnew\n\n{END}\n"


def test_the_same_seed_gives_the_same_numbers() -> None:
    one, other = (train(who, Product.of(who)).array() for who in (lifter(3, World()), lifter(3, World())))
    assert np.array_equal(one, other)


def test_a_method_does_not_move_the_truth() -> None:
    """Two methods that load differently meet the same maxes on the same days."""
    truths = []
    for make in (Product.of, lambda who: MovingAverage(list(who.given))):
        seen: list[tuple[int, float, float]] = []

        def watch(session, said: Said | None, seen=seen) -> None:
            seen.append((session.day, session.level, session.today))

        who = lifter(5, World())
        train(who, make(who), watch=watch)
        truths.append(seen)
    assert truths[0] == truths[1]


def test_means_ratios_and_their_errors_by_hand() -> None:
    """Three lifters with sums 2, 6, 4 of counts 1, 2, 1: the mean is 12 / 4 = 3. Each lifter pulls it by
    (sum - 3 count) / 4 = -1/4, 0, 1/4; the error is sqrt((1/16 + 1/16) 3 / 2) = 0.4330127.

    The second method has twice the sums: the ratio is exactly 1/2 with no error at all."""
    one, two = (np.zeros((3, 2, len(MEASURES), 2)) for _ in range(2))
    at = INDEX["error"]
    one[:, 1, at] = [(2, 1), (6, 2), (4, 1)]
    two[:, 1, at] = [(4, 1), (12, 2), (8, 1)]
    value = Results(one).value("error", 1)
    assert (value.mean, value.se) == (3.0, pytest.approx(0.4330127, abs=5e-8))
    ratio = Results(one).ratio(Results(two), "error", 1)
    assert (ratio.mean, ratio.se) == (0.5, pytest.approx(0, abs=1e-12))
    change = Results(one).difference(Results(two), "error", 1)
    assert (change.mean, change.se) == (-3.0, pytest.approx(0.4330127, abs=5e-8))
