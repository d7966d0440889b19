"""Whether the service runs, and what a key may do."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from fastapi import APIRouter, Request, Response
from sqlalchemy import text

from service.api.call import Called, Shape
from service.api.routing import operation, resource
from service.store import gyms
from service.store.errors import Unavailable
from service.store.session import Database

open_router = APIRouter(tags=["service"])
router = resource("", "service")


@dataclass(frozen=True, slots=True)
class Health:
    """The service runs."""

    status: str
    version: str


@dataclass(frozen=True, slots=True)
class Index:
    """Where this key stands."""

    version: str
    """The product's version."""
    gym: UUID
    """The key's gym."""
    gym_name: str
    """Its name."""
    right: str
    """What this key may do: `read`, `log`, `coach`, `owner`; each includes those before."""
    athlete: UUID | None
    """The athlete that this key is bound to, if any."""
    links: list[str]
    """The collections."""


INDEX: Shape[Index] = Shape(Index)
LINKS = ["gym", "athletes", "groups", "lifts", "places", "curves", "templates", "blocks", "keys"]


@open_router.get("/health", operation_id="health_get")
async def health(request: Request) -> Health:
    """Say that the process runs."""
    return Health("ok", request.app.version)


@open_router.get("/ready", operation_id="ready_get", responses={503: {"description": "The database does not answer."}})
async def ready(request: Request) -> Health:
    """Say that the database answers too."""
    database: Database = request.app.state.access.database
    await database.hop(lambda: _ask(database))
    return Health("ready", request.app.version)


def _ask(database: Database) -> None:
    try:
        with database.engine.connect() as connection:
            connection.execute(text("SELECT 1"))
    except Exception as error:  # whatever it is, the answer is "not ready"
        raise Unavailable("The database does not answer.") from error


@router.get("", **operation("index_get", "read", Index, own=True))
async def index(call: Called) -> Response:
    """Say which gym this key belongs to and what it may do."""
    gym = await call.database.read(call.caller, call.now, gyms.get)
    caller = call.caller
    version = call.request.app.version
    links = [f"/v1/{name}" for name in LINKS]
    return call.answer(INDEX, Index(version, gym.id, gym.name, caller.right, caller.athlete, links))
