"""JSON read strictly: what two readers could read differently is refused."""

from __future__ import annotations

import json
from typing import Any

from service.api.problems import Problem

DEEPEST = 32


def read_json(body: bytes) -> Any:
    """Parse JSON: UTF-8, no NaN, no infinities, no member twice, at most 32 levels; else a 400."""
    try:
        text = body.decode()
    except UnicodeDecodeError:
        raise Problem("malformed-request", "The body is not UTF-8.") from None
    try:
        parsed = _STRICT.decode(text)
    except RecursionError:
        raise Problem("malformed-request", f"The body is nested deeper than {DEEPEST} levels.") from None
    except json.JSONDecodeError as error:
        why = "Unexpected UTF-8 BOM (decode using utf-8-sig)" if text.startswith("\ufeff") else error.msg
        detail = f"The body is not JSON: {why} at line {error.lineno}, column {error.colno}."
        raise Problem("malformed-request", detail) from None
    except ValueError:  # a whole number of more digits than Python reads
        raise Problem("malformed-request", "A number in the body has too many digits.") from None
    if text.count("[") + text.count("{") > DEEPEST and not _shallow(parsed):
        raise Problem("malformed-request", f"The body is nested deeper than {DEEPEST} levels.")
    return parsed


def _no_constant(word: str) -> Any:
    raise Problem("malformed-request", f"{word} is not a number that JSON has.")


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) != len(pairs):
        raise Problem("malformed-request", "A member stands twice in one object of the body.")
    return members


_STRICT = json.JSONDecoder(parse_constant=_no_constant, object_pairs_hook=_no_twins)


def _shallow(value: Any) -> bool:
    level = [value]
    for _ in range(DEEPEST + 1):
        deeper: list[Any] = []
        for item in level:
            kind = type(item)
            if kind is dict:
                deeper.extend([v for v in item.values() if type(v) is dict or type(v) is list])
            elif kind is list:
                deeper.extend([v for v in item if type(v) is dict or type(v) is list])
        if not deeper:
            return True
        level = deeper
    return False
