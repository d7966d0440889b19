"""Brings the composed service up from a copy of the checkout, runs a flow against it over HTTP, takes it down again.

Run by hand where Docker and its compose are installed: ``python tests/container/compose_flow.py``. The secrets are made
by README's own two commands. Nothing of it stays: containers, volume, copy and secrets are removed.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from tests.guides.pasted import Reader, Shell
from tests.guides.test_first_hour import to_paste

SHIPPED = ("service", "migrations", "pyproject.toml", "requirements.lock", "README.md", "LICENSE", "Dockerfile")
PROJECT = "loadwright-trial"
HEALTHY_WITHIN = 180.0  # [s]


@dataclass(frozen=True)
class Answer:
    """What came back: the status, and the body read as JSON where it is JSON."""

    status: int
    body: Any
    headers: dict[str, str]


@dataclass(frozen=True)
class Client:
    """Calls the service with one key."""

    base: str
    key: str | None = None

    def __call__(self, method: str, path: str, body: object = None, **headers: str) -> Answer:
        """Send one request; headers are given as ``Idempotency_Key="…"``."""
        request = urllib.request.Request(f"{self.base}{path}", method=method)
        request.data = None if body is None else json.dumps(body).encode()
        request.add_header("Content-Type", "application/json")
        if self.key:
            request.add_header("Authorization", f"Bearer {self.key}")
        for name, value in headers.items():
            request.add_header(name.replace("_", "-"), value)
        try:
            with urllib.request.urlopen(request, timeout=20) as answer:
                return read(answer)
        except urllib.error.HTTPError as refusal:
            with refusal:
                return read(refusal)


def read(answer: Any) -> Answer:
    """Read one answer."""
    text = answer.read().decode()
    is_json = "json" in answer.headers.get("Content-Type", "")
    return Answer(answer.status, json.loads(text) if is_json else text, dict(answer.headers))


@dataclass(frozen=True)
class Composed:
    """The copy of the checkout that is composed, and how to talk to it."""

    folder: Path
    port: int

    @property
    def base(self) -> str:
        """Return the address of the service."""
        return f"http://127.0.0.1:{self.port}"

    def run(self, *arguments: str, quiet: bool = True) -> str:
        """Run compose; return what it wrote to standard output."""
        tool = ["docker-compose"] if shutil.which("docker-compose") else ["docker", "compose"]
        done = subprocess.run(
            [*tool, "-p", PROJECT, *arguments],
            cwd=self.folder, env=os.environ | {"LOADWRIGHT_PORT": str(self.port)},
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE if quiet else None,
            text=True, check=False,
        )  # fmt: skip
        if done.returncode:
            sys.exit(f"compose {' '.join(arguments)} failed:\n{done.stdout}\n{done.stderr or ''}")
        return done.stdout

    def container(self, service: str, template: str) -> str:
        """Return a property of a service's container."""
        name = self.run("ps", "-q", service).strip()
        command = ["docker", "inspect", "--format", template, name]
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()

    def wait_until_healthy(self) -> None:
        """Wait for the service's own health check."""
        give_up = time.monotonic() + HEALTHY_WITHIN
        while (state := self.container("service", "{{.State.Health.Status}}")) != "healthy":
            if time.monotonic() > give_up:
                sys.exit(f"the service is {state}:\n{self.run('logs')}")
            time.sleep(1)

    def key(self, gym: str, right: str = "owner") -> str:
        """Make a gym's key by the command line, as README says."""
        return self.run("run", "--rm", "migrate", "key", "create", "--gym", gym, "--right", right).split()[-1]


def secret_commands() -> str:
    """Return README's two commands that make the secrets."""
    blocks = re.findall(r"^```sh\n((?:.*\n)*?)```$", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)
    (found,) = [block for block in blocks if ".secrets" in block]
    return str(found)


def check_containment(composed: Composed) -> None:
    """The service's container can write nothing, has no rights, and is no root."""
    inside = "import os, sys; print(os.getuid()); open('/opt/loadwright/x', 'w')"
    done = subprocess.run(
        ["docker", "exec", composed.run("ps", "-q", "service").strip(), "python", "-c", inside],
        check=False, capture_output=True, text=True,
    )  # fmt: skip
    assert done.stdout.strip() == "10001", done
    assert "Read-only file system" in done.stderr, done
    assert composed.container("service", "{{.HostConfig.ReadonlyRootfs}} {{.HostConfig.CapDrop}}") == "true [ALL]"
    assert composed.container("migrate", "{{.State.Status}} {{.State.ExitCode}}") == "exited 0"
    assert composed.container("service", "{{json .NetworkSettings.Ports}}").count('"HostIp":"127.0.0.1"') == 1


def try_it(flow: Callable[[Client, Composed], None]) -> None:
    """Bring everything up, run the flow with an owner's key of a new gym, take everything down."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = int(probe.getsockname()[1])
    folder = Path(tempfile.mkdtemp(prefix="loadwright-"))
    composed = Composed(folder, port)
    for name in (*SHIPPED, "compose.yaml", ".dockerignore"):
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)
    subprocess.run(["sh", "-ec", secret_commands()], cwd=folder, check=True)
    try:
        try:
            composed.run("up", "--build", "--detach", quiet=False)
        except SystemExit:
            print(composed.run("logs"), file=sys.stderr)
            raise
        composed.wait_until_healthy()
        check_containment(composed)
        flow(Client(composed.base, composed.key("Trial gym")), composed)
        print("The composed service holds.")
    finally:
        composed.run("down", "--volumes", "--timeout", "5", quiet=False)
        shutil.rmtree(folder)


def first_hour(composed: Composed) -> None:
    """From a block template to the load on the bar and back: the guide's own calls, with the answers it shows."""
    key = composed.key("First hour gym")
    reader = Reader(Shell({"LW": f"{composed.base}/v1", "K": f"Authorization: Bearer {key}"}))
    for step in to_paste():
        reader.follow(step)


def flow(call: Client, composed: Composed) -> None:
    """What is stored is there after every container was stopped and made again; a wrong key gets nothing."""
    first_hour(composed)
    assert call("GET", "/ready").status == 200
    made = call("POST", "/v1/athletes", {"name": "Invented Lifter"}, Idempotency_Key="first-athlete")
    assert made.status == 201, made
    again = call("POST", "/v1/athletes", {"name": "Invented Lifter"}, Idempotency_Key="first-athlete")
    assert (again.status, again.body) == (201, made.body), again
    assert Client(composed.base, "lw_wrong").__call__("GET", "/v1/athletes").status == 401

    composed.run("down", "--timeout", "10")
    composed.run("up", "--detach")
    composed.wait_until_healthy()
    kept = call("GET", f"/v1/athletes/{made.body['id']}")
    assert (kept.status, kept.body["name"]) == (200, "Invented Lifter"), kept


if __name__ == "__main__":
    try_it(flow)
