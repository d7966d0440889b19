"""Kits read for calculations."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest

from service.core.loading.kits import default_kit
from service.core.records import Bar, Kit, Plate, Stack
from service.core.units import load
from service.store import places
from service.store.errors import NotFound, UnknownReference
from service.store.session import Caller, Database

KIT = Kit(
    bars=(Bar(name="bar", load=load(20, "kg")), Bar(name="light", load=load(33, "lb"), lifts=("overhead-press",))),
    collars=load(2.5, "kg"),
    plates=(Plate(load=load(25, "kg"), count=4, colour="red", diameter_mm=450), Plate(load=load(2.3, "kg"), count=2)),
    dumbbells=(load(12.5, "kg"),),
    stacks=(Stack(name="cable", lifts=(), steps=(load(1, "step"), load(2, "step"))),),
)


def caller(gym: Any) -> Caller:
    return Caller(gym.id, "", "tests", "owner", None)


def test_a_kit_comes_back_exactly_as_it_was_stored(gym: Any, database: Database) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        made = places.add(tx, name="Hall", ref="hall", kit=KIT)
        assert places.kit(tx, made.id, "lb") == KIT
        assert places.kit_named(tx, "ref:hall") == KIT


def test_without_a_place_it_is_the_usual_kit_in_the_unit(gym: Any, database: Database) -> None:
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        assert places.kit(tx, None, "lb") == default_kit("lb")


def test_a_place_of_another_gym_or_none_has_no_kit(gym: Any, other_gym: Any, database: Database) -> None:
    with database.transaction(caller(other_gym), datetime.now(UTC)) as tx:
        theirs = places.add(tx, name="Hall", ref="hall", kit=KIT).id
    with database.transaction(caller(gym), datetime.now(UTC)) as tx:
        for place in (theirs, uuid4()):
            with pytest.raises(NotFound):
                places.kit(tx, place, "kg")
        with pytest.raises(UnknownReference):
            places.kit_named(tx, "ref:hall")
