"""/v1/athletes/{athlete}/today: the day's sessions with everything that a phone's screen needs."""

from __future__ import annotations

from typing import Annotated

from fastapi import Query, Response
from pydantic import Field

from service.api.call import Called
from service.api.routing import operation, resource
from service.api.sessions import AthletePath, ShownQuery, in_formats, shown
from service.api.wire import Day
from service.flows import today
from service.flows.today import Today

router = resource("/athletes/{athlete}/today", "sessions")


class TodayQuery(ShownQuery):
    """Which days, and how to show them."""

    on: Day | None = None
    """The first day; left out: today, where the athlete is."""
    days: int = Field(1, ge=1, le=7)
    """How many days, to fetch ahead."""


@router.get("", **in_formats(operation("today_get", "read", Today, own=True, refusals=(404, 406))))
async def get_today(call: Called, athlete: AthletePath, query: Annotated[TodayQuery, Query()]) -> Response:
    """The day's sessions with loads, place, what is logged and each lift's last time, in one call.

    A day is the athlete's day. Plain text is the board.
    """
    return await shown(call, today.read, athlete, on=query.on, days=query.days, why=query.why, unit=query.unit)
