"""Bodies with slots are told everything that is wrong at once: what cannot be read, and what does not fit the lifts."""

from __future__ import annotations

from collections.abc import Callable, Coroutine, Iterator
from typing import Any

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import ValidationError

from service.api.call import Call
from service.api.problems import MOST_ERRORS
from service.api.routing import KeyedRoute
from service.api.slots import SlotBody
from service.core.slots import Slot
from service.core.templates import named_by, slot_faults
from service.store import lifts
from service.store.session import Tx

Place = tuple[str | int, ...]


class WholeRoute(KeyedRoute):
    """A route whose body has slots; those that can be read are checked also where another part cannot."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        """Add what is wrong with readable slots to what could not be read."""
        handler = super().get_route_handler()

        async def whole(request: Request) -> Response:
            try:
                return await handler(request)
            except RequestValidationError as wrong:
                call: Call = request.scope["loadwright.call"]
                found = await call.database.read(call.caller, call.now, _unfit, wrong.body)
                raise RequestValidationError([*wrong.errors(), *found][:MOST_ERRORS], body=wrong.body) from wrong

        self.keyed = whole
        return whole


def _unfit(tx: Tx, body: object) -> list[dict[str, Any]]:
    """Faults of the slots that can be read, in the form of the framework's own errors."""
    readable = [(place, slot) for place, raw in _slots(body) if (slot := _read(raw)) is not None]
    known = lifts.get_many(tx, {name for _, slot in readable for name in named_by(slot)})
    return [
        {"type": fault.code, "loc": ("body", *place, *fault.pointer.split("/")[2:]), "msg": fault.text, "input": None}
        for place, slot in readable
        for fault in slot_faults([slot], known, at="#")  # its pointers begin with #/0
    ]


def _read(raw: object) -> Slot | None:
    try:
        return SlotBody.model_validate(raw).record()
    except ValidationError:
        return None


def _slots(body: object) -> Iterator[tuple[Place, object]]:
    """The slots of a template's or a session's body, with the place of the list that each stands in."""
    for w, week in _listed(body, "weeks"):
        for s, session in _listed(week, "sessions"):
            for at, slot in _listed(session, "slots"):
                yield ("weeks", w, "sessions", s, "slots", at), slot
    for p, part in _listed(body, "parts"):
        for s, session in _listed(part.get("week") if isinstance(part, dict) else None, "sessions"):
            for at, slot in _listed(session, "slots"):
                yield ("parts", p, "week", "sessions", s, "slots", at), slot
    for at, slot in _listed(body, "slots"):
        yield ("slots", at), slot


def _listed(holder: object, member: str) -> Iterator[tuple[int, object]]:
    found = holder.get(member) if isinstance(holder, dict) else None
    if isinstance(found, list):
        yield from enumerate(found)
