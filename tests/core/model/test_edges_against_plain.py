"""Where a set begins to be treated in another way: the product's edges are found, and the plain model has the same."""

import copy
from dataclasses import replace
from datetime import timedelta
from itertools import chain

import numpy as np
import pytest

from service.core.model import passing, slips
from service.core.model.learn import learn
from tests.core.model import plain, plain_learn
from tests.core.model.both import Product, as_athlete, as_lift, heard
from tests.core.model.plain import Entry
from tests.core.model.plain_logs import LIFTS, START, Logged, wild_log

KINDS = {
    "hard": Entry(1, 5, 8.5),
    "a low effort": Entry(1, 3, 6.5),
    "a very low effort": Entry(1, 4, 5),
    "a word": Entry(1, 5, felt="heavier"),
    "failed": Entry(1, 4, failed=True),
    "a failed single": Entry(1, 0, failed=True),
    "without an effort": Entry(1, 5),
}


def treated(row, person, entry):
    """How the product treats a set: what is said of it, and how it would be explained."""
    _, after, lesson = learn(person, row, heard(entry))
    slip = slips.explain(row, person, heard(entry)) if lesson.status == "refused" else None
    return lesson.status, lesson.widened, lesson.weighed_down, slip and slip.code, after.used_ever


def treated_plainly(lift, athlete, entry):
    before, lift, athlete = lift, copy.deepcopy(lift), copy.deepcopy(athlete)
    result = plain_learn.learn(athlete, lift, entry, lift.day)
    slip = plain_learn.explain(before, entry)[0] if result.status == "refused" else None
    weighed_down = False
    if result.told is not None:
        first = copy.deepcopy(before)
        if result.status == "re_anchored":
            plain_learn.anchor(first, entry, plain_learn.heard_rpe(before, entry))
        said = plain.evidence(first, entry, plain_learn.heard_rpe(before, entry))
        weighed_down = result.told.noise > said.noise
    return result.status, result.widened > 0, weighed_down, slip, lift.used_ever


def edges(row, person, entry):
    """Pairs of loads [kg], a hair apart, between which the treatment changes."""
    loads = np.geomspace(5, 1500, 80)
    found = [treated(row, person, replace(entry, kg=float(kg))) for kg in loads]
    for low, high, one, other in zip(loads, loads[1:], found, found[1:], strict=False):
        if one != other:
            yield narrowed(row, person, entry, float(low), float(high), one)


def narrowed(row, person, entry, low, high, one):
    while high / low > 1 + 1e-8:
        middle = (low * high) ** 0.5
        if treated(row, person, replace(entry, kg=middle)) == one:
            low = middle
        else:
            high = middle
    return low * (1 - 1e-9), high * (1 + 1e-9)


def rows(seed, moments):
    """The product's rows and athlete at some moments of a log, opened: little known, much known, refusing.

    The athlete is taken to have said few efforts, so that sets without one may teach something.
    """
    product = Product(LIFTS)
    for number, logged in enumerate(wild_log(seed, max(moments) + 1)):
        product.learn(logged)
        row = product.rows[logged.lift]
        if number in moments and row.reference is not None:
            yield passing.adopt(row, product.person), replace(product.person, rate=0.1)


def after(*sets):
    """The product's row and athlete after sets of (day, load, RPE) for five repetitions, opened two days later."""
    product = Product({"bench": {"kg": 100.0}})
    for day, kg, rpe in sets:
        product.learn(Logged("bench", START + timedelta(day), Entry(kg, 5, rpe)))
    row = passing.opened(product.rows["bench"], product.person, START + timedelta(sets[-1][0] + 2))
    return row, replace(product.person, rate=0.1)


def turning():
    """Rows about to change their ways: the last early set and the first late one; refused sets to agree with."""
    yield after(*[(0, 80, 8)] * 9)
    yield after(*[(0, 80, 8)] * 10)
    yield after(*[(0, 80, 8)] * 4, (9, 220, 8), (9, 200, 8))
    row, person = after((0, 80, 8), (2, 220, 8))
    yield replace(row, refused=(0.6, 0.8)), person


@pytest.mark.parametrize("kind", KINDS)
def test_a_set_is_treated_in_another_way_from_the_same_load_on(kind):
    ways = set()
    for row, person in chain(rows(1, {3, 8, 60, 62}), rows(3, {3, 60, 64}), turning()):
        lift, athlete = as_lift(row), as_athlete(person)
        for pair in edges(row, person, KINDS[kind]):
            for kg in pair:
                entry = replace(KINDS[kind], kg=kg)
                one = treated(row, person, entry)
                assert one == treated_plainly(lift, athlete, entry)
                ways.add(one[0])
    assert len(ways) > 1
