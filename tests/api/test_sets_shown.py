"""What logged sets show of a max: the day's, the average, the percentages that follow; and which sets show nothing."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import select
from starlette.testclient import TestClient

from service.store.session import Caller, Database
from service.store.tables import day_estimates
from tests.conftest import GymAtHand
from tests.lifting import BY_CURVE, TOP_SET, Session, add_athlete, add_max, add_session, done, kg


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


def free(coach: TestClient, athlete: str, lift: str, value: float, **values: Any) -> dict[str, Any]:
    """Log a free set of an evening in March; the answer."""
    sent = {**done(lift=lift, load=kg(value), at="2026-03-02T18:00:00+01:00"), **values}
    answer = coach.post(f"/v1/athletes/{athlete}/sets", json=sent)
    assert answer.status_code == 201, answer.text
    body: dict[str, Any] = answer.json()
    return body


def test_a_technique_lifts_day_is_its_heaviest_made_single(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    assert free(coach, athlete, "snatch", 60, reps=1)["day_estimate"]["max"]["value"] == 60
    assert free(coach, athlete, "snatch", 65, reps=2)["day_estimate"] is None
    assert free(coach, athlete, "snatch", 70, reps=0, made=False)["day_estimate"] is None
    assert free(coach, athlete, "snatch", 57.5, reps=1)["day_estimate"] is None
    heaviest = free(coach, athlete, "snatch", 67.5, reps=1, ended_by="choice")
    assert (heaviest["day_estimate"]["max"]["value"], heaviest["day_estimate"]["range"]) == (67.5, None)


def test_maxes_with_other_support_do_not_mix(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    wraps = free(coach, athlete, "squat", 140, rpe=9, support=["belt", "wraps"])
    # n = 4, share 0.88741: 140 / 0.88741 = 157.76, and 120 / 0.88741 = 135.23
    assert wraps["day_estimate"]["max"]["value"] == pytest.approx(157.76, abs=0.005)
    belt = free(coach, athlete, "squat", 120, rpe=9, support=["belt", "sleeves"])
    assert belt["day_estimate"]["max"]["value"] == pytest.approx(135.23, abs=0.005)


def test_machines_are_compared_with_themselves_only(coach: TestClient, gym: GymAtHand) -> None:
    """The leg press of one place says nothing about that of another."""
    places = []
    for name in ("left", "right"):
        stack = {"name": f"{name} press", "lifts": ["leg-press"], "steps": [kg(step) for step in range(20, 301, 20)]}
        kit = {"bars": [], "collars": kg(0), "plates": [], "dumbbells": [], "stacks": [stack]}
        made = gym.client("owner").post("/v1/places", json={"name": name, **kit})
        assert made.status_code == 201, made.text
        places.append(made.json()["id"])
    athlete = add_athlete(coach, place=places[0], **BY_CURVE)
    assert free(coach, athlete, "leg-press", 200, rpe=9)["day_estimate"] is not None
    tag = coach.get(f"/v1/athletes/{athlete}").headers["etag"]
    moved = coach.patch(f"/v1/athletes/{athlete}", json={"place": places[1]}, headers={"If-Match": tag})
    assert moved.status_code == 200
    assert free(coach, athlete, "leg-press", 100, rpe=9)["day_estimate"] is not None
    assert free(coach, athlete, "leg-press", 80, rpe=9)["day_estimate"] is None


def test_a_machines_step_without_a_mass_gives_no_max(coach: TestClient) -> None:
    answer = free(coach, add_athlete(coach, **BY_CURVE), "leg-press", 0, load={"value": 7, "unit": "step"}, rpe=9)
    assert answer["set"]["load"] == {"value": 7, "unit": "step", "kg": None}
    assert answer["day_estimate"] is None


def test_of_equal_singles_the_first_gives_the_day_its_max_however_they_arrive(
    coach: TestClient, database: Database, gym: GymAtHand
) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    free(coach, athlete, "snatch", 60, reps=1, at="2026-03-02T19:00:00+01:00")
    first = free(coach, athlete, "snatch", 60, reps=1, at="2026-03-02T18:00:00+01:00")["set"]["id"]
    free(coach, athlete, "snatch", 60, reps=1, at="2026-03-02T18:30:00+01:00")
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        source = tx.execute(select(day_estimates.c.set_id).where(day_estimates.c.athlete_id == UUID(athlete))).scalar()
    assert str(source) == first


def test_a_second_heaviest_set_changes_the_day_only_when_it_is_heavier(coach: TestClient, session: Session) -> None:
    log(coach, session, role="top_set", load=kg(127.5), rpe=8.5)
    assert log(coach, session, role="top_set", load=kg(125), rpe=7)["day_estimate"] is None
    assert log(coach, session, role="top_set", load=kg(127.5), rpe=9.5)["day_estimate"] is None
    heavier = log(coach, session, role="top_set", load=kg(130), rpe=9)
    # n = 3 + 1 = 4; (1 + 0.116 x 3)^-0.4 = 1.348^-0.4 = 0.88741; 130 / 0.88741 = 146.49
    assert heavier["day_estimate"]["max"]["value"] == pytest.approx(146.49, abs=0.005)


@pytest.mark.parametrize("ended_by", ["technique", "command", "grip", "other", "pain"])
def test_a_set_that_strength_did_not_end_gives_the_day_no_max(
    coach: TestClient, session: Session, ended_by: str
) -> None:
    answer = log(coach, session, role="top_set", load=kg(127.5), rpe=8.5, ended_by=ended_by)
    assert answer["day_estimate"] is None


def test_a_miss_by_strength_gives_the_day_a_max(coach: TestClient, session: Session) -> None:
    answer = log(coach, session, role="top_set", load=kg(127.5), reps=2, made=False)
    assert answer["set"]["ended_by"] == "strength"
    # n = 2.3; (1 + 0.116 x 1.3)^-0.4 = 1.1508^-0.4 = 0.94537; 127.5 / 0.94537 = 134.87
    assert answer["day_estimate"]["max"]["value"] == pytest.approx(134.87, abs=0.005)
    assert answer["day_estimate"]["range"] is None
    (step,) = answer["day_estimate"]["why"]
    assert (step["formula"], [one["value"] for one in step["inputs"]]) == ("max_today", [2.3, 127.5, 94.54])
    assert step["text"].startswith("127.5 kg for 2.3 repetitions, the missed one counted as 0.3: 94.54 % of the max")


def test_only_bodyweight_lifts_take_assistance(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    path = f"/v1/athletes/{athlete}/sets"
    assert coach.post(path, json=done(lift="pull-up", load=kg(-20), rpe=8)).status_code == 201
    assert coach.post(path, json=done(lift="pull-up", rpe=8)).json()["set"]["load"]["value"] == 0
    assert coach.post(path, json=done(lift="plank", load=kg(10))).json()["errors"][0]["pointer"] == "#/load"


def test_a_squat_is_estimated_without_the_body_though_it_was_weighed(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    coach.put(f"/v1/athletes/{athlete}/body-weights/2026-03-01", json={"load": kg(80)})
    path = f"/v1/athletes/{athlete}/sets"
    first = coach.post(path, json=done(lift="squat", load=kg(100), rpe=9, at="2026-03-02T18:00:00+01:00")).json()
    # n = 4, share 0.88741: 100 / 0.88741 = 112.69, then 105 / 0.88741 = 118.32
    assert first["day_estimate"]["max"]["value"] == pytest.approx(112.69, abs=0.005)
    heavier = coach.post(path, json=done(lift="squat", load=kg(105), rpe=9, at="2026-03-02T18:05:00+01:00")).json()
    assert heavier["day_estimate"]["max"]["value"] == pytest.approx(118.32, abs=0.005)


def test_a_body_without_a_weight_gives_no_estimate_and_the_answer_says_why(coach: TestClient) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    path = f"/v1/athletes/{athlete}/sets"
    body = done(lift="pull-up", load=kg(20), reps=3, rpe=9, at="2026-03-02T18:00:00+01:00")
    without = coach.post(path, json=body).json()
    assert without["day_estimate"] is None
    assert [caution["code"] for caution in without["cautions"]] == ["no_body_weight"]
    coach.put(f"/v1/athletes/{athlete}/body-weights/2026-03-01", json={"load": kg(80)})
    heavier = coach.post(path, json={**body, "load": kg(22.5)}).json()
    # 102.5 kg, n = 4, share 0.88741: 115.505 kg, of which 80 are the body
    assert heavier["day_estimate"]["max"]["value"] == pytest.approx(35.505, abs=0.005)
    assert heavier["cautions"] == []


def test_a_percentage_of_the_day_follows_the_heavy_set(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    add_max(coach, athlete)
    paused = {
        "lift": "pause-squat",
        "scheme": {"kind": "sets_at_target", "sets": 2},
        "target": {"kind": "percent", "reps": 3, "percent": 70, "basis": "day", "of": "squat", "valid_days": 1},
    }
    session = add_session(database, gym.id, athlete, {**TOP_SET, "scheme": {"kind": "top_set"}}, paused)
    shown = coach.get(f"/v1/sessions/{session.id}").json()["slots"][1]["sets"]
    assert [one["provisional"] for one in shown if one["role"] == "target_set"] == [True, True]
    log(coach, session, role="top_set", load=kg(127.5), rpe=8.5, at="2026-03-02T18:00:00+01:00")
    after = coach.post(session.sets, json=done(session.slots[1], role="warm_up", load=kg(60), rpe=3)).json()["next"]
    while after["role"] == "warm_up":
        sent = done(session.slots[1], role="warm_up", load=after["load"], reps=after["reps"])
        after = coach.post(session.sets, json=sent).json()["next"]
    assert after["provisional"] is False
    assert after["load"]["value"] == 102.5  # 70 % of 146.118 is 102.28


def test_a_word_about_the_effort_is_quoted_in_the_days_estimate(coach: TestClient, session: Session) -> None:
    # 127.5 of 150 was expected to be RPE 7.7, to the half 7.5; heavier is 8.5: n = 4.5, 127.5 / 0.87258 = 146.12
    estimate = log(coach, session, role="top_set", load=kg(127.5), felt="heavier")["day_estimate"]
    assert estimate["max"]["value"] == pytest.approx(146.12, abs=0.005)
    told = "3 repetitions said to be heavier than expected (RPE 8.5): "
    assert estimate["why"][0]["text"].startswith(told)


@pytest.mark.parametrize("value", [0.001, 2500])
def test_a_load_that_nobody_lifts_is_stored_all_the_same(coach: TestClient, session: Session, value: float) -> None:
    for more in ({"rpe": 9}, {"felt": "heavier"}, {"made": False}):
        answer = coach.post(session.sets, json=done(session.slots[0], load=kg(value), reps=100, **more))
        assert answer.status_code == 201, answer.text
        assert free(coach, answer.json()["set"]["athlete"], "squat", value, **more)["set"]["load"]["value"] == value
    assert coach.get(session.next).status_code == 200
