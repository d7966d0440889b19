"""Slots, sessions and weeks as JSON columns keep them: the members that bodies have, without nulls."""

from __future__ import annotations

import marshal
from collections.abc import Mapping, Sequence
from typing import Any

from pydantic import TypeAdapter

from service.core.slots import SessionPlan, Slot, WeekPlan

SLOT: TypeAdapter[Slot] = TypeAdapter(Slot)
SESSION: TypeAdapter[SessionPlan] = TypeAdapter(SessionPlan)
WEEKS: TypeAdapter[tuple[WeekPlan, ...]] = TypeAdapter(tuple[WeekPlan, ...])

_USUAL: dict[str, Any] = {"accessory": False, "optional": False, "with_next": False, "support": [], "complex": []}


def slot_json(slot: Slot) -> dict[str, Any]:
    """A slot as it is kept and answered: a body that `SlotBody` takes, with only what was said.

    Loads carry their kilograms; `SLOT.validate_python` gives the slot back.
    """
    shown: dict[str, Any] = SLOT.dump_python(slot, mode="json", exclude_none=True)
    add_load = shown["scheme"].get("add_load")
    if add_load is not None and not add_load["until_sure"]:
        del add_load["until_sure"]
    return {name: value for name, value in shown.items() if value != _USUAL.get(name, ...)}


Written = dict[int, dict[str, Any]]
"""Slots that are written already, by what they are as objects: those that are one object are written once."""


def session_json(session: SessionPlan, written: Written | None = None) -> dict[str, Any]:
    """A session as it is kept and answered: a body that `SessionBody` takes; `SESSION` gives it back."""
    shown: dict[str, Any] = {"name": session.name, "kind": session.kind}
    if session.note is not None:
        shown["note"] = session.note
    if written is None:
        return shown | {"slots": [slot_json(slot) for slot in session.slots]}
    for slot in session.slots:
        if id(slot) not in written:
            written[id(slot)] = slot_json(slot)
    return shown | {"slots": [written[id(slot)] for slot in session.slots]}


def weeks_json(weeks: Sequence[WeekPlan]) -> list[dict[str, Any]]:
    """As `week_json`, for many weeks; slots that are one object become one too."""
    written: Written = {}
    return [week_json(week, written) for week in weeks]


def week_json(week: WeekPlan, written: Written | None = None) -> dict[str, Any]:
    """A week as it is kept and answered: a body that `WeekBody` takes; `weeks_of` gives several back."""
    said = {"name": week.name, "note": week.note}
    shown: dict[str, Any] = {name: value for name, value in said.items() if value is not None}
    if week.lighter:
        shown["lighter"] = True
    return shown | {"sessions": [session_json(session, written) for session in week.sessions]}


def weeks_of(kept: Sequence[Mapping[str, Any]]) -> tuple[WeekPlan, ...]:
    """The weeks that were kept, as the calculation takes them; slots that are alike are one object."""
    known: dict[bytes, Slot] = {}

    def once(slot: Any) -> Slot:
        key = marshal.dumps(slot, 2)  # the second version writes each value out, whatever else it is part of
        found = known.get(key)
        if found is None:
            found = known[key] = SLOT.validate_python(slot)
        return found

    return WEEKS.validate_python(
        tuple(
            {**week, "sessions": [{**one, "slots": [once(slot) for slot in one["slots"]]} for one in week["sessions"]]}
            for week in kept
        )
    )
