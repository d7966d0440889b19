"""/v1/drafts: parts written out as weeks, weeks as the parts that they could be written by; nothing is stored."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Body as Sent
from fastapi import Response
from pydantic import BaseModel, ConfigDict

from service.api.call import Called, Shape
from service.api.part_examples import DRAFTS
from service.api.parts import PartBody
from service.api.routing import TEMPLATE_BYTES, operation, resource
from service.api.slots import WeekBody
from service.api.whole import WholeRoute
from service.api.written import WrittenBody, checked
from service.core.progressions.collapse import collapse
from service.core.progressions.text import part_text
from service.store import lifts
from service.store.parts import part_json
from service.store.plans import week_json
from service.store.session import Tx

router = resource("/drafts", "templates")
router.route_class = WholeRoute


class DraftBody(WrittenBody):
    """Weeks, or parts that stand for weeks: what is sent is what is answered in the other form."""


@dataclass(frozen=True, slots=True)
class Draft:
    """A template's weeks and parts."""

    weeks: list[dict[str, Any]]
    parts: list[dict[str, Any]]
    text: list[str]


class DraftShown(BaseModel):
    """A template in both forms; each is what the body of a template takes."""

    model_config = ConfigDict(use_attribute_docstrings=True)

    weeks: list[WeekBody]
    """The weeks, one by one."""
    parts: list[PartBody]
    """The parts that stand for them; as they were sent, or the plainest ones that the weeks could be written by."""
    text: list[str]
    """Each part in words."""


DRAFT: Shape[Draft] = Shape(Draft)


@router.post("", **operation("drafts_calculate", "read", DraftShown, body=True, most_bytes=TEMPLATE_BYTES))
async def calculate_draft(call: Called, body: Annotated[DraftBody, Sent(openapi_examples=DRAFTS)]) -> Response:
    """Write parts out as weeks, or find the parts that weeks could be written by. Stores nothing.

    Sent back as a template, both forms make the same weeks. Everything that a template would be refused for is told.
    """
    draft = await call.database.read(call.caller, call.now, _drafted, body)
    return call.answer(DRAFT, draft, stored=True)


def _drafted(tx: Tx, body: DraftBody) -> Draft:
    written = checked(tx, body)
    parts = collapse(written.weeks) if written.parts is None else written.parts
    known = lifts.get_many(tx, {one.lift for part in parts for one in part.progressions if one.lift is not None})
    return Draft(
        weeks=[week_json(week) for week in written.weeks],
        parts=[part_json(part) for part in parts],
        text=[part_text(part, known) for part in parts],
    )
