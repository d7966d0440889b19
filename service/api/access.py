"""Who is calling: the key behind a request, read through a cache of at most five seconds."""

from __future__ import annotations

import hmac
import time
from collections import OrderedDict
from datetime import UTC, datetime
from hashlib import sha256
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network

from starlette.requests import Request

from service.api.asked import Asked
from service.api.problems import Problem
from service.store import idempotency, keys
from service.store.key_text import KeyText, read_key_text
from service.store.session import Caller, Database, Tx

RIGHTS = ("read", "log", "coach", "owner")
REMEMBERED_SECONDS = 5.0  # bounds how late a revocation acts; the only state in a process
MOST_REMEMBERED = 10_000
FAILURES_A_MINUTE = 20

Remembered = tuple[float, keys.StoredKey]
"""When a key was looked up, by a clock that only goes forward [s], and what was found."""


class Access:
    """Turns the `Authorization` header into a caller, or refuses."""

    def __init__(self, database: Database, proxies: tuple[str, ...] = ()) -> None:
        self.database = database
        self.proxies = [ip_network(proxy) for proxy in proxies]
        self._known: OrderedDict[str, Remembered] = OrderedDict()
        self._seen: OrderedDict[bytes, tuple[Caller, Remembered]] = OrderedDict()

    async def caller(self, asked: Asked, right: str, now: datetime, *, own: bool) -> Caller:
        """The caller, if its key is valid and has `right`; `own`: an athlete-bound key may come too."""
        text = asked.said(b"authorization")
        if text is None:
            raise Problem(
                "no-key",
                "Send a key: Authorization: Bearer lw_…",
                headers={"WWW-Authenticate": 'Bearer realm="loadwright"'},
            )
        digest = sha256(text.encode("latin-1")).digest()
        caller = self._seen_before(digest) or await self._seen_first(asked, text, digest, now)
        if RIGHTS.index(caller.right) < RIGHTS.index(right) or (caller.athlete is not None and not own):
            raise Problem(
                "missing-right",
                _why_not(caller, right, own=own),
                headers={"WWW-Authenticate": f'Bearer realm="loadwright", error="insufficient_scope", scope="{right}"'},
            )
        return caller

    def _seen_before(self, digest: bytes) -> Caller | None:
        """The caller of a header that was read a moment ago, by the header's hash: the secret itself is not kept."""
        seen = self._seen.get(digest)
        if seen is None:
            return None
        caller, remembered = seen
        old = self._known.get(caller.key_id) is not remembered or time.monotonic() - remembered[0] > REMEMBERED_SECONDS
        return None if old else caller

    async def _seen_first(self, asked: Asked, text: str, digest: bytes, now: datetime) -> Caller:
        scheme, _, value = text.partition(" ")
        parsed = read_key_text(value.strip()) if scheme.lower() == "bearer" else None
        known = None if parsed is None else await self._look_up(parsed, now)
        if parsed is None or known is None:
            raise await self._failed(asked)
        caller = Caller(known.gym, known.id, known.name, known.right, known.athlete)
        remembered = self._known.get(known.id)
        lasting = known.expires_at is None and hmac.compare_digest(known.secret_hash, parsed.hash)
        if lasting and remembered is not None and remembered[1] is known:
            self._seen[digest] = caller, remembered
            if len(self._seen) > MOST_REMEMBERED:
                self._seen.popitem(last=False)
        return caller

    async def _look_up(self, key: KeyText, now: datetime) -> keys.StoredKey | None:
        remembered, fresh = self._known.get(key.id), False
        if (
            remembered is None
            or time.monotonic() - remembered[0] > REMEMBERED_SECONDS
            or not _is_secret_of(remembered[1], key, now)  # a new secret works at once; a wrong one is counted below
        ):
            found = await self.database.outside(lambda engine: keys.look_up(engine, key.id))
            if found is None:
                return None
            remembered, fresh = (time.monotonic(), found), True
            self._known[key.id] = remembered
            self._known.move_to_end(key.id)
            if len(self._known) > MOST_REMEMBERED:
                self._known.popitem(last=False)
        stored = remembered[1]
        if (
            not _is_secret_of(stored, key, now)
            or stored.revoked_at is not None
            or (stored.expires_at is not None and stored.expires_at <= now)
        ):
            return None
        if fresh:
            caller = Caller(stored.gym, stored.id, stored.name, stored.right, stored.athlete)
            await self.database.write(caller, now, _remember_use)
        return stored

    async def _failed(self, request: Request) -> Problem:
        address = self.address(request)
        count = await self.database.outside(lambda engine: keys.count_failure(engine, address))
        if count > FAILURES_A_MINUTE:
            wait = 60 - datetime.now(UTC).second
            return Problem(
                "too-many-requests", "Too many keys failed from this address.", headers={"Retry-After": str(wait)}
            )
        return Problem(
            "wrong-key",
            "The key is not valid: unknown, mistyped, expired or revoked.",
            headers={"WWW-Authenticate": 'Bearer realm="loadwright", error="invalid_token"'},
        )

    def address(self, request: Request) -> str:
        """The caller's address; a forwarded one is believed only from a proxy that the settings name."""
        here = request.client.host if request.client else "unknown"
        if self.proxies and any(_inside(here, proxy) for proxy in self.proxies):
            return request.headers.get("x-forwarded-for", "").split(",")[-1].strip()[:64] or here
        return here


def _remember_use(tx: Tx) -> None:
    """Note the use of a key, and with it, at most once an hour, throw old answers away."""
    if keys.used(tx, tx.caller.key_id):
        idempotency.forget(tx)


def _inside(address: str, network: IPv4Network | IPv6Network) -> bool:
    try:
        return ip_address(address) in network
    except ValueError:
        return False


def _is_secret_of(stored: keys.StoredKey, key: KeyText, now: datetime) -> bool:
    """Whether this is the key's secret, or the one before while both work."""
    if hmac.compare_digest(stored.secret_hash, key.hash):
        return True
    if stored.old_secret_hash is None or stored.old_until is None or now >= stored.old_until:
        return False
    return hmac.compare_digest(stored.old_secret_hash, key.hash)


def _why_not(caller: Caller, right: str, *, own: bool) -> str:
    """What a key lacks; a key of one athlete lacks the rest of the gym, whatever its right is."""
    if caller.athlete is not None and not own:
        return f"This needs a key of the gym with the right {right!r}; this key is for one athlete only."
    return f"This needs the right {right!r}; this key has {caller.right!r}" + (
        " for one athlete." if caller.athlete is not None else "."
    )
