"""Loads that grow from session to session, clusters, complexes and stop rules, over HTTP."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store.session import Database
from tests.conftest import GymAtHand
from tests.counting import statements
from tests.lifting import BY_CURVE, Session, add_athlete, add_max, add_session, done, kg

FIVES: dict[str, Any] = {
    "lift": "squat",
    "scheme": {
        "kind": "sets_at_target",
        "sets": 3,
        "add_load": {"when": "all_sets_complete", "step": kg(2.5), "after_failures": 2, "less_percent": 10},
    },
    "target": {"kind": "load", "reps": 5, "load": kg(60)},
}
FIRST_DAY = datetime.now(UTC).date() - timedelta(days=11)
"""Recent: after a time without training loads would be eased."""


def _at(on: date, minute: int) -> dict[str, str]:
    return {"at": f"{on}T10:{minute:02}:00+01:00"}


class Diary:
    """An athlete who trains one slot, session after session."""

    def __init__(self, coach: TestClient, gym: GymAtHand, database: Database, slot: dict[str, Any]) -> None:
        self.coach, self.gym, self.database, self.slot = coach, gym, database, slot
        self.athlete = add_athlete(coach)
        self.day = FIRST_DAY

    def session(self) -> Session:
        """The next session, two days on."""
        made = add_session(self.database, self.gym.id, self.athlete, self.slot, on=self.day)
        self.day += timedelta(days=2)
        return made

    def view(self, session: Session) -> dict[str, Any]:
        """The session's slot."""
        shown: dict[str, Any] = self.coach.get(f"/v1/sessions/{session.id}").json()["slots"][0]
        return shown

    def asked(self, session: Session) -> list[float | None]:
        """Loads of the work sets of a session."""
        work = [one for one in self.view(session)["sets"] if one["role"] != "warm_up"]
        return [None if one["load"] is None else one["load"]["value"] for one in work]

    def train(self, *reps: int, load: float | None = None, **more: Any) -> list[float | None]:
        """Train the next session: what was asked in it, and sets with so many repetitions."""
        session = self.session()
        asked = self.asked(session)
        on = self.day - timedelta(days=2)
        for at, count in enumerate(reps):
            lifted = load if load is not None else asked[min(at, len(asked) - 1)]
            body = done(session.slots[0], role="target_set", load=kg(lifted or 0), reps=count)
            said = self.coach.post(session.sets, json=body | _at(on, at) | more)
            assert said.status_code == 201, said.text
        return asked


@pytest.fixture
def diary(coach: TestClient, gym: GymAtHand, database: Database) -> Diary:
    return Diary(coach, gym, database, FIVES)


def test_sessions_grow_by_the_step_repeat_and_go_back(diary: Diary) -> None:
    assert diary.train(5, 5, 5) == [60, 60, 60]
    assert diary.train(5, 5, 5) == [62.5] * 3
    assert diary.train(5, 5, 4) == [65] * 3
    assert diary.train(5, 4, 4) == [65] * 3
    assert diary.train(5, 5, 5)[0] in (57.5, 60)  # 58.5
    why = diary.view(diary.session())["sets"][-3]["why"]
    assert why[0]["formula"] == "add_load"


def test_a_load_waits_where_the_sets_before_left_nothing(diary: Diary) -> None:
    """Nine fives on three days, the last three to failure: with 2.5 kg more a fifth is not to be expected."""
    assert diary.train(5, 5, 5, rpe=8) == [60] * 3
    assert diary.train(5, 5, 5, rpe=9) == [62.5] * 3
    assert diary.train(5, 5, 5, load=65, rpe=10)[0] == 65
    session = diary.session()
    assert diary.asked(session) == [65] * 3
    why = diary.view(session)["sets"][-3]["why"]
    assert [step["formula"] for step in why][:1] == ["load_waits"]


def test_what_was_asked_stays_with_an_open_session_and_its_own_sets_do_not_count(diary: Diary) -> None:
    diary.train(5, 5, 5)
    session = diary.session()
    assert diary.asked(session) == [62.5] * 3
    for at in range(3):
        body = done(session.slots[0], role="target_set", load=kg(62.5), reps=5)
        answer = diary.coach.post(session.sets, json=body | _at(FIRST_DAY + timedelta(days=2), at)).json()
        if at < 2:
            assert answer["next"]["load"]["value"] == 62.5
    assert answer["next"]["kind"] == "session_done"
    assert diary.asked(session) == [62.5] * 3


def test_sets_that_were_taken_back_do_not_count(diary: Diary) -> None:
    diary.train(5, 5, 5)
    session = diary.session()
    logged = diary.coach.get(f"/v1/athletes/{diary.athlete}/sets").json()["items"]
    gone = diary.coach.delete(f"/v1/sets/{logged[0]['id']}", headers={"If-Match": f'"{logged[0]["version"]}"'})
    assert gone.status_code in (200, 204), gone.text
    assert diary.asked(session) == [60] * 3


def test_drop_sets_are_no_complete_sets(diary: Diary) -> None:
    diary.train(5, 5, 5, method="rest_pause")
    assert diary.asked(diary.session()) == [60] * 3


def test_what_the_lifter_chose_is_the_start(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    chosen = FIVES | {"target": {"kind": "free", "reps": 8, "reps_to": 12}}
    diary = Diary(coach, gym, database, chosen)
    assert diary.train(12, 12, 12, load=40) == [None] * 3
    assert diary.train(12, 12, 11) == [42.5] * 3
    assert diary.train(12, 12, 12) == [42.5] * 3
    assert diary.asked(diary.session()) == [45] * 3


def test_calculations_for_an_athlete_go_on_from_the_log(diary: Diary) -> None:
    diary.train(5, 5, 5)
    body = FIVES | {"athlete": diary.athlete, "on": f"{FIRST_DAY + timedelta(days=3)}"}
    sets = diary.coach.post("/v1/prescriptions", json=body).json()["sets"]
    assert [one["load"]["value"] for one in sets if one["role"] == "target_set"] == [62.5] * 3
    one = {"role": "target_set", "load": kg(62.5), "reps": 5}
    coming = diary.coach.post("/v1/adjustments", json=body | {"done": [one]}).json()["next"]
    assert coming["load"]["value"] == 62.5
    # of bare numbers there is no log: the target's own load
    sets = diary.coach.post("/v1/prescriptions", json=FIVES).json()["sets"]
    assert sets[-1]["load"]["value"] == 60


def test_a_session_that_was_shortened_is_complete_with_the_sets_that_were_asked(diary: Diary) -> None:
    session = diary.session()
    changed = diary.coach.patch(
        f"/v1/sessions/{session.id}", json={"minutes_available": 1}, headers=_match(diary, session)
    )
    assert changed.status_code == 200, changed.text
    asked = diary.asked(session)
    assert len(asked) < 3
    for at in range(len(asked)):
        body = done(session.slots[0], role="target_set", load=kg(60), reps=5)
        said = diary.coach.post(session.sets, json=body | _at(FIRST_DAY, at))
        assert said.status_code == 201, said.text
    assert diary.asked(diary.session()) == [62.5] * 3


def _match(diary: Diary, session: Session) -> dict[str, str]:
    version = diary.coach.get(f"/v1/sessions/{session.id}").json()["version"]
    return {"If-Match": f'"{version}"'}


def test_another_athletes_log_says_nothing(diary: Diary, gym: GymAtHand, database: Database) -> None:
    diary.train(5, 5, 5)
    other = Diary(diary.coach, gym, database, FIVES)
    assert other.asked(other.session()) == [60] * 3


def test_a_cluster_is_shown_in_parts_logged_whole_and_teaches_no_max(
    coach: TestClient, gym: GymAtHand, database: Database
) -> None:
    """3 parts of 2 at RPE 8 as 6 at RPE 8 of 150: 118.25, 117.5 kg."""
    athlete = add_athlete(coach, **BY_CURVE)
    add_max(coach, athlete)
    slot = {
        "lift": "squat",
        "scheme": {"kind": "cluster", "sets": 2, "parts": 3, "rest_seconds": 20},
        "target": {"kind": "effort", "reps": 2, "rpe": 8},
    }
    session = add_session(database, gym.id, athlete, slot, on=FIRST_DAY)
    shown = coach.get(f"/v1/sessions/{session.id}").json()["slots"][0]["sets"]
    work = [one for one in shown if one["role"] == "target_set"]
    assert [(one["reps"], one["load"]["value"]) for one in work] == [(6, 117.5)] * 2
    assert [one["in_parts"] for one in work] == [{"parts": 3, "rest_seconds": 20}] * 2
    assert {one["in_parts"] for one in shown if one["role"] == "warm_up"} == {None}
    body = done(session.slots[0], role="target_set", load=kg(117.5), reps=6, rpe=7)
    answer = coach.post(session.sets, json=body | _at(FIRST_DAY, 0)).json()
    assert answer["set"]["method"] == "cluster"
    assert answer["next"]["in_parts"] == {"parts": 3, "rest_seconds": 20}
    assert (answer["next"]["load"]["value"], answer["next"]["reps"]) == (117.5, 6)


def test_back_off_sets_end_when_one_is_hard_enough(coach: TestClient, gym: GymAtHand, database: Database) -> None:
    athlete = add_athlete(coach, **BY_CURVE)
    add_max(coach, athlete)
    slot = {
        "lift": "squat",
        "scheme": {"kind": "top_set", "back_off": {"less_percent": 5, "until_rpe": 8, "most": 4}},
        "target": {"kind": "effort", "reps": 5, "rpe": 8},
    }
    session = add_session(database, gym.id, athlete, slot, on=FIRST_DAY)
    shown = coach.get(f"/v1/sessions/{session.id}").json()["slots"][0]["sets"]
    assert [one["role"] for one in shown].count("back_off") == 4
    said = [("top_set", 122.5, 8), ("back_off", 117.5, 7), ("back_off", 117.5, 8.5)]
    for at, (role, value, rpe) in enumerate(said):
        body = done(session.slots[0], role=role, load=kg(value), reps=5, rpe=rpe)
        answer = coach.post(session.sets, json=body | _at(FIRST_DAY, at)).json()
    assert answer["next"]["kind"] == "session_done"
    assert "back-off sets end at RPE 8" in answer["next"]["text"]
    again = coach.get(session.next).json()
    assert "back-off sets end at RPE 8" in again["text"]


def test_a_complex_tells_its_row(coach: TestClient) -> None:
    body = {
        "lift": "power-clean",
        "max": kg(100),
        "complex": [{"lift": "power-clean", "reps": 1}, {"lift": "front-squat", "reps": 2}],
        "scheme": {"kind": "sets_at_target", "sets": 3},
        "target": {"kind": "percent", "reps": 1, "percent": 70, "basis": "tested"},
    }
    answer = coach.post("/v1/prescriptions", json=body)
    assert answer.status_code == 200, answer.text
    last = answer.json()["sets"][-1]
    assert last["text"] == "1 power clean and 2 front squats in a row, with 70 kg."
    assert last["expected_rpe"] is None


class Block:
    """An athlete whose block has one session a week, with one slot of a load that grows."""

    def __init__(self, coach: TestClient, weeks: int, *progressions: dict[str, Any], **changed: Any) -> None:
        self.coach, self.progressions = coach, list(progressions)
        self.athlete = add_athlete(coach)
        self.template = coach.put("/v1/templates/ref:bench", json=self.plan(weeks, **changed)).json()["id"]
        start = datetime.now(UTC).date() - timedelta(days=7 * weeks)
        order = {
            "template": self.template,
            "athletes": [self.athlete],
            "start": f"{start}",
            "weekdays": [start.strftime("%A").lower()],
        }
        made = coach.post("/v1/blocks", json=order)
        assert made.status_code == 201, made.text
        (self.block,) = [one["block"] for one in made.json()["items"]]

    def plan(self, weeks: int, **changed: Any) -> dict[str, Any]:
        """The template's body: eights from 50 kg, 2.5 kg more when all are complete."""
        slot: dict[str, Any] = {
            "lift": "bench-press",
            "scheme": {
                "kind": "sets_at_target",
                "sets": 5,
                "add_load": {"when": "all_sets_complete", "step": kg(2.5)},
            },
            "target": {"kind": "load", "reps": 8, "load": kg(50)} | changed,
        }
        slot["target"] = {name: value for name, value in slot["target"].items() if value is not None}
        week = {"sessions": [{"name": "Bench", "slots": [slot]}]}
        if not self.progressions:
            return {"name": "Bench", "weeks": [week] * weeks}
        return {"name": "Bench", "parts": [{"weeks": weeks, "week": week, "progressions": self.progressions}]}

    def asked(self, week: int) -> list[float]:
        """Loads of a week's work sets."""
        shown = self.coach.get(f"/v1/sessions/{self.block['sessions'][week - 1]['id']}").json()["slots"][0]
        return [one["load"]["value"] for one in shown["sets"] if one["role"] == "target_set"]

    def train(self, week: int, reps: int = 8, **said: Any) -> str:
        """All sets of a week as they are asked for; what is said at their end."""
        session = self.block["sessions"][week - 1]
        shown = self.coach.get(f"/v1/sessions/{session['id']}").json()["slots"][0]
        answer = {}
        for at, load in enumerate(self.asked(week)):
            body = done(shown["id"], role="target_set", load=kg(load), reps=reps, **said)
            told = self.coach.post(f"/v1/sessions/{session['id']}/sets", json=body | _at(_date(session["date"]), at))
            assert told.status_code == 201, told.text
            answer = told.json()
        text: str = answer["next"]["text"]
        return text


def _date(text: str) -> date:
    return date.fromisoformat(text)


def test_a_new_version_with_other_repetitions_goes_on_from_the_last_load(coach: TestClient) -> None:
    """50, 52.5, 55, all complete; then sixes: 57.5. Another stated load starts anew."""
    block = Block(coach, 5)
    for week, load in ((1, 50), (2, 52.5), (3, 55)):
        assert block.asked(week) == [load] * 5
        block.train(week)
    for changed, load in (({"reps": 6}, 57.5), ({"load": kg(45)}, 45), ({}, 57.5)):
        written = coach.put("/v1/templates/ref:bench", json=block.plan(5, **changed), headers={"If-Match": "*"})
        assert written.status_code in (200, 201), written.text
        moved = coach.post(
            "/v1/version-moves", json={"template": block.template, "blocks": [block.block["id"]], "from_week": 4}
        )
        assert moved.status_code == 201, moved.text
        assert block.asked(4) == [load] * 5


def test_repetitions_that_fall_from_week_to_week_let_the_load_grow(coach: TestClient) -> None:
    block = Block(coach, 3, {"kind": "each_week", "change": "reps", "by": -1})
    for week, load, reps in ((1, 50, 8), (2, 52.5, 7), (3, 55, 6)):
        assert block.asked(week) == [load] * 5
        block.train(week, reps)


def test_a_progression_of_a_load_that_grows_is_refused(coach: TestClient) -> None:
    block = Block(coach, 3)
    block.progressions = [{"kind": "each_week", "change": "load", "by_load": kg(2.5)}]
    refused = coach.post("/v1/templates", json=block.plan(3))
    assert refused.status_code == 422, refused.text
    assert "grows by its own rule" in refused.text


@pytest.mark.parametrize(
    ("how", "held"),
    [({"sets_percent": 60}, [55] * 3), ({"sets_percent": 60, "percent_points": -10}, [50] * 3)],  # 10 % less is 49.5
)
def test_a_load_does_not_grow_in_a_lighter_week_and_goes_on_after_it(
    coach: TestClient, how: dict[str, Any], held: list[float]
) -> None:
    """50, 52.5 and 55 were complete, 3 of 5 sets are 60 %; a bad lighter week changes nothing."""
    block = Block(coach, 5, {"kind": "lighter_weeks", "weeks": [4]} | how)
    for week in (1, 2, 3):
        block.train(week)
    assert block.asked(4) == held
    block.train(4, reps=5)
    assert block.asked(5) == [57.5] * 5


def test_a_week_that_is_marked_lighter_by_hand_holds_the_load(coach: TestClient) -> None:
    block = Block(coach, 3)
    body = block.plan(3)
    body["weeks"] = [body["weeks"][0], body["weeks"][0] | {"lighter": True}, body["weeks"][0]]
    template = coach.post("/v1/templates", json=body).json()["id"]
    order = {key: block.block[key] for key in ("start", "weekdays") if key in block.block}
    order |= {"template": template, "athletes": [block.athlete]}
    order.setdefault("start", block.block["sessions"][0]["date"])
    order.setdefault("weekdays", [_date(order["start"]).strftime("%A").lower()])
    (block.block,) = [one["block"] for one in coach.post("/v1/blocks", json=order).json()["items"]]
    block.train(1)
    assert block.asked(2) == [50] * 5
    block.train(2)
    assert block.asked(3) == [52.5] * 5


def test_the_end_of_a_slot_says_what_its_next_session_asks(coach: TestClient) -> None:
    """55 kg complete; 10 % less in the lighter week is 49.5, nearest 50; after it 57.5; after the last nothing."""
    block = Block(coach, 5, {"kind": "lighter_weeks", "weeks": [4], "sets_percent": 60, "percent_points": -10})
    ends = [block.train(week) for week in (1, 2, 3, 4, 5)]
    lighter = "Next time 50 kg, less than today, in a session that is lighter on purpose."
    for end, said in zip(ends, ("Next time 52.5 kg.", "Next time 55 kg.", lighter, "Next time 57.5 kg."), strict=False):
        assert said in end
    assert "ext time" not in ends[4]


def test_the_end_of_a_slot_says_other_repetitions_and_what_is_repeated(coach: TestClient) -> None:
    block = Block(coach, 3, {"kind": "each_week", "change": "reps", "by": -1})
    assert "Next time 7 with 52.5 kg." in block.train(1, 8)
    assert "Next time 6 with 52.5 kg." in block.train(2, 6)
    same = Block(coach, 3)
    assert "The same again next time." in same.train(1, 7)


def test_a_lighter_week_of_efforts_says_what_comes_after_it(coach: TestClient) -> None:
    """5 at RPE 7; the lighter week asks for RPE 6: 2.5 % less than 85 is 82.9, nearest 82.5. After it 87.5."""
    block = Block(
        coach, 3, {"kind": "lighter_weeks", "weeks": [2], "rpe_points": -1}, kind="effort", reps=5, rpe=7, load=None
    )
    session = block.block["sessions"][0]
    shown = coach.get(f"/v1/sessions/{session['id']}").json()["slots"][0]
    for at in range(5):
        body = done(shown["id"], role="target_set", load=kg(85), reps=5, rir=3)
        told = coach.post(f"/v1/sessions/{session['id']}/sets", json=body | _at(_date(session["date"]), at)).json()
    assert "Next time 82.5 kg, less than today, in a session that is lighter on purpose." in told["next"]["text"]
    assert block.asked(2) == [82.5] * 5
    assert "Next time 87.5 kg." in block.train(2, 5, rir=4)
    assert block.asked(3) == [87.5] * 5


def test_nothing_is_said_of_a_next_time_at_another_place_or_by_another_target(coach: TestClient) -> None:
    elsewhere = Block(coach, 3)
    place = coach.post("/v1/places", json={"name": "Barn", "bars": [{"load": kg(20)}], "plates": []}).json()["id"]
    moved = coach.patch(
        f"/v1/sessions/{elsewhere.block['sessions'][1]['id']}", json={"place": place}, headers={"If-Match": "*"}
    )
    assert moved.status_code == 200, moved.text
    assert "ext time" not in elsewhere.train(1)


def test_only_the_end_of_a_load_that_grows_takes_a_statement_more(coach: TestClient, database: Database) -> None:
    block = Block(coach, 2)
    session = block.block["sessions"][0]
    slot = coach.get(f"/v1/sessions/{session['id']}").json()["slots"][0]["id"]
    counts = []
    for at in range(5):
        body = done(slot, role="target_set", load=kg(50), reps=8) | _at(_date(session["date"]), at)
        with statements(database) as seen:
            said = coach.post(f"/v1/sessions/{session['id']}/sets", json=body)
        assert said.status_code == 201
        counts.append(sum("h.position" in one for one in seen))
    assert counts == [0, 0, 0, 0, 1]
