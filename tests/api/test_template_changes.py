"""/v1/templates/{template}/changes and the difference between versions."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from tests.api.plans_at_hand import athlete, template

REPEAT = {"kind": "repeat_week", "week": 2}
UP = {"kind": "shift_percent", "percent_points": 2.5, "which": {"weeks": [3], "lift": "bench-press"}}


def changed(coach, of, *operations, status=201, expected="*", **more):
    headers = {} if expected is None else {"If-Match": expected}
    body = {"operations": list(operations)} | more
    answer = coach.post(f"/v1/templates/{of}/changes", json=body, headers=headers)
    assert answer.status_code == status, answer.text
    return answer


def test_operations_make_the_next_version_and_tell_what_is_different(coach):
    of = template(coach)
    answer = changed(coach, of, REPEAT, UP, name="Longer", note="A third week", expected='"1"')
    assert answer.headers["location"] == f"/v1/templates/{of}/versions/2"
    made = answer.json()
    assert (made["from_version"], made["version"], made["name"], len(made["weeks"])) == (1, 2, "Longer", 3)
    first, second = made["operations"]
    assert (first["operation"], first["kind"], first["count"]) == (1, "repeat_week", 1)
    assert first["text"] == "Week 2 again as week 3. 1 week new."
    (moved,) = second["changes"]
    assert moved["text"] == (
        "Week 3, Push, bench press: 3 sets of 5 at 75 % of the tested max becomes 3 sets of 5 at 77.5 % of the tested"
        " max."
    )
    assert [moved[name] for name in ("what", "kind", "week", "session", "session_number", "slot")] == [
        "slot", "changed", 3, "Push", 2, 1,
    ]  # fmt: skip
    assert (moved["before"]["target"]["percent"], moved["after"]["target"]["percent"]) == (75, 77.5)
    # All together: one new week, whose bench press is a little heavier from the start.
    (whole,) = made["difference"]["changes"]
    assert (whole["what"], whole["kind"], whole["week"]) == ("week", "added", 3)
    assert whole["after"]["sessions"][1]["slots"][0]["target"]["percent"] == 77.5
    version = coach.get(f"/v1/templates/{of}/versions/2").json()
    assert version["weeks"] == made["weeks"]
    assert (version["name"], version["note"], version["parts"]) == ("Longer", "A third week", None)
    assert made["running"] == []


def test_a_lighter_week_is_told_slot_by_slot(coach):
    of = template(coach)
    (step,) = changed(coach, of, {"kind": "insert_lighter_week", "after": 1}).json()["operations"]
    weeks = coach.get(f"/v1/templates/{of}/versions/1").json()["weeks"]
    assert len(step["slots"]) == sum(len(session["slots"]) for session in weeks[0]["sessions"])
    # 60 % of 3 sets are 1.8: 2; 10 points less than 75 % are 65 %.
    at = "% of the tested max"
    assert f"Push, bench press: 3 sets of 5 at 75 {at} becomes 2 sets of 5 at 65 {at}." in step["slots"]
    assert ": 60 % of the sets, percentages 10 points less" in step["text"]
    (again,) = changed(coach, of, REPEAT).json()["operations"]
    assert again["slots"] == []
    same = {"kind": "insert_lighter_week", "after": 1, "sets_percent": 100, "percent_points": 0, "rpe_points": 0}
    (error,) = changed(coach, of, same, status=422).json()["errors"]
    assert (error["pointer"], error["code"]) == ("#/operations/0/sets_percent", "nothing_lighter")


def test_lifts_are_told_by_the_names_that_the_gym_gave_them(coach):
    of = template(coach)
    put = coach.put("/v1/lifts/slow-bench", json={"name": "Slow bench press", "load_kind": "total"})
    assert put.status_code == 201, put.text
    (told,) = changed(
        coach, of, {"kind": "exchange_lift", "lift": "bench-press", "to_lift": "slow-bench", "weeks": [1]}
    ).json()["operations"]
    asked = "3 sets of 5 at 75 % of the tested max"
    assert told["changes"][0]["text"] == f"Week 1, Push, bench press, {asked}, becomes slow bench press, {asked}."
    last = coach.get(f"/v1/templates/{of}/versions/latest/difference").json()
    assert last["changes"][0]["text"] == told["changes"][0]["text"]


def test_a_dry_run_tells_the_same_and_stores_nothing(coach):
    of = template(coach)
    body = {"operations": [REPEAT, UP]}
    tried = coach.post(f"/v1/templates/{of}/changes?dry_run=true", json=body)
    assert tried.status_code == 200
    assert coach.get(f"/v1/templates/{of}").json()["latest"] == 1
    assert tried.json() == changed(coach, of, REPEAT, UP).json() | {"version": None}


def test_two_coaches_do_not_change_one_version_unseen(coach):
    of = template(coach)
    assert changed(coach, of, REPEAT, expected=None, status=428).json()["type"] == "/problems/if-match-required"
    changed(coach, of, REPEAT, expected='"1"')
    assert changed(coach, of, REPEAT, expected='"1"', status=412).headers["etag"] == '"2"'
    path = f"/v1/templates/{of}/changes?dry_run=true"
    assert coach.post(path, json={"operations": [REPEAT]}, headers={"If-Match": '"1"'}).status_code == 412


def test_a_repeat_with_the_same_key_changes_once(coach):
    of = template(coach)
    headers = {"If-Match": "*", "Idempotency-Key": "change-it"}
    first, again = (
        coach.post(f"/v1/templates/{of}/changes", json={"operations": [REPEAT]}, headers=headers) for _ in range(2)
    )
    assert first.content == again.content
    assert coach.get(f"/v1/templates/{of}").json()["latest"] == 2


def test_a_fault_names_its_operation_and_nothing_is_stored(coach):
    of = template(coach)
    top = {"lift": "squat", "scheme": {"kind": "top_set"}, "target": {"kind": "effort", "reps": 1, "rpe": 8}}
    wrong = {"sessions": [{"name": "New", "slots": [top, top | {"lift": "sqaut"}]}]}
    cases = [
        ({"kind": "drop_weeks", "weeks": [1, 4]}, "#/operations/1/weeks/1", "out_of_range"),
        ({"kind": "shift_effort", "rpe_points": 3}, "#/operations/1/rpe_points", "out_of_range"),
        ({"kind": "exchange_lift", "lift": "squat", "to_lift": "snatch"}, "#/operations/1/to_lift", "technique_lift"),
        ({"kind": "add_week", "after": 0, "week": wrong}, "#/operations/1/week/sessions/0/slots/1/lift", "unknown"),
        ({"kind": "scale_sets", "percent": 0.6}, "#/operations/1/percent", "out_of_range"),
        ({"kind": "stretch"}, "#/operations/1/weeks", "required"),
        ({"kind": "stretch", "end": "2027-01-16"}, "#/operations/1/start", "needed_with"),
        ({"kind": "trim_accessories"}, "#/operations/1/most_sets", "required"),
        ({"kind": "make_harder"}, "#/operations/1/kind", "not_one_of"),
        ({"kind": "shift_percent", "percent_points": 1, "which": {"lift": "row"}}, "#/operations/1/which",
         "nothing_matched"),
    ]  # fmt: skip
    for operation, pointer, code in cases:
        errors = changed(coach, of, REPEAT, operation, status=422).json()["errors"]
        assert [(one["pointer"], one["code"]) for one in errors] == [(pointer, code)]
    twice = {"sessions": [{"name": "New", "slots": [top | {"lift": "sqaut"}, top | {"lift": "bnech"}]}]}
    both = changed(coach, of, {"kind": "add_week", "after": 0, "week": twice}, status=422).json()["errors"]
    assert [one["pointer"] for one in both] == [f"#/operations/0/week/sessions/0/slots/{at}/lift" for at in (0, 1)]
    assert changed(coach, of, status=422).json()["errors"][0]["pointer"] == "#/operations"
    assert coach.get(f"/v1/templates/{of}").json()["latest"] == 1
    note = {"note": "x" * 2000, "sessions": [{"name": "Day", "slots": [top | {"note": "x" * 2000}] * 30}] * 14}
    large = coach.post("/v1/templates", json={"name": "Large", "weeks": [note]}).json()["id"]
    error = changed(coach, large, {"kind": "repeat_week", "week": 1, "times": 10}, status=422).json()["errors"][0]
    assert (error["pointer"], error["code"]) == ("#/operations", "too_large")


def test_any_two_versions_are_compared(coach):
    of = template(coach)
    changed(coach, of, REPEAT)
    changed(coach, of, UP)
    path = f"/v1/templates/{of}/versions"
    last = coach.get(f"{path}/latest/difference").json()
    assert (last["from_version"], last["to_version"], last["count"]) == (2, 3, 1)
    assert last["text"] == "1 slot changed, in 1 week."
    whole = coach.get(f"{path}/3/difference?from=1").json()
    assert [(one["what"], one["kind"], one["week"]) for one in whole["changes"]] == [("week", "added", 3)]
    back = coach.get(f"{path}/1/difference?from=3").json()
    assert [(one["kind"], one["week"], one["week_before"]) for one in back["changes"]] == [("removed", None, 3)]
    assert coach.get(f"{path}/1/difference").json()["text"] == "Nothing is different."
    assert coach.get(f"{path}/9/difference").status_code == 404
    assert coach.get(f"{path}/1/difference?from=9").status_code == 404
    assert coach.get(f"{path}/1/difference?from=0").status_code == 422


def test_what_it_means_for_those_who_are_running_it_is_told(coach):
    of = template(coach, weeks=4)
    today = datetime.now(UTC).date()
    start = today - timedelta(days=7)  # the second week of training begins today
    days = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
    runa, odd = athlete(coach), athlete(coach, "Odd Moe", time_zone="Pacific/Kiritimati")
    order = {"template": of, "start": str(start), "weekdays": days}
    running = coach.post("/v1/blocks", json=order | {"athletes": [runa, odd]}).json()["items"]
    done = today - timedelta(days=60)
    coach.post("/v1/blocks", json=order | {"athletes": [athlete(coach, "Past")], "start": str(done)})
    answer = changed(coach, of, {"kind": "scale_sets", "percent": 200, "which": {"weeks": [2, 3, 4]}}, UP).json()
    by_name = {one["athlete_name"]: one for one in answer["running"]}
    assert answer["running_count"] == 2
    assert by_name.keys() == {"Runa Fell", "Odd Moe"}
    one = by_name["Runa Fell"]
    assert one["block"] == running[0]["block"]["id"]
    # Weeks 3 and 4 of two sessions each are left; in both each session has more sets now.
    assert (one["week"], one["last_week"], one["weeks_left"], one["sessions_to_change"]) == (2, 4, 2, 4)
    assert one["text"] == ("Runa Fell is in week 2 of 4 on version 1: 4 sessions would change from week 3 on.")


def test_rights_and_gyms_are_kept_apart(coach, gym, other_gym):
    of = template(coach)
    body, headers = {"operations": [REPEAT]}, {"If-Match": "*"}
    assert gym.client("log").post(f"/v1/templates/{of}/changes", json=body, headers=headers).status_code == 403
    stranger = other_gym.client("coach")
    assert stranger.post(f"/v1/templates/{of}/changes", json=body, headers=headers).status_code == 404
    assert stranger.get(f"/v1/templates/{of}/versions/1/difference").status_code == 404
    assert gym.client("read").get(f"/v1/templates/{of}/versions/1/difference").status_code == 200
