"""/v1/templates: blocks written once, in versions that never change."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from fastapi import Body as Sent
from fastapi import Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field

from service.api.call import Called, Shape
from service.api.paging import Paged
from service.api.part_examples import PART_TEMPLATES, PART_VERSIONS
from service.api.parts import PartBody
from service.api.plan_examples import ARCHIVE, TEMPLATES, VERSIONS
from service.api.problems import Problem
from service.api.routing import TEMPLATE_BYTES, operation, resource
from service.api.slots import WeekBody
from service.api.whole import WholeRoute
from service.api.wire import Body, Name, Note, Page, Ref, ThingName
from service.api.written import WrittenBody, checked
from service.store import templates
from service.store.session import Tx
from service.store.templates import Template, TemplateVersion, VersionLine

router = resource("/templates", "templates")
router.route_class = WholeRoute

TEMPLATE: Shape[Template] = Shape(Template)
TEMPLATE_PAGE: Shape[Page[Template]] = Shape(Page[Template])
VERSION: Shape[TemplateVersion] = Shape(TemplateVersion)
VERSION_PAGE: Shape[Page[VersionLine]] = Shape(Page[VersionLine])

TemplatePath = Annotated[ThingName, Path(description="Our id, or `ref:` and the gym's own reference.")]
VersionPath = Annotated[
    str, Path(pattern=r"^(latest|[1-9]\d{0,5})$", description="The version's number, or `latest`.", examples=["latest"])
]
LARGE: dict[str, Any] = {"body": True, "most_bytes": TEMPLATE_BYTES}


class PlanBody(WrittenBody):
    """The whole of a template: a name, and its weeks or the parts that stand for them."""

    name: Name
    """As the coach writes it."""


class TemplateBody(PlanBody):
    """A template with its first version."""

    ref: Ref | None = None
    """The gym's own reference; unique in the gym."""


class VersionBody(WrittenBody):
    """The next version of a template."""

    name: Name | None = None
    """A new name; left out: the template's name stays."""
    note: Note | None = None
    """What it changes, for other coaches."""


class TemplatePatch(Body):
    """What is to change; the weeks change by a new version."""

    name: Name | None = None
    """As the coach writes it."""
    ref: Ref | None = None
    """The gym's own reference; null takes it away."""
    archived: Annotated[bool, Field(strict=True)] | None = None
    """True: out of the lists; blocks made from it go on."""


class TemplateQuery(Paged):
    """Which templates."""

    archived: bool = False
    """True: the archived ones."""
    q: str | None = Field(None, min_length=1, max_length=100)
    """Part of a name or ref."""


class TemplateVersionShown(BaseModel):
    """A version of a template; it never changes."""

    model_config = ConfigDict(use_attribute_docstrings=True)

    template: UUID
    """The template's id."""
    number: int
    """Versions count from 1."""
    name: str
    """What the template was called when this version was made."""
    made_by: str
    """Name of the key that made it."""
    note: str | None
    """What it changed, where that was said."""
    created_at: datetime
    """When it was made."""
    weeks: list[WeekBody]
    """As a body takes them: change them and post them as the next version."""
    parts: list[PartBody] | None
    """The parts that it was written by, as a body takes them; null where its weeks were sent."""


@router.get("", **operation("templates_list", "read", Page[Template]))
async def list_templates(call: Called, query: Annotated[TemplateQuery, Query()]) -> Response:
    """List templates, by name."""
    return await call.page(
        TEMPLATE_PAGE,
        query,
        lambda template: (template.name, str(template.id)),
        templates.page,
        archived=query.archived,
        words=query.q,
    )


@router.post("", **operation("templates_add", "coach", Template, status=201, refusals=(409,), **LARGE))
async def add_template(
    call: Called, body: Annotated[TemplateBody, Sent(openapi_examples=TEMPLATES | PART_TEMPLATES)]
) -> Response:
    """Store a template; what is sent is its version 1. Every slot that is wrong is named, all at once."""
    return await call.add(TEMPLATE, lambda made: f"/v1/templates/{made.id}", _add, body)


@router.get("/{template}", **operation("templates_get", "read", Template, refusals=(404,)))
async def get_template(call: Called, template: TemplatePath) -> Response:
    """Read a template; its weeks are in its versions."""
    return await call.read(TEMPLATE, templates.get, template)


@router.put("/{template}", **operation("templates_put", "coach", Template, refusals=(404,), **LARGE))
async def put_template(
    call: Called, template: TemplatePath, body: Annotated[PlanBody, Sent(openapi_examples=TEMPLATES | PART_TEMPLATES)]
) -> Response:
    """Create a template by the gym's own `ref:`, or add a version to it where the body differs from the newest."""
    if not template.startswith("ref:"):
        raise Problem("not-found", "A template is put by the gym's own reference: /v1/templates/ref:…")
    return await call.put(TEMPLATE, _put, template, body)


@router.patch(
    "/{template}", **operation("templates_change", "coach", Template, refusals=(404, 409, 412, 428), body=True)
)
async def change_template(
    call: Called,
    template: TemplatePath,
    body: Annotated[TemplatePatch, Sent(openapi_examples=ARCHIVE)],
) -> Response:
    """Change name, ref or whether it is archived; old versions never change."""
    sent = body.model_dump(exclude_unset=True)
    values = {name: value for name, value in sent.items() if value is not None or name == "ref"}
    return await call.write(TEMPLATE, templates.change, template, expected=call.expected(), values=values)


@router.get("/{template}/versions", **operation("versions_list", "read", Page[VersionLine], refusals=(404,)))
async def list_versions(call: Called, template: TemplatePath, query: Annotated[Paged, Query()]) -> Response:
    """List the versions of a template, the newest first, without their weeks."""
    return await call.page(VERSION_PAGE, query, lambda one: (str(one.number),), templates.version_page, template)


@router.post(
    "/{template}/versions",
    **operation("versions_add", "coach", TemplateVersionShown, status=201, refusals=(404, 412, 428), **LARGE),
)
async def add_version(
    call: Called, template: TemplatePath, body: Annotated[VersionBody, Sent(openapi_examples=VERSIONS | PART_VERSIONS)]
) -> Response:
    """Add the next version; `If-Match` takes the template's version, so that two coaches do not add one unseen."""
    return await call.add(
        VERSION,
        lambda made: f"/v1/templates/{made.template}/versions/{made.number}",
        _add_version,
        template,
        body,
        expected=call.expected(),
    )


@router.get(
    "/{template}/versions/{version}", **operation("versions_get", "read", TemplateVersionShown, refusals=(404,))
)
async def get_version(call: Called, template: TemplatePath, version: VersionPath) -> Response:
    """Read one version with its weeks; it never changes. `latest` is the newest."""
    return await call.read(VERSION, templates.get_version, template, version)


def _add(tx: Tx, body: TemplateBody) -> Template:
    written = checked(tx, body)
    return templates.add(tx, name=body.name, weeks=written.weeks, parts=written.parts, ref=body.ref)


def _put(tx: Tx, template: str, body: PlanBody) -> tuple[Template, bool]:
    written = checked(tx, body)
    return templates.put(tx, template, name=body.name, weeks=written.weeks, parts=written.parts)


def _add_version(tx: Tx, template: str, body: VersionBody, *, expected: int | None) -> TemplateVersion:
    templates.get(tx, template)  # a template that is not there is told before what is wrong in the body
    written = checked(tx, body)
    return templates.add_version(
        tx, template, expected=expected, name=body.name, weeks=written.weeks, parts=written.parts, note=body.note
    )
