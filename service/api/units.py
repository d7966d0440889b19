"""`?unit=` on reads: loads are shown in the unit that is asked for; what is stored stays as it is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from fastapi import Query, Response

from service.api.call import Call, Shape, version_tag
from service.api.paging import Paged
from service.api.wire import UnitWord
from service.flows.in_unit import record_in
from service.store.athletes import BodyWeight
from service.store.maxes import Max
from service.store.overrides import Override
from service.store.set_records import LoggedSet

Loaded = TypeVar("Loaded", LoggedSet, Max, Override, BodyWeight)

UnitQuery = Annotated[UnitWord | None, Query(description="Shows loads in this unit; what is stored stays as it is.")]


class LoadsPaged(Paged):
    """The query parameters of a list with loads."""

    unit: UnitWord | None = None
    """Shows loads in this unit; what is stored stays as it is."""


def listed_in(unit: UnitWord | None, f: Callable[..., list[Loaded]]) -> Callable[..., list[Loaded]]:
    """What `f(tx, ...)` lists, with its loads in a unit; None: as they were entered."""
    if unit is None:
        return f
    return lambda *args, **filters: [record_in(one, unit) for one in f(*args, **filters)]


async def read_in(
    call: Call, unit: UnitWord | None, shape: Shape[Loaded], f: Callable[..., Loaded], *args: Any
) -> Response:
    """Answer what `f(tx, ...)` reads, with its load in a unit; the tag is the version's with the unit as its mark."""
    if unit is None:
        return await call.read(shape, f, *args)
    answer = await call.database.read(call.caller, call.now, f, *args)
    tag = version_tag(answer)
    marked = None if tag is None else f'{tag[:-1]}.{unit}"'
    return call.answer(shape, record_in(answer, unit), tag=marked)
