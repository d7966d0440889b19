"""What a template is written by: its weeks one by one, or parts that stand for several weeks each."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import model_validator
from pydantic_core import PydanticCustomError

from service.api.alike import alike
from service.api.parts import PartBody
from service.api.problems import Problem
from service.api.routing import TEMPLATE_BYTES
from service.api.slots import WeekBody
from service.api.targets import count, without
from service.api.wire import Body
from service.core.progressions.expand import Unwritable, expand
from service.core.progressions.records import MOST_WEEKS, LighterWeeks, Part
from service.core.slots import WeekPlan
from service.core.templates import MOST_FAULTS, Fault, faults, lifts_named, slot_faults
from service.store import lifts
from service.store.plans import week_json
from service.store.session import Tx

_weeks, _weeks_doc = count(1, MOST_WEEKS)
Weeks = Annotated[tuple[WeekBody, ...], alike, _weeks, _weeks_doc]
Parts = Annotated[tuple[PartBody, ...], _weeks, _weeks_doc]


class WrittenBody(Body):
    """Weeks, or parts that stand for weeks."""

    weeks: Weeks | None = None
    """Weeks in order; they count from 1. Or `parts`."""
    parts: Annotated[Parts, without("weeks")] | None = None
    """Parts in order, each one week written out and what changes from week to week; at most 104 weeks together."""

    @model_validator(mode="after")
    def _one_of_both(self) -> WrittenBody:
        if self.weeks is None and self.parts is None:
            raise PydanticCustomError("required", "is required, or parts in its place", {"member": "weeks"})
        return self


@dataclass(frozen=True, slots=True)
class Written:
    """A template as it is stored: its weeks, and the parts that it was written by."""

    weeks: tuple[WeekPlan, ...]
    parts: tuple[Part, ...] | None


def checked(tx: Tx, body: WrittenBody) -> Written:
    """What a body stands for; everything that is wrong with it is refused in one problem."""
    if body.parts is None:
        weeks = tuple(week.record() for week in body.weeks or ())
        refuse(faults(weeks, lifts.get_many(tx, lifts_named(weeks))))
        return Written(weeks, None)
    parts = tuple(part.record() for part in body.parts)
    return Written(_expanded(tx, parts), parts)


def refuse(found: Sequence[Fault]) -> None:
    """Refuse a body for its faults, all of them in one problem; nothing where there are none."""
    if not found:
        return
    errors = [{"pointer": one.pointer, "code": one.code, "detail": one.text} for one in found]
    fields = "1 field is" if len(found) == 1 else f"{len(found)} fields are"
    raise Problem("invalid-fields", f"{fields} not valid: {found[0].pointer} {found[0].text}.", errors=errors)


def _expanded(tx: Tx, parts: Sequence[Part]) -> tuple[WeekPlan, ...]:
    known = lifts.get_many(tx, lifts_named([part.week for part in parts]))
    found = [
        fault
        for p, part in enumerate(parts)
        for s, session in enumerate(part.week.sessions)
        for fault in slot_faults(session.slots, known, f"#/parts/{p}/week/sessions/{s}/slots")
    ]
    large = _too_large(parts)
    if large is not None:
        refuse([*found, large])
    try:
        weeks = expand(parts)
    except Unwritable as error:
        refuse([*found, *error.faults][:MOST_FAULTS])
        raise AssertionError("what cannot be written is refused") from error
    refuse(found[:MOST_FAULTS])
    refuse(_unliftable(parts, faults(weeks, known)) if _moves_loads(parts) else ())
    return weeks


def _too_large(parts: Sequence[Part]) -> Fault | None:
    """Parts whose weeks could not be sent as such."""
    size = sum(part.weeks * len(json.dumps(week_json(part.week), ensure_ascii=False).encode()) for part in parts)
    if size <= TEMPLATE_BYTES:
        return None
    rule = f"must stand for at most {TEMPLATE_BYTES // 1024**2} MiB of weeks, as if they were sent one by one"
    return Fault("#/parts", "too_large", rule)


def _moves_loads(parts: Sequence[Part]) -> bool:
    """Whether a fixed load moves, the only number that may not suit a lift in a later week."""
    return any(
        not isinstance(one, LighterWeeks) and one.change == "load" for part in parts for one in part.progressions
    )


def _unliftable(parts: Sequence[Part], found: Sequence[Fault]) -> list[Fault]:
    """Faults of the written weeks, told once at the progression that leads to them."""
    told: dict[str, Fault] = {}
    for fault in found:
        week = int(fault.pointer.split("/")[2])
        for p, part in enumerate(parts):
            if week < part.weeks:
                moving = next(
                    at
                    for at, one in enumerate(part.progressions)
                    if not isinstance(one, LighterWeeks) and one.change == "load"
                )
                pointer = f"#/parts/{p}/progressions/{moving}"
                text = f"does not work in week {week + 1}: the load {fault.text}"
                told.setdefault(pointer, Fault(pointer, fault.code, text))
                break
            week -= part.weeks
    return list(told.values())
