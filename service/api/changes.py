"""/v1/templates/{template}/changes: the newest version changed by operations; what differs between two versions."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Body as Sent
from fastapi import Query, Response
from pydantic import BaseModel, ConfigDict, Field

from service.api.blocks import DryRun
from service.api.call import Called, Shape
from service.api.operations import OperationBody
from service.api.routing import TEMPLATE_BYTES, operation, resource, tried
from service.api.targets import count
from service.api.templates import LARGE, TemplatePath, VersionPath
from service.api.wire import Body, Day, Name, Note
from service.api.written import refuse
from service.core.changes.operations import Refused
from service.flows import change_template
from service.flows.change_template import Order, TemplateChange, VersionDifference
from service.store.session import Tx

router = resource("/templates", "templates")

CHANGE: Shape[TemplateChange] = Shape(TemplateChange)
DIFFERENCE: Shape[VersionDifference] = Shape(VersionDifference)

_operations, _operations_doc = count(1, 50)

EXAMPLES: dict[str, Any] = {
    "a little more": {
        "summary": "A lighter week after the first, then a little more of everything else",
        "value": {
            "operations": [
                {"kind": "repeat_week", "week": 1, "times": 2},
                {"kind": "insert_lighter_week", "after": 2, "sets_percent": 60, "rpe_points": -1},
                {"kind": "shift_effort", "rpe_points": 0.5, "which": {"weeks": [4], "accessory": False}},
                {"kind": "scale_sets", "percent": 150, "which": {"weeks": [4]}, "at_limit": "hold"},
            ],
            "note": "After the spring meet",
        },
    },
    "another lift": {
        "summary": "Front squats in place of squats, a plank at the end, six weeks",
        "value": {
            "operations": [
                {"kind": "exchange_lift", "lift": "squat", "to_lift": "front-squat"},
                {
                    "kind": "add_accessory",
                    "session": "Legs",
                    "slot": {
                        "lift": "plank",
                        "scheme": {"kind": "sets_at_target", "sets": 3},
                        "target": {"kind": "time", "seconds": 40},
                    },
                },
                {"kind": "trim_accessories", "most_sets": 2, "most_slots": 3},
                {"kind": "stretch", "weeks": 6},
                {"kind": "drop_weeks", "weeks": [1]},
                {"kind": "reorder_weeks", "order": [2, 1, 3, 4, 5]},
            ],
            "name": "Front squats to spring",
        },
    },
    "to a day": {
        "summary": "Long enough to end by a meet",
        "value": {
            "operations": [
                {"kind": "stretch", "end": "2027-01-16", "start": "2026-11-30", "weekdays": ["monday", "thursday"]}
            ]
        },
    },
}


class ChangesBody(Body):
    """What is to be done to the newest version."""

    operations: Annotated[tuple[OperationBody, ...], _operations, _operations_doc]
    """In order, each on what the one before made."""
    name: Name | None = None
    """A new name; left out: the template's name stays."""
    note: Note | None = None
    """What the change is about, for other coaches."""


class RunningQuery(DryRun):
    """Whether to store, and as of which day blocks are running."""

    on: Day | None = None
    """Running blocks are told as if it were this day of each athlete; left out: today."""


class SinceQuery(BaseModel):
    """What to compare with."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    since: int | None = Field(None, alias="from", ge=1, le=999_999)
    """The number of another version; left out: of the one before."""


@router.post(
    "/{template}/changes",
    **tried(
        operation("templates_change_by", "coach", TemplateChange, status=201, refusals=(404, 412, 428), **LARGE),
        TemplateChange,
    ),
)
async def change_template_by(
    call: Called,
    template: TemplatePath,
    query: Annotated[RunningQuery, Query()],
    body: Annotated[ChangesBody, Sent(openapi_examples=EXAMPLES)],
) -> Response:
    """Change the newest version by operations; what they make is the next version, and the difference is told.

    The answer says what each operation did, what all did together, and what the new version means for athletes who are
    running the block; they stay on their version until `/v1/version-moves` moves them. The first operation that cannot
    be done is refused by its pointer, and nothing is stored. A dry run answers 200 and needs no `If-Match`.
    """
    if query.dry_run:
        order = _order(body, call.expected_if_sent(), query)
        answer = await call.database.read(call.caller, call.now, _changed, template, order, dry_run=True)
        return call.answer(CHANGE, answer, stored=True)
    return await call.add(CHANGE, _where, _changed, template, _order(body, call.expected(), query), dry_run=False)


@router.get(
    "/{template}/versions/{version}/difference",
    **operation("versions_difference", "read", VersionDifference, refusals=(404,)),
)
async def get_difference(
    call: Called, template: TemplatePath, version: VersionPath, query: Annotated[SinceQuery, Query()]
) -> Response:
    """Read what is different in a version, compared with another one: `?from=3`, else with the one before it.

    Weeks are matched so that as much as possible is the same: one that was put in is told as new, not as a change of
    all that follow.
    """
    return await call.read(DIFFERENCE, change_template.between, template, version, query.since)


def _order(body: ChangesBody, expected: int | None, query: RunningQuery) -> Order:
    return Order(
        operations=tuple(one.record() for one in body.operations),
        name=body.name,
        note=body.note,
        expected=expected,
        on=query.on,
    )


def _changed(tx: Tx, template: str, order: Order, *, dry_run: bool) -> TemplateChange:
    try:
        return change_template.change(tx, template, order, most_bytes=TEMPLATE_BYTES, dry_run=dry_run)
    except Refused as refused:
        refuse(refused.faults)
        raise


def _where(made: TemplateChange) -> str | None:
    return None if made.version is None else f"/v1/templates/{made.template}/versions/{made.version}"
