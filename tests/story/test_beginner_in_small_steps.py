"""Nele Ockhart, new to the barbell: a press of 32.5 kg, and a cellar where the next load is always 2.5 kg away.

Nele has a shadow (`shadow.py`): the model once more, slow and with matrices, told the same sets; its numbers stand in
the comments. The bar of 15 kg takes pairs of 10, 5, 2.5 and 1.25: 15, 17.5, 20, ... 30, 32.5, 35. At 30 kg a step is
8 %.
"""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.story.shadow import Shadow
from tests.story.telling import (
    Day,
    codes,
    day,
    exact,
    felt_as,
    kg,
    names,
    only,
    per_side,
    plan,
    post,
    read,
    said,
)

PRESS = "overhead-press"

PLACE: dict[str, Any] = {
    "name": "Cellar under the old school",
    "bars": [{"load": kg(15)}],
    "plates": [{"load": kg(value), "count": 2} for value in (10, 5, 2.5, 1.25)],
}


def press(reps: int, rpe: float) -> dict[str, Any]:
    """A session of presses."""
    target = {"kind": "effort", "reps": reps, "rpe": rpe}
    slot = {"lift": "overhead-press", "scheme": {"kind": "sets_at_target", "sets": 3}, "target": target}
    push_ups = {
        "lift": "push-up",
        "accessory": True,
        "scheme": {"kind": "sets_at_target", "sets": 1},
        "target": {"kind": "effort", "reps": 8, "reps_to": 12, "rir": 3},
    }
    return {"name": "Pressing", "slots": [slot, push_ups]}


TUESDAY, FRIDAY, TUESDAY_AFTER, FRIDAY_AFTER = "2026-03-03", "2026-03-06", "2026-03-10", "2026-03-13"


@pytest.fixture
def nele(coach: TestClient) -> str:
    """Nele, of whom nothing is known, with two weeks of presses on Tuesdays and Fridays."""
    place = post(coach, "/places", PLACE)
    who = {"name": "Nele Ockhart", "experience": "beginner", "place": place["id"]}
    nele = str(post(coach, "/athletes", who)["id"])
    weeks = [{"sessions": [press(5, 8), press(5, 8)]}, {"sessions": [press(4, 8), press(5, 8)]}]
    template = post(coach, "/templates", {"name": "First presses", "weeks": weeks})
    order = {"template": template["id"], "athletes": [nele], "start": TUESDAY, "weekdays": ["tuesday", "friday"]}
    post(coach, "/blocks", order)
    return nele


@pytest.fixture
def shadow() -> Shadow:
    """Nothing is known of her press."""
    known = Shadow()
    known.known(PRESS)
    return known


def hangs(exact_kg: float) -> float:
    """The nearest that can be loaded in the cellar. [kg]"""
    return round(exact_kg / 2.5) * 2.5


def test_two_weeks_of_a_beginner_in_steps_of_two_and_a_half(
    coach: TestClient, gym: Any, nele: str, shadow: Shadow
) -> None:  # fmt: skip
    phone = gym.client("log")

    nothing_is_known_and_it_is_said(coach, nele)
    first = day(phone, nele, TUESDAY, shadow=shadow)
    the_first_day_starts_without_a_load(first)
    a_repetition_more_takes_the_place_of_a_step(first, shadow)
    push_ups_without_a_body_weight_are_only_stored(first)
    first.finish()

    second = day(phone, nele, FRIDAY, shadow=shadow)
    the_log_has_told_a_max(second, shadow)
    words_are_enough(second, shadow)

    third = day(phone, nele, TUESDAY_AFTER, shadow=shadow)
    the_plan_itself_takes_a_repetition_off(third, shadow)
    a_repetition_fewer_takes_the_place_of_a_step(third, shadow)
    a_miss_that_cannot_be_believed_is_followed_by_less(third, shadow)

    what_was_doubted_teaches_nothing(day(phone, nele, FRIDAY_AFTER, shadow=shadow), shadow)


def test_a_word_is_no_measure_before_a_max_is_known(gym: Any, nele: str, shadow: Shadow) -> None:
    first = day(gym.client("log"), nele, TUESDAY, shadow=shadow)
    # Lighter than what? Nothing was expected, so nothing follows; a number of repetitions left would tell.
    coming = first.log(PRESS, kg(25), 5, felt="lighter")["next"]
    assert coming["text"] == (
        "5 with 25 kg again: a word tells nothing yet, as no max is known to hold it against; say how many "
        "repetitions were left."
    )
    # Four left: nine possible at least. g(9) = 0.4 ln 1.928 = 0.26260, what a report hides (0.2 + 0.1 * 3) * 0.0464 /
    # 1.928 = 0.01203, the set before 0.006: at least 25 * exp(0.28063) = 33.1, and nobody knows how much more. By that
    # 5 at RPE 8 would be 26.4 after these two sets; 27.5 is more, so it is 25 with a repetition more.
    coming = first.log(PRESS, kg(25), 5, rir=4)["next"]
    assert shadow.rolling(PRESS).kg == pytest.approx(33.1, abs=0.01)
    in_truth, in_the_report = shadow.limits(PRESS, 5, 8)
    assert 25 < in_the_report < in_truth < shadow.load(PRESS, 5, 8) < 27.5
    assert (said(coming), coming["expected_rpe"]) == ("25 kg x 6", felt_as(shadow.expected(PRESS, 25, 6)))
    assert "the last set was two points lighter than asked" in coming["text"]


def nothing_is_known_and_it_is_said(coach: TestClient, nele: str) -> None:
    asked = press(5, 8)["slots"][0] | {"target": {"kind": "percent", "reps": 5, "percent": 75, "basis": "tested"}}
    problem = read(coach.post("/v1/prescriptions", json={**asked, "athlete": nele, "on": TUESDAY}), 422)
    assert problem["type"] == "/problems/not-computable"
    assert problem["detail"].startswith(
        "No tested max of the overhead press is known on this day: enter one, or test it"
    )


def the_first_day_starts_without_a_load(first: Day) -> None:
    first.open()
    sets = first.slot(PRESS)["sets"]
    assert [(one["role"], said(one)) for one in sets] == [("target_set", "x 5")] * 3
    assert sets[0]["text"] == "5 repetitions: no max is known, so choose a load that leaves about two repetitions."
    assert codes(sets[0]) == ["no_load"]
    assert "No max of the overhead press is known" in first.board()


def a_repetition_more_takes_the_place_of_a_step(first: Day, shadow: Shadow) -> None:
    # 30 x 5 with three left: a max of 39.8 (31.5 to 50.3). 5 at RPE 8 would be 31.9; the limit, so unsure as it is,
    # 28.6. But 30 went up, and easily: the same again.
    after = first.log(PRESS, kg(30), 5, rir=3)
    assert after["set"]["role"] == "target_set"
    today = shadow.today(PRESS)
    assert after["day_estimate"]["max"]["value"] == pytest.approx(today.kg, abs=0.001)
    assert after["day_estimate"]["range"]["high"]["value"] == pytest.approx(today.high, abs=0.001)
    coming = after["next"]
    assert shadow.bounded(PRESS, 5, 8) < 30
    assert (said(coming), per_side(coming)) == ("30 kg x 5", "5 2.5")
    assert "it is not sure enough yet" in coming["text"]
    # Three left once more: the range has become less than half as wide. 5 at RPE 8 would be 30.9, and 32.5 is far too
    # much. 6 with two left want 30.1: one repetition more with 30.
    coming = first.log(PRESS, kg(30), 5, rir=3)["next"]
    assert shadow.today(PRESS).high - shadow.today(PRESS).low < (today.high - today.low) / 2
    assert exact(coming) == pytest.approx(30)
    assert abs(shadow.load(PRESS, 6, 8) - 30) < abs(shadow.bounded(PRESS, 5, 8) - 30)
    assert (said(coming), coming["expected_rpe"]) == ("30 kg x 6", felt_as(shadow.expected(PRESS, 30, 6)))
    assert coming["text"] == (
        "6 with 30 kg again, with one repetition more: the last set was a point lighter than asked, and the next "
        "heavier load would be too far off. This should leave about two repetitions."
    )
    done = first.log(PRESS, kg(30), 6, rir=2)["next"]
    assert (done["kind"], done["next_slot"]) == ("lift_done", first.slot("push-up")["id"])


def push_ups_without_a_body_weight_are_only_stored(first: Day) -> None:
    shown = only(first.slot("push-up"), "target_set")["text"]
    assert shown == (
        "8 to 12 repetitions: no body weight is known, so go on in a way that leaves about three repetitions."
    )
    after = first.log("push-up", None, 9, rir=3)
    assert after["set"]["load"]["value"] == 0
    assert codes(after) == ["no_body_weight"]
    assert after["cautions"][0]["text"].startswith("The set is stored. The body is part of this load")
    assert after["next"]["kind"] == "session_done"


def the_log_has_told_a_max(second: Day, shadow: Shadow) -> None:
    # The log says 38.7 (36.1 to 41.4). 5 at RPE 8: 31.0, nearest 30, which should be RPE 6.9: a full point too easy. So
    # the plan itself asks for 6. One build-up at RPE 5.5 for 6: 28.3, so 27.5; the one at RPE 7 is 29.4, below 30 that
    # is 27.5 once more, and falls out. Warm-ups: the bar, and half of the way to 27.5: 21.25, as near to 20 as to 22.5,
    # so down.
    slot = second.open()["slots"][0]
    assert hangs(shadow.load(PRESS, 5, 8, build_ups=2)) == 30
    assert shadow.expected(PRESS, 30, 5, units=0.5) < 7
    assert hangs(shadow.load(PRESS, 6, 5.5, build_ups=2)) == 27.5
    assert plan(slot, "warm_up") == ["15 kg x 8", "20 kg x 5"]
    assert plan(slot) == ["27.5 kg x 6", "30 kg x 6", "30 kg x 6", "30 kg x 6"]
    assert slot["text"] == "3 sets of 5 at RPE 8"
    work = only(slot, "target_set")
    rolling = shadow.rolling(PRESS)
    assert names(work, "max") == [pytest.approx(rolling.kg, abs=0.001)]
    assert (names(work, "low"), names(work, "high")) == (
        [pytest.approx(rolling.low, abs=0.006)], [pytest.approx(rolling.high, abs=0.006)],
    )  # fmt: skip
    assert work["expected_rpe"] == felt_as(shadow.expected(PRESS, 30, 6, units=0.5))
    assert work["text"] == (
        "6 with 30 kg, with one repetition more than planned: this should leave about two repetitions."
    )
    assert work["why"][0]["formula"] == "more_repetitions"
    too_easy = felt_as(shadow.expected(PRESS, 30, 5, units=0.5))
    assert work["why"][0]["text"].startswith(
        f"5 with 30 kg would be RPE {too_easy:g} instead of 8, and the steps between loads are"
    )
    low, high = (work["range"][end]["value"] for end in ("low", "high"))
    assert (low, high) == pytest.approx(shadow.share(PRESS, shadow.load(PRESS, 6, 8, build_ups=2)), abs=0.06)
    assert slot["last_time"]["date"] == TUESDAY
    assert [said(one | {"reps_to": None}) for one in slot["last_time"]["sets"]] == [
        "30 kg x 5", "30 kg x 5", "30 kg x 6",
    ]  # fmt: skip


def words_are_enough(second: Day, shadow: Shadow) -> None:
    # 27.5 x 6 should be RPE 4; heavier than that is 5, which few can tell from 4: it teaches nothing.
    known = shadow.today(PRESS).kg
    coming = second.log(PRESS, kg(27.5), 6, felt="heavier")["next"]
    assert shadow.today(PRESS).kg == known
    assert (said(coming), coming["expected_rpe"]) == ("30 kg x 6", felt_as(shadow.expected(PRESS, 30, 6)))
    # 30 x 6 was expected to be RPE 7.7, to the half 7.5, and was: the same again, and the max hardly moves. What was
    # said in a word is told as that word.
    after = second.log(PRESS, kg(30), 6, felt="as_expected")
    assert said(after["next"]) == "30 kg x 6"
    assert shadow.today(PRESS).kg == pytest.approx(known, rel=0.005)
    told = after["next"]["why"][0]["text"]
    assert told.startswith("6 with 30 kg, said to be as expected (RPE 7.5)")
    assert told.endswith(f" {shadow.today(PRESS).kg:.1f} kg.")
    # The next was to be 8, and heavier is 9: a whole point more than asked. 5 at RPE 8 want 30.3: one repetition
    # fewer.
    assert shadow.expected(PRESS, 30, 6) == pytest.approx(8, abs=0.25)
    coming = second.log(PRESS, kg(30), 6, felt="heavier")["next"]
    assert hangs(shadow.load(PRESS, 5, 8)) == 30
    assert (said(coming), coming["expected_rpe"]) == ("30 kg x 5", felt_as(shadow.expected(PRESS, 30, 5)))
    assert coming["text"].startswith("5 with 30 kg again, with one repetition fewer: the last set was a point harder")
    assert "said to be heavier than expected (RPE 9)" in coming["why"][0]["text"]
    assert names(coming, "max_before")[0] > shadow.today(PRESS).kg
    assert second.log(PRESS, kg(30), 5, felt="as_expected")["next"]["kind"] == "lift_done"
    second.finish(session_rpe=7)


def the_plan_itself_takes_a_repetition_off(third: Day, shadow: Shadow) -> None:
    # 4 at RPE 8: 31.7, nearest 32.5, which would be more than half a point too hard: so 3. Build-ups for 3: RPE 5.5:
    # 30.2, so 30; RPE 7: 31.6, so 32.5 again, which falls out.
    slot = third.open()["slots"][0]
    assert hangs(shadow.load(PRESS, 4, 8, build_ups=2)) == 32.5
    assert shadow.expected(PRESS, 32.5, 4, units=0.5) > 8.5
    assert plan(slot) == ["30 kg x 3", "32.5 kg x 3", "32.5 kg x 3", "32.5 kg x 3"]
    first = only(slot, "target_set")
    assert names(first, "max") == [pytest.approx(shadow.rolling(PRESS).kg, abs=0.001)]
    assert first["expected_rpe"] == felt_as(shadow.expected(PRESS, 32.5, 3, units=0.5))
    assert per_side(first) == "5 2.5 1.25"
    assert first["text"].startswith("3 with 32.5 kg, with one repetition fewer than planned: ")


def a_repetition_fewer_takes_the_place_of_a_step(third: Day, shadow: Shadow) -> None:
    third.log(PRESS, kg(30), 3, felt="as_expected")
    # RPE 9 where 7.8 was planned. 3 at RPE 8 would be 31.9 now: 30 is 6 % off. 2 with two left want 32.9: one
    # repetition fewer, RPE 7.7.
    coming = third.log(PRESS, kg(32.5), 3, rpe=9)["next"]
    assert abs(shadow.load(PRESS, 2, 8) - 32.5) < abs(shadow.load(PRESS, 3, 8) - 30)
    assert (said(coming), coming["expected_rpe"]) == ("32.5 kg x 2", felt_as(shadow.expected(PRESS, 32.5, 2)))
    assert coming["text"].startswith(
        "2 with 32.5 kg again, with one repetition fewer: the last set was a point harder than asked, "
        "and the next lighter load would be too far off."
    )


def a_miss_that_cannot_be_believed_is_followed_by_less(third: Day, shadow: Shadow) -> None:
    # With 27.5 kg for a breather: one, and the second stays half-way, where seven were in her by all that is known. It
    # is asked about, and changes no max. Whatever it was, what follows is at least 5 % lighter: 26.125 at most, so 25.
    known = shadow.today(PRESS).kg
    after = third.log(PRESS, kg(27.5), 1, made=False)
    assert shadow.today(PRESS).kg == known
    asked = after["set"]["doubt"]
    assert (asked["code"], asked["proposal"], asked["answer"]) == ("unlikely", None, None)
    assert asked["text"].startswith("27.5 kg for 1 and a miss does not fit what the log says.")
    coming = after["next"]
    assert coming["load"]["value"] == 25
    assert "clearly lighter after the missed repetition" in coming["text"]
    assert third.log(PRESS, kg(25), 3, rpe=5)["next"]["kind"] == "lift_done"
    third.finish(session_rpe=9)


def what_was_doubted_teaches_nothing(last: Day, shadow: Shadow) -> None:
    # Nobody has answered, so the log goes on without it: 38.0 (36.0 to 40.1).
    slot = last.open()["slots"][0]
    assert names(only(slot, "target_set"), "max") == [pytest.approx(shadow.rolling(PRESS).kg, abs=0.001)]
    waiting = read(last.phone.get(f"/v1/athletes/{last.look()['athlete']}/sets", params={"doubtful": True}))
    assert [said(one | {"reps_to": None}) for one in waiting["items"]] == ["27.5 kg x 1"]
