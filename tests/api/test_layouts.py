"""/v1/blocks by wishes: for groups, backwards, at places by weekday; what is kept of it. 2026-11-30 is a Monday."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from tests.api.plans_at_hand import TOP, athlete, template

SINGLE = {
    "lift": "deadlift",
    "scheme": {"kind": "top_set"},
    "target": {"kind": "effort", "reps": 2, "rpe": 8},
}
EASY = {
    "lift": "bench-press",
    "scheme": {"kind": "sets_at_target", "sets": 3},
    "target": {"kind": "effort", "reps": 8, "rpe": 7},
}


def three_days(coach, weeks=2):
    """A template with a heavy squat, a heavy deadlift and a light bench press each week; the id."""
    sessions = [{"name": name, "slots": [slot]} for name, slot in (("Squat", TOP), ("Pull", SINGLE), ("Press", EASY))]
    made = coach.post("/v1/templates", json={"name": "Three days", "weeks": [{"sessions": sessions}] * weeks})
    assert made.status_code == 201, made.text
    return made.json()["id"]


def lay_out(coach, *, dry=False, **order):
    body = {"start": "2026-11-30", "weekdays": ["monday", "wednesday", "friday"]} | order
    body = {name: value for name, value in body.items() if value is not None}
    answer = coach.post("/v1/blocks", params={"dry_run": dry}, json=body)
    assert answer.status_code == (200 if dry else 201), answer.text
    return answer.json()


def dates(results, at=0):
    return [one["date"][5:] for one in results["items"][at]["block"]["sessions"]]


def test_a_dry_run_answers_the_days_and_the_wishes_that_cannot_be_met(coach):
    wishes = {"apart": [{"lifts": ["squat", "deadlift"], "days": 2}]}
    found = lay_out(coach, dry=True, template=three_days(coach, weeks=1), athletes=[athlete(coach)], wishes=wishes)
    # Squat is heavy on Monday, the deadlift on Wednesday: one free day, and no other day for it.
    assert dates(found) == ["11-30", "12-02", "12-04"]
    assert (found["starts_on"], found["ends_on"]) == ("2026-11-30", "2026-12-04")
    (unmet,) = found["unmet"]
    assert (unmet["wish"], unmet["week"], unmet["number"], unmet["date"]) == ("#/wishes/apart/0", 1, 2, "2026-12-02")
    assert "with 1 free day between them; 2 wished" in unmet["text"]
    assert found["told"][:1] == [
        "With the sessions of each week in another order all wishes would be met: ask for it with reorder."
    ]
    assert coach.get("/v1/blocks").json()["items"] == []


def test_in_another_order_sessions_keep_their_numbers(coach):
    wishes = {"apart": [{"lifts": ["squat", "deadlift"], "days": 2}]}
    made = lay_out(coach, template=three_days(coach, weeks=1), athletes=[athlete(coach)], wishes=wishes, reorder=True)
    sessions = made["items"][0]["block"]["sessions"]
    assert [(one["number"], one["name"], one["date"]) for one in sessions] == [
        (1, "Squat", "2026-11-30"),
        (3, "Press", "2026-12-02"),
        (2, "Pull", "2026-12-04"),
    ]
    assert made["unmet"] == []


def test_backwards_from_a_date_with_holidays(coach):
    # To Saturday 16 January 2027. Friday 8 is off: the first week's last session is on Wednesday 6, the others before.
    made = lay_out(
        coach,
        template=three_days(coach),
        athletes=[athlete(coach)],
        start=None,
        end="2027-01-16",
        wishes={"holidays": [{"from": "2027-01-08"}]},
    )
    assert dates(made) == ["01-01", "01-04", "01-06", "01-11", "01-13", "01-15"]
    block = made["items"][0]["block"]
    read = coach.get(f"/v1/blocks/{block['id']}").json()
    assert read["start"] == "2027-01-01"
    assert read["layout"] == {
        "weekdays": ["monday", "wednesday", "friday"],
        "end": "2027-01-16",
        "wishes": {"holidays": [{"from": "2027-01-08", "until": "2027-01-08"}]},
    }


def test_a_block_that_does_not_fit_between_two_dates_is_refused_with_the_day(coach):
    body = {
        "template": three_days(coach),
        "athletes": [athlete(coach)],
        "start": "2026-11-30",
        "end": "2026-12-10",
        "weekdays": ["monday", "wednesday", "friday"],
    }
    (refused,) = coach.post("/v1/blocks", json=body).json()["errors"]
    assert (refused["pointer"], refused["detail"]) == (
        "#/end",
        "must be later: session 3 of week 2, Press, would come on Friday 11 December 2026",
    )
    assert coach.get("/v1/blocks").json()["items"] == []


@pytest.mark.parametrize(("kind", "second"), [("block", "12-28"), ("test", "12-25"), ("meet", "12-25")])
def test_a_date_that_is_kept_light_has_only_its_own_test_or_meet_on_it(coach, kind, second):
    # Mondays and Fridays, to Friday 25 December: a heavy pull of the block waits until after it; a test is on the day.
    sessions = [{"name": "Squat", "slots": [TOP]}, {"name": "Pull", "kind": kind, "slots": [SINGLE]}]
    made = coach.post("/v1/templates", json={"name": "Two days", "weeks": [{"sessions": sessions}]})
    laid = lay_out(
        coach,
        template=made.json()["id"],
        athletes=[athlete(coach)],
        start="2026-12-21",
        weekdays=["monday", "friday"],
        wishes={"light_before": [{"date": "2026-12-25", "days": 2, "must": True}]},
    )
    assert dates(laid) == ["12-21", second]


def test_the_layout_is_kept_and_shown_as_it_was_asked_for(coach):
    hall = coach.post("/v1/places", json={"name": "Hall", "ref": "hall"}).json()["id"]
    asked = {
        "never_on": ["friday"],
        "apart": [{"sessions": ["Squat", "Pull"], "days": 1, "must": True}],
        "light_before": [{"date": "2027-01-16", "days": 2, "must": False}],
        "most_a_week": 3,
    }
    made = lay_out(
        coach,
        template=three_days(coach),
        athletes=[athlete(coach)],
        weekdays=["monday", "wednesday", "friday", "saturday"],
        wishes=asked,
        places={"saturday": "ref:hall"},
        spread=True,
    )
    block = made["items"][0]["block"]
    assert coach.get(f"/v1/blocks/{block['id']}").json()["layout"] == {
        "weekdays": ["monday", "wednesday", "friday", "saturday"],
        "start": "2026-11-30",
        "wishes": asked,
        "places": {"saturday": hall},
        "spread": True,
    }
    listed = coach.get("/v1/blocks").json()["items"][0]
    assert listed["layout"]["wishes"] == asked


def test_places_go_by_the_weekday_that_a_session_comes_to_stand_on(coach):
    hall, cellar = (
        coach.post("/v1/places", json={"name": name, "ref": name.lower()}).json()["id"] for name in ("Hall", "Cellar")
    )
    # Wednesday 2 December is off: the week's third session moves to Monday 7, and to Monday's place.
    made = lay_out(
        coach,
        template=three_days(coach, weeks=1),
        athletes=[athlete(coach)],
        place="ref:hall",
        places={"monday": "ref:cellar"},
        wishes={"holidays": [{"from": "2026-12-02"}]},
    )
    block = made["items"][0]["block"]
    where = [("2026-11-30", cellar), ("2026-12-04", hall), ("2026-12-07", cellar)]
    assert [(one["date"], one["place"]) for one in block["sessions"]] == where
    stored = coach.get(f"/v1/blocks/{block['id']}/sessions").json()["items"]
    assert [(one["date"], one["place"]) for one in stored] == where
    told = made["told"][0]
    assert told == "Week 1 loses Wednesday 2 December 2026 to a holiday: it runs on until Monday 7 December 2026."


def test_a_group_gets_a_block_for_each_of_its_members(coach):
    group = coach.post("/v1/groups", json={"name": "Evening", "ref": "evening"}).json()["id"]
    people = [athlete(coach, name) for name in ("Aud", "Brage", "Cille")]
    for one in people:
        assert coach.put(f"/v1/groups/{group}/athletes/{one}").status_code in (200, 201)
    coach.patch(f"/v1/athletes/{people[2]}", json={"archived": True}, headers={"If-Match": "*"})
    made = lay_out(coach, template=template(coach), group="ref:evening")
    assert [item["athlete"] for item in made["items"]] == people[:2]
    assert [item["block"]["athlete"] for item in made["items"]] == people[:2]
    empty = coach.post("/v1/groups", json={"name": "Nobody", "ref": "nobody"})
    assert empty.status_code == 201
    body = {"template": template(coach), "group": "ref:nobody", "start": "2026-11-30", "weekdays": ["monday"]}
    (refused,) = coach.post("/v1/blocks", json=body).json()["errors"]
    assert (refused["pointer"], refused["detail"]) == ("#/group", "has no members")


def test_laying_out_changes_no_other_session_and_tells_of_shared_days(coach):
    runa, odd = athlete(coach), athlete(coach, "Odd")
    first = lay_out(coach, template=template(coach), athletes=[runa], weekdays=["monday", "friday"])
    path = f"/v1/blocks/{first['items'][0]['block']['id']}/sessions"
    before = coach.get(path).content
    again = lay_out(coach, template=template(coach), athletes=[odd, runa], weekdays=["wednesday", "friday"])
    assert [item["block"]["shared_days"] for item in again["items"]] == [[], ["2026-12-04", "2026-12-11"]]
    assert coach.get(path).content == before
    # Fridays 4 and 11 December are in both blocks; one of the two athletes has two sessions then.
    assert again["told"] == [
        "1 of 2 athletes has another block with sessions between 2 December 2026 and 11 December 2026: it goes on.",
        "1 of 2 athletes has another session on days of this block, 2 days in all: there are two sessions then.",
    ]


def test_laying_out_the_same_block_once_more_says_that_all_of_its_days_are_taken(coach):
    runa = athlete(coach)
    order = {"template": template(coach), "athletes": [runa], "weekdays": ["monday", "friday"]}
    first = lay_out(coach, **order)
    assert first["told"] == []
    for dry in (True, False):
        again = lay_out(coach, dry=dry, **order)
        assert again["told"] == [
            "The athlete has another block with sessions between 30 November 2026 and 11 December 2026: it goes on.",
            "The athlete has another session on 4 days of this block: there are two sessions then.",
        ]
    coach.post(f"/v1/athletes/{runa}/sessions", json={"kind": "free", "date": "2027-01-04"})
    later = lay_out(coach, **order, start="2027-01-04")
    assert later["told"] == [
        "The athlete has another session on 1 day of this block: there are two sessions then.",
    ]


@pytest.mark.parametrize(
    ("zone", "change"),
    [("Pacific/Auckland", date(2027, 4, 4)), ("America/Los_Angeles", date(2026, 11, 1)), ("UTC", date(2026, 11, 1))],
)
def test_neither_time_zones_nor_daylight_saving_move_a_day(coach, zone, change):
    # Clocks go back on Sunday 1 November 2026 in Los Angeles and on Sunday 4 April 2027 in Auckland (IANA tz data).
    runa = athlete(coach, time_zone=zone)
    start = change - timedelta(days=1)
    made = lay_out(
        coach,
        template=template(coach),
        athletes=[runa],
        start=str(start),
        weekdays=["saturday", "sunday"],
    )
    wanted = [start, change, start + timedelta(days=7), change + timedelta(days=7)]
    sessions = made["items"][0]["block"]["sessions"]
    assert [one["date"] for one in sessions] == [str(day) for day in wanted]
    for one in sessions:
        shown = coach.get(f"/v1/athletes/{runa}/today", params={"on": one["date"], "why": False}).json()
        assert [session["id"] for session in shown["sessions"]] == [one["id"]]


def test_who_may_only_log_does_not_lay_out(gym):
    phone = gym.client("log")
    body = {"template": "ref:t", "athletes": ["ref:a"], "start": "2026-11-30", "weekdays": ["monday"]}
    assert phone.post("/v1/blocks", json=body).status_code == 403


def test_a_block_that_begins_in_the_past_says_so_by_its_start_and_by_its_end(coach):
    """Two weeks of Mondays and Thursdays, from a day ten weeks ago and to tomorrow: they take more than a week."""
    today = datetime.now(UTC).date()
    start = today - timedelta(days=70)
    order = {"template": template(coach), "weekdays": ["monday", "thursday"]}

    def told(**more):
        made = coach.post("/v1/blocks", json={**order, "athletes": [athlete(coach)], **more})
        assert made.status_code == 201, made.text
        return made.json()

    past = told(start=str(start))
    first = date.fromisoformat(past["starts_on"])
    assert first - start < timedelta(days=7)
    (said,) = past["told"]
    assert said.startswith("The first session is on ")
    assert said.endswith(f"{first.day} {first:%B} {first.year}, before today: 4 of 4 sessions lie in the past.")
    near = told(end=str(today + timedelta(days=1)))
    assert date.fromisoformat(near["starts_on"]) < today - timedelta(days=2)
    assert near["told"][0].startswith("The first session is on ")
    assert told(start=str(today + timedelta(days=2)))["told"] == []
