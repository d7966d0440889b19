"""/v1/prescriptions: bare numbers, and a stored athlete. Loads are worked out by hand, mostly with the default curve.

The default curve: n repetitions to failure are possible with (1 + 0.116 (n - 1)) ^ -0.4 of the max. The usual plates
allow steps of 2.5 kg or 5 lb.
"""

from __future__ import annotations

from math import exp
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.counting import statements

TOP: dict[str, Any] = {
    "lift": "squat",
    "scheme": {"kind": "top_set", "back_off": {"sets": 2, "less_percent": 8}},
    "target": {"kind": "effort", "reps": 3, "rpe": 7.5},
}
BARE = TOP | {"max": {"value": 150, "unit": "kg"}}


def answer(client: TestClient, body: dict[str, Any], **query: str) -> dict[str, Any]:
    given = client.post("/v1/prescriptions", json=body, params=query)
    assert given.status_code == 200, given.text
    return given.json()


def loads(found: dict[str, Any], role: str) -> list[float]:
    return [one["load"]["value"] for one in found["sets"] if one["role"] == role]


def pointers(given: Any) -> dict[str, str]:
    assert given.status_code == 422, given.text
    return {one["pointer"]: one["code"] for one in given.json()["errors"]}


def athlete(coach: TestClient, *, kg: float = 150, **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": "Runa Fell", **more})
    assert made.status_code == 201, made.text
    person = made.json()["id"]
    body = {"lift": "squat", "kind": "tested", "load": {"value": kg, "unit": "kg"}, "date": "2026-11-01"}
    assert coach.post(f"/v1/athletes/{person}/maxes", json=body).status_code == 201
    return person


def test_a_top_set_with_back_off_sets_in_kilograms(coach: TestClient) -> None:
    found = answer(coach, BARE | {"curve": "default"})
    # 3 with 2.5 left: n = 5.5, share (1 + 0.116 x 4.5) ^ -0.4 = 0.845345; of 150 kg: 126.802; nearest 127.5
    assert loads(found, "top_set") == [127.5]
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    assert top["loading"]["exact"]["kg"] == 126.802
    # 127.5 / 150 = 0.85: n = 1 + (0.85 ^ -2.5 - 1) / 0.116 = 5.32, RPE 10 - (5.32 - 3) = 7.68
    assert top["expected_rpe"] == 7.7
    # 8 % off 127.5 kg is 117.3 kg
    assert loads(found, "back_off") == [117.5, 117.5]
    # RPE 5: n = 8, share 0.788382, 118.26 kg; RPE 6.5: n = 6.5, share 0.820870, 123.13 kg
    assert loads(found, "build_up") == [117.5, 122.5]
    assert found["text"] == "Top set of 3 at RPE 7.5, then 2 sets 8 % lighter"
    assert (found["unit"], found["lift"], found["left_out"], found["cautions"]) == ("kg", "squat", False, [])
    inputs = found["computed"]["inputs"]
    assert found["computed"]["curve"] == "default"
    assert [(one["lift"], one["load"]["kg"], one["source"]) for one in inputs["maxes"]] == [("squat", 150, "given")]
    assert (inputs["settings"]["effort_limit"], inputs["settings"]["rounding"]) == (9.5, "nearest")


def test_left_out_the_model_of_a_new_athlete_is_what_loads_stand_on(coach: TestClient) -> None:
    found = answer(coach, BARE)
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    # The squat's curve factor is 1.08. For 5.5 possible: g = 0.4 ln(1 + 0.116 x 4.5) = 0.168011, a repetition is worth
    # 0.0464 / 1.522 = 0.030486, and two and a half left are told 0.2 + 0.1 x 1.5 = 0.35 too low. Two build-up sets
    # before it cost 0.25 units of 0.006 each: 150 x exp(-(0.168011 + 0.010670 + 0.003) / 1.08) = 126.775 kg.
    assert top["loading"]["exact"]["kg"] == 126.775
    assert (found["computed"]["curve"], found["computed"]["model"]) == ("model", "2.3")
    # Believed to 10 %, and a day to 2.5 %: 0.103078 / 1.08 = 0.095442, and 80 % lie within 1.28155 times that.
    assert top["range"]["low"]["kg"] == pytest.approx(126.775 * exp(-1.28155 * 0.095442), abs=0.06)
    assert top["range"]["high"]["kg"] == pytest.approx(126.775 * exp(1.28155 * 0.095442), abs=0.06)


def test_the_same_in_pounds_hangs_pounds(coach: TestClient) -> None:
    found = answer(coach, TOP | {"max": {"value": 330, "unit": "lb"}, "curve": "default"})
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    # 0.845345 of 330 lb is 278.964 lb; nearest 280
    assert (top["loading"]["exact"]["value"], top["load"]["value"], top["load"]["unit"]) == (278.964, 280, "lb")
    assert top["loading"]["bar"] == {"value": 45, "unit": "lb", "kg": 20.412}
    # each side (280 - 45) / 2 = 117.5 = 2 x 45 + 25 + 2.5
    assert [(p["plate"]["value"], p["count"]) for p in top["loading"]["per_side"]] == [(45, 2), (25, 1), (2.5, 1)]
    # 8 % off 280 lb is 257.6 lb
    assert loads(found, "back_off") == [260, 260]


def test_the_unit_of_the_address_only_shows_what_the_body_asked_for_in_another_unit(coach: TestClient) -> None:
    found = answer(coach, BARE, unit="lb")
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    assert found["unit"] == "lb"
    assert top["load"]["kg"] == 127.5  # the kilogram plates are still what hangs
    reason = next(step for step in top["why"] if step["formula"] == "share_of_max")
    # 150 kg / 0.45359237 = 330.693 lb
    assert reason["inputs"][0] == {"name": "max", "value": 330.693, "unit": "lb"}


def test_a_percentage_of_a_training_max_that_was_sent(coach: TestClient) -> None:
    body = {
        "lift": "bench-press",
        "maxes": [{"basis": "training", "load": {"value": 230, "unit": "lb"}}],
        "round": "down",
        "scheme": {"kind": "ascending_sets", "percents": [80, 90, 100]},
        "target": {"kind": "percent", "reps": 3, "percent": 85, "basis": "training"},
    }
    found = answer(coach, body)
    work = [one["load"]["value"] for one in found["sets"] if one["role"] not in ("warm_up", "build_up")]
    # 85 % of 230 lb is 195.5; 80 % of that 156.4, 90 % of it 175.95; down to steps of 5
    assert work == [155, 175, 195]


def test_a_training_max_that_was_not_sent_is_the_stated_part_of_the_tested_one(coach: TestClient) -> None:
    target = {"kind": "percent", "reps": 5, "percent": 80, "basis": "training"}
    body = BARE | {"scheme": {"kind": "sets_at_target", "sets": 2}, "target": target, "training_max_percent": 90}
    # 80 % of 90 % of 150 kg is 108 kg
    assert loads(answer(coach, body), "target_set") == [107.5, 107.5]


def test_the_body_is_part_of_a_pull_up(coach: TestClient) -> None:
    body = {
        "lift": "pull-up",
        "max": {"value": 40, "unit": "kg"},
        "scheme": {"kind": "sets_at_target", "sets": 3},
        "target": {"kind": "effort", "reps": 5, "rir": 2},
    }
    refused = coach.post("/v1/prescriptions", json=body)
    assert (refused.status_code, refused.json()["code"]) == (422, "no_body_weight")
    found = answer(coach, body | {"body_weight": {"value": 82, "unit": "kg"}})
    # n = 7, share 0.809524; of 82 + 40 kg 98.76, so 16.76 are added; single plates make 16.25 or 17.5
    assert loads(found, "target_set")[0] == 16.25


def test_a_place_in_the_body_says_what_can_be_loaded(coach: TestClient) -> None:
    place = {
        "bars": [{"load": {"value": 20, "unit": "kg"}}],
        "plates": [{"load": {"value": 5, "unit": "kg"}, "count": 30}],
    }
    # steps of 10 kg: 126.8 is nearer to 130
    assert loads(answer(coach, BARE | {"place": place}), "top_set") == [130]


def test_a_stored_place_and_a_lift_of_the_gyms_own_are_looked_up(coach: TestClient, other_gym) -> None:
    place = {
        "name": "Shed",
        "ref": "shed",
        "bars": [{"load": {"value": 20, "unit": "kg"}}],
        "plates": [{"load": {"value": 5, "unit": "kg"}, "count": 30}],
    }
    assert coach.post("/v1/places", json=place).status_code == 201
    lift = {"name": "Barrel squat", "load_kind": "total", "based_on": "squat", "ratio": 0.8}
    assert coach.put("/v1/lifts/barrel-squat", json=lift).status_code == 201
    body = BARE | {"lift": "barrel-squat", "place": "ref:shed"}
    assert loads(answer(coach, body), "top_set") == [130]
    stranger = other_gym.client("read")
    assert pointers(stranger.post("/v1/prescriptions", json=body | {"place": None})) == {"#/lift": "unknown"}
    assert pointers(stranger.post("/v1/prescriptions", json=BARE | {"place": "ref:shed"})) == {"#/place": "unknown"}


def test_a_max_of_the_lift_it_is_based_on_serves_by_the_ratio(coach: TestClient) -> None:
    body = BARE | {
        "lift": "pause-squat",
        "max": None,
        "maxes": [{"lift": "squat", "basis": "tested", "load": BARE["max"]}],
    }
    # the built-in ratio is 0.9: 126.802 x 0.9 = 114.12
    assert loads(answer(coach, body), "top_set") == [115]


def test_a_percentage_of_another_lift_takes_the_max_as_that_lifts(coach: TestClient) -> None:
    target = {"kind": "percent", "reps": 3, "percent": 60, "basis": "tested", "of": "squat"}
    body = BARE | {"lift": "pause-squat", "scheme": {"kind": "sets_at_target", "sets": 1}, "target": target}
    assert loads(answer(coach, body), "target_set") == [90]  # 60 % of 150 kg


def test_without_why_the_numbers_and_cautions_stay(coach: TestClient) -> None:
    body = BARE | {"target": {"kind": "effort", "reps": 1, "rpe": 9}, "age_years": 16}
    full, short = answer(coach, body), answer(coach, body, why="false")
    assert [one["load"] for one in full["sets"]] == [one["load"] for one in short["sets"]]
    assert all(one["why"] for one in full["sets"])
    assert not any(one["why"] for one in short["sets"])
    assert [one["code"] for one in short["cautions"]] == [one["code"] for one in full["cautions"]]
    assert "minor" in {one["code"] for one in short["cautions"]}


def test_no_warm_ups_where_the_lift_was_already_worked(coach: TestClient) -> None:
    assert loads(answer(coach, BARE | {"warm_ups": False}), "warm_up") == []
    assert loads(answer(coach, BARE), "warm_up") != []


def test_a_technique_lift_has_no_answer_to_an_effort_and_one_to_a_percentage(coach: TestClient) -> None:
    body = TOP | {"lift": "snatch", "max": {"value": 100, "unit": "kg"}}
    refused = coach.post("/v1/prescriptions", json=body).json()
    assert (refused["type"], refused["code"]) == ("/problems/not-computable", "technique_lift")
    target = {"kind": "percent", "reps": 2, "percent": 80, "basis": "tested"}
    assert loads(answer(coach, body | {"target": target}), "top_set") == [80]


def test_a_bare_answer_for_a_built_in_lift_asks_the_database_nothing(coach: TestClient, database) -> None:
    answer(coach, BARE)  # the key is looked up, and then remembered for a few seconds
    with statements(database) as seen:
        answer(coach, BARE | {"max": {"value": 151, "unit": "kg"}})
    assert seen == []


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"max": {"value": -150, "unit": "kg"}}, {"#/max/value": "unfit"}),
        ({"max": {"value": 15, "unit": "step"}}, {"#/max/unit": "unfit"}),
        ({"max": 150}, {"#/max": "not_an_object"}),
        ({"lift": "no-such-lift"}, {"#/lift": "unknown"}),
        ({"maxes": [{"basis": "day", "load": {"value": 1}}]}, {"#/maxes/0/load/unit": "required"}),
        (
            {"maxes": [{"basis": "day", "load": {"value": 100, "unit": "kg"}, "lift": "no-such-lift"}]},
            {"#/maxes/0/lift": "unfit"},
        ),
        ({"curve": "guess"}, {"#/curve": "not_one_of"}),
        ({"effort_limit": 5}, {"#/effort_limit": "out_of_range"}),
        ({"target": {"kind": "effort", "reps": 3, "rpe": 10.3}}, {"#/target/rpe": "out_of_range"}),
        ({"colour": "red", "athlete": "mira"}, {"#/colour": "unknown_member", "#/athlete": "wrong_form"}),
        (
            {"target": {"kind": "load", "reps": 3, "load": {"value": -20, "unit": "kg"}}},
            {"#/target/load/value": "not_positive"},
        ),
        (
            {"lift": "plank", "max": None, "target": {"kind": "load", "reps": 3, "load": {"value": 20, "unit": "kg"}}},
            {"#/target/load": "load_kind", "#/scheme/back_off": "load_kind"},
        ),
        (
            {"target": {"kind": "percent", "reps": 3, "percent": 80, "basis": "tested", "of": "no-such-lift"}},
            {"#/target/of": "unknown"},
        ),
    ],
)
def test_a_wrong_field_is_named(coach: TestClient, more: dict[str, Any], wrong: dict[str, str]) -> None:
    assert pointers(coach.post("/v1/prescriptions", json=BARE | more)) == wrong


def test_without_a_max_there_is_no_answer(coach: TestClient) -> None:
    refused = coach.post("/v1/prescriptions", json=TOP).json()
    assert (refused["type"], refused["code"]) == ("/problems/not-computable", "no_max")


def test_an_athletes_max_settings_and_unit_are_used(coach: TestClient) -> None:
    person = athlete(coach, ref="runa", settings={"rounding": "down"})
    found = answer(coach, TOP | {"athlete": "ref:runa", "on": "2026-11-25"})
    assert loads(found, "top_set") == [125]  # 126.802 rounded down
    inputs = found["computed"]["inputs"]
    assert [(one["basis"], one["on"]) for one in inputs["maxes"]] == [("tested", "2026-11-01")]
    assert (inputs["on"], inputs["settings"]["rounding"]) == ("2026-11-25", "down")
    before = coach.post("/v1/prescriptions", json=TOP | {"athlete": person, "on": "2026-10-31"})
    assert before.json()["code"] == "no_max"  # the max was not yet


def test_an_athlete_reads_the_own_plates_in_another_unit(coach: TestClient) -> None:
    person = athlete(coach)
    found = answer(coach, TOP | {"athlete": person, "on": "2026-11-25"}, unit="lb")
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    assert (found["unit"], top["load"]["kg"]) == ("lb", 127.5)


def test_a_coachs_cap_is_obeyed_and_what_it_replaced_is_kept(coach: TestClient) -> None:
    person = athlete(coach)
    cap = {
        "kind": "cap",
        "lift": "squat",
        "load": {"value": 120, "unit": "kg"},
        "reason": "Knee",
        "from": "2026-11-20",
        "until": "2026-11-30",
    }
    assert coach.post(f"/v1/athletes/{person}/overrides", json=cap).status_code == 201
    found = answer(coach, TOP | {"athlete": person, "on": "2026-11-30"})
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    assert (top["load"]["value"], top["without_override"]["value"]) == (120, 127.5)
    assert loads(found, "back_off") == [110, 110]  # 8 % off 120 kg is 110.4
    assert "coach key" in found["overrides"][0]["text"]
    assert "Knee" in found["overrides"][0]["text"]
    assert loads(answer(coach, TOP | {"athlete": person, "on": "2026-12-01"}), "top_set") == [127.5]


def test_a_lift_left_out_has_no_sets_and_one_exchanged_has_the_others(coach: TestClient) -> None:
    person = athlete(coach)
    path = f"/v1/athletes/{person}/overrides"
    exchange = {
        "kind": "exchange",
        "lift": "squat",
        "to_lift": "pause-squat",
        "reason": "Depth",
        "from": "2026-11-20",
        "until": "2026-11-30",
    }
    made = coach.post(path, json=exchange).json()
    found = answer(coach, TOP | {"athlete": person, "on": "2026-11-25"})
    assert found["lift"] == "pause-squat"
    assert loads(found, "top_set") == [115]  # by the ratio 0.9: 114.12
    coach.delete(f"/v1/overrides/{made['id']}", headers={"If-Match": "*"})
    leave_out = {name: value for name, value in exchange.items() if name != "to_lift"} | {"kind": "leave_out"}
    coach.post(path, json=leave_out)
    left_out = answer(coach, TOP | {"athlete": person, "on": "2026-11-25"})
    assert (left_out["left_out"], left_out["sets"]) == (True, [])
    assert "Depth" in left_out["text"]


def test_what_is_the_athletes_own_is_refused_beside_the_athlete(coach: TestClient) -> None:
    person = athlete(coach)
    refused = coach.post("/v1/prescriptions", json=BARE | {"athlete": person, "round": "down"})
    assert pointers(refused) == {"#/max": "one_of", "#/round": "one_of"}


def test_a_curve_is_pinned_for_one_call_for_a_stored_athlete_too(coach: TestClient) -> None:
    person = athlete(coach)
    found = answer(coach, TOP | {"athlete": person, "curve": "brzycki"})
    # Brzycki: (37 - 5.5) / 36 = 0.875 of 150 kg is 131.25 kg
    top = next(one for one in found["sets"] if one["role"] == "top_set")
    assert (top["loading"]["exact"]["kg"], found["computed"]["curve"]) == (131.25, "brzycki")
    assert answer(coach, TOP | {"athlete": person})["computed"]["curve"] == "model"


def test_an_unknown_athlete_anothers_and_another_gyms_are_told_the_same(coach, gym, other_gym) -> None:
    mine, hers = athlete(coach), athlete(coach, ref="hers")
    unknown = {"#/athlete": "unknown"}
    for name in ("ref:nobody", "019a5c19-02d4-7e0b-8a55-0c9be7712d10"):
        assert pointers(coach.post("/v1/prescriptions", json=TOP | {"athlete": name})) == unknown
    for name in (hers, "ref:hers"):
        assert pointers(other_gym.client("owner").post("/v1/prescriptions", json=TOP | {"athlete": name})) == unknown
    key = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": mine}).json()["key"]
    bound = TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})
    assert pointers(bound.post("/v1/prescriptions", json=TOP | {"athlete": hers})) == unknown
    assert loads(answer(bound, TOP | {"athlete": mine, "on": "2026-11-25"}), "top_set") == [127.5]
