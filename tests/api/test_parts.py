"""/v1/templates written by parts, and /v1/drafts."""

from __future__ import annotations

import copy
import json

import pytest

from service.api.drafts import DraftShown
from service.api.part_examples import BENCH, BUILD, HEAVY, SQUAT
from service.api.plan_examples import WEEKS
from service.api.templates import TemplateVersionShown

PARTS = [BUILD, HEAVY]
DAY = {"name": "Legs", "slots": [SQUAT]}


def part(*progressions, weeks=3, slots=None, **more):
    sessions = [{"name": "Legs", "slots": slots or [SQUAT]}]
    return {"weeks": weeks, "week": {"sessions": sessions}, "progressions": list(progressions)} | more


def sent(client, *parts):
    return client.post("/v1/drafts", json={"parts": list(parts)})


def refused(answer):
    assert answer.status_code == 422, answer.text
    return [(one["pointer"], one["code"]) for one in answer.json()["errors"]]


def newest(coach, template):
    return coach.get(f"/v1/templates/{template}/versions/latest").json()


def test_a_template_is_written_by_parts_and_read_as_weeks_and_as_it_was_written(coach):
    made = coach.post("/v1/templates", json={"name": "Spring", "ref": "spring", "parts": PARTS})
    assert made.status_code == 201, made.text
    shown = newest(coach, "ref:spring")
    assert TemplateVersionShown.model_validate(shown)
    assert [week["name"] for week in shown["weeks"]] == ["Build"] * 6 + ["Heavy"] * 2 + ["Lighter"]
    assert [week.get("lighter", False) for week in shown["weeks"]] == [n in (3, 6, 9) for n in range(1, 10)]
    squats = [week["sessions"][0]["slots"][0] for week in shown["weeks"]]
    # 2.5 points a week from 70, ten less in weeks 3 and 6; then from 85
    assert [one["target"]["percent"] for one in squats] == [70, 72.5, 65, 77.5, 80, 72.5, 85, 87.5, 90]
    # From 4 to 6 sets in five steps, the last usual week being the fifth: 4, 4.5, 5, 5.5, 6; 60 % of 5 and of 6;
    # then four, half of them in the last week.
    assert [one["scheme"]["sets"] for one in squats] == [4, 5, 3, 6, 6, 4, 4, 4, 2]
    for week, part_sent in ((0, BUILD), (6, HEAVY)):
        assert shown["weeks"][week]["sessions"][0]["slots"] == part_sent["week"]["sessions"][0]["slots"]
    kept = copy.deepcopy(PARTS)
    for one in kept:
        one["week"]["sessions"] = [session | {"kind": "block"} for session in one["week"]["sessions"]]
    assert shown["parts"] == kept
    assert shown["note"] is None


def test_parts_that_were_read_can_be_sent_back_and_make_the_same_weeks(coach):
    coach.post("/v1/templates", json={"name": "Spring", "ref": "spring", "parts": PARTS})
    shown = newest(coach, "ref:spring")
    for form in ("parts", "weeks"):
        again = coach.post("/v1/templates", json={"name": "Copy", "ref": form, form: shown[form]})
        assert again.status_code == 201
        assert newest(coach, f"ref:{form}")["weeks"] == shown["weeks"]
    assert newest(coach, "ref:weeks")["parts"] is None


def test_a_version_says_what_it_changed(coach):
    made = coach.post("/v1/templates", json={"name": "Spring", "weeks": WEEKS}).json()
    path = f"/v1/templates/{made['id']}/versions"
    answer = coach.post(path, json={"parts": [HEAVY], "note": "Shorter"}, headers={"If-Match": '"1"'})
    assert (answer.status_code, answer.json()["note"], len(answer.json()["weeks"])) == (201, "Shorter", 3)
    assert [line["note"] for line in coach.get(path).json()["items"]] == ["Shorter", None]


def test_a_put_adds_a_version_where_the_weeks_or_the_parts_differ(coach):
    def put(**body):
        answer = coach.put("/v1/templates/ref:s", json={"name": "Spring"} | body)
        assert answer.status_code in (200, 201), answer.text
        return answer.json()["latest"]

    plain = part({"kind": "each_week", "change": "percent", "by": 2.5})
    assert put(parts=[plain]) == 1
    assert put(parts=[plain]) == 1
    weeks = newest(coach, "ref:s")["weeks"]
    assert put(weeks=weeks) == 1  # the same weeks: what is lifted does not change
    assert newest(coach, "ref:s")["parts"] is not None
    by_ends = part({"kind": "from_to", "change": "percent", "to": 75})
    assert put(parts=[by_ends]) == 2  # the same weeks, written in another way
    assert newest(coach, "ref:s")["weeks"] == weeks
    assert put(parts=[part({"kind": "each_week", "change": "percent", "by": 2})]) == 3


def test_exactly_one_of_weeks_and_parts_is_taken(coach):
    for body in ({}, {"parts": PARTS, "weeks": WEEKS}):
        for path in ("/v1/templates", "/v1/drafts"):
            named = body | ({"name": "Spring"} if path == "/v1/templates" else {})
            ((pointer, code),) = refused(coach.post(path, json=named))
            assert (pointer, code) == (("#/weeks", "required") if not body else ("#/parts", "one_of"))


def test_a_draft_shows_the_weeks_of_parts_with_each_part_in_words_and_stores_nothing(gym, coach):
    answer = sent(gym.client("read"), *PARTS)
    assert answer.status_code == 200, answer.text
    assert answer.headers["cache-control"] == "no-store"
    draft = answer.json()
    assert DraftShown.model_validate(draft)
    assert draft["text"] == [
        (
            "Build: 6 weeks; in the squat the percentage rises by 2.5 points a week; "
            "in session Legs the sets go from 4 to 6; in the bench press RPE rises by 0.5 a week; "
            "weeks 3 and 6 are lighter: 60 % of the sets, 10 points less, RPE 1 lower"
        ),
        (
            "Heavy: 3 weeks; the percentage rises by 2.5 points a week; "
            "week 3 is called Lighter and lighter: 50 % of the sets, RPE 1.5 lower"
        ),
    ]
    assert coach.get("/v1/templates").json()["items"] == []
    made = coach.post("/v1/templates", json={"name": "Spring", "ref": "s", "weeks": draft["weeks"]})
    assert made.status_code == 201
    assert newest(coach, "ref:s")["weeks"] == draft["weeks"]


def test_a_draft_finds_the_parts_that_weeks_could_be_written_by(coach):
    first = sent(coach, *PARTS).json()
    found = coach.post("/v1/drafts", json={"weeks": first["weeks"]}).json()
    assert found["weeks"] == first["weeks"]
    assert [one["weeks"] for one in found["parts"]] == [6, 3]
    again = sent(coach, *found["parts"]).json()
    assert again["weeks"] == first["weeks"]
    assert again["parts"] == found["parts"]


@pytest.mark.parametrize(
    ("progression", "pointer", "code"),
    [
        ({"kind": "each_week", "change": "percent", "by": 40}, "", "out_of_range"),  # 70, 110, 150
        ({"kind": "each_week", "change": "percent", "by": 0}, "/by", "out_of_range"),
        ({"kind": "each_week", "change": "percent"}, "/by", "required"),
        ({"kind": "each_week", "change": "percent", "by_load": {"value": 5, "unit": "kg"}}, "/by_load", "not_here"),
        ({"kind": "each_week", "change": "load", "by": 5}, "/by", "not_here"),
        ({"kind": "each_week", "change": "load", "by_load": {"value": 5, "unit": "kg"}}, "/change", "no_such_member"),
        ({"kind": "each_week", "change": "colour", "by": 1}, "/change", "not_one_of"),
        ({"kind": "each_week", "change": "sets", "by": 1, "lift": "deadlift"}, "/lift", "unknown"),
        ({"kind": "each_week", "change": "sets", "by": 1, "sessions": ["Pull"]}, "/sessions/0", "unknown"),
        ({"kind": "from_to", "change": "sets", "to": 4.5}, "/to", "out_of_range"),
        ({"kind": "from_to", "change": "sets"}, "/to", "required"),
        ({"kind": "lighter_weeks", "sets_percent": 60}, "/every", "required"),
        ({"kind": "lighter_weeks", "every": 2, "weeks": [2], "sets_percent": 60}, "/weeks", "one_of"),
        ({"kind": "lighter_weeks", "every": 2}, "/sets_percent", "required"),
        ({"kind": "lighter_weeks", "every": 2, "sets_percent": 0.6}, "/sets_percent", "out_of_range"),
        ({"kind": "lighter_weeks", "every": 2, "percent_points": 10}, "/percent_points", "out_of_range"),
        ({"kind": "lighter_weeks", "weeks": [3, 4], "percent_points": -10}, "/weeks/1", "out_of_range"),
        ({"kind": "lighter_weeks", "weeks": [3, 2], "percent_points": -10}, "/weeks", "not_rising"),
        ({"kind": "twice"}, "/kind", "not_one_of"),
    ],
)  # fmt: skip
def test_a_progression_that_cannot_be_written_out_is_refused_by_its_pointer(coach, progression, pointer, code):
    answer = sent(coach, part(progression))
    assert refused(answer) == [(f"#/parts/0/progressions/0{pointer}", code)]


def test_the_week_in_which_a_number_leaves_its_range_is_named(coach):
    rising = {"kind": "each_week", "change": "rpe", "by": 1}
    answer = sent(coach, part(rising, weeks=5, slots=[BENCH]))  # RPE 7, 8, 9, 10, 11
    (error,) = answer.json()["errors"]
    assert error["detail"] == (
        "does not work in week 5, session 1, slot 1: the effort would be RPE 11; it goes from 1 to 10"
    )


def test_wrong_slots_and_wrong_progressions_are_told_together(coach):
    unknown = SQUAT | {"lift": "sqaut"}
    answer = sent(coach, part({"kind": "each_week", "change": "percent", "by": 40}, slots=[SQUAT, unknown]), HEAVY)
    assert refused(answer) == [
        ("#/parts/0/week/sessions/0/slots/1/lift", "unknown"),
        ("#/parts/0/progressions/0", "out_of_range"),
    ]
    unread = part({"kind": "each_week", "change": "percent", "by": "much"}, slots=[unknown])
    assert set(refused(sent(coach, HEAVY, unread))) == {
        ("#/parts/1/progressions/0/by", "not_a_number"),
        ("#/parts/1/week/sessions/0/slots/0/lift", "unknown"),
    }


def test_a_load_that_cannot_be_lifted_in_a_later_week_is_told_at_its_progression(coach):
    fixed = SQUAT | {"target": {"kind": "load", "reps": 5, "load": {"value": 40, "unit": "kg"}}}
    falling = {"kind": "each_week", "change": "load", "by_load": {"value": -20, "unit": "kg"}}
    answer = sent(coach, HEAVY, part(falling, weeks=4, slots=[fixed]))  # 40, 20, 0
    assert refused(answer) == [("#/parts/1/progressions/0", "not_positive")]
    assert "week 3" in answer.json()["errors"][0]["detail"]
    pounds = {"kind": "each_week", "change": "load", "by_load": {"value": 5, "unit": "lb"}}
    assert refused(sent(coach, part(pounds, slots=[fixed]))) == [
        ("#/parts/0/progressions/0/by_load/unit", "wrong_unit")
    ]


def test_parts_stand_for_no_more_than_what_could_be_sent_as_weeks(coach):
    assert refused(sent(coach, part(weeks=104) | {"progressions": None}, HEAVY)) == [("#/parts", "wrong_count")]
    long = {"name": "Legs", "note": "x" * 2000, "slots": [SQUAT | {"note": "x" * 2000}] * 30}
    answer = sent(coach, {"weeks": 104, "week": {"sessions": [long]}})
    assert refused(answer) == [("#/parts", "too_large")]
    assert len(json.dumps(long)) * 104 > 4 * 1024**2


def test_a_draft_may_be_made_by_a_reader_but_a_template_not(gym):
    reader = gym.client("read")
    assert sent(reader, HEAVY).status_code == 200
    assert reader.post("/v1/templates", json={"name": "x", "parts": [HEAVY]}).status_code == 403
