"""Who is calling: the key behind a request, read through a cache of at most five seconds."""

from __future__ import annotations

import hmac
import time
from collections import OrderedDict
from datetime import UTC, datetime
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network

from starlette.requests import Request

from service.api.problems import Problem
from service.store import idempotency, keys
from service.store.key_text import KeyText, read_key_text
from service.store.session import Caller, Database, Tx

RIGHTS = ("read", "log", "coach", "owner")
REMEMBERED_SECONDS = 5.0  # bounds how late a revocation acts; the only state in a process
MOST_REMEMBERED = 10_000
FAILURES_A_MINUTE = 20


class Access:
    """Turns the `Authorization` header into a caller, or refuses."""

    def __init__(self, database: Database, proxies: tuple[str, ...] = ()) -> None:
        self.database = database
        self.proxies = [ip_network(proxy) for proxy in proxies]
        self._known: OrderedDict[str, tuple[float, keys.StoredKey]] = OrderedDict()

    async def caller(self, request: Request, right: str, *, own: bool) -> Caller:
        """The caller, if its key is valid and has `right`; `own`: an athlete-bound key may come too."""
        text = request.headers.get("authorization")
        if text is None:
            raise Problem(
                "no-key",
                "Send a key: Authorization: Bearer lw_…",
                headers={"WWW-Authenticate": 'Bearer realm="loadwright"'},
            )
        scheme, _, value = text.partition(" ")
        parsed = read_key_text(value.strip()) if scheme.lower() == "bearer" else None
        known = None if parsed is None else await self._look_up(parsed)
        if known is None:
            raise await self._failed(request)
        if RIGHTS.index(known.right) < RIGHTS.index(right) or (known.athlete is not None and not own):
            raise Problem(
                "missing-right",
                f"This needs the right {right!r}; this key has {known.right!r}"
                + (" for one athlete." if known.athlete else "."),
                headers={"WWW-Authenticate": f'Bearer realm="loadwright", error="insufficient_scope", scope="{right}"'},
            )
        return Caller(known.gym, known.id, known.name, known.right, known.athlete)

    async def _look_up(self, key: KeyText) -> keys.StoredKey | None:
        remembered, fresh = self._known.get(key.id), False
        now = datetime.now(UTC)
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
