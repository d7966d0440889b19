"""Slots that stand in a body many times are checked once."""

from __future__ import annotations

import marshal
from typing import Any

from pydantic import BeforeValidator, ValidationError

from service.api.slots import SlotBody


def _once(weeks: Any) -> Any:
    """Weeks as they were sent, with readable slots in place of those that were sent: the same one for all alike.

    A slot that cannot be read stays as it is, so that it is refused where it stands. The bytes that a slot is told
    apart by say of each value what it is, so that 1, 1.0 and true are three.
    """
    known: dict[bytes, SlotBody | None] = {}
    return [_week(week, known) for week in weeks]


def _week(week: Any, known: dict[bytes, SlotBody | None]) -> Any:
    sessions = week.get("sessions") if type(week) is dict else None
    if type(sessions) is not list:
        return week
    return {**week, "sessions": [_session(session, known) for session in sessions]}


def _session(session: Any, known: dict[bytes, SlotBody | None]) -> Any:
    slots = session.get("slots") if type(session) is dict else None
    if type(slots) is not list:
        return session
    found = []
    for slot in slots:
        key = marshal.dumps(slot, 2)  # the second version writes each value out, whatever else it is part of
        if key not in known:
            known[key] = _read(slot)
        read = known[key]
        found.append(slot if read is None else read)
    return {**session, "slots": found}


def _read(slot: Any) -> SlotBody | None:
    try:
        return SlotBody.model_validate(slot)
    except ValidationError:
        return None


alike = BeforeValidator(_once)
"""For a list of weeks, before it is checked: what stands in it many times is checked once."""
