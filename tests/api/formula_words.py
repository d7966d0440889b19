"""Which formula words the steps of `why` can carry, read from the program text."""

import ast
from pathlib import Path

from service.core.curves.curves import CURVES
from service.core.records import MODEL


class Unread(Exception):
    """A formula is named in a way that this reader does not know: teach it."""


def words_in(folder: Path) -> set[str]:
    """The second argument of every `Step(...)` of an answer, or its `formula=`."""
    modules = (ast.parse(file.read_text("utf-8")) for file in sorted(folder.rglob("*.py")))
    return {word for module in modules if _answers(module) for word in _of_module(module)}


def _answers(tree):
    """Whether a module makes steps of answers: others have a `Step` of their own."""
    return any(
        isinstance(node, ast.ImportFrom)
        and node.module == "service.core.answers"
        and any(name.name == "Step" for name in node.names)
        for node in ast.walk(tree)
    )


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
            yield from (f"{name}_curve" for name in (MODEL, *CURVES))
        case ast.Name(id=name):
            yield from _assigned(name, function)
        case _:
            raise Unread(ast.unparse(node))


def _assigned(name, function):
    found = []
    for node in (node for node in ast.walk(function) if isinstance(node, ast.Assign)):
        for to in node.targets:
            if isinstance(to, ast.Tuple) and isinstance(node.value, ast.Tuple):
                pairs = zip(to.elts, node.value.elts, strict=True)
            else:
                pairs = [(to, node.value)]
            found += [value for one, value in pairs if isinstance(one, ast.Name) and one.id == name]
    if not found:
        raise Unread(name)
    for value in found:
        yield from _values(value, function)
