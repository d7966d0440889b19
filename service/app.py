"""Puts settings, database, routers and refusals together."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI
from starlette.middleware.cors import CORSMiddleware
from starlette.types import ASGIApp, Receive, Scope, Send

from service.api import (
    absences,
    adjustments,
    athlete_lifts,
    athletes,
    blocks,
    changes,
    checks,
    curves,
    document,
    drafts,
    estimates,
    expectations,
    group_day,
    groups,
    gym,
    keys,
    lifts,
    load_list,
    loadings,
    maxes,
    overrides,
    pages,
    places,
    prescriptions,
    preview,
    problems,
    replans,
    service,
    session_changes,
    sessions,
    sets,
    templates,
    today,
    version_moves,
)
from service.api.access import Access
from service.api.straight import Straight
from service.api.surface import Surface
from service.store.session import Database

VERSION = "0.1.0"
"""The product's semantic version; a test holds the project file and the changelog to it."""

CORS_ASKED = ["Authorization", "Content-Type", "Accept", "If-Match", "If-None-Match", "Idempotency-Key"]
CORS_SHOWN = ["ETag", "Link", "Location", "Retry-After", "Idempotent-Replayed", "Request-Id"]


class Service(FastAPI):
    """The framework's app behind a front of its own; what the front does not answer goes the framework's way."""

    front: ASGIApp

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Take one connection."""
        await (self.front if scope["type"] == "http" else self.framework)(scope, receive, send)

    async def framework(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the framework answer."""
        await super().__call__(scope, receive, send)


def create_app(database: Database, *, proxies: tuple[str, ...] = (), cors_origins: tuple[str, ...] = ()) -> Service:
    """Make the service on a database that is migrated."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        yield
        database.close()

    app = Service(
        title="Loadwright",
        version=VERSION,
        lifespan=lifespan,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,  # the pages serve it
        separate_input_output_schemas=False,
        redirect_slashes=False,
    )
    app.state.access = Access(database, proxies)
    problems.install(app)
    for router in (  # they are searched in this order: what is asked most stands first
        prescriptions.router,
        adjustments.router,
        loadings.router,
        estimates.router,
        expectations.router,
        sets.of_session,
        sets.router,
        sets.of_athlete,
        sessions.router,
        today.router,
        sessions.athlete_router,
        athlete_lifts.router,
        load_list.router,
        curves.router,
        athletes.router,
        maxes.of_athlete,
        maxes.router,
        absences.of_athlete,
        absences.router,
        overrides.of_athlete,
        overrides.of_group,
        overrides.router,
        templates.router,
        changes.router,
        drafts.router,
        checks.of_templates,
        checks.router,
        blocks.router,
        version_moves.router,
        preview.router,
        replans.router,
        replans.of_group,
        lifts.router,
        places.router,
        groups.router,
        session_changes.router,
        group_day.router,
        gym.router,
        keys.router,
        service.router,
        service.open_router,
        pages.router,
    ):
        app.router.routes.extend(router.routes)  # straight into the app: a nested router is searched twice
    app.openapi = lambda: document.build(app)  # type: ignore[method-assign]
    way: ASGIApp = Straight(app, app.framework, routes=app.router.routes)
    if cors_origins:
        way = CORSMiddleware(
            way,
            allow_origins=list(cors_origins),
            allow_methods=["GET", "HEAD", "POST", "PUT", "PATCH", "DELETE"],
            allow_headers=CORS_ASKED,
            expose_headers=CORS_SHOWN,
            max_age=7200,
        )
    app.front = Surface(way, cross_origin=bool(cors_origins))
    return app
