"""Slots, sessions and weeks as JSON columns keep them: the members that bodies have, without nulls."""

from __future__ import annotations

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


def session_json(session: SessionPlan) -> dict[str, Any]:
    """A session as it is kept and answered: a body that `SessionBody` takes; `SESSION` gives it back."""
    shown: dict[str, Any] = {"name": session.name, "kind": session.kind}
    if session.note is not None:
        shown["note"] = session.note
    return shown | {"slots": [slot_json(slot) for slot in session.slots]}


def week_json(week: WeekPlan) -> dict[str, Any]:
    """A week as it is kept and answered: a body that `WeekBody` takes; `WEEKS` gives several back."""
    said = {"name": week.name, "note": week.note}
    shown: dict[str, Any] = {name: value for name, value in said.items() if value is not None}
    if week.lighter:
        shown["lighter"] = True
    return shown | {"sessions": [session_json(session) for session in week.sessions]}
