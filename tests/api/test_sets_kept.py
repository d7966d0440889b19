"""Sets that are put under the phone's own ids, corrected and deleted; and what follows from it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import select
from starlette.testclient import TestClient

from service.store import sets
from service.store.ids import new_id
from service.store.session import Caller, Database
from service.store.tables import sessions
from tests.conftest import GymAtHand
from tests.lifting import BY_CURVE, TOP_SET, Session, add_athlete, add_max, add_session, done, kg

AT = "2026-03-02T18:{:02}:00+01:00"


@pytest.fixture
def athlete(coach: TestClient) -> str:
    """An athlete with a tested squat of 150 kg, whose loads nothing eases: the sets are of months ago."""
    identity = add_athlete(coach, settings={**BY_CURVE["settings"], "return_rule": {"off": True}})
    add_max(coach, identity)
    return identity


@pytest.fixture
def session(gym: GymAtHand, database: Database, athlete: str) -> Session:
    """A session with the slot of the worked example."""
    return add_session(database, gym.id, athlete, TOP_SET)


def body(session: Session, **values: Any) -> dict[str, Any]:
    """A top set of the session, as a phone puts it."""
    first = {"session": session.id, "role": "top_set", "load": kg(127.5), "rpe": 8.5, "at": AT.format(10)}
    return done(session.slots[0], **{**first, **values})


def rolling(coach: TestClient, athlete: str) -> float:
    """The moving average of the squat, as an effort target of a new day sees it: the load for one repetition to
    failure is the max itself."""
    slot = {"lift": "squat", "scheme": {"kind": "top_set"}, "target": {"kind": "effort", "reps": 1, "rpe": 10}}
    asked = {"athlete": athlete, **slot, "on": "2026-09-01"}
    answer = coach.post("/v1/prescriptions", json=asked)
    assert answer.status_code == 200, answer.text
    (top,) = [one for one in answer.json()["sets"] if one["role"] == "top_set"]
    exact: float = top["loading"]["exact"]["value"]
    return exact


@pytest.mark.parametrize("identity", [str(new_id()), "9b2f6f0e-6f6f-4f4e-8a57-0d3c5d3f1a11"])
def test_a_set_put_twice_is_stored_once(coach: TestClient, session: Session, identity: str) -> None:
    path = f"/v1/sets/{identity}"
    first = coach.put(path, json=body(session))
    assert (first.status_code, first.headers["etag"]) == (201, '"1"')
    again = coach.put(path, json=body(session))
    assert (again.status_code, again.json()) == (200, first.json())
    assert coach.get(path).json() == first.json()
    assert len(coach.get(session.sets).json()["items"]) == 1


def test_a_retry_that_left_role_and_moment_to_the_service_is_the_same_set(coach: TestClient, session: Session) -> None:
    path, sent = f"/v1/sets/{new_id()}", body(session)
    del sent["role"], sent["at"]
    first = coach.put(path, json=sent)
    again = coach.put(path, json=sent)
    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json()


def test_other_content_needs_the_version_and_an_old_retry_undoes_nothing(coach: TestClient, session: Session) -> None:
    path = f"/v1/sets/{new_id()}"
    assert coach.put(path, json=body(session)).status_code == 201
    other = body(session, reps=2)
    refused = coach.put(path, json=other)
    assert (refused.status_code, refused.headers["etag"]) == (428, '"1"')
    assert coach.put(path, json=other, headers={"If-Match": '"9"'}).status_code == 412
    assert coach.put(path, json=other, headers={"If-None-Match": "*"}).status_code == 412
    corrected = coach.put(path, json=other, headers={"If-Match": '"1"'})
    assert (corrected.status_code, corrected.json()["version"], corrected.json()["reps"]) == (200, 2, 2)
    assert coach.put(path, json=body(session)).status_code == 428  # the first try, once more
    assert coach.get(path).json() == corrected.json()


def test_the_id_of_a_deleted_set_is_never_used_again(coach: TestClient, session: Session) -> None:
    path = f"/v1/sets/{new_id()}"
    assert coach.put(path, json=body(session)).status_code == 201
    assert coach.delete(path).status_code == 428
    assert coach.delete(path, headers={"If-Match": '"4"'}).status_code == 412
    assert coach.delete(path, headers={"If-Match": '"1"'}).status_code == 204
    assert coach.delete(path, headers={"If-Match": '"1"'}).status_code == 404
    assert coach.get(path).status_code == 404
    assert coach.patch(path, json={"reps": 2}, headers={"If-Match": "*"}).status_code == 404
    again = coach.put(path, json=body(session))
    assert (again.status_code, again.json()["type"]) == (409, "/problems/conflict")
    assert coach.put(path, json=body(session), headers={"If-Match": '"2"'}).status_code == 409
    assert coach.get(session.sets).json()["items"] == []


def test_every_version_of_a_set_is_kept(
    coach: TestClient, gym: GymAtHand, database: Database, session: Session
) -> None:
    identity = new_id()
    path = f"/v1/sets/{identity}"
    coach.put(path, json=body(session))
    gym.client("log").patch(path, json={"load": kg(125)}, headers={"If-Match": '"1"'})
    coach.patch(path, json={"rir": 2}, headers={"If-Match": '"2"'})
    coach.delete(path, headers={"If-Match": '"3"'})
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        kept = sets.history(tx, identity)
    assert [(one.version, one.made_by) for one in kept] == [(1, "coach key"), (2, "log key"), (3, "coach key")]
    assert [(one.set.load.value if one.set.load else None, one.set.rpe, one.set.rir) for one in kept] == [
        (127.5, 8.5, None), (125, 8.5, None), (125, None, 2),
    ]  # fmt: skip


def test_a_correction_still_answers_what_was_prescribed_then(
    coach: TestClient, gym: GymAtHand, database: Database, session: Session, athlete: str
) -> None:
    identity = new_id()
    coach.put(f"/v1/sets/{identity}", json=body(session, role="build_up"))

    def answered() -> tuple[UUID | None, UUID]:
        with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
            in_force = tx.execute(select(sessions.c.prescription_id).where(sessions.c.id == UUID(session.id))).scalar()
            return sets.get(tx, str(identity)).prescription, UUID(str(in_force))

    first, in_force = answered()
    assert first == in_force
    override = {"lift": "squat", "kind": "cap", "load": kg(110), "reason": "sore", "until": "2026-04-01"}
    made = coach.post(f"/v1/athletes/{athlete}/overrides", json={**override, "from": "2026-03-01"})
    assert made.status_code == 201, made.text
    coach.patch(f"/v1/sets/{identity}", json={"reps": 2}, headers={"If-Match": '"1"'})
    corrected, newer = answered()
    assert newer != in_force  # the cap made a new revision
    assert corrected == first


def test_a_correction_changes_what_is_sent_and_null_clears(coach: TestClient, session: Session) -> None:
    path = f"/v1/sets/{new_id()}"
    before = coach.put(path, json=body(session, note="slow")).json()
    after = coach.patch(path, json={"note": None, "felt": "heavier"}, headers={"If-Match": '"1"'}).json()
    assert after == {**before, "version": 2, "note": None, "felt": "heavier", "rpe": None}
    unchanged = coach.patch(path, json={"felt": "heavier"}, headers={"If-Match": '"2"'})
    assert (unchanged.status_code, unchanged.json()["version"]) == (200, 2)
    missed = coach.patch(path, json={"made": False, "felt": None}, headers={"If-Match": '"2"'}).json()
    assert (missed["ended_by"], missed["felt"]) == ("strength", None)
    refused = coach.patch(path, json={"reps": 0, "made": True}, headers={"If-Match": '"3"'})
    assert refused.json()["errors"][0]["pointer"] == "#/reps"
    for wrong, pointer in (({"or_more": True}, "#/or_more"), ({"load": kg(-1)}, "#/load/value")):
        refused = coach.patch(path, json=wrong, headers={"If-Match": '"3"'})
        assert refused.json()["errors"][0]["pointer"] == pointer
    assert coach.get(path).json() == missed


def test_after_a_correction_the_next_set_and_the_days_max_are_others(
    coach: TestClient, session: Session, athlete: str
) -> None:
    slip = coach.post(session.sets, json=body_without(session, load=kg(147.5), rpe=9)).json()
    # n = 4, share 0.88741: 147.5 / 0.88741 = 166.21; 8 % off 147.5 is 135.7: 135
    assert slip["day_estimate"]["max"]["value"] == pytest.approx(166.21, abs=0.005)
    assert coach.get(session.next).json()["load"]["value"] == 135
    assert rolling(coach, athlete) == pytest.approx(166.21, abs=0.005)
    coach.patch(f"/v1/sets/{slip['set']['id']}", json={"load": kg(127.5)}, headers={"If-Match": '"1"'})
    # 127.5 / 0.88741 = 143.68; 8 % off 127.5 is 117.3: 117.5
    assert coach.get(session.next).json()["load"]["value"] == 117.5
    assert rolling(coach, athlete) == pytest.approx(143.68, abs=0.005)
    coach.delete(f"/v1/sets/{slip['set']['id']}", headers={"If-Match": '"2"'})
    assert rolling(coach, athlete) == pytest.approx(150, abs=0.0005)  # nothing logged: the tested max
    assert coach.get(session.next).json()["role"] == "warm_up"


def body_without(session: Session, **values: Any) -> dict[str, Any]:
    """As `body`, for the session's own path."""
    sent = body(session, **values)
    del sent["session"]
    return sent


def test_days_average_in_the_order_in_which_they_were_not_in_which_they_arrived(
    coach: TestClient, athlete: str
) -> None:
    """First 166.21 (147.5 x 3 at RPE 9), three days later 143.68 (127.5): 166.21 + 0.3 x (143.68 - 166.21) = 159.45."""
    path = f"/v1/athletes/{athlete}/sets"
    late = done(lift="squat", load=kg(127.5), rpe=9, at="2026-03-05T18:00:00+01:00")
    early = done(lift="squat", load=kg(147.5), rpe=9, at="2026-03-02T18:00:00+01:00")
    coach.post(path, json=late)
    assert rolling(coach, athlete) == pytest.approx(143.68, abs=0.005)
    answer = coach.post(path, json=early).json()
    assert answer["day_estimate"]["date"] == "2026-03-02"
    assert rolling(coach, athlete) == pytest.approx(159.45, abs=0.005)


def test_a_body_weight_corrected_later_changes_what_pull_ups_have_shown(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    weights = f"/v1/athletes/{athlete}/body-weights"
    pull_up = done(lift="pull-up", load=kg(20), rpe=9, at="2026-03-02T18:00:00+01:00")
    coach.post(f"/v1/athletes/{athlete}/sets", json=pull_up)

    def max_of_the_day() -> float | None:
        slot = {"lift": "pull-up", "scheme": {"kind": "top_set"}, "target": {"kind": "effort", "reps": 1, "rpe": 10}}
        answer = coach.post("/v1/prescriptions", json={"athlete": athlete, **slot, "on": "2026-03-02"})
        if answer.status_code != 200:
            return None
        (top,) = [one for one in answer.json()["sets"] if one["role"] == "top_set"]
        exact: float | None = top["loading"]["exact"]["value"] if top["loading"] else None
        return exact

    assert max_of_the_day() is None
    coach.put(f"{weights}/2026-03-01", json={"load": kg(80)})
    # 100 kg, n = 4, share 0.88741: 112.687 kg, 32.687 of them added
    assert max_of_the_day() == pytest.approx(32.69, abs=0.005)
    coach.put(f"{weights}/2026-03-01", json={"load": kg(85)})
    # 105 / 0.88741 = 118.322, less 85
    assert max_of_the_day() == pytest.approx(33.32, abs=0.005)
    coach.delete(f"{weights}/2026-03-01")
    assert max_of_the_day() is None


def test_a_phones_key_touches_its_own_athlete_only(
    coach: TestClient, gym: GymAtHand, session: Session, athlete: str, database: Database
) -> None:
    other = add_athlete(coach, name="Odd", **BY_CURVE)
    others = add_session(database, gym.id, other, TOP_SET)
    theirs = coach.post(others.sets, json=body_without(others)).json()["set"]
    key = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": athlete}).json()["key"]
    phone = TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})
    assert phone.post(session.sets, json=body_without(session)).status_code == 201
    assert phone.get(others.next).status_code == 404
    assert phone.get(others.sets).status_code == 404
    assert phone.post(others.sets, json=body_without(others)).status_code == 404
    path = f"/v1/sets/{theirs['id']}"
    assert phone.get(path).status_code == 404
    assert phone.put(path, json=body(session)).status_code == 404
    assert phone.patch(path, json={"reps": 1}, headers={"If-Match": "*"}).status_code == 404
    assert phone.delete(path, headers={"If-Match": "*"}).status_code == 404
    assert phone.get(f"/v1/athletes/{other}/sets").status_code == 404
    put = phone.put(f"/v1/sets/{new_id()}", json=body(others))
    assert put.json()["errors"][0]["pointer"] == "#/session"
    queued = {
        "sets": [{"id": str(new_id()), "athlete": other, "lift": "squat", "reps": 1, "load": kg(1), "at": AT.format(1)}]
    }
    assert (
        phone.post("/v1/sets", json=queued).json()["results"][0]["problem"]["errors"][0]["pointer"]
        == "#/sets/0/athlete"
    )
    assert coach.get(path).json() == theirs


def test_an_id_that_another_athletes_set_has_is_refused(
    coach: TestClient, gym: GymAtHand, session: Session, database: Database
) -> None:
    path = f"/v1/sets/{new_id()}"
    assert coach.put(path, json=body(session)).status_code == 201
    others = add_session(database, gym.id, add_athlete(coach, name="Odd", **BY_CURVE), TOP_SET)
    assert coach.put(path, json=body(others)).status_code == 409
    stranger = UUID(path.rsplit("/", 1)[1])
    answer = coach.post(others.sets, json={**body_without(others), "id": str(stranger)})
    assert answer.status_code == 409


@pytest.mark.parametrize(
    ("values", "pointer"),
    [
        ({"session": None}, "#/session"),
        ({"athlete": "ref:nobody"}, "#/athlete"),
        ({"session": str(new_id())}, "#/session"),
        ({"session": None, "athlete": "ref:nobody", "slot": None}, "#/lift"),
        ({"id": str(new_id())}, "#/id"),
    ],
)
def test_a_put_says_where_the_set_belongs(
    coach: TestClient, session: Session, values: dict[str, Any], pointer: str
) -> None:
    answer = coach.put(f"/v1/sets/{new_id()}", json={**body(session), **values})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == pointer
