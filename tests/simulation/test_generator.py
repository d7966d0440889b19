"""The invented lifters are like published ones where something is published; tolerances as printed there or as named.

300 to 600 lifters of the development seeds; what is random here is fixed by the seed.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from math import floor
from statistics import fmean, pstdev

import pytest

from tests.simulation.lifters import DEVELOPMENT, Lifter, Session, World, lifter
from tests.simulation.lifting import Body, _report, cost, lift
from tests.simulation.repetitions import FAMILIES, Own

STEADY = World(slips=False, layoffs=0)
BENCH = 1


@cache
def people(count: int = 400) -> list[Lifter]:
    """Some lifters without breaks and slips."""
    return [lifter(seed, STEADY) for seed in range(DEVELOPMENT, DEVELOPMENT + count)]


def sessions(who: Lifter, at: int) -> list[Session]:
    """One lift's sessions."""
    return [session for session in who.sessions if session.lift == at]


def whole_reps(percent: float, at: int, *, session: int = 0) -> list[int]:
    """Whole repetitions with a percentage of the day's max, fresh: as studies test them."""
    found = []
    for who in people():
        body = Body(who, sessions(who, at)[session])
        day = 2.718281828459045 ** (body.session.level + body.session.today)
        found.append(floor(body.possible(percent / 100 * day)))
    return found


def test_bench_press_repetitions_lie_in_the_published_intervals() -> None:
    """Nuzzo et al. 2024, bench press: 8.8 (7.7 to 10.1) at 80 %, 14.08 (12.4 to 16.1) at 70 %, about 4 at 90 %."""
    assert 7.7 <= fmean(whole_reps(80, BENCH)) <= 10.1
    assert 12.4 <= fmean(whole_reps(70, BENCH)) <= 16.1
    assert fmean(whole_reps(90, BENCH)) == pytest.approx(4, abs=0.5)


def test_people_differ_about_as_much_as_published() -> None:
    """Nuzzo et al. 2024: spread between people 2.51 at 80 %, 3.4 at 70 % (that of all exercises together)."""
    assert pstdev(whole_reps(80, BENCH)) == pytest.approx(2.51, rel=0.3)
    assert pstdev(whole_reps(70, BENCH)) == pytest.approx(3.4, rel=0.3)


def test_squats_allow_more_and_deadlifts_fewer_repetitions_than_the_bench_press() -> None:
    """Shimano et al. 2006; LeSuer et al. 1997: every equation underestimated the deadlift."""
    squat, bench, deadlift = (fmean(whole_reps(70, at)) for at in range(3))
    assert squat > bench > deadlift


def test_repetitions_repeat_about_as_well_as_published() -> None:
    """PLOS ONE 2022 (PMC9070879), bench press, SEM: 0.7 (0.5 to 0.9) at 90 %, 1.1 (0.8 to 1.4) at 70 %."""
    for percent, low, high in ((90, 0.5, 0.9), (70, 0.8, 1.4)):
        differences = []
        for who in people():
            first, second = sessions(who, BENCH)[:2]
            kg = percent / 100 * 2.718281828459045**first.level
            differences.append(floor(Body(who, first).possible(kg)) - floor(Body(who, second).possible(kg)))
        assert low <= pstdev(differences) / 2**0.5 <= high


def test_a_max_repeats_within_a_week_about_as_well_as_published() -> None:
    """Within a week, trained: 2.1 % (Banyard 2017); median of 32 studies 4.2 % (Grgic et al. 2020)."""
    logs = []
    for who in people():
        days = sessions(who, 0)
        for one, other in pairwise(days):
            if other.day - one.day <= 4:
                logs.append((one.level + one.today - other.level - other.today) / 2**0.5)
                break
    assert 0.02 <= pstdev(logs) <= 0.042


def errors(left: float, reps: int = 8) -> list[float]:
    """Repetitions left but not reported, where nobody is drawn to a target."""
    found = []
    for who in people():
        body = Body(who, sessions(who, BENCH)[0])
        luck = list(body.session.luck[3])
        luck[7] = luck[8] = 1.0  # rated
        said = _report(body, left, reps, 10 - left, luck)
        pull = who.reporter.pull  # was towards the truth here: taken out again
        assert said is not None
        found.append((left - (10 - said)) / (1 - pull) if pull < 0.9 else left - (10 - said))
    return found


def test_reports_are_off_by_about_as_much_as_published() -> None:
    """Mean absolute error: Refalo et al. 2024, 0.40 at 1 left and 0.90 at 3 left, bench press; a thesis at Florida
    Atlantic University, 12 men: 0.69 at 1 and 1.00 at 4, bench press, 0.79 and 1.43, squat. Here between them."""
    assert 0.40 <= fmean(map(abs, errors(1))) <= 0.85
    assert 0.85 <= fmean(map(abs, errors(3))) <= 1.43
    assert 0.95 <= fmean(map(abs, errors(4))) <= 1.43


def test_fewer_repetitions_are_reported_as_left_than_were() -> None:
    """Halperin et al. 2022, 12 studies: 0.95 (0.17 to 1.73); near failure Refalo et al. 2024: 0.17."""
    assert 0.0 <= fmean(errors(1)) <= 0.5
    assert 0.17 <= fmean(errors(3)) <= 1.73


def test_a_true_max_is_reported_as_nearly_a_ten() -> None:
    """Helms et al. 2017: 9.6 to 9.7; Zourdos et al. 2016 and Ormsbee et al. 2019: novices 8.96 and 9.35."""
    assert 9.35 <= 10 + fmean(errors(0, reps=1)) <= 9.8


def test_trained_lifters_gain_and_beginners_gain_more() -> None:
    """Latella et al. 2024: 7.5 to 12.5 % in the first competitive year, most less later. Ofsteng 2021: untrained 14 %
    (spread 7.1) in 14 weeks."""
    trained = [lifter(seed, World(slips=False, layoffs=0, beginners=0)) for seed in range(300)]
    novices = [lifter(seed, World(slips=False, layoffs=0, beginners=1)) for seed in range(300)]
    gain = [fmean(who.levels[at][98] - who.levels[at][0] for at in range(3)) for who in trained]
    assert 0.01 <= fmean(gain) <= 0.125 * 98 / 365
    first = [who.levels[BENCH][98] - who.levels[BENCH][0] for who in novices]
    assert fmean(first) == pytest.approx(0.14, abs=0.03)
    assert pstdev(first) == pytest.approx(0.07, abs=0.035)


def test_a_set_costs_as_much_as_the_published_loss_of_speed() -> None:
    """Refalo et al. 2023, six sets: velocity −22, −9, −6 % at failure, with one and with three left."""
    lost = []
    for left in (0, 1, 3):
        total = 0.0
        for _ in range(6):
            total = 0.93 * total + cost(left)
        lost.append(total)
    assert lost[1] / lost[0] == pytest.approx(9 / 22, rel=0.3)
    assert lost[2] / lost[0] == pytest.approx(6 / 22, rel=0.3)


def test_each_curve_passes_one_and_its_inverse_is_its_inverse() -> None:
    for family in FAMILIES:
        for stretch in (0.6, 1.0, 1.5):
            own = Own(family, stretch)
            assert own.share(1) == pytest.approx(1)
            for reps in (0.2, 1.0, 1.5, 3.0, 8.0, 12.0):
                assert own.reps(own.share(reps)) == pytest.approx(reps)


def test_a_seed_makes_the_same_lifter_whatever_is_lifted() -> None:
    """The luck of a set is drawn beforehand: lifting more or less moves no other set's."""
    one, other = lifter(7, World()), lifter(7, World())
    lift(Body(one, one.sessions[0]), 10.0, 5, 8)
    assert [session.luck for session in one.sessions] == [session.luck for session in other.sessions]
    assert one.levels == other.levels


def test_worlds_with_and_without_slips_meet_the_same_lifter() -> None:
    one, other = lifter(11, World()), lifter(11, World(slips=False))
    assert one.levels == other.levels
    assert one.curves == other.curves
    assert [(each.asked, each.today) for each in one.sessions] == [(each.asked, each.today) for each in other.sessions]
