"""The worked examples A to I of the model's specification, and what a set does in each of its cases.

The numbers of the examples were computed by the specification's own reference program and are printed to six digits.
"""

from datetime import date, timedelta
from math import exp, sqrt

import pytest

from service.core.model.expect import expected_repetitions
from service.core.model.heard import Heard, Lesson
from service.core.model.learn import learn
from service.core.model.passing import opened
from service.core.model.state import TESTED_SD, Person, Row, new_person, new_row

START = date(2026, 1, 5)
PRINTED = 1e-5
Z80 = 1.2815515655


def printed(value: float) -> object:
    return pytest.approx(value, rel=PRINTED, abs=1e-7)


def day(number: int) -> date:
    return START + timedelta(days=number)


def estimated(row: Row, wider: float = 1.0) -> tuple[float, float, float]:
    """The max and its 80 % range: t = a / factor, variance of (a - t factor) / factor, 1.07 for what was seen."""
    assert row.reference is not None
    t = row.m[0] / row.m[1]
    spread = wider * 1.07 * sqrt(row.p[0] - 2 * t * row.p[1] + t * t * row.p[7]) / row.m[1]
    return tuple(exp(row.reference + t + z * spread) for z in (0, -Z80, Z80))  # type: ignore[return-value]


def check(row: Row, *numbers: float, wider: float = 1.0) -> None:
    """Against a line of the tables: seven means, the max, its range, fatigue."""
    assert row.m == pytest.approx(numbers[:7], rel=PRINTED, abs=1e-7)
    assert estimated(row, wider) == pytest.approx(numbers[7:10], rel=PRINTED)
    assert row.fatigue == printed(numbers[10])


def check_person(person: Person, *numbers: float) -> None:
    """Bias, factor, their covariance, rate, v and the sets it stands on."""
    assert (person.bias, person.factor) == pytest.approx(numbers[:2], rel=PRINTED)
    assert (person.v_bias, person.v_both, person.v_factor) == pytest.approx(numbers[2:5], rel=PRINTED)
    assert (person.rate, person.erratic, person.judged) == pytest.approx(numbers[5:8], rel=PRINTED)


def rpe_expected(row: Row, kg: float, reps: int) -> float:
    return 10 - (expected_repetitions(row, kg, reps) - reps)


def log_sets(person: Person, row: Row, on: int, *sets: Heard) -> tuple[Person, Row, list[Lesson]]:
    lessons = []
    for heard in sets:
        row = opened(row, person, day(on))
        person, row, lesson = learn(person, row, heard)
        lessons.append(lesson)
    return person, row, lessons


def test_worked_examples_a_and_b_two_lifts_of_one_athlete() -> None:
    person, squat = new_person(), opened(new_row("squat_like", 150), new_person(), day(0))
    check(squat, 0, 1.08, 0, 0.006, 0, 0.2, 0, 150, 132.114, 170.307, 0)
    assert rpe_expected(squat, 120, 5) == printed(7.25294)

    person, squat, lessons = log_sets(person, squat, 0, Heard(112.5, 5, 7))
    check(squat, -0.0410818, 1.05613, -0.00256761, 0.006, 0.014124, 0.222714, -0.0143004,
          144.277, 134.86, 154.352, 0.629961)  # fmt: skip
    person, squat, more = log_sets(person, squat, 0, Heard(117.5, 5, 7.5))
    check(squat, -0.0276637, 1.05593, -0.00172898, 0.00585671, 0.0626776, 0.201982, -0.0144168,
          146.121, 138.072, 154.64, 1.42366)  # fmt: skip
    person, squat, last = log_sets(person, squat, 0, Heard(125, 5, 8.5))
    check(squat, 0.00436362, 1.00341, 0.000272727, 0.00470269, 0.195791, 0.117184, -0.0458778,
          150.654, 142.441, 159.34, 2.68358)  # fmt: skip
    assert squat.p == pytest.approx((
        0.00165331, -0.00331979, -0.000521668, 2.57341e-05, -0.00267875, 0.00644079, -0.00198859,
        0.0166205, -0.000207487, -2.67867e-05, 0.00452054, 0.000273487, 0.00995584,
        0.000592396, 1.60838e-06, -0.000167422, 0.000402549, -0.000124287,
        2.43132e-05, 0.000101858, -5.76789e-05, -1.60455e-05,
        0.229753, 0.00859608, 0.00270785,
        0.242576, 0.000163821,
        0.0108156,
    ), rel=PRINTED)  # fmt: skip
    check_person(person, 0.117184, -0.0458778, 0.242576, 0.000163821, 0.0108156, 0.571313, 1.01915, 3)
    assert rpe_expected(squat, 117.5, 5) == printed(7.28518)
    assert [lesson.status for lesson in lessons + more + last] == ["used"] * 3

    person, squat, _ = log_sets(person, squat, 0, Heard(117.5, 5, 8.5))
    check(squat, 0.00262113, 0.98845, 0.000163821, 0.0057335, 0.224968, 0.0983413, -0.0548396,
          150.398, 142.115, 159.164, 3.9435)  # fmt: skip

    bench = opened(new_row("other"), person, day(1))
    assert (bench.m[1], bench.m[5], bench.m[6]) == pytest.approx((0.94516, 0.0983413, -0.0548396), rel=PRINTED)
    assert (bench.p[7], bench.p[25]) == pytest.approx((0.0188154, 0.242133), rel=PRINTED)
    person, bench, lessons = log_sets(person, bench, 1, Heard(60, 5))
    assert (lessons[0].status, bench.reference, bench.fatigue) == ("ignored", None, 1)
    person, bench, _ = log_sets(person, bench, 1, Heard(80, 5, 7))
    assert bench.reference is not None
    assert exp(bench.reference) == printed(101.474)
    check(bench, 0.0612245, 0.95201, 0.000956633, 0.00596173, 0.00300568, 0.0882313, -0.0509379,
          108.214, 83.8871, 139.595, 1.62996)  # fmt: skip
    person, bench, _ = log_sets(person, bench, 1, Heard(90, 5, 8))
    check(bench, 0.106534, 0.953811, 0.00166459, 0.00591019, 0.00753324, 0.0794869, -0.0499114,
          113.465, 105.866, 121.609, 2.62996)  # fmt: skip
    check_person(person, 0.0794869, -0.0499114, 0.240792, 0.000175948, 0.0106639, 0.605706, 0.99887, 5)

    before = opened(squat, person, day(3))
    at_start = (0.00180048, 0.992954, 0, 0.00573402, 0.225641, 0.0794869, -0.0499114, 150.272, 141.88, 159.161)
    check(before, *at_start, 0)
    person, squat, lessons = log_sets(person, squat, 3, Heard(130, 3))
    check(squat, *at_start, 1.15396)
    assert lessons[0].status == "unrated"
    person, squat, lessons = log_sets(person, squat, 3, Heard(132.5, 3, 6))
    check(squat, 0.0500186, 0.934366, 0.0296972, 0.00586088, 0.281992, -0.00446219, -0.0849647,
          158.249, 149.004, 168.067, 1.55081)  # fmt: skip
    person, squat, lessons = log_sets(person, squat, 3, Heard(147.5, 2, failed=True))
    check(squat, 0.029077, 0.982832, 0.0244894, 0.00604997, 0.300774, -0.1682, -0.0560652,
          154.504, 148.462, 160.792, 4.07065)  # fmt: skip
    person, squat, lessons = log_sets(person, squat, 3, Heard(155, 0, failed=True))
    check(squat, 0.0233867, 1.00939, 0.0239243, 0.00743385, 0.371559, -0.193234, -0.0402001,
          153.516, 147.912, 159.332, 6.5905)  # fmt: skip
    check_person(person, -0.193234, -0.0402001, 0.201611, 0.00671805, 0.0090092, 0.59665, 0.99887, 5)
    assert squat.used_ever == 7  # all but the unrated one


def test_worked_example_c_pounds_entered_as_kilograms() -> None:
    person, row, _ = log_sets(new_person(), new_row("other", 100), 0, Heard(80, 5, 8), Heard(80, 5, 8.5))
    known = (-0.00553639, 0.997144, 0, 0.00613403, -0.00313813, 0.205074, -0.00171085, 99.4463, 93.6536, 105.597)
    check(opened(row, person, day(4)), *known, 0)
    person, row, (lesson,) = log_sets(person, row, 4, Heard(176.37, 5, 8))
    check(row, *known, 1)
    assert lesson.status == "refused"
    assert lesson.off == printed(0.782639)
    assert row.refused == (lesson.off,)
    person, row, _ = log_sets(person, row, 4, Heard(82.5, 5, 8.5))
    check(row, 0.00549098, 0.995024, 0.00664766, 0.0059971, 0.0118966, 0.191334, -0.00298088,
          100.553, 95.332, 106.061, 2.25992)  # fmt: skip


def test_worked_example_d_a_new_level_after_a_month() -> None:
    sets = Heard(80, 5, 8), Heard(80, 5, 8.5), Heard(80, 5, 8.5)
    person, row, _ = log_sets(new_person(), new_row("other", 100), 0, *sets)
    person, row, lessons = log_sets(person, row, 30, Heard(50, 5, 8), Heard(52.5, 5, 8.5))
    assert [lesson.status for lesson in lessons] == ["refused", "refused"]
    assert row.refused == pytest.approx((-0.477209, -0.436421), rel=PRINTED)
    row = opened(row, person, day(33))
    assert row.flag == printed(-0.456815)
    person, row, (lesson,) = log_sets(person, row, 33, Heard(50, 5, 8))
    assert lesson.status == "re_anchored"
    assert row.reference is not None
    assert exp(row.reference) == printed(61.7647)
    check(row, 0.00742418, 0.998714, 0.000206227, 0.0060421, -0.00101233, 0.201959, -0.000770423,
          62.2256, 58.3262, 66.3856, 1)  # fmt: skip
    assert (row.used_ever, row.used_in_session, row.refused, row.flag) == (4, 1, (), None)


def test_worked_example_e_low_efforts() -> None:
    person, row, _ = log_sets(new_person(), new_row("other", 150), 0, Heard(90, 5, 5))
    check(row, 0, 1, 0, 0.006, 0, 0.2, 0, 150, 130.779, 172.046, 0.25)
    _, row, _ = log_sets(person, row, 0, Heard(130, 5, 6))
    check(row, 0.143887, 1.04159, 0.00899292, 0.00591007, 0.0441174, 0.0943616, 0.0249143,
          172.221, 157.86, 187.888, 0.64685)  # fmt: skip


def test_worked_example_f_a_given_max_that_is_too_high() -> None:
    person, row, (lesson,) = log_sets(new_person(), new_row("deadlift_like", 250), 0, Heard(150, 5, 8))
    assert lesson.widened
    check(row, -0.139292, 0.833881, -0.0064276, 0.006, 0.0264412, 0.258364, -0.0635663,
          211.541, 188.953, 236.831, 1)  # fmt: skip
    person, row, _ = log_sets(person, row, 0, Heard(155, 5, 8.5))
    check(row, -0.161718, 0.821673, -0.00746247, 0.00618412, 0.00544567, 0.27339, -0.0708787,
          205.336, 189.372, 222.645, 2.25992)  # fmt: skip
    person, row, _ = log_sets(person, row, 0, Heard(160, 5, 9))
    check(row, -0.157542, 0.820874, -0.00726974, 0.00599665, 0.0206329, 0.265506, -0.0713575,
          206.343, 191.611, 222.208, 3.84732)  # fmt: skip


def test_worked_example_g_efforts_are_never_logged() -> None:
    person, row, lessons = log_sets(new_person(), new_row("other", 100), 0, *[Heard(80, 5)] * 13)
    check(row, 0, 1, 0, 0.006, 0, 0.2, 0, 100, 87.186, 114.697, 24.044)
    assert {lesson.status for lesson in lessons} == {"unrated"}
    person, row, (lesson,) = log_sets(person, row, 0, Heard(80, 5))
    assert lesson.status == "used"
    check(row, 0.0648357, 1.02922, 0.00405223, 0.00210273, 0.0241034, 0.2, 0.0175059,
          106.502, 91.4925, 123.974, 26.5638, wider=1.3)  # fmt: skip
    person, row, _ = log_sets(person, row, 0, Heard(92.5, 3, failed=True))
    check(row, 0.0651343, 1.02908, 0.0040709, 0.00207885, 0.0242104, 0.2, 0.0174211,
          106.534, 92.4895, 122.711, 29.0836, wider=1.3)  # fmt: skip
    assert person.rate == printed(0.243837)
    assert row.used_ever == 1  # a bound of an unrated set does not count


def test_worked_examples_h_and_i_a_tested_max_and_build_up_sets() -> None:
    row = new_row("squat_like", 150, spread=TESTED_SD)
    assert rpe_expected(row, 120, 5) == printed(7.25294)
    person, row, _ = log_sets(new_person(), row, 0, Heard(100, 5, 5))
    check(row, 0, 1.08, 0, 0.006, 0, 0.2, 0, 150, 140.773, 159.831, 0.25)
    person, row, _ = log_sets(person, row, 0, Heard(112.5, 5, 6.5))
    check(row, -0.0165175, 1.04161, -0.00412937, 0.00604129, 0.0219202, 0.236659, -0.0229986,
          147.64, 140.277, 155.389, 0.75)  # fmt: skip
    person, row, (lesson,) = log_sets(person, row, 0, Heard(112.5, 5, 7))
    assert lesson.expected_rpe == printed(6.04279)
    check(row, -0.0223515, 1.02804, -0.00558787, 0.00616488, 0.00732359, 0.253824, -0.0311218,
          146.774, 139.864, 154.025, 1.37996)  # fmt: skip
