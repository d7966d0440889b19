"""The document as schemathesis tries it: what a slot may be stands whole where it matters, and small elsewhere.

A slot may be a hundred things. Six operations take a body of weeks that hold slots, most of them twice, and the same
code reads them. Trying everything at each place was most of the run, so what a slot may be, and what progressions may
be, is tried whole at one place of each way that they are handled, and small at the others:

- slots are read, kept and answered: the weeks of `POST /v1/templates`;
- summed up: the weeks of `POST /v1/checks`;
- written anew by progressions: the parts of `POST /v1/drafts`;
- opened as a session: `POST /v1/athletes/{athlete}/sessions`;
- prescribed from, and adjusted: `POST /v1/prescriptions` and `POST /v1/adjustments` have the pieces of a slot.

All other schemas of bodies, and all answers, are those of the document.
"""

from __future__ import annotations

import json
import re
from copy import deepcopy
from typing import Any

REFERENCE = "#/components/schemas/"
WHOLE = {"TemplateBody": "weeks", "CheckBody": "weeks", "DraftBody": "parts"}
"""Bodies of weeks by the one member whose slots stay whole."""
SMALL = {
    ("SlotBody", "scheme"): ("SetsAtTargetBody",),
    ("SlotBody", "target"): ("EffortTargetBody", "PercentTargetBody"),
    ("PartBody", "progressions"): ("EachWeekBody",),
}
"""What is left of a union where slots are small."""
MEMBERS = ("lift", "scheme", "target", "accessory")
"""What is left of a slot: what it must have, and what changes ask for."""


def asked(document: dict[str, Any]) -> set[str]:
    """The schemas that stand in a request's body, however deep."""
    schemas = document["components"]["schemas"]
    found: set[str] = set()
    more = re.findall(
        f'"{REFERENCE}([^"]+)"',
        json.dumps([one.get("requestBody") for item in document["paths"].values() for one in item.values()]),
    )
    while more:
        found |= set(more)
        more = [
            name
            for one in set(more)
            for name in re.findall(f'"{REFERENCE}([^"]+)"', json.dumps(schemas[one]))
            if name not in found
        ]
    return found


def refers(schema: Any, name: str) -> bool:
    """Whether a schema names another, itself."""
    return f'"{REFERENCE}{name}"' in json.dumps(schema)


def holders(schemas: dict[str, Any], name: str) -> set[str]:
    """The schemas that hold one of this name, however deep, and itself."""
    found = {name}
    while more := {one for one in schemas if one not in found and any(refers(schemas[one], inner) for inner in found)}:
        found |= more
    return found


def narrow(union: Any, kept: tuple[str, ...]) -> None:
    """Leave only these schemas in a union, wherever it stands in the one given."""
    if isinstance(union, dict):
        if "discriminator" in union:
            union["oneOf"] = [one for one in union["oneOf"] if one["$ref"].removeprefix(REFERENCE) in kept]
            mapping = union["discriminator"]["mapping"]
            for kind in [kind for kind, name in mapping.items() if name.removeprefix(REFERENCE) not in kept]:
                del mapping[kind]
            if len(union["oneOf"]) != len(kept):
                raise AssertionError(f"{kept} are no longer in this union: {mapping}")
        else:
            for inner in union.values():
                narrow(inner, kept)
    elif isinstance(union, list):
        for inner in union:
            narrow(inner, kept)


def tried(document: dict[str, Any]) -> dict[str, Any]:
    """A document whose bodies hold whole slots in few places; all else is the one given."""
    made = deepcopy(document)
    schemas = made["components"]["schemas"]
    bodies = {name for name in holders(schemas, "SlotBody") if name.endswith("Body")} - {"NewSessionBody"}

    def smaller(schema: Any) -> Any:
        text = json.dumps(schema)
        for name in bodies - set(WHOLE):
            text = text.replace(f'"{REFERENCE}{name}"', f'"{REFERENCE}Small{name}"')
        return json.loads(text)

    for name in bodies - set(WHOLE):
        schemas[f"Small{name}"] = smaller(schemas[name])
    slot = schemas["SmallSlotBody"]
    slot["properties"] = {member: slot["properties"][member] for member in MEMBERS}
    for (name, member), kept in SMALL.items():
        narrow(schemas[f"Small{name}"]["properties"][member], kept)
    for name, whole in WHOLE.items():
        members = schemas[name]["properties"]
        schemas[name]["properties"] = {
            member: schema if member == whole else smaller(schema) for member, schema in members.items()
        }
    for item in made["paths"].values():
        for operation in item.values():
            if isinstance(operation, dict) and "requestBody" in operation:
                operation["requestBody"] = smaller(operation["requestBody"])
    return made
