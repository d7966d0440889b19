"""/v1/sessions and /v1/athletes/{athlete}/sessions: training days opened, finished, skipped, moved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any, Literal

from fastapi import Body as Sent
from fastapi import Path, Query, Response
from pydantic import BaseModel, ConfigDict, Field, model_validator

from service.api.accept import chosen
from service.api.call import PRIVATE, Call, Called, Shape
from service.api.paging import Paged
from service.api.plan_examples import NEW_SESSIONS, SESSION_CHANGES
from service.api.problems import Problem
from service.api.routing import operation, resource
from service.api.slots import SlotBody
from service.api.targets import count, fault
from service.api.whole import WholeRoute
from service.api.wire import Body, Day, LiftId, Name, Note, Page, Rpe, Scale, ThingId, ThingName, UnitWord
from service.api.written import refuse
from service.core.prescribe.stepwise import slot_for
from service.core.slots import Slot
from service.core.templates import Fault, named_by, slot_faults
from service.flows import change_session, session_view
from service.flows.change_session import BeyondWeek
from service.flows.session_shape import SessionView
from service.flows.session_view import Seen, Written
from service.store import lifts, people, sessions
from service.store.errors import NotFound
from service.store.session import Tx
from service.store.sessions import Session, State

router = resource("/sessions", "sessions")
athlete_router = resource("/athletes/{athlete}/sessions", "sessions")
athlete_router.route_class = WholeRoute

SESSION_PAGE: Shape[Page[Session]] = Shape(Page[Session])
FORMATS = {"json": "application/json", "text": "text/plain"}

AthletePath = Annotated[ThingName, Path(description="Our id, or `ref:` and the gym's own reference.")]
SessionPath = Annotated[ThingId, Path(description="The session's id.")]
Minutes = Annotated[int, Scale(1, 1440, 1, unit="minutes")]
_slots, _slots_doc = count(0, 30)
_lifts, _lifts_doc = count(1, 30)


def in_formats(described: dict[str, Any]) -> dict[str, Any]:
    """An operation that is answered in the other formats too."""
    described["openapi_extra"]["x-formats"] = list(FORMATS.values())
    return described


class SeenShape(Shape[Seen]):
    """How a session becomes JSON: what was kept is put in as it is."""

    def __init__(self) -> None:
        super().__init__(SessionView)

    def json(self, answer: Seen) -> bytes:
        """The session's bytes."""
        return answer.json(why=True) + b"\n"


SESSION = SeenShape()


class NewSessionBody(Body):
    """A session outside of a block."""

    kind: Literal["free", "first", "test", "meet"]
    """`free`; `first`: a newcomer's; `test` and `meet` lift the effort limit."""
    date: Day | None = None
    """The athlete's day, at most ten years back; left out: today."""
    name: Name | None = None
    """What it is called; left out: its kind."""
    place: ThingName | None = None
    """Where; left out: where the athlete trains by default."""
    note: Note | None = None
    """For the lifter."""
    slots: Annotated[tuple[SlotBody, ...], _slots, _slots_doc] | None = None
    """The lifts, in order; left out: what comes is logged."""
    lifts: Annotated[tuple[LiftId, ...], _lifts, _lifts_doc] | None = None
    """In place of `slots`, for `first` and `test`: a newcomer's way to a working load, or a test of the max by the
    published protocol, for each of these lifts in order."""

    @model_validator(mode="after")
    def _followed(self) -> NewSessionBody:
        if self.slots and self.slots[-1].with_next:
            last = len(self.slots) - 1
            raise fault(("slots", last, "with_next"), "does_not_fit", "must not stand on the last slot: none follows")
        if self.lifts is not None:
            self._lifts_alone(self.lifts)
        return self

    def _lifts_alone(self, named: tuple[str, ...]) -> None:
        if self.kind not in ("first", "test"):
            raise fault(("lifts",), "does_not_fit", "belongs to the kinds first and test only: send slots")
        if self.slots is not None:
            raise fault(("lifts",), "one_of", "must not stand beside slots: send one of them")
        if len(set(named)) < len(named):
            raise fault(("lifts",), "repeated", "must name each lift once")


class SessionPatch(Body):
    """What is to change."""

    state: State | None = None
    """planned, open, finished; or planned, skipped. The same state again changes nothing."""
    date: Day | None = None
    """Another day of the same week; another week needs the right `coach`. Only while planned, and no more than 60 days
    back from its own day, or from today where that is earlier."""
    place: ThingName | None = None
    """Where; null: where the athlete trains by default. Slots that were not begun are computed for it."""
    minutes_available: Minutes | None = None
    """The time that there is: slots that were not begun have fewer sets or are left out, what matters least by the
    coach's priorities first; where what is left is still too long, the text of its most important slot says how long it
    takes. Null: as planned."""
    session_rpe: Rpe | None = None
    """How hard the whole session was. [RPE]"""
    minutes: Minutes | None = None
    """How long it took."""
    note: Note | None = None
    """The lifter's words."""


class SessionQuery(Paged):
    """Which sessions."""

    since: Day | None = Field(None, alias="from")
    """From this day on."""
    to: Day | None = None
    """Up to this day; it is included."""
    state: State | None = None
    """In this state."""


class ShownQuery(BaseModel):
    """How to show it."""

    model_config = ConfigDict(extra="forbid", frozen=True, use_attribute_docstrings=True)

    why: bool = True
    """False: without the reasons of the sets."""
    format: Literal["json", "text"] | None = None
    """`text`: as a coach would write it on a board; in place of `Accept`."""
    unit: UnitWord | None = None
    """Shows loads in this unit, but for what hangs whole only in the other; what is stored stays as it is."""


@athlete_router.get("", **operation("sessions_list", "read", Page[Session], own=True, refusals=(404,)))
async def list_sessions(call: Called, athlete: AthletePath, query: Annotated[SessionQuery, Query()]) -> Response:
    """List an athlete's sessions, by date."""
    return await call.page(
        SESSION_PAGE,
        query,
        lambda one: (str(one.date), str(one.id)),
        _of_athlete,
        athlete,
        since=query.since,
        until=query.to,
        state=query.state,
    )


@athlete_router.post(
    "", **operation("sessions_add", "log", SessionView, own=True, status=201, refusals=(404,), body=True)
)
async def add_session(
    call: Called, athlete: AthletePath, body: Annotated[NewSessionBody, Sent(openapi_examples=NEW_SESSIONS)]
) -> Response:
    """Add a session outside of a block: a free one, a newcomer's first, a test or a meet."""
    return await call.add(SESSION, lambda made: f"/v1/sessions/{made.page.id}", _add, athlete, body)


@router.get("/{session}", **in_formats(operation("sessions_get", "read", SessionView, own=True, refusals=(404, 406))))
async def get_session(call: Called, session: SessionPath, query: Annotated[ShownQuery, Query()]) -> Response:
    """Read a session with its loads, what is logged and each lift's last time. Plain text is the board.

    While it is planned its loads are computed at each reading; once opened they are those that were kept.
    """
    return await shown(call, session_view.read, session, why=query.why, unit=query.unit)


@router.patch(
    "/{session}", **operation("sessions_change", "log", SessionView, own=True, refusals=(404, 409, 412), body=True)
)
async def change_session_(
    call: Called, session: SessionPath, body: Annotated[SessionPatch, Sent(openapi_examples=SESSION_CHANGES)]
) -> Response:
    """Open, finish or skip a session, move it, or tell how it went. `If-Match` is optional here."""
    values = body.model_dump(exclude_unset=True)
    return await call.write(SESSION, _change, session, expected=call.expected_if_sent(), values=values)


@router.delete("/{session}", **operation("sessions_remove", "log", own=True, status=204, refusals=(404, 409, 412, 428)))
async def remove_session(call: Called, session: SessionPath) -> Response:
    """Remove a session outside of a block in which nothing was logged."""
    return await call.remove(sessions.remove, session, expected=call.expected())


async def shown(call: Call, f: Callable[..., Written], *args: object, **more: object) -> Response:
    """Answer what `f(tx, ...)` writes, as JSON or plain text; 304 where the reader has it already."""
    name = chosen(call.request, FORMATS)
    answer = await call.database.read(
        call.caller, call.now, lambda tx: f(tx, *args, has=call.has, plain=name == "text", **more)
    )
    headers = PRIVATE | {"ETag": answer.tag}
    if answer.body is None:
        return Response(status_code=304, headers=headers)
    return Response(answer.body, headers=headers, media_type=FORMATS[name])


def _of_athlete(tx: Tx, athlete: str, **filters: Any) -> list[Session]:
    person = people.find(tx, athlete)
    if person is None:
        raise NotFound("athlete")
    return sessions.of_athlete(tx, person.id, **filters)


def _add(tx: Tx, athlete: str, body: NewSessionBody) -> Seen:
    slots = _planned(body)
    found = slot_faults(slots, lifts.get_many(tx, {name for slot in slots for name in named_by(slot)}))
    refuse(found if body.lifts is None else [_of_lift(one) for one in found])
    return change_session.add(
        tx,
        athlete,
        kind=body.kind,
        on=body.date,
        name=body.name,
        place=body.place,
        note=body.note,
        slots=slots,
    )


def _planned(body: NewSessionBody) -> list[Slot]:
    """The slots of a new session: as sent, or made for the lifts that it names."""
    if body.lifts is None or body.kind not in ("first", "test"):
        return [slot.record() for slot in body.slots or ()]
    return [slot_for(body.kind, lift) for lift in body.lifts]


def _of_lift(one: Fault) -> Fault:
    """What is wrong with a slot that was made for a lift, as wrong with that lift."""
    return replace(one, pointer=f"#/lifts/{one.pointer.split('/')[2]}")


def _change(tx: Tx, session: str, *, expected: int | None, values: dict[str, Any]) -> Seen:
    try:
        return change_session.change(tx, session, expected=expected, values=values)
    except BeyondWeek as beyond:
        challenge = 'Bearer realm="loadwright", error="insufficient_scope", scope="coach"'
        raise Problem("missing-right", str(beyond), headers={"WWW-Authenticate": challenge}) from beyond
