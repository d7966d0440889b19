"""How the parts of a request become a route function's arguments, and which of them are wrong.

The framework's own way resolves dependencies, forms and files, which our routes do not have, at several times the
cost of the calculation behind them; its description of each parameter is what is read here, so the document and the
checks cannot differ.
"""

from __future__ import annotations

from typing import Any

from fastapi._compat import ModelField
from fastapi.exceptions import RequestValidationError
from fastapi.routing import APIRoute
from pydantic import BaseModel

from service.api.asked import Asked
from service.api.call import Call
from service.api.problems import Problem
from service.api.strict_json import read_json

JSON_TYPES = ("application/json", "application/merge-patch+json")
NO_BODY: Any = object()


class Arguments:
    """Reads the arguments of one route: path parts, the query, the body, and who is calling."""

    def __init__(self, route: APIRoute) -> None:
        described = route.dependant
        self.path = [(field.name, field.alias, field) for field in described.path_params]
        self.query = [(field.name, field, _members(field)) for field in described.query_params]
        self.usual = self._usual()
        self.body = route.body_field
        self.body_name = described.body_params[0].name if described.body_params else ""
        self.called = [str(one.name) for one in described.dependencies]
        self.known = frozenset(alias for _, field, members in self.query for alias in members or (field.alias,))

    def _usual(self) -> dict[str, Any] | None:
        """The query's arguments where nothing is sent, made once (they are frozen); None where something must be."""
        values: dict[str, Any] = {}
        for name, field, members in self.query:
            values[name], wrong = field.validate({} if members else None, {}, loc=("query",))
            if wrong or not members:
                return None
        return values

    async def read(self, request: Asked, call: Call) -> dict[str, Any]:
        """The arguments, or a refusal that names all that are wrong."""
        values: dict[str, Any] = dict.fromkeys(self.called, call)
        errors: list[Any] = []
        for name, alias, field in self.path:
            values[name], wrong = field.validate(request.path_params[alias], {}, loc=("path", alias))
            errors.extend(wrong)
        if self.usual is not None and not request.scope["query_string"]:
            values |= self.usual
        elif self.query:
            sent = request.query_params
            for name, field, members in self.query:
                told = {alias: sent[alias] for alias in members if alias in sent} if members else sent.get(field.alias)
                values[name], wrong = field.validate(told, {}, loc=("query",) if members else ("query", field.alias))
                errors.extend(wrong)
        body: Any = None
        if self.body is not None:
            body = await _json(request)
            if body is NO_BODY and not self.body.field_info.is_required():
                values[self.body_name] = self.body.get_default()
            elif body is NO_BODY:
                errors.append({"type": "missing", "loc": ("body",), "msg": "", "input": None})
            else:
                values[self.body_name], wrong = self.body.validate(body, {}, loc=("body",))
                errors.extend(wrong)
        if errors:
            raise RequestValidationError(errors, body=body)
        return values


def _members(field: ModelField) -> tuple[str, ...]:
    """The query parameters that a parameter stands for, where it is a model."""
    kind = field.field_info.annotation
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return tuple(info.alias or name for name, info in kind.model_fields.items())
    return ()


async def _json(request: Asked) -> Any:
    sent = await request.body()
    if not sent:
        return NO_BODY
    kind = request.said(b"content-type") or ""
    if kind != "application/json" and kind.split(";")[0].strip().lower() not in JSON_TYPES:
        raise Problem(
            "unsupported-media-type", "Send JSON, as application/json.", headers={"Accept": ", ".join(JSON_TYPES)}
        )
    return read_json(sent)
