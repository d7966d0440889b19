"""/v1/keys: who may call, and what."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any, Literal

import fastapi
from fastapi import Path, Query, Response
from pydantic import AfterValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from service.api.access import REMEMBERED_SECONDS, RIGHTS
from service.api.call import Call, Called, Shape
from service.api.paging import Paged
from service.api.problems import Problem
from service.api.routing import operation, resource
from service.api.wire import Body, Moment, Name, Page, Scale, ThingName
from service.store import keys
from service.store.keys import ListedKey, MadeKey
from service.store.session import Tx

router = resource("/keys", "keys")

OVERLAP_HOURS = 24
REVOKED = (
    f"The key is revoked. Where it was used just now it may still work for up to {REMEMBERED_SECONDS:g} s; "
    "then it answers 401."
)


@dataclass(frozen=True, slots=True)
class RevokedKey(ListedKey):
    """A key that is revoked."""

    text: str
    """From when on it does not work."""


KEY: Shape[ListedKey] = Shape(ListedKey)
KEYS: Shape[Page[ListedKey]] = Shape(Page[ListedKey])
MADE: Shape[MadeKey] = Shape(MadeKey)
GONE: Shape[RevokedKey] = Shape(RevokedKey)

KeyPath = Annotated[str, Path(pattern="^[0-9A-Za-z]{12}$", description="The 12 characters of its id.")]


def _future(value: datetime) -> datetime:
    if value <= datetime.now(UTC):
        raise PydanticCustomError("out_of_range", "must be later than now")
    return value


Later = Annotated[Moment, AfterValidator(_future)]

EXAMPLES: dict[str, Any] = {
    "a server": {"summary": "The gym's own app", "value": {"name": "Our app", "right": "coach"}},
}
CHANGES: dict[str, Any] = {"name": {"summary": "Only the name", "value": {"name": "Old tablet at the door"}}}
ROTATIONS: dict[str, Any] = {
    "a day": {"summary": "The old secret works for two days more", "value": {"overlap_hours": 48}},
    "at once": {"summary": "The old secret ends now", "value": {"overlap_hours": 0}},
}


class KeyBody(Body):
    """A new key."""

    name: Name
    """What it is for."""
    right: Literal["read", "log", "coach", "owner"]
    """What it may do; each includes those before. A key of one athlete: `read` or `log`."""
    athlete: ThingName | None = None
    """The athlete that it is bound to, for that person's phone."""
    expires_at: Later | None = None
    """When it stops working; left out: never, an athlete's key 90 days after its newest secret was made."""

    @model_validator(mode="after")
    def _bound_right(self) -> KeyBody:
        if self.athlete is not None and self.right not in ("read", "log"):
            raise PydanticCustomError(
                "too_much_for_one_athlete",
                "must be read or log for a key of one athlete",
                {"member": "right", "allowed": {"values": ["read", "log"]}},
            )
        return self


class KeyPatch(Body):
    """What is to change."""

    name: Name | None = None
    """What it is for."""
    expires_at: Later | None = None
    """When it stops working; null: never, for an athlete's key 90 days from now."""


class RotationBody(Body):
    """How long two secrets work."""

    overlap_hours: Annotated[int, Scale(0, 168, 1, unit="hours")] | None = Field(None)
    """For so long the old secret works beside the new one; left out: 24."""


def _where(key: ListedKey) -> str:
    return f"/v1/keys/{key.id}"


def _may_make(call: Call, body: KeyBody) -> None:
    """Refuse a key above the caller's own right; a coach makes keys of athletes only."""
    mine = call.caller.right
    if RIGHTS.index(body.right) <= RIGHTS.index(mine) and (mine == "owner" or body.athlete is not None):
        return
    raise Problem(
        "missing-right",
        f"A key with the right {mine!r} makes keys bound to an athlete only: name the athlete, or use an owner's key.",
        headers={"WWW-Authenticate": 'Bearer realm="loadwright", error="insufficient_scope", scope="owner"'},
    )


@router.get("", **operation("keys_list", "coach", Page[ListedKey]))
async def list_keys(call: Called, query: Annotated[Paged, Query()]) -> Response:
    """List the keys by id, without their secrets; a coach's key lists those bound to athletes."""
    return await call.page(KEYS, query, lambda key: (key.id,), keys.page)


@router.post("", **operation("keys_add", "coach", MadeKey, status=201, refusals=(409,), body=True))
async def add_key(call: Called, body: Annotated[KeyBody, fastapi.Body(openapi_examples=EXAMPLES)]) -> Response:
    """Make a key. Its secret is in this answer only; a repeat of the request is refused with 409.

    A coach's key makes keys that are bound to an athlete; an owner's key makes all.
    """
    _may_make(call, body)
    return await call.add_secret(
        201,
        MADE,
        _where,
        keys.make,
        name=body.name,
        right=body.right,
        athlete=body.athlete,
        expires_at=body.expires_at,
    )


@router.get("/{key}", **operation("keys_get", "coach", ListedKey, refusals=(404,)))
async def get_key(call: Called, key: KeyPath) -> Response:
    """Read what is known of a key, without its secret."""
    return await call.read(KEY, keys.get, key)


@router.patch("/{key}", **operation("keys_change", "coach", ListedKey, refusals=(404, 412), body=True))
async def change_key(
    call: Called, key: KeyPath, body: Annotated[KeyPatch, fastapi.Body(openapi_examples=CHANGES)]
) -> Response:
    """Change a key's name or when it stops working."""
    values = {
        name: value for name, value in body.model_dump(exclude_unset=True).items() if (name, value) != ("name", None)
    }
    expected = call.expected_if_sent()
    return await call.write(KEY, keys.change, key, expected=None if expected == -1 else expected, values=values)


@router.delete("/{key}", **operation("keys_remove", "coach", RevokedKey, refusals=(404,)))
async def revoke_key(call: Called, key: KeyPath) -> Response:
    """Revoke a key; doing it again changes nothing. The answer says from when on it does not work."""
    return await call.write(GONE, _revoked, key)


def _revoked(tx: Tx, key: str) -> RevokedKey:
    return RevokedKey(**asdict(keys.revoke(tx, key)), text=REVOKED)


@router.post("/{key}/rotation", **operation("keys_rotate", "read", MadeKey, own=True, refusals=(404, 409), body=True))
async def rotate_key(
    call: Called,
    key: KeyPath,
    body: Annotated[RotationBody | None, fastapi.Body(openapi_examples=ROTATIONS)] = None,
) -> Response:
    """Give a key a new secret, in this answer only; each key may do it for itself.

    An athlete's key lives 90 days more from then on, unless its end was set. The old secret works on for the overlap.
    """
    hours = OVERLAP_HOURS if body is None or body.overlap_hours is None else body.overlap_hours
    return await call.add_secret(200, MADE, _where, keys.rotate, key, overlap=timedelta(hours=hours))
