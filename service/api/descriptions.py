"""The descriptions of members, read from the code: the string that stands below each attribute.

They are read when the document is built, and not by Pydantic for each class at each start, which took most of it.
"""

from __future__ import annotations

import ast
import inspect
import sys
from collections import defaultdict
from functools import cache
from types import ModuleType
from typing import Any

Described = dict[str, str]


@cache
def _written(module: ModuleType) -> dict[str, Described]:
    """For each class of a module, its attributes with the string below them."""
    found: dict[str, Described] = {}
    for node in ast.walk(ast.parse(inspect.getsource(module))):
        if isinstance(node, ast.ClassDef):
            found[node.name] = {}
            for attribute, below in zip(node.body, node.body[1:], strict=False):
                if (
                    isinstance(attribute, ast.AnnAssign)
                    and isinstance(attribute.target, ast.Name)
                    and isinstance(below, ast.Expr)
                    and isinstance(below.value, ast.Constant)
                    and isinstance(below.value.value, str)
                ):
                    found[node.name][attribute.target.id] = inspect.cleandoc(below.value.value)
    return found


def members(kind: type) -> Described:
    """The members of a class with their descriptions; what a class says outranks what those above it say."""
    found: Described = {}
    for above in reversed(kind.__mro__):
        if above.__module__.startswith("service."):
            found |= _written(sys.modules[above.__module__]).get(above.__name__, {})
    return found


def _classes() -> dict[str, list[type]]:
    """All classes of the service that are imported, by name."""
    found: dict[str, list[type]] = defaultdict(list)
    for name, module in list(sys.modules.items()):
        if name.startswith("service.") and module is not None:
            for thing in vars(module).values():
                if isinstance(thing, type) and thing.__module__ == name:
                    found[thing.__name__].append(thing)
    return found


def describe(schemas: dict[str, Any]) -> None:
    """Write the descriptions into the schemas of a document, where they have none."""
    classes = _classes()
    for name, schema in schemas.items():
        properties = schema.get("properties", {})
        for kind in classes.get(name, ()):
            told, known = members(kind), set(_annotated(kind))
            own = {member: _attribute(member, known) for member in properties}
            if None not in own.values():
                for member, attribute in own.items():
                    if attribute in told:
                        properties[member].setdefault("description", told[attribute])


def _attribute(member: str, known: set[str]) -> str | None:
    """The attribute behind a member: `from` and the like are words of the language and bear a `_` in the code."""
    return next((name for name in (member, f"{member}_") if name in known), None)


def _annotated(kind: type) -> list[str]:
    return [name for above in kind.__mro__ for name in getattr(above, "__annotations__", {})]
