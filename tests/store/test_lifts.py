"""Lifts read for calculations."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from service.core.catalogue import BUILT_IN, with_parents
from service.store import lifts
from service.store.session import Caller, Database, Tx
from tests.counting import statements


def caller(gym: Any) -> Caller:
    return Caller(gym.id, "", "tests", "owner", None)


def test_built_in_lifts_are_stored_as_the_catalogue_has_them(gym: Any, database: Database) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        assert lifts.get_many(tx, list(BUILT_IN)) == BUILT_IN


def test_lifts_come_with_all_that_they_are_based_on_in_one_statement(gym: Any, database: Database) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx, statements(database) as seen:
        found = lifts.get_many(tx, ["power-clean", "power-clean", "no-such-lift", "plank"])
    assert found == (with_parents("power-clean") or {}) | {"plank": BUILT_IN["plank"]}
    assert len(seen) == 1


def test_nothing_asked_is_nothing_found(gym: Any, database: Database) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        assert lifts.get_many(tx, []) == {}


def test_parents_are_those_of_the_own_gym(gym: Any, other_gym: Any, database: Database) -> None:
    def put(tx: Tx, word: str, **values: Any) -> None:
        values = {"name": word, "load_kind": "total"} | values
        lifts.put(tx, word, expected=-1, only_new=False, values=values)

    with database.transaction(caller(other_gym), datetime.now(UTC)) as tx:
        put(tx, "belt-squat", name="Theirs", based_on="squat", ratio=0.5)
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        put(tx, "belt-squat", name="Ours", based_on="deadlift", ratio=0.9)
        put(tx, "box-belt-squat", based_on="belt-squat", ratio=0.95)
        found = lifts.get_many(tx, ["box-belt-squat"])
    assert list(found) == ["box-belt-squat", "belt-squat", "deadlift"]
    assert (found["belt-squat"].name, found["belt-squat"].ratio) == ("Ours", 0.9)
    assert found["box-belt-squat"].curve_group == "deadlift_like"
