"""What becomes of a set by how it was logged: words, how it ended, refusals and the lifter's answers, new anchors."""

from dataclasses import replace
from datetime import date
from math import exp, log, sqrt

import pytest

from service.core.model.evidence import compare, reported
from service.core.model.expect import expected_repetitions
from service.core.model.heard import UNMOVED, Heard, Lesson
from service.core.model.judge import judge
from service.core.model.learn import learn
from service.core.model.passing import opened
from service.core.model.shape import g, slope
from service.core.model.state import Person, Row, new_person, new_row

DAY = date(2026, 1, 5)
NEVER_RATES = replace(new_person(), rate=0.1)


def known(reference: float = 100) -> Row:
    return opened(new_row("other", reference), new_person(), DAY)


def one(heard: Heard, row: Row | None = None, person: Person | None = None) -> tuple[Person, Row, Lesson]:
    person = new_person() if person is None else person
    return learn(person, opened(known() if row is None else row, person, DAY), heard)


def several(*sets: Heard, row: Row | None = None, person: Person | None = None) -> tuple[Person, Row, list[Lesson]]:
    row, person, lessons = known() if row is None else row, new_person() if person is None else person, []
    for heard in sets:
        person, row, lesson = one(heard, row, person)
        lessons.append(lesson)
    return person, row, lessons


def unchanged(before: Row, after: Row) -> bool:
    return (before.m, before.p, before.reference) == (after.m, after.p, after.reference)


# The first set of a lift of which nothing is known.


def test_a_failed_single_finds_a_level_below_its_load() -> None:
    _, row, lesson = one(Heard(100, 0, failed=True), new_row("other"))
    assert row.reference == log(100)
    assert row.m[0] < 0  # the max lies below
    assert (lesson.status, lesson.expected_rpe) == ("used", None)


def test_a_failed_set_finds_the_level_by_what_was_done() -> None:
    _, row, _ = one(Heard(90, 3, failed=True), new_row("other"))
    assert row.reference == pytest.approx(log(90) + g(3))


def test_a_word_says_nothing_where_nothing_is_expected() -> None:
    person, row, lesson = one(Heard(90, 3, felt="heavier"), new_row("other"))
    assert (lesson.status, row.reference, row.fatigue, lesson.left) == ("ignored", None, 1, None)
    assert person.rate == 0.525  # 0.5 + 0.05 (1 - 0.5): the athlete did judge


# What is reported.


@pytest.mark.parametrize(
    ("heard", "possible"),
    [
        (Heard(50, 5, 8.5), 6.5),
        (Heard(50, 5, 10), 5),
        (Heard(50, 28, 5), 30),  # 33
        (Heard(50, 40), 30),
        (Heard(50, 5, failed=True), 5.3),
        (Heard(50, 0, failed=True), 1),
    ],
)
def test_repetitions_that_a_set_says_were_possible(heard: Heard, possible: float) -> None:
    assert reported(heard, 20.0).possible == possible


def test_the_effort_of_a_failed_set_is_not_used() -> None:
    assert one(Heard(95, 2, 7, failed=True))[:2] == one(Heard(95, 2, failed=True))[:2]


def test_the_noise_of_a_report_grows_with_what_was_expected_to_be_left() -> None:
    row, heard = known(), Heard(80, 5, 8)
    left = expected_repetitions(row, 80, 5) - 5
    found = compare(row, reported(heard, None), 5 + left)
    assert found.noise == pytest.approx((slope(5 + left) * (0.5 + 0.25 * left)) ** 2 + 0.01**2)
    failed = compare(row, reported(Heard(95, 3, failed=True), None), 0.0)
    assert failed.noise == pytest.approx((slope(3.3) * 0.4) ** 2 + 0.01**2)


@pytest.mark.parametrize(
    ("expected", "word", "rpe"),
    [
        (8.0, "as_expected", 7.0),  # five done, three left
        (7.7, "as_expected", 7.3),  # itself: it moves nothing
        (7.9, "heavier", 8.0),  # 7.1 in halves, and a point
        (7.9, "lighter", 6.0),
        (5.2, "heavier", 10.0),  # 9.8 in halves is 10, and no more than 10
        (3.0, "as_expected", 10.0),  # a miss was expected
        (20.0, "as_expected", 4.0),
        (20.0, "lighter", 3.0),
    ],
)
def test_a_word_is_an_effort_beside_the_expected(expected: float, word: str, rpe: float) -> None:
    report = reported(Heard(80, 5, felt=word), expected)  # type: ignore[arg-type]
    assert (report.rpe, report.noise, report.possible) == (pytest.approx(rpe), 1.0, pytest.approx(15 - rpe))


def test_a_word_counts_less_than_the_number_and_not_in_how_erratic_numbers_are() -> None:
    words = one(Heard(82, 5, felt="heavier"))
    lesson = words[2]
    assert lesson.expected_rpe is not None
    number = one(Heard(82, 5, round(2 * lesson.expected_rpe) / 2 + 1))
    assert lesson.surprise == pytest.approx(number[2].surprise)
    assert number[1].m[0] < words[1].m[0] < 0
    assert words[0].rate == number[0].rate
    assert (words[0].judged, number[0].judged) == (0, 1)


# How a set ended.


def test_a_set_that_something_else_ended_only_tires_as_if_it_went_as_expected() -> None:
    person, row, lesson = one(Heard(80, 5, 6, counts="fatigue"))
    assert unchanged(row, known())
    assert person == new_person()
    left = expected_repetitions(known(), 80, 5) - 5
    assert (lesson.status, lesson.left) == ("unrated", left)
    assert row.fatigue == pytest.approx(2 ** (-(left - 2) / 1.5))


def test_a_set_that_pain_ended_leaves_no_trace() -> None:
    person, row, lesson = one(Heard(80, 2, failed=True, counts="nothing"))
    assert (person, row) == (new_person(), known())
    assert (lesson.status, lesson.left, lesson.moved) == ("unrated", None, UNMOVED)
    assert one(Heard(80, 5, counts="nothing"), new_row("other"))[1].fatigue == 0


# Sets without an effort.


def test_six_rated_sets_end_the_time_without_efforts() -> None:
    """From a share of zero: 1 - 0.95^6 = 0.265."""
    person = replace(new_person(), rate=0.0)
    person, row, _ = several(*[Heard(75, 5, 7.5)] * 6, person=person)
    assert person.rate == pytest.approx(1 - 0.95**6)
    assert one(Heard(75, 5), row, person)[0].rate >= 0.25 * 0.95
    person = several(*[Heard(75, 5, 7.5)] * 5, person=replace(new_person(), rate=0.0))[0]
    assert person.rate < 0.25


def test_a_failed_set_is_not_counted_among_rated_or_unrated() -> None:
    assert one(Heard(95, 2, failed=True))[0].rate == 0.5


def test_without_efforts_a_set_far_beyond_is_refused_and_taken_to_have_left_two() -> None:
    _, row, lesson = one(Heard(180, 5), person=NEVER_RATES)
    assert (lesson.status, lesson.left, row.fatigue) == ("refused", 2.0, 1.0)
    assert unchanged(row, known())
    assert lesson.off == pytest.approx(g(5) - (0 - log(1.8)))  # g(n) less the mean, -u


# Refusals.


def test_a_low_effort_is_refused_where_more_repetitions_are_reported_than_believable_and_only_tires_a_light_set() -> (
    None
):
    """Nine possible with 150 % of the max; one at RPE 6, so five possible, with 36 %, of which over forty are expected.

    Nobody can report a light warm-up as easy as it is, so the second is no reason for a doubt.
    """
    assert one(Heard(150, 5, 6))[2].status == "refused"
    light = one(Heard(36, 1, 6))[2]
    assert (light.status, light.surprise < -0.5, any(light.moved)) == ("ignored", True, False)
    assert one(Heard(60, 1, 6))[2].status == "used"


def test_a_refused_set_is_remembered_with_how_far_it_lay_off() -> None:
    _, row, lessons = several(Heard(80, 5, 8), Heard(80, 5, 8.5), Heard(176.37, 5, 8), Heard(36.3, 5, 8))
    assert [lesson.status for lesson in lessons] == ["used", "used", "refused", "refused"]
    assert row.refused == tuple(lesson.off for lesson in lessons[2:])
    assert row.refused[0] > 0 > row.refused[1]
    assert (row.used_in_session, row.used_ever) == (2, 2)
    assert [lesson.left for lesson in lessons] == [2, 1.5, 2, 2]


def test_the_last_eight_refused_sets_are_kept() -> None:
    row = replace(known(), used_ever=5, refused=tuple(float(n) for n in range(1, 9)))
    _, after, lesson = one(Heard(176, 5, 8), row)
    assert after.refused == (*range(2, 9), lesson.off)


def test_a_confirmed_set_starts_the_level_anew() -> None:
    sets = Heard(80, 5, 8), Heard(80, 5, 8.5), Heard(80, 5, 8)
    _, row, lessons = several(*sets, Heard(150, 5, 8, confirmed=True))
    lesson = lessons[-1]
    assert lesson.status == "re_anchored"
    assert row.reference == pytest.approx(log(150) + g(7))
    assert (row.used_ever, row.used_in_session, row.refused, row.flag) == (4, 4, (), None)
    assert lesson.off is not None
    assert lesson.off > 0.12
    assert 150 < exp(row.reference + row.m[0] / row.m[1]) < 200


def test_a_confirmed_set_that_is_believed_anyway_is_like_any_other() -> None:
    assert one(Heard(80, 5, 8, confirmed=True)) == one(Heard(80, 5, 8))


@pytest.mark.parametrize(
    ("heard", "left"),
    [(Heard(176, 5, 8.5), 1.5), (Heard(176, 5), 2.0), (Heard(176, 5, failed=True), 0.0)],
)
def test_a_set_that_the_lifter_takes_out_tires_as_when_it_was_refused(heard: Heard, left: float) -> None:
    person, row, lesson = one(replace(heard, excluded=True))
    assert (unchanged(row, known()), person, row.refused) == (True, new_person(), ())
    assert (lesson.status, lesson.left) == ("unrated", left)
    assert row.fatigue == pytest.approx(2 ** (-(left - 2) / 1.5))


# A new anchor.


def test_two_that_agree_at_the_start_move_the_anchor() -> None:
    """5 with two left with 140 kg are a max of 173 kg, not of 100; neither pounds nor a digit explain it."""
    _, row, lessons = several(Heard(140, 5, 8), Heard(142.5, 5, 8.5))
    assert [lesson.status for lesson in lessons] == ["refused", "re_anchored"]
    assert row.reference == pytest.approx(log(142.5) + g(6.5))
    assert row.p[0] < 0.15**2


def test_a_first_session_in_pounds_waits_for_a_second_where_a_max_is_known() -> None:
    """80 and 82 kg typed as 176.4 and 180.8: with a max of 100 kg, 5 with two left with 80.95 kg are expected."""
    slips = Heard(176.4, 5, 8), Heard(180.8, 5, 8.5)
    _, row, lessons = several(*slips, Heard(182, 5, 8.5))
    assert [lesson.status for lesson in lessons] == ["refused"] * 3
    assert row.reference == known().reference
    # Another session like it is believed: then the max that was entered was in another unit.
    flagged = replace(row, refused=(), flag=sum(row.refused) / 3)
    assert one(slips[0], flagged)[2].status == "re_anchored"
    # A lift without a max was itself started by a set, which may have been the slip: there two are enough.
    _, _, lessons = several(Heard(176.4, 5, 8), Heard(80, 5, 8), Heard(82, 5, 8.5), row=new_row("other"))
    assert [lesson.status for lesson in lessons] == ["used", "refused", "re_anchored"]


def test_the_wrong_button_for_a_slip_starts_nothing_anew_but_a_second_set_does() -> None:
    sets = Heard(80, 5, 8), Heard(80, 5, 8.5), Heard(80, 5, 8)
    slip = Heard(176.4, 5, 8, confirmed=True)
    _, row, lessons = several(*sets, slip)
    assert lessons[-1].status == "refused"
    assert row.refused == (lessons[-1].off,)
    assert row.reference == known().reference
    assert one(replace(slip, kg=180), row)[2].status == "re_anchored"
    # One that lies elsewhere is no second: a digit too few.
    assert one(Heard(8, 5, 8, confirmed=True), row)[2].status == "refused"


def test_two_that_disagree_at_the_start_do_not() -> None:
    """log(176 / 36.3) lies far beyond 0.25."""
    _, _, lessons = several(Heard(176, 5, 8), Heard(30, 5, 8))
    assert [lesson.status for lesson in lessons] == ["refused", "refused"]


def test_warm_ups_after_a_slip_at_the_start_do_not_settle_the_lift() -> None:
    """100 kg for five typed in pounds, 220.46, starts the lift at 272 kg. Warm-ups with 40 and 60 kg lie far below it.

    For the second, nine possible: g(9) - log(272 / 60) = 0.26 - 1.51 = -1.25.
    """
    slip, warm_ups = Heard(220.46, 5, 8), (Heard(40, 5, 5), Heard(60, 5, 6))
    _, row, lessons = several(slip, *warm_ups, Heard(100, 5, 8), Heard(102.5, 5, 8), row=new_row("other"))
    assert [lesson.status for lesson in lessons] == ["used", "ignored", "ignored", "refused", "re_anchored"]
    assert [any(lesson.moved) for lesson in lessons[1:3]] == [False, False]
    assert lessons[2].left == 4  # but it tires
    assert row.reference == pytest.approx(log(102.5) + g(7))
    assert row.used_ever == 2


def test_a_lift_that_has_started_needs_a_second_session() -> None:
    _, row, lessons = several(Heard(80, 5, 8), Heard(80, 5, 8.5), Heard(176, 5, 8), Heard(180, 5, 8.5))
    assert [lesson.status for lesson in lessons] == ["used", "used", "refused", "refused"]
    flagged = replace(row, used_in_session=0, refused=(), flag=row.refused[0])
    assert one(Heard(176, 5, 8), flagged)[2].status == "re_anchored"
    assert one(Heard(176, 5, 8), replace(flagged, used_in_session=1))[2].status == "refused"
    assert one(Heard(176, 5, 8), replace(flagged, flag=-0.5))[2].status == "refused"


def test_without_efforts_a_level_starts_anew_by_two_sessions_only() -> None:
    """Sets without an effort do not count as used, so the lift would look as if it had hardly started for ever."""
    _, row, lessons = several(*[Heard(75, 5)] * 3, Heard(160, 5), Heard(160, 5), person=NEVER_RATES)
    assert [lesson.status for lesson in lessons] == ["used", "used", "used", "refused", "refused"]
    assert row.used_ever == 0
    assert one(Heard(160, 5, confirmed=True), row, NEVER_RATES)[2].status == "re_anchored"


def test_without_efforts_the_fatigue_after_a_new_anchor_is_what_the_anchor_expects() -> None:
    _, row, lessons = several(Heard(160, 5), Heard(160, 5), person=NEVER_RATES)
    assert [lesson.status for lesson in lessons] == ["refused", "refused"]
    next_day = replace(row, fatigue=1.0, refused=(), flag=row.refused[0])
    _, row, lesson = one(Heard(160, 5), next_day, NEVER_RATES)
    assert lesson.status == "re_anchored"
    # From the new anchor exactly five are expected, less what one unit of fatigue and the report bias cost.
    assert lesson.left == 0
    assert row.fatigue == pytest.approx(1 + 2 ** (2 / 1.5))
    assert row.used_ever == 1


# How far a set is believed.


def test_a_surprising_first_set_widens_and_is_weighed_down() -> None:
    """By hand from the surprise: the variance grows to (e / 1.75)², at most by 0.15²."""
    row, heard = known(), Heard(62, 5, 9)
    found = compare(row, reported(heard, None), expected_repetitions(row, 62, 5))
    spread = sqrt(found.known + found.noise)
    assert 1.75 < abs(found.surprise) / spread < 3.5
    _, after, lesson = one(heard, row)
    assert (lesson.widened, lesson.weighed_down) == (True, True)  # 1.75 spreads are still beyond 1.5
    assert lesson.spread == pytest.approx(abs(found.surprise) / 1.75)
    assert lesson.surprise == found.surprise
    grown = lesson.spread**2 * 1.75 / 1.5  # z / 1.5 times the variance
    more = lesson.spread**2 - spread**2
    assert after.m[0] == pytest.approx((found.towards[0] + more) * found.surprise / grown)
    assert after.m[1] - 1 == pytest.approx(found.towards[1] * found.surprise / grown)
    late = one(heard, replace(row, used_ever=10))[2]
    assert (late.widened, late.weighed_down) == (False, True)


def test_a_set_that_would_push_the_curve_factor_out_of_its_range_is_not_believed() -> None:
    row = replace(known(), m=(0.0, 1.999, 0.0, 0.006, 0.0, 0.2, 0.0))
    hard, easy = Heard(80, 5, 7.5), Heard(80, 5, 5)
    expected = expected_repetitions(row, 80, 5)
    assert expected > 12  # so that both are harder than expected
    light = replace(row, m=(-0.45, 1.999, 0.0, 0.006, 0.0, 0.2, 0.0))
    assert expected_repetitions(light, 80, 5) < 6.5
    assert judge(light, compare(light, reported(hard, None), expected_repetitions(light, 80, 5))).status == "refused"
    assert one(hard, light)[2].status in {"refused", "re_anchored"}
    person, after, lesson = one(easy, light)
    assert lesson.status == "ignored"
    assert unchanged(after, opened(light, new_person(), DAY))
    assert (after.used_ever, person.judged, after.fatigue > 0) == (0, 0, True)


def test_what_a_set_did_adds_up() -> None:
    before = known()
    _, after, lesson = one(Heard(85, 5, 9), before)
    assert lesson.moved == pytest.approx([now - then for now, then in zip(after.m, before.m, strict=True)])
    assert lesson.expected_rpe == pytest.approx(10 - (expected_repetitions(before, 85, 5) - 5))
    assert lesson.surprise / lesson.worth == pytest.approx(lesson.expected_rpe - 9, abs=0.1)  # in points
