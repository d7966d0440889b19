"""Casimir Holt thinks in pounds, and trains on a 20 kg bar with whatever plates a harbour hall has collected.

Casimir has a shadow (`shadow.py`): the model once more, slow and with matrices, told the same sets; its numbers stand
in the comments. For his pull-ups the coach has pinned the usual curve, and there the arithmetic is done by hand:
share(n) = (1 + 0.116 (n - 1))^-0.4 of the max for n repetitions to failure, n = repetitions + 10 - RPE; a work set with
`left` repetitions left takes 0.6 % times 2^(-(left - 2) / 1.5).

    n      7        8        9        9.5
    share  0.80952  0.78838  0.76905  0.75999

A pound is 0.45359237 kg. Each side of the bar takes up to two of 45 lb (20.412 kg), and one each of 25 lb (11.340),
10 lb (4.536), 20 kg, 10 kg and 2.5 kg: 96 ways, all of which `nearest` tries.
"""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.story.shadow import Shadow
from tests.story.telling import Day, Json, codes, day, exact, felt_as, kg, lb, only, per_side, plan, post, read, said

POUND = 0.45359237
PLATES = [(lb(45), 2), (lb(25), 1), (lb(10), 1), (kg(20), 1), (kg(10), 1), (kg(2.5), 1)]
HALL: dict[str, Any] = {
    "name": "Harbour hall",
    "bars": [{"load": kg(20)}],
    "plates": [{"load": plate, "count": 2 * pairs} for plate, pairs in PLATES],
    "stacks": [
        {"name": "pulley", "lifts": ["lat-pulldown"], "steps": [lb(value) for value in range(20, 210, 10)]},
        {
            "name": "rope tower",
            "lifts": ["cable-row"],
            "steps": [{"value": number, "unit": "step"} for number in range(1, 13)],
        },
    ],
}
GARAGE: dict[str, Any] = {
    "name": "Casimir's garage",
    "bars": [{"load": lb(45)}],
    "plates": [{"load": lb(45), "count": 4}, {"load": lb(10), "count": 2}],
}
UPPER: dict[str, Any] = {
    "name": "Upper body",
    "slots": [
        {
            "lift": "bench-press",
            "scheme": {"kind": "top_set", "back_off": {"sets": 1, "less_percent": 10}},
            "target": {"kind": "effort", "reps": 5, "rpe": 8},
        },
        {
            "lift": "pull-up",
            "scheme": {"kind": "sets_at_target", "sets": 2},
            "target": {"kind": "effort", "reps": 5, "rir": 2},
        },
        {
            "lift": "lat-pulldown",
            "accessory": True,
            "scheme": {"kind": "sets_at_target", "sets": 3},
            "target": {"kind": "effort", "reps": 8, "rpe": 8},
        },
        {
            "lift": "cable-row",
            "accessory": True,
            "scheme": {"kind": "sets_at_target", "sets": 2},
            "target": {"kind": "effort", "reps": 10, "rir": 2},
        },
    ],
}
PULLS: dict[str, Any] = {
    "name": "Deadlifts",
    "slots": [
        {
            "lift": "deadlift",
            "scheme": {"kind": "sets_at_target", "sets": 2},
            "target": {"kind": "load", "reps": 5, "load": lb(225)},
        }
    ],
}
TUESDAY, THURSDAY, THURSDAY_AFTER = "2026-03-03", "2026-03-05", "2026-03-12"
PHONE_IDS = [f"019cb4a0-0000-7000-8000-00000000000{number}" for number in range(1, 5)]


def nearest(exact_lb: float) -> float:
    """The nearest of the 96 loads to a load, found by trying all. [lb]"""
    each: list[float] = [pair["value"] * (POUND if pair["unit"] == "lb" else 1) for pair, _ in PLATES]
    ways = product(*(range(pairs + 1) for _, pairs in PLATES))
    masses: list[float] = [20 + 2 * sum(count * mass for count, mass in zip(way, each, strict=True)) for way in ways]
    return round(min(masses, key=lambda mass: abs(mass - exact_lb * POUND)) / POUND, 3)


@pytest.fixture
def casimir(coach: TestClient) -> str:
    """Casimir with his maxes, at the harbour hall, with the block laid out on Tuesdays and Thursdays."""
    place = post(coach, "/places", HALL)
    who = {"name": "Casimir Holt", "unit": "lb", "time_zone": "America/Halifax", "place": place["id"]}
    pinned = {"lift_curves": [{"lift": "pull-up", "curve": "default"}]}
    casimir = str(post(coach, "/athletes", {**who, "settings": pinned})["id"])
    read(coach.put(f"/v1/athletes/{casimir}/body-weights/2026-02-01", json={"load": lb(200)}), 201)
    for lift, value in (("bench-press", 245), ("pull-up", -20), ("lat-pulldown", 150), ("deadlift", 335)):
        tested = {"lift": lift, "kind": "tested", "load": lb(value), "date": "2026-02-02"}
        post(coach, f"/athletes/{casimir}/maxes", tested)
    template = post(coach, "/templates", {"name": "Harbour weeks", "weeks": [{"sessions": [UPPER, PULLS]}] * 2})
    order = {"template": template["id"], "athletes": [casimir], "start": TUESDAY, "weekdays": ["tuesday", "thursday"]}
    post(coach, "/blocks", order)
    return casimir


@pytest.fixture
def shadow() -> Shadow:
    """What is known of Casimir; a pinned curve does not keep the log from learning of the pull-ups."""
    known = Shadow()
    for lift, pounds, group in (
        ("bench-press", 245, 0),
        ("pull-up", 180, 0),
        ("lat-pulldown", 150, 0),
        ("deadlift", 335, -0.06),
    ):
        known.known(lift, pounds * POUND, tested=True, group=group)
    return known


def test_two_days_in_pounds_on_mixed_plates(coach: TestClient, gym: Any, casimir: str, shadow: Shadow) -> None:
    phone = gym.client("log")

    tuesday = day(phone, casimir, TUESDAY, offset="-04:00", shadow=shadow, body_kg={"pull-up": 200 * POUND})
    the_bar_is_loaded_with_both_kinds(tuesday, shadow)
    the_board_says_what_to_hang(tuesday)
    slip = pounds_typed_as_kilograms_are_asked_about(phone, casimir, tuesday)
    one_call_puts_it_right(phone, casimir, tuesday, shadow, slip)
    less_assistance_after_an_easy_set(tuesday)
    the_queue_is_emptied_at_home(phone, casimir, tuesday, shadow)
    a_machine_with_plain_steps_goes_by_steps(tuesday)

    thursday = day(phone, casimir, THURSDAY, offset="-04:00", shadow=shadow)
    two_plates_a_side_are_not_quite_225_here(thursday, shadow)
    in_the_garage_they_are(coach, phone, thursday)
    pounds_come_back_as_pounds(phone, casimir)


def the_bar_is_loaded_with_both_kinds(tuesday: Day, shadow: Shadow) -> None:
    # 5 at RPE 8 of 245 lb: 196.12 lb by the model. 20 kg, 10 kg and 10 lb a side make 34.536 kg: 20 +
    # 69.072 = 89.072 kg = 196.37 lb, a quarter of a pound over.
    bench = tuesday.open()["slots"][0]
    top = only(bench, "top_set")
    wanted = [shadow.load("bench-press", 5, rpe, build_ups=2) / POUND for rpe in (5.5, 7, 8)]
    assert [nearest(one) for one in wanted] == [184.092, 189.208, 196.37]
    assert top["load"] == {"value": 196.37, "unit": "lb", "kg": pytest.approx(196.37 * POUND, abs=0.001)}
    assert per_side(top) == "20kg 10kg 10lb"
    assert top["expected_rpe"] == felt_as(shadow.expected("bench-press", 196.37 * POUND, 5, units=0.5))
    loading = top["loading"]
    assert exact(top) == pytest.approx(wanted[2], abs=0.001)
    assert loading["difference"]["value"] == pytest.approx(196.37 - wanted[2], abs=0.0015)
    assert loading["bar"] == {"value": 20, "unit": "kg", "kg": 20}
    # Build-ups. RPE 5.5: 183.27, 45 and 25 lb a side are 184.092; RPE 7: 190.61, 45 lb, 10 and 2.5 kg are
    # 189.208.
    assert plan(bench, "build_up") == ["184.092 lb x 5", "189.208 lb x 5"]
    # Back-off: 0.9 x 196.37 = 176.73: 80 kg, 176.37 lb; a load that is whole in kilograms only is named in kilograms.
    assert nearest(0.9 * 196.37) == 176.37
    back_off = only(bench, "back_off")
    assert said(back_off) == "80 kg x 5"
    # Pull-ups: he weighs 200 and needed 20 of help: 180. 5 with two left (n = 7) is 145.71: 54.29 of help, in steps of
    # 5: 55. 145 is 0.80556 of 180: n = 7.18, RPE 7.82. Build-ups at RPE 5.5: 136.8, help of 63.2, so 65; at RPE 7:
    # 141.91, 58.09, so 60.
    pull = tuesday.slot("pull-up")
    assert plan(pull) == ["-65 lb x 5", "-60 lb x 5", "-55 lb x 5", "-55 lb x 5"]
    assert only(pull, "target_set")["expected_rpe"] == 7.8
    assert only(pull, "target_set")["text"] == (
        "5 with body weight and 55 lb of assistance: this should leave about two repetitions."
    )
    # The pulley: 8 at RPE 8 would be 111.9 of a max of 150, in steps of 10: 110, the tenth step from 20. That is more
    # than half a point too easy, so 9 are asked instead.
    assert shadow.load("lat-pulldown", 8, 8) / POUND == pytest.approx(110, abs=5)
    assert shadow.expected("lat-pulldown", 110 * POUND, 8) < 7.5
    down = only(tuesday.slot("lat-pulldown"), "target_set")
    assert said(down) == "110 lb x 9"
    assert down["expected_rpe"] == felt_as(shadow.expected("lat-pulldown", 110 * POUND, 9))
    assert (down["loading"]["kind"], down["loading"]["number"]) == ("stack", 10)
    # The rope tower's steps weigh nothing that anyone knows.
    row = only(tuesday.slot("cable-row"), "target_set")
    assert row["load"] is None
    assert row["text"] == "10 with a step that leaves about two repetitions."


def the_board_says_what_to_hang(tuesday: Day) -> None:
    board = tuesday.board()
    assert all(len(line) <= 80 for line in board.splitlines())
    lines = [line.split() for line in board.splitlines()]
    # The bar is in kilograms, so plates in kilograms need no unit there.
    assert ["top", "set", "196.37", "lb", "x", "5"] in [line[:6] for line in lines]
    assert "each side: 20 10 10lb" in board
    assert "each side: 20 10 " in board  # the back-off
    assert ["set", "-55", "lb", "x", "5"] in [line[:5] for line in lines]
    assert "(max 180 lb with body weight;" in board


def pounds_typed_as_kilograms_are_asked_about(phone: TestClient, casimir: str, tuesday: Day) -> Json:
    # The phone was set to kilograms: 196.37 of them, where he could lift 245 lb (111 kg) once. The answer is lost, so
    # the phone sends it again: one set is stored, and one question asked.
    sent = tuesday.set_of("bench-press", kg(196.37), 5, rpe=9.5, role="top_set")
    key = {"Idempotency-Key": "casimir-tuesday-bench-1"}
    first = phone.post(f"{tuesday.path}/sets", json=sent, headers=key)
    again = phone.post(f"{tuesday.path}/sets", json=sent, headers=key)
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.content == first.content
    assert "Idempotent-Replayed" not in first.headers
    assert again.headers["Idempotent-Replayed"] == "true"
    other = phone.post(f"{tuesday.path}/sets", json=sent | {"rpe": 8}, headers=key)
    assert read(other, 422)["type"] == "/problems/key-reused"
    tuesday.look()
    (stored,) = tuesday.slot("bench-press")["logged"]
    answer: Json = first.json()
    assert stored["id"] == answer["set"]["id"]
    # It is 2.2046 times too much, and as pounds as expected: that is proposed.
    asked = answer["set"]["doubt"]
    assert (asked["code"], asked["answer"]) == ("pounds_as_kilograms", None)
    assert asked["proposal"] == {"value": 196.37, "unit": "lb", "kg": pytest.approx(196.37 * POUND, abs=0.001)}
    assert "Did you mean 196.37 lb" in asked["text"]
    assert answer["day_estimate"] is None
    # Training goes on meanwhile, by the plan: 10 % less than the planned top set.
    coming = answer["next"]
    assert said(coming) == "80 kg x 5"
    assert coming["text"].startswith("The last set is too far from what is known to be believed")
    waiting = read(phone.get(f"/v1/athletes/{casimir}/sets", params={"doubtful": True}))
    assert [one["id"] for one in waiting["items"]] == [stored["id"]]
    found: Json = answer["set"]
    return found


def one_call_puts_it_right(phone: TestClient, casimir: str, tuesday: Day, shadow: Shadow, slip: Json) -> None:
    proposed, version = slip["doubt"]["proposal"], {"If-Match": f'"{slip["version"]}"'}
    load = {"value": proposed["value"], "unit": proposed["unit"]}
    right = read(phone.patch(f"/v1/sets/{slip['id']}", json={"load": load}, headers=version))
    assert right["doubt"] is None
    assert (right["load"]["value"], right["load"]["unit"]) == (196.37, "lb")
    assert read(phone.get(f"/v1/athletes/{casimir}/sets", params={"doubtful": True}))["items"] == []
    # For the log it was never anything else: RPE 9.5 where 8 was expected.
    shadow.did("bench-press", 196.37 * POUND, 5, 9.5)
    coming = tuesday.next("bench-press")
    assert said(coming) == "80 kg x 5"
    assert coming["expected_rpe"] == felt_as(shadow.expected("bench-press", 80, 5))
    assert "the top set was one and a half points harder than asked" in coming["text"]
    done = tuesday.log("bench-press", kg(80), 5, rpe=6)["next"]
    assert (done["kind"], done["next_slot"]) == ("lift_done", tuesday.slot("pull-up")["id"])


def less_assistance_after_an_easy_set(tuesday: Day) -> None:
    # 5 with four left (n = 9): 145 / 0.76905 = 188.54. It cost 0.397 units: 188.09. 5 with two left: 152.27, so help of
    # 47.73: 50 (2.27 too much; 45 would be 2.73 too little). 150 is 0.79749 of 188.09: n = 7.56, RPE 7.44.
    coming = tuesday.log("pull-up", lb(-55), 5, rir=4)["next"]
    assert (said(coming), coming["expected_rpe"]) == ("-50 lb x 5", 7.4)
    assert coming["text"].startswith(
        "5 with body weight and 50 lb of assistance, 5 lb less assistance than in the last set: the last set was two "
        "points lighter than asked."
    )


def the_queue_is_emptied_at_home(phone: TestClient, casimir: str, tuesday: Day, shadow: Shadow) -> None:
    # No reception for the rest: four sets wait with ids that the phone made; one of them has an effort of 10.3.
    pull_up = tuesday.set_of("pull-up", lb(-50), 5, rir=2)
    down_1, down_2 = (tuesday.set_of("lat-pulldown", lb(110), reps, rpe=8) for reps in (9, 9))
    bad = tuesday.set_of("lat-pulldown", lb(110), 9, rpe=10.3)
    queue = [
        {"id": identity, "session": tuesday.id, **one}
        for identity, one in zip(PHONE_IDS, (down_2, pull_up, bad, down_1), strict=True)
    ]
    answer = read(phone.post("/v1/sets", json={"sets": queue}))
    assert [(one["id"], one["result"]) for one in answer["results"]] == list(
        zip(PHONE_IDS, ("stored", "stored", "problem", "stored"), strict=True)
    )
    problem = answer["results"][2]["problem"]
    assert [error["pointer"] for error in problem["errors"]] == ["#/sets/2/rpe"]
    assert problem["errors"][0]["allowed"] == {"min": 1, "max": 10, "step": 0.5}
    # Two of three sets on the pulley are done, so the third is next, whatever came first into the log. Both were 9 at
    # RPE 8, as asked: the same again.
    (following,) = answer["next"]
    assert following["session"] == tuesday.id
    assert (following["next"]["number"], following["next"]["of"]) == (3, 3)
    assert said(following["next"]) == "110 lb x 9"
    shadow.did("pull-up", 150 * POUND, 5, 8)
    for _ in range(2):
        shadow.did("lat-pulldown", 110 * POUND, 9, 8)
    assert following["next"]["expected_rpe"] == felt_as(shadow.expected("lat-pulldown", 110 * POUND, 9))
    # The same queue again: nothing is doubled.
    answer = read(phone.post("/v1/sets", json={"sets": queue}))
    assert [one["result"] for one in answer["results"]] == ["unchanged", "unchanged", "problem", "unchanged"]
    tuesday.look()
    assert len(tuesday.slot("pull-up")["logged"]) == 2
    done = tuesday.slot("lat-pulldown")["logged"]
    assert [one["id"] for one in done] == [PHONE_IDS[3], PHONE_IDS[0]]  # in the order in which they were done
    listed = read(phone.get(f"/v1/athletes/{casimir}/sets", params={"lift": "lat-pulldown"}))["items"]
    assert [one["id"] for one in listed] == [PHONE_IDS[0], PHONE_IDS[3]]  # the newest first


def a_machine_with_plain_steps_goes_by_steps(tuesday: Day) -> None:
    # Step 5 leaves four, two more than asked: a step of a machine is the answer to that.
    step = {"value": 5, "unit": "step"}
    after = tuesday.log("cable-row", step, 10, rir=4)
    assert after["set"]["load"] == {"value": 5, "unit": "step", "kg": None}
    assert after["day_estimate"] is None
    coming = after["next"]
    assert coming["load"] == {"value": 6, "unit": "step", "kg": None}
    assert coming["loading"]["number"] == 6
    assert "one step heavier: the last set was two points lighter than asked" in coming["text"]
    tuesday.finish(session_rpe=7)


def two_plates_a_side_are_not_quite_225_here(thursday: Day, shadow: Shadow) -> None:
    # 225 lb on this bar: two of 45 a side are 44.092 + 180 = 224.092, 0.908 under; 25 lb, 20 and 10 kg are 226.37.
    slot = thursday.open()["slots"][0]
    assert slot["text"] == "2 sets of 5 with 225 lb"
    one = only(slot, "target_set")
    assert nearest(225) == 224.092
    assert (said(one), per_side(one)) == ("224.092 lb x 5", "45lb 45lb")
    assert one["loading"]["exact"] == {"value": 225, "unit": "lb", "kg": 102.058}
    assert one["loading"]["difference"]["value"] == -0.908
    assert one["range"] is None
    assert one["expected_rpe"] == felt_as(shadow.expected("deadlift", 224.092 * POUND, 5))


def in_the_garage_they_are(coach: TestClient, phone: TestClient, thursday: Day) -> None:
    # He goes home instead: a bar of 45 and two of 45 a side are 225 exactly.
    garage = post(coach, "/places", GARAGE)
    moved = read(phone.patch(thursday.path, json={"place": garage["id"]}))
    assert moved["place"]["name"] == "Casimir's garage"
    thursday.slots = moved["slots"]
    one = only(thursday.slot("deadlift"), "target_set")
    assert (one["load"], per_side(one)) == ({"value": 225, "unit": "lb", "kg": 102.058}, "45lb 45lb")
    assert one["loading"]["difference"]["value"] == 0
    after = thursday.log("deadlift", lb(225), 5, rpe=7)
    assert after["set"]["load"] == {"value": 225, "unit": "lb", "kg": 102.058}
    assert codes(after) == []
    assert said(after["next"]) == "225 lb x 5"
    assert thursday.log("deadlift", lb(225), 5, rpe=7.5)["next"]["kind"] == "session_done"
    thursday.finish()


def pounds_come_back_as_pounds(phone: TestClient, casimir: str) -> None:
    # 225 x 0.45359237 = 102.05828325 kg: shown to the gram, kept whole; what was entered is what is read.
    exactly = {"value": 225, "unit": "lb", "kg": 102.058}
    listed = read(phone.get(f"/v1/athletes/{casimir}/sets", params={"lift": "deadlift"}))["items"]
    assert [one["load"] for one in listed] == [exactly, exactly]
    assert read(phone.get(f"/v1/sets/{listed[0]['id']}"))["load"] == exactly
    last = day(phone, casimir, THURSDAY_AFTER).slot("deadlift")["last_time"]
    assert last["date"] == THURSDAY
    assert [one["load"] for one in last["sets"]] == [exactly, exactly]
