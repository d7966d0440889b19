"""Slots, schemes and targets that stand in a body many times are checked once."""

from __future__ import annotations

import marshal
from typing import Any

from pydantic import BeforeValidator, TypeAdapter, ValidationError

from service.api.schemes import SchemeBody
from service.api.slots import SlotBody
from service.api.targets import TargetBody

PARTS: dict[str, TypeAdapter[Any]] = {"scheme": TypeAdapter(SchemeBody), "target": TypeAdapter(TargetBody)}


class _Read:
    """What was read of one body, by the bytes that a value is told apart by.

    They say of each value what it is, so that 1, 1.0 and true are three.
    """

    def __init__(self) -> None:
        self.slots: dict[bytes, SlotBody | None] = {}
        self.parts: dict[str, dict[bytes, Any]] = {name: {} for name in PARTS}

    def slot(self, sent: Any) -> Any:
        """A slot that can be read; else what was sent."""
        key = marshal.dumps(sent, 2)  # the second version writes each value out, whatever else it is part of
        if key not in self.slots:
            try:
                self.slots[key] = SlotBody.model_validate(self._with_parts(sent))
            except ValidationError:
                self.slots[key] = None
        return self.slots[key] or sent

    def _with_parts(self, sent: Any) -> Any:
        """The slot with its scheme and its target read; raises ValidationError where one cannot be."""
        if type(sent) is not dict:
            return sent
        read = dict(sent)
        for name, known in self.parts.items():
            if name in sent:
                key = marshal.dumps(sent[name], 2)
                if key not in known:
                    known[key] = PARTS[name].validate_python(sent[name])
                read[name] = known[key]
        return read


def _once(weeks: Any) -> Any:
    """Weeks as they were sent, with readable slots in place of those that were sent: the same one for all alike.

    A slot that cannot be read stays as it is, so that it is refused where it stands.
    """
    known = _Read()
    return [_week(week, known) for week in weeks]


def _week(week: Any, known: _Read) -> Any:
    sessions = week.get("sessions") if type(week) is dict else None
    if type(sessions) is not list:
        return week
    return {**week, "sessions": [_session(session, known) for session in sessions]}


def _session(session: Any, known: _Read) -> Any:
    slots = session.get("slots") if type(session) is dict else None
    if type(slots) is not list:
        return session
    return {**session, "slots": [known.slot(slot) for slot in slots]}


alike = BeforeValidator(_once)
"""For a list of weeks, before it is checked: what stands in it many times is checked once."""
