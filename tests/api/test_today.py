"""/v1/athletes/{athlete}/today: a phone's screen in one call."""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from pydantic import TypeAdapter

from service.flows.today import Today
from tests.api.plans_at_hand import athlete, block, loads, log_top_set

TODAY: TypeAdapter[Today] = TypeAdapter(Today)


def test_a_day_has_its_sessions_with_loads(coach):
    laid = block(coach)
    path = f"/v1/athletes/{laid['athlete']}/today"
    day = coach.get(path, params={"on": "2026-11-25"}).json()
    assert (day["date"], day["to"], day["athlete"]) == ("2026-11-25", "2026-11-25", laid["athlete"])
    (session,) = day["sessions"]
    assert session == coach.get(f"/v1/sessions/{session['id']}").json() | {"computed": session["computed"]}
    assert loads(session["slots"][0], "top_set") == [127.5]  # by hand in test_sessions.py
    assert coach.get(path, params={"on": "2026-11-26"}).json()["sessions"] == []


def test_a_week_is_fetched_ahead_in_order(coach):
    laid = block(coach)
    path = f"/v1/athletes/{laid['athlete']}/today"
    week = coach.get(path, params={"on": "2026-11-26", "days": 7}).json()
    assert (week["date"], week["to"]) == ("2026-11-26", "2026-12-02")
    assert [(one["date"], one["name"]) for one in week["sessions"]] == [("2026-11-28", "Push"), ("2026-12-02", "Legs")]
    for days in (0, 8):
        refused = coach.get(path, params={"days": days})
        assert refused.json()["errors"][0]["parameter"] == "days"


def test_what_was_logged_and_the_last_time_are_there(coach):
    laid = block(coach)
    path = f"/v1/athletes/{laid['athlete']}/today"
    log_top_set(coach, coach.get(f"/v1/sessions/{laid['sessions'][0]['id']}").json())
    first = coach.get(path, params={"on": "2026-11-25"}).json()["sessions"][0]
    assert [one["rpe"] for one in first["slots"][0]["logged"]] == [8.5]
    later = coach.get(path, params={"on": "2026-12-02"}).json()["sessions"][0]
    assert later["slots"][0]["last_time"]["date"] == "2026-11-25"


def test_a_day_is_the_athletes_day(coach):
    for zone in ("Pacific/Kiritimati", "Pacific/Pago_Pago", "Europe/Oslo"):
        person = athlete(coach, zone, time_zone=zone)
        before = datetime.now(UTC).astimezone(ZoneInfo(zone)).date()
        shown = coach.get(f"/v1/athletes/{person}/today").json()["date"]
        assert str(before) <= shown <= str(datetime.now(UTC).astimezone(ZoneInfo(zone)).date())


def test_the_answer_has_the_documented_shape(coach):
    laid = block(coach)
    path = f"/v1/athletes/{laid['athlete']}/today?on=2026-11-25&days=7"
    content = coach.get(path).content
    assert TODAY.dump_json(TODAY.validate_json(content)) + b"\n" == content


def test_a_reader_who_has_it_is_told_so_until_a_set_is_logged(coach):
    laid = block(coach)
    path = f"/v1/athletes/{laid['athlete']}/today?on=2026-11-25"
    tag = {"If-None-Match": coach.get(path).headers["etag"]}
    assert coach.get(path, headers=tag).status_code == 304
    log_top_set(coach, coach.get(path).json()["sessions"][0])
    assert coach.get(path, headers=tag).status_code == 200


def test_the_board_of_a_day_is_plain_text(coach):
    laid = block(coach)
    path = f"/v1/athletes/{laid['athlete']}/today"
    board = coach.get(path, params={"on": "2026-11-25", "format": "text"})
    assert board.headers["content-type"] == "text/plain; charset=utf-8"
    assert board.text == coach.get(f"/v1/sessions/{laid['sessions'][0]['id']}?format=text").text
    both = coach.get(path, params={"on": "2026-11-25", "days": 7}, headers={"Accept": "text/plain"}).text
    assert [line for line in both.splitlines() if " - " in line] == [
        "Legs - Wednesday 25 November 2026 (planned)",
        "Push - Saturday 28 November 2026 (planned)",
    ]
    none = coach.get(path, params={"on": "2026-11-26", "format": "text"}).text
    assert none == "No session on Thursday 26 November 2026.\n"


def test_another_gym_finds_nobody(coach, other_gym):
    laid = block(coach)
    assert other_gym.client("coach").get(f"/v1/athletes/{laid['athlete']}/today").status_code == 404
