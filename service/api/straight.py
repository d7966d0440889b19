"""The straight way to a route: by a table, past what the framework does for features that no route here has.

Searching all routes in turn, exit stacks and telemetry cost more than a calculation. What is not in the table (pages,
unknown addresses, wrong methods) goes the framework's way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from fastapi import FastAPI, HTTPException
from fastapi.exceptions import RequestValidationError
from starlette.routing import BaseRoute
from starlette.types import ASGIApp, Receive, Scope, Send

from service.api.asked import Asked
from service.api.problems import refused
from service.api.routing import KeyedRoute
from service.core.errors import DomainError


class Straight:
    """Answers requests to keyed routes itself, and passes on all others."""

    def __init__(self, app: FastAPI, framework: ASGIApp, *, routes: Iterable[BaseRoute]) -> None:
        self.app, self.framework = app, framework
        self.fixed: dict[tuple[str, str], KeyedRoute] = {}
        self.open: dict[tuple[str, int], list[tuple[re.Pattern[str], KeyedRoute]]] = {}
        for route in routes:
            if isinstance(route, KeyedRoute):
                for method in route.methods or ():
                    if route.param_convertors:
                        place = (method, route.path.count("/"))
                        self.open.setdefault(place, []).append((route.path_regex, route))
                    else:
                        self.fixed[method, route.path] = route

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or pass it on."""
        route = self._find(scope)
        if route is None:
            await self.framework(scope, receive, send)
            return
        scope["app"] = self.app
        request = Asked(scope, receive)
        try:
            response = await route.keyed(request)
        except (DomainError, RequestValidationError, HTTPException) as error:
            response = refused(request, error)
        await response(scope, receive, send)

    def _find(self, scope: Scope) -> KeyedRoute | None:
        method, path = scope["method"], scope["path"]
        found = self.fixed.get((method, path))
        if found is not None:
            return found
        for pattern, route in self.open.get((method, path.count("/")), ()):
            match = pattern.match(path)
            if match:
                scope["path_params"] = match.groupdict()
                return route
        return None
