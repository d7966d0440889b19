"""A group's day on one page: loads, who shares a bar, what that needs, and what a substitute noted."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store import memories
from service.store.session import Caller, Database
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.lifting import TOP_SET, add_athlete, add_max, add_session, kg

ON = date(2026, 3, 2)
HALL = {
    "name": "Quarry hall",
    "bars": [{"load": kg(20), "count": 2}],
    "plates": [{"load": kg(mass), "count": 4} for mass in (20, 10, 5, 2.5)],
    "dumbbells": [kg(20)],
}


def fixed(value: float, lift: str = "squat", sets: int = 2) -> dict[str, Any]:
    """Sets with a load that is written, so that what hangs is known."""
    target = {"kind": "load", "reps": 5, "load": kg(value)}
    scheme = {"kind": "sets_at_target", "sets": sets}
    return {"lift": lift, "accessory": True, "scheme": scheme, "target": target}


@pytest.fixture
def hall(coach: TestClient) -> str:
    """Two bars, and two pairs of each plate."""
    made = coach.post("/v1/places", json=HALL)
    assert made.status_code == 201, made.text
    return str(made.json()["id"])


@pytest.fixture
def group(coach: TestClient) -> str:
    """A group, empty."""
    return str(coach.post("/v1/groups", json={"name": "Early evening"}).json()["id"])


def join(coach: TestClient, database: Database, gym: GymAtHand, group: str, name: str, *slots: Any, **who: Any) -> str:
    """An athlete of the group with a session on the day."""
    athlete = add_athlete(coach, **{"name": name, **who})
    assert coach.put(f"/v1/groups/{group}/athletes/{athlete}").status_code in (200, 201)
    if slots:
        add_session(database, gym.id, athlete, *slots, on=ON)
    return athlete


def test_who_lifts_alike_shares_a_bar_and_each_turn_tells_the_change(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    for name, value in (("Ada", 60), ("Bo", 50), ("Cem", 40)):
        join(coach, database, gym, group, name, fixed(value), place=hall)
    join(coach, database, gym, group, "Dot")
    day = coach.get(f"/v1/groups/{group}/today?on={ON}")
    assert day.status_code == 200, day.text
    body = day.json()
    (place,) = body["places"]
    assert (place["place"]["name"], body["without_session"]) == ("Quarry hall", ["Dot"])
    assert [one["name"] for one in place["sessions"]] == ["Ada", "Bo", "Cem"]
    (wave,) = place["rounds"][0]["shared"]["waves"]
    # 40 kg: 10 a side. 50: 10 and 5. 60: 20. Two bars at once: Cem and Bo go well together
    assert [bar["names"] for bar in wave["bars"]] == [["Cem", "Bo"], ["Ada"]]
    assert [turn["text"] for turn in wave["bars"][0]["turns"]] == [
        "Each side: put on 10.",
        "Each side: put on 5.",
        "Each side: take off 5.",
        "Each side: put on 5.",
    ]
    assert [(one["plate"]["value"], one["needed"], one["available"]) for one in wave["plates"]] == [
        (20, 2, 4), (10, 2, 4), (5, 2, 4),
    ]  # fmt: skip


def test_the_page_to_print_has_everybody_the_order_and_the_notes(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    for name, value in (("Ada", 60), ("Bo", 50), ("Cem", 40)):
        join(coach, database, gym, group, name, fixed(value), fixed(20, "dumbbell-row"), place=hall)
    coach.put(f"/v1/groups/{group}/notes/2026-02-27", json={"text": "The light bar has a loose collar."})
    page = coach.get(f"/v1/groups/{group}/today?on={ON}", headers={"Accept": "text/plain"})
    assert page.status_code == 200, page.text
    lines = page.text.splitlines()
    assert lines[0] == "Early evening - Monday 2 March 2026"
    assert lines[1].startswith("Note of 27 February 2026 by ")
    assert "  Squat: 2 times 5 with 60 kg" in lines
    assert "  Squat, bar of 20 kg: Cem, Bo" in lines
    assert "    Bo   set       50 kg     x 5      on 5" in lines
    assert "  Plates at once: 2 of 20 kg, 2 of 10 kg, 2 of 5 kg" in lines
    assert "  the pair of 20 kg: Ada, Bo, Cem take turns" in lines
    assert max(map(len, lines)) <= 80


def test_the_page_prints_what_a_coach_has_decided_and_the_load_without_it(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    ada = join(coach, database, gym, group, "Ada", fixed(60), place=hall)
    cap = {"kind": "cap", "lift": "squat", "load": {"value": 50, "unit": "kg"}, "reason": "Knee"}
    made = coach.post(f"/v1/athletes/{ada}/overrides", json={**cap, "from": str(ON), "until": str(ON)})
    assert made.status_code == 201, made.text
    page = coach.get(f"/v1/groups/{group}/today?on={ON}", headers={"Accept": "text/plain"}).text
    assert "  Squat: 2 times 5 with 50 kg" in page
    assert (
        "Coach: No more than 50 kg in the squat, until 2 March 2026 (decided by coach key: Knee). Without it: 60 kg."
        in " ".join(page.split())
    )


def test_who_has_two_sessions_on_the_day_is_one_person(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    ada = join(coach, database, gym, group, "Ada", fixed(60), place=hall)
    add_session(database, gym.id, ada, fixed(40), on=ON)
    join(coach, database, gym, group, "Bo", fixed(50), place=hall)
    (place,) = coach.get(f"/v1/groups/{group}/today?on={ON}").json()["places"]
    assert [one["name"] for one in place["sessions"]] == ["Ada", "Ada", "Bo"]
    # Ada's second session comes after her first: in the second round she has the bar to herself.
    named = [[bar["names"] for bar in wave["bars"]] for one in place["rounds"] for wave in one["shared"]["waves"]]
    assert [sorted(name for bar in bars for name in bar) for bars in named] == [["Ada", "Bo"], ["Ada"]]


def test_only_one_place_can_be_asked_for_and_each_has_its_own_part(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    cellar = coach.post("/v1/places", json={**HALL, "name": "Cellar"}).json()["id"]
    join(coach, database, gym, group, "Ada", fixed(60), place=hall)
    join(coach, database, gym, group, "Bo", fixed(60), place=cellar)
    both = coach.get(f"/v1/groups/{group}/today?on={ON}").json()["places"]
    assert sorted(one["place"]["name"] for one in both) == ["Cellar", "Quarry hall"]
    one = coach.get(f"/v1/groups/{group}/today?on={ON}&place={cellar}").json()
    assert [place["place"]["name"] for place in one["places"]] == ["Cellar"]
    assert one["without_session"] == ["Ada"]


def test_the_tag_tells_when_nothing_changed_and_others_see_nothing(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    join(coach, database, gym, group, "Ada", fixed(60), place=hall)
    path = f"/v1/groups/{group}/today?on={ON}"
    tag = coach.get(path).headers["etag"]
    assert coach.get(path, headers={"If-None-Match": tag}).status_code == 304
    assert coach.get("/v1/groups/01a22400-77f5-7ab1-9098-faa9f8de5e6d/today").status_code == 404
    assert coach.get(f"{path}&place=ref:nowhere").status_code == 404


def test_a_round_in_which_nothing_is_shared_is_not_printed(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    plank = {
        "lift": "plank",
        "scheme": {"kind": "sets_at_target", "sets": 2},
        "target": {"kind": "time", "seconds": 30},
    }
    join(coach, database, gym, group, "Ada", fixed(60), plank, place=hall)
    page = coach.get(f"/v1/groups/{group}/today?on={ON}", headers={"Accept": "text/plain"}).text
    assert "Plank: 2 times 30 seconds" in page
    assert [line for line in page.splitlines() if line.startswith("Round")] == ["Round 1"]


GROWING = {
    "lift": "bench-press",
    "scheme": {
        "kind": "sets_at_target",
        "sets": 2,
        "add_load": {"when": "all_sets_complete", "step": kg(2.5), "after_failures": 2, "less_percent": 10},
    },
    "target": {"kind": "load", "reps": 5, "load": kg(40)},
}


def test_a_page_of_many_takes_as_many_statements_as_one_of_two(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    counts = []
    for more in (2, 6):
        for at in range(more):
            athlete = join(coach, database, gym, group, f"L{more}{at}", TOP_SET, GROWING, fixed(40), place=hall)
            add_max(coach, athlete, date=f"{ON}")
        with statements(database) as seen:
            page = coach.get(f"/v1/groups/{group}/today?on={ON}")
        assert page.status_code == 200, page.text
        counts.append(len(seen))
    assert len(page.json()["places"][0]["sessions"]) == 8
    assert counts[0] == counts[1]


def test_a_page_of_many_whose_logs_have_to_be_read_anew_is_there_at_the_first_call(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    for at in range(5):
        athlete = join(coach, database, gym, group, f"L{at}", TOP_SET, place=hall)
        add_max(coach, athlete)
    path = f"/v1/groups/{group}/today?on={ON}"
    before = coach.get(path).json()
    with database.transaction(Caller(gym.id, "", "tests", "owner", None), datetime.now(UTC)) as tx:
        memories.forget_all(tx)  # as a change of the whole gym, or a new version of the model, does
    assert coach.get(path).json() == before


def test_a_place_that_ends_below_what_was_meant_says_so_at_the_set_on_the_page_and_in_the_next_one(
    coach: TestClient, database: Database, gym: GymAtHand, group: str, hall: str
) -> None:
    """The hall ends at 20 + 2 x 2 x 37.5 = 170 kg: 198 kg were meant for Ada."""
    join(coach, database, gym, group, "Ada", fixed(198), place=hall)
    join(coach, database, gym, group, "Bo", fixed(60), place=hall)
    body = coach.get(f"/v1/groups/{group}/today?on={ON}").json()
    (place,) = body["places"]
    ada = place["sessions"][0]
    assert [one["code"] for one in ada["slots"][0]["cautions"]] == ["heaviest_too_light"]
    (advice,) = place["rounds"][0]["shared"]["advice"]
    assert advice == (
        "Squat: the heaviest that can be loaded here, 170 kg, is too light for Ada: more repetitions, a harder "
        "variation, or another place."
    )
    path = f"/v1/athletes/{ada['athlete']}/today?on={ON}"
    for text in (coach.get(path, headers={"Accept": "text/plain"}).text, coach.get(path).text):
        assert "the plates here reach 170 kg at most, and 198 kg was" in " ".join(text.split())
    done = {"slot": coach.get(path).json()["sessions"][0]["slots"][0]["id"], "load": kg(170), "reps": 5}
    then = coach.post(f"/v1/sessions/{ada['session']}/sets", json=done).json()["next"]
    assert "heaviest_too_light" in {one["code"] for one in then["cautions"]}
