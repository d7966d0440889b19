"""/v1/groups/{group}/today: a group's loads at a place on one page, and who shares a bar with whom."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import Query, Response
from pydantic import BaseModel, ConfigDict

from service.api.accept import chosen
from service.api.athlete_lifts import content_tag
from service.api.call import PRIVATE, Called, Shape
from service.api.groups import GroupPath
from service.api.routing import operation, resource
from service.api.sessions import FORMATS, in_formats
from service.api.wire import Day, ThingName, UnitWord
from service.export import group_page
from service.export.group_page import GroupPage, PageAthlete, PageOfPlace
from service.flows.group_day import GroupDay, group_day
from service.store import lifts
from service.store.session import Tx

router = resource("/groups/{group}/today", "groups")

DAY: Shape[GroupDay] = Shape(GroupDay)


class GroupDayQuery(BaseModel):
    """Which day, where, and how to show it."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    on: Day | None = None
    """The day; left out: the gym's today."""
    place: ThingName | None = None
    """Only who trains there."""
    unit: UnitWord | None = None
    """Loads of sessions that are not open yet in this unit; left out: in each athlete's."""
    format: Literal["json", "text"] | None = None
    """`text`: to print; in place of `Accept`."""


@router.get("", **in_formats(operation("groups_today", "read", GroupDay, refusals=(404, 406))))
async def get_group_day(call: Called, group: GroupPath, query: Annotated[GroupDayQuery, Query()]) -> Response:
    """Read a group's day: everybody's loads, who shares a bar in which order, and what that needs at once.

    Everybody's first lift is done at the same time, then everybody's second. Where bars or plates do not suffice,
    lifts follow one another, and `advice` says what is short. Plain text is a page to print.
    """
    name = chosen(call.request, FORMATS)
    plain = name == "text"
    body = await call.database.read(call.caller, call.now, _written, group, query, plain=plain)
    tag = content_tag(body, ".txt" if plain else "")
    headers = PRIVATE | {"ETag": tag}
    if call.has(tag):
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type=FORMATS[name])


def _written(tx: Tx, group: str, query: GroupDayQuery, *, plain: bool) -> bytes:
    day = group_day(tx, group, on=query.on, place=query.place, unit=query.unit)
    return group_page.text(_page(tx, day)).encode() if plain else DAY.json(day)


def _page(tx: Tx, day: GroupDay) -> GroupPage:
    words = {slot.lift for place in day.places for one in place.sessions for slot in one.slots}
    return GroupPage(
        group=day.name,
        date=day.date,
        notes=[(one.date, one.made_by, one.text) for one in (day.last_note, day.note) if one is not None],
        places=[
            PageOfPlace(
                name=None if place.place is None else place.place.name,
                athletes=[
                    PageAthlete(name=one.name, session=one.session_name, state=one.state, slots=one.slots)
                    for one in place.sessions
                ],
                rounds=[one.shared for one in place.rounds],
            )
            for place in day.places
        ],
        without=day.without_session,
        away=[(one.name, one.absence.kind, one.absence.from_date, one.absence.until) for one in day.away],
        lifts={lift.id: lift.name for lift in lifts.get_many(tx, words).values()},
    )
