"""/v1/gym: the gym that the key belongs to."""

from __future__ import annotations

from typing import Annotated, Any

import fastapi
from fastapi import Response

from service.api.call import Called, Shape
from service.api.routing import operation, resource
from service.api.settings import SettingsBody, stored_settings
from service.api.wire import Body, Name, ThingName, TimeZone, UnitWord
from service.store import gyms
from service.store.gyms import Gym

router = resource("/gym", "service")

GYM: Shape[Gym] = Shape(Gym)

EXAMPLES: dict[str, Any] = {
    "settings": {
        "summary": "Work sets stay below 9, loads are rounded down",
        "value": {"settings": {"effort_limit": 9, "rounding": "down"}},
    },
    "unit": {"summary": "New athletes read pounds", "value": {"unit": "lb", "time_zone": "America/Chicago"}},
}


class GymPatch(Body):
    """What is to change; null clears the place and gives a setting back to the usual."""

    name: Name | None = None
    """As the gym writes it."""
    unit: UnitWord | None = None
    """The unit of new athletes; those there keep theirs."""
    time_zone: TimeZone | None = None
    """IANA name, such as Europe/Oslo; that of new athletes."""
    settings: SettingsBody | None = None
    """The settings of all athletes who have no own."""
    place: ThingName | None = None
    """Where athletes without an own place train."""


@router.get("", **operation("gym_get", "read", Gym, own=True))
async def get_gym(call: Called) -> Response:
    """Read the gym."""
    return await call.read(GYM, gyms.get)


@router.patch("", **operation("gym_change", "owner", Gym, refusals=(409, 412, 428), body=True))
async def change_gym(call: Called, body: Annotated[GymPatch, fastapi.Body(openapi_examples=EXAMPLES)]) -> Response:
    """Change what is sent. Loads that were shown stay as they were; those to come follow."""
    values = body.model_dump(exclude_unset=True, exclude={"settings"})
    values = {name: value for name, value in values.items() if value is not None or name == "place"}
    if body.settings is not None:
        values["settings"] = stored_settings(body.settings)
    return await call.write(GYM, gyms.change, expected=call.expected(), values=values)
