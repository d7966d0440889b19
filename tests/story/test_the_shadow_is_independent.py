"""The stories' shadow asks nothing of the product: neither it nor what it stands on imports any of it."""

from __future__ import annotations

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]


def imported(path: Path) -> set[str]:
    """Modules that a file imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {one.name for one in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module is not None:
            found |= {node.module, *(f"{node.module}.{one.name}" for one in node.names)}
    return found


def test_nothing_under_the_shadow_imports_the_product() -> None:
    seen: set[Path] = set()
    left = [ROOT / "tests/story/shadow.py"]
    outside: set[str] = set()
    while left:
        path = left.pop()
        seen.add(path)
        for name in imported(path):
            own = ROOT / f"{name.replace('.', '/')}.py"
            if own.exists() and own not in seen:
                left.append(own)
            elif not own.exists():
                outside.add(name.split(".")[0])
    assert {one.name for one in seen} >= {"shadow.py", "plain.py", "plain_learn.py", "plain_outputs.py"}
    assert not outside & {"service", "importlib", "subprocess"}
    assert {one.relative_to(ROOT).parts[0] for one in seen} == {"tests"}
