"""/v1/checks: analysis and findings of a template before anyone lifts it, stored or not."""

from __future__ import annotations

from typing import Annotated, Any

import fastapi
from fastapi import Query, Response
from pydantic import BaseModel, ConfigDict

from service.api.call import Called, Shape
from service.api.part_examples import PART_TEMPLATES
from service.api.plan_examples import WEEKS
from service.api.routing import operation, resource
from service.api.templates import LARGE, TemplatePath, VersionPath
from service.api.whole import WholeRoute
from service.api.wire import ThingName, UnitWord
from service.api.written import WrittenBody, checked
from service.core.check.check import TemplateChecked
from service.flows.check_template import of_version, of_weeks
from service.store.session import Tx

router = resource("/checks", "calculations")
router.route_class = WholeRoute
of_templates = resource("/templates/{template}/versions/{version}/check", "templates")

CHECKED: Shape[TemplateChecked] = Shape(TemplateChecked)


class CheckQuery(BaseModel):
    """Against whom."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    athlete: ThingName | None = None
    """Our id, or `ref:` and the gym's own reference: against this athlete's maxes, place and settings, with tonnage.
    Left out: a lifter of whom nothing is known."""
    unit: UnitWord | None = None
    """Unit of tonnage. Left out: the athlete's."""


class CheckBody(WrittenBody):
    """What to check, as a template takes it; nothing is stored."""

    athlete: ThingName | None = None
    """Our id, or `ref:` and the gym's own reference: against this athlete's maxes, place and settings, with tonnage.
    Left out: a lifter of whom nothing is known."""
    unit: UnitWord | None = None
    """Unit of tonnage. Left out: the athlete's."""


EXAMPLES: dict[str, Any] = {
    "weeks": {"summary": "A week that is not stored yet", "value": {"weeks": WEEKS}},
    "parts": {
        "summary": "Nine weeks that are written by parts",
        "value": {"parts": PART_TEMPLATES["nine weeks in two parts"]["value"]["parts"]},
    },
    "too hard": {
        "summary": "Five sets that cannot all stay under the limit",
        "value": {
            "weeks": [
                {
                    "sessions": [
                        {
                            "name": "Squat",
                            "slots": [
                                {
                                    "lift": "squat",
                                    "scheme": {"kind": "sets_at_target", "sets": 5},
                                    "target": {"kind": "effort", "reps": 5, "rpe": 9.5},
                                }
                            ],
                        }
                    ]
                }
            ],
            "unit": "lb",
        },
    },
}


@router.post("", **operation("checks_calculate", "read", TemplateChecked, **LARGE))
async def calculate_check(
    call: Called, body: Annotated[CheckBody, fastapi.Body(openapi_examples=EXAMPLES)]
) -> Response:
    """Check weeks before anyone lifts them: what looks wrong, with its source, and what each week asks for.

    Nothing is stored, and nothing is refused for a finding. Efforts are expected by the model; caps and exchanges
    of a coach are not applied. Pointers lead into `weeks`: of parts, into the weeks that they stand for.
    """
    found = await call.database.read(call.caller, call.now, _fitting, body)
    return call.answer(CHECKED, found, stored=True)


@of_templates.get("", **operation("versions_check", "read", TemplateChecked, refusals=(404,)))
async def check_version(
    call: Called, template: TemplatePath, version: VersionPath, query: Annotated[CheckQuery, Query()]
) -> Response:
    """Check a version of a template: what looks wrong, with its source, and what each week asks for.

    Efforts are expected by the model; caps and exchanges of a coach are not applied. Pointers lead into the version's
    `weeks`.
    """
    found = await call.database.read(
        call.caller, call.now, of_version, template, version, athlete=query.athlete, unit=query.unit
    )
    return call.answer(CHECKED, found)


def _fitting(tx: Tx, body: CheckBody) -> TemplateChecked:
    return of_weeks(tx, checked(tx, body).weeks, athlete=body.athlete, unit=body.unit)
