"""/v1/loadings: from the exact load to what hangs on the bar, and what to change for it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

import fastapi
from fastapi import Response
from pydantic import AfterValidator, Field
from pydantic_core import PydanticCustomError

from service.api.call import Called, Shape
from service.api.kits import KitBody, Label, PlaceIn, PlateMass, kit_of
from service.api.routing import operation, resource
from service.api.wire import Body, LiftId, LoadIn, Scale, UnitWord
from service.core import catalogue
from service.core.answers import BarLoading, Loading, PlateCount
from service.core.errors import NotComputable
from service.core.loading import loading
from service.core.loading.changes import PlateChange, plate_changes
from service.core.loading.kits import default_kit
from service.core.records import Kit, Lift
from service.core.units import GRAINS_PER_KG, Load, MassUnit
from service.store import lifts, places
from service.store.errors import UnknownReference
from service.store.session import Tx

router = resource("/loadings", "calculations")

KINDS_ON_A_BAR = 30

EXAMPLES: dict[str, Any] = {
    "usual plates": {
        "summary": "Nothing but the lift and the load: the usual bar and plates of its unit",
        "value": {"lift": "squat", "load": {"value": 126.802, "unit": "kg"}},
    },
    "change": {
        "summary": "In pounds, with what hangs there now",
        "value": {
            "lift": "deadlift",
            "load": {"value": 278.964, "unit": "lb"},
            "rounding": "down",
            "from": [{"plate": {"value": 45, "unit": "lb"}, "count": 2}],
        },
    },
    "own plates": {
        "summary": "A place that is not stored",
        "value": {
            "lift": "overhead-press",
            "load": {"value": 33.2, "unit": "kg"},
            "place": {
                "bars": [{"load": {"value": 15, "unit": "kg"}}],
                "plates": [
                    {"load": {"value": 5, "unit": "kg"}, "count": 4},
                    {"load": {"value": 1.25, "unit": "kg"}, "count": 2},
                ],
            },
        },
    },
}


def _mass(value: Load) -> Load:
    if value.unit == "step":
        raise PydanticCustomError("no_mass", "must be in kg or lb", {"allowed": {"values": ["kg", "lb"]}})
    return value


Exact = Annotated[LoadIn, AfterValidator(_mass)]


class HangingBody(Body):
    """Plates of one kind on each side."""

    plate: PlateMass
    """What one weighs."""
    count: Annotated[int, Scale(1, 100, 1)]
    """How many on each side."""


class LoadingBody(Body):
    """An exact load, and where it is to be loaded."""

    lift: LiftId
    """Its load kind says what the load means, and which bars may be used."""
    load: Exact
    """The exact load: the whole bar, one hand, added to body weight (negative: assistance), a machine's step."""
    place: PlaceIn | None = None
    """An id or `ref:`, or what can be loaded; left out: the usual bar, plates, dumbbells and machine."""
    unit: UnitWord | None = None
    """The unit of the answer; left out: as the load."""
    rounding: Literal["nearest", "down", "up"] | None = None
    """To the nearest load that can be loaded, the next lighter or the next heavier; left out: nearest."""
    bar: Label | None = None
    """The name of the bar to take; left out: the first that may be used for the lift."""
    from_: tuple[HangingBody, ...] | None = Field(None, alias="from", max_length=KINDS_ON_A_BAR)
    """What hangs on each side now, from the inside outwards; empty: the bar alone. Then `change` is answered."""


@dataclass(frozen=True, slots=True)
class LoadingAnswer:
    """What to load."""

    text: str
    """In words, for a board."""
    loading: Loading
    """What to load, beside the exact load."""
    change: PlateChange | None
    """What to take off and put on; null where `from` was not sent."""


ANSWER: Shape[LoadingAnswer] = Shape(LoadingAnswer)


@router.post("", **operation("loadings_calculate", "read", LoadingAnswer, own=True, body=True))
async def calculate_loading(
    call: Called, body: Annotated[LoadingBody, fastapi.Body(openapi_examples=EXAMPLES)]
) -> Response:
    """Say what to load for an exact load; with `from`, also what to change for it. Stores nothing."""
    unit: MassUnit = body.unit or ("lb" if body.load.unit == "lb" else "kg")
    lift = catalogue.BUILT_IN.get(body.lift)
    kit = kit_of(body.place, unit) if isinstance(body.place, KitBody) else default_kit(unit)
    if lift is None or isinstance(body.place, str):
        place = body.place if isinstance(body.place, str) else None
        found = await call.database.read(call.caller, call.now, _looked_up, body.lift, place)
        lift, kit = found[0], found[1] or kit
    return call.answer(ANSWER, _loaded(body, lift, kit, unit), stored=True)


def _looked_up(tx: Tx, lift: str, place: str | None) -> tuple[Lift, Kit | None]:
    found = lifts.get_many(tx, [lift]).get(lift)
    if found is None:
        raise UnknownReference("lift", "#/lift")
    return found, None if place is None else places.kit_named(tx, place)


def _loaded(body: LoadingBody, lift: Lift, kit: Kit, unit: MassUnit) -> LoadingAnswer:
    hung = loading.hang(
        body.load.grains / GRAINS_PER_KG, lift, kit, unit=unit, rounding=body.rounding or "nearest", bar=body.bar
    )
    change = None
    if body.from_ is not None:
        if not isinstance(hung, BarLoading):
            raise NotComputable("no_bar", f"{lift.name} is not done with a bar, so there are no plates to change.")
        change = plate_changes(tuple(PlateCount(one.plate, one.count, None, None) for one in body.from_), hung)
    return LoadingAnswer(loading.text_per_side(hung), hung, change)
