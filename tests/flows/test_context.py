"""What an athlete's loads depend on, read from the database."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

import pytest
from sqlalchemy import insert
from starlette.testclient import TestClient

from service.core.context import Context
from service.flows.context import Asked, gather
from service.store import gyms
from service.store.errors import NotFound
from service.store.ids import new_id
from service.store.prescribed import CONTEXT
from service.store.session import Caller, Database
from service.store.tables import day_estimates, lift_states, maxes, overrides, places, sets
from tests.counting import statements

ON = date(2026, 11, 25)


def made(coach: TestClient, **more: Any) -> UUID:
    answer = coach.post("/v1/athletes", json={"name": "Runa Fell", **more})
    assert answer.status_code == 201, answer.text
    return UUID(answer.json()["id"])


def caller(gym: Any) -> Caller:
    return Caller(gym.id, "tests", "tests", "coach", None)


def read(database: Database, gym: Any, athlete: UUID, **more: Any) -> Context:
    asked: dict[str, Any] = {"on": ON, "lifts": ["squat"], "place": None} | more
    with database.transaction(caller(gym), datetime(2026, 11, 25, 17, tzinfo=UTC)) as tx:
        return gather(tx, Asked(athlete=athlete, **asked))


def put(database: Database, gym: Any, table: Any, **row: Any) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        tx.execute(insert(table).values(gym_id=gym.id, **row))


def enter_max(database: Database, gym: Any, athlete: UUID, kg: float, on: str, **more: Any) -> None:
    row: dict[str, Any] = {"lift": "squat", "kind": "tested", "support": [], "support_class": "unsupported"} | more
    load = {"load_value": kg, "load_unit": "kg", "load_kg": kg}
    put(database, gym, maxes, id=new_id(), athlete_id=athlete, date=date.fromisoformat(on), **load, **row)


def enter_set(database: Database, gym: Any, athlete: UUID, lift: str, on: str) -> UUID:
    """A logged set for an estimate to point at."""
    identity, moment = new_id(), datetime.fromisoformat(on + "T17:00:00+00:00")
    row = {
        "lift": lift,
        "role": "free",
        "reps": 1,
        "made": True,
        "ended_by": "choice",
        "pain": "none",
        "support": [],
        "support_class": "unsupported",
        "at": moment,
        "at_offset_minutes": 60,
        "local_date": moment.date(),
    }
    put(database, gym, sets, id=identity, athlete_id=athlete, **row)
    return identity


def enter_day(database: Database, gym: Any, athlete: UUID, kg: float, on: str, **more: Any) -> None:
    row = {"lift": "squat", "support_class": "unsupported", "stack": ""} | more
    source = enter_set(database, gym, athlete, row["lift"], on)
    when = date.fromisoformat(on)
    put(database, gym, day_estimates, athlete_id=athlete, date=when, set_id=source, effective_kg=kg, **row)


def kilograms(context: Context, basis: str, lift: str = "squat") -> list[float]:
    return sorted(one.kg for one in context.maxes if (one.lift, one.basis) == (lift, basis))


def test_the_athletes_settings_stand_over_the_gyms_and_the_unit_may_be_asked_for(coach, gym, database) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        gyms.change(tx, expected=None, values={"settings": {"effort_limit": 9, "rounding": "down"}})
    athlete = made(coach, unit="lb", settings={"effort_limit": 8.5}, birth_year=2010)
    found = read(database, gym, athlete)
    assert (found.settings.effort_limit, found.settings.rounding) == (8.5, "down")
    assert (found.unit, found.kit.bars[0].load.unit) == ("lb", "lb")
    assert found.age_years == 15  # born in 2010, perhaps in December: 15 full years are sure
    assert read(database, gym, athlete, unit="kg").unit == "kg"


def test_the_newest_entered_max_of_each_support_class_is_in_force(coach, gym, database) -> None:
    athlete = made(coach)
    enter_max(database, gym, athlete, 150, "2026-09-01")
    enter_max(database, gym, athlete, 155, "2026-11-25")
    enter_max(database, gym, athlete, 160, "2026-11-26")
    enter_max(database, gym, athlete, 170, "2026-10-01", support=["wraps"], support_class="wraps")
    enter_max(database, gym, athlete, 140, "2026-10-01", kind="training")
    found = read(database, gym, athlete)
    assert kilograms(found, "tested") == [155, 170]  # the one of the 26th is not yet
    assert kilograms(found, "training") == [140]


def test_a_bodyweight_max_contains_the_body_weight_of_its_time(coach, gym, database) -> None:
    athlete = made(coach)
    enter_max(database, gym, athlete, 40, "2026-10-10", lift="dip")
    assert kilograms(read(database, gym, athlete), "tested", "dip") == []  # unknown: left out
    for day, kg in (("2026-10-01", 80), ("2026-11-20", 84)):
        weighed = {"load": {"value": kg, "unit": "kg"}}
        assert coach.put(f"/v1/athletes/{athlete}/body-weights/{day}", json=weighed).status_code == 201
    found = read(database, gym, athlete)
    assert kilograms(found, "tested", "dip") == [120]  # 80 + 40, not 84 + 40
    assert found.body_weight_kg == 84
    assert read(database, gym, athlete, on=date(2026, 11, 1)).body_weight_kg == 80
    assert read(database, gym, athlete, on=date(2026, 9, 1)).body_weight_kg is None


def test_day_estimates_count_for_fourteen_days_and_the_rolling_average_with_them(coach, gym, database) -> None:
    athlete = made(coach, settings={"curve": "default"})
    enter_day(database, gym, athlete, 150, "2026-11-11")  # the fifteenth day before, today included
    enter_day(database, gym, athlete, 151, "2026-11-12")  # the fourteenth
    enter_day(database, gym, athlete, 152, "2026-11-25")
    enter_day(database, gym, athlete, 153, "2026-11-26")
    body = {"value_before": 140, "day": "2026-11-25", "best_kg": 130, "best_estimate": 150, "value": 143}
    key = {"lift": "squat", "support_class": "unsupported", "stack": ""}
    put(database, gym, lift_states, athlete_id=athlete, body=body, **key)
    found = read(database, gym, athlete)
    assert kilograms(found, "day") == [151, 152]
    assert kilograms(found, "rolling") == [143]
    assert kilograms(read(database, gym, athlete, before_today="deadlift"), "day") == [151, 152]
    before = read(database, gym, athlete, before_today="squat")
    assert kilograms(before, "day") == [151]
    assert kilograms(before, "rolling") == [140]  # as it stood before today's sets


def test_estimates_of_machine_lifts_count_on_their_own_machine(coach, gym, database) -> None:
    athlete = made(coach)
    for stack, kg in (("machine", 90), ("another", 120)):
        enter_day(database, gym, athlete, kg, "2026-11-24", lift="leg-press", stack=stack)
    found = read(database, gym, athlete, lifts=["leg-press"])  # the usual kit has one machine, for any lift
    assert kilograms(found, "day", "leg-press") == [90]


def test_lifts_come_with_what_they_are_based_on_and_what_may_stand_in(coach, gym, database) -> None:
    athlete = made(coach)
    row = {"reason": "knee", "set_by": "tests", "from_date": ON, "until_date": ON}
    put(
        database, gym, overrides, id=new_id(), athlete_id=athlete, lift="squat", kind="exchange", to_lift="box-squat",
        **row,
    )  # fmt: skip
    found = read(database, gym, athlete, lifts=["power-clean", "squat"])
    assert set(found.lifts) == {"power-clean", "clean", "clean-and-jerk", "squat", "box-squat"}
    assert [(one.kind, one.to_lift, one.set_by) for one in found.overrides] == [("exchange", "box-squat", "tests")]


def test_the_place_asked_for_goes_before_the_athletes_own(coach, gym, database) -> None:
    def kit(bar: float) -> dict[str, Any]:
        load = {"value": bar, "unit": "kg", "kg": bar}
        none = {"value": 0, "unit": "kg", "kg": 0}
        return {"bars": [{"name": "bar", "load": load, "lifts": []}], "collars": none, "plates": []}

    home, hall = new_id(), new_id()
    for place, bar in ((home, 15), (hall, 25)):
        put(database, gym, places, id=place, name="A place", kit=kit(bar))
    athlete = made(coach, place=str(home))
    assert read(database, gym, athlete).kit.bars[0].load.value == 15
    assert read(database, gym, athlete, place=hall).kit.bars[0].load.value == 25


def test_a_context_survives_being_kept_as_json(coach, gym, database) -> None:
    athlete = made(coach, settings={"build_up": {"percents": [80, 90]}})
    enter_max(database, gym, athlete, 150.125, "2026-11-01")
    found = read(database, gym, athlete, lifts=["power-clean", "squat"])
    assert found.settings.build_up.percents == (80, 90)
    assert CONTEXT.validate_json(CONTEXT.dump_json(found)) == found


def test_a_context_is_read_in_five_statements(coach, gym, database) -> None:
    athlete = made(coach)
    with statements(database) as seen:
        read(database, gym, athlete)
    assert len(seen) == 5


def test_another_gyms_athlete_is_not_found(coach, gym, other_gym, database) -> None:
    athlete = made(coach)
    with pytest.raises(NotFound):
        read(database, other_gym, athlete)
