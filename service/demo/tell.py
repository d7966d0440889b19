"""What the demo prints: its key, and six lines of curl with the answers that they really get."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from service.demo.client import Client, Json, Request
from service.demo.scenario import IN_POUNDS, LEAD, lb

CUT = "…"
BOARD_LINES = 14
WIDTH = 100

Names = Sequence[str]


@dataclass(frozen=True, slots=True)
class Line:
    """A call worth making, what it is for, and which members of its answer are worth a look."""

    title: str
    request: Request
    shows: Names
    """Members by their way from the top: `next.load`, `sets.role`; what is not named is cut. Empty: text."""


def lines(client: Client) -> list[Line]:
    """The six lines, for the gym as it stands."""
    session = open_session(client)
    return [
        Line(
            f"1. {LEAD.name}'s day, as a coach writes it on a board",
            Request("GET", f"/v1/athletes/ref:{LEAD.ref}/today", headers=(("Accept", "text/plain"),)),
            (),
        ),
        Line(
            "2. She logs a build-up set that was harder than expected: one answer has the next set and the reason.\n"
            "   Pasted again it answers the same and stores nothing twice; another Idempotency-Key makes another set",
            logging(session),
            ("set.role", "set.load", "set.reps", "set.rpe", "next.role", "next.reps", "next.load", "next.expected_rpe",
             "next.text", "next.why.text",   "next.next_if.text"),
        ),
        Line(
            "3. What her log says of the squat: the max with its range, and what the last sets have taught",
            Request("GET", f"/v1/athletes/ref:{LEAD.ref}/lifts/squat"),
            ("max", "range", "text", "taught.date", "taught.text", "taught.why.text"),
        ),
        Line(
            "4. A load from bare numbers, for nobody in particular, in pounds: 3 at RPE 7.5 by a max of 330 lb",
            Request("POST", "/v1/prescriptions", {
                "lift": "squat", "max": lb(330), "scheme": {"kind": "top_set"},
                "target": {"kind": "effort", "reps": 3, "rpe": 7.5}, "warm_ups": False,
            }),
            ("text", "sets.load", "sets.text", "sets.range.low", "sets.range.high",
             "sets.loading.per_side.plate.value", "sets.loading.per_side.plate.unit", "sets.loading.per_side.count"),
        ),
        Line(
            "5. What to change on the bar at the boathouse, where pounds and kilograms mix",
            Request("POST", "/v1/loadings", {
                "lift": "deadlift", "load": lb(365), "place": "ref:boathouse",
                "from": [{"plate": lb(45), "count": 2}, {"plate": lb(10), "count": 1}],
            }),
            ("text", "loading.exact", "loading.load", "loading.difference", "change.text"),
        ),
        Line(
            f"6. {IN_POUNDS.name} lifts in pounds; on a borrowed phone one set went in as kilograms: it is asked about",
            Request("GET", f"/v1/athletes/ref:{IN_POUNDS.ref}/sets?doubtful=true"),
            ("items.date", "items.role", "items.load", "items.reps", "items.rpe", "items.doubt.code",
             "items.doubt.text", "items.doubt.proposal", "next_page"),
        ),
    ]  # fmt: skip


def open_session(client: Client) -> Json:
    """The lead's session of today."""
    today = client.get(f"/athletes/ref:{LEAD.ref}/today?why=false")["sessions"]
    found: Json = next(one for one in today if one["state"] == "open" and one["slots"])
    return found


def logging(session: Json) -> Request:
    """The call that logs the last build-up set of the session's first slot, a point harder than expected.

    Its `Idempotency-Key` belongs to the session, so that each start of the demo prints the same call.
    """
    slot = session["slots"][0]
    ready = [one for one in slot["sets"] if one["role"] == "build_up"] or slot["sets"]
    coming = ready[-1]
    load = coming["load"]
    expected = coming["expected_rpe"] or 7
    body = {
        "slot": slot["id"],
        "role": coming["role"],
        "load": {"value": load["value"], "unit": load["unit"]},
        "reps": coming["reps"],
        "rpe": min(round(expected) + 1, 10),
    }
    once = (("Idempotency-Key", f"curl-{session['id']}"),)
    return Request("POST", f"/v1/sessions/{session['id']}/sets", body, once)


def story(base: str, key: str) -> Iterator[str]:
    """Everything that is printed once the gym is there, part by part; each answer is fetched as its line comes."""
    client = Client(base, key)
    yield f"The key of the demo gym (owner; it opens nothing else):\n\n  {key}\n"
    for line in lines(client):
        answer = client.send(line.request)
        yield f"# {line.title}\n{line.request.curl(base, key)}\n\n{textwrap.indent(shown(answer, line.shows), '  ')}\n"
    client.close()


def shown(answer: Any, names: Names) -> str:
    """An answer for reading: text up to some lines, JSON less what is not named."""
    if isinstance(answer, str):
        head = answer.splitlines()
        return "\n".join(head[:BOARD_LINES] + [CUT] * (len(head) > BOARD_LINES))
    return "\n".join(laid(cut(answer, names)))


def cut(value: Any, names: Names, at: str = "") -> Any:
    """JSON less the members that are not named; a mark says where some were."""
    if isinstance(value, list):
        return [cut(one, names, at) for one in value]
    if not isinstance(value, dict) or at in names:
        return value
    way = {name: f"{at}.{name}" if at else name for name in value}
    kept = {
        name: cut(inner, names, way[name])
        for name, inner in value.items()
        if any(one == way[name] or one.startswith(f"{way[name]}.") for one in names)
    }
    return kept if len(kept) == len(value) else {**kept, CUT: CUT}


def laid(value: Any, indent: str = "", lead: str = "") -> Iterator[str]:
    """JSON in lines no wider than they need be: what fits on one line stays on it."""
    flat = json.dumps(value, ensure_ascii=False).replace(f'"{CUT}": "{CUT}"', CUT)
    if len(indent + lead + flat) <= WIDTH or not isinstance(value, dict | list) or not value:
        yield f"{indent}{lead}{flat}"
        return
    opens, closes = "{}" if isinstance(value, dict) else "[]"
    inner = list(value.items()) if isinstance(value, dict) else [("", one) for one in value]
    yield f"{indent}{lead}{opens}"
    for number, (name, one) in enumerate(inner):
        end = "," if number < len(inner) - 1 else ""
        rows = [f"{indent}  {CUT}"] if name == CUT else list(laid(one, f"{indent}  ", f'"{name}": ' if name else ""))
        yield from (*rows[:-1], rows[-1] + end)
    yield f"{indent}{closes}"
