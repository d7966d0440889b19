"""Parts of a template as a JSON column keeps them: the members that bodies have, without nulls."""

from __future__ import annotations

from typing import Any

from pydantic import TypeAdapter

from service.core.progressions.records import Part, Progression
from service.store.plans import week_json

PARTS: TypeAdapter[tuple[Part, ...]] = TypeAdapter(tuple[Part, ...])
_PROGRESSION: TypeAdapter[Progression] = TypeAdapter(Progression)
_UNSAID: tuple[object, ...] = ([], False)


def part_json(part: Part) -> dict[str, Any]:
    """A part as it is kept and answered: a body that `PartBody` takes; `PARTS` gives several back."""
    shown: dict[str, Any] = {} if part.name is None else {"name": part.name}
    shown |= {"weeks": part.weeks, "week": week_json(part.week)}
    if part.progressions:
        shown["progressions"] = [_progression_json(one) for one in part.progressions]
    return shown


def _progression_json(one: Progression) -> dict[str, Any]:
    """A progression with its kind first, and nothing that was not said."""
    found: dict[str, Any] = _PROGRESSION.dump_python(one, mode="json", exclude_none=True)
    said = {name: value for name, value in found.items() if value not in _UNSAID}
    where = {name: said.pop(name) for name in ("lift", "sessions", "session_numbers", "slots") if name in said}
    return said | where
