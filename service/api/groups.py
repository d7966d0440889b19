"""/v1/groups: athletes who train together, and what is noted about their days."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import Body as JsonBody
from fastapi import Path, Query, Response
from pydantic import Field

from service.api.athletes import AthletePath
from service.api.call import Called, Shape
from service.api.paging import Paged
from service.api.routing import operation, resource
from service.api.wire import Body, Day, Name, Note, Page, Ref, ThingName
from service.flows import groups as flows
from service.store import groups
from service.store.groups import Group, GroupNote, Member

router = resource("/groups", "groups")

GROUP: Shape[Group] = Shape(Group)
GROUPS: Shape[Page[Group]] = Shape(Page[Group])
MEMBER: Shape[Member] = Shape(Member)
MEMBERS: Shape[Page[Member]] = Shape(Page[Member])
NOTE: Shape[GroupNote] = Shape(GroupNote)
NOTES: Shape[Page[GroupNote]] = Shape(Page[GroupNote])

GroupPath = Annotated[ThingName, Path(description="Our id, or `ref:` and the gym's own reference.")]
NoteDay = Annotated[Day, Path(description="The day that the note is about.")]


class GroupBody(Body):
    """What a group is told by."""

    name: Name
    """As the gym writes it."""
    ref: Ref | None = None
    """The gym's own reference; unique in the gym."""


class GroupPatch(GroupBody):
    """What is to change; null clears."""

    name: Name | None = None  # type: ignore[assignment]  # a new group has a name, a change may leave it as it is
    """As the gym writes it."""
    archived: bool | None = Field(None, strict=True)
    """True: out of the lists; its members, and what was decided for it, stay."""


class GroupNoteBody(Body):
    """What happened on a day, for the coach who comes back."""

    text: Note
    """What to know, in the gym's words; never a diagnosis."""


class GroupQuery(Paged):
    """Which groups."""

    archived: bool = False
    """True: the archived ones."""
    q: str | None = Field(None, min_length=1, max_length=100)
    """Part of a name or ref."""


class NoteQuery(Paged):
    """Which notes."""

    since: Day | None = Field(None, alias="from")
    """From this day on."""
    to: Day | None = None
    """Up to this day; it is included."""


NEW: dict[str, Any] = {
    "a group": {"summary": "Who trains on the early evening", "value": {"name": "Early evening", "ref": "early"}}
}
SYNCED: dict[str, Any] = {"a group": {"summary": "As the gym's app names it", "value": {"name": "Early evening"}}}
CHANGED: dict[str, Any] = {
    "another name": {"summary": "Only the name", "value": {"name": "Late evening"}},
    "archived": {"summary": "Out of the lists", "value": {"archived": True}},
}
NOTED: dict[str, Any] = {
    "a substitute's note": {
        "summary": "What the coach should know",
        "value": {"text": "Runa stopped after two sets and went home well. The light bar has a loose collar."},
    }
}


def _values(body: GroupBody) -> dict[str, Any]:
    sent = body.model_dump(exclude_unset=True)
    for name in ("name", "archived"):
        if sent.get(name, True) is None:
            del sent[name]  # these have no "none": null is "as it is"
    return sent


@router.get("", **operation("groups_list", "read", Page[Group]))
async def list_groups(call: Called, query: Annotated[GroupQuery, Query()]) -> Response:
    """List groups, by name."""
    return await call.page(
        GROUPS,
        query,
        lambda group: (group.name, str(group.id)),
        groups.page,
        archived=query.archived,
        words=query.q,
    )


@router.post("", **operation("groups_add", "coach", Group, status=201, refusals=(409,), body=True))
async def add_group(call: Called, body: Annotated[GroupBody, JsonBody(openapi_examples=NEW)]) -> Response:
    """Make a group; athletes come into it one by one."""
    return await call.add(GROUP, lambda made: f"/v1/groups/{made.id}", groups.add, values=_values(body))


@router.get("/{group}", **operation("groups_get", "read", Group, refusals=(404,)))
async def get_group(call: Called, group: GroupPath) -> Response:
    """Read one group."""
    return await call.read(GROUP, groups.get, group)


@router.put("/{group}", **operation("groups_put", "coach", Group, refusals=(404, 409, 412, 428), body=True))
async def put_group(
    call: Called, group: GroupPath, body: Annotated[GroupBody, JsonBody(openapi_examples=SYNCED)]
) -> Response:
    """Create or replace a group by the gym's own `ref:`; by our id, replace (with `If-Match`). Its members stay."""
    values = _values(body)
    if group.startswith("ref:"):
        return await call.put(GROUP, groups.put, group, values=values)
    return await call.write(GROUP, groups.replace, group, expected=call.expected(), values=values)


@router.patch("/{group}", **operation("groups_change", "coach", Group, refusals=(404, 409, 412, 428), body=True))
async def change_group(
    call: Called, group: GroupPath, body: Annotated[GroupPatch, JsonBody(openapi_examples=CHANGED)]
) -> Response:
    """Change what is sent; null clears. `{"archived": true}` archives: what was decided for the group goes on."""
    return await call.write(GROUP, groups.change, group, expected=call.expected(), values=_values(body))


@router.get("/{group}/athletes", **operation("group_athletes_list", "read", Page[Member], refusals=(404,)))
async def list_members(call: Called, group: GroupPath, query: Annotated[Paged, Query()]) -> Response:
    """List who belongs to a group, by name; archived athletes are left out."""
    return await call.page(MEMBERS, query, lambda one: (one.name, str(one.athlete)), groups.member_page, group)


@router.put("/{group}/athletes/{athlete}", **operation("group_athletes_put", "coach", Member, refusals=(404, 409)))
async def put_member(call: Called, group: GroupPath, athlete: AthletePath) -> Response:
    """Put an athlete into a group; a repeat changes nothing. What was decided for the group counts from now on."""
    return await call.put(MEMBER, flows.join, group, athlete)


@router.delete(
    "/{group}/athletes/{athlete}", **operation("group_athletes_remove", "coach", status=204, refusals=(404,))
)
async def remove_member(call: Called, group: GroupPath, athlete: AthletePath) -> Response:
    """Take an athlete out of a group; a repeat changes nothing. What was decided for it counts no more."""
    return await call.remove(flows.leave, group, athlete)


@router.get("/{group}/notes", **operation("group_notes_list", "read", Page[GroupNote], refusals=(404,)))
async def list_notes(call: Called, group: GroupPath, query: Annotated[NoteQuery, Query()]) -> Response:
    """List what was noted about a group's days, the newest day first."""
    return await call.page(
        NOTES, query, lambda note: (str(note.date),), groups.note_page, group, since=query.since, until=query.to
    )


@router.put(
    "/{group}/notes/{date}", **operation("group_notes_put", "log", GroupNote, refusals=(404, 412, 428), body=True)
)
async def put_note(
    call: Called, group: GroupPath, date: NoteDay, body: Annotated[GroupNoteBody, JsonBody(openapi_examples=NOTED)]
) -> Response:
    """Write the note of a day: what a substitute tells the coach. The day is the key.

    A new note, and the same text again, need no `If-Match`; another text over a note that is there does.
    """
    return await call.put(NOTE, groups.put_note, group, on=date, text=body.text, expected=call.expected_if_sent())


@router.delete("/{group}/notes/{date}", **operation("group_notes_remove", "log", status=204, refusals=(404, 412, 428)))
async def remove_note(call: Called, group: GroupPath, date: NoteDay) -> Response:
    """Remove the note of a day."""
    return await call.remove(groups.remove_note, group, on=date, expected=call.expected())
