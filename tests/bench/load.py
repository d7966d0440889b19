"""A load generator: some clients over kept connections, each waiting for its answer before it asks again."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

TICKS = os.sysconf("SC_CLK_TCK")


@dataclass
class Outcome:
    """What a run brought."""

    seconds: float = 0.0
    cpu_seconds: float = 0.0
    answers: int = 0
    wrong: dict[int, int] = field(default_factory=dict)
    waits: list[float] = field(default_factory=list)

    @property
    def rate(self) -> float:
        """Answers for each second that passed."""
        return self.answers / self.seconds

    @property
    def busy_rate(self) -> float:
        """Answers for each second that the server worked: what it would answer if only its core were the limit."""
        return self.answers / self.cpu_seconds


def cpu(pid: int) -> float:
    """Processor time that a process has used, in seconds."""
    fields = Path(f"/proc/{pid}/stat").read_text("ascii").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / TICKS


def memory_mb(pid: int) -> float:
    """Memory of a process that is in use now, in MB."""
    lines = Path(f"/proc/{pid}/status").read_text("ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1024


def request(method: str, path: str, key: str, body: bytes = b"", extra: str = "") -> bytes:
    """The bytes of one request."""
    head = f"{method} {path} HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {key}\r\n{extra}"
    if body:
        head += f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n"
    return head.encode() + b"\r\n" + body


async def _client(port: int, make: Callable[[], bytes], until: float, found: Outcome) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    while time.perf_counter() < until:
        started = time.perf_counter()
        writer.write(make())
        head = await reader.readuntil(b"\r\n\r\n")
        status = int(head[9:12])
        lower = head.lower()
        at = lower.find(b"content-length:")
        if at >= 0:
            await reader.readexactly(int(lower[at + 15 : lower.index(b"\r\n", at)]))
        found.answers += 1
        found.waits.append(time.perf_counter() - started)
        if status not in (200, 201):
            found.wrong[status] = found.wrong.get(status, 0) + 1
    writer.close()


def run(port: int, pid: int, make: Callable[[], bytes], *, clients: int, seconds: float) -> Outcome:
    """Load a server on this machine's loopback for some seconds."""

    async def all_clients() -> Outcome:
        found = Outcome()
        started, used = time.perf_counter(), cpu(pid)
        async with asyncio.timeout(seconds + 60):
            await asyncio.gather(*(_client(port, make, started + seconds, found) for _ in range(clients)))
        found.seconds, found.cpu_seconds = time.perf_counter() - started, cpu(pid) - used
        return found

    return asyncio.run(all_clients())
