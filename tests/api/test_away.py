"""Whoever is entered as away is told so wherever loads are told, and is not stopped."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from service.core.words import day as in_words
from tests.api.test_absences import PRESS, athlete, away, codes, day, made, patch, session, slot, trained, work
from tests.api.test_preview import TEMPLATE
from tests.lifting import add_max, kg

AWAY = "entered_as_away"


def first_caution(client: TestClient, path: str) -> str:
    (one, *_) = slot(client, path)["cautions"]
    assert one["code"] == AWAY
    return str(one["text"])


@pytest.mark.parametrize(
    ("kind", "who", "then"),
    [
        ("illness", " (illness)", "While you are not well, rest, and if in doubt ask a licensed practitioner."),
        ("holiday", " (holiday)", "If it is over sooner, give it its last day."),
        ("other", "", "If it is over sooner, give it its last day."),
    ],
)
def test_loads_inside_an_absence_begin_with_the_question_whether_to_train(
    coach: TestClient, database, gym, kind: str, who: str, then: str
) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    one = made(away(coach, person, -1, None, kind))
    # A day away takes nothing off; the loads stand as they are, for the coach on the floor to decide.
    assert (work(coach, path), codes(coach, path)) == ([120, 120, 120, 120], [AWAY])
    since = in_words(day(-1))
    assert first_caution(coach, path) == (
        f"Entered as away{who} since {since}: is this a day to train? Ask your coach first. {then}"
    )
    made(patch(coach, one, until=str(day(3))))
    assert f" since {since} until {in_words(day(3))}: is this" in first_caution(coach, path)
    made(patch(coach, made(coach.get(f"/v1/absences/{one['id']}")), until=str(day(-1))))
    assert codes(coach, path) == []


def test_today_the_printed_page_a_calculation_and_the_load_list_say_so_too(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    session(database, gym, person)
    made(away(coach, person, -1, None, "illness"))
    today = f"/v1/athletes/{person}/today"
    (found,) = coach.get(today).json()["sessions"]
    assert [one["code"] for one in found["slots"][0]["cautions"]] == [AWAY]
    assert "Take care: Entered as away (illness)" in coach.get(today, headers={"Accept": "text/plain"}).text
    calculated = made(coach.post("/v1/prescriptions", json=PRESS | {"athlete": person}))
    assert calculated["cautions"][0]["code"] == AWAY
    listed = made(coach.get(f"/v1/athletes/{person}/load-list", params={"lift": "bench-press"}))
    assert listed["cautions"][0]["code"] == AWAY


def test_an_injury_asks_for_the_coach_as_well(coach: TestClient, database, gym) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    made(away(coach, person, -1, 5, "injury"))
    assert codes(coach, path)[:2] == [AWAY, "ask_the_coach"]


def test_deep_inside_an_absence_the_way_back_is_told_for_those_who_train_all_the_same(
    coach: TestClient, database, gym
) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    made(away(coach, person, -15, 3))
    # 15 days are 8/7 weeks after the first: 1.714 % off 120 is 117.94, and 2.68 of four sets.
    assert (work(coach, path), codes(coach, path)) == ([117.5, 117.5, 117.5], [AWAY, "returning"])
    back = slot(coach, path)["cautions"][1]["text"]
    assert back.startswith("If you train all the same, you come back from 15 days without training: ")


def test_nobody_is_stopped_and_the_first_training_ends_an_absence_without_a_last_day(
    coach: TestClient, database, gym
) -> None:
    person = athlete(coach)
    path = session(database, gym, person)
    made(away(coach, person, -9, None))
    opened = made(coach.patch(path, json={"state": "open"}, headers={"If-Match": "*"}))
    body = {"slot": opened["slots"][0]["id"], "role": "target_set", "load": kg(120), "reps": 5}
    coming = made(coach.post(f"{path}/sets", json=body))["next"]
    assert (coming["kind"], coming["cautions"][0]["code"]) == ("set", AWAY)
    other = athlete(coach)
    made(away(coach, other, -9, None))
    trained(coach, other, -4)
    assert codes(coach, session(database, gym, other)) == []


def test_the_preview_marks_the_sessions_inside_a_planned_absence(coach: TestClient) -> None:
    person = athlete(coach)
    add_max(coach, person, value=200)
    template = coach.post("/v1/templates", json=TEMPLATE).json()["id"]
    order = {"template": template, "athletes": [person], "start": str(day(7)), "weekdays": ["monday"]}
    block = coach.post("/v1/blocks", json=order).json()["items"][0]["block"]["id"]

    def shown() -> list[dict[str, Any]]:
        return list(made(coach.get(f"/v1/blocks/{block}/preview"))["sessions"])

    before = shown()
    second = before[1]["date"]
    ahead = next(number for number in range(40) if str(day(number)) == second)
    made(away(coach, person, ahead - 2, ahead + 1, "holiday"))
    marked = shown()
    assert [one["away"] for one in marked] == [
        None, {"kind": "holiday", "from": str(day(ahead - 2)), "until": str(day(ahead + 1))}, None,
    ]  # fmt: skip
    assert [one["cautions"][0]["code"] for one in marked if one["cautions"]][:1] == [AWAY]
    assert [one["slots"] for one in marked] == [one["slots"] for one in before]


def test_the_page_of_a_group_names_those_who_are_away_and_gives_them_no_turn(coach: TestClient, database, gym) -> None:
    group = coach.post("/v1/groups", json={"name": "Early evening"}).json()["id"]
    people = {}
    for name in ("Ada", "Bo", "Cem", "Dot"):
        people[name] = athlete(coach)
        coach.patch(f"/v1/athletes/{people[name]}", json={"name": name}, headers={"If-Match": "*"})
        assert coach.put(f"/v1/groups/{group}/athletes/{people[name]}").status_code in (200, 201)
    paths = {name: session(database, gym, people[name]) for name in ("Ada", "Bo", "Cem")}
    made(away(coach, people["Bo"], -1, None, "illness"))
    made(away(coach, people["Dot"], -1, 4))
    made(away(coach, people["Cem"], -1, None, "illness"))
    made(coach.patch(paths["Cem"], json={"state": "open"}, headers={"If-Match": "*"}))  # trains all the same
    page = f"/v1/groups/{group}/today?on={day()}"
    found = made(coach.get(page))
    assert [(one["name"], one["absence"]) for one in found["away"]] == [
        ("Bo", {"kind": "illness", "from": str(day(-1)), "until": None}),
        ("Dot", {"kind": "holiday", "from": str(day(-1)), "until": str(day(4))}),
    ]
    (place,) = found["places"]
    assert [one["name"] for one in place["sessions"]] == ["Ada", "Cem"]
    names = {name for one in place["rounds"] for wave in one["shared"]["waves"] for bar in wave["bars"]
             for name in bar["names"]}  # fmt: skip
    assert "Bo" not in names
    assert found["without_session"] == []
    text = coach.get(page, headers={"Accept": "text/plain"}).text.replace("\n  ", " ")
    assert f"Away: Bo (illness) since {in_words(day(-1))}; Dot (holiday) since" in text
