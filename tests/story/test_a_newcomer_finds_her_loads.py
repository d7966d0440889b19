"""Tilda Moss has never held a barbell: a first session that finds her loads, and the weeks until the log knows her.

The school gym has a bar of 15 kg and pairs of 20, 10, 5, 2.5 and 1.25: every multiple of 2.5 kg up to 92.5. What the
ladder may do is done by hand with the usual curve, share(n) = (1 + 0.116 (n - 1))^-0.4 of the max for n repetitions to
failure. With `possible` repetitions done and left, the next load is at most

    ((1 + 0.116 (possible - 1)) / (1 + 0.116 x 3)) ^ (0.4 / 1.2)

times this one where she went on to the end that was asked for, after which two of four would be left to somebody who
loses repetitions 1.2 times as fast as is usual (1 + 0.116 x 3 = 1.348); and where she ended earlier, as five more would
go, so that two of seven would (1 + 0.116 x 6 = 1.696); and at most a quarter more. Tilda answers honestly: her squat
would be 45 kg that day, of which w kg go up n = 1 + ((45 / w)^2.5 - 1) / 0.116 times, and her bench press 31.5 kg.

    squat   15    17.5  20    22.5  27.5  32.5  35        bench   15    17.5  20    22.5  25
    n       127   84    58    41    21.9  11.8  8.5       n       47    29.9  19.2  12.4  7.7

From then on a shadow (`shadow.py`) knows her squat: the model once more, slow and with matrices, told the same sets.
"""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.story.shadow import Shadow
from tests.story.telling import Day, Json, codes, day, exact, felt_as, kg, only, plan, post, read, said

PLACE: dict[str, Any] = {
    "name": "School gym",
    "bars": [{"load": kg(15)}],
    "plates": [{"load": kg(mass), "count": 2} for mass in (20, 10, 5, 2.5, 1.25)],
}
FIVE_OR_MORE: Json = {"rir": 5, "or_more": True}


def grows(lift: str, **rule: Any) -> Json:
    """Three sets of five that grow by 2.5 kg whenever all are complete."""
    add = {"when": "all_sets_complete", "step": kg(2.5), **rule}
    target = {"kind": "effort", "reps": 5, "rir": 3}
    return {"lift": lift, "scheme": {"kind": "sets_at_target", "sets": 3, "add_load": add}, "target": target}


WEEK: Json = {
    "sessions": [
        {
            "name": "Bar",
            "slots": [
                grows("squat", until_sure=True),
                grows("bench-press", after_failures=2, less_percent=10),
            ],
        }
    ]
    * 2
}
FIRST = "2026-03-03"
DAYS = ["2026-03-06", "2026-03-10", "2026-03-13", "2026-03-17", "2026-03-20"]
"""Fridays and Tuesdays."""


def hangs(exact_kg: float) -> float:
    """The nearest that can be loaded at school. [kg]"""
    return round(exact_kg / 2.5) * 2.5


@pytest.fixture
def tilda(coach: TestClient) -> str:
    """Tilda, of whom nothing is known, on the day before her first session."""
    place = post(coach, "/places", PLACE)
    return str(post(coach, "/athletes", {"name": "Tilda Moss", "experience": "beginner", "place": place["id"]})["id"])


@pytest.fixture
def shadow() -> Shadow:
    """Nothing is known of her lifts."""
    known = Shadow()
    known.known("squat", group=0.08)
    known.known("bench-press")
    return known


def test_from_the_empty_bar_to_a_max_that_is_known(coach: TestClient, gym: Any, tilda: str, shadow: Shadow) -> None:
    phone = gym.client("log")
    first_session = {"kind": "first", "date": FIRST, "lifts": ["squat", "bench-press"]}
    post(coach, f"/athletes/{tilda}/sessions", first_session)
    first = day(phone, tilda, FIRST, shadow=shadow)
    first.ladder = True
    the_squat_is_climbed_to_five_with_three_left(first)
    the_bench_press_ends_where_a_step_is_too_coarse(first)
    first.finish()
    # Steps that were climbed as told are no slips, however far from what was thought of her: nobody is asked.
    asked = read(phone.get(f"/v1/athletes/{tilda}/sets", params={"doubtful": True}))
    assert asked["items"] == []

    template = post(coach, "/templates", {"name": "First weeks", "weeks": [WEEK] * 3})["id"]
    order = {"template": template, "athletes": [tilda], "start": DAYS[0], "weekdays": ["tuesday", "friday"]}
    post(coach, "/blocks", order)
    the_first_week_starts_with_what_was_found(day(phone, tilda, DAYS[0], shadow=shadow), shadow)
    a_step_is_added_and_one_set_fails(day(phone, tilda, DAYS[1], shadow=shadow), shadow)
    the_squat_is_known_and_the_bench_press_fails_again(day(phone, tilda, DAYS[2], shadow=shadow), shadow)
    a_tenth_comes_off(day(phone, tilda, DAYS[3], shadow=shadow), shadow)
    and_waits_there(day(phone, tilda, DAYS[4], shadow=shadow), shadow)


def the_squat_is_climbed_to_five_with_three_left(first: Day) -> None:
    squat = first.open()["slots"][0]
    (start,) = squat["sets"]
    # Ten with five or more left are fifteen possible: (2.624 / 1.348)^(1 / 3) = 1.2486. That leads from 15 kg to 17.5,
    # as eleven possible do already, (2.16 / 1.348)^(1 / 3) = 1.170: so six are enough.
    assert (said(start), codes(squat)) == ("15 kg x 5 to 6", ["newcomer"])
    for load, done, then, most, goes_on in (
        (15, 6, 17.5, 17.55, "2 to 5"),  # 17.5 with ten: 21.9, 20 kg; with ten possible 1.149: 20.1
        (17.5, 5, 20, 20.1, "2 to 5"),  # 20 with ten: 24.97, 22.5; with ten possible 22.97
        (20, 5, 22.5, 22.97, "2 to 9"),  # 22.5 with ten: 28.1, 27.5; with fourteen possible 1.230: 27.7
        (22.5, 9, 27.5, 27.7, "2 to 7"),  # 27.5 with ten: 34.3, 32.5; with twelve possible 1.191: 32.7
        (27.5, 7, 32.5, 32.7, "2 to 10"),  # 32.5 with ten: 40.6, 40; with fourteen possible 39.97
    ):
        coming = first.log("squat", kg(load), done, **FIVE_OR_MORE)["next"]
        assert most - 2.5 < then <= most
        assert said(coming) == f"{then:g} kg x {goes_on}"
    # 32.5 goes up eleven times: six with five or more left. (2.16 / 1.696)^(1 / 3) = 1.084: 35.2 at most.
    coming = first.log("squat", kg(32.5), 6, **FIVE_OR_MORE)["next"]
    assert said(coming) == "35 kg x 2 to 9"  # with ten: 43.7, 42.5; with fourteen possible 43.05
    # 35 goes up eight times: five with three left are what was looked for.
    done = first.log("squat", kg(35), 5, rir=3)["next"]
    assert (done["kind"], done["next_slot"]) == ("lift_done", first.slot("bench-press")["id"])
    assert done["text"].startswith(
        "Your working load in the squat is 35 kg: 5 repetitions, which left about three repetitions."
    )
    # How sure that is, and what it stands on: the other answers only said "at least".
    assert "stands on 1 set that left four or fewer" in done["text"]


def the_bench_press_ends_where_a_step_is_too_coarse(first: Day) -> None:
    first.log("bench-press", kg(15), 6, **FIVE_OR_MORE)
    coming = first.log("bench-press", kg(17.5), 5, **FIVE_OR_MORE)["next"]
    assert said(coming) == "20 kg x 2 to 5"
    coming = first.log("bench-press", kg(20), 5, **FIVE_OR_MORE)["next"]
    assert said(coming) == "22.5 kg x 2 to 9"
    # Seven with five left of the twelve: (2.276 / 1.696)^(1 / 3) = 1.103, 24.8 at most, and 25 is a little too far. The
    # same again shows whether more go up. They do not; but of twelve all five still go up with 25, by
    # (2.276 / 1.464)^0.4 = 1.193, and 2.5 kg is small in itself: so it is tried.
    coming = first.log("bench-press", kg(22.5), 7, **FIVE_OR_MORE)["next"]
    assert said(coming) == "22.5 kg x 5 to 10"
    coming = first.log("bench-press", kg(22.5), 7, **FIVE_OR_MORE)["next"]
    assert said(coming)[:10] == "25 kg x 2 "
    # Seven of 25: five with two left, one less than wanted, which is near enough.
    done = first.log("bench-press", kg(25), 5, rir=2)["next"]
    assert done["kind"] == "session_done"
    assert "Your working load in the bench press is 25 kg: 5 repetitions, which left about two" in done["text"]


def the_first_week_starts_with_what_was_found(training: Day, shadow: Shadow) -> None:
    training.open()
    squat = training.slot("squat")
    assert plan(squat) == ["35 kg x 5"] * 3
    steps = {one["formula"]: one for one in only(squat, "target_set")["why"]}
    assert steps["ladder_load"]["text"].startswith("3 days ago a ladder found 35 kg: 5 repetitions with 3 left.")
    # The max behind it is not known narrowly enough, as the shadow has it too: within 8 % to each side would be.
    assert steps["until_sure"]["result"]["value"] == pytest.approx(spread(shadow), abs=0.02)
    assert spread(shadow) > 8
    assert plan(training.slot("bench-press")) == ["25 kg x 5"] * 3
    for _ in range(3):
        training.log("squat", kg(35), 5, rir=3)
    for left in (3, 2, 2):
        training.log("bench-press", kg(25), 5, rir=left)
    training.finish()


def spread(shadow: Shadow) -> float:
    """Half of the range of the squat's max, as a part of it. [%]"""
    known = shadow.today("squat")
    return 100 * (known.high - known.low) / 2 / known.kg


def a_step_is_added_and_one_set_fails(training: Day, shadow: Shadow) -> None:
    # Narrow enough by the numbers; but four sets on two days left four or fewer, one of the ladder and three on Friday,
    # where six on three days are asked for. So the rule goes on: all complete, 2.5 kg more.
    training.open()
    squat = training.slot("squat")
    assert plan(squat) == ["37.5 kg x 5"] * 3
    steps = {one["formula"]: one for one in only(squat, "target_set")["why"]}
    assert steps["until_sure"]["result"]["value"] == pytest.approx(spread(shadow), abs=0.02)
    assert spread(shadow) < 8
    assert "4 sets at RPE 6 or harder on 2 days" in steps["until_sure"]["text"]
    assert steps["add_load"]["text"] == "4 days ago all 3 sets with 35 kg had 5 repetitions: 2.5 kg more is 37.5 kg."
    for _ in range(3):
        training.log("squat", kg(37.5), 5, rir=2)
    # In the bench press the rule adds 2.5 kg as well: three, two and two were left, RPE 7.7 on average, which is less
    # than a point over the seven that is asked for. It is said that 27.5 is likely to be missed. The second set stays
    # one short: the day is no complete one.
    bench = training.slot("bench-press")
    assert (plan(bench), codes(bench)) == (["27.5 kg x 5"] * 3, ["likely_to_miss"])
    assert shadow.expected("bench-press", 27.5, 5) > 9.5
    training.log("bench-press", kg(27.5), 5, rir=0)
    lighter = training.log("bench-press", kg(27.5), 4, made=False)["next"]
    assert lighter["load"]["value"] <= 0.95 * 27.5
    training.log("bench-press", kg(lighter["load"]["value"]), 5, rir=1)
    training.finish()


def the_squat_is_known_and_the_bench_press_fails_again(training: Day, shadow: Shadow) -> None:
    # Seven sets on three days: from now on the target decides, 5 with three left. No top set comes before it, so a plan
    # guesses the fatigue of two build-up sets.
    training.open()
    squat = training.slot("squat")
    first = only(squat, "target_set")
    assert (first["why"][0]["formula"], "add_load" in [one["formula"] for one in first["why"]]) == ("until_sure", False)
    assert first["why"][0]["text"].endswith("within 8 %, so the plan's target decides instead of added load.")
    # 5 at RPE 7 would be 35.8; the nearest is 35, which would be more than half a point too easy: so 6, for which it is
    # 34.9. Before them one build-up set is left, 2.5 points under: the other one would hang as the work does.
    assert hangs(shadow.load("squat", 5, 7, build_ups=2)) == 35
    assert shadow.expected("squat", 35, 5, units=0.5) < 6.5
    assert exact(first) == pytest.approx(shadow.load("squat", 6, 7, build_ups=2), abs=0.001)
    ways = [hangs(shadow.load("squat", 6, rpe, build_ups=2)) for rpe in (4.5, 6)]
    assert ways == [32.5, 35]
    assert plan(squat) == ["32.5 kg x 6", *["35 kg x 6"] * 3]
    assert first["expected_rpe"] == felt_as(shadow.expected("squat", 35, 6, units=0.5))
    for one in squat["sets"]:
        if one["role"] == "target_set":
            training.log("squat", kg(one["load"]["value"]), one["reps"], rir=3)
    # The bench press repeats its load after one failure, and fails once more.
    assert plan(training.slot("bench-press")) == ["27.5 kg x 5"] * 3
    lighter = training.log("bench-press", kg(27.5), 4, made=False)["next"]
    for _ in range(2):
        training.log("bench-press", kg(lighter["load"]["value"]), 5, rir=2)
    training.finish()


def a_tenth_comes_off(training: Day, shadow: Shadow) -> None:
    # Twice not complete with 27.5: 10 % less is 24.75, and 25 hangs.
    training.open()
    bench = training.slot("bench-press")
    assert plan(bench) == ["25 kg x 5"] * 3
    assert exact(only(bench, "target_set")) == pytest.approx(24.75)
    for left in (3, 2, 2):
        training.log("bench-press", kg(25), 5, rir=left)
    squat = only(training.slot("squat"), "target_set")
    assert squat["load"]["value"] == pytest.approx(shadow.load("squat", squat["reps"], 7, build_ups=2), abs=1.25)
    training.finish()


def and_waits_there(training: Day, shadow: Shadow) -> None:
    # All was complete with 25, and the rule would add 2.5 kg. But two or three were left of five, as in the ladder, and
    # 27.5 was missed twice: by nine and more sets that is known well now, and the limit of 9.5 would clearly be passed.
    training.open()
    bench = training.slot("bench-press")
    assert plan(bench) == ["25 kg x 5"] * 3
    waits = only(bench, "target_set")["why"][0]
    assert waits["formula"] == "load_waits"
    inputs = {one["name"]: one["value"] for one in waits["inputs"]}
    assert (inputs["grown"], inputs["effort_limit"]) == (27.5, 9.5)
    assert inputs["expected_rpe"] == pytest.approx(shadow.expected("bench-press", 27.5, 5), abs=0.051)
    assert inputs["expected_rpe"] >= 10
