"""Ylva Steenhoff, quarry town club: two weeks with a 180 kg squat, a sore knee and a coach who watches.

Ylva has a shadow (`shadow.py`): the model once more, slow and with matrices, told the same sets. It gives the exact
loads, efforts and maxes that the answers are held against; what hangs is rounded by hand. The shed has plates down to
1.25 kg, so every multiple of 2.5 kg from the empty bar of 20 kg on can be loaded.
"""

from __future__ import annotations

import copy
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
    outcome,
    per_side,
    plan,
    post,
    read,
    result_of,
    said,
)

PLACE: dict[str, Any] = {
    "name": "Stone shed",
    "bars": [{"load": kg(20)}],
    "plates": [
        {"load": kg(25), "count": 6},
        {"load": kg(20), "count": 2},
        {"load": kg(15), "count": 2},
        {"load": kg(10), "count": 2},
        {"load": kg(5), "count": 2},
        {"load": kg(2.5), "count": 2},
        {"load": kg(1.25), "count": 2},
    ],
    "dumbbells": [kg(value) for value in (10, 12.5, 15, 17.5, 20, 22.5, 25)],
}
HEAVY: dict[str, Any] = {
    "name": "Heavy squats",
    "slots": [
        {
            "lift": "squat",
            "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 4}},
            "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
            "rest_seconds": 240,
        },
        {
            "lift": "pause-squat",
            "tempo": "3-2-x-0",
            "scheme": {"kind": "sets_at_target", "sets": 2},
            "target": {"kind": "percent", "reps": 3, "percent": 75, "basis": "day", "of": "squat", "valid_days": 1},
        },
        {
            "lift": "split-squat",
            "accessory": True,
            "scheme": {"kind": "sets_at_target", "sets": 2},
            "target": {"kind": "effort", "reps": 8, "reps_to": 12, "rir": 2},
        },
    ],
}
PUSH_AND_PULL: dict[str, Any] = {
    "name": "Push and pull",
    "slots": [
        {
            "lift": "bench-press",
            "scheme": {"kind": "open_last_set", "sets_before": 2, "most_reps": 8, "stop_rpe": 9},
            "target": {"kind": "percent", "reps": 5, "percent": 80, "basis": "tested"},
        },
        {
            "lift": "pull-up",
            "scheme": {"kind": "sets_at_target", "sets": 2},
            "target": {"kind": "effort", "reps": 5, "rir": 2},
        },
    ],
}
SINGLES: dict[str, Any] = {
    "name": "Squat singles",
    "slots": [
        {
            "lift": "squat",
            "scheme": {"kind": "top_set", "same_load": {"sets": 1}},
            "target": {"kind": "effort", "reps": 1, "rpe": 8},
        }
    ],
}

MONDAY, WEDNESDAY, FRIDAY = "2026-03-02", "2026-03-04", "2026-03-06"
MONDAY_AFTER, WEDNESDAY_AFTER, FRIDAY_AFTER = "2026-03-09", "2026-03-11", "2026-03-13"


@pytest.fixture
def ylva(coach: TestClient) -> str:
    """Ylva with her maxes, at the shed, with the block laid out on Mondays, Wednesdays and Fridays."""
    place = post(coach, "/places", PLACE)
    ylva = str(
        post(coach, "/athletes", {"name": "Ylva Steenhoff", "experience": "advanced", "place": place["id"]})["id"]
    )
    read(coach.put(f"/v1/athletes/{ylva}/body-weights/2026-02-10", json={"load": kg(92)}), 201)
    for lift, value in (("squat", 180), ("bench-press", 120), ("pull-up", 30)):
        tested = {"lift": lift, "kind": "tested", "load": kg(value), "date": "2026-02-14", "source": "Winter test"}
        post(coach, f"/athletes/{ylva}/maxes", tested)
    weeks = [{"sessions": [HEAVY, PUSH_AND_PULL, SINGLES]}] * 2
    template = post(coach, "/templates", {"name": "Two hard weeks", "weeks": weeks})
    order = {"template": template["id"], "athletes": [ylva], "start": MONDAY}
    laid = post(coach, "/blocks", {**order, "weekdays": ["monday", "wednesday", "friday"]})
    assert [one["block"] is not None for one in laid["items"]] == [True]
    return ylva


@pytest.fixture
def shadow() -> Shadow:
    """What the log knows of Ylva: maxes two weeks old, and what hangs on what in the list of lifts."""
    known = Shadow()
    known.known("squat", 180, tested=True, group=0.08)
    known.known("bench-press", 120, tested=True)
    known.known("pull-up", 92 + 30, tested=True)
    known.known("split-squat", group=0.08)
    known.variation("pause-squat", "squat", 0.90, group=0.08)
    return known


BODY = {"pull-up": 92.0}


def hangs(exact_kg: float) -> float:
    """The nearest that can be loaded in the shed. [kg]"""
    return round(exact_kg / 2.5) * 2.5


def test_two_weeks_of_a_squatter_with_a_sore_knee(coach: TestClient, gym: Any, ylva: str, shadow: Shadow) -> None:
    phone = gym.client("log")

    monday = day(phone, ylva, MONDAY, shadow=shadow)
    the_plan_stands_on_the_tested_max(monday, shadow)
    the_build_up_tells_that_today_is_a_little_worse(monday, shadow)
    told = the_top_set_is_harder_than_asked_and_the_back_offs_are_lowered(monday, shadow)
    the_pause_squats_follow_the_day(monday, shadow, told)
    accessories_are_chosen_by_feel(monday)
    monday.finish(session_rpe=9, minutes=95)

    bench_and_pull_ups(day(phone, ylva, WEDNESDAY, shadow=shadow, body_kg=BODY), shadow)

    friday = day(phone, ylva, FRIDAY, shadow=shadow)
    a_slip_is_corrected(phone, friday, shadow)
    a_forgotten_set_comes_late(phone, ylva, friday, shadow)

    the_knee_hurts_on_day_four(day(phone, ylva, MONDAY_AFTER, shadow=shadow), shadow)
    the_coach_caps_the_squat(coach, ylva)

    pull_ups_know_the_new_body_weight(phone, ylva, shadow)
    the_last_session_uses_it_all(day(phone, ylva, FRIDAY_AFTER, shadow=shadow), shadow)


def the_plan_stands_on_the_tested_max(monday: Day, shadow: Shadow) -> None:
    # A plan has no limits yet, and guesses a quarter of a unit of fatigue for each of two build-up sets. Top set: 3 at
    # RPE 7.5: 152.13, nearest 152.5. Build-ups at RPE 5: 142.00, nearest 142.5; at 6.5: 147.76, nearest 147.5.
    # Back-off: 152.5 x 0.96 = 146.4, nearest 147.5.
    squat = monday.open()["slots"][0]
    assert [hangs(shadow.load("squat", 3, rpe, build_ups=2)) for rpe in (5, 6.5, 7.5)] == [142.5, 147.5, 152.5]
    assert plan(squat, "build_up", "top_set", "back_off") == [
        "142.5 kg x 3", "147.5 kg x 3", "152.5 kg x 3", "147.5 kg x 3", "147.5 kg x 3",
    ]  # fmt: skip
    # Warm-ups: from the empty bar in fifths of the way to 142.5: (142.5 - 20) / 5 = 24.5, so 20, 44.5, 69, 93.5, 118;
    # nobody hangs 1.25 kg plates for a warm-up, so to the nearest 5 kg: 20, 45, 70, 95, 120.
    assert plan(squat, "warm_up") == ["20 kg x 8", "45 kg x 5", "70 kg x 4", "95 kg x 3", "120 kg x 2"]
    top = only(squat, "top_set")
    planned = shadow.load("squat", 3, 7.5, build_ups=2)
    assert exact(top) == pytest.approx(planned, abs=0.001)
    assert result_of(top, "share_of_max") == pytest.approx(planned, abs=0.001)
    assert result_of(top, "model_curve") == pytest.approx(100 * planned / 180, abs=0.006)
    assert top["expected_rpe"] == felt_as(shadow.expected("squat", 152.5, 3, units=0.5)) == 7.6
    # Its range is that of today's max, 180 (168.4 to 192.3: tested to within 5 %, and days differ), times its share.
    low, high = shadow.share("squat", planned)
    assert (top["range"]["low"]["value"], top["range"]["high"]["value"]) == (round(low, 1), round(high, 1))
    assert per_side(top) == "25 25 15 1.25"  # (152.5 - 20) / 2 = 66.25
    assert top["rest_seconds"] == 240
    assert top["text"] == "3 with 152.5 kg: this should leave two or three repetitions."
    # The pause squats are at 75 % of a max that today has yet to tell; 0.75 x 180 = 135 meanwhile.
    pause = monday.slot("pause-squat")
    assert plan(pause) == ["135 kg x 3", "135 kg x 3"]
    assert all(one["provisional"] for one in pause["sets"] if one["role"] == "target_set")
    # The split squats have no max: Ylva chooses the dumbbells.
    assert plan(monday.slot("split-squat")) == ["x 8 to 12", "x 8 to 12"]


def the_build_up_tells_that_today_is_a_little_worse(monday: Day, shadow: Shadow) -> None:
    after = monday.warm_up("squat")
    assert (after["set"]["role"], after["next"]["role"], said(after["next"])) == ("warm_up", "build_up", "142.5 kg x 3")
    # 142.5 is expected to be RPE 5.1, as a whole 5; heavier is 6. So low a report that is harder than expected teaches
    # nothing: few count so many repetitions. The next one is 147.6 at RPE 6.5 still.
    after = monday.log("squat", kg(142.5), 3, felt="heavier")
    assert after["set"]["role"] == "build_up"
    assert shadow.today("squat").kg == pytest.approx(180)
    assert hangs(shadow.load("squat", 3, 6.5)) == 147.5
    assert said(after["next"]) == "147.5 kg x 3"
    assert after["day_estimate"] is None  # a build-up set tells today's max for the next load, not for the log
    # 147.5 should have been RPE 6.5 and was 7: today's max is 178.6. The top set is 149.9 at RPE 7.5, under both
    # limits (155.6 in truth, 153.3 in the report): nearest 150.
    assert shadow.expected("squat", 147.5, 3) == pytest.approx(6.5, abs=0.05)
    after = monday.log("squat", kg(147.5), 3, rpe=7)
    coming = after["next"]
    load = shadow.load("squat", 3, 7.5)
    assert load < min(shadow.limits("squat", 3, 7.5))
    assert (coming["role"], said(coming)) == ("top_set", "150 kg x 3")
    assert (exact(coming), hangs(load)) == (pytest.approx(load, abs=0.001), 150)
    assert coming["expected_rpe"] == felt_as(shadow.expected("squat", 150, 3))
    assert per_side(coming) == "25 25 15"
    assert result_of(coming, "max_today") == pytest.approx(shadow.today("squat").kg, abs=0.001)
    assert coming["text"] == (
        "3 with 150 kg, 2.5 kg less than planned: the last build-up set was half a point harder than expected. "
        "This should leave two or three repetitions."
    )


def the_top_set_is_harder_than_asked_and_the_back_offs_are_lowered(monday: Day, shadow: Shadow) -> float:
    """The day's max by the top set. [kg]"""
    # RPE 9: the day's max is 175.7 (169.0 to 182.6). The back-off follows what was lifted, not what was planned: 150 x
    # 0.96 = 144, nearest 145 instead of 147.5; it may be up to RPE 9, half a point under the limit: 152.3.
    foreseen = outcome(monday.next("squat"), 9)
    after = monday.log("squat", kg(150), 3, rpe=9)
    assert after["set"]["role"] == "top_set"
    estimate, today = after["day_estimate"], shadow.today("squat")
    assert estimate["max"]["value"] == pytest.approx(today.kg, abs=0.001)
    assert [estimate["range"][end]["value"] for end in ("low", "high")] == [
        pytest.approx(today.low, abs=0.001), pytest.approx(today.high, abs=0.001),
    ]  # fmt: skip
    coming = after["next"]
    assert (coming["role"], coming["number"], coming["of"]) == ("back_off", 1, 2)
    assert said(coming) == "145 kg x 3"
    assert shadow.bounded("squat", 3, 9, 9) > 145
    assert foreseen["load"]["value"] == 145
    assert coming["expected_rpe"] == felt_as(shadow.expected("squat", 145, 3))
    assert coming["text"].startswith(
        "3 with 145 kg, about 4 % lighter than the top set: the top set was one and a half points harder than asked. "
    )
    # It is one of those days: 145 is RPE 9 as well, the most that a following set may be, so the next is kept half a
    # point easier. By the model that is 145.7; by that set alone, 145 less what half a repetition is worth, it is
    # 142.48: 142.5 is a hair too much, so 140.
    coming = monday.log("squat", kg(145), 3, rpe=9)["next"]
    by_model = shadow.bounded("squat", 3, 8.5, 8.5)
    alone = 145 * shadow.load("squat", 3, 8.5) / shadow.load("squat", 3, 9)
    assert 140 < min(by_model, alone) < 142.5
    assert (coming["role"], coming["number"], said(coming)) == ("back_off", 2, "140 kg x 3")
    assert coming["expected_rpe"] == felt_as(shadow.expected("squat", 140, 3))
    assert "so hard that this one is kept easier" in coming["text"]
    after = monday.log("squat", kg(140), 3, rpe=8)
    assert after["day_estimate"] is None  # the day's max stands on its heaviest set
    assert after["next"]["kind"] == "lift_done"
    assert after["next"]["next_slot"] == monday.slot("pause-squat")["id"]
    return today.kg


def the_pause_squats_follow_the_day(monday: Day, shadow: Shadow, told: float) -> None:
    # 75 % of the 175.7 that the top set told is 131.7, nearest 132.5.
    monday.look()
    pause = monday.slot("pause-squat")
    assert plan(pause) == ["132.5 kg x 3", "132.5 kg x 3"]
    first = only(pause, "target_set")
    assert not first["provisional"]
    assert result_of(first, "percent_of_basis") == pytest.approx(0.75 * told, abs=0.002)
    assert monday.slot("squat")["sets"][7]["load"]["value"] == 152.5  # what was planned for the top set is kept
    # The first set makes a max of its own, from the squat's by the list's ratio and from what it was like. 132.5 may
    # stay: it is under RPE 9, and a percentage names no effort that it could be moved to.
    after = monday.log("pause-squat", kg(132.5), 3, rpe=7)
    assert after["day_estimate"]["max"]["value"] == pytest.approx(shadow.today("pause-squat").kg, abs=0.001)
    assert shadow.bounded("pause-squat", 3, 9, 9) > 132.5
    coming = after["next"]
    assert (said(coming), coming["expected_rpe"]) == ("132.5 kg x 3", felt_as(shadow.expected("pause-squat", 132.5, 3)))
    done = monday.log("pause-squat", kg(132.5), 3, rpe=7.5)["next"]
    assert (done["kind"], done["next_slot"]) == ("lift_done", monday.slot("split-squat")["id"])


def accessories_are_chosen_by_feel(monday: Day) -> None:
    first = monday.next("split-squat")
    assert first["load"] is None
    assert first["text"] == "8 to 12 with a load that leaves about two repetitions."
    # 20 kg in each hand for 10 with two left is on target: the same again, whatever the machine thinks of a max.
    coming = monday.log("split-squat", kg(20), 10, rir=2)["next"]
    assert said(coming) == "20 kg x 8 to 12"
    assert monday.log("split-squat", kg(20), 10, rir=2)["next"]["kind"] == "session_done"


def bench_and_pull_ups(wednesday: Day, shadow: Shadow) -> None:
    # Bench: 80 % of the tested 120 is 96, nearest 95. A percentage of a tested max is no estimate, so it has no range;
    # how hard it should be, the model says: RPE 7.8, by the squats she gets fewer repetitions out of a percentage.
    wednesday.open()
    morning = copy.deepcopy(shadow)  # both plans were made before anything was lifted
    bench = wednesday.slot("bench-press")
    assert plan(bench, "target_set") == ["95 kg x 5", "95 kg x 5"]
    first = only(bench, "target_set")
    assert (first["expected_rpe"], first["range"], per_side(first)) == (
        felt_as(shadow.expected("bench-press", 95, 5)), None, "25 10 2.5",
    )  # fmt: skip
    # The open set: after two sets with 10 - RPE left (each 2^(-(left - 2) / 1.5) units) 5 repetitions are RPE 8.2 and
    # 6 would be 9.1, past the 9 where she stops.
    left = 10 - shadow.expected("bench-press", 95, 5)
    units = 2 ** (-(left - 2) / 1.5)
    units += 2 ** (-(10 - shadow.expected("bench-press", 95, 5, units=units) - 2) / 1.5)
    assert shadow.expected("bench-press", 95, 5, units=units) < 9 < shadow.expected("bench-press", 95, 6, units=units)
    last = only(bench, "open_set")
    assert last["text"] == (
        "As many good repetitions as possible with 95 kg, 8 at most; stop when another one would take you past RPE 9. "
        "About 5 repetitions should come of it."
    )
    for reps, rpe in ((5, 7.5), (5, 8), (6, 9)):
        after = wednesday.log("bench-press", kg(95), reps, rpe=rpe)
    assert after["set"]["role"] == "open_set"
    # Pull-ups: the tested max is 30 kg on a body of 92: 122. Of that, 5 with two left are 96.8, 4.8 on the belt:
    # nearest 5. Build-ups: RPE 5.5: 90.3, 1.7 of help, in steps of 2.5 the nearest is 2.5; RPE 7: 2.0 on the belt, 2.5.
    pull = wednesday.slot("pull-up")
    hung = [morning.load("pull-up", 5, rpe, build_ups=2) - 92 for rpe in (5.5, 7, 8)]
    assert hung == [pytest.approx(-2.5, abs=1.25), pytest.approx(2.5, abs=0.625), pytest.approx(5, abs=0.625)]
    assert plan(pull) == ["-2.5 kg x 5", "2.5 kg x 5", "5 kg x 5", "5 kg x 5"]
    work = only(pull, "target_set")
    assert exact(work) == pytest.approx(hung[2], abs=0.002)
    assert work["expected_rpe"] == felt_as(morning.expected("pull-up", 97, 5, units=0.5))
    assert [(one["plate"]["value"], one["count"]) for one in work["loading"]["plates"]] == [(5, 1)]
    assert work["text"] == "5 with body weight and 5 kg: this should leave about two repetitions."
    wednesday.log("pull-up", kg(-2.5), 5, rpe=5.5)
    # The next build-up was to be 7.1 and was 7.5: two left are 95.7 now, 3.7 on the belt, nearest 3.75.
    assert shadow.expected("pull-up", 94.5, 5) == pytest.approx(7.1, abs=0.05)
    coming = wednesday.log("pull-up", kg(2.5), 5, rpe=7.5)["next"]
    load = shadow.load("pull-up", 5, 8)
    assert load < min(shadow.limits("pull-up", 5, 8))
    assert exact(coming) == pytest.approx(load - 92, abs=0.001)
    assert load - 92 == pytest.approx(3.75, abs=0.625)
    assert said(coming) == "3.75 kg x 5"
    assert said(wednesday.log("pull-up", kg(3.75), 5, rir=2)["next"]) == "3.75 kg x 5"
    assert wednesday.log("pull-up", kg(3.75), 5, rir=2)["next"]["kind"] == "session_done"
    wednesday.finish(session_rpe=7, minutes=70)


def a_slip_is_corrected(phone: TestClient, friday: Day, shadow: Shadow) -> None:
    # The log now says 174.9 (167.3 to 182.8), and goes before the test: a single at RPE 8 is 158.3, nearest 157.5.
    # Build-ups at 5.5: 145.1, nearest 145; at 7: 152.5.
    squat = friday.open()["slots"][0]
    assert [hangs(shadow.load("squat", 1, rpe, build_ups=2)) for rpe in (5.5, 7, 8)] == [145, 152.5, 157.5]
    assert plan(squat, "build_up", "top_set", "same_load") == [
        "145 kg x 1", "152.5 kg x 1", "157.5 kg x 1", "157.5 kg x 1",
    ]  # fmt: skip
    top = only(squat, "top_set")
    assert top["expected_rpe"] == felt_as(shadow.expected("squat", 157.5, 1, units=0.5))
    rolling = shadow.rolling("squat")
    assert names(top, "max") == [pytest.approx(rolling.kg, abs=0.001)]
    assert names(top, "low") == [pytest.approx(rolling.low, abs=0.01)]
    assert names(top, "high") == [pytest.approx(rolling.high, abs=0.01)]
    # Last time was Monday: the top set and both back-off sets.
    last = friday.slot("squat")["last_time"]
    assert last["date"] == MONDAY
    assert [(one["load"]["value"], one["rpe"]) for one in last["sets"]] == [(150, 9), (145, 9), (140, 8)]
    friday.log("squat", kg(145), 1, felt="as_expected")
    friday.log("squat", kg(152.5), 1, felt="as_expected")
    # Her thumb slips: 167.5 at RPE 8 is believed, as a very good day, and the next set would be 167.5 again.
    imagined = copy.deepcopy(shadow)
    friday.shadow = imagined
    slip = friday.log("squat", kg(167.5), 1, rpe=8)
    assert slip["day_estimate"]["max"]["value"] == pytest.approx(imagined.today("squat").kg, abs=0.001)
    assert said(slip["next"]) == "167.5 kg x 1"
    wrong = slip["set"]
    right = read(phone.patch(f"/v1/sets/{wrong['id']}", json={"load": kg(157.5)}, headers={"If-Match": '"1"'}))
    assert (right["load"], right["version"]) == ({"value": 157.5, "unit": "kg", "kg": 157.5}, 2)
    # For the model it was never there. 157.5 at RPE 8 was as expected: the same again.
    friday.shadow = shadow
    shadow.did("squat", 157.5, 1, 8)
    coming = friday.next("squat")
    assert said(coming) == "157.5 kg x 1"
    assert coming["expected_rpe"] == felt_as(shadow.expected("squat", 157.5, 1))
    friday.finish(session_rpe=7)


def a_forgotten_set_comes_late(phone: TestClient, ylva: str, friday: Day, shadow: Shadow) -> None:
    # Without it, Monday's top set would be 3 at RPE 7.5 of what the day said so far.
    without = copy.deepcopy(shadow)
    without.day(MONDAY_AFTER)
    before = only(day(phone, ylva, MONDAY_AFTER).slot("squat"), "top_set")
    assert exact(before) == pytest.approx(without.load("squat", 3, 7.5, build_ups=2), abs=0.001)
    # The second single was 160 at RPE 9, and she logs it at home, into the finished session.
    late = friday.log("squat", kg(160), 1, rpe=9, role="same_load")
    assert late["set"]["date"] == FRIDAY
    assert late["next"]["kind"] == "session_done"
    # It is Friday's heaviest, so it tells that day's max.
    assert late["day_estimate"]["max"]["value"] == pytest.approx(shadow.today("squat").kg, abs=0.001)
    shadow.day(MONDAY_AFTER)
    after = only(day(phone, ylva, MONDAY_AFTER).slot("squat"), "top_set")
    assert names(after, "max") == [pytest.approx(shadow.rolling("squat").kg, abs=0.001)]
    assert exact(after) == pytest.approx(shadow.load("squat", 3, 7.5, build_ups=2), abs=0.001)
    assert exact(after) < exact(before) - 0.1  # a hard set speaks for less


def the_knee_hurts_on_day_four(monday: Day, shadow: Shadow) -> None:
    # The log says 174.4. Build-ups at RPE 5 and 6.5: 135.6 and 141.2, so 135 and 140; top set 145.6, so 145; back-off
    # 145 x 0.96 = 139.2, so 140. Pause squats wait for the day: 75 % of 174.4 is 130.8, so 130.
    squat = monday.open()["slots"][0]
    assert [hangs(shadow.load("squat", 3, rpe, build_ups=2)) for rpe in (5, 6.5, 7.5)] == [135, 140, 145]
    assert plan(squat) == ["135 kg x 3", "140 kg x 3", "145 kg x 3", "140 kg x 3", "140 kg x 3"]
    assert hangs(0.75 * shadow.rolling("squat").kg) == 130
    assert plan(monday.slot("pause-squat")) == ["130 kg x 3", "130 kg x 3"]
    assert only(monday.slot("pause-squat"), "target_set")["provisional"]
    # The dumbbells are no longer a guess: 8 to 12 are 10 for the model, with two left 20.1 in each hand.
    split = only(monday.slot("split-squat"), "target_set")
    assert (said(split), exact(split)) == (
        "20 kg x 8 to 12", pytest.approx(shadow.load("split-squat", 10, 8), abs=0.001),
    )  # fmt: skip
    monday.log("squat", kg(135), 3, felt="as_expected")
    monday.log("squat", kg(140), 3, felt="as_expected")
    after = monday.log("squat", kg(145), 3, rpe=8, pain="some")
    # Pain offers less, a shorter range or the end; never the plan. 140 would come; 10 % less than the set that hurt
    # is 130.5 at most, so 130.
    choice = after["next"]
    assert choice["kind"] == "choice"
    assert [None if one["set"] is None else said(one["set"]) for one in choice["options"]] == [
        "130 kg x 3", "130 kg x 3", None,
    ]  # fmt: skip
    assert [one["ends"] for one in choice["options"]] == [None, None, "lift"]
    assert [one["text"] for one in choice["options"]] == [
        "Go on lighter: 3 with 130 kg, as long as it does not hurt.",
        "Stay lighter and shorten the range to where nothing hurts: 3 with 130 kg.",
        "End the squat for today.",
    ]
    assert set(codes(choice)) == {"pain_reported", "warning_signs"}
    # It still told the day, and 75 % of that is for the pause squats.
    today = shadow.today("squat").kg
    assert after["day_estimate"]["max"]["value"] == pytest.approx(today, abs=0.001)
    monday.look()
    assert plan(monday.slot("pause-squat")) == [f"{hangs(0.75 * today):g} kg x 3"] * 2
    # She goes on lighter, without pain; the last one stays there.
    coming = monday.log("squat", kg(130), 3, rpe=6)["next"]
    assert (coming["kind"], said(coming)) == ("set", "130 kg x 3")
    assert "kept light after the pain that was reported" in coming["text"]
    # The rest of the day she leaves out.
    monday.finish(session_rpe=6, note="Left knee, under the kneecap, on the way up")


def the_coach_caps_the_squat(coach: TestClient, ylva: str) -> None:
    cap = {"kind": "cap", "lift": "squat", "load": kg(140), "from": "2026-03-10", "until": "2026-03-15"}
    post(coach, f"/athletes/{ylva}/overrides", {**cap, "reason": "Quiet week for the left knee"})


def pull_ups_know_the_new_body_weight(phone: TestClient, ylva: str, shadow: Shadow) -> None:
    # Last week's sets were done by a body of 92, and stay that. Ylva has lost a kilogram: what is not on her is on the
    # belt. The bench stays at its percentage.
    read(phone.put(f"/v1/athletes/{ylva}/body-weights/2026-03-10", json={"load": kg(91)}), 201)
    wednesday = day(phone, ylva, WEDNESDAY_AFTER, shadow=shadow)
    work = only(wednesday.slot("pull-up"), "target_set")
    whole = shadow.load("pull-up", 5, 8, build_ups=2)
    assert exact(work) == pytest.approx(whole - 91, abs=0.001)
    assert work["load"]["value"] == pytest.approx(whole - 91, abs=0.625)
    assert plan(wednesday.slot("bench-press"), "target_set") == ["95 kg x 5", "95 kg x 5"]
    read(phone.patch(wednesday.path, json={"state": "skipped"}))


def the_last_session_uses_it_all(friday: Day, shadow: Shadow) -> None:
    # A single at RPE 8 would be 158.2 by what the log says now, so 157.5; the coach allows 140, which should be RPE
    # 4.2. Build-ups lead up to what will be lifted, 2.5 and 1 points under it.
    squat = friday.open()["slots"][0]
    assert hangs(shadow.load("squat", 1, 8, build_ups=2)) == 157.5
    expected = shadow.expected("squat", 140, 1, units=0.5)
    ways = [hangs(shadow.load("squat", 1, expected - under, build_ups=2)) for under in (2.5, 1)]
    assert plan(squat) == [*(f"{way:g} kg x 1" for way in ways), "140 kg x 1", "140 kg x 1"]
    top = only(squat, "top_set")
    assert names(top, "max") == [pytest.approx(shadow.rolling("squat").kg, abs=0.001)]
    assert top["without_override"]["value"] == 157.5
    assert top["expected_rpe"] == felt_as(expected)
    (obeyed,) = top["overrides"]
    assert obeyed["text"] == (
        "No more than 140 kg in the squat, until 15 March 2026 (decided by coach key: Quiet week for the left knee)."
    )
    last = squat["last_time"]
    assert last["date"] == MONDAY_AFTER
    assert [said(one | {"reps_to": None}) for one in last["sets"]] == ["145 kg x 3", "130 kg x 3"]
    assert "No more than 140 kg in the squat" in friday.board()
    # It goes well, and the cap holds whatever it felt like.
    friday.log("squat", kg(ways[0]), 1, felt="as_expected")
    coming = friday.log("squat", kg(ways[1]), 1, rpe=5)["next"]
    assert (coming["role"], said(coming)) == ("top_set", "140 kg x 1")
    after = friday.log("squat", kg(140), 1, rpe=5)
    assert said(after["next"]) == "140 kg x 1"
    assert friday.log("squat", kg(140), 1, rpe=5)["next"]["kind"] == "session_done"
    friday.finish(session_rpe=4, minutes=40)
