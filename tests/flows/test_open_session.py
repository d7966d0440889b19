"""What is kept when a session is opened, and what is computed anew when something changes."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from uuid import UUID

import pytest
from sqlalchemy import select

from service.core.units import load
from service.flows import decisions
from service.flows.open_session import answer_to, refresh_open
from service.store import prescribed
from service.store.prescribed import INPUTS, MODEL, ONE_SLOT
from service.store.session import Caller
from service.store.tables import prescriptions, sessions, sets
from tests.api.plans_at_hand import OF_DAY, PUSH, TOP, athlete, block, loads, log_top_set
from tests.counting import statements

NOW = datetime(2026, 11, 25, 9, tzinfo=UTC)

# By hand, as in tests/api/test_sessions.py: of 150 kg, 3 at RPE 7.5 are 127.5 kg and 60 % are 90 kg; after 127.5 kg
# for 3 at RPE 8.5 the day's max is 146.12 kg, 60 % of it 87.67, so 87.5.


@pytest.fixture
def run(database, gym):
    """Runs `f(tx, ...)` of the service in a transaction of the gym."""

    def in_transaction(f, *args, **more):
        with database.transaction(Caller(gym.id, "tests", "The coach", "coach", None), NOW) as tx:
            return f(tx, *args, **more)

    return in_transaction


def opened(coach, laid, at=0):
    path = f"/v1/sessions/{laid['sessions'][at]['id']}"
    assert coach.patch(path, json={"state": "open"}).status_code == 200
    return path, coach.get(path).json()


def revisions(tx, session):
    """All that was ever prescribed in a session, oldest first."""
    p = prescriptions.c
    query = select(p.id, p.model, p.inputs, p.answer).where(p.gym_id == tx.gym, p.session_id == UUID(session))
    return tx.execute(query.order_by(p.created_at, p.id)).all()


def test_what_was_prescribed_can_be_computed_again_from_what_is_kept(coach, run):
    path, session = opened(coach, block(coach))
    log_top_set(coach, session)
    found = run(revisions, session["id"])
    assert [one.model for one in found] == [MODEL, MODEL]
    for revision in found:
        inputs = INPUTS.validate_python(revision.inputs)
        again = [ONE_SLOT.dump_python(one, mode="json") for one in answer_to(inputs)]
        assert again[1:] == revision.answer[1:]
        assert [str(one.id) for one in inputs.slots] == [slot["id"] for slot in session["slots"]]
    assert coach.get(path).json()["computed"]["model"] == MODEL


def test_revisions_are_appended_and_a_set_points_at_the_one_that_it_answered(coach, run):
    _, session = opened(coach, block(coach))
    (first,) = run(revisions, session["id"])
    log_top_set(coach, session)
    kept, second = run(revisions, session["id"])
    assert kept == first

    def pointers(tx):
        answered = select(sets.c.prescription_id).where(sets.c.gym_id == tx.gym)
        in_force = select(sessions.c.prescription_id).where(
            sessions.c.gym_id == tx.gym, sessions.c.id == UUID(session["id"])
        )
        return tx.execute(answered).scalar_one(), tx.execute(in_force).scalar_one()

    assert run(pointers) == (first.id, second.id)
    assert first.answer[0] == second.answer[0]  # the squat keeps its answer
    assert first.answer[1] != second.answer[1]  # 60 % of the day's max follows


def test_only_percentages_of_the_days_max_follow_a_day_estimate(coach, run):
    variation = {**OF_DAY, "target": {**OF_DAY["target"], "of": None}}
    other = {**TOP, "lift": "bench-press", "target": {"kind": "percent", "reps": 3, "percent": 80, "basis": "day"}}
    slots = [TOP, OF_DAY, variation, other, {**OF_DAY, "target": {**OF_DAY["target"], "basis": "tested"}}]
    person = athlete(coach)
    made = coach.post(f"/v1/athletes/{person}/sessions", json={"kind": "free", "date": "2026-11-25", "slots": slots})
    path = made.headers["location"]
    before = coach.patch(path, json={"state": "open"}).json()
    log_top_set(coach, before)
    after = coach.get(path).json()
    assert loads(after["slots"][1], "target_set") == [87.5, 87.5]
    # The pause squat's own max is the squat's times its ratio: it follows too.
    assert [[one["provisional"] for one in shown["slots"][2]["sets"][-2:]] for shown in (before, after)] == [
        [True, True],
        [False, False],
    ]
    for at in (0, 3, 4):
        assert after["slots"][at]["sets"] == before["slots"][at]["sets"]


def test_an_estimate_that_changes_nothing_makes_no_revision(coach, run):
    laid = block(coach)
    path = f"/v1/sessions/{laid['sessions'][1]['id']}"  # bench press by the tested max
    _, session = opened(coach, laid, at=1)
    new = run(refresh_open, UUID(laid["athlete"]), day_of={"bench-press"}, on=date(2026, 11, 28))
    assert new == []
    assert run(refresh_open, UUID(laid["athlete"])) == []
    assert len(run(revisions, session["id"])) == 1
    assert coach.get(path).json()["slots"] == session["slots"]


def override(kind="cap", lift="squat", **more):
    values = {
        "kind": kind,
        "lift": lift,
        "reason": "Knee",
        "from_date": date(2026, 11, 20),
        "until": date(2026, 12, 31),
    }
    return values | more


def test_an_override_reaches_the_open_session_where_no_work_set_was_done(coach, run):
    laid = block(coach)
    path, session = opened(coach, laid)
    made = run(decisions.add_override, laid["athlete"], values=override(load=load(110, "kg")))
    capped = coach.get(path).json()["slots"][0]
    assert loads(capped, "top_set") == [110]
    assert capped["overrides"][0]["id"] == str(made.id)
    assert [one["without_override"]["value"] for one in capped["sets"] if one["role"] == "top_set"] == [127.5]
    assert coach.get(path).json()["slots"][1]["sets"] == session["slots"][1]["sets"]

    run(decisions.change_override, str(made.id), expected=1, values={"load": load(100, "kg")})
    assert loads(coach.get(path).json()["slots"][0], "top_set") == [100]
    run(decisions.end_override, str(made.id), expected=2)
    assert loads(coach.get(path).json()["slots"][0], "top_set") == [127.5]  # it does not count on the day it ends


def test_an_override_leaves_a_lift_that_was_begun_as_it_was(coach, run):
    laid = block(coach)
    path, session = opened(coach, laid)
    log_top_set(coach, session)
    run(decisions.add_override, laid["athlete"], values=override(load=load(110, "kg")))
    assert coach.get(path).json()["slots"][0]["sets"] == session["slots"][0]["sets"]


def test_a_max_that_is_entered_reaches_the_open_session(coach, run):
    laid = block(coach)
    path, _ = opened(coach, laid, at=1)
    values = {"lift": "bench-press", "kind": "tested", "load": load(120, "kg"), "date": date(2026, 11, 24)}
    made = run(decisions.add_max, laid["athlete"], values=values)
    assert loads(coach.get(path).json()["slots"][0], "target_set") == [90, 90, 90]  # 75 % of 120 kg
    run(decisions.change_max, str(made.id), expected=1, values={"load": load(110, "kg")})
    assert loads(coach.get(path).json()["slots"][0], "target_set") == [82.5, 82.5, 82.5]  # 75 % of 110 kg
    run(decisions.remove_max, str(made.id), expected=2)
    assert loads(coach.get(path).json()["slots"][0], "target_set") == [75, 75, 75]  # of the 100 kg before


def test_finished_sessions_never_change(coach, run):
    laid = block(coach)
    path, session = opened(coach, laid, at=1)
    coach.patch(path, json={"state": "finished"})
    values = {"lift": "bench-press", "kind": "tested", "load": load(120, "kg"), "date": date(2026, 11, 24)}
    run(decisions.add_max, laid["athlete"], values=values)
    assert coach.get(path).json()["slots"] == session["slots"]


def test_warm_ups_come_once_also_where_only_the_second_slot_is_computed_anew(coach, run):
    twice = {**PUSH["slots"][0], "target": {**PUSH["slots"][0]["target"], "percent": 60}}
    person = athlete(coach)
    body = {"kind": "free", "date": "2026-11-25", "slots": [PUSH["slots"][0], twice]}
    path = coach.post(f"/v1/athletes/{person}/sessions", json=body).headers["location"]
    session = coach.patch(path, json={"state": "open"}).json()
    assert loads(session["slots"][1], "warm_up") == []
    done = {
        "slot": session["slots"][0]["id"],
        "role": "target_set",
        "load": {"value": 75, "unit": "kg"},
        "reps": 5,
        "at": "2026-11-25T10:00:00+01:00",
    }
    assert coach.post(f"/v1/sessions/{session['id']}/sets", json=done).status_code == 201
    values = {"lift": "bench-press", "kind": "tested", "load": load(120, "kg"), "date": date(2026, 11, 24)}
    run(decisions.add_max, person, values=values)
    first, second = coach.get(path).json()["slots"]
    assert loads(first, "target_set") == [75, 75, 75]  # begun
    assert (loads(second, "target_set"), loads(second, "warm_up")) == ([72.5, 72.5, 72.5], [])  # 60 % of 120 is 72


def test_an_open_session_is_read_in_three_statements(coach, run, database):
    _, session = opened(coach, block(coach))
    with statements(database) as seen:
        coach.get(f"/v1/sessions/{session['id']}")
    assert len(seen) == 3


def test_the_kept_answer_is_told_apart_slot_by_slot_without_being_parsed(coach, run):
    _, session = opened(coach, block(coach))
    page = run(prescribed.page, session["id"])
    assert page.answers is not None
    assert [ONE_SLOT.validate_json(one).lift for one in page.answers] == [slot["lift"] for slot in session["slots"]]


def test_a_session_opened_by_two_at_once_is_opened_once(coach, gym, run):
    laid = block(coach)
    path = f"/v1/sessions/{laid['sessions'][0]['id']}"
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(lambda _: gym.client("log").patch(path, json={"state": "open"}), range(4)))
    assert [answer.status_code for answer in answers] == [200] * 4
    assert len({answer.content for answer in answers}) == 1
    assert len(run(revisions, laid["sessions"][0]["id"])) == 1
