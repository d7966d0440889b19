"""Templates: blocks written once, in numbered versions that never change."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Text, cast, func, insert, select, tuple_, update
from sqlalchemy.exc import IntegrityError

from service.core.progressions.records import Part
from service.core.slots import WeekPlan
from service.store import plans
from service.store.errors import ChangedMeanwhile, Conflict, NotFound
from service.store.ids import new_id
from service.store.naming import named
from service.store.parts import part_json
from service.store.session import Tx, constraint
from service.store.tables import template_versions, templates

LATEST = "latest"
NUMBER = re.compile("[0-9]{1,6}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A block written once; its weeks stand in its versions."""

    id: UUID
    """Our id."""
    ref: str | None
    """The gym's own reference."""
    name: str
    """As the coach writes it."""
    latest: int
    """Number of the newest version."""
    archived: bool
    """Archived templates leave the lists; blocks made from them go on."""
    version: int
    """What `If-Match` takes; it also counts new versions of the weeks."""
    created_at: datetime
    """When it was first stored."""


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionLine:
    """A version of a template without its weeks, as lists show it."""

    template: UUID
    """The template's id."""
    number: int
    """Versions count from 1 and never change."""
    name: str
    """What the template was called when this version was made."""
    made_by: str
    """Name of the key that made it."""
    note: str | None
    """What it changed, where that was said."""
    created_at: datetime
    """When it was made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TemplateVersion(VersionLine):
    """A version of a template, with its weeks as a body takes them."""

    weeks: list[dict[str, Any]]
    """Weeks, their sessions, the slots of those."""
    parts: list[dict[str, Any]] | None
    """The parts that it was written by; None where weeks were sent."""

    @property
    def version(self) -> int:
        """What the entity tag says."""
        return self.number


_COLUMNS = (
    templates.c.id,
    templates.c.ref,
    templates.c.name,
    templates.c.latest,
    templates.c.archived,
    templates.c.version,
    templates.c.created_at,
)
_LINE = (
    template_versions.c.template_id,
    template_versions.c.number,
    template_versions.c.name,
    template_versions.c.made_by,
    template_versions.c.change_note.label("note"),
    template_versions.c.created_at,
)


def get(tx: Tx, template: str) -> Template:
    """Return one template of the gym, or raise NotFound."""
    row = tx.execute(select(*_COLUMNS).where(named(tx, templates, template))).mappings().one_or_none()
    if row is None:
        raise NotFound("template")
    return Template(**row)


def page(
    tx: Tx, *, after: tuple[str, ...] | None, limit: int, archived: bool = False, words: str | None = None
) -> list[Template]:
    """Return up to `limit` templates by name, starting past `after` (name, id)."""
    query = (
        select(*_COLUMNS)
        .where(templates.c.gym_id == tx.gym, templates.c.archived == archived)
        .order_by(templates.c.name, templates.c.id)
        .limit(limit)
    )
    if after is not None:
        # The id as text, so that a cursor that somebody made up cannot be anything but a text.
        query = query.where(tuple_(templates.c.name, cast(templates.c.id, Text)) > (*after, "", "")[:2])
    if words is not None:
        found = templates.c.name.icontains(words, autoescape=True) | templates.c.ref.icontains(words, autoescape=True)
        query = query.where(found)
    return [Template(**row) for row in tx.execute(query).mappings()]


def add(
    tx: Tx, *, name: str, weeks: Sequence[WeekPlan], parts: Sequence[Part] | None = None, ref: str | None = None
) -> Template:
    """Store a template with its first version; `parts` are what the weeks were written by, where they were."""
    identity = new_id()
    try:
        with tx.connection.begin_nested():
            tx.execute(insert(templates).values(gym_id=tx.gym, id=identity, ref=ref, name=name, latest=1))
    except IntegrityError as error:
        raise _refused(error) from error
    _keep(tx, identity, 1, name, Body(weeks, parts))
    return get(tx, str(identity))


def put(
    tx: Tx, template: str, *, name: str, weeks: Sequence[WeekPlan], parts: Sequence[Part] | None = None
) -> tuple[Template, bool]:
    """Create by the gym's own reference, or add a version where the body differs from the newest one.

    It differs by its name, its weeks, or by other parts that stand for the same weeks; sending the weeks themselves
    of a version that was written by parts changes nothing.
    """
    ref = template.removeprefix("ref:")
    tx.execute(select(func.pg_advisory_xact_lock(func.hashtextextended(f"{tx.gym}/template/{ref}", 0))))
    try:
        found = get(tx, template)
    except NotFound:
        return add(tx, name=name, weeks=weeks, parts=parts, ref=ref), True
    newest = get_version(tx, template, LATEST)
    body = Body(weeks, parts)
    if (newest.name, newest.weeks) != (name, body.weeks) or body.parts not in (None, newest.parts):
        _next(tx, found, None, name, body)
    return get(tx, template), False


def change(tx: Tx, template: str, *, expected: int | None, values: dict[str, Any]) -> Template:
    """Change name, ref or archived; `expected` is the version that the caller read (None: whatever it is)."""
    found = get(tx, template)
    try:
        with tx.connection.begin_nested():
            _bump(tx, found, expected, values)
    except IntegrityError as error:
        raise _refused(error) from error
    return get(tx, str(found.id))


def add_version(
    tx: Tx,
    template: str,
    *,
    expected: int | None,
    name: str | None,
    weeks: Sequence[WeekPlan],
    parts: Sequence[Part] | None = None,
    note: str | None = None,
) -> TemplateVersion:
    """Add a version; `expected` is the template's version that the caller read. Without a name the template's stays.

    `parts` are what the weeks were written by, where they were; `note` says what changed.
    """
    found = get(tx, template)
    number = _next(tx, found, expected, name or found.name, Body(weeks, parts, note))
    return get_version(tx, str(found.id), str(number))


def version_page(tx: Tx, template: str, *, after: tuple[str, ...] | None, limit: int) -> list[VersionLine]:
    """Return up to `limit` versions, the newest first, starting past `after` (number)."""
    found = get(tx, template)
    query = (
        select(*_LINE)
        .where(template_versions.c.gym_id == tx.gym, template_versions.c.template_id == found.id)
        .order_by(template_versions.c.number.desc())
        .limit(limit)
    )
    if after is not None:  # what is no number comes before all versions
        query = query.where(template_versions.c.number < (int(after[0]) if NUMBER.fullmatch("".join(after)) else 0))
    return [VersionLine(**_line(row)) for row in tx.execute(query).mappings()]


def get_version(tx: Tx, template: str, number: str) -> TemplateVersion:
    """Return one version, `latest` allowed, or raise NotFound."""
    wanted = templates.c.latest if number == LATEST else int(number)
    query = (
        select(*_LINE, template_versions.c.body, template_versions.c.written)
        .join_from(
            templates,
            template_versions,
            (template_versions.c.gym_id == templates.c.gym_id) & (template_versions.c.template_id == templates.c.id),
        )
        .where(named(tx, templates, template), template_versions.c.gym_id == tx.gym)
        .where(template_versions.c.number == wanted)
    )
    row = tx.execute(query).mappings().one_or_none()
    if row is None:
        get(tx, template)  # a template that is not there is named first
        raise NotFound("version of this template")
    return TemplateVersion(**_line(row))


def weeks_of(version: TemplateVersion) -> tuple[WeekPlan, ...]:
    """The weeks as the calculation takes them."""
    return plans.weeks_of(version.weeks)


def _line(row: Mapping[Any, Any]) -> dict[str, Any]:
    values = dict(row)
    values["template"] = values.pop("template_id")
    if "body" in values:
        values |= {"weeks": values.pop("body"), "parts": values.pop("written")}
    return values


class Body:
    """What is kept of a version: its weeks, the parts that they were written by, what it changed."""

    def __init__(self, weeks: Sequence[WeekPlan], parts: Sequence[Part] | None = None, note: str | None = None) -> None:
        self.weeks = plans.weeks_json(weeks)
        self.parts = None if parts is None else [part_json(part) for part in parts]
        self.note = note


def _next(tx: Tx, found: Template, expected: int | None, name: str, body: Body) -> int:
    """Count the template's version up and keep the body under it; the row's lock makes numbers come one by one."""
    number = _bump(tx, found, expected, {"name": name, "latest": templates.c.latest + 1})
    _keep(tx, found.id, number, name, body)
    return number


def _bump(tx: Tx, found: Template, expected: int | None, values: dict[str, Any]) -> int:
    changed = update(templates).where(templates.c.gym_id == tx.gym, templates.c.id == found.id)
    if expected is not None:
        changed = changed.where(templates.c.version == expected)
    row = tx.execute(
        changed.values(version=templates.c.version + 1, **values).returning(templates.c.latest)
    ).one_or_none()
    if row is None:
        raise ChangedMeanwhile(get(tx, str(found.id)).version)
    return int(row.latest)


def _keep(tx: Tx, template: UUID, number: int, name: str, body: Body) -> None:
    tx.execute(
        insert(template_versions).values(
            gym_id=tx.gym,
            template_id=template,
            number=number,
            name=name,
            body=body.weeks,
            written=body.parts,
            change_note=body.note,
            made_by=tx.caller.key_name,
        )
    )


def _refused(error: IntegrityError) -> Exception:
    if constraint(error) == "templates_ref_key":
        return Conflict("Another template of this gym has this ref.")
    return error
