"""/v1/absences: who was away, what the way back looks like, and what it does to loads and sets."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from pydantic import TypeAdapter
from starlette.testclient import TestClient

from service.flows.way_back import WayBack
from tests.lifting import add_max, add_session, kg

OSLO = ZoneInfo("Europe/Oslo")  # the time zone of the gyms under test
PRESS: dict[str, Any] = {
    "lift": "bench-press",
    "scheme": {"kind": "sets_at_target", "sets": 4},
    "target": {"kind": "percent", "reps": 5, "percent": 80, "basis": "tested"},
}
"""Of 150 kg: four sets with 120."""
WAY_BACK: TypeAdapter[WayBack] = TypeAdapter(WayBack)


def day(ahead: int = 0) -> date:
    return datetime.now(OSLO).date() + timedelta(days=ahead)


def athlete(coach: TestClient, **more: Any) -> str:
    made = coach.post("/v1/athletes", json={"name": "Runa Fell", **more})
    assert made.status_code == 201, made.text
    identity = str(made.json()["id"])
    add_max(coach, identity, "bench-press", 150)
    return identity


def away(client: TestClient, person: str, first: int, last: int | None, kind: str = "holiday", **more: Any) -> Any:
    body = {"kind": kind, "from": str(day(first)), **more}
    if last is not None:
        body["until"] = str(day(last))
    return client.post(f"/v1/athletes/{person}/absences", json=body)


def made(answer: Any) -> dict[str, Any]:
    assert answer.status_code in (200, 201), answer.text
    found: dict[str, Any] = answer.json()
    return found


def patch(client: TestClient, one: dict[str, Any], **body: Any) -> Any:
    tag = {"If-Match": f'"{one["version"]}"'}
    return client.patch(f"/v1/absences/{one['id']}", json=body, headers=tag)


def trained(coach: TestClient, person: str, *ahead: int, lift: str = "squat") -> None:
    for days in ahead:
        at = datetime.combine(day(days), datetime.min.time(), OSLO).replace(hour=18)
        body = {"lift": lift, "role": "free", "load": kg(60), "reps": 5, "rpe": 6, "at": at.isoformat()}
        made(coach.post(f"/v1/athletes/{person}/sets", json=body))


def session(database, gym, person: str, *slots: dict[str, Any], ahead: int = 0, kind: str = "free") -> str:
    return f"/v1/sessions/{add_session(database, gym.id, person, *(slots or (PRESS,)), on=day(ahead), kind=kind).id}"


def slot(client: TestClient, path: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(path).json()["slots"][0]
    return found


def work(client: TestClient, path: str) -> list[float]:
    return [one["load"]["value"] for one in slot(client, path)["sets"] if one["role"] == "target_set"]


def codes(client: TestClient, path: str) -> list[str]:
    return [one["code"] for one in slot(client, path)["cautions"]]


def test_an_absence_is_entered_read_changed_and_taken_back(coach: TestClient) -> None:
    person = athlete(coach)
    answer = away(coach, person, -40, -13, rule={"less_percent_a_week": 2, "most_percent": None})
    one = made(answer)
    assert answer.headers["location"] == f"/v1/absences/{one['id']}"
    assert (one["athlete"], one["kind"], one["from"], one["until"]) == (
        person, "holiday", str(day(-40)), str(day(-13)),
    )  # fmt: skip
    assert (one["agreed"], one["agreed_on"], one["agreed_by"]) == (False, None, None)
    assert (one["rule"], one["made_by"], one["version"]) == ({"less_percent_a_week": 2}, "coach key", 1)
    assert coach.get(f"/v1/absences/{one['id']}").json() == one
    longer = made(patch(coach, one, until=str(day(-10)), rule=None, kind="illness"))
    assert (longer["until"], longer["rule"], longer["kind"], longer["version"]) == (str(day(-10)), None, "illness", 2)
    assert patch(coach, one, until=str(day(-9))).status_code == 412
    assert coach.patch(f"/v1/absences/{one['id']}", json={"until": None}).status_code == 428
    assert made(patch(coach, longer, until=None))["until"] is None
    assert coach.delete(f"/v1/absences/{one['id']}", headers={"If-Match": "*"}).status_code == 204
    assert coach.get(f"/v1/absences/{one['id']}").status_code == 404


def test_a_repeat_of_the_request_enters_it_once(coach: TestClient) -> None:
    person = athlete(coach)
    body = {"kind": "holiday", "from": str(day(1)), "until": str(day(9))}
    path, once = f"/v1/athletes/{person}/absences", {"Idempotency-Key": "holiday-1"}
    first, again = (coach.post(path, json=body, headers=once) for _ in range(2))
    assert first.content == again.content
    assert again.headers["idempotent-replayed"] == "true"
    assert len(coach.get(path).json()["items"]) == 1


def test_the_newest_stand_first_and_a_time_can_be_asked_for(coach: TestClient) -> None:
    person = athlete(coach)
    ids = [made(away(coach, person, *days))["id"] for days in ((-90, -80), (-50, -45), (-9, None))]
    path = f"/v1/athletes/{person}/absences"

    def listed(**query: Any) -> list[str]:
        return [one["id"] for one in coach.get(path, params=query).json()["items"]]

    assert listed() == ids[::-1]
    assert listed(**{"from": str(day(-45)), "to": str(day(-20))}) == [ids[1]]
    assert listed(**{"from": str(day(-44))}) == [ids[2]]
    first = coach.get(path, params={"limit": 2}).json()
    rest = coach.get(path, params={"limit": 2, "after": first["next_page"]}).json()
    assert [one["id"] for one in (*first["items"], *rest["items"])] == ids[::-1]


@pytest.mark.parametrize(
    ("first", "last", "pointer", "other"),
    [(-15, -5, "#/from", (-20, -10)), (-25, -15, "#/until", (-20, -10)), (-30, None, "#/from", (-20, -10)),
     (-5, None, "#/from", (-8, None)), (-10, -10, "#/from", (-20, -10))],
)  # fmt: skip
def test_two_absences_have_no_day_in_common(
    coach: TestClient, first: int, last: int | None, pointer: str, other: tuple[int, int | None]
) -> None:
    person = athlete(coach)
    made(away(coach, person, *other))
    refused = away(coach, person, first, last)
    assert refused.status_code == 422
    (error,) = refused.json()["errors"]
    assert error["pointer"] == pointer
    assert str(day(other[0])) in error["detail"]
    assert made(away(coach, athlete(coach), first, last))  # of somebody else it may be


def test_a_change_must_not_overlap_another_absence_nor_end_before_it_begins(coach: TestClient) -> None:
    person = athlete(coach)
    made(away(coach, person, -20, -10))
    one = made(away(coach, person, -5, -1))
    overlapping = patch(coach, one, **{"from": str(day(-12))}).json()["errors"][0]
    assert overlapping["pointer"] == "#/from"
    assert overlapping["detail"].startswith("must not overlap another absence, which is entered from")
    assert patch(coach, one, until=str(day(-6))).json()["errors"][0]["pointer"] == "#/until"
    assert made(patch(coach, one, **{"from": str(day(-9))}))["version"] == 2


def test_a_diagnosis_has_no_place(coach: TestClient) -> None:
    person = athlete(coach)
    for word in ("note", "reason", "diagnosis", "text"):
        refused = away(coach, person, -9, -1, "illness", **{word: "something"})
        assert refused.json()["errors"][0] == {
            "pointer": f"#/{word}", "code": "unknown_member", "detail": "is not a member of this",
        }  # fmt: skip


def test_a_lifter_enters_an_absence_and_the_coach_s_word_is_the_coach_s(coach: TestClient, gym) -> None:
    person, other = athlete(coach), athlete(coach)
    key = gym.client("owner").post("/v1/keys", json={"name": "phone", "right": "log", "athlete": person}).json()["key"]
    phone = TestClient(gym.app, headers={"Authorization": f"Bearer {key}"})
    assert away(phone, other, -9, -1).status_code == 404
    theirs = made(away(coach, other, -9, -1))
    assert phone.get(f"/v1/absences/{theirs['id']}").status_code == 404
    assert phone.get(f"/v1/absences/{theirs['id']}/return").status_code == 404
    one = made(away(phone, person, -9, -1, "injury"))
    refused = patch(phone, one, agreed=True, rule={"off": True})
    assert refused.status_code == 403
    assert refused.json()["type"] == "/problems/missing-right"
    assert [error["pointer"] for error in refused.json()["errors"]] == ["#/agreed", "#/rule"]
    assert away(phone, person, -30, -20, "injury", agreed=True).status_code == 403
    assert patch(phone, one, kind="holiday").status_code == 409
    assert phone.delete(f"/v1/absences/{one['id']}", headers={"If-Match": "*"}).status_code == 409
    one = made(patch(phone, one, until=str(day(-2))))
    agreed = made(patch(coach, one, agreed=True))
    assert (agreed["agreed"], agreed["agreed_on"], agreed["agreed_by"]) == (True, str(day()), "coach key")
    taken_back = made(patch(coach, agreed, agreed=None))
    assert (taken_back["agreed"], taken_back["agreed_on"], taken_back["agreed_by"]) == (False, None, None)
    assert away(gym.client("read"), person, -60, -50).status_code == 403


def test_only_an_injury_waits_for_the_coach(coach: TestClient) -> None:
    person = athlete(coach)
    refused = away(coach, person, -9, -1, agreed=True)
    assert refused.json()["errors"][0]["pointer"] == "#/agreed"
    one = made(away(coach, person, -29, -20, "injury", agreed=True))
    assert one["agreed_on"] == str(day(-19))  # entered afterwards: since the day after it
    other = made(patch(coach, one, kind="other"))
    assert (other["agreed"], other["agreed_on"]) == (False, None)


def test_what_was_announced_eases_loads_and_sets(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    before = coach.get(path)
    assert work(coach, path) == [120, 120, 120, 120]
    assert codes(coach, path) == []
    one = made(away(coach, person, -28, -1))
    # Four weeks: 1.5 % for each of three weeks after the first. 95.5 % of 120 is 114.6; 67 % of four sets is 2.68.
    assert work(coach, path) == [115, 115, 115]
    assert codes(coach, path) == ["returning"]
    first = next(one for one in slot(coach, path)["sets"] if one["role"] == "target_set")
    load, counted = (step for step in first["why"] if step["formula"] == "return")
    assert load["result"]["value"] == pytest.approx(114.6)
    assert counted["result"]["value"] == 3
    assert coach.get(path).headers["etag"] != before.headers["etag"]
    # Three weeks instead: 3 %, 116.4, and the absence taken back altogether.
    made(patch(coach, one, **{"from": str(day(-21))}))
    assert work(coach, path) == [117.5, 117.5, 117.5]
    coach.delete(f"/v1/absences/{one['id']}", headers={"If-Match": "*"})
    assert coach.get(path).json()["slots"] == before.json()["slots"]


def test_a_gap_in_training_counts_without_being_told(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    trained(coach, person, -60, -30, -28)
    path = session(database, gym, person)
    assert work(coach, path) == [115, 115, 115]
    late = session(database, gym, person, ahead=30)
    assert work(coach, late) == [120, 120, 120, 120]  # nobody counts as away on days to come


def test_half_way_back_half_of_it_comes_off(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    trained(coach, person, -35, -7, -3)
    # Back for seven of fourteen days: 2.25 % off 120 is 117.3; 4 x 0.835 is 3.34.
    assert work(coach, session(database, gym, person)) == [117.5, 117.5, 117.5]


def test_who_trains_regularly_is_not_eased(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    trained(coach, person, -40, -27, -14, -1)
    assert work(coach, session(database, gym, person)) == [120, 120, 120, 120]


def test_a_gym_or_an_athlete_may_have_it_otherwise(coach: TestClient, database, gym) -> None:
    person = athlete(coach, settings={"return_rule": {"less_percent_a_week": 5, "most_percent": 20}})
    path = session(database, gym, person)
    made(away(coach, person, -28, -1))
    assert work(coach, path) == [102.5, 102.5, 102.5]  # 15 % off: 102

    def settings(**rule: Any) -> Any:
        body = {"settings": {"return_rule": rule or None}}
        return coach.patch(f"/v1/athletes/{person}", json=body, headers={"If-Match": "*"})

    off = made(settings(off=True))
    assert off["settings"]["return_rule"]["off"] is True
    assert work(coach, path) == [120, 120, 120, 120]
    assert codes(coach, path) == []
    shown = made(settings())["settings"]["return_rule"]
    assert (shown["off"], shown["from_days"], shown["less_percent_a_week"]) == (False, 14, 1.5)
    assert work(coach, path) == [115, 115, 115]
    refused = settings(from_days=1, most_percent=80)
    pointers = {error["pointer"] for error in refused.json()["errors"]}
    assert pointers == {"#/settings/return_rule/from_days", "#/settings/return_rule/most_percent"}


def test_one_absence_may_have_it_otherwise(coach: TestClient, database, gym) -> None:
    person = athlete(coach, settings={"return_rule": {"fewer_sets_percent": 0}})
    path = session(database, gym, person)
    made(away(coach, person, -28, -1, "illness", rule={"less_percent_a_week": 3}))
    assert work(coach, path) == [110, 110, 110, 110]  # 9 % off: 109.2; the sets are the athlete's rule


def test_after_an_injury_the_coach_comes_first(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    one = made(away(coach, person, -28, -8, "injury"))
    trained(coach, person, -7, -5, -3)
    # Three weeks away: 3 % off 120 is 116.4. Training since changes nothing before the coach's word.
    assert work(coach, path) == [117.5, 117.5, 117.5]
    assert codes(coach, path)[:2] == ["ask_the_coach", "returning"]
    made(patch(coach, one, agreed=True))
    assert codes(coach, path) == ["returning"]
    assert work(coach, path) == [117.5, 117.5, 117.5]
    ahead = session(database, gym, person, ahead=11)
    assert work(coach, ahead) == [120, 120, 120, 120]  # half of 21 days, 10.5, are over


def test_after_an_absence_nothing_is_asked_that_is_harder_than_the_last_work_before_it(
    coach: TestClient, database, gym
) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    for ahead, load, more in ((-22, 110, {}), (-24, 119, {"method": "drop_set"}), (-50, 118, {})):
        at = datetime.combine(day(ahead), datetime.min.time(), OSLO).replace(hour=18)
        body = {"lift": "bench-press", "role": "free", "load": kg(load), "reps": 5, "at": at.isoformat(), **more}
        made(coach.post(f"/v1/athletes/{person}/sets", json=body))
    one = made(away(coach, person, -21, -1, "injury"))
    # 120 are planned. The last complete five were 110, 22 days ago (a drop set, and one of eight weeks ago, are
    # none); 3 % off is 106.7.
    assert work(coach, path) == [107.5, 107.5, 107.5]
    first = next(one for one in slot(coach, path)["sets"] if one["role"] == "target_set")
    held, off = (step for step in first["why"] if step["formula"] == "return" and step["result"]["unit"] == "kg")
    assert (held["result"]["value"], off["result"]["value"]) == (110, pytest.approx(106.7))
    assert held["text"] == (
        "The hardest set before the absence or since was 5 repetitions with 110 kg, 22 days ago. On the way back "
        "nothing harder is asked: 110 kg instead of 120 kg."
    )
    told = made(coach.get(f"/v1/absences/{one['id']}/return"))
    (line,) = told["sessions"][0]["slots"]
    assert (line["load"]["value"], line["usual_load"]["value"]) == (107.5, 120)
    # The coach's own load stands.
    order = {
        "kind": "load",
        "lift": "bench-press",
        "load": kg(115),
        "until": str(day(5)),
        "reason": "seen on the floor",
    }
    made(coach.post(f"/v1/athletes/{person}/overrides", json=order))
    assert work(coach, path)[0] == 115


def test_a_short_injury_waits_too(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    made(away(coach, person, -4, -2, "injury"))
    assert codes(coach, path)[0] == "ask_the_coach"
    assert work(coach, path) == [120, 120, 120]


def test_a_test_is_not_eased_but_warned_of(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    made(away(coach, person, -28, -1))
    path = session(database, gym, person, kind="test")
    assert work(coach, path) == [120, 120, 120, 120]
    assert codes(coach, path) == ["returning"]


def test_an_open_session_follows_as_far_as_it_was_not_begun(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    path = session(database, gym, person, PRESS, PRESS)
    opened = coach.patch(path, json={"state": "open"}, headers={"If-Match": "*"}).json()
    body = {"slot": opened["slots"][0]["id"], "role": "target_set", "load": kg(120), "reps": 5, "rpe": 7}
    made(coach.post(f"{path}/sets", json=body))
    made(away(coach, person, -28, -1))
    first, second = (
        [one["load"]["value"] for one in each["sets"] if one["role"] == "target_set"]
        for each in coach.get(path).json()["slots"]
    )
    assert first == [120, 120, 120, 120]
    assert second == [115, 115, 115]


def test_the_next_set_keeps_what_comes_off(coach: TestClient, database, gym) -> None:
    person = athlete(coach, settings={"curve": "default"})
    asked = PRESS | {"target": {"kind": "effort", "reps": 5, "rpe": 8}}
    path = session(database, gym, person, asked)
    usual = work(coach, path)[0]
    made(away(coach, person, -56, -1))
    # Eight weeks are seven after the first: 10.5 %, at most 10.
    eased = work(coach, path)
    assert eased[0] <= 0.9 * usual + 1.25
    (identity,) = (one["id"] for one in coach.get(path).json()["slots"])
    body = {"slot": identity, "role": "target_set", "load": kg(eased[0]), "reps": 5, "rpe": 5}
    answer = made(coach.post(f"{path}/sets", json=body))["next"]
    assert answer["load"]["value"] == eased[0]
    assert "returning" in [one["code"] for one in answer["cautions"]]


def test_the_max_of_a_day_from_before_an_absence_is_void(coach: TestClient, database, gym) -> None:
    person = athlete(coach, settings={"return_rule": {"from_days": 7}})
    at = datetime.combine(day(-9), datetime.min.time(), OSLO).replace(hour=18)
    heavy = {"lift": "bench-press", "role": "top_set", "load": kg(160), "reps": 1, "rpe": 9.5, "at": at.isoformat()}
    told = made(coach.post(f"/v1/athletes/{person}/sets", json=heavy))["day_estimate"]
    assert told is not None
    of_day = PRESS | {"target": {"kind": "percent", "reps": 5, "percent": 80, "basis": "day", "valid_days": 14}}
    path = session(database, gym, person, of_day)
    first = next(one for one in slot(coach, path)["sets"] if one["role"] == "target_set")
    assert "before_absence" in [step["formula"] for step in first["why"]]
    assert first["provisional"]
    off = {"settings": {"return_rule": {"off": True}}}
    made(coach.patch(f"/v1/athletes/{person}", json=off, headers={"If-Match": "*"}))
    first = next(one for one in slot(coach, path)["sets"] if one["role"] == "target_set")
    assert "before_absence" not in [step["formula"] for step in first["why"]]
    assert not first["provisional"]


def test_calculations_for_an_athlete_are_eased_and_those_with_a_bare_max_are_not(coach: TestClient) -> None:
    person = athlete(coach)
    made(away(coach, person, -28, -1))
    asked = PRESS | {"athlete": person}
    eased = made(coach.post("/v1/prescriptions", json=asked))
    assert [one["load"]["value"] for one in eased["sets"] if one["role"] == "target_set"] == [115, 115, 115]
    bare = made(coach.post("/v1/prescriptions", json=PRESS | {"maxes": [{"basis": "tested", "load": kg(150)}]}))
    assert [one["load"]["value"] for one in bare["sets"] if one["role"] == "target_set"] == [120] * 4
    earlier = made(coach.post("/v1/prescriptions", json=asked | {"on": str(day(-40))}))
    assert [one["load"]["value"] for one in earlier["sets"] if one["role"] == "target_set"] == [120] * 4
    # What can be expected of a load has nothing to do with it.
    body = {"athlete": person, "lift": "bench-press", "reps": 5, "rpe": 8}
    expected = made(coach.post("/v1/expectations", json=body))
    assert "return" not in [step["formula"] for step in expected["why"]]


def test_the_way_back_is_shown_before_it_begins(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    trained(coach, person, -2)
    paths = [session(database, gym, person, ahead=ahead) for ahead in (28, 35, 42)]
    one = made(away(coach, person, 0, 27))
    answer = coach.get(f"/v1/absences/{one['id']}/return")
    found = made(answer)
    assert WAY_BACK.dump_json(WAY_BACK.validate_json(answer.content)) + b"\n" == answer.content
    assert (found["back"], found["expected"], found["absent_days"]) == (str(day(28)), True, 28)
    assert (found["until"], found["waits"]) == (str(day(42)), False)
    # 4.5 % and 33 % of the sets on the first of fourteen days, half of it on the eighth.
    assert len(found["days"]) == 14
    assert found["days"][0] == {"date": str(day(28)), "less_percent": 4.5, "sets_percent": 67}
    assert found["days"][7] == {"date": str(day(35)), "less_percent": 2.25, "sets_percent": 83.5}
    sessions = found["sessions"]
    assert [f"/v1/sessions/{each['session']}" for each in sessions] == paths[:2]
    first = sessions[0]["slots"][0]
    assert (first["load"]["value"], first["usual_load"]["value"]) == (115, 120)
    assert (first["sets"], first["usual_sets"], first["role"], first["reps"]) == (3, 4, "target_set", 5)
    assert [caution["code"] for caution in found["cautions"]] == ["returning"]
    pounds = coach.get(f"/v1/absences/{one['id']}/return?unit=lb").json()["sessions"][0]["slots"][0]
    # By 0.45359237 kg a pound: 115 kg are 253.532 lb, 120 kg 264.555 lb.
    assert pounds["load"] == {"value": 253.532, "unit": "lb", "kg": 115}
    assert pounds["usual_load"] == {"value": 264.555, "unit": "lb", "kg": 120}
    # The rule is adjustable: a slower return, from further down.
    made(patch(coach, one, rule={"less_percent_a_week": 3, "back_percent": 75}))
    slower = coach.get(f"/v1/absences/{one['id']}/return").json()
    assert (slower["days"][0]["less_percent"], len(slower["days"])) == (9, 21)
    assert len(slower["sessions"]) == 3


def test_the_way_back_from_an_injury_waits(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    session(database, gym, person, ahead=1)
    one = made(away(coach, person, -28, None, "injury"))
    found = made(coach.get(f"/v1/absences/{one['id']}/return"))
    assert (found["waits"], found["until"]) == (True, None)
    assert found["cautions"][0]["code"] == "ask_the_coach"
    assert "until your coach agrees" in found["text"]
    assert len(found["sessions"]) == 1


@pytest.mark.parametrize("kind", ["illness", "injury"])
def test_a_way_back_reads_the_same_on_each_day_before_it(coach: TestClient, kind: str) -> None:
    person = athlete(coach)
    trained(coach, person, -3)
    # Days 0 to 13: 14, one week after the first. 1.5 % and a third of the sets, from day 14 on; the log has 17 days.
    one = made(away(coach, person, 0, 13, kind))
    for asked_on in (0, 4, 9, 12, 13, 14):
        found = made(coach.get(f"/v1/absences/{one['id']}/return", params={"on": str(day(asked_on))}))
        assert (found["back"], found["absent_days"]) == (str(day(14)), 14), asked_on
        assert found["text"].startswith(
            "After 14 days without training loads start 1.5 % lighter and 67 % of the work sets are done"
        )
        if kind == "injury":
            assert {(each["less_percent"], each["sets_percent"]) for each in found["days"]} == {(1.5, 67)}
        else:
            assert [each["less_percent"] for each in found["days"]] == [1.5, 1.29, 1.07, 0.86, 0.64, 0.43, 0.21]


def test_after_months_the_way_back_says_that_what_is_known_is_old(coach: TestClient) -> None:
    person = athlete(coach)
    one = made(away(coach, person, -120, -1))
    found = made(coach.get(f"/v1/absences/{one['id']}/return"))
    assert [caution["code"] for caution in found["cautions"]] == ["returning", "old_max"]
    assert "a first session looks for a load anew" in found["cautions"][1]["text"]


def test_a_short_absence_has_no_way_back(coach: TestClient) -> None:
    person = athlete(coach)
    one = made(away(coach, person, -9, -1))
    found = made(coach.get(f"/v1/absences/{one['id']}/return"))
    assert (found["days"], found["sessions"], found["until"], found["absent_days"]) == ([], [], None, 9)
    begun = made(away(coach, person, 0, None))
    found = made(coach.get(f"/v1/absences/{begun['id']}/return"))
    assert found["days"] == []


def test_a_way_back_that_is_long_over_is_said_to_be_over(coach: TestClient) -> None:
    person = athlete(coach)
    trained(coach, person, -130, -65, -58, -51, -44, -37, -30, -23, -16, -9, -2)
    one = made(away(coach, person, -129, -66))
    found = made(coach.get(f"/v1/absences/{one['id']}/return"))
    assert (found["back"], found["days"], found["sessions"]) == (None, [], [])
    assert "is over" in found["text"]


def test_another_gym_finds_nothing(coach: TestClient, other_gym) -> None:
    person = athlete(coach)
    one = made(away(coach, person, -9, -1))
    stranger = other_gym.client("coach")
    for path in (f"/v1/absences/{one['id']}", f"/v1/absences/{one['id']}/return", f"/v1/athletes/{person}/absences"):
        assert stranger.get(path).status_code == 404
    assert stranger.delete(f"/v1/absences/{one['id']}", headers={"If-Match": "*"}).status_code == 404
    assert away(stranger, person, -30, -20).status_code == 404


@pytest.mark.parametrize(("member", "meant"), [("fewer_sets_percent", 33), ("back_percent", 50), ("most_percent", 10)])
def test_a_part_of_one_where_percent_are_meant_is_refused_with_what_may_be_meant(coach, member, meant):
    person = athlete(coach)
    body = {"kind": "holiday", "from": str(day(-30)), "until": str(day(-1)), "rule": {member: meant / 100}}
    answer = coach.post(f"/v1/athletes/{person}/absences", json=body)
    assert answer.status_code == 422, answer.text
    (error,) = answer.json()["errors"]
    assert (error["pointer"], error["code"]) == (f"#/rule/{member}", "out_of_range")
    assert error["detail"].endswith(f"did you mean {meant}?")
