"""Which formula words the steps of `why` can carry, read from the program text."""

import ast
from pathlib import Path

from service.core.curves.curves import CURVES


class Unread(Exception):
    """A formula is named in a way that this reader does not know: teach it."""


def words_in(folder: Path) -> set[str]:
    """The second argument of every `Step(...)`, or its `formula=`."""
    return {word for file in sorted(folder.rglob("*.py")) for word in _of_module(ast.parse(file.read_text("utf-8")))}


def _of_module(tree):
    for function in (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)):
        for call in ast.walk(function):
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id == "Step":
                named = {keyword.arg: keyword.value for keyword in call.keywords}
                yield from _values(named["formula"] if "formula" in named else call.args[1], function)


def _values(node, function):
    match node:
        case ast.Constant(value=str() as word):
            yield word
        case ast.IfExp(body=body, orelse=other):
            yield from _values(body, function)
            yield from _values(other, function)
        case ast.JoinedStr(values=[ast.FormattedValue(), ast.Constant(value="_curve")]):
            yield from (f"{name}_curve" for name in CURVES)
        case ast.Name(id=name):
            yield from _assigned(name, function)
        case _:
            raise Unread(ast.unparse(node))


def _assigned(name, function):
    found = [
        node.value
        for node in ast.walk(function)
        if isinstance(node, ast.Assign) and any(isinstance(to, ast.Name) and to.id == name for to in node.targets)
    ]
    if not found:
        raise Unread(name)
    for value in found:
        yield from _values(value, function)
