"""Sets that the log does not believe: stored, asked about, and what each answer does."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from service.store import sets
from service.store.session import Database
from service.store.set_records import Doubt
from tests.conftest import GymAtHand
from tests.flows.lifters import START, Done, Lifter

# The log of the specification's worked example C: a bench press of 100 kg given, 80 kg for 5 at RPE 8 and 8.5; then
# 176.37 kg for 5 at RPE 8 is refused, and taken for pounds: 80 kg.
BEFORE = (Done("bench-press", 80, 5, 8), Done("bench-press", 80, 5, 8.5, minute=5))
SLIP = Done("bench-press", 176.37, 5, 8, day=4)


def known(database: Database, gym: GymAtHand, **values: Any) -> Lifter:
    """The athlete of the example, before the slip."""
    lifter = Lifter(database, gym, **values)
    lifter.enter_max("bench-press", 100, START.date().replace(month=1))  # further back than 56 days: +- 10 %
    lifter.log_all(*BEFORE)
    return lifter


def doubt(lifter: Lifter, number: int) -> Doubt | None:
    """What is asked about a set now."""
    with lifter.tx() as tx:
        return sets.read(tx, lifter.set_id(number)).doubt


def test_pounds_entered_as_kilograms_are_asked_about_and_teach_nothing(database: Database, gym: GymAtHand) -> None:
    lifter = known(database, gym)
    before = lifter.row("bench-press")
    logged = lifter.log(2, SLIP)
    asked = logged.set.doubt
    assert asked is not None
    assert (asked.code, asked.answer) == ("pounds_as_kilograms", None)
    assert asked.proposal is not None
    assert (asked.proposal.value, asked.proposal.unit, asked.proposal.kg) == (176.37, "lb", 80)
    # the unlimited load of the example for 5 at RPE 8 lies a little above 80 kg
    assert asked.text.startswith(
        "176.37 kg for 5 at RPE 8 is far above what the log says (about 80 kg). Did you mean 176.37 lb (80 kg)?"
    )
    assert asked.text.endswith(
        " If it is right, please check whether these earlier sets are too: 80 kg for 5 on 2 March 2026 and 80 kg for 5 "
        "on 2 March 2026."
    )
    assert logged.day_estimate is None
    after = lifter.row("bench-press")
    assert after.m[1] == before.m[1]
    assert (after.used_ever, len(after.refused)) == (before.used_ever, 1)
    assert doubt(lifter, 2) == asked


def test_a_load_that_nothing_explains_is_asked_about_without_a_proposal(database: Database, gym: GymAtHand) -> None:
    lifter = known(database, gym)
    asked = lifter.log(2, Done("bench-press", 100, 15, 7, day=4)).set.doubt
    assert asked is not None
    assert (asked.code, asked.proposal) == ("unlikely", None)
    assert asked.text.startswith(
        "100 kg for 15 at RPE 7 does not fit what the log says. Please check load and repetitions."
    )


@pytest.mark.parametrize(
    ("kg", "unit", "code", "meant"),
    [
        (80, "lb", "kilograms_as_pounds", (80, "kg")),
        (800, "kg", "digit_too_many", (80, "kg")),
        (8, "kg", "digit_too_few", (80, "kg")),
    ],
)
def test_each_usual_slip_is_recognised(
    database: Database, gym: GymAtHand, kg: float, unit: str, code: str, meant: tuple[float, str]
) -> None:
    asked = known(database, gym).log(2, Done("bench-press", kg, 5, 8, day=4, unit=unit)).set.doubt
    assert asked is not None
    assert asked.proposal is not None
    assert (asked.code, (asked.proposal.value, asked.proposal.unit)) == (code, meant)


def test_what_was_added_to_the_body_can_be_a_slip_the_body_not(coach: TestClient, database, gym) -> None:
    lifter = Lifter(database, gym)
    path = f"/v1/athletes/{lifter.id}"
    weighed = coach.put(f"{path}/body-weights/2026-03-01", json={"load": {"value": 80, "unit": "kg"}})
    assert weighed.status_code == 201
    # 80 + 40 kg for 5, then 88.2 kg in place of 88.2 lb = 40 kg: 168.2 kg in all is 40 % too much
    lifter.log_all(*(Done("pull-up", 40, 5, 8 + at / 2, minute=at) for at in range(3)))
    asked = lifter.log(9, Done("pull-up", 88.2, 5, 8, day=3)).set.doubt
    assert asked is not None
    assert (asked.code, asked.proposal and asked.proposal.unit) == ("pounds_as_kilograms", "lb")


def test_a_corrected_slip_leaves_what_the_right_log_shows(database: Database, gym: GymAtHand) -> None:
    wrong, right = known(database, gym), known(database, gym)
    wrong.log(2, SLIP)
    wrong.log(3, Done("bench-press", 82.5, 5, 8.5, day=4, minute=5))
    right.log(2, Done("bench-press", 176.37, 5, 8, day=4, unit="lb"))
    right.log(3, Done("bench-press", 82.5, 5, 8.5, day=4, minute=5))
    corrected = wrong.change(2, load=Done(kg=176.37, unit="lb").load)
    assert corrected.doubt is None
    assert wrong.shown() == right.shown()


def test_a_set_that_is_confirmed_starts_the_level_anew_and_the_answer_can_be_taken_back(
    database: Database, gym: GymAtHand
) -> None:
    lifter = known(database, gym)
    asked = lifter.log(2, Done("bench-press", 100, 5, 8, day=4)).set.doubt
    assert asked is not None  # a quarter more than 80 kg: five to eight standard deviations
    refused = lifter.shown()
    confirmed = lifter.change(2, doubt="confirmed")
    assert confirmed.doubt is not None
    assert (confirmed.doubt.code, confirmed.doubt.answer) == (asked.code, "confirmed")
    with_it = lifter.row("bench-press")
    # 5 with two left are 7 possible, 80.9524 % of a max by the published curve: 123.5 kg
    assert with_it.reference == pytest.approx(4.8163, abs=0.0005)  # ln 123.53
    taken_back = lifter.change(2, doubt=None)
    assert taken_back.doubt == asked
    assert lifter.shown() == refused


def test_a_set_that_is_left_out_only_tires(database: Database, gym: GymAtHand) -> None:
    lifter, without = known(database, gym), known(database, gym)
    lifter.log(2, SLIP)
    left_out = lifter.change(2, doubt="excluded")
    assert left_out.doubt is not None
    assert left_out.doubt.answer == "excluded"
    row = lifter.row("bench-press")
    assert row.refused == ()
    assert row.fatigue == 1  # a set at RPE 8 is one unit
    lifter.log(3, Done("bench-press", 80, 5, 8, day=8))
    without.log(3, Done("bench-press", 80, 5, 8, day=8))
    assert lifter.row("bench-press").used_ever == without.row("bench-press").used_ever


def test_an_answer_survives_a_replay_and_other_corrections(database: Database, gym: GymAtHand) -> None:
    lifter = known(database, gym)
    lifter.log(2, SLIP)
    lifter.change(2, doubt="excluded")
    lifter.change(2, note="the bar was loaded in pounds")
    lifter.change(0, rpe=7.5)
    asked = doubt(lifter, 2)
    assert asked is not None
    assert asked.answer == "excluded"
    lifter.change(2, reps=4)  # another set: asked about anew
    asked = doubt(lifter, 2)
    assert asked is not None
    assert asked.answer is None


def test_a_set_that_an_earlier_slip_made_doubtful_is_believed_once_that_is_corrected(
    database: Database, gym: GymAtHand
) -> None:
    lifter = Lifter(database, gym)
    lifter.log(0, Done("bench-press", 176.37, 5, 8))  # the first set of all: nothing to hold it against
    lifter.log(1, Done("bench-press", 80, 5, 8, day=2))
    asked = doubt(lifter, 1)
    assert asked is not None
    assert "176.37 kg for 5 on 2 March 2026" in asked.text
    lifter.change(0, load=Done(kg=80).load)
    assert doubt(lifter, 1) is None


def test_a_second_slip_of_a_session_asks_for_the_unit(database: Database, gym: GymAtHand) -> None:
    lifter = known(database, gym)
    lifter.log(2, SLIP)
    asked = lifter.log(3, Done("bench-press", 181.9, 5, 8.5, day=4, minute=5)).set.doubt
    assert asked is not None
    assert asked.code == "pounds_as_kilograms"
    assert asked.text == (
        "All sets of this session look like pounds entered as kilograms. Your loads are taken as kilograms unless you "
        "say otherwise: please check the unit that you enter them in."
    )


def test_a_slip_in_two_sessions_in_a_row_asks_for_the_unit(database: Database, gym: GymAtHand) -> None:
    lifter = known(database, gym)
    lifter.log(2, SLIP)
    lifter.log(3, Done("bench-press", 80, 5, 8, day=4, minute=5))
    lifter.log(4, Done("bench-press", 80, 5, 8, day=6))
    lifter.log(5, Done("bench-press", 180, 5, 8.5, day=6, minute=5))
    asked = doubt(lifter, 5)
    assert asked is not None
    assert asked.text.startswith("This set and some of the session before look like pounds entered as kilograms.")


def test_a_level_that_is_really_another_one_is_believed_and_the_answer_says_so(
    database: Database, gym: GymAtHand
) -> None:
    # the specification's worked example D: 80 kg for 5, a month later 50 kg, and three days later again
    lifter = Lifter(database, gym)
    lifter.enter_max("bench-press", 100, START.date().replace(month=1))
    lifter.log_all(
        Done("bench-press", 80, 5, 8), Done("bench-press", 80, 5, 8.5, minute=1),
        Done("bench-press", 80, 5, 8.5, minute=2), Done("bench-press", 50, 5, 8, day=30),
        Done("bench-press", 52.5, 5, 8.5, day=30, minute=1),
    )  # fmt: skip
    told = lifter.log(5, Done("bench-press", 50, 5, 8, day=33))
    assert told.set.doubt is None
    assert told.day_estimate is not None
    assert "we now believe about 62.2 kg" in told.day_estimate.why[0].text  # 62.2256 kg in the example
    assert "unit" not in told.day_estimate.why[0].text


def test_a_level_that_changes_by_the_ratio_of_the_units_asks_for_the_unit(database: Database, gym: GymAtHand) -> None:
    lifter = known(database, gym)
    told = [lifter.log(2 + at, Done("bench-press", 176.37, 5, 8, day=4 + at // 2, minute=at)) for at in range(3)][2]
    assert told.day_estimate is not None
    assert told.day_estimate.why[0].text.endswith(
        " That is about the ratio of kilograms to pounds: please check the unit that loads are entered in."
    )


def test_the_phone_reads_answers_and_lists_what_is_doubtful(coach: TestClient, database, gym) -> None:
    lifter = known(database, gym)
    lifter.log(2, SLIP)
    path, one = f"/v1/athletes/{lifter.id}/sets", f"/v1/sets/{lifter.set_id(2)}"
    (listed,) = coach.get(path, params={"doubtful": "true"}).json()["items"]
    assert listed["id"] == lifter.set_id(2)
    assert listed["doubt"]["proposal"] == {"value": 176.37, "unit": "lb", "kg": 80}
    phone = gym.client("log")
    version = phone.get(one).headers["etag"]
    both = phone.patch(one, json={"doubt": "confirmed", "reps": 4}, headers={"If-Match": version})
    assert both.status_code == 422
    answered = phone.patch(one, json={"doubt": "excluded"}, headers={"If-Match": version})
    assert answered.status_code == 200
    assert answered.json()["doubt"]["answer"] == "excluded"
    assert answered.headers["etag"] != version
    assert coach.get(path, params={"doubtful": "true"}).json()["items"] == []
    assert coach.get(path).json()["items"][-1]["doubt"] is None
    stale = phone.patch(one, json={"doubt": None}, headers={"If-Match": version})
    assert stale.status_code == 412
    nothing = phone.patch(f"/v1/sets/{lifter.set_id(0)}", json={"doubt": "confirmed"}, headers={"If-Match": "*"})
    assert nothing.status_code == 422
    assert phone.patch(one, json={"doubt": "perhaps"}, headers={"If-Match": "*"}).status_code == 422


def test_a_queue_answers_with_what_is_asked(coach: TestClient, database, gym) -> None:
    lifter = known(database, gym)
    for number, day in ((2, 4), (3, -1)):  # in order, and before all others: the log is folded anew
        load = {"value": 176.37, "unit": "kg"}
        at = START.replace(day=START.day + day).isoformat()
        body = {"id": lifter.set_id(number), "athlete": str(lifter.id), "lift": "bench-press", "load": load}
        answer = coach.post("/v1/sets", json={"sets": [{**body, "reps": 5, "rpe": 8, "at": at}]}).json()
        (result,) = answer["results"]
        assert result["result"] == "stored"
        assert result["set"]["doubt"] == coach.get(f"/v1/sets/{lifter.set_id(number)}").json()["doubt"]
        assert result["set"]["doubt"]["code"] == "pounds_as_kilograms"
