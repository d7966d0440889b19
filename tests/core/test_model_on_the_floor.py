"""What a coach would say on the floor: sets of today stand above what is not known yet."""

from dataclasses import replace

import pytest

from service.core.adjust.adjust import next_set
from service.core.adjust.facts import facts
from service.core.adjust.walk import walk
from service.core.prescribe.one_set import BEGINS_LIGHTER, BUILD_UP_DECIDES
from service.core.prescribe.prescribe import prescribe
from service.core.slots import BackOff, BuildUp, SetsAtTarget, Slot, TopSet
from service.core.units import load
from tests.core.plans import effort, known, only
from tests.core.test_model_in_session import SQUAT, ctx, did, given, top

BENCH = Slot(lift="bench-press", scheme=SetsAtTarget(sets=4), target=effort(5, 8))


def bench(kg, rpe=None, **more):
    return did(kg, rpe, "target_set", lift="bench-press", **more)


def test_after_a_set_that_was_a_point_too_light_no_newcomer_is_asked_for_less():
    # Nothing is known but this set: 8 at RPE 7 where RPE 8 was asked.
    asked = Slot(lift="bench-press", scheme=SetsAtTarget(sets=3), target=effort(8, 8), accessory=True)
    coming = next_set(asked, ctx(), [bench(60, 7, reps=8)])
    assert coming.load.value >= 60


def test_a_top_set_is_no_lighter_than_an_easy_build_up_set_for_as_many_repetitions():
    asked = Slot(lift="bench-press", scheme=TopSet(), target=effort(5, 8))
    coming = next_set(asked, ctx(), [did(60, 6, lift="bench-press")])
    assert coming.role == "top_set"
    assert coming.load.value >= 60
    assert "planned" not in coming.text  # no load was


def test_a_top_set_is_no_heavier_than_a_build_up_set_that_was_harder_than_asked():
    asked = top(build_up=BuildUp(percents=(80, 85)))
    coming = next_set(asked, ctx(known("squat", 150)), [did(97.5, 9), did(105, 9.5)])
    assert coming.role == "top_set"
    assert coming.load.value <= 97.5


def test_a_set_that_was_made_without_an_effort_is_repeated_and_that_is_said():
    coming = next_set(
        Slot(lift="squat", scheme=SetsAtTarget(sets=3), target=effort(5, 8)), SQUAT, [did(120, None, "target_set")]
    )
    assert coming.load == load(120, "kg")
    assert "no effort was given" in coming.text


def test_after_an_entry_that_is_far_too_high_the_set_before_it_is_the_measure():
    here = ctx(given(100, "bench-press"))
    coming = next_set(BENCH, here, [bench(80, 8), bench(176.5, 8)])
    assert coming.load.value <= 82.5
    assert "96.5" not in coming.text  # nobody takes 96.5 kg off because of a slip


def test_after_a_back_off_set_at_the_limit_for_following_sets_the_next_is_lighter_than_it():
    asked = top(back_off=BackOff(sets=3, less_percent=5))
    sets = [did(107.5, 7.5), did(110, 8), did(110, 8.5, "top_set"), did(105, 9, "back_off")]
    coming = next_set(asked, ctx(known("squat", 150)), sets)
    assert coming.role == "back_off"
    assert coming.load.value < 105
    assert "so hard that this one is kept easier" in coming.text


def test_other_repetitions_are_only_held_against_who_took_the_load_that_they_were_for():
    plates = tuple(plate for plate in SQUAT.kit.plates if plate.load.value >= 5)
    here = replace(ctx(given(50, "overhead-press")), kit=replace(SQUAT.kit, plates=plates))
    asked = Slot(lift="overhead-press", scheme=SetsAtTarget(sets=4), target=effort(5, 8))

    def press(kg, rpe, reps):
        return did(kg, rpe, "target_set", reps, "overhead-press")

    before = [press(40, 9, 5)]
    coming = next_set(asked, here, before)
    assert coming.reps < 5  # the next lighter load would be too far off
    f = facts(asked, here, prescribe(asked, here))
    followed, _ = walk(f, [*before, press(40, 8, 5)])
    own_way, _ = walk(f, [*before, press(37.5, 8, 5)])  # somebody brought small plates
    assert followed.last.asked == (coming.reps, None)
    assert own_way.last.asked == (5, None)


def test_a_plan_on_a_max_that_was_only_given_says_that_the_first_sets_decide():
    assert only(prescribe(top(), SQUAT), "top_set").text.endswith(BUILD_UP_DECIDES)
    at_once = Slot(lift="squat", scheme=SetsAtTarget(sets=2), target=effort(5, 8), accessory=True)
    assert prescribe(at_once, SQUAT).sets[0].text.endswith(BEGINS_LIGHTER)
    tested = only(prescribe(top(), ctx(known("squat", 150))), "top_set")
    assert not tested.text.endswith(BUILD_UP_DECIDES)


def test_what_only_the_plan_says_is_not_said_of_the_set_about_to_be_lifted():
    asked = top()
    for rpe in (5, 6, 6.5, 7, 7.5, 8):
        coming = next_set(asked, SQUAT, [did(115, rpe - 1), did(120, rpe)])
        assert coming.role == "top_set"
        assert "not known well" not in coming.text


@pytest.mark.parametrize("answer", ["confirmed", "excluded"])
def test_a_set_that_somebody_has_answered_for_is_doubted_no_more(answer):
    here = ctx(given(100, "bench-press"))
    odd = bench(130, 8, answer=answer)  # nothing explains it
    coming = next_set(BENCH, here, [bench(80, 8), odd])
    assert "believed" not in coming.text
    assert "doubtful" not in [one.formula for one in coming.why]
    assert (coming.load.value > 120) == (answer == "confirmed")


def test_what_looks_like_a_slip_is_believed_with_a_second_set_and_that_is_said():
    here = ctx(given(100, "bench-press"))
    pounds = bench(176.5, 8, answer="confirmed")  # 80 kg, typed in pounds
    coming = next_set(BENCH, here, [bench(80, 8), pounds])
    assert "counts as soon as another set agrees with it" in coming.text


def test_a_timed_set_teaches_nothing():
    here = ctx(given(100, "bench-press"))
    held = bench(80, 10, reps=1, seconds=30)
    slot_of_singles = Slot(lift="bench-press", scheme=SetsAtTarget(sets=4), target=effort(1, 8))
    f = facts(slot_of_singles, here, prescribe(slot_of_singles, here))
    today, _ = walk(f, [held])
    assert today.ability == f.g.ability
