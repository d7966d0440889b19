"""/v1/places: where people train, and what can be loaded there."""

from __future__ import annotations

from typing import Annotated, Any

import fastapi
from fastapi import Path, Query, Response

from service.api.call import Called, Shape
from service.api.kits import KitBody, kit_of, kit_parts
from service.api.paging import Paged
from service.api.routing import operation, resource
from service.api.wire import Name, Page, Ref, ThingName
from service.store import places
from service.store.places import Place

router = resource("/places", "places")

PLACE: Shape[Place] = Shape(Place)
PLACES: Shape[Page[Place]] = Shape(Page[Place])

PlacePath = Annotated[ThingName, Path(description="Our id, or `ref:` and the gym's own reference.")]

_HALL: dict[str, Any] = {
    "name": "Old mill hall",
    "bars": [
        {"name": "bar", "load": {"value": 20, "unit": "kg"}},
        {"name": "light bar", "load": {"value": 15, "unit": "kg"}, "lifts": ["overhead-press", "snatch"]},
    ],
    "collars": {"value": 5, "unit": "kg"},
    "plates": [
        {"load": {"value": 25, "unit": "kg"}, "count": 8, "colour": "red", "diameter_mm": 450},
        {"load": {"value": 10, "unit": "kg"}, "count": 4},
        {"load": {"value": 5, "unit": "kg"}, "count": 2},
        {"load": {"value": 45, "unit": "lb"}, "count": 4},
        {"load": {"value": 1.25, "unit": "kg"}, "count": 2},
    ],
    "dumbbells": [{"value": 10, "unit": "kg"}, {"value": 12.5, "unit": "kg"}],
    "stacks": [
        {
            "name": "cable",
            "lifts": ["lat-pulldown", "cable-row"],
            "steps": [{"value": 1, "unit": "step"}, {"value": 2, "unit": "step"}, {"value": 3, "unit": "step"}],
        }
    ],
}
EXAMPLES: dict[str, Any] = {
    "a hall": {"summary": "Two bars, plates in kilograms and pounds, dumbbells, a cable machine", "value": _HALL},
    "a cellar": {
        "summary": "One bar and few plates",
        "value": {
            "name": "Cellar",
            "bars": [{"load": {"value": 45, "unit": "lb"}}],
            "plates": [
                {"load": {"value": 45, "unit": "lb"}, "count": 2},
                {"load": {"value": 10, "unit": "lb"}, "count": 4},
            ],
        },
    },
}
CHANGES: dict[str, Any] = {
    "another name": {"summary": "Only the name", "value": {"name": "New mill hall"}},
    "lighter collars": {"summary": "Only the collars", "value": {"collars": {"value": 0.4, "unit": "kg"}}},
}


class PlaceBody(KitBody):
    """A place with what can be loaded there; what is left out is not there."""

    name: Name
    """As the gym writes it."""
    ref: Ref | None = None
    """The gym's own reference; unique in the gym."""


class PlacePatch(PlaceBody):
    """What is to change; a list is replaced whole, null empties it."""

    name: Name | None = None  # type: ignore[assignment]
    """As the gym writes it."""


@router.get("", **operation("places_list", "read", Page[Place], own=True))
async def list_places(call: Called, query: Annotated[Paged, Query()]) -> Response:
    """List the places, by name."""
    return await call.page(PLACES, query, lambda place: (place.name, str(place.id)), places.page)


@router.post("", **operation("places_add", "coach", Place, status=201, refusals=(409,), body=True))
async def add_place(call: Called, body: Annotated[PlaceBody, fastapi.Body(openapi_examples=EXAMPLES)]) -> Response:
    """Add a place."""
    return await call.add(
        PLACE,
        lambda made: f"/v1/places/{made.id}",
        places.add,
        name=body.name,
        ref=body.ref,
        kit=kit_of(body, "kg"),
    )


@router.get("/{place}", **operation("places_get", "read", Place, own=True, refusals=(404,)))
async def get_place(call: Called, place: PlacePath) -> Response:
    """Read one place."""
    return await call.read(PLACE, places.get, place)


@router.put("/{place}", **operation("places_put", "coach", Place, refusals=(404, 409, 412, 428), body=True))
async def put_place(
    call: Called, place: PlacePath, body: Annotated[PlaceBody, fastapi.Body(openapi_examples=EXAMPLES)]
) -> Response:
    """Create or replace a place by the gym's own `ref:`; by our id, replace (with `If-Match`)."""
    kit = kit_of(body, "kg")
    if place.startswith("ref:"):
        return await call.put(PLACE, places.put, place, only_new=call.only_new(), name=body.name, kit=kit)
    return await call.write(PLACE, places.replace, place, expected=call.expected(), name=body.name, kit=kit)


@router.patch("/{place}", **operation("places_change", "coach", Place, refusals=(404, 409, 412, 428), body=True))
async def change_place(
    call: Called, place: PlacePath, body: Annotated[PlacePatch, fastapi.Body(openapi_examples=CHANGES)]
) -> Response:
    """Change what is sent; a list is replaced whole, null empties it."""
    values = kit_parts(body, "kg", only_sent=True)
    if body.name is not None:
        values["name"] = body.name
    if "ref" in body.model_fields_set:
        values["ref"] = body.ref
    return await call.write(PLACE, places.change, place, expected=call.expected(), values=values)


@router.delete("/{place}", **operation("places_remove", "coach", status=204, refusals=(404, 409, 412, 428)))
async def remove_place(call: Called, place: PlacePath) -> Response:
    """Remove a place; 409 while the gym, an athlete or a session uses it."""
    return await call.remove(places.remove, place, expected=call.expected())
