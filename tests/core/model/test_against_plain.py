"""The product's model, written out for speed, against the plain one with matrices: on long logs of everything."""

import copy
from collections import Counter
from dataclasses import replace
from datetime import timedelta
from math import log

import numpy as np
import pytest

from service.core.model import outlook, passing
from service.core.model.slips import explain
from tests.core.model import plain, plain_learn, plain_outputs
from tests.core.model.both import Plain, Product, as_athlete, as_lift, heard, off
from tests.core.model.plain import Entry
from tests.core.model.plain_logs import LIFTS, START, Logged, wild_log

SEEDS = [21, 22, 23]


def runs(seed, count=700):
    """Both models through the same log: after each set, what was logged and both statuses."""
    product, slow = Product(LIFTS), Plain(LIFTS)
    for logged in wild_log(seed, count):
        yield logged, product, slow, product.learn(logged), slow.learn(logged)


def same(product, slow, name):
    row, lift = as_lift(product.rows[name]), slow.lifts[name]
    assert (row.day, row.used_in_session, row.used_ever) == (lift.day, lift.used_in_session, lift.used_ever)
    assert off((row.m, row.cov), (lift.m, lift.cov)) < 1e-9
    assert (row.yref is None, row.flag is None) == (lift.yref is None, lift.flag is None)
    assert row.yref == (lift.yref and pytest.approx(lift.yref, rel=1e-9))
    assert row.fatigue == pytest.approx(lift.fatigue, rel=1e-9)
    assert row.refused == pytest.approx(lift.refused[-8:], rel=1e-9)
    assert row.flag == (lift.flag and pytest.approx(lift.flag, rel=1e-9))
    person, athlete = as_athlete(product.person), slow.athlete
    assert off((person.mean, person.cov), (athlete.mean, athlete.cov)) < 1e-9
    assert (person.rate, person.v) == pytest.approx((athlete.rate, athlete.v), rel=1e-9)
    assert person.n_v == athlete.n_v


@pytest.mark.parametrize("seed", SEEDS)
def test_long_logs_of_everything_lead_to_the_same_rows(seed):
    seen = Counter()
    for logged, product, slow, found, wanted in runs(seed):
        assert found == wanted, logged
        same(product, slow, logged.lift)
        seen[found] += 1
    assert set(seen) >= {"used", "unrated", "refused", "re_anchored"}
    assert seen["used"] > 350
    assert seen["refused"] > 20


def answers_of_the_product(row, person, kg):
    """Everything that can be read, as plain numbers."""

    def ranged(value):
        return value.kg, value.low, value.high

    yield ranged(outlook.rolling_max(row, person))
    yield ranged(outlook.rolling_max(row, person, 0.95))
    yield ranged(outlook.day_max(row))
    yield ranged(outlook.max_ahead(row, person, 28))
    for reps, rpe in ((1, 8), (3, 9.5), (5, 8), (8, 6.5), (12, 10)):
        for limit in (9.5, 9.0):
            load = outlook.load_for(row, reps, rpe, effort_limit=limit)
            yield load.kg, load.unlimited_kg, load.true_kg, load.report_kg
        yield outlook.chances(row, kg, reps, rpe)
        effort = outlook.expected_effort(row, person, kg, reps)
        yield effort.rpe, effort.low, effort.high
    yield (outlook.chance_of_single(row, kg),)
    for way in ({"kg": kg}, {"kg": 1.5 * kg}, {"rpe": 8}, {"rpe": 9.5}):
        for coming in outlook.following(row, person, 3, 5, **way):
            yield coming.kg, coming.rpe
    yield tuple(entry.kg for entry in outlook.load_list(row, (1, 3, 5, 8, 12), (0, 1, 2.5, 4)))


def answers_of_the_plain(lift, athlete, kg):
    out = plain_outputs
    yield out.estimated_max(lift, athlete.rate)
    yield out.estimated_max(lift, athlete.rate, out.Z95)
    yield out.day_capacity(lift)
    yield out.forecast(lift, athlete.rate, 28)
    for reps, rpe in ((1, 8), (3, 9.5), (5, 8), (8, 6.5), (12, 10)):
        for limit in (9.5, 9.0):
            loads = out.load(lift, reps, rpe, limit)
            yield (min(loads), *loads)
        yield out.chance_to_pass(lift, kg, reps, rpe)
        yield out.expected_rpe(lift, kg, reps, athlete.v)
    yield (out.chance_of_single(lift, kg),)
    for way in ({"kg": kg}, {"kg": 1.5 * kg}, {"rpe": 8}, {"rpe": 9.5}):
        yield from out.follow_ups(lift, 5, 3, chances=out.allowed(athlete.rate), **way)
    yield tuple(out.listed_load(lift, reps, left) for reps in (1, 3, 5, 8, 12) for left in (0, 1, 2.5, 4))


@pytest.mark.parametrize("seed", SEEDS)
def test_all_that_is_read_from_the_rows_is_the_same(seed):
    compared = 0
    for number, (logged, product, *_) in enumerate(runs(seed, 400)):
        row = product.rows[logged.lift]
        if number % 8 or row.reference is None:
            continue
        found = answers_of_the_product(row, product.person, logged.entry.kg)
        wanted = answers_of_the_plain(as_lift(row), as_athlete(product.person), logged.entry.kg)
        for one, other in zip(found, wanted, strict=True):
            assert one == pytest.approx(other, rel=1e-9, abs=1e-15)
            compared += 1
    assert compared > 1000


@pytest.mark.parametrize("seed", SEEDS)
def test_a_lesson_says_what_the_plain_model_finds(seed):
    """The surprise and its spread are those of the row before the set; what moved is the difference of the means."""
    product = Product(LIFTS)
    seen = Counter()
    for logged in wild_log(seed, 300):
        row = passing.opened(product.rows[logged.lift], product.person, logged.on)
        lift, athlete = as_lift(row), as_athlete(product.person)
        was = copy.deepcopy(lift)
        result = plain_learn.learn(athlete, lift, logged.entry, logged.on)
        product.learn(logged)
        lesson = product.lesson
        assert lesson.off == (result.off and pytest.approx(result.off, rel=1e-9))
        if was.yref is None or result.status == "re_anchored":
            continue
        expected = plain_learn.expected_report(was, logged.entry.kg, logged.entry.reps)[0]
        assert lesson.expected_rpe == pytest.approx(expected, rel=1e-9)
        assert lesson.moved == pytest.approx(lift.m - was.m, rel=1e-6, abs=1e-12)
        assert lesson.held == result.held
        seen["held"] += lesson.held
        if result.told is not None:
            said = plain.evidence(was, logged.entry, plain_learn.heard_rpe(was, logged.entry))
            spread = np.sqrt(said.c @ was.cov @ said.c + said.noise + result.widened)
            assert lesson.surprise == pytest.approx(said.e, rel=1e-9, abs=1e-12)
            assert lesson.worth == pytest.approx(plain.slope(said.star), rel=1e-9)
            assert lesson.spread == pytest.approx(spread, rel=1e-9)
            assert lesson.widened == (result.widened > 0)
            assert lesson.weighed_down == (abs(said.e) > 1.5 * spread)
            seen["weighed down"] += lesson.weighed_down
            seen["widened"] += lesson.widened
            seen["numbers"] += 1
    assert seen["numbers"] > 90
    assert seen["held"] > 2
    assert seen["weighed down"] > 5
    assert seen["widened"] > 0


@pytest.mark.parametrize("seed", SEEDS)
def test_refused_sets_are_explained_the_same(seed):
    product = Product(LIFTS)
    seen = Counter()
    for logged in wild_log(seed, 700):
        row = passing.opened(product.rows[logged.lift], product.person, logged.on)
        person = product.person
        if product.learn(logged) == "refused":
            found = explain(row, person, heard(logged.entry))
            wanted, _ = plain_learn.explain(as_lift(row), logged.entry)
            assert (found and found.code) == wanted
            if wanted is not None:
                assert found.factor == plain_learn.SLIPS[wanted]
                assert found.kg == pytest.approx(logged.entry.kg / found.factor, rel=1e-12)
            seen[wanted] += 1
    assert seen[None] > 0
    assert seen["pounds_as_kilograms"] > 0


@pytest.mark.parametrize("model", [Product, Plain])
def test_the_same_log_in_pounds_gives_the_same_states(model):
    """A number of pounds where a number of kilograms is meant: only what the level is measured from shifts."""
    pound = 0.45359237
    in_pounds = {name: {**given, "kg": given["kg"] and given["kg"] / pound} for name, given in LIFTS.items()}
    one, other = model(LIFTS), model(in_pounds)
    for logged in wild_log(SEEDS[0], 700):
        entry = replace(logged.entry, kg=logged.entry.kg / pound)
        assert one.learn(logged) == other.learn(logged._replace(entry=entry))
        (lift, athlete), (shifted, same_athlete) = one.seen(logged.lift), other.seen(logged.lift)
        assert off((shifted.m, shifted.cov), (lift.m, lift.cov)) < 1e-9
        assert off((same_athlete.mean, same_athlete.cov), (athlete.mean, athlete.cov)) < 1e-9
        if lift.yref is not None:
            assert shifted.yref - lift.yref == pytest.approx(-log(pound), rel=1e-9)


def test_many_first_weeks_from_right_and_wrong_maxes_lead_to_the_same_rows():
    seen = Counter()
    for seed in range(100, 150):
        off_by = (0.4, 0.7, 1.0, 1.4, 2.2046226)[seed % 5]
        lifts = {name: {**given, "kg": given["kg"] and given["kg"] * off_by} for name, given in LIFTS.items()}
        product, slow = Product(lifts), Plain(lifts)
        for logged in wild_log(seed, 20):
            found = product.learn(logged)
            assert found == slow.learn(logged), (seed, logged)
            same(product, slow, logged.lift)
            seen[found] += 1
    assert set(seen) == {"used", "unrated", "refused", "re_anchored", "ignored"}
    assert seen["re_anchored"] > 10


E = Entry
DAYS = {
    "nothing known yet, all that may come before the first effort": [
        (0, E(60, 5)),
        (0, E(60, 5, felt="lighter")),
        (0, E(60, 5, counts="fatigue")),
        (0, E(60, 5, counts="nothing")),
        (0, E(60, 5, 8, excluded=True)),
        (0, E(60, 5, excluded=True)),
        (3, E(65, 5)),
        (3, E(70, 5, 8)),
    ],
    "the first set of all is a failed single": [(0, E(100, 0, failed=True)), (0, E(90, 1, 9)), (1, E(90, 3, 9))],
    "the first set of all failed after some": [(0, E(80, 4, failed=True, rpe=9)), (0, E(80, 4, 10)), (2, E(80, 4, 10))],
    "more than thirty": [
        (0, E(40, 28, 5)),
        (0, E(40, 40, 9)),
        (0, E(40, 100)),
        (5, E(30, 100, 10)),
        (5, E(42.5, 25, 8)),
    ],
    "failed after more than thirty": [
        (0, E(40, 33, failed=True)),
        (0, E(40, 31, failed=True)),
        (3, E(45, 29, failed=True)),
    ],
    "efforts at the ends of the scale": [(0, E(80, 5, 10)), (0, E(40, 1, 1)), (0, E(70, 8, 7)), (2, E(70, 8, 7.5))],
    "one set believed, then two that agree": [
        (0, E(80, 5, 8)),
        (0, E(180, 5, 8)),
        (0, E(185, 5, 8)),
        (0, E(185, 5, 9)),
    ],
    "two sets believed, then two that agree": [
        (0, E(80, 5, 8)),
        (0, E(80, 5, 8)),
        (0, E(220, 5, 8)),
        (0, E(220, 5, 8)),
        (0, E(220, 5, 8)),
        (2, E(220, 5, 8)),
    ],
    "refused on one day, believed once, refused the next": [
        *[(0, E(80, 5, rpe)) for rpe in (8, 8, 8.5, 8)],
        (9, E(220, 5, 8)),
        (9, E(220, 5, 8)),
        (9, E(80, 5, 8)),
        (12, E(220, 5, 8)),
        (12, E(225, 5, 8)),
        (13, E(222.5, 5, 8)),
    ],
    "two days of which the first refused one set only": [
        *[(0, E(80, 5, rpe)) for rpe in (8, 8, 8.5, 8)],
        (9, E(220, 5, 8)),
        (12, E(220, 5, 8)),
        (12, E(80, 5, 8)),
    ],
    "more than eight refused": [
        *[(0, E(80, 5, rpe)) for rpe in (8, 8, 8.5, 8)],
        *[(4, E(200 + 4 * turn, 5, 8)) for turn in range(11)],
        (6, E(220, 5, 8)),
    ],
    "said to be right, at once": [
        *[(0, E(80, 5, rpe)) for rpe in (8, 8, 8.5, 8)],
        (4, E(220, 5, 8, confirmed=True)),
        (4, E(225, 3, 8)),
        (4, E(100, 3, failed=True, confirmed=True)),
    ],
    "low efforts with loads far above what is known": [
        (0, E(80, 5, 8)),
        (0, E(80, 5, 8)),
        (1, E(140, 5, 5)),
        (1, E(95, 5, 5)),
    ],
    "efforts come back after a long time without": [
        *[(0, E(70, 5)) for _ in range(20)],
        (2, E(150, 5)),
        (2, E(300, 5)),
        (2, E(300, 5)),
        (3, E(300, 5)),
        *[(4, E(72.5, 5, 8)) for _ in range(8)],
        (5, E(75, 5)),
    ],
    "training again after more and less than 120 days": [
        *[(0, E(80, 5, rpe)) for rpe in (8, 8.5, 9, 9.5, 8, 8, 8, 8, 8)],
        (119, E(75, 5, 8)),
        (119, E(77.5, 5, 8)),
        (239, E(70, 5, 8)),
    ],
    "ended by pain, taken out, ended by something else": [
        (0, E(80, 5, 8)),
        (0, E(80, 3, counts="nothing")),
        (0, E(80, 3, counts="fatigue")),
        (0, E(80, 3, 8, counts="fatigue")),
        (0, E(180, 3, 9, excluded=True)),
        (0, E(180, 3, excluded=True)),
        (0, E(180, 3, failed=True, excluded=True)),
        (0, E(80, 3, felt="heavier", excluded=True)),
    ],
    "words at the ends of the scale": [
        (0, E(80, 5, 8)),
        *[(0, E(kg, 5, felt=felt)) for kg in (30, 70, 80, 95) for felt in ("lighter", "as_expected", "heavier")],
    ],
}


@pytest.mark.parametrize("kg", [None, 100.0])
@pytest.mark.parametrize("story", DAYS)
def test_a_few_sets_at_the_edges_lead_to_the_same_rows(story, kg):
    lifts = {"bench": {"kg": kg}}
    product, slow = Product(lifts), Plain(lifts)
    for day, entry in DAYS[story]:
        logged = Logged("bench", START + timedelta(day), entry)
        assert product.learn(logged) == slow.learn(logged), entry
        same(product, slow, "bench")
