"""/v1/athletes: the people who train, and their body weights."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import Body as JsonBody
from fastapi import Path, Query, Response
from pydantic import Field

from service.api.call import Called, Shape
from service.api.paging import Paged
from service.api.routing import operation, resource
from service.api.settings import SettingsBody, stored_settings
from service.api.units import LoadsPaged, listed_in
from service.api.wire import Body, Day, Mass, Name, Page, Ref, Scale, ThingName, TimeZone, UnitWord
from service.flows import change_athlete as changes
from service.flows import replay
from service.store import athletes
from service.store.athletes import Athlete, BodyWeight

router = resource("/athletes", "athletes")

ATHLETE: Shape[Athlete] = Shape(Athlete)
ATHLETES: Shape[Page[Athlete]] = Shape(Page[Athlete])
WEIGHT: Shape[BodyWeight] = Shape(BodyWeight)
WEIGHTS: Shape[Page[BodyWeight]] = Shape(Page[BodyWeight])

BirthYear = Annotated[int, Scale(1900, 2100, 1)]
AthletePath = Annotated[ThingName, Path(description="Our id, or `ref:` and the gym's own reference.")]
DayPath = Annotated[Day, Path(description="The athlete's day.")]


class AthleteBody(Body):
    """What an athlete is told by; what is left out is as the gym has it."""

    name: Name
    """As the gym writes it."""
    ref: Ref | None = None
    """The gym's own reference; unique in the gym."""
    unit: UnitWord | None = None
    """The unit that loads are shown in."""
    time_zone: TimeZone | None = None
    """IANA name, such as Europe/Oslo."""
    experience: Literal["beginner", "intermediate", "advanced"] | None = None
    """As the coach sees it."""
    birth_year: BirthYear | None = None
    """Optional."""
    sex: Literal["female", "male"] | None = None
    """Optional, for points tables only."""
    place: ThingName | None = None
    """Where this athlete trains by default."""
    settings: SettingsBody | None = None
    """What differs from the gym's settings."""


class AthletePatch(AthleteBody):
    """What is to change; null clears."""

    name: Name | None = None  # type: ignore[assignment]  # a new athlete has a name, a change may leave it as it is
    """As the gym writes it."""
    archived: bool | None = Field(None, strict=True)
    """True: out of the lists; the log stays."""


class BodyWeightBody(Body):
    """A body weight."""

    load: Mass
    """As the scale shows it, more than 0."""


class AthleteQuery(Paged):
    """Which athletes."""

    archived: bool = False
    """True: the archived ones."""
    q: str | None = Field(None, min_length=1, max_length=100)
    """Part of a name or ref."""
    group: ThingName | None = None
    """Those of a group: our id, or `ref:` and the gym's own reference."""


NEW = {
    "a member of the gym's app": {
        "value": {"name": "Runa Fell", "ref": "runa-7", "unit": "kg", "experience": "intermediate"},
    },
    "everything": {
        "value": {
            "name": "Odd Hammer",
            "unit": "lb",
            "time_zone": "Europe/Oslo",
            "experience": "advanced",
            "birth_year": 1988,
            "sex": "male",
            "settings": {"effort_limit": 9, "build_up": {"percents": [90, 95]}, "rounding": "down"},
        },
    },
}
SYNCED = {"a member of the gym's app": {"value": {"name": "Runa Fell", "unit": "kg"}}}
CHANGED = {
    "a coach pins a curve": {"value": {"settings": {"curve": "epley"}}},
    "archived": {"value": {"archived": True}},
}
WEIGHED = {"on the scale": {"value": {"load": {"value": 82.4, "unit": "kg"}}}}


def _values(body: AthleteBody) -> dict[str, Any]:
    sent = body.model_dump(exclude_unset=True, exclude={"settings"})
    for name in ("unit", "time_zone", "name", "archived"):
        if sent.get(name, True) is None:
            del sent[name]  # these have no "none": null is "as it is"
    if "settings" in body.model_fields_set:
        sent["settings"] = stored_settings(body.settings)
    return sent


@router.get("", **operation("athletes_list", "read", Page[Athlete], refusals=(404,)))
async def list_athletes(call: Called, query: Annotated[AthleteQuery, Query()]) -> Response:
    """List athletes, by name."""
    return await call.page(
        ATHLETES,
        query,
        lambda athlete: (athlete.name, str(athlete.id)),
        athletes.page,
        archived=query.archived,
        words=query.q,
        group=query.group,
    )


@router.post("", **operation("athletes_add", "coach", Athlete, status=201, refusals=(409,), body=True))
async def add_athlete(call: Called, body: Annotated[AthleteBody, JsonBody(openapi_examples=NEW)]) -> Response:
    """Register an athlete."""
    return await call.add(ATHLETE, lambda made: f"/v1/athletes/{made.id}", athletes.add, values=_values(body))


@router.get("/{athlete}", **operation("athletes_get", "read", Athlete, own=True, refusals=(404,)))
async def get_athlete(call: Called, athlete: AthletePath) -> Response:
    """Read one athlete."""
    return await call.read(ATHLETE, athletes.get, athlete)


@router.put("/{athlete}", **operation("athletes_put", "coach", Athlete, refusals=(404, 409, 412, 428), body=True))
async def put_athlete(
    call: Called, athlete: AthletePath, body: Annotated[AthleteBody, JsonBody(openapi_examples=SYNCED)]
) -> Response:
    """Create or replace an athlete by the gym's own `ref:`; by our id, replace (with `If-Match`)."""
    if athlete.startswith("ref:"):
        return await call.put(ATHLETE, changes.put, athlete, values=_values(body))
    return await call.write(ATHLETE, changes.replace, athlete, expected=call.expected(), values=_values(body))


@router.patch("/{athlete}", **operation("athletes_change", "coach", Athlete, refusals=(404, 409, 412, 428), body=True))
async def change_athlete(
    call: Called, athlete: AthletePath, body: Annotated[AthletePatch, JsonBody(openapi_examples=CHANGED)]
) -> Response:
    """Change what is sent; null clears. `{"archived": true}` archives."""
    return await call.write(ATHLETE, changes.change, athlete, expected=call.expected(), values=_values(body))


@router.delete("/{athlete}", **operation("athletes_remove", "owner", status=204, refusals=(404, 409, 412, 428)))
async def erase_athlete(call: Called, athlete: AthletePath) -> Response:
    """Erase an archived athlete with everything that belongs to the person; this cannot be undone."""
    return await call.remove(athletes.erase, athlete, expected=call.expected())


@router.get(
    "/{athlete}/body-weights", **operation("body_weights_list", "read", Page[BodyWeight], own=True, refusals=(404,))
)
async def list_body_weights(call: Called, athlete: AthletePath, query: Annotated[LoadsPaged, Query()]) -> Response:
    """List body weights, the newest first."""
    listed = listed_in(query.unit, athletes.body_weight_page)
    return await call.page(WEIGHTS, query, lambda weight: (str(weight.date),), listed, athlete)


@router.put(
    "/{athlete}/body-weights/{date}",
    **operation("body_weights_put", "log", BodyWeight, own=True, refusals=(404,), body=True),
)
async def put_body_weight(
    call: Called,
    athlete: AthletePath,
    date: DayPath,
    body: Annotated[BodyWeightBody, JsonBody(openapi_examples=WEIGHED)],
) -> Response:
    """Write the body weight of a day; the day is the key, so a retry changes nothing."""
    return await call.put(WEIGHT, replay.put_body_weight, athlete, on=date, weight=body.load)


@router.delete(
    "/{athlete}/body-weights/{date}", **operation("body_weights_remove", "log", own=True, status=204, refusals=(404,))
)
async def remove_body_weight(call: Called, athlete: AthletePath, date: DayPath) -> Response:
    """Remove the body weight of a day."""
    return await call.remove(replay.remove_body_weight, athlete, on=date)
