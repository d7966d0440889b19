"""Logging sets of a session: what is stored, what the answer brings, what is refused."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store.session import Database
from tests.conftest import GymAtHand
from tests.lifting import BY_CURVE, TOP_SET, Session, add_athlete, add_max, add_session, done, kg

BUILT_UP = ((117.5, 5), (122.5, 6.5))


@pytest.fixture
def session(coach: TestClient, gym: GymAtHand, database: Database) -> Session:
    """A session with the slot of the worked example, for an athlete with a tested max of 150 kg."""
    athlete = add_athlete(coach, **BY_CURVE)
    add_max(coach, athlete)
    return add_session(database, gym.id, athlete, TOP_SET)


def log(coach: TestClient, session: Session, **values: Any) -> dict[str, Any]:
    """Log a set of the session's first slot; the answer."""
    answer = coach.post(session.sets, json=done(session.slots[0], **values))
    assert answer.status_code == 201, answer.text
    body: dict[str, Any] = answer.json()
    return body


def test_the_first_call_gives_the_first_set_of_the_first_slot_and_opens_nothing(
    coach: TestClient, session: Session
) -> None:
    first = coach.get(session.next)
    assert first.status_code == 200
    assert first.json()["slot"] == session.slots[0]
    assert (first.json()["role"], first.json()["load"]) == ("warm_up", {"value": 20, "unit": "kg", "kg": 20})
    assert coach.get(session.next).json() == first.json()
    assert coach.get(f"/v1/sessions/{session.id}").json()["state"] == "planned"


def test_a_logged_set_opens_the_session_and_brings_the_next_set(coach: TestClient, session: Session) -> None:
    answer = log(coach, session, role="build_up", load=kg(117.5), rpe=5, at="2026-03-02T18:00:00+01:00")
    assert coach.get(f"/v1/sessions/{session.id}").json()["state"] == "open"
    assert answer["set"]["load"] == {"value": 117.5, "unit": "kg", "kg": 117.5}
    assert (answer["set"]["rpe"], answer["set"]["made"], answer["set"]["ended_by"]) == (5, True, "choice")
    assert answer["set"]["at"] == "2026-03-02T18:00:00+01:00"
    assert answer["day_estimate"] is None
    assert answer["next"]["kind"] == "set"
    assert answer["next"]["role"] == "build_up"
    assert answer["next"]["load"]["value"] == 122.5


def test_a_heavy_set_gives_the_day_its_max_once(coach: TestClient, session: Session) -> None:
    for load, rpe in BUILT_UP:
        log(coach, session, role="build_up", load=kg(load), rpe=rpe)
    answer = log(coach, session, role="top_set", load=kg(127.5), rpe=8.5)
    # 3 repetitions with 1.5 left: n = 4.5; (1 + 0.116 x 3.5)^-0.4 = 1.406^-0.4 = 0.87258; 127.5 / 0.87258 = 146.12
    assert answer["day_estimate"]["max"]["value"] == pytest.approx(146.12, abs=0.005)
    assert answer["day_estimate"]["why"]
    # 127.5 less 8 % is 117.3: the nearest that 1.25 kg plates allow is 117.5
    assert answer["next"]["role"] == "back_off"
    assert answer["next"]["load"]["value"] == 117.5
    after = log(coach, session, role="back_off", load=kg(117.5), rpe=7)
    assert after["day_estimate"] is None  # lighter than the top set: the day's max stands


def test_the_role_is_worked_out_from_the_plan_and_the_load(coach: TestClient, session: Session) -> None:
    """Warm-ups 20 to 100, build-ups 117.5 and 122.5, top set 127.5, two back-offs: each set takes its place."""
    loads = [20, 117.5, 122.5, 130, 117.5, 117.5]
    roles = [log(coach, session, load=kg(load), rpe=6)["set"]["role"] for load in loads]
    assert roles == ["warm_up", "build_up", "build_up", "top_set", "back_off", "back_off"]


def test_the_session_is_done_after_the_last_set_of_the_last_slot(
    coach: TestClient, gym: GymAtHand, database: Database
) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    add_max(coach, athlete)
    press = {
        "lift": "bench-press",
        "scheme": {"kind": "sets_at_target", "sets": 1},
        "target": {"kind": "load", "reps": 5, "load": kg(60)},
    }
    alone = {**TOP_SET, "scheme": {"kind": "top_set"}}
    session = add_session(database, gym.id, athlete, alone, press)
    answer = log(coach, session, role="top_set", load=kg(127.5), rpe=7.5)
    assert (answer["next"]["kind"], answer["next"]["next_slot"]) == ("lift_done", session.slots[1])
    assert coach.get(session.next).json() == answer["next"]
    begun = coach.get(session.next, params={"slot": session.slots[1]}).json()
    assert (begun["kind"], begun["slot"]) == ("set", session.slots[1])
    last = coach.post(session.sets, json=done(session.slots[1], role="target_set", load=kg(60), reps=5, rpe=7))
    assert last.json()["next"]["kind"] == "session_done"


def test_slots_done_in_turn_alternate(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    row = {
        "lift": "dumbbell-row",
        "accessory": True,
        "with_next": True,
        "scheme": {"kind": "sets_at_target", "sets": 2},
        "target": {"kind": "load", "reps": 8, "load": kg(30)},
    }
    press = {**row, "lift": "dumbbell-bench-press", "with_next": False, "target": {**row["target"], "load": kg(24)}}
    session = add_session(database, gym.id, athlete, row, press)
    seen = []
    for at in (0, 1, 0, 1):
        load = kg(30) if at == 0 else kg(24)
        answer = coach.post(session.sets, json=done(session.slots[at], role="target_set", load=load, reps=8, rir=2))
        assert answer.status_code == 201, answer.text
        following = answer.json()["next"]
        seen.append((following["kind"], following["slot"]))
    assert seen == [
        ("set", session.slots[1]), ("set", session.slots[0]), ("set", session.slots[1]),
        ("session_done", session.slots[1]),
    ]  # fmt: skip


def test_pain_offers_a_choice_and_stop_ends_the_lift(coach: TestClient, session: Session) -> None:
    some = log(coach, session, role="top_set", load=kg(127.5), reps=2, pain="some", ended_by="pain")
    assert some["next"]["kind"] == "choice"
    assert len(some["next"]["options"]) in (2, 3)
    assert some["day_estimate"] is None
    stop = log(coach, session, role="back_off", load=kg(100), rpe=6, pain="stop")
    assert stop["next"]["kind"] == "session_done"
    assert {caution["code"] for caution in stop["next"]["cautions"]} >= {"pain_stop", "warning_signs"}


def test_a_set_comes_back_as_it_was_entered(coach: TestClient, session: Session) -> None:
    sent = {
        "load": {"value": 265, "unit": "lb"}, "rir": 5, "or_more": True, "reps": 4, "note": "easy", "pain": "none",
        "support": ["belt"], "at": "2026-03-02T18:00:00.25-05:30", "shown": {"load": kg(120), "reps": 4},
    }  # fmt: skip
    logged = log(coach, session, role="build_up", **sent)["set"]
    read = coach.get(f"/v1/sets/{logged['id']}")
    assert read.headers["etag"] == '"1"'
    assert read.json() == logged
    # 265 lb x 0.45359237 = 120.20197805 kg
    assert logged["load"] == {"value": 265, "unit": "lb", "kg": 120.202}
    assert (logged["rir"], logged["or_more"], logged["rpe"], logged["note"]) == (5, True, None, "easy")
    assert logged["shown"] == {"load": {"value": 120, "unit": "kg", "kg": 120}, "reps": 4}
    assert datetime.fromisoformat(logged["at"]) == datetime.fromisoformat(sent["at"])
    assert logged["at"].endswith("-05:30")
    assert logged["date"] == "2026-03-03"  # half past midnight in Oslo


def test_without_a_moment_it_is_now_on_the_athletes_clock(coach: TestClient, session: Session) -> None:
    at = datetime.fromisoformat(log(coach, session, load=kg(60), rpe=3)["set"]["at"])
    assert abs(at - datetime.now(UTC)) < timedelta(seconds=20)
    assert at.utcoffset() in (timedelta(hours=1), timedelta(hours=2))  # Europe/Oslo


def test_a_set_of_a_skipped_session_makes_it_finished_and_is_kept(coach: TestClient, session: Session) -> None:
    assert coach.patch(f"/v1/sessions/{session.id}", json={"state": "skipped"}).status_code == 200
    answer = log(coach, session, role="top_set", load=kg(127.5), rpe=8)
    assert answer["next"]["kind"] == "session_done"
    assert coach.get(f"/v1/sessions/{session.id}").json()["state"] == "finished"
    late = log(coach, session, role="back_off", load=kg(117.5), rpe=6)
    assert late["next"]["kind"] == "session_done"
    assert len(coach.get(session.sets).json()["items"]) == 2


def test_a_session_without_slots_takes_sets_of_any_lift(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    session = add_session(database, gym.id, add_athlete(coach, **BY_CURVE), kind="meet")
    assert coach.get(session.next).json()["kind"] == "session_done"
    answer = coach.post(session.sets, json=done(lift="deadlift", load=kg(180), reps=1, rpe=9))
    assert answer.status_code == 201
    assert answer.json()["set"]["role"] == "free"
    assert answer.json()["next"]["kind"] == "session_done"
    # a single with one left: n = 2; 1.116^-0.4 = 0.95704; 180 / 0.95704 = 188.08
    assert answer.json()["day_estimate"]["max"]["value"] == pytest.approx(188.08, abs=0.005)


def test_a_timed_set_needs_no_load_and_no_repetitions(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    plank = {
        "lift": "plank", "scheme": {"kind": "sets_at_target", "sets": 2}, "target": {"kind": "time", "seconds": 40},
    }  # fmt: skip
    session = add_session(database, gym.id, add_athlete(coach, **BY_CURVE), plank)
    answer = coach.post(session.sets, json={"slot": session.slots[0], "seconds": 35})
    assert answer.status_code == 201, answer.text
    assert (answer.json()["set"]["seconds"], answer.json()["set"]["load"]) == (35, None)
    assert answer.json()["next"]["seconds"] == 40


@pytest.mark.parametrize(
    ("values", "pointer", "allowed"),
    [
        ({"rpe": 10.3}, "#/rpe", {"min": 1, "max": 10, "step": 0.5}),
        ({"rpe": 11}, "#/rpe", {"min": 1, "max": 10, "step": 0.5}),
        ({"reps": 500}, "#/reps", {"min": 0, "max": 100, "step": 1}),
        ({"reps": 0}, "#/reps", None),
        ({"rpe": 8, "rir": 2}, "#/rir", None),
        ({"rpe": 8, "felt": "heavier"}, "#/felt", None),
        ({"rir": 3, "or_more": True}, "#/or_more", None),
        ({"made": False, "ended_by": "choice"}, "#/ended_by", None),
        ({"load": kg(-20)}, "#/load/value", None),
        ({"load": {"value": 7, "unit": "step"}}, "#/load/unit", None),
        ({"load": {"value": 100}}, "#/load/unit", None),
        ({"load": {"value": 1e308, "unit": "kg"}}, "#/load/value", {"min": -1000, "max": 2500, "step": 0.001}),
        ({"load": None}, "#/load", None),
        ({"at": "2026-03-02T18:00:00"}, "#/at", None),
        ({"at": "1707-03-02T18:00:00Z"}, "#/at", None),
        ({"lift": "no-such-lift"}, "#/lift", None),
        ({"slot": "019a5c19-0c11-7d20-9b1e-2f3a4b5c6d7e"}, "#/slot", None),
        ({"role": "sprint"}, "#/role", None),
        ({"weight": 100}, "#/weight", None),
    ],
)
def test_a_wrong_member_is_named_and_nothing_is_stored(
    coach: TestClient, session: Session, values: dict[str, Any], pointer: str, allowed: dict[str, Any] | None
) -> None:
    answer = coach.post(session.sets, json={**done(session.slots[0], load=kg(100)), **values})
    assert answer.status_code == 422, answer.text
    error = answer.json()["errors"][0]
    assert error["pointer"] == pointer
    if allowed is not None:
        assert error["allowed"] == allowed
    assert coach.get(session.sets).json()["items"] == []
    assert coach.get(f"/v1/sessions/{session.id}").json()["state"] == "planned"


def test_a_moment_more_than_a_day_ahead_is_refused_with_the_time_here(coach: TestClient, session: Session) -> None:
    def at(ahead: timedelta) -> Any:
        moment = (datetime.now(UTC) + ahead).isoformat()
        return coach.post(session.sets, json=done(session.slots[0], load=kg(100), at=moment))

    refused = at(timedelta(days=1, minutes=1))
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "#/at"
    assert str(datetime.now(UTC).date()) in refused.json()["errors"][0]["detail"]
    assert at(timedelta(hours=23)).status_code == 201


def test_a_free_set_is_learnt_from_and_listed(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    path = f"/v1/athletes/{athlete}/sets"
    for day, lift in ((1, "squat"), (2, "deadlift"), (3, "squat")):
        body = done(lift=lift, load=kg(100 + day), rpe=8, at=f"2026-03-0{day}T18:00:00+01:00")
        answer = coach.post(path, json=body)
        assert answer.status_code == 201
        assert answer.json()["next"] is None
        assert answer.json()["day_estimate"]["lift"] == lift
    listed = coach.get(path, params={"lift": "squat"}).json()["items"]
    assert [one["date"] for one in listed] == ["2026-03-03", "2026-03-01"]
    between = coach.get(path, params={"from": "2026-03-02", "to": "2026-03-02"}).json()["items"]
    assert [one["lift"] for one in between] == ["deadlift"]
    first = coach.get(path, params={"limit": 2}).json()
    second = coach.get(path, params={"limit": 2, "after": first["next_page"]}).json()
    assert [one["date"] for one in first["items"] + second["items"]] == ["2026-03-03", "2026-03-02", "2026-03-01"]
    assert second["next_page"] is None


def test_another_gym_finds_neither_session_nor_set(coach: TestClient, other_gym: GymAtHand, session: Session) -> None:
    logged = log(coach, session, load=kg(100), rpe=5)["set"]
    stranger = other_gym.client("owner")
    assert stranger.get(session.next).status_code == 404
    assert stranger.get(session.sets).status_code == 404
    assert stranger.post(session.sets, json=done(session.slots[0], load=kg(100))).status_code == 404
    path = f"/v1/sets/{logged['id']}"
    for method, more in (
        ("GET", {}), ("DELETE", {"headers": {"If-Match": "*"}}),
        ("PATCH", {"json": {"reps": 2}, "headers": {"If-Match": "*"}}),
    ):  # fmt: skip
        assert stranger.request(method, path, **more).status_code == 404
    assert stranger.get(f"/v1/athletes/{logged['athlete']}/sets").status_code == 404
    free = stranger.post(f"/v1/athletes/{logged['athlete']}/sets", json=done(lift="squat", load=kg(100)))
    assert free.status_code == 404
    assert coach.get(path).json() == logged


def test_a_slot_of_another_session_is_unknown(
    coach: TestClient, gym: GymAtHand, database: Database, session: Session
) -> None:
    other = add_session(database, gym.id, add_athlete(coach, **BY_CURVE), TOP_SET)
    answer = coach.post(session.sets, json=done(other.slots[0], load=kg(100)))
    assert answer.json()["errors"][0]["pointer"] == "#/slot"
    assert coach.get(session.next, params={"slot": other.slots[0]}).status_code == 404
