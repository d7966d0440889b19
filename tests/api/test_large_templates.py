"""Templates as large as they come: what is alike is checked once, what is wrong is told where it stands."""

from __future__ import annotations

import copy
import json

from service.api.routing import TEMPLATE_BYTES
from tests.api.plans_at_hand import LEGS, PUSH


def weeks(count=3):
    return [copy.deepcopy({"sessions": [LEGS, PUSH, json.loads(json.dumps(LEGS))]}) for _ in range(count)]


def refused(coach, sent):
    answer = coach.post("/v1/templates", json={"name": "Long", "weeks": sent})
    assert answer.status_code == 422, answer.text
    return [(error["pointer"], error["code"]) for error in answer.json()["errors"]]


def test_slots_that_are_alike_come_back_as_they_were_sent(coach):
    sent = weeks()
    sent[1]["sessions"][2]["slots"][0]["target"]["rpe"] = 8.5
    made = coach.post("/v1/templates", json={"name": "Long", "weeks": sent}).json()
    kept = coach.get(f"/v1/templates/{made['id']}/versions/1").json()["weeks"]
    for week, (mine, theirs) in enumerate(zip(sent, kept, strict=True)):
        for session, other in zip(mine["sessions"], theirs["sessions"], strict=True):
            rpes = [slot["target"].get("rpe") for slot in other["slots"]]
            assert rpes == [slot["target"].get("rpe") for slot in session["slots"]], week
            assert [slot["lift"] for slot in other["slots"]] == [slot["lift"] for slot in session["slots"]]


def test_a_fault_is_told_at_each_place_where_it_stands(coach):
    sent = weeks()
    for week in (0, 2):
        sent[week]["sessions"][2]["slots"][0]["target"]["rpe"] = 11
    assert refused(coach, sent) == [
        ("#/weeks/0/sessions/2/slots/0/target/rpe", "out_of_range"),
        ("#/weeks/2/sessions/2/slots/0/target/rpe", "out_of_range"),
    ]


def test_values_that_only_seem_alike_are_told_apart(coach):
    # In many languages 1, 1.0 and true are equal: the first two are one set, the third is no number.
    sent = weeks()
    for week, value in enumerate((1, 1.0, True)):
        sent[week]["sessions"][1]["slots"][0]["scheme"]["sets"] = value
    assert refused(coach, sent) == [("#/weeks/2/sessions/1/slots/0/scheme/sets", "not_a_number")]
    sent[2]["sessions"][1]["slots"][0]["scheme"]["sets"] = 1
    assert coach.post("/v1/templates", json={"name": "Long", "weeks": sent}).status_code == 201


def test_what_is_no_list_or_no_object_is_told_where_it_stands(coach):
    for broken, pointer, code in [
        ([1], "#/weeks/0", "not_an_object"),
        ([{"sessions": 1}], "#/weeks/0/sessions", "not_a_list"),
        ([{"sessions": [1]}], "#/weeks/0/sessions/0", "not_an_object"),
        ([{"sessions": [{"name": "A", "slots": {}}]}], "#/weeks/0/sessions/0/slots", "not_a_list"),
        ([{"sessions": [{"name": "A", "slots": [None]}]}], "#/weeks/0/sessions/0/slots/0", "not_an_object"),
        ([{"sessions": [{"name": "A"}]}], "#/weeks/0/sessions/0/slots", "required"),
    ]:
        assert refused(coach, broken) == [(pointer, code)]


def test_larger_ones_are_refused_with_the_limit(coach):
    assert refused(coach, weeks(105)) == [("#/weeks", "wrong_count")]
    answer = coach.post("/v1/templates", json={"name": "Long", "weeks": weeks(105)}).json()
    assert answer["errors"][0]["detail"] == "must have 1 to 104 members"
    # 52 weeks of 7 sessions of 12 slots are about 1.2 MB; the limit is 4 MiB.
    assert TEMPLATE_BYTES == 4 * 1024 * 1024
    large = json.dumps({"name": "Long", "weeks": weeks(104)}) + " " * TEMPLATE_BYTES
    refusal = coach.post("/v1/templates", content=large, headers={"Content-Type": "application/json"})
    assert (refusal.status_code, refusal.json()["detail"]) == (413, "The body may have at most 4096 kB.")
