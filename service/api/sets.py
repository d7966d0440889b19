"""/v1/sets and what leads to them: sets logged, put, corrected, synced; each answer brings the next one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

import fastapi
from fastapi import Path, Query, Response

from service.api import problems
from service.api.athletes import AthletePath
from service.api.call import Call, Called, Shape
from service.api.routing import operation, resource
from service.api.set_bodies import Faulty, FreeSetBody, PutSetBody, QueueBody, SessionSetBody, SetPatch
from service.api.set_examples import FREE, LOG, PATCH, PUT, SYNC
from service.api.units import LoadsPaged, UnitQuery, listed_in, read_in
from service.api.wire import Day, LiftId, Page, ThingId
from service.core.answers import Next
from service.flows import correct_set, list_sets, log_set, next_set, sync_sets
from service.flows.log_set import Logged
from service.flows.sync_sets import NextOf, Queued, Result
from service.store import sets
from service.store.session import Tx
from service.store.set_records import LoggedSet

of_session = resource("/sessions/{session}", "sets")
of_athlete = resource("/athletes/{athlete}/sets", "sets")
router = resource("/sets", "sets")


@dataclass(frozen=True, slots=True, kw_only=True)
class SyncResult:
    """What became of one set of a queue."""

    id: str | None
    """The set's id, as it was sent."""
    result: Literal["stored", "unchanged", "problem"]
    """`stored` now, there already `unchanged`, or refused with its `problem`."""
    version: int | None
    """The version that stands; what `If-Match` takes."""
    set: LoggedSet | None
    """The set as it stands; null where refused."""
    problem: dict[str, Any] | None
    """Why it was refused (RFC 9457); pointers lead into this request."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Synced:
    """What became of a queue."""

    results: list[SyncResult]
    """One for each set, in the order in which they were sent."""
    next: list[NextOf]
    """What comes next in each session that was touched."""


LOGGED: Shape[Logged] = Shape(Logged)
SET: Shape[LoggedSet] = Shape(LoggedSet)
SETS: Shape[Page[LoggedSet]] = Shape(Page[LoggedSet])
NEXT: Shape[Next] = Shape(Next)
SYNCED: Shape[Synced] = Shape(Synced)

SessionPath = Annotated[ThingId, Path(description="Our id of the session.")]
SetPath = Annotated[ThingId, Path(description="The set's id, ours or made by the phone.")]
SlotQuery = Annotated[ThingId | None, Query(description="A slot of the session; left out: that of the last set.")]


class SetQuery(LoadsPaged):
    """Which sets."""

    lift: LiftId | None = None
    """Only those of this lift."""
    since: Day | None = fastapi.Query(None, alias="from")
    """The first day, included."""
    until: Day | None = fastapi.Query(None, alias="to")
    """The last day, included."""
    doubtful: bool = False
    """True: only those with a question that nobody has answered."""


def _where(made: Logged) -> str:
    return f"/v1/sets/{made.set.id}"


def _last(one: LoggedSet) -> tuple[str, str]:
    return one.at.isoformat(), str(one.id)


@of_session.post("/sets", **operation("sets_log", "log", Logged, own=True, status=201, refusals=(404, 409), body=True))
async def log_a_set(
    call: Called, session: SessionPath, body: Annotated[SessionSetBody, fastapi.Body(openapi_examples=LOG)]
) -> Response:
    """Log a set of a session: the answer brings the day's estimate where it changed, and the next set.

    The first set opens a planned session; a set in a skipped one makes it finished.
    """
    return await call.add(LOGGED, _where, log_set.log_in_session, session, body.entry(), identity=body.id)


@of_session.get("/sets", **operation("session_sets_list", "read", Page[LoggedSet], own=True, refusals=(404,)))
async def list_session_sets(call: Called, session: SessionPath, query: Annotated[LoadsPaged, Query()]) -> Response:
    """List the sets of a session in the order in which they were done."""
    return await call.page(SETS, query, _last, listed_in(query.unit, list_sets.of_session), session)


@of_session.get("/next", **operation("sessions_next", "read", Next, own=True, refusals=(404,)))
async def next_of_session(
    call: Called, session: SessionPath, slot: SlotQuery = None, unit: UnitQuery = None
) -> Response:
    """The suggestion again, after a lost answer or before the first set; nothing is stored."""
    return await call.read(NEXT, next_set.session_next, session, slot=slot, unit=unit)


@of_athlete.post("", **operation("sets_add", "log", Logged, own=True, status=201, refusals=(404, 409), body=True))
async def log_a_free_set(
    call: Called, athlete: AthletePath, body: Annotated[FreeSetBody, fastapi.Body(openapi_examples=FREE)]
) -> Response:
    """Log a set outside of a session; `next` is null."""
    return await call.add(LOGGED, _where, log_set.log_free, athlete, body.entry(), identity=body.id)


@of_athlete.get("", **operation("sets_list", "read", Page[LoggedSet], own=True, refusals=(404,)))
async def list_athlete_sets(call: Called, athlete: AthletePath, query: Annotated[SetQuery, Query()]) -> Response:
    """List an athlete's sets, the newest first; `from` and `to` are days, both included."""
    filters = {"lift": query.lift, "since": query.since, "until": query.until, "doubtful": query.doubtful}
    return await call.page(SETS, query, _last, listed_in(query.unit, list_sets.of_athlete), athlete, **filters)


@router.post("", **operation("sets_sync", "log", Synced, own=True, body=True))
async def sync(call: Called, body: Annotated[QueueBody, fastapi.Body(openapi_examples=SYNC)]) -> Response:
    """Empty a phone's queue: 1 to 200 sets with ids made on the phone, one result each.

    One bad set does not block the others. Sent again, nothing is doubled: what is there already is `unchanged`.
    """
    read = body.read()
    queue = [None if isinstance(one, Faulty) else one.queued() for one in read]
    faults = {
        at: _inside(problems.invalid(call.request, one.errors), at)
        for at, one in enumerate(read)
        if isinstance(one, Faulty)
    }
    ids = [one.id for one in read]
    return await call.write(SYNCED, _synced, call, queue, ids, faults)


def _synced(
    tx: Tx, call: Call, queue: list[Queued | None], ids: list[str | None], faults: dict[int, dict[str, Any]]
) -> Synced:
    results, following = sync_sets.sync(tx, queue)
    shown = [
        _result(ids[at], result, faults.get(at) if result is None else _problem(call, at, result))
        for at, result in enumerate(results)
    ]
    return Synced(results=shown, next=following)


def _problem(call: Call, at: int, result: Result) -> dict[str, Any] | None:
    if result.error is None:
        return None
    return _inside(problems.refusal(call.request, result.error), at)


def _inside(problem: dict[str, Any], at: int) -> dict[str, Any]:
    """A problem of one set, with pointers that lead into the whole request."""
    for error in problem.get("errors", ()):
        if "pointer" in error:
            error["pointer"] = f"#/sets/{at}" + error["pointer"][1:]
    return problem


def _result(identity: str | None, result: Result | None, problem: dict[str, Any] | None) -> SyncResult:
    stored = None if result is None else result.set
    return SyncResult(
        id=identity,
        result="problem" if result is None else result.state,
        version=None if stored is None else stored.version,
        set=stored,
        problem=problem,
    )


@router.get("/{set}", **operation("sets_get", "read", LoggedSet, own=True, refusals=(404,)))
async def get_set(call: Called, set: SetPath, unit: UnitQuery = None) -> Response:  # noqa: A002 - the path names it so
    """Read one set."""
    return await read_in(call, unit, SET, sets.read, set)


@router.put("/{set}", **operation("sets_put", "log", LoggedSet, own=True, refusals=(404, 409, 412, 428), body=True))
async def put_set(
    call: Called,
    set: SetPath,  # noqa: A002 - the path names it so
    body: Annotated[PutSetBody, fastapi.Body(openapi_examples=PUT)],
) -> Response:
    """Store a set under an id made by the phone: 201; the same content again: 200, and nothing changes.

    Other content over a stored set needs `If-Match`, so that an old retry never undoes a correction.
    """
    return await call.put(
        SET,
        correct_set.put,
        set,
        body.entry(),
        session=body.session,
        athlete=body.athlete,
        expected=call.expected_if_sent(),
        only_new=call.only_new(),
    )


@router.patch("/{set}", **operation("sets_change", "log", LoggedSet, own=True, refusals=(404, 412, 428), body=True))
async def change_set(
    call: Called,
    set: SetPath,  # noqa: A002 - the path names it so
    body: Annotated[SetPatch, fastapi.Body(openapi_examples=PATCH)],
) -> Response:
    """Correct a set; what was entered before is kept, and what was learnt from it is computed anew."""
    return await call.write(SET, correct_set.change, set, expected=call.expected(), sent=body.sent())


@router.delete("/{set}", **operation("sets_remove", "log", own=True, status=204, refusals=(404, 412, 428)))
async def remove_set(call: Called, set: SetPath) -> Response:  # noqa: A002 - the path names it so
    """Delete a set; its id is never used again, and what was learnt from it is computed anew."""
    return await call.remove(correct_set.remove, set, expected=call.expected())
